//! The flat faces of a mesh: triangles gathered by their plane.

use std::collections::BTreeMap;

use crate::measure::Vec3;
use crate::solid::Solid;

/// Normals are gathered in steps of one over this, planes in steps of one over the second a mm.
const STEPS: [f64; 2] = [200.0, 4.0];

/// Normals of one plane differ by less (1 less the cosine).
const SAME_WAY: f64 = 1e-3;

/// The planes of a mesh that hold triangles.
#[derive(Debug, Clone)]
pub(super) struct Flats {
    planes: BTreeMap<[i64; 4], Flat>,
}

/// Triangles that lie in nearly one plane.
#[derive(Debug, Clone)]
pub(super) struct Flat {
    key: [i64; 4],
    /// Out of the metal (unit).
    pub facing: Vec3,
    /// The plane's distance from the origin along that (mm).
    pub offset: f64,
    /// Of the triangles (mm²).
    pub area_mm2: f64,
    triangles: Vec<u32>,
}

impl Flats {
    /// Those of a mesh.
    pub fn of(solid: &Solid) -> Flats {
        let mut planes: BTreeMap<[i64; 4], Flat> = BTreeMap::new();
        for (triangle, [a, b, c]) in solid.corners().enumerate() {
            let doubled = (b - a).cross(c - a);
            let facing = doubled.normalize_or_zero();
            if facing == Vec3::ZERO {
                continue;
            }
            let offset = facing.dot(a);
            let [x, y, z] = facing.to_array().map(|c| (c * STEPS[0]).round() as i64);
            let key = [x, y, z, (offset * STEPS[1]).round() as i64];
            let plane = planes.entry(key).or_insert_with(|| Flat {
                key,
                facing,
                offset,
                area_mm2: 0.0,
                triangles: Vec::new(),
            });
            plane.area_mm2 += doubled.length() / 2.0;
            plane.triangles.push(triangle as u32);
        }
        Flats { planes }
    }

    /// Planes with more than this area of triangles (mm²), in a fixed order.
    pub fn larger(&self, area_mm2: f64) -> impl Iterator<Item = &Flat> {
        self.planes.values().filter(move |f| f.area_mm2 > area_mm2)
    }

    /// The triangles within `off` mm of a plane, those gathered a step beside it too.
    pub fn faces(&self, solid: &Solid, flat: &Flat, off: f64) -> Vec<(u32, [Vec3; 3])> {
        let [x, y, z, at] = flat.key;
        let beside = [at - 1, at, at + 1].map(|at| self.planes.get(&[x, y, z, at]));
        let all = beside.into_iter().flatten().flat_map(|f| &f.triangles);
        let mut out = Vec::new();
        for &triangle in all {
            let t = solid.triangles[triangle as usize];
            let [a, b, c] = t.map(|i| solid.points[i as usize]);
            let normal = (b - a).cross(c - a).normalize_or_zero();
            let same = normal.dot(flat.facing) > 1.0 - SAME_WAY;
            if same && (flat.facing.dot(a) - flat.offset).abs() < off {
                out.push((triangle, [a, b, c]));
            }
        }
        out
    }
}
