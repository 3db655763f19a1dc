//! A gate that would feed a hot spot: where it could stand, and how large it must be.
//!
//! Method: from the middle of the spot straight out along the normals of the surfaces that its ball touches. A place
//! counts where a disc of the stub's size lies flat on the casting's outside there.

use std::f64::consts::TAU;

use crate::drawing::given::FeatureId;
use crate::measure::Vec3;
use crate::pour::fields::Fields;
use crate::pour::fields::ball::ball_near;
use crate::pour::fields::corner::Corner;
use crate::pour::fields::grid::NONE;
use crate::pour::fields::hot::HotSpot;
use crate::pour::fields::nearest::distance;

/// A gate's modulus over the spot's.
const CALL: f64 = 1.1;

/// Places on the rim of the stub that must lie on the face.
const RIM: usize = 12;

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

/// The gate that stands nearest over a junction, wider than its ball by as much as a gate's modulus is over its spot's;
/// `None` where no flat face is wide enough.
pub(super) fn propose_on(fields: &Fields, corner: &Corner) -> Option<Proposal> {
    let cell = fields.grid.find(corner.at)?;
    let slot = fields.metal.slot[cell];
    (slot != NONE)
        .then(|| nearest(fields, slot, corner.at, CALL * corner.ball_mm))
        .flatten()
}

/// The gate of this size with the shortest way to a place in the metal.
fn nearest(fields: &Fields, slot: u32, middle: Vec3, dia_mm: f64) -> Option<Proposal> {
    let ball = ball_near(fields, slot);
    let mut best: Option<Proposal> = None;
    for &triangle in &ball.touches {
        let t = fields.solid.triangles[triangle as usize];
        let [a, b, c] = t.map(|i| fields.solid.points[i as usize]);
        let facing = (b - a).cross(c - a).normalize_or_zero();
        let way_mm = (a - middle).dot(facing);
        let at = middle + facing * way_mm;
        let shorter = best.as_ref().is_none_or(|p| way_mm < p.way_mm - 1e-6);
        if facing != Vec3::ZERO && shorter && stands(fields, at, facing, dia_mm / 2.0) {
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

/// Whether a disc lies flat on the surface, with air before it.
fn stands(fields: &Fields, at: Vec3, facing: Vec3, radius: f64) -> bool {
    let side = facing.any_orthonormal_vector();
    let other = facing.cross(side);
    let mut faces: Vec<[Vec3; 3]> = Vec::new();
    for [a, b, c] in fields.solid.corners() {
        let normal = (b - a).cross(c - a).normalize_or_zero();
        if normal.dot(facing) > 0.999 && ((a - at).dot(facing)).abs() < FLAT_MM {
            faces.push([a, b, c]);
        }
    }
    (0..=RIM).all(|k| {
        let (s, c) = (TAU * k as f64 / RIM as f64).sin_cos();
        let out = if k == RIM { 0.0 } else { radius };
        let p = at + (side * c + other * s) * out;
        let on_face = faces.iter().any(|f| distance(p, f) < FLAT_MM);
        let before = p + facing * (1.5 * fields.grid.cell_mm);
        let free = fields
            .grid
            .find(before)
            .is_none_or(|c| !fields.metal.holds(c));
        on_face && free
    })
}
