//! Outlines grown and shrunk by parallel offset, always from the outline at hand in one go.
//!
//! Method: the contour crate's offset of whole shapes; panics are caught. Every result is checked: each run of it
//! must keep its distance from the rim; if it doesn't, `strips` does the work. Discs go by the closed form.

use super::strips::grown_by_strips;
use super::tidy::settled;
use super::{Outline, OutlineError, Vertex};
use crate::measure::{SAME_POINT_MM, Vec2};
use cavalier_contours::polyline::{PlineSource, PlineSourceMut, Polyline};
use cavalier_contours::shape_algorithms::{Shape, ShapeOffsetOptions};
use std::panic::{AssertUnwindSafe, catch_unwind};

/// How far an offset rim may stand off its distance (mm) before the result is thrown away.
const OFFSET_MM: f64 = 1e-5;

/// Offsets under this go by strips at once (mm): near the crate's own tolerances it panics.
const SHORT_MM: f64 = 1e-3;

/// An outline counts as gone if its deepest place is no more than this deeper than the shrink (mm):
/// the widest disc is known to a thousandth.
const VANISHES_MM: f64 = 1e-3;

/// Tolerances for the crate, in the order tried: points equal, distance kept, slices joined (mm).
pub(super) const TRIES: [[f64; 3]; 3] =
    [[1e-7, 1e-6, 1e-6], [1e-6, 1e-5, 1e-5], [1e-8, 1e-7, 1e-7]];

impl Outline {
    /// Grown outward by `d` mm with round joins; shrunk where `d` is negative.
    ///
    /// # Errors
    /// `Vanishes` with the largest shrink that leaves something.
    pub fn grown(&self, d: f64) -> Result<Outline, OutlineError> {
        if !d.is_finite() {
            return Err(OutlineError::BadSize { size: d });
        }
        if d.abs() < 1e-9 {
            return Ok(self.clone());
        }
        if let Some((centre, radius)) = self.as_disc() {
            return match radius + d {
                r if r > SAME_POINT_MM => Ok(Outline::disc(2.0 * r).at(centre.x, centre.y)),
                _ => Err(OutlineError::Vanishes {
                    by: -d,
                    fits: radius,
                }),
            };
        }
        // The crate takes very short offsets for repeated points.
        let tries = if d.abs() < SHORT_MM {
            &[][..]
        } else {
            &TRIES[..]
        };
        for &options in tries {
            let found = offset(self, d, options).map(settled);
            match found {
                Some(Ok(found)) if keeps_distance(self, &found, d) => return Ok(found),
                // Nothing left: true only where nothing is that deep.
                Some(Err(_)) if d < 0.0 => {
                    let fits = self.widest_disc() * 0.5;
                    if fits <= VANISHES_MM - d {
                        return Err(OutlineError::Vanishes { by: -d, fits });
                    }
                }
                _ => {}
            }
        }
        match grown_by_strips(self, d) {
            Ok(found) if keeps_distance(self, &found, d) => Ok(found),
            Err(OutlineError::Empty) => Err(OutlineError::Vanishes {
                by: -d,
                fits: self.widest_disc() * 0.5,
            }),
            _ => Err(OutlineError::Failed {
                what: format!("an offset by {d} mm"),
            }),
        }
    }
}

/// The crate's offset; none if it panicked.
pub(super) fn offset(
    base: &Outline,
    d: f64,
    [equal, keep, join]: [f64; 3],
) -> Option<Vec<Vec<Vertex>>> {
    let options = ShapeOffsetOptions {
        pos_equal_eps: equal,
        offset_dist_eps: keep,
        slice_join_eps: join,
    };
    let shape = Shape::from_plines(base.loops().iter().map(|r| polyline(r)));
    let found = catch_unwind(AssertUnwindSafe(|| shape.parallel_offset(-d, &options))).ok()?;
    let rings = found.ccw_plines.iter().chain(&found.cw_plines);
    Some(rings.map(|p| ring(&p.polyline)).collect())
}

fn polyline(ring: &[Vertex]) -> Polyline<f64> {
    let mut line = Polyline::new_closed();
    for v in ring {
        line.add(v.at.x, v.at.y, v.bulge);
    }
    line
}

fn ring(line: &Polyline<f64>) -> Vec<Vertex> {
    line.iter_vertexes()
        .map(|v| Vertex {
            at: Vec2::new(v.x, v.y),
            bulge: v.bulge.clamp(-1.0, 1.0),
        })
        .collect()
}

/// Whether the whole new rim is as far from the old one as it should be, on the right side.
fn keeps_distance(base: &Outline, found: &Outline, d: f64) -> bool {
    found.runs().all(|r| {
        [0.0, 0.5]
            .iter()
            .all(|&t| (base.distance(r.point(t)) - d).abs() <= OFFSET_MM)
    })
}
