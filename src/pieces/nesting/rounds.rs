//! The whole: kinds and copies, a first layout, two workers in rounds of equal work, the answer in the boards' frames.

use super::compress::{Best, Worker};
use super::construct;
use super::job::{
    Board, Effort, LaidBoard, Layout, NestingFault, OffCut, Piece, Placed, Rules, Turns, Unplaced,
    Why,
};
use super::kind::{Kind, direction, steps_for};
use super::nofit::{BadKind, NoFit};
use super::random::Random;
use super::search::Search;
use super::stock::Stock;

/// Workers: always two, whatever the machine, as the answer depends on it.
const WORKERS: usize = 2;

/// Rounds of a budget; after each the workers share their best.
const ROUNDS: u64 = 150;

/// Rounds before squeezing begins.
const EXPLORE: u64 = 112;

/// Rounds with fresh starts, unshared, when the budget allows at least two of them.
const ALONE: u64 = 80;

/// Least work for a fresh start, and the most of them for each worker.
const START: (u64, u64) = (30_000_000, 8);

/// Units of work for each worker at a setting; few copies take less. Free turns take half, as many more regions have to
/// be made and each is asked less often.
fn budget(effort: Effort, items: usize, free: bool) -> u64 {
    let (most, pair) = match effort {
        Effort::Quick => (1_500_000, 15_000),
        Effort::Usual => (26_000_000, 10_000),
        Effort::Long => (550_000_000, 2_000_000),
        Effort::Units(n) => return n,
    };
    let units = (pair * (items as u64).pow(2)).min(most);
    if free { units / 2 } else { units }
}

/// Lays the pieces on the boards: nothing left over if it can be, fewest boards, least length used on the last.
/// Boards are used in the order given, those on hand before any is missed.
pub fn lay_out(
    pieces: &[Piece],
    boards: &[Board],
    rules: &Rules,
    effort: Effort,
    seed: u64,
) -> Result<Layout, NestingFault> {
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    lay_out_on(pieces, boards, rules, effort, seed, threads)
}

/// [`lay_out`] on so many threads; their number does not change the answer.
pub fn lay_out_on(
    pieces: &[Piece],
    boards: &[Board],
    rules: &Rules,
    effort: Effort,
    seed: u64,
    threads: usize,
) -> Result<Layout, NestingFault> {
    lay(pieces, boards, rules, (effort, seed), threads, &|| true)
}

/// [`lay_out`] that ends early, with a layout that is sound but not the one promised, where `go` says no.
pub fn lay_out_while(
    pieces: &[Piece],
    boards: &[Board],
    rules: &Rules,
    effort: Effort,
    seed: u64,
    go: &(dyn Fn() -> bool + Sync),
) -> Result<Layout, NestingFault> {
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    lay(pieces, boards, rules, (effort, seed), threads, go)
}

fn lay(
    pieces: &[Piece],
    boards: &[Board],
    rules: &Rules,
    (effort, seed): (Effort, u64),
    threads: usize,
    go: &(dyn Fn() -> bool + Sync),
) -> Result<Layout, NestingFault> {
    let mut job = Job::new(pieces, boards, rules)?;
    let mut answer = Layout {
        boards: Vec::new(),
        unplaced: Vec::new(),
    };
    if job.kinds.is_empty() {
        return Ok(answer);
    }
    let bad = |b: BadKind| NestingFault::Outline {
        piece: job.kind_of.iter().position(|&k| k == b.0).unwrap_or(0),
    };
    // Turns that fit no board are none; a kind without any keeps its turns, and is told below.
    let row = Stock::new(boards, 0.0);
    let fits: Vec<bool> = job
        .kinds
        .iter_mut()
        .map(|k| keep_fitting(k, &row))
        .collect();
    let nofit = NoFit::new(&job.kinds, rules.spacing_mm, job.steps).map_err(bad)?;
    let stock = Stock::new(boards, nofit.reach_mm);
    let (mut items, mut copies) = (Vec::new(), Vec::new());
    for (piece, p) in pieces.iter().enumerate() {
        let kind = job.kind_of[piece];
        for copy in 0..p.count {
            if fits[kind] {
                items.push(kind);
                copies.push((piece, copy));
            } else {
                let why = Why::FitsNoBoard;
                answer.unplaced.push(Unplaced { piece, copy, why });
            }
        }
    }
    if items.is_empty() {
        return Ok(answer);
    }
    let free = pieces.iter().any(|p| p.turns == Turns::Free);
    if !free && items.len() > 1 {
        nofit.make_all(&job.kinds, rules.spacing_mm, threads.clamp(1, WORKERS));
    }
    let search = Search::new(&job.kinds, &nofit, &items, stock, seed);
    let units = budget(effort, items.len(), free);
    let (stock, best) = run(search, units, seed, threads, go);
    write_out(&mut answer, &job, &nofit, &stock, (&best, &items, &copies));
    Ok(answer)
}

/// The job with its outlines made ready.
struct Job {
    kinds: Vec<Kind>,
    /// Kind of each piece.
    kind_of: Vec<usize>,
    steps: usize,
}

impl Job {
    fn new(pieces: &[Piece], boards: &[Board], rules: &Rules) -> Result<Job, NestingFault> {
        let spacing_mm = rules.spacing_mm;
        if !(spacing_mm.is_finite() && spacing_mm >= 0.0) {
            return Err(NestingFault::Spacing { spacing_mm });
        }
        let sizes = |b: &Board| [b.length_mm, b.width_mm, b.margin_mm];
        let is_size = |b: &Board| sizes(b).iter().all(|v| v.is_finite() && *v >= 0.0);
        if let Some(board) = boards.iter().position(|b| !is_size(b)) {
            return Err(NestingFault::Board { board });
        }
        let steps = steps_for(pieces);
        let mut kinds: Vec<Kind> = Vec::new();
        let mut kind_of: Vec<usize> = Vec::new();
        for (i, p) in pieces.iter().enumerate() {
            let alike = |q: &Piece| q.turns == p.turns && q.outline == p.outline;
            let kind = match pieces[..i].iter().position(alike) {
                Some(j) => kind_of[j],
                None => {
                    kinds.push(Kind::new(pieces, i, steps)?);
                    kinds.len() - 1
                }
            };
            kind_of.push(kind);
        }
        Ok(Job {
            kinds,
            kind_of,
            steps,
        })
    }
}

