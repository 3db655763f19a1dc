//! A layout under work: poses, the order of their boxes along the row, the weights of pairs, and what a pose costs.

use super::kind::{Extent, Kind};
use super::nofit::NoFit;
use super::random::Random;
use super::stock::{Pose, Stock, turned};
use crate::measure::Vec2;

/// Exponent of a pair's size in its loss: a deep overlap of large pieces is harder to undo than one of small ones.
const SIZE_POWER: f64 = 1.5;

/// Overlap under this counts as none (mm): exact contact is rounded to this, and it is far under what is promised.
pub(super) const NO_DEPTH_MM: f64 = 2e-7;

/// A copy's box, grown by half the distance over which pieces interact.
#[derive(Debug, Clone, Copy)]
struct Entry {
    extent: Extent,
    item: u32,
}

/// The state of one worker's layout.
#[derive(Clone)]
pub(super) struct Search<'a> {
    pub(super) kinds: &'a [Kind],
    pub(super) nofit: &'a NoFit,
    /// Kind of each copy to lay.
    pub(super) items: &'a [usize],
    /// Pose of each copy.
    pub(super) poses: Vec<Pose>,
    pub(super) stock: Stock,
    pub(super) random: Random,
    /// Depth queries and candidates so far: the budget's unit.
    pub(super) work: u64,
    /// Weight of each pair of copies: `i * items + j`.
    pub(super) weights: Vec<f64>,
    /// Boxes of the copies laid, by left edge.
    order: Vec<Entry>,
    widest: f64,
    /// Loss factor of each kind.
    factors: Vec<f64>,
    /// Size of each kind: root of its box's area (mm).
    sizes: Vec<f64>,
    /// Scratch of `cost`.
    hits: Vec<u32>,
}

impl<'a> Search<'a> {
    pub(super) fn new(
        kinds: &'a [Kind],
        nofit: &'a NoFit,
        items: &'a [usize],
        stock: Stock,
        seed: u64,
    ) -> Self {
        let size = |k: usize| {
            let s = nofit.extent((k, kinds[k].turns[0])).size();
            (s.x * s.y).sqrt()
        };
        let sizes: Vec<f64> = (0..kinds.len()).map(size).collect();
        let mean = sizes.iter().sum::<f64>() / sizes.len().max(1) as f64;
        let all = (0..kinds.len()).flat_map(|k| kinds[k].turns.iter().map(move |&t| (k, t)));
        let widest = all.map(|t| nofit.extent(t).size().x).fold(0.0, f64::max);
        Search {
            kinds,
            nofit,
            items,
            poses: vec![
                Pose {
                    at: Vec2::ZERO,
                    turn: 0,
                    slot: 0
                };
                items.len()
            ],
            stock,
            random: Random::new(seed),
            work: 0,
            weights: vec![1.0; items.len() * items.len()],
            order: Vec::new(),
            widest: widest + nofit.reach_mm,
            factors: sizes
                .iter()
                .map(|s| (s / mean).powf(SIZE_POWER / 2.0))
                .collect(),
            sizes,
            hits: vec![0; items.len() + 1],
        }
    }

    fn entry(&self, item: usize, pose: &Pose) -> Entry {
        let e = self.nofit.extent(turned(self.items[item], pose));
        let grow = Vec2::splat(self.nofit.reach_mm / 2.0 + 1e-6);
        Entry {
            extent: Extent {
                min: pose.at + e.min - grow,
                max: pose.at + e.max + grow,
            },
            item: item as u32,
        }
    }

    /// Lays a copy.
    pub(super) fn insert(&mut self, item: usize, pose: Pose) {
        let entry = self.entry(item, &pose);
        self.poses[item] = pose;
        let left = entry.extent.min.x;
        let at = self.order.partition_point(|o| o.extent.min.x < left);
        self.order.insert(at, entry);
    }

    /// Takes a copy away.
    pub(super) fn remove(&mut self, item: usize) {
        self.order.retain(|o| o.item != item as u32);
    }

    /// Takes every copy away.
    pub(super) fn clear(&mut self) {
        self.order.clear();
    }

