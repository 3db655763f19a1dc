//! Levels that part a piece as it lies into layers, each of which a cutter reaches from its two sides and a board takes.
//!
//! A layer between two levels can be cut when no floor in it has a roof of the same layer over it, which is asked of the
//! gaps of the whole piece: cut faces hide nothing. A layer within one that can be cut can be cut too, so walking up as far
//! as each layer goes gives the fewest levels and each one's highest place, walking down their lowest: between lies the room.

use std::collections::{BTreeMap, BTreeSet};

use crate::drawing::given::FeatureId;
use crate::measure::{LIP_MM, TRIFLE_MM2};
use crate::pieces::boards::SLACK_MM;
use crate::solid::Solid;
use crate::solid::reach::{Gap, Gaps, Hidden};

/// Levels are found to within this (mm).
const STEP_MM: f64 = 0.01;
/// A face this near to a level lies in it (mm).
const IN_FACE_MM: f64 = 1e-3;
/// Under a roof lower than this foam is left, and rubbed off by hand (mm).
const LOW_MM: f64 = 0.2;
/// What two features hide between them is worth this many levels; what needs more is better cut loose.
const MOST_FOR_ONE: usize = 2;
/// A layer that can't be higher than this is none (mm).
const LEAST_LAYER_MM: f64 = 0.5;
/// More layers than this are no plan.
const MOST_LAYERS: usize = 40;

/// Two features with a gap between them, the one drawn earlier first.
type Pair = (FeatureId, FeatureId);

/// Where a level can lie: from the lowest to the highest place (mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Room {
    pub low: f64,
    pub high: f64,
}

/// What keeps a piece, as it lies, from being cut in one.
pub(super) struct Reach<'a> {
    solid: &'a Solid,
    gaps: Gaps,
    /// Its top; its foot is at 0 (mm).
    top: f64,
    /// The thickest board (mm); infinite where none is declared.
    board: f64,
    lip: f64,
    /// Pairs that no few levels open.
    unsolved: BTreeSet<Pair>,
}

