//! Where pieces may lie: the boards side by side along x, so far apart that pieces on two of them never meet.
//!
//! One number, the total, orders answers: boards before the last count whole, the last by the length used. So fewer
//! boards always win, then the shorter rest. Boards beyond those on hand stand at the end, as spare ones: what is still
//! on them when the search ends is not placed.

use super::job::Board;
use super::kind::Extent;
use super::nofit::{NoFit, Turned};
use super::random::Random;
use crate::measure::Vec2;

/// How much larger than its board a piece may be (mm): what sums of lengths round to.
const ROUNDING_MM: f64 = 1e-8;

/// Where a copy lies: its centre (in the row of boards), turn in steps, and slot of the row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pose {
    pub(super) at: Vec2,
    pub(super) turn: u16,
    pub(super) slot: u16,
}

/// A board of the row.
#[derive(Debug, Clone, Copy)]
pub(super) struct Slot {
    /// Index among the boards given.
    pub(super) board: usize,
    /// Whether it is not on hand.
    pub(super) spare: bool,
    /// Where it starts in the row (mm).
    pub(super) start: f64,
    /// Lengths of the boards before it (mm).
    pub(super) before: f64,
}

/// The row of boards.
#[derive(Debug, Clone)]
pub(super) struct Stock {
    boards: Vec<Board>,
    gap_mm: f64,
    pub(super) slots: Vec<Slot>,
    /// Usable part of each slot within the present total.
    pub(super) areas: Vec<Extent>,
}

impl Stock {
    /// An empty row; pieces interact over `reach_mm`.
    pub(super) fn new(boards: &[Board], reach_mm: f64) -> Stock {
        Stock {
            boards: boards.to_vec(),
            gap_mm: 2.0 * reach_mm + 1.0,
            slots: Vec::new(),
            areas: Vec::new(),
        }
    }

    /// Whether the board takes a box.
    fn takes(&self, board: usize, size: Vec2) -> bool {
        let b = &self.boards[board];
        let room =
            Vec2::new(b.length_mm, b.width_mm) - Vec2::splat(2.0 * b.margin_mm - ROUNDING_MM);
        size.cmple(room).all()
    }

    /// Whether some board takes a box of this size.
    pub(super) fn some_takes(&self, size: Vec2) -> bool {
        (0..self.boards.len()).any(|b| self.takes(b, size))
    }

    fn fits(&self, board: usize, nofit: &NoFit, kind: usize, turns: &[usize]) -> bool {
        turns
            .iter()
            .any(|&t| self.takes(board, nofit.extent((kind, t)).size()))
    }

    /// Puts one more board at the end of the row that takes the kind: the first given that is on hand, else a spare one.
    pub(super) fn open_for(&mut self, nofit: &NoFit, kind: usize, turns: &[usize]) -> bool {
        let fitting: Vec<usize> = (0..self.boards.len())
            .filter(|&b| self.fits(b, nofit, kind, turns))
            .collect();
        let used = |b: usize| {
            self.slots
                .iter()
                .filter(|s| s.board == b && !s.spare)
                .count()
        };
        let on_hand = fitting
            .iter()
            .copied()
            .find(|&b| self.boards[b].count.is_none_or(|n| used(b) < n));
        let Some(board) = on_hand.or(fitting.first().copied()) else {
            return false;
        };
        let (start, before) = self.slots.last().map_or((0.0, 0.0), |s| {
            let length = self.boards[s.board].length_mm;
            (s.start + length + self.gap_mm, s.before + length)
        });
        self.slots.push(Slot {
            board,
            spare: on_hand.is_none(),
            start,
            before,
        });
        self.open_all();
        true
    }

    /// Length of a slot's board (mm).
    pub(super) fn length(&self, slot: usize) -> f64 {
        self.boards[self.slots[slot].board].length_mm
    }

    /// Width of a slot's board (mm).
    pub(super) fn width(&self, slot: usize) -> f64 {
        self.boards[self.slots[slot].board].width_mm
    }

    /// Margin of a slot's board (mm).
    pub(super) fn margin(&self, slot: usize) -> f64 {
        self.boards[self.slots[slot].board].margin_mm
    }

    /// Makes the whole row usable.
    pub(super) fn open_all(&mut self) {
        let all = self
            .slots
            .last()
            .map(|s| s.before + self.boards[s.board].length_mm);
        self.set_total(all.unwrap_or(0.0));
    }

