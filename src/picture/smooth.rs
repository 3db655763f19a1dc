//! Normals for shading: averaged over neighbours that turn little, so that round walls look round and creases stay.

use crate::measure::Vec3;
use crate::solid::Solid;

/// Cosine of the turn beyond which an edge is a crease (25°).
pub const CREASE_COS: f64 = 0.906;

/// Three normals a triangle, one for each corner.
pub fn corner_normals(solid: &Solid) -> Vec<[Vec3; 3]> {
    let faces: Vec<Vec3> = solid
        .corners()
        .map(|[a, b, c]| (b - a).cross(c - a))
        .collect();
    let units: Vec<Vec3> = faces.iter().map(|n| n.normalize_or_zero()).collect();
    // The triangles round point i are around[begins[i]..begins[i + 1]].
    let mut begins = vec![0u32; solid.points.len() + 1];
    for &i in solid.triangles.iter().flatten() {
        begins[i as usize + 1] += 1;
    }
    for i in 1..begins.len() {
        begins[i] += begins[i - 1];
    }
    let mut filled = begins.clone();
    let mut around = vec![0u32; 3 * solid.triangles.len()];
    for (t, corners) in solid.triangles.iter().enumerate() {
        for &i in corners {
            around[filled[i as usize] as usize] = t as u32;
            filled[i as usize] += 1;
        }
    }
    solid
        .triangles
        .iter()
        .enumerate()
        .map(|(t, corners)| {
            corners.map(|i| {
                let i = i as usize;
                let sum: Vec3 = around[begins[i] as usize..begins[i + 1] as usize]
                    .iter()
                    .filter(|&&o| units[o as usize].dot(units[t]) > CREASE_COS)
                    .map(|&o| faces[o as usize])
                    .sum();
                sum.try_normalize().unwrap_or(units[t])
            })
        })
        .collect()
}
