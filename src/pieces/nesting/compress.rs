//! One worker: shrinks the boards under a layout, separates, and goes on from what fits.
//!
//! Two phases. **Exploring** takes a hundredth off at a time; a target that won't separate is tried again from other
//! layouts (the best cut elsewhere, then a pool of the best failures with two pieces swapped). **Squeezing** takes ever smaller bites off the
//! best layout. Both are cut into steps, so that workers can run in rounds of equal work and share their bests.

use super::construct;
use super::kind::Extent;
use super::search::Search;
use super::stock::{Pose, turned};
use crate::measure::Vec2;

/// What exploring takes off at a time, of the length that counts.
const SHRINK: f64 = 0.01;

/// What squeezing takes off at first, and at least.
const SQUEEZE: (f64, f64) = (2e-3, 2e-5);

/// Passes without progress that end a try, and tries from the best of the failure, while exploring.
const STALE: (usize, usize) = (200, 2);

/// The same while squeezing.
const SQUEEZE_STALE: (usize, usize) = (50, 2);

/// Failures at one target before it goes back to the best layout, and how often it goes back before it stays with the
/// pool. (Taking half as much off each time left the last board of the bench's shop case 31 mm longer with two of three
/// seeds, and the mean of its strips within 0.1 %.)
const PATIENCE: usize = 3;
const RETURNS: usize = 4;

/// A layout this near to the least that there can be is not made shorter: no saw or router holds less (mm).
const ENOUGH_MM: f64 = 0.01;

/// A layout with its total.
#[derive(Debug, Clone)]
pub(super) struct Best {
    pub(super) total: f64,
    pub(super) poses: Vec<Pose>,
}

/// A worker.
pub(super) struct Worker<'a> {
    pub(super) search: Search<'a>,
    pub(super) best: Best,
    /// Whether it squeezes (else explores).
    pub(super) squeezing: bool,
    /// The total that it tries to reach.
    pub(super) target: f64,
    /// No total below this can be reached.
    least: f64,
    /// The layout of least loss at this target.
    low: (f64, Vec<Pose>),
    stale: usize,
    strikes: usize,
    /// Failures at this target, best first.
    pool: Vec<(f64, Vec<Pose>)>,
    /// Failed squeezes in a row.
    fails: usize,
    tries: usize,
    /// How often it went back to the best layout.
    returns: usize,
}

