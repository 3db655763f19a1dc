//! Figures of a solid, and its soundness.

use rustc_hash::FxHashMap;

use crate::measure::{Bounds, Vec3};
use crate::solid::Solid;
use crate::solid::edges::Edges;

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
        let edges = Edges::of(&self.triangles);
        let (_, surfaces) = self.volumes(&edges);
        self.figures_by(&edges, &surfaces)
    }

    /// The same, by its edges and the volumes of its surfaces.
    pub(super) fn figures_by(&self, edges: &Edges, surfaces: &[f64]) -> Figures {
        let bounds = self.bounds();
        let euler = edges.fans() as i64 - self.triangles.len() as i64 / 2;
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

    /// The signed volume of each surface (negative for a void), in order of their first triangle. Triangles that
    /// share no more than a vertex are of two surfaces.
    pub fn surfaces(&self) -> Vec<f64> {
        self.surfaces_of().1
    }

    /// Which surface each triangle is of, and the signed volume of each (mm³).
    pub(super) fn surfaces_of(&self) -> (Vec<usize>, Vec<f64>) {
        self.volumes(&Edges::of(&self.triangles))
    }

    /// Which surface each triangle is of, and the signed volume of each (mm³).
    pub(super) fn volumes(&self, edges: &Edges) -> (Vec<usize>, Vec<f64>) {
        let (of, count) = edges.surfaces();
        let mut from: Vec<Option<Vec3>> = vec![None; count];
        let mut volumes = vec![0.0; count];
        for (&surface, corners) in of.iter().zip(self.corners()) {
            let from = *from[surface].get_or_insert(corners[0]);
            let [a, b, c] = corners.map(|p| p - from);
            volumes[surface] += a.dot(b.cross(c)) / 6.0;
        }
        (of, volumes)
    }

    /// Area of each feature's own surface, by feature number up to the last that has any (mm²).
    pub fn area_by_feature_mm2(&self) -> Vec<f64> {
        let count = self.features.iter().max().map_or(0, |most| most + 1);
        let mut areas = vec![0.0; count];
        for ([a, b, c], &feature) in self.corners().zip(&self.features) {
            areas[feature] += (b - a).cross(c - a).length() / 2.0;
        }
        areas
    }

    /// The solid scaled about the origin, per axis; factors are positive.
    pub fn scaled(&self, factors: [f64; 3]) -> Solid {
        let by = Vec3::from_array(factors);
        Solid {
            points: self.points.iter().map(|p| *p * by).collect(),
            ..self.clone()
        }
    }

    /// Edges that are open, doubled or misoriented, by the numbers of their points.
    pub fn bad_edges(&self) -> usize {
        Edges::of(&self.triangles).bad()
    }

    /// Edges that are open, doubled or misoriented once points are rounded to f32 and welded; triangles that collapse
    /// on the way don't count.
    pub fn bad_edges_in_f32(&self) -> usize {
        let mut index: FxHashMap<[u32; 3], u32> = FxHashMap::default();
        let ids: Vec<u32> = self
            .points
            .iter()
            .map(|p| {
                let key = p.to_array().map(|x| (x as f32 + 0.0).to_bits());
                let next = index.len() as u32;
                *index.entry(key).or_insert(next)
            })
            .collect();
        let welded = |t: &[u32; 3]| t.map(|i| ids[i as usize]);
        let kept: Vec<[u32; 3]> = self
            .triangles
            .iter()
            .map(welded)
            .filter(|t| t[0] != t[1] && t[1] != t[2] && t[2] != t[0])
            .collect();
        Edges::of(&kept).bad()
    }
}
