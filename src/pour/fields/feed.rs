//! How each hot spot is fed: the widest way to it from a gate or a feeder, and where that is narrowest.
//!
//! Method: the widest path (the one whose least value is greatest) over the metal cells, twice: on the local volume over
//! area, with the surface spread over one half thickness and over two, of which the lower counts (a short neck reads warm,
//! which is the unsafe way); and on the distance from the surface, whose least place is the neck's ball. A contact is no
//! surface to the sand, so it is left out of the area on the way; the hot spots themselves are those of the whole surface,
//! as a contact reads 8 to 14 % too hot.

use std::collections::BinaryHeap;

use crate::measure::Vec3;
use crate::pour::fields::ball::mean_in;
use crate::pour::fields::contact::Contact;
use crate::pour::fields::corner::room_at;
use crate::pour::fields::front::seeds;
use crate::pour::fields::grid::NONE;
use crate::pour::fields::hot::HotSpot;
use crate::pour::fields::{Fields, area, spread};

/// A way feeds where its least modulus is at least this share of the spot's: our own choice, as each of the two is only
/// known within 6 %.
pub const FED_FROM: f64 = 0.85;

/// How a hot spot is fed.
#[derive(Debug, Clone, PartialEq)]
pub struct Fed {
    /// The spot, by its place in the list.
    pub spot: usize,
    /// The contact that the widest way comes from, by its place in the list; `None` where no way leads.
    pub contact: Option<usize>,
    /// The least modulus on the way over the spot's; 1 where nothing is narrower. 0 where no way leads.
    pub ratio: f64,
    /// The narrowest place of the way (mm).
    pub neck_at: Vec3,
    /// Diameter of the ball that passes all along the way (mm).
    pub neck_mm: f64,
    /// Where that ball is tightest (mm).
    pub neck_ball_at: Vec3,
    /// The contact's modulus over the spot's; 0 without a contact. It must reach [`Contact::call`].
    pub supply: f64,
}

impl Fed {
    /// Whether the way is wide enough.
    pub fn reached(&self) -> bool {
        self.contact.is_some() && self.ratio >= FED_FROM
    }
}

/// How each spot is fed from some contacts.
pub(super) fn feeding(fields: &Fields, spots: &[HotSpot], contacts: &[Contact]) -> Vec<Fed> {
    let nowhere = |(spot, s): (usize, &HotSpot)| Fed {
        spot,
        contact: None,
        ratio: 0.0,
        neck_at: s.at,
        neck_mm: 0.0,
        neck_ball_at: s.at,
        supply: 0.0,
    };
    if contacts.is_empty() {
        return spots.iter().enumerate().map(nowhere).collect();
    }
    let within = 0.5 * fields.grid.cell_mm;
    let joined = |p: Vec3| contacts.iter().any(|c| c.covers(p, within));
    let area = area::area_of(&fields.solid, &fields.grid, &fields.metal, &joined);
    let solved = |reach: f32| {
        let given: [&[f32]; 3] = [&area, &fields.volume, &fields.half_mm];
        spread::spread(&fields.grid, &fields.metal, given, reach)
    };
    let fed = fed_cells(fields, contacts);
    let way = |reach: f32| {
        let surface = solved(reach);
        let modulus: Vec<f32> = surface.iter().map(|w| 1.0 / w).collect();
        let way = widest(fields, &modulus, &fed);
        (surface, way)
    };
    let (ways, balls) = std::thread::scope(|scope| {
        let near = scope.spawn(|| way(1.0));
        let far = way(2.0);
        let balls = widest(fields, &fields.nearest.distance_mm, &fed);
        let near = near.join().unwrap_or_else(|p| std::panic::resume_unwind(p));
        ([near, far], balls)
    });
    spots
        .iter()
        .enumerate()
        .map(|(spot, s)| {
            let slot = s.slot as usize;
            let mut out = nowhere((spot, s));
            if balls.contact[slot] == u16::MAX {
                return out;
            }
            out.ratio = 1.0;
            for (surface, way) in &ways {
                let hot = 1.0 / mean_in(fields, surface, s.at, s.ball_mm / 2.0);
                let ratio = f64::from(way.least[slot]) / hot;
                if out.contact.is_none() || ratio < out.ratio {
                    out.contact = Some(usize::from(way.contact[slot]));
                    out.ratio = ratio.min(1.0);
                    out.neck_at = way.narrowest(fields, slot).unwrap_or(s.at);
                }
            }
            out.neck_mm = match balls.place[slot] {
                NONE => s.ball_mm,
                place => (2.0 * room_at(fields, place)).min(s.ball_mm),
            };
            out.neck_ball_at = balls.narrowest(fields, slot).unwrap_or(s.at);
            out.supply = out
                .contact
                .map_or(0.0, |c| contacts[c].modulus_mm() / s.modulus_mm);
            out
        })
        .collect()
}

/// Metal cells that are as good as a contact: in sight of it and within a few cells. With the contact's place.
fn fed_cells(fields: &Fields, contacts: &[Contact]) -> Vec<(u32, u16)> {
    let near = seeds(fields, contacts).into_iter();
    near.map(|(slot, _, contact)| (slot, contact)).collect()
}

/// The widest ways to every metal cell.
struct Way {
    /// The least value on the way; one a metal cell.
    least: Vec<f32>,
    /// The metal cell where it is; the greatest u32 for a fed cell.
    place: Vec<u32>,
    /// The contact that it comes from; the greatest u16 where no way leads.
    contact: Vec<u16>,
}

impl Way {
    fn narrowest(&self, fields: &Fields, slot: usize) -> Option<Vec3> {
        let place = self.place[slot];
        (place != NONE).then(|| fields.middle(place))
    }
}

/// The widest ways from fed cells, which count as wide as can be.
fn widest(fields: &Fields, value: &[f32], fed: &[(u32, u16)]) -> Way {
    let count = fields.metal.len();
    let mut way = Way {
        least: vec![0.0; count],
        place: vec![NONE; count],
        contact: vec![u16::MAX; count],
    };
    // Values aren't negative, so that they are ordered as their bits.
    let mut queue: BinaryHeap<(u32, u32)> = BinaryHeap::new();
    for &(slot, contact) in fed {
        if way.contact[slot as usize] == u16::MAX {
            way.contact[slot as usize] = contact;
            way.least[slot as usize] = f32::MAX;
            queue.push((f32::MAX.to_bits(), slot));
        }
    }
    let around = fields.grid.around();
    while let Some((bits, slot)) = queue.pop() {
        let here = f32::from_bits(bits);
        let i = slot as usize;
        if here < way.least[i] {
            continue;
        }
        let cell = fields.metal.cells[i] as isize;
        for step in &around {
            let other = fields.metal.slot[(cell + step) as usize];
            if other == NONE {
                continue;
            }
            let o = other as usize;
            let least = here.min(value[o]);
            if least > way.least[o] {
                way.least[o] = least;
                way.place[o] = if value[o] < here { other } else { way.place[i] };
                way.contact[o] = way.contact[i];
                queue.push((least.to_bits(), other));
            }
        }
    }
    way
}
