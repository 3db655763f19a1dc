//! A layout held against the true outlines, in f64, by nothing that the search uses: no no-fit regions, no library.
//!
//! Two outlines apart: their distance is that of a corner to an edge. Two that overlap: how deep the rim of one runs in
//! the other, sampled at corners, between crossings, and at an inner point of each (equal pieces on one spot).

use super::job::{Board, Layout, Piece, Rules};
use crate::measure::{Vec2, sin_cos_deg};

/// How exactly spacing and margin are kept (mm): the rounding of the no-fit regions and sums, far under any cutter.
pub const KEPT_MM: f64 = 1e-6;

/// What is wrong with a layout. Indices of `on` are into [`Layout::boards`], of pieces as given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Flaw {
    /// A piece is laid or told unplaced more or fewer times than wanted.
    Count {
        /// The piece.
        piece: usize,
        /// Wanted.
        wanted: usize,
        /// Laid or told.
        found: usize,
    },
    /// More boards of a size are used than are on hand.
    Stock {
        /// Index of the size.
        board: usize,
        /// How many are used.
        used: usize,
    },
    /// An index that points at nothing.
    Index {
        /// Which laid board.
        on: usize,
    },
    /// A piece is nearer to the edge than the margin.
    Margin {
        /// Which laid board.
        on: usize,
        /// The piece.
        piece: usize,
        /// Distance (mm); negative outside.
        edge_mm: f64,
    },
    /// Two pieces are nearer than the spacing.
    Spacing {
        /// Which laid board.
        on: usize,
        /// The pieces.
        pieces: (usize, usize),
        /// Distance (mm); negative: depth of overlap.
        gap_mm: f64,
    },
    /// The used length is not where the last piece ends, or the off-cut not what is left.
    Length {
        /// Which laid board.
        on: usize,
        /// What it should be (mm).
        used_mm: f64,
    },
}

/// Everything that is wrong with a layout; fine when nothing is.
pub fn check(
    pieces: &[Piece],
    boards: &[Board],
    rules: &Rules,
    layout: &Layout,
) -> Result<(), Vec<Flaw>> {
    let mut flaws = Vec::new();
    let mut counts = vec![0; pieces.len()];
    let unplaced = layout.unplaced.iter().map(|u| u.piece);
    let placed = layout
        .boards
        .iter()
        .flat_map(|b| b.placed.iter().map(|p| p.piece));
    for piece in unplaced.chain(placed) {
        if let Some(c) = counts.get_mut(piece) {
            *c += 1;
        }
    }
    for (piece, (p, &found)) in pieces.iter().zip(&counts).enumerate() {
        if p.count != found {
            let wanted = p.count;
            flaws.push(Flaw::Count {
                piece,
                wanted,
                found,
            });
        }
    }
    for (board, b) in boards.iter().enumerate() {
        let used = layout.boards.iter().filter(|l| l.board == board).count();
        if b.count.is_some_and(|n| used > n) {
            flaws.push(Flaw::Stock { board, used });
        }
    }
    for (on, laid) in layout.boards.iter().enumerate() {
        let known = laid.placed.iter().all(|p| p.piece < pieces.len());
        match boards.get(laid.board).filter(|_| known) {
            Some(board) => check_board(pieces, board, rules, (on, laid), &mut flaws),
            None => flaws.push(Flaw::Index { on }),
        }
    }
    if flaws.is_empty() { Ok(()) } else { Err(flaws) }
}

/// A laid outline.
struct Laid {
    piece: usize,
    loops: Vec<Vec<Vec2>>,
    min: Vec2,
    max: Vec2,
    inner: Option<Vec2>,
}

fn check_board(
    pieces: &[Piece],
    board: &Board,
    rules: &Rules,
    (on, laid): (usize, &super::job::LaidBoard),
    flaws: &mut Vec<Flaw>,
) {
    let all: Vec<Laid> = laid
        .placed
        .iter()
        .map(|p| {
            let (sin, cos) = sin_cos_deg(p.turn_deg);
            let to = Vec2::new(p.x, p.y);
            let set = |q: &Vec2| to + Vec2::new(cos * q.x - sin * q.y, sin * q.x + cos * q.y);
            let list = |l: &Vec<Vec2>| l.iter().map(set).collect();
            Laid::new(p.piece, pieces[p.piece].outline.iter().map(list).collect())
        })
        .collect();
    let mut end: f64 = 0.0;
    for a in &all {
        let far = Vec2::new(board.length_mm, board.width_mm) - a.max;
        let edge_mm = a.min.min_element().min(far.min_element());
        if edge_mm < board.margin_mm - KEPT_MM {
            let piece = a.piece;
            flaws.push(Flaw::Margin { on, piece, edge_mm });
        }
        end = end.max(a.max.x + board.margin_mm);
    }
    let used_mm = end.min(board.length_mm);
    let rest = laid.offcut.map_or(0.0, |o| o.length_mm);
    if (laid.used_length_mm - used_mm).abs() > KEPT_MM
        || (used_mm + rest - board.length_mm).abs() > 2.0 * KEPT_MM
    {
        flaws.push(Flaw::Length { on, used_mm });
    }
    for (i, a) in all.iter().enumerate() {
        for b in &all[i + 1..] {
            let gap_mm = gap(a, b, rules.spacing_mm);
            if gap_mm < rules.spacing_mm - KEPT_MM {
                let pieces = (a.piece, b.piece);
                flaws.push(Flaw::Spacing { on, pieces, gap_mm });
            }
        }
    }
}

