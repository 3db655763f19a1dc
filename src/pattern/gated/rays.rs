//! Lines through metal: where they enter and leave it, near a place.

use crate::measure::{Bounds, Vec3};

/// The triangles near a place.
pub(super) struct Near {
    triangles: Vec<[Vec3; 3]>,
}

/// A run of a line through metal: where it enters and leaves, as distances along the line (mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Run {
    pub enters: f64,
    pub leaves: f64,
}

impl Near {
    /// Those of a mesh whose box meets a box.
    pub fn of<'a>(
        points: &[Vec3],
        triangles: impl Iterator<Item = &'a [u32; 3]>,
        region: &Bounds,
    ) -> Near {
        let corners = triangles.map(|t| t.map(|i| points[i as usize]));
        Near {
            triangles: corners
                .filter(|c| Bounds::of(c.iter().copied()).meets(region))
                .collect(),
        }
    }

    /// The runs of a line through metal, in order; a run whose other end lies out of the region ends at infinity.
    pub fn runs(&self, from: Vec3, dir: Vec3) -> Vec<Run> {
        let mut hits: Vec<(f64, bool)> = self
            .triangles
            .iter()
            .filter_map(|t| hit(t, from, dir))
            .collect();
        hits.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut runs: Vec<Run> = Vec::new();
        let mut open: Option<f64> = None;
        for (at, entering) in hits {
            match (open, entering) {
                (None, true) => open = Some(at),
                (Some(enters), false) => {
                    runs.push(Run { enters, leaves: at });
                    open = None;
                }
                (None, false) if runs.is_empty() => runs.push(Run {
                    enters: f64::NEG_INFINITY,
                    leaves: at,
                }),
                _ => {}
            }
        }
        if let Some(enters) = open {
            runs.push(Run {
                enters,
                leaves: f64::INFINITY,
            });
        }
        runs
    }
}

/// Where a line meets a triangle, and whether it enters there (Möller and Trumbore's test, from memory: Journal of
/// Graphics Tools 2, 1997).
fn hit([a, b, c]: &[Vec3; 3], from: Vec3, dir: Vec3) -> Option<(f64, bool)> {
    let (ab, ac) = (*b - *a, *c - *a);
    let p = dir.cross(ac);
    let det = ab.dot(p);
    if det.abs() < 1e-12 {
        return None;
    }
    let s = from - *a;
    let u = s.dot(p) / det;
    let q = s.cross(ab);
    let v = dir.dot(q) / det;
    if u < 0.0 || v < 0.0 || u + v > 1.0 {
        return None;
    }
    // Counter-clockwise from outside: a positive determinant is a face that looks against the line.
    Some((ac.dot(q) / det, det > 0.0))
}