    /// The copies laid on a slot.
    pub(super) fn laid_on(&self, slot: usize) -> Vec<usize> {
        let all = self.order.iter().map(|e| e.item as usize);
        all.filter(|&i| self.poses[i].slot as usize == slot)
            .collect()
    }

    /// Takes over a whole layout; poses outside the present total are brought in.
    pub(super) fn load(&mut self, poses: &[Pose]) {
        self.order.clear();
        for (i, p) in poses.iter().enumerate() {
            let p = self.bring_in(i, *p);
            self.insert(i, p);
        }
    }

    fn bring_in(&mut self, item: usize, mut pose: Pose) -> Pose {
        let kind = self.items[item];
        let extent = self.nofit.extent(turned(kind, &pose));
        if let Some(r) = self.stock.room(pose.slot as usize, extent) {
            pose.at = pose.at.clamp(r.min, r.max);
            return pose;
        }
        let turns = &self.kinds[kind].turns;
        self.stock
            .random(&mut self.random, self.nofit, kind, turns)
            .unwrap_or(pose)
    }

    /// Whether every copy lies on its board, as far as that is in use.
    pub(super) fn all_on_boards(&self) -> bool {
        self.poses.iter().zip(self.items).all(|(p, &kind)| {
            let extent = self.nofit.extent(turned(kind, p));
            self.stock.room(p.slot as usize, extent).is_some()
        })
    }

    pub(super) fn level_weights(&mut self) {
        self.weights.fill(1.0);
    }

    /// Size of a copy (mm).
    pub(super) fn size(&self, item: usize) -> f64 {
        self.sizes[self.items[item]]
    }

    /// Weighted loss of a copy at a pose; given up, as something above `bound`, once it is beyond that.
    pub(super) fn cost(&mut self, item: usize, pose: &Pose, bound: f64) -> f64 {
        let e = self.entry(item, pose).extent;
        let n = self.items.len();
        let kind = self.items[item];
        let from = self
            .order
            .partition_point(|o| o.extent.min.x < e.min.x - self.widest);
        // Boxes first, without branches: most entries of the window miss.
        let hits = &mut self.hits[..];
        let mut count = 0;
        for o in &self.order[from..] {
            if o.extent.min.x >= e.max.x {
                break;
            }
            hits[count] = o.item;
            let meet = (o.extent.max.x > e.min.x)
                & (o.extent.max.y > e.min.y)
                & (o.extent.min.y < e.max.y)
                & (o.item != item as u32);
            count += usize::from(meet);
        }
        let factor = self.factors[kind];
        let (mut sum, mut work) = (0.0, 1);
        for &j in &hits[..count] {
            let j = j as usize;
            let other = &self.poses[j];
            work += 1;
            let d = self.nofit.depth(
                turned(self.items[j], other),
                turned(kind, pose),
                pose.at - other.at,
            );
            if d > NO_DEPTH_MM {
                sum += d * self.weights[item * n + j] * self.factors[self.items[j]];
                if sum * factor > bound {
                    break;
                }
            }
        }
        self.work += work;
        sum * factor
    }

    /// Whether a copy lies free at a pose.
    pub(super) fn is_free(&mut self, item: usize, pose: &Pose) -> bool {
        self.cost(item, pose, 0.0) == 0.0
    }

    /// All overlapping pairs with their loss, unweighted.
    pub(super) fn conflicts(&mut self) -> Vec<(usize, usize, f64)> {
        let mut out = Vec::new();
        for (a, e) in self.order.iter().enumerate() {
            let i = e.item as usize;
            for o in &self.order[a + 1..] {
                if o.extent.min.x >= e.extent.max.x {
                    break;
                }
                if o.extent.max.y <= e.extent.min.y || o.extent.min.y >= e.extent.max.y {
                    continue;
                }
                let j = o.item as usize;
                let (p, q) = (&self.poses[i], &self.poses[j]);
                self.work += 1;
                let (ki, kj) = (self.items[i], self.items[j]);
                let d = self.nofit.depth(turned(kj, q), turned(ki, p), p.at - q.at);
                if d > NO_DEPTH_MM {
                    out.push((i, j, d * self.factors[ki] * self.factors[kj]));
                }
            }
        }
        out
    }
}
