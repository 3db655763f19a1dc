//! A first layout: the largest piece first, each at the free place farthest left, then lowest.
//!
//! Places tried are those where a piece touches in two ways: corners of no-fit regions, and their crossings with the edge
//! of the board. What is found is pushed left and down until it touches. Exact contact makes pieces that fill a board
//! exactly fit it.

use super::search::{NO_DEPTH_MM, Search};
use super::stock::{Pose, turned};
use crate::measure::Vec2;

/// How much a millimetre of height counts against one of length.
const HEIGHT_COUNTS: f64 = 0.1;

/// Most places tried for a piece on one board in one turn; of more, a random choice.
const MOST_PLACES: usize = 3000;

/// How many free places, the best first, are pushed home and compared.
const PUSHED: usize = 3;

/// Spread of a shuffled order: standard deviation of the logarithm of a piece's size.
const SHUFFLE: f64 = 0.5;

/// How to go about a first layout.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Way {
    /// Whether the order of pieces is shuffled.
    pub(super) shuffled: bool,
    /// Whether boards may be put to the row as needed.
    pub(super) may_open: bool,
    /// The one turn (in steps) that pieces which allow it are laid in: rectangles often want all to lie alike.
    pub(super) only: Option<usize>,
}

/// Lays every copy anew. Returns the copies that found no place.
pub(super) fn fill(search: &mut Search, way: Way) -> Vec<usize> {
    search.clear();
    let mut sized: Vec<(f64, usize)> = (0..search.items.len())
        .map(|i| {
            let kind = &search.kinds[search.items[i]];
            let diagonal = kind.extents[kind.turns[0]].size().length();
            (kind.rim_area * diagonal, i)
        })
        .collect();
    if way.shuffled {
        for s in &mut sized {
            s.0 *= (SHUFFLE * search.random.normal()).exp();
        }
    }
    sized.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut left = Vec::new();
    for (_, item) in sized {
        let mut found = None;
        let mut slot = 0;
        while found.is_none() {
            let turns = turns_of(search, search.items[item], way);
            if slot == search.stock.areas.len() {
                let kind = search.items[item];
                let opened = way.may_open && search.stock.open_for(search.nofit, kind, &turns);
                if !opened {
                    break;
                }
            }
            // A board opened for this piece alone that does not take it would go on for ever.
            let opened = search.laid_on(slot).is_empty();
            found = place(search, item, slot, &turns);
            slot += 1;
            if found.is_none() && opened && slot == search.stock.areas.len() {
                break;
            }
        }
        match found {
            Some(pose) => search.insert(item, pose),
            None => left.push(item),
        }
    }
    left
}

fn score(search: &Search, item: usize, pose: &Pose) -> f64 {
    let end = pose.at + search.nofit.extent(turned(search.items[item], pose)).max;
    end.x + HEIGHT_COUNTS * end.y
}

/// The turns to try for a kind.
fn turns_of(search: &Search, kind: usize, way: Way) -> Vec<usize> {
    let kind = &search.kinds[kind];
    let alike = |t: &usize| way.only.is_some_and(|o| o % kind.period == t % kind.period);
    match kind.turns.iter().copied().find(alike) {
        Some(turn) => vec![turn],
        None => kind.turns.clone(),
    }
}

/// The best free pose on a slot.
fn place(search: &mut Search, item: usize, slot: usize, turns: &[usize]) -> Option<Pose> {
    let kind = search.items[item];
    let here = search.laid_on(slot);
    let mut best: Option<(f64, Pose)> = None;
    for &turn in turns {
        let mut places = places(search, kind, turn, slot, &here);
        if places.len() > MOST_PLACES {
            search.random.shuffle(&mut places);
            places.truncate(MOST_PLACES);
        }
        let pose = |at: Vec2| Pose {
            at,
            turn: turn as u16,
            slot: slot as u16,
        };
        let mut scored: Vec<(f64, Pose)> = places
            .into_iter()
            .map(|at| (score(search, item, &pose(at)), pose(at)))
            .collect();
        scored.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut pushed = 0;
        for (value, p) in scored {
            if pushed == PUSHED {
                break;
            }
            // Pushing home gains less than this piece's own size.
            if best.is_some_and(|b| value > b.0 + search.size(item)) {
                break;
            }
            if search.is_free(item, &p) {
                let p = push_home(search, item, p, &here);
                let value = score(search, item, &p);
                if best.is_none_or(|b| value < b.0) {
                    best = Some((value, p));
                }
                pushed += 1;
            }
        }
    }
    best.map(|b| b.1)
}

/// Places on a slot where a kind touches in two ways.
fn places(search: &Search, kind: usize, turn: usize, slot: usize, here: &[usize]) -> Vec<Vec2> {
    let new = (kind, turn);
    let Some(room) = search.stock.room(slot, search.nofit.extent(new)) else {
        return Vec::new();
    };
    let mut out = vec![room.min, Vec2::new(room.min.x, room.max.y)];
    let mut add = |at: Vec2| {
        let into = at.clamp(room.min, room.max);
        if at.distance_squared(into) <= NO_DEPTH_MM * NO_DEPTH_MM {
            out.push(into);
        }
    };
    for &j in here {
        let q = &search.poses[j];
        let about = turned(search.items[j], q);
        for c in 0..search.nofit.corners(about, new) {
            add(q.at + search.nofit.corner(about, new, c));
        }
        for x in [room.min.x, room.max.x] {
            for y in search.nofit.crossings(about, new, 0, x - q.at.x) {
                add(Vec2::new(x, q.at.y + y));
            }
        }
        for y in [room.min.y, room.max.y] {
            for x in search.nofit.crossings(about, new, 1, y - q.at.y) {
                add(Vec2::new(q.at.x + x, y));
            }
        }
    }
    out
}

/// Pushes a free copy left, then down, and again, until it touches both ways.
fn push_home(search: &mut Search, item: usize, mut pose: Pose, here: &[usize]) -> Pose {
    let kind = search.items[item];
    let Some(room) = search
        .stock
        .room(pose.slot as usize, search.nofit.extent(turned(kind, &pose)))
    else {
        return pose;
    };
    for round in 0..12 {
        let mut moved = false;
        for toward in [Vec2::NEG_X, Vec2::NEG_Y] {
            let mut run = (room.min - pose.at).dot(toward);
            for &j in here {
                let q = &search.poses[j];
                let (about, new) = (turned(search.items[j], q), turned(kind, &pose));
                run = search
                    .nofit
                    .free_run(about, new, pose.at - q.at, toward, run);
            }
            search.work += 4 * here.len() as u64;
            let at = (pose.at + toward * run).clamp(room.min, room.max);
            let tried = Pose { at, ..pose };
            if run > 1e-6 && search.is_free(item, &tried) {
                pose = tried;
                moved = true;
            }
        }
        if !moved || round == 11 {
            break;
        }
    }
    pose
}