impl Laid {
    fn new(piece: usize, loops: Vec<Vec<Vec2>>) -> Laid {
        let points = || loops.iter().flatten();
        let min = points().fold(Vec2::INFINITY, |m, p| m.min(*p));
        let max = points().fold(Vec2::NEG_INFINITY, |m, p| m.max(*p));
        let mut laid = Laid {
            piece,
            loops,
            min,
            max,
            inner: None,
        };
        laid.inner = laid.inner_point();
        laid
    }

    fn edges(&self) -> impl Iterator<Item = (Vec2, Vec2)> {
        let pairs = |l: &'_ Vec<Vec2>| -> Vec<(Vec2, Vec2)> {
            let next = l.iter().cycle().skip(1);
            l.iter().copied().zip(next.copied()).collect()
        };
        self.loops.iter().flat_map(pairs)
    }

    /// Whether a point lies in the foam: a ray from it meets an odd number of edges.
    fn holds(&self, at: Vec2) -> bool {
        let beyond = |(p, q): &(Vec2, Vec2)| {
            (p.y > at.y) != (q.y > at.y) && at.x < p.x + (at.y - p.y) / (q.y - p.y) * (q.x - p.x)
        };
        self.edges().filter(beyond).count() % 2 == 1
    }

    /// Distance of a point from the nearest edge.
    fn to_rim(&self, at: Vec2) -> f64 {
        self.edges()
            .map(|e| to_edge(at, e))
            .fold(f64::MAX, f64::min)
    }

    /// The point farthest from the rim among the middles of the foam on some level lines.
    fn inner_point(&self) -> Option<Vec2> {
        let mut best: Option<(f64, Vec2)> = None;
        for k in 1..8 {
            // Unlikely to run along an edge.
            let y = self.min.y + (self.max.y - self.min.y) * (f64::from(k) + 0.0137) / 8.0;
            let across = self.edges().filter(|(p, q)| (p.y > y) != (q.y > y));
            let mut xs: Vec<f64> = across
                .map(|(p, q)| p.x + (y - p.y) / (q.y - p.y) * (q.x - p.x))
                .collect();
            xs.sort_by(f64::total_cmp);
            for pair in xs.chunks_exact(2) {
                let at = Vec2::new((pair[0] + pair[1]) / 2.0, y);
                let deep = self.to_rim(at);
                if best.is_none_or(|b| deep > b.0) {
                    best = Some((deep, at));
                }
            }
        }
        best.map(|b| b.1)
    }
}

fn to_edge(at: Vec2, (p, q): (Vec2, Vec2)) -> f64 {
    let (along, off) = (q - p, at - p);
    let length2 = along.dot(along);
    let t = if length2 > 0.0 {
        (off.dot(along) / length2).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (off - t * along).length()
}

/// Distance of two pieces (mm), as far as it is of interest; negative by the depth when they overlap.
fn gap(a: &Laid, b: &Laid, interest: f64) -> f64 {
    let apart = (b.min - a.max).max(a.min - b.max).max(Vec2::ZERO).length();
    if apart > interest + KEPT_MM {
        return apart;
    }
    let depth = depth(a, b).max(depth(b, a));
    if depth > KEPT_MM {
        return -depth;
    }
    let mut least = f64::MAX;
    for (x, y) in [(a, b), (b, a)] {
        for p in x.loops.iter().flatten() {
            let off = (y.min - *p).max(*p - y.max).max(Vec2::ZERO).length();
            if off < least.min(interest + 1.0) {
                least = least.min(y.to_rim(*p));
            }
        }
    }
    // Rims may cross without any depth that is worth the name: then they touch.
    if least == f64::MAX {
        interest + 1.0
    } else {
        least
    }
}

/// How deep the rim of `a` runs in `b` (mm).
fn depth(a: &Laid, b: &Laid) -> f64 {
    let mut deepest: f64 = 0.0;
    let mut look = |at: Vec2| {
        if b.holds(at) {
            deepest = deepest.max(b.to_rim(at));
        }
    };
    a.inner.into_iter().for_each(&mut look);
    let near: Vec<(Vec2, Vec2)> = b.edges().collect();
    for (p, q) in a.edges() {
        let (low, high) = (p.min(q), p.max(q));
        if low.cmpgt(b.max).any() || high.cmplt(b.min).any() {
            continue;
        }
        let mut at = vec![0.0, 1.0];
        at.extend(near.iter().filter_map(|e| crossing((p, q), *e)));
        at.sort_by(f64::total_cmp);
        look(p);
        for pair in at.windows(2) {
            look(p + (q - p) * ((pair[0] + pair[1]) / 2.0));
        }
    }
    deepest
}

/// Where along the first edge the second crosses it, 0 to 1.
fn crossing((a, b): (Vec2, Vec2), (c, d): (Vec2, Vec2)) -> Option<f64> {
    let (r, s, w) = (b - a, d - c, c - a);
    let area = r.perp_dot(s);
    if area == 0.0 {
        return None;
    }
    let t = w.perp_dot(s) / area;
    let u = w.perp_dot(r) / area;
    ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u)).then_some(t)
}