    /// Makes so much of the row usable.
    pub(super) fn set_total(&mut self, total: f64) {
        self.areas.clear();
        for (i, s) in self.slots.iter().enumerate() {
            let b = &self.boards[s.board];
            if i > 0 && s.before >= total - ROUNDING_MM {
                break;
            }
            let length = b.length_mm.min(total - s.before);
            self.areas.push(Extent {
                min: Vec2::new(s.start + b.margin_mm, b.margin_mm),
                max: Vec2::new(s.start + length - b.margin_mm, b.width_mm - b.margin_mm),
            });
        }
    }

    /// Where the centre of a box may lie on a slot.
    #[inline]
    pub(super) fn room(&self, slot: usize, extent: &Extent) -> Option<Extent> {
        let a = self.areas.get(slot)?;
        let (min, max) = (a.min - extent.min, a.max - extent.max);
        if !min.cmple(max + Vec2::splat(ROUNDING_MM)).all() {
            return None;
        }
        Some(Extent {
            min,
            max: max.max(min),
        })
    }

    /// A random pose, slots in proportion to their usable length.
    pub(super) fn random(
        &self,
        random: &mut Random,
        nofit: &NoFit,
        kind: usize,
        turns: &[usize],
    ) -> Option<Pose> {
        let lengths = || self.areas.iter().map(|a| a.size().x.max(0.0));
        for _ in 0..8 {
            let turn = turns[random.below(turns.len())];
            let mut slot = self.areas.len().saturating_sub(1);
            if slot > 0 {
                let mut left = random.unit() * lengths().sum::<f64>();
                for (i, l) in lengths().enumerate() {
                    left -= l;
                    if left < 0.0 {
                        slot = i;
                        break;
                    }
                }
            }
            if let Some(r) = self.room(slot, nofit.extent((kind, turn))) {
                return Some(Pose {
                    at: Vec2::new(
                        random.between(r.min.x, r.max.x),
                        random.between(r.min.y, r.max.y),
                    ),
                    turn: turn as u16,
                    slot: slot as u16,
                });
            }
        }
        None
    }

    /// Brings like boards into falling order of the length used on them, and returns the total.
    pub(super) fn tidy(&self, poses: &mut [Pose], kinds: &[usize], nofit: &NoFit) -> f64 {
        let used = self.used(poses, kinds, nofit);
        let mut to: Vec<usize> = (0..self.slots.len()).collect();
        let alike = |a: &Slot, b: &Slot| a.board == b.board && a.spare == b.spare;
        let mut settled = vec![0.0; self.slots.len()];
        for (i, s) in self.slots.iter().enumerate() {
            let same = |j: &usize| alike(&self.slots[*j], s);
            let places: Vec<usize> = (0..self.slots.len()).filter(same).collect();
            let mut by_use = places.clone();
            by_use.sort_by(|&a, &b| used[b].total_cmp(&used[a]).then(a.cmp(&b)));
            let rank = by_use.iter().position(|&j| j == i).unwrap_or(0);
            to[i] = places[rank];
            settled[places[rank]] = used[i];
        }
        for p in poses.iter_mut() {
            let (from, to) = (p.slot as usize, to[p.slot as usize]);
            p.at.x += self.slots[to].start - self.slots[from].start;
            p.slot = to as u16;
        }
        let last = settled.iter().rposition(|u| *u > 0.0).unwrap_or(0);
        self.slots
            .get(last)
            .map_or(0.0, |s| s.before + settled[last])
    }

    /// Length used on each slot, margin included (mm).
    pub(super) fn used(&self, poses: &[Pose], kinds: &[usize], nofit: &NoFit) -> Vec<f64> {
        let mut used = vec![0.0f64; self.slots.len()];
        for (p, &k) in poses.iter().zip(kinds) {
            let slot = p.slot as usize;
            let end = p.at.x + nofit.extent(turned(k, p)).max.x;
            used[slot] = used[slot].max(end - self.slots[slot].start + self.margin(slot));
        }
        used
    }

    /// A total that no layout of so much area goes below, each board filled in turn.
    pub(super) fn least_for(&self, area_mm2: f64) -> f64 {
        let mut left = area_mm2;
        let mut total = 0.0;
        for s in &self.slots {
            let b = &self.boards[s.board];
            let width = b.width_mm - 2.0 * b.margin_mm;
            let length = b.length_mm - 2.0 * b.margin_mm;
            if left <= width * length {
                return s.before + left / width + 2.0 * b.margin_mm;
            }
            left -= width * length;
            total = s.before + b.length_mm;
        }
        total
    }
}

/// The kind of a copy in its turn.
#[inline]
pub(super) fn turned(kind: usize, pose: &Pose) -> Turned {
    (kind, pose.turn as usize)
}
