//! A gate that would feed a hot spot: where it could stand, and how large it must be.
//!
//! Method: from the middle of the spot straight out to every flat face, through metal alone and not farther than
//! [`WAY_BALLS`] balls. A place counts where a disc of the stub's size lies flat on the casting's outside there, straight
//! over the middle or moved aside by less than its radius, and where the stub can be led straight out of the casting: a
//! gate that ends inside a chamber is joined by no runner.

use std::f64::consts::{PI, TAU};

use crate::drawing::given::FeatureId;
use crate::measure::Vec3;
use crate::pour::fields::Fields;
use crate::pour::fields::ball::ball_near;
use crate::pour::fields::corner::Corner;
use crate::pour::fields::flats::Flats;
use crate::pour::fields::grid::NONE;
use crate::pour::fields::hot::HotSpot;
use crate::pour::fields::nearest::distance;

/// How far away a face may lie, in diameters of the spot's ball: our own choice; a section goes on about as far.
const WAY_BALLS: f64 = 1.5;

/// How far a stub is moved aside, in its radius, and in how many directions.
const ASIDE: [f64; 3] = [0.3, 0.6, 0.9];
const TURNS: usize = 12;

/// A gate's modulus over the spot's.
const CALL: f64 = 1.1;

/// Places on the rim of the stub that must lie on the face, and on a ring half as wide: the gate itself is held to all of it,
/// and a hole may come in between a few of them.
const RIM: usize = 72;

/// How much farther out the rim is looked at (mm): the stub's size is rounded up where it is printed.
const ROUNDED_MM: f64 = 0.02;

/// How far a place on the rim may lie off the face (mm): what facets of a flat face never do.
const FLAT_MM: f64 = 0.05;

/// A gate that would feed a hot spot.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// The middle of its foot, on the casting (mm).
    pub at: Vec3,
    /// Out of the casting (unit).
    pub facing: Vec3,
    /// Its least diameter (mm): four times its modulus.
    pub dia_mm: f64,
    /// The feature whose face it stands on.
    pub feature: FeatureId,
    /// From its foot to the middle of the spot (mm).
    pub way_mm: f64,
}

/// The gate with the shortest way; `None` where no flat face is wide enough.
pub(super) fn propose(fields: &Fields, spot: &HotSpot) -> Option<Proposal> {
    nearest(fields, spot.slot, spot.at, 4.0 * CALL * spot.modulus_mm)
}

/// The gate that stands nearest over a junction, wider than its ball by as much as a gate's modulus is over its spot's,
/// and large enough for the spots near it; `None` where no flat face is wide enough.
pub(super) fn propose_on(fields: &Fields, corner: &Corner, spots: &[HotSpot]) -> Option<Proposal> {
    // A long junction is told at one place and may be hottest at another.
    let same = |s: &HotSpot| {
        let mut first = corner.features.iter().take(2);
        first.all(|f| s.features.contains(f))
    };
    let beside = |s: &HotSpot| s.at.distance(corner.at) < corner.ball_mm;
    let near = spots.iter().filter(|s| beside(s) || same(s));
    let called = near.map(|s| 4.0 * s.modulus_mm);
    let dia_mm = CALL * called.fold(corner.ball_mm, f64::max);
    let cell = fields.grid.find(corner.at)?;
    let slot = fields.metal.slot[cell];
    (slot != NONE)
        .then(|| nearest(fields, slot, corner.at, dia_mm))
        .flatten()
}

/// The gate of this size with the shortest way to a place in the metal, straight through metal.
fn nearest(fields: &Fields, slot: u32, middle: Vec3, dia_mm: f64) -> Option<Proposal> {
    let radius = dia_mm / 2.0;
    let farthest = WAY_BALLS * 2.0 * ball_near(fields, slot).radius_mm;
    let flats = fields.flats.get_or_init(|| Flats::of(&fields.solid));
    let mut best: Option<Proposal> = None;
    // A plane's triangles may be gathered in two.
    for flat in flats.larger(0.4 * PI * radius * radius) {
        let (facing, way_mm) = (flat.facing, flat.offset - flat.facing.dot(middle));
        let shorter = best.as_ref().is_none_or(|p| way_mm < p.way_mm - 1e-6);
        if !(way_mm > 0.0 && way_mm <= farthest && shorter) {
            continue;
        }
        let faces = flats.faces(&fields.solid, flat, FLAT_MM);
        let over = middle + facing * way_mm;
        let stand = Stand {
            fields,
            faces: &faces,
            facing,
            radius,
        };
        let at = stand
            .places(over)
            .find(|at| stand.clear(middle, *at) && stand.flat(*at));
        let on = at.and_then(|at| Some((at, stand.triangle(at)?)));
        if let Some((at, triangle)) = on {
            best = Some(Proposal {
                at,
                facing,
                dia_mm,
                feature: fields.solid.features[triangle as usize],
                way_mm,
            });
        }
    }
    best
}

/// Where a stub might stand on a plane.
struct Stand<'a> {
    fields: &'a Fields,
    faces: &'a [(u32, [Vec3; 3])],
    facing: Vec3,
    radius: f64,
}

impl Stand<'_> {
    /// Straight over a place, then moved aside, but with the place still under the foot.
    fn places(&self, over: Vec3) -> impl Iterator<Item = Vec3> {
        let (side, other) = self.sides();
        let radius = self.radius;
        let moved = ASIDE.into_iter().flat_map(move |share| {
            (0..TURNS).map(move |k| {
                let (s, c) = (TAU * k as f64 / TURNS as f64).sin_cos();
                over + (side * c + other * s) * (share * radius)
            })
        });
        std::iter::once(over).chain(moved)
    }

    fn sides(&self) -> (Vec3, Vec3) {
        let side = self.facing.any_orthonormal_vector();
        (side, self.facing.cross(side))
    }

    /// The triangle that a place lies on.
    fn triangle(&self, at: Vec3) -> Option<u32> {
        let on = self.faces.iter().find(|f| distance(at, &f.1) < FLAT_MM);
        on.map(|f| f.0)
    }

    /// Whether the foot lies flat on the surface, with air before it.
    fn flat(&self, at: Vec3) -> bool {
        let (side, other) = self.sides();
        let rim = self.radius + ROUNDED_MM;
        (0..=2 * RIM).all(|k| {
            let (s, c) = (TAU * k as f64 / RIM as f64).sin_cos();
            let out = [rim, rim / 2.0, 0.0][k / RIM];
            let p = at + (side * c + other * s) * out;
            self.triangle(p).is_some() && self.open(p)
        })
    }

    /// Whether there is air all the way out from a place on the surface.
    fn open(&self, from: Vec3) -> bool {
        let (grid, cell) = (&self.fields.grid, self.fields.grid.cell_mm);
        let ahead = (0..).map(|k| from + self.facing * ((1.5 + 0.5 * f64::from(k)) * cell));
        ahead
            .map_while(|p| grid.find(p))
            .all(|c| !self.fields.metal.holds(c))
    }

    /// Whether all of the way is metal, but for its last cells.
    fn clear(&self, middle: Vec3, at: Vec3) -> bool {
        let cell = self.fields.grid.cell_mm;
        let way = at - middle;
        let steps = ((way.length() - 1.5 * cell) / (0.5 * cell)).max(0.0) as usize;
        let along = way.normalize_or_zero() * (0.5 * cell);
        (0..=steps).all(|k| self.metal(middle + along * k as f64))
    }

    fn metal(&self, p: Vec3) -> bool {
        let cell = self.fields.grid.find(p);
        cell.is_some_and(|c| self.fields.metal.holds(c))
    }
}
