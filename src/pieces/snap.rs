//! Moves a split's plane onto the pattern's own flat face where it means that face.
//!
//! A settled mesh has its points on f32 values: a face at 20.26 lies at 20.2600002. A plane that misses it by so little
//! would leave a skin of foam over the whole face.

use std::collections::{BTreeMap, BTreeSet};

use crate::measure::{Plane, Vec3};
use crate::solid::{Shell, Solid};

/// Points this near to a plane are meant to lie in it (mm): a few roundings to f32 at 500 mm.
const NEAR_MM: f64 = 1e-4;
/// How far beyond a face a cutter is moved where it mustn't lie in it (mm).
pub(super) const PAST_MM: f64 = 1e-5;
/// How far a prism over faces goes out over the plane (mm).
const ROOM_MM: f64 = 1.0;
/// Faces under this don't count (mm²).
const LEAST_MM2: f64 = 0.1;
/// Parts of a unit normal under this are rounding.
const LEVEL: f64 = 1e-12;

/// The plane that parts a solid cleanly where one was asked for: a face is passed on the side of the air, so that no cut
/// lies in it. Where faces look both ways it passes above them: see [`overhangs`].
pub(super) fn snapped(solid: &Solid, plane: Plane) -> Plane {
    let plane = Plane {
        normal: square(plane.normal),
        ..plane
    };
    let near = |p: &Vec3| plane.distance(*p).abs() < NEAR_MM;
    let (mut up, mut down) = (0.0, 0.0);
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
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
            (low, high) = (low.min(offset), high.max(offset));
        }
    }
    let offset = if low > high {
        plane.offset
    } else if up >= down || up.min(down) > LEAST_MM2 {
        high + PAST_MM
    } else {
        low - PAST_MM
    };
    Plane { offset, ..plane }
}

/// A flat mesh over the faces just under a plane that look down, from so far below them to so far above the plane: what a
/// cutter of all below the plane has to leave out, so that no skin of foam comes off these faces. `None` without any.
pub(super) fn overhangs(solid: &Solid, plane: &Plane) -> Option<Shell> {
    let near = |p: &Vec3| (-NEAR_MM - PAST_MM..=0.0).contains(&plane.distance(*p));
    let down = |corners: &[Vec3; 3]| {
        let [a, b, c] = corners;
        corners.iter().all(near) && (*b - *a).cross(*c - *a).dot(plane.normal) < 0.0
    };
    let faces: Vec<[u32; 3]> = solid
        .triangles
        .iter()
        .filter(|t| down(&t.map(|v| solid.points[v as usize])))
        .copied()
        .collect();
    let area: f64 = faces
        .iter()
        .map(|t| t.map(|v| solid.points[v as usize]))
        .map(|[a, b, c]| (b - a).cross(c - a).length() / 2.0)
        .sum();
    (area > LEAST_MM2).then(|| prism(solid, &faces, plane))
}

/// Some triangles that look down as a prism: their own at the foot, turned over on top.
fn prism(solid: &Solid, faces: &[[u32; 3]], plane: &Plane) -> Shell {
    let mut place: BTreeMap<u32, u32> = BTreeMap::new();
    for &v in faces.iter().flatten() {
        let next = place.len() as u32;
        place.entry(v).or_insert(next);
    }
    let n = place.len() as u32;
    let mut points = vec![Vec3::ZERO; 2 * n as usize];
    for (&v, &i) in &place {
        let p = solid.points[v as usize];
        let flat = p - plane.normal * plane.distance(p);
        points[i as usize] = flat - plane.normal * (NEAR_MM + 2.0 * PAST_MM);
        points[(n + i) as usize] = flat + plane.normal * ROOM_MM;
    }
    let mut triangles = Vec::new();
    let mut rim = BTreeSet::new();
    for t in faces {
        let [a, b, c] = t.map(|v| place[&v]);
        triangles.extend([[a, b, c], [n + a, n + c, n + b]]);
        for side in [(a, b), (b, c), (c, a)] {
            if !rim.remove(&(side.1, side.0)) {
                rim.insert(side);
            }
        }
    }
    for (a, b) in rim {
        triangles.extend([[b, a, n + a], [b, n + a, n + b]]);
    }
    Shell::plain(points, triangles)
}

/// A direction along an axis to within rounding as exactly that.
fn square(normal: Vec3) -> Vec3 {
    let small = |x: f64| if x.abs() < LEVEL { 0.0 } else { x };
    Vec3::from_array(normal.to_array().map(small)).normalize()
}