impl<'a> Worker<'a> {
    pub(super) fn new(search: Search<'a>, best: Best) -> Worker<'a> {
        let least = least_total(&search);
        let mut worker = Worker {
            search,
            target: best.total,
            best,
            squeezing: false,
            least,
            low: (f64::MAX, Vec::new()),
            stale: 0,
            strikes: 0,
            pool: Vec::new(),
            fails: 0,
            tries: 0,
            returns: 0,
        };
        worker.go_on();
        worker
    }

    /// Whether nothing shorter is possible, or nothing that a saw would tell.
    pub(super) fn done(&self) -> bool {
        self.best.total <= self.least + ENOUGH_MM
    }

    /// Takes over a layout found elsewhere and goes on from it.
    pub(super) fn adopt(&mut self, best: &Best) {
        self.best = best.clone();
        self.pool.clear();
        self.go_on();
    }

    /// Begins anew from another first layout.
    pub(super) fn restart(&mut self) {
        self.search.stock.open_all();
        self.tries = 0;
        self.returns = 0;
        let way = construct::Way {
            shuffled: true,
            ..Default::default()
        };
        if construct::fill(&mut self.search, way).is_empty() {
            let mut poses = self.search.poses.clone();
            let total = self
                .search
                .stock
                .tidy(&mut poses, self.search.items, self.search.nofit);
            self.adopt(&Best { total, poses });
        } else {
            self.pool.clear();
            self.go_on();
        }
    }

    /// Shrinks from the best layout.
    fn go_on(&mut self) {
        let share = if self.squeezing {
            (SQUEEZE.0 * 0.8f64.powi(self.fails as i32)).max(SQUEEZE.1)
        } else {
            SHRINK
        };
        let last = self.best.poses.iter().map(|p| p.slot).max().unwrap_or(0);
        let unit = self.search.stock.length(last as usize).min(self.best.total);
        self.shrink_by(share * unit);
    }

    /// Shrinks the row by so much; what lies right of a random cut on the last board moves left with its end.
    fn shrink_by(&mut self, by: f64) {
        let search = &mut self.search;
        let mut target = self.best.total - by;
        let last = search.stock.slots.iter().rposition(|s| s.before < target);
        if let Some(i) = last.filter(|&i| i > 0) {
            // A rest too short for any piece is no board at all.
            let before = search.stock.slots[i].before;
            if target - before < shortest(search) + 2.0 * search.stock.margin(i) {
                target = before;
            }
        }
        self.target = target.max(self.least);
        search.stock.set_total(self.target);
        let last = search.stock.areas.len() - 1;
        let Extent { min, max } = search.stock.areas[last];
        let cut = search.random.between(min.x, max.x);
        let mut poses = self.best.poses.clone();
        for (p, &k) in poses.iter_mut().zip(search.items) {
            let e = search.nofit.extent(turned(k, p));
            if p.slot as usize == last && p.at.x + (e.min.x + e.max.x) / 2.0 > cut {
                p.at.x -= by;
            }
        }
        search.load(&poses);
        self.begin();
    }

    fn begin(&mut self) {
        self.search.level_weights();
        self.low = (f64::MAX, self.search.poses.clone());
        self.stale = 0;
        self.strikes = 0;
    }

    /// One pass of separation, and what follows from it.
    pub(super) fn step(&mut self) {
        let mut loss = self.search.pass();
        if loss == 0.0 && !self.search.all_on_boards() {
            // Too short for some piece in the turn that it has: as bad as can be, and no work for nothing.
            self.search.work += 1 + self.search.items.len() as u64;
            loss = f64::MAX;
        }
        if loss == 0.0 {
            self.succeed();
            return;
        }
        if loss < self.low.0 {
            if loss < 0.98 * self.low.0 {
                self.stale = 0;
            }
            self.low = (loss, self.search.poses.clone());
        } else {
            self.stale += 1;
        }
        let (stale, strikes) = if self.squeezing { SQUEEZE_STALE } else { STALE };
        if self.stale < stale {
            return;
        }
        self.strikes += 1;
        self.stale = 0;
        if self.strikes < strikes {
            let low = self.low.1.clone();
            self.search.load(&low);
            return;
        }
        self.fail();
    }

    /// Everything fits at this target.
    fn succeed(&mut self) {
        let search = &mut self.search;
        let mut poses = search.poses.clone();
        let total = search.stock.tidy(&mut poses, search.items, search.nofit);
        // Each success costs something, so that a budget ends even where nothing is left to separate.
        search.work += 1 + search.items.len() as u64;
        if total < self.best.total {
            self.best = Best { total, poses };
        }
        self.fails = self.fails.saturating_sub(1);
        if self.tries == 0 {
            self.returns = self.returns.saturating_sub(1);
        }
        self.tries = 0;
        self.pool.clear();
        self.go_on();
    }

    /// This target won't separate from here.
    fn fail(&mut self) {
        if self.squeezing {
            self.fails += 1;
            self.go_on();
            return;
        }
        self.tries += 1;
        if self.tries >= PATIENCE && self.returns < RETURNS {
            self.tries = 0;
            self.returns += 1;
            self.pool.clear();
            self.go_on();
            return;
        }
        let low = std::mem::take(&mut self.low);
        let at = self.pool.partition_point(|p| p.0 <= low.0);
        self.pool.insert(at, low);
        let pick = (self.search.random.normal().abs() * 0.25 * self.pool.len() as f64) as usize;
        let poses = self.pool[pick.min(self.pool.len() - 1)].1.clone();
        self.search.load(&poses);
        self.swap_two();
        self.begin();
    }

    /// Swaps the places of a large copy and another of its order of size but of another kind.
    fn swap_two(&mut self) {
        let n = self.search.items.len();
        let mut large: Vec<usize> = (0..n).collect();
        let size = |i: usize| self.search.size(i);
        large.sort_by(|&a, &b| size(b).total_cmp(&size(a)).then(a.cmp(&b)));
        large.truncate((n / 3).max(2));
        for _ in 0..20 {
            let a = large[self.search.random.below(large.len())];
            let b = self.search.random.below(n);
            let search = &self.search;
            let alike = search.items[a] == search.items[b];
            if alike || search.size(b) < 0.4 * search.size(a) {
                continue;
            }
            let middle = |i: usize| {
                let e = search
                    .nofit
                    .extent(turned(search.items[i], &search.poses[i]));
                (e.min + e.max) / 2.0
            };
            let off: Vec2 = middle(a) - middle(b);
            let mut poses = search.poses.clone();
            let (pa, pb) = (poses[a], poses[b]);
            poses[a] = Pose {
                at: pb.at - off,
                turn: pa.turn,
                slot: pb.slot,
            };
            poses[b] = Pose {
                at: pa.at + off,
                turn: pb.turn,
                slot: pa.slot,
            };
            self.search.load(&poses);
            return;
        }
    }
}

/// Shortest length of any copy in any of its turns (mm).
fn shortest(search: &Search) -> f64 {
    let kinds = search.items.iter().map(|&k| length_of(search, k));
    kinds.fold(f64::MAX, f64::min)
}

/// Shortest length of a kind over its turns (mm).
fn length_of(search: &Search, kind: usize) -> f64 {
    let turns = search.kinds[kind].turns.iter();
    turns
        .map(|&t| search.nofit.extent((kind, t)).size().x)
        .fold(f64::MAX, f64::min)
}

/// A total that no layout goes below: by area, and by the longest piece.
fn least_total(search: &Search) -> f64 {
    let area = search.items.iter().map(|&k| search.kinds[k].area).sum();
    let longest = search.items.iter().map(|&k| length_of(search, k));
    let margins = (0..search.stock.slots.len()).map(|s| search.stock.margin(s));
    let longest = longest.fold(0.0, f64::max) + 2.0 * margins.fold(f64::MAX, f64::min);
    search.stock.least_for(area).max(longest)
}