impl<'a> Reach<'a> {
    /// Looks at a piece as it lies, its foot at height 0.
    pub fn of(solid: &'a Solid, top: f64, board: f64, facet_mm: f64) -> Reach<'a> {
        let mut reach = Reach {
            solid,
            gaps: Gaps::of(solid),
            top,
            board,
            // A little under what is called reached, so that nothing hangs on rounding.
            lip: 0.9 * LIP_MM.max(2.5 * facet_mm),
            unsolved: BTreeSet::new(),
        };
        if !reach.gaps.none() {
            reach.unsolved = reach.find_unsolved();
        }
        reach
    }

    /// Whether a cutter reaches all of it that levels can open.
    pub fn reached(&self) -> bool {
        self.hidden(0.0, self.top).is_empty()
    }

    /// How many pairs of features no few levels open.
    pub fn unsolved(&self) -> usize {
        self.unsolved.len()
    }

    fn pair(&self, gap: &Gap) -> Pair {
        let feature = |t: u32| self.solid.features[t as usize];
        let (a, b) = (feature(gap.floor), feature(gap.roof));
        (a.min(b), a.max(b))
    }

    /// What is hidden between two levels and worth a split.
    fn hidden(&self, low: f64, high: f64) -> Hidden {
        let solvable = |gap: &Gap| !self.unsolved.contains(&self.pair(gap));
        self.worth(&self.gaps, low, high, &solvable)
    }

    /// The same of some gaps.
    fn worth(&self, gaps: &Gaps, low: f64, high: f64, of: &dyn Fn(&Gap) -> bool) -> Hidden {
        let hidden = gaps.hidden(low + IN_FACE_MM, high - IN_FACE_MM, self.lip, of);
        let mut voids: BTreeMap<u32, Hidden> = BTreeMap::new();
        for piece in hidden.pieces {
            let void = gaps.list[piece.0].void;
            voids.entry(void).or_default().pieces.push(piece);
        }
        let worth = |h: &Hidden| h.plan_mm2() >= TRIFLE_MM2 && h.tallest() >= LOW_MM;
        let pieces = voids.into_values().filter(worth).flat_map(|h| h.pieces);
        Hidden {
            pieces: pieces.collect(),
        }
    }

    fn open(&self, low: f64, high: f64) -> bool {
        high - low <= self.board + SLACK_MM && self.hidden(low, high).is_empty()
    }

    fn find_unsolved(&self) -> BTreeSet<Pair> {
        let hidden = self.hidden(0.0, self.top);
        let pair_of = |(i, _): &(usize, _)| (self.pair(&self.gaps.list[*i]), Gaps::default());
        let mut pairs: BTreeMap<Pair, Gaps> = hidden.pieces.iter().map(pair_of).collect();
        for gap in &self.gaps.list {
            if let Some(own) = pairs.get_mut(&self.pair(gap)) {
                own.list.push(gap.clone());
            }
        }
        let few = |own: &Gaps| {
            let open = |low: f64, high: f64| self.worth(own, low, high, &|_| true).is_empty();
            let mut at = 0.0;
            for _ in 0..=MOST_FOR_ONE {
                let next = farthest(at, self.top, &|b| open(at, b));
                if next >= self.top - STEP_MM {
                    return true;
                }
                if next - at < LEAST_LAYER_MM {
                    return false;
                }
                at = next;
            }
            false
        };
        let many = pairs.into_iter().filter(|(_, own)| !few(own));
        many.map(|(pair, _)| pair).collect()
    }

    /// The highest end of a layer that starts at a level.
    pub fn up(&self, low: f64) -> f64 {
        let most = (low + self.board).min(self.top);
        farthest(low, most, &|high| self.open(low, high))
    }

    /// The lowest start of a layer that ends at a level.
    fn down(&self, high: f64) -> f64 {
        let most = (high - self.board).max(0.0);
        -farthest(-high, -most, &|low| self.open(-low, high))
    }

    /// The room of each of the fewest levels, lowest first; `None` where layers grow too thin.
    pub fn rooms(&self) -> Option<Vec<Room>> {
        let (mut up, mut at) = (Vec::new(), self.up(0.0));
        while at < self.top - STEP_MM {
            up.push(at);
            let next = self.up(at);
            if next - at < LEAST_LAYER_MM || up.len() > MOST_LAYERS {
                return None;
            }
            at = next;
        }
        let (mut down, mut at) = (Vec::new(), self.top);
        for _ in &up {
            at = self.down(at);
            down.push(at);
        }
        down.reverse();
        let rooms = down.into_iter().zip(up);
        Some(
            rooms
                .map(|(low, high)| Room {
                    low: low.min(high),
                    high,
                })
                .collect(),
        )
    }

    /// Gives up what a layer between two levels would hide: levels there would leave foam too thin to handle.
    pub fn give_up(&mut self, low: f64, high: f64) {
        let hidden = self.hidden(low, high);
        let pairs = hidden
            .pieces
            .iter()
            .map(|(i, _)| self.pair(&self.gaps.list[*i]));
        let pairs: Vec<Pair> = pairs.collect();
        self.unsolved.extend(pairs);
    }

    /// The area in plan that a layer would hide (mm²).
    pub fn hidden_mm2(&self, low: f64, high: f64) -> f64 {
        self.hidden(low, high).plan_mm2()
    }

    /// The features that would be hidden in a layer, those with most first.
    pub fn hides(&self, low: f64, high: f64) -> Vec<FeatureId> {
        let mut areas: BTreeMap<FeatureId, f64> = BTreeMap::new();
        for (i, piece) in self.hidden(low, high).pieces {
            // Of a floor and its roof the feature drawn later is what was put in the other's way.
            let (_, later) = self.pair(&self.gaps.list[i]);
            let one = Hidden {
                pieces: vec![(i, piece)],
            };
            *areas.entry(later).or_default() += one.plan_mm2();
        }
        let mut areas: Vec<(FeatureId, f64)> = areas.into_iter().collect();
        areas.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        areas.into_iter().map(|(id, _)| id).collect()
    }
}

/// The farthest place up to `most` at which something still holds that holds near `from`.
fn farthest(from: f64, most: f64, holds: &dyn Fn(f64) -> bool) -> f64 {
    if holds(most) {
        return most;
    }
    let (mut good, mut bad) = (from, most);
    while bad - good > STEP_MM {
        let middle = (good + bad) / 2.0;
        if holds(middle) {
            good = middle;
        } else {
            bad = middle;
        }
    }
    good
}
