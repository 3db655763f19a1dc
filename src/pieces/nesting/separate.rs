//! Overlaps removed by guided local search: each pass moves every overlapping copy to the pose of least weighted depth
//! among many tried; pairs still in conflict gain weight, the others slowly lose it.

use super::search::Search;
use super::stock::{Pose, turned};
use crate::measure::Vec2;

/// Poses tried for a copy: about its own, at corners of no-fit regions, and anywhere.
const NEAR: usize = 8;
const CORNERS: usize = 32;
const ANYWHERE: usize = 12;

/// How many of them are refined.
const REFINED: usize = 2;

/// Growth of the weight of a pair in conflict, from the slightest to the worst.
const GROWTH: (f64, f64) = (1.2, 1.7);

/// What is left of a weight after each pass.
const DECAY: f64 = 0.95;

impl Search<'_> {
    /// One pass over the overlapping copies; the loss left after it, unweighted.
    pub(super) fn pass(&mut self) -> f64 {
        let mut hit: Vec<usize> = self.conflicts().iter().flat_map(|c| [c.0, c.1]).collect();
        hit.sort_unstable();
        hit.dedup();
        self.random.shuffle(&mut hit);
        for item in hit {
            self.relocate(item);
        }
        let pairs = self.conflicts();
        let worst = pairs.iter().map(|p| p.2).fold(f64::MIN_POSITIVE, f64::max);
        let n = self.items.len();
        for w in &mut self.weights {
            *w = (*w * DECAY).max(1.0);
        }
        for &(i, j, loss) in &pairs {
            let growth = (GROWTH.0 + (GROWTH.1 - GROWTH.0) * loss / worst) / DECAY;
            self.weights[i * n + j] *= growth;
            self.weights[j * n + i] *= growth;
        }
        pairs.iter().map(|p| p.2).sum()
    }

    /// Moves a copy to the best pose found, if that is better than its own.
    fn relocate(&mut self, item: usize) {
        let now = self.poses[item];
        let cost = self.cost(item, &now, f64::INFINITY);
        if cost == 0.0 {
            return;
        }
        let size = self.size(item);
        let best = self.sample(item, now, cost);
        let mut win = best[0];
        if win.0 > 0.0 {
            for (c, p) in best {
                let found = self.refine(item, p, c, (size * 0.05, size * 2e-3));
                if found.0 < win.0 {
                    win = found;
                }
                if win.0 == 0.0 {
                    break;
                }
            }
            if win.0 > 0.0 {
                win = self.refine(item, win.1, win.0, (size * 2e-3, size * 2e-5));
            }
        }
        if win.0 < cost {
            self.remove(item);
            self.insert(item, win.1);
        }
    }

    /// The best few of many poses tried, the copy's own among them.
    fn sample(&mut self, item: usize, now: Pose, cost: f64) -> Vec<(f64, Pose)> {
        let mut best = vec![(cost, now)];
        for k in 0..NEAR + CORNERS + ANYWHERE {
            let tried = if k < NEAR {
                self.near(item, now, k % 2 == 1)
            } else if k < NEAR + CORNERS {
                self.at_corner(item)
            } else {
                let kind = self.items[item];
                let turns = &self.kinds[kind].turns;
                self.stock.random(&mut self.random, self.nofit, kind, turns)
            };
            let Some(p) = tried else { continue };
            let bound = if best.len() < REFINED {
                f64::INFINITY
            } else {
                best[best.len() - 1].0
            };
            let c = self.cost(item, &p, bound);
            if c < bound {
                let at = best.partition_point(|b| b.0 <= c);
                best.insert(at, (c, p));
                best.truncate(REFINED);
                if c == 0.0 {
                    break;
                }
            }
        }
        best
    }

    /// A pose about the present one.
    fn near(&mut self, item: usize, now: Pose, any_turn: bool) -> Option<Pose> {
        let kind = self.items[item];
        let turns = &self.kinds[kind].turns;
        let mut turn = now.turn as usize;
        if any_turn && turns.len() > 1 {
            turn = turns[self.random.below(turns.len())];
        }
        let r = self
            .stock
            .room(now.slot as usize, self.nofit.extent((kind, turn)))?;
        let wide = self.size(item) * 0.25;
        let by = Vec2::new(self.random.normal(), self.random.normal()) * wide;
        Some(Pose {
            at: (now.at + by).clamp(r.min, r.max),
            turn: turn as u16,
            slot: now.slot,
        })
    }

    /// A pose that touches some other copy in two ways.
    fn at_corner(&mut self, item: usize) -> Option<Pose> {
        let kind = self.items[item];
        let turns = &self.kinds[kind].turns;
        let turn = turns[self.random.below(turns.len())];
        let other = self.random.below(self.items.len());
        if other == item {
            return None;
        }
        let q = self.poses[other];
        let about = turned(self.items[other], &q);
        let corners = self.nofit.corners(about, (kind, turn));
        if corners == 0 {
            return None;
        }
        let corner = self.random.below(corners);
        let at = q.at + self.nofit.corner(about, (kind, turn), corner);
        let r = self
            .stock
            .room(q.slot as usize, self.nofit.extent((kind, turn)))?;
        let inside = r.min.cmple(at).all() && at.cmple(r.max).all();
        inside.then_some(Pose {
            at,
            turn: turn as u16,
            slot: q.slot,
        })
    }

    /// Pattern search from a pose: steps along random directions, halved when they fail, from the first of `steps` to the
    /// last (mm).
    fn refine(&mut self, item: usize, start: Pose, cost: f64, steps: (f64, f64)) -> (f64, Pose) {
        let (mut best, mut least) = (start, cost);
        let extent = self.nofit.extent(turned(self.items[item], &best));
        let Some(r) = self.stock.room(best.slot as usize, extent) else {
            return (least, best);
        };
        let mut step = Vec2::splat(steps.0);
        while step.max_element() > steps.1 && least > 0.0 {
            let way = self.random.below(4);
            let by = match way {
                0 => Vec2::new(step.x, 0.0),
                1 => Vec2::new(0.0, step.y),
                2 => step,
                _ => Vec2::new(step.x, -step.y),
            };
            let mut won = false;
            for by in [by, -by] {
                let at = (best.at + by).clamp(r.min, r.max);
                if at == best.at {
                    continue;
                }
                let pose = Pose { at, ..best };
                let c = self.cost(item, &pose, least);
                if c < least {
                    (best, least, won) = (pose, c, true);
                    break;
                }
            }
            let scale: f64 = if won { 1.1 } else { 0.5 };
            match way {
                0 => step.x *= scale,
                1 => step.y *= scale,
                _ => step *= scale.max(0.7),
            }
        }
        (least, best)
    }
}
