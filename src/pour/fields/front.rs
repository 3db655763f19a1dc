//! How far the metal travels from the gates to each place, by the shortest way inside the casting.
//!
//! Method: shortest paths from cell to cell (Dijkstra) over all steps up to three cells each way that are no multiple of
//! a shorter one; a step needs metal all along it, and a slanting move metal beside it too, or the front would leap a
//! narrow gap. Lengths come out up to 1.5 % long. The front's speed is how fast the foam clears, so a travel is turned
//! into a range of times, never into one.

use std::cmp::{Ordering, Reverse};
use std::collections::BinaryHeap;

use crate::foundry::gating::{FRONT_MM_S, front_s};
use crate::measure::Vec3;
use crate::pour::fields::Fields;
use crate::pour::fields::contact::Contact;
use crate::pour::fields::grid::{Grid, NONE};

/// Least and greatest speed of the front in aluminium (mm/s).
pub const SPEED_MM_S: [f64; 2] = [FRONT_MM_S.low, FRONT_MM_S.high];

/// Steps reach so many cells.
const FAR: isize = 3;

/// How far the metal travels.
#[derive(Debug, Clone, Default)]
pub struct Front {
    /// Travel to each metal cell (mm); infinite where no gate leads.
    pub travel_mm: Vec<f32>,
    /// Which contact it comes from, by its place in the list; one a metal cell.
    pub contact: Vec<u16>,
    /// The metal cell that each was reached from; the greatest u32 at a contact.
    from: Vec<u32>,
}

/// The last place to fill.
#[derive(Debug, Clone, PartialEq)]
pub struct Last {
    /// Where (mm).
    pub at: Vec3,
    /// The metal's way there, from the contact on, pulled tight (mm).
    pub way: Vec<Vec3>,
    /// Its length (mm).
    pub travel_mm: f64,
    /// Least and greatest time (s), by [`SPEED_MM_S`].
    pub seconds: [f64; 2],
}

/// A step between cells.
struct Step {
    /// How far in numbers of cells.
    by: isize,
    length_mm: f32,
    /// Cells that it passes through.
    through: Vec<isize>,
    /// Pairs or triples of cells of which one must be metal.
    beside: Vec<Vec<isize>>,
}

/// A place in the queue: bits of a travel that isn't negative (in the same order as the travel), and the metal cell.
type Waiting = Reverse<(u32, u32)>;

/// The front from some contacts.
pub(super) fn front(fields: &Fields, contacts: &[Contact]) -> Front {
    let metal = &fields.metal;
    let mut out = Front {
        travel_mm: vec![f32::INFINITY; metal.len()],
        contact: vec![u16::MAX; metal.len()],
        from: vec![NONE; metal.len()],
    };
    let mut queue: BinaryHeap<Waiting> = BinaryHeap::new();
    for (slot, travel, contact) in seeds(fields, contacts) {
        if travel < out.travel_mm[slot as usize] {
            out.travel_mm[slot as usize] = travel;
            out.contact[slot as usize] = contact;
            queue.push(Reverse((travel.to_bits(), slot)));
        }
    }
    let steps = steps(&fields.grid);
    while let Some(Reverse((bits, slot))) = queue.pop() {
        let travel = f32::from_bits(bits);
        if travel > out.travel_mm[slot as usize] {
            continue;
        }
        let cell = metal.cells[slot as usize] as isize;
        let holds = |by: &isize| metal.slot[(cell + by) as usize] != NONE;
        for step in &steps {
            let other = metal.slot[(cell + step.by) as usize];
            let there = travel + step.length_mm;
            if other == NONE || there >= out.travel_mm[other as usize] {
                continue;
            }
            if step.through.iter().all(holds) && step.beside.iter().all(|b| b.iter().any(holds)) {
                out.travel_mm[other as usize] = there;
                out.contact[other as usize] = out.contact[slot as usize];
                out.from[other as usize] = slot;
                queue.push(Reverse((there.to_bits(), other)));
            }
        }
    }
    out
}