/// Keeps the turns of a kind in which some board takes it; false, and nothing changed, when there is none.
fn keep_fitting(kind: &mut Kind, row: &Stock) -> bool {
    let turns = kind.turns.iter().copied();
    let fitting: Vec<usize> = turns
        .filter(|&t| row.some_takes(kind.extents[t].size()))
        .collect();
    let any = !fitting.is_empty();
    if any {
        kind.turns = fitting;
    }
    any
}

/// A first layout, then rounds; the row of boards and the best layout on it.
fn run(
    search: Search,
    budget: u64,
    seed: u64,
    threads: usize,
    go: &(dyn Fn() -> bool + Sync),
) -> (Stock, Best) {
    let (mut search, mut best) = first_layout(search);
    // One more board, for starts that come out worse.
    let kind = search.items[0];
    let turns = &search.kinds[kind].turns;
    search.stock.open_for(search.nofit, kind, turns);
    let stock = search.stock.clone();
    let worker = |w: usize| {
        let mut s = search.clone();
        s.work = 0;
        s.random = Random::new(seed.wrapping_mul(1000).wrapping_add(w as u64 + 1));
        Worker::new(s, best.clone())
    };
    let mut workers: Vec<Worker> = (0..WORKERS).map(worker).collect();
    let starts = (budget * ALONE / ROUNDS / START.0).clamp(1, START.1);
    for round in 1..=ROUNDS {
        let until = budget * round / ROUNDS;
        work_until(&mut workers, until, threads);
        for w in &workers {
            if w.best.total < best.total {
                best = w.best.clone();
            }
        }
        if workers.iter().any(|w| w.done()) || !go() {
            break;
        }
        if starts > 1 && round < ALONE {
            if round * starts / ALONE != (round - 1) * starts / ALONE {
                workers.iter_mut().for_each(|w| w.restart());
            }
            continue;
        }
        let turn = round == EXPLORE;
        for w in &mut workers {
            w.squeezing = round >= EXPLORE;
            let behind = w.best.total > best.total;
            let beaten = w.target >= best.total || w.squeezing && behind;
            if turn || starts > 1 && round == ALONE || beaten {
                w.adopt(&best);
            } else if behind {
                w.best = best.clone();
            }
        }
    }
    (stock, best)
}

/// The best of a few first layouts: in any turns, all as given, all a quarter turned.
fn first_layout(search: Search) -> (Search, Best) {
    let quarter = search.kinds.first().map_or(0, |k| k.extents.len() / 4);
    let lay = |only: Option<usize>| {
        let mut s = search.clone();
        let way = construct::Way {
            may_open: true,
            only,
            ..Default::default()
        };
        // A turn in which a piece fits no board is no way to go.
        let all = construct::fill(&mut s, way).is_empty();
        if only.is_some() && !all {
            return None;
        }
        let mut poses = s.poses.clone();
        let total = s.stock.tidy(&mut poses, s.items, s.nofit);
        Some((s, Best { total, poses }))
    };
    let ways = [None, Some(0), Some(quarter)];
    let all = ways.into_iter().filter_map(lay);
    all.reduce(|a, b| if b.1.total < a.1.total { b } else { a })
        .expect("the way with all turns is always gone")
}

fn work_until(workers: &mut [Worker], until: u64, threads: usize) {
    let go = |w: &mut Worker| {
        while w.search.work < until && !w.done() {
            w.step();
        }
    };
    if threads < 2 {
        workers.iter_mut().for_each(go);
        return;
    }
    std::thread::scope(|s| {
        for w in workers {
            s.spawn(move || go(w));
        }
    });
}

/// The answer in the boards' own frames; what lies on spare boards is not placed.
fn write_out(
    answer: &mut Layout,
    job: &Job,
    nofit: &NoFit,
    stock: &Stock,
    (best, items, copies): (&Best, &[usize], &[(usize, usize)]),
) {
    let used = stock.used(&best.poses, items, nofit);
    for (i, slot) in stock.slots.iter().enumerate() {
        let mut placed = Vec::new();
        for ((p, &kind), &(piece, copy)) in best.poses.iter().zip(items).zip(copies) {
            if p.slot as usize != i {
                continue;
            }
            if slot.spare {
                let why = Why::NoBoardLeft;
                answer.unplaced.push(Unplaced { piece, copy, why });
                continue;
            }
            let turn = p.turn as usize;
            let moved = direction(turn, job.steps).rotate(job.kinds[kind].centre);
            placed.push(Placed {
                piece,
                copy,
                x: p.at.x - slot.start - moved.x,
                y: p.at.y - moved.y,
                turn_deg: turn as f64 * 360.0 / job.steps as f64,
            });
        }
        if placed.is_empty() {
            continue;
        }
        let used_length_mm = used[i].min(stock.length(i));
        let rest = stock.length(i) - used_length_mm;
        answer.boards.push(LaidBoard {
            board: slot.board,
            used_length_mm,
            placed,
            offcut: (rest > super::KEPT_MM).then(|| OffCut {
                length_mm: rest,
                width_mm: stock.width(i),
            }),
        });
    }
    answer.unplaced.sort_by_key(|u| (u.piece, u.copy));
}
