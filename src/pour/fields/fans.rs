//! The triangles at each point of a mesh.

use crate::solid::Solid;

/// The triangles at each point.
#[derive(Debug, Clone, Default)]
pub(super) struct Fans {
    /// Where each point's triangles begin; one more at the end.
    start: Vec<u32>,
    triangles: Vec<u32>,
}

impl Fans {
    /// Those of a mesh.
    pub fn of(solid: &Solid) -> Fans {
        let mut start = vec![0_u32; solid.points.len() + 1];
        for p in solid.triangles.iter().flatten() {
            start[*p as usize + 1] += 1;
        }
        for i in 1..start.len() {
            start[i] += start[i - 1];
        }
        let mut next = start.clone();
        let mut triangles = vec![0; 3 * solid.triangles.len()];
        for (t, corners) in solid.triangles.iter().enumerate() {
            for p in corners {
                let at = &mut next[*p as usize];
                triangles[*at as usize] = t as u32;
                *at += 1;
            }
        }
        Fans { start, triangles }
    }

    /// Adds to some triangles those that share a point with one of them; in ascending order.
    pub fn widen(&self, solid: &Solid, triangles: &mut Vec<u32>) {
        for k in 0..triangles.len() {
            for p in solid.triangles[triangles[k] as usize] {
                let range = self.start[p as usize] as usize..self.start[p as usize + 1] as usize;
                triangles.extend_from_slice(&self.triangles[range]);
            }
        }
        triangles.sort_unstable();
        triangles.dedup();
    }
}
