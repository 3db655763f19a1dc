//! Where fronts meet: folds form where cooled fronts close on each other.
//!
//! Method: at each metal cell the direction that the front comes from, by the differences of travel on its near side.
//! Two cells side by side are in a meeting where their fronts run towards each other, at more than 60°.

use crate::measure::Vec3;
use crate::pour::fields::Fields;
use crate::pour::fields::front::Front;
use crate::pour::fields::grid::NONE;

/// Fronts meet where the cosine between their directions is under this: they differ by more than 60°.
const AGAINST: f64 = 0.5;

/// A seam where two fronts meet.
#[derive(Debug, Clone, PartialEq)]
pub struct Meeting {
    /// A place in it, nearest to its middle (mm).
    pub at: Vec3,
    /// Its area, by the cells' faces (mm²).
    pub area_mm2: f64,
    /// The shortest travel to it (mm).
    pub nearest_mm: f64,
    /// The farthest (mm).
    pub farthest_mm: f64,
    /// The contacts that the two sides come from, by their places in the list; equal where a front goes round something.
    pub contacts: [u16; 2],
    /// Its metal cells.
    pub slots: Vec<u32>,
}

/// The seams, the largest first. Crumbs under `least_mm2` are left out.
pub(super) fn meetings(fields: &Fields, front: &Front, least_mm2: f64) -> Vec<Meeting> {
    let count = fields.metal.len();
    let way: Vec<Vec3> = (0..count).map(|i| direction(fields, front, i)).collect();
    let mut meets = vec![false; count];
    let mut other_side = vec![u16::MAX; count];
    for i in 0..count {
        for k in 0..3 {
            let j = fields.metal.near[i][2 * k + 1];
            if j == NONE {
                continue;
            }
            let (a, b) = (way[i], way[j as usize]);
            if a.dot(b) < AGAINST && a[k] > 0.0 && b[k] < 0.0 {
                meets[i] = true;
                other_side[i] = front.contact[j as usize];
            }
        }
    }
    let mut out: Vec<Meeting> = groups(fields, &mut meets)
        .into_iter()
        .map(|slots| seam(fields, front, slots, &other_side))
        .filter(|m| m.area_mm2 >= least_mm2)
        .collect();
    out.sort_by(|a, b| {
        b.area_mm2
            .total_cmp(&a.area_mm2)
            .then(a.slots.cmp(&b.slots))
    });
    out
}

/// The way that the front runs through a metal cell (unit), zero where it isn't plain.
fn direction(fields: &Fields, front: &Front, i: usize) -> Vec3 {
    let here = front.travel_mm[i];
    let travel = |slot: u32| match slot {
        NONE => f32::INFINITY,
        slot => front.travel_mm[slot as usize],
    };
    let mut way = Vec3::ZERO;
    for k in 0..3 {
        let (low, high) = (
            travel(fields.metal.near[i][2 * k]),
            travel(fields.metal.near[i][2 * k + 1]),
        );
        if low.min(high) < here {
            way[k] = f64::from(if low < high { here - low } else { high - here });
        }
    }
    if way.length() > 0.2 * fields.grid.cell_mm {
        way.normalize()
    } else {
        Vec3::ZERO
    }
}

/// Marked metal cells that touch, corners included; the marks go.
fn groups(fields: &Fields, marked: &mut [bool]) -> Vec<Vec<u32>> {
    let around = fields.grid.around();
    let mut out = Vec::new();
    for first in 0..marked.len() {
        if !std::mem::take(&mut marked[first]) {
            continue;
        }
        let mut group = vec![first as u32];
        let mut next = 0;
        while let Some(&slot) = group.get(next) {
            next += 1;
            let cell = fields.metal.cells[slot as usize] as isize;
            for step in &around {
                let other = fields.metal.slot[(cell + step) as usize];
                if other != NONE && std::mem::take(&mut marked[other as usize]) {
                    group.push(other);
                }
            }
        }
        group.sort_unstable();
        out.push(group);
    }
    out
}

fn seam(fields: &Fields, front: &Front, slots: Vec<u32>, other_side: &[u16]) -> Meeting {
    let count = slots.len() as f64;
    let middle: Vec3 = slots.iter().map(|s| fields.middle(*s)).sum::<Vec3>() / count;
    let far = |s: &&u32| fields.middle(**s).distance_squared(middle);
    let nearest = slots.iter().min_by(|a, b| far(a).total_cmp(&far(b)));
    let slot = nearest.copied().unwrap_or(0);
    let travel = slots
        .iter()
        .map(|s| f64::from(front.travel_mm[*s as usize]));
    let mut contacts = [front.contact[slot as usize], other_side[slot as usize]];
    contacts.sort_unstable();
    Meeting {
        at: fields.middle(slot),
        area_mm2: count * fields.grid.cell_mm.powi(2),
        nearest_mm: travel.clone().fold(f64::INFINITY, f64::min),
        farthest_mm: travel.fold(0.0, f64::max),
        contacts,
        slots,
    }
}
