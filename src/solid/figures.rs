//! Figures of a solid, and its soundness.

use std::collections::HashMap;

use crate::measure::{Bounds, Vec3};
use crate::solid::Solid;

/// What a solid measures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figures {
    /// Enclosed volume (mm³).
    pub volume_mm3: f64,
    /// Surface (mm²).
    pub area_mm2: f64,
    /// Least coordinates (mm).
    pub low_mm: Vec3,
    /// Greatest coordinates (mm).
    pub high_mm: Vec3,
    /// Bodies: parts that don't touch. A closed void inside a body is not one.
    pub bodies: usize,
    /// Genus summed over all surfaces: through holes.
    pub handles: i64,
    /// Triangles.
    pub triangles: usize,
}

impl Solid {
    /// Enclosed volume (mm³).
    pub fn volume_mm3(&self) -> f64 {
        let six: f64 = self.corners().map(|[a, b, c]| a.dot(b.cross(c))).sum();
        six / 6.0
    }

    /// Surface (mm²).
    pub fn area_mm2(&self) -> f64 {
        self.corners()
            .map(|[a, b, c]| (b - a).cross(c - a).length() / 2.0)
            .sum()
    }

    /// The box round it.
    pub fn bounds(&self) -> Bounds {
        Bounds::of(self.points.iter().copied())
    }

    /// The three corners of each triangle.
    pub fn corners(&self) -> impl Iterator<Item = [Vec3; 3]> + '_ {
        self.triangles
            .iter()
            .map(|t| t.map(|i| self.points[i as usize]))
    }

    /// Everything that a report says of a stage.
    pub fn figures(&self) -> Figures {
        let surfaces = self.surfaces();
        let bounds = self.bounds();
        let mut used = vec![false; self.points.len()];
        self.triangles
            .iter()
            .flatten()
            .for_each(|&i| used[i as usize] = true);
        let vertices = used.iter().filter(|u| **u).count() as i64;
        let euler = vertices - self.triangles.len() as i64 / 2;
        Figures {
            volume_mm3: self.volume_mm3(),
            area_mm2: self.area_mm2(),
            low_mm: bounds.low,
            high_mm: bounds.high,
            bodies: surfaces.iter().filter(|v| **v > 0.0).count(),
            handles: surfaces.len() as i64 - euler / 2,
            triangles: self.triangles.len(),
        }
    }

    /// The signed volume of each connected surface (negative for a void), in order of their first triangle.
    pub fn surfaces(&self) -> Vec<f64> {
        let mut parent: Vec<u32> = (0..self.points.len() as u32).collect();
        fn root(parent: &mut [u32], mut i: u32) -> u32 {
            while parent[i as usize] != i {
                parent[i as usize] = parent[parent[i as usize] as usize];
                i = parent[i as usize];
            }
            i
        }
        for t in &self.triangles {
            let a = root(&mut parent, t[0]);
            for &i in &t[1..] {
                let b = root(&mut parent, i);
                parent[b as usize] = a;
            }
        }
        let mut index: HashMap<u32, usize> = HashMap::new();
        let mut volumes: Vec<f64> = Vec::new();
        for t in &self.triangles {
            let key = root(&mut parent, t[0]);
            let at = *index.entry(key).or_insert_with(|| {
                volumes.push(0.0);
                volumes.len() - 1
            });
            let [a, b, c] = t.map(|i| self.points[i as usize]);
            volumes[at] += a.dot(b.cross(c)) / 6.0;
        }
        volumes
    }

    /// The solid scaled about the origin, per axis; factors are positive.
    pub fn scaled(&self, factors: [f64; 3]) -> Solid {
        let by = Vec3::from_array(factors);
        Solid {
            points: self.points.iter().map(|p| *p * by).collect(),
            ..self.clone()
        }
    }

    /// Edges that are open, doubled or misoriented once points are rounded to f32 and welded.
    pub fn bad_edges_in_f32(&self) -> usize {
        let mut index: HashMap<[u32; 3], u32> = HashMap::new();
        let ids: Vec<u32> = self
            .points
            .iter()
            .map(|p| {
                let key = p.to_array().map(|x| (x as f32 + 0.0).to_bits());
                let next = index.len() as u32;
                *index.entry(key).or_insert(next)
            })
            .collect();
        let mut edges: Vec<(u32, u32, bool)> = Vec::with_capacity(3 * self.triangles.len());
        for t in &self.triangles {
            let t = t.map(|i| ids[i as usize]);
            if t[0] == t[1] || t[1] == t[2] || t[2] == t[0] {
                continue;
            }
            for k in 0..3 {
                let (a, b) = (t[k], t[(k + 1) % 3]);
                edges.push((a.min(b), a.max(b), a < b));
            }
        }
        edges.sort_unstable();
        edges
            .chunk_by(|a, b| (a.0, a.1) == (b.0, b.1))
            .filter(|uses| uses.len() != 2 || uses[0].2 == uses[1].2)
            .count()
    }
}
