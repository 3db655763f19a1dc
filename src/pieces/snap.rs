//! Moves a split's plane onto the pattern's own flat face where it means that face.
//!
//! A settled mesh has its points on f32 values: a face at 20.26 lies at 20.2600002. A plane that misses it by so little
//! would leave a skin of foam over the whole face.

use std::collections::BTreeMap;

use crate::measure::{Plane, Vec3};
use crate::solid::Solid;

/// Points this near to a plane are meant to lie in it (mm): a few roundings to f32 at 500 mm.
const NEAR_MM: f64 = 1e-4;
/// How far beyond a face a cutter is moved where it mustn't lie in it (mm).
pub(super) const PAST_MM: f64 = 1e-5;
/// Faces under this don't count (mm²).
const LEAST_MM2: f64 = 0.1;
/// Parts of a unit normal under this are rounding.
const LEVEL: f64 = 1e-12;

/// The plane that parts a solid cleanly where one was asked for: a face is passed on the side of the air, so that no cut
/// lies in it. Where faces along an axis look both ways it goes through their own coordinate.
pub(super) fn snapped(solid: &Solid, plane: Plane) -> Plane {
    let plane = Plane {
        normal: square(plane.normal),
        ..plane
    };
    let near = |p: &Vec3| plane.distance(*p).abs() < NEAR_MM;
    let (mut up, mut down) = (0.0, 0.0);
    let mut offsets: BTreeMap<i64, (usize, f64)> = BTreeMap::new();
    for corners in solid.corners().filter(|c| c.iter().all(near)) {
        let [a, b, c] = corners;
        let facing = (b - a).cross(c - a).dot(plane.normal) / 2.0;
        if facing > 0.0 {
            up += facing;
        } else {
            down -= facing;
        }
        for p in corners {
            let offset = plane.normal.dot(p);
            let key = (offset * 1e9).round() as i64;
            offsets.entry(key).or_insert((0, offset)).0 += 1;
        }
    }
    let (Some((_, low)), Some((_, high))) = (
        offsets.first_key_value().map(|(k, v)| (k, v.1)),
        offsets.last_key_value().map(|(k, v)| (k, v.1)),
    ) else {
        return plane;
    };
    let along_axis = plane.normal.abs().max_element() == 1.0;
    let offset = if along_axis && up.min(down) > LEAST_MM2 {
        // Of several, the one that most corners lie in.
        let most = offsets.values().max_by_key(|(count, _)| *count);
        most.map_or(plane.offset, |(_, offset)| *offset)
    } else if up >= down {
        high + PAST_MM
    } else {
        low - PAST_MM
    };
    Plane { offset, ..plane }
}

/// A direction along an axis to within rounding as exactly that.
fn square(normal: Vec3) -> Vec3 {
    let small = |x: f64| if x.abs() < LEVEL { 0.0 } else { x };
    Vec3::from_array(normal.to_array().map(small)).normalize()
}