/// Metal cells in sight of a contact, within a few cells: the cell, its distance (mm), the contact's place.
pub(super) fn seeds(fields: &Fields, contacts: &[Contact]) -> Vec<(u32, f32, u16)> {
    let grid = &fields.grid;
    let reach = FAR as f64 * grid.cell_mm;
    let mut out = Vec::new();
    for (k, contact) in contacts.iter().enumerate() {
        let far = contact.reach_mm() + reach;
        grid.each_within(contact.at - far, contact.at + far, |c| {
            let slot = fields.metal.slot[c];
            if slot == NONE {
                return;
            }
            let middle = grid.middle(c);
            let foot = contact.nearest(middle);
            let travel = middle.distance(foot);
            // The line begins a little inside the surface.
            let inside = foot - contact.normal * (0.5 * grid.cell_mm);
            if travel <= reach && fields.clear(inside, middle) {
                out.push((slot, travel as f32, k as u16));
            }
        });
    }
    out
}

/// Every step.
fn steps(grid: &Grid) -> Vec<Step> {
    let span = 2 * FAR + 1;
    let all =
        (0..span.pow(3)).map(|k| [k / (span * span), k / span % span, k % span].map(|i| i - FAR));
    all.filter(|by| common(common(by[0], by[1]), by[2]) == 1)
        .map(|by| step(grid, by))
        .collect()
}

/// The greatest common divisor.
fn common(a: isize, b: isize) -> isize {
    if b == 0 { a.abs() } else { common(b, a % b) }
}

fn step(grid: &Grid, by: [isize; 3]) -> Step {
    let length = Vec3::from_array(by.map(|x| x as f64)).length();
    let count = (4.0 * length) as isize;
    let mut cells: Vec<[isize; 3]> = (0..=count)
        .map(|i| by.map(|x| (x as f64 * i as f64 / count as f64).round() as isize))
        .collect();
    cells.dedup();
    let mut beside = Vec::new();
    for pair in cells.windows(2) {
        let turned: Vec<usize> = (0..3).filter(|&k| pair[0][k] != pair[1][k]).collect();
        if turned.len() > 1 {
            let one = |&k: &usize| {
                let mut cell = pair[0];
                cell[k] = pair[1][k];
                grid.step(cell)
            };
            beside.push(turned.iter().map(one).collect());
        }
    }
    Step {
        by: grid.step(by),
        length_mm: (length * grid.cell_mm) as f32,
        through: cells[1..cells.len() - 1]
            .iter()
            .map(|c| grid.step(*c))
            .collect(),
        beside,
    }
}

impl Front {
    /// The last place to fill; `None` where there is no contact.
    pub fn last(&self, fields: &Fields) -> Option<Last> {
        let reached = (0..self.travel_mm.len()).filter(|&i| self.travel_mm[i].is_finite());
        let slot = reached.max_by(|&a, &b| {
            let order = self.travel_mm[a].total_cmp(&self.travel_mm[b]);
            if order == Ordering::Equal {
                b.cmp(&a)
            } else {
                order
            }
        })?;
        let (way, travel_mm) = self.pulled(fields, slot as u32);
        Some(Last {
            at: fields.middle(slot as u32),
            way,
            travel_mm,
            seconds: front_s(travel_mm),
        })
    }

    /// The way to a metal cell, as straight as clear chords make it, and its length (mm).
    pub fn pulled(&self, fields: &Fields, slot: u32) -> (Vec<Vec3>, f64) {
        let mut cells = vec![slot];
        let mut at = slot;
        while self.from[at as usize] != NONE {
            at = self.from[at as usize];
            cells.push(at);
        }
        cells.reverse();
        let points: Vec<Vec3> = cells.iter().map(|s| fields.middle(*s)).collect();
        let count = points.len();
        let mut best = vec![(f64::INFINITY, 0_usize); count];
        best[0].0 = f64::from(self.travel_mm[at as usize]);
        for i in 0..count {
            for j in i + 1..count {
                let length = best[i].0 + points[i].distance(points[j]);
                let better = length < best[j].0 - 1e-9;
                if better && (j == i + 1 || fields.clear(points[i], points[j])) {
                    best[j] = (length, i);
                }
            }
        }
        let mut way = vec![points[count - 1]];
        let mut i = count - 1;
        while i != 0 {
            i = best[i].1;
            way.push(points[i]);
        }
        way.reverse();
        (way, best[count - 1].0)
    }

    /// How many metal cells no contact leads to.
    pub fn unreached(&self) -> usize {
        self.travel_mm.iter().filter(|t| t.is_infinite()).count()
    }
}
