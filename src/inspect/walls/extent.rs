//! How large a thin area is, and whether it is a low raised bar.

use super::facing::Overlap;
use super::search::{Candidate, Kind};
use super::surface::Surface;
use crate::measure::{Vec2, Vec3};

/// Directions that the least width is looked for in.
const DIRECTIONS: u32 = 36;

/// A thin area seen square to its wall.
#[derive(Debug, Clone)]
pub(super) struct Extent {
    /// Its least width and the length square to it (mm).
    pub size: [f64; 2],
    /// Directions of width and length.
    ways: [Vec3; 2],
    /// The middle of the area, halfway through the wall.
    middle: Vec3,
    /// Middles and diameters (mm) of the balls that show it.
    balls: Vec<(Vec3, f64)>,
}

/// The extent of all candidates of a pair of patches, seen along the chord of `thinnest`.
pub(super) fn extent(
    surface: &Surface,
    all: &[Candidate],
    thinnest: &Candidate,
    limit: f64,
) -> Extent {
    let along = (thinnest.ends[0] - thinnest.ends[1]).normalize_or(Vec3::Z);
    let e1 = along.any_orthonormal_vector();
    let e2 = along.cross(e1);
    let mut balls: Vec<(Vec3, f64)> = Vec::new();
    let mut overlap = Overlap::default();
    for c in all {
        if c.kind == Kind::Touch {
            balls.push(((c.ends[0] + c.ends[1]) * 0.5, c.thickness));
        } else {
            overlap.find(surface, c.triangles[0], c.triangles[1], limit);
            balls.extend(overlap.balls.iter().map(|b| (b.middle, 2.0 * b.radius)));
        }
    }
    let depth = balls.iter().map(|(p, _)| p.dot(along)).sum::<f64>() / balls.len().max(1) as f64;
    let flat = |p: &Vec3| Vec2::new(p.dot(e1), p.dot(e2));
    let points: Vec<Vec2> = balls.iter().map(|(p, _)| flat(p)).collect();
    let mut best: Option<(f64, Vec2, [[f64; 2]; 2])> = None;
    for i in 0..DIRECTIONS {
        let turn = f64::from(i) * std::f64::consts::PI / f64::from(DIRECTIONS);
        let way = Vec2::from_angle(turn);
        let spans = [way, way.perp()].map(|w| {
            points.iter().fold([f64::MAX, f64::MIN], |s, p| {
                let x = p.dot(w);
                [s[0].min(x), s[1].max(x)]
            })
        });
        let width = spans[0][1] - spans[0][0];
        if best.is_none_or(|(least, ..)| width < least) {
            best = Some((width, way, spans));
        }
    }
    let (_, way, spans) = best.unwrap_or((0.0, Vec2::X, [[0.0; 2]; 2]));
    let ways = [way, way.perp()].map(|w| e1 * w.x + e2 * w.y);
    let half = |s: [f64; 2]| 0.5 * (s[0] + s[1]);
    Extent {
        size: spans.map(|s| (s[1] - s[0]).max(0.0)),
        ways,
        middle: along * depth + ways[0] * half(spans[0]) + ways[1] * half(spans[1]),
        balls,
    }
}

impl Extent {
    /// The least ball at one end of the area along way `k` (mm).
    fn least_at_end(&self, k: usize, side: f64) -> f64 {
        let along = |p: Vec3| (p - self.middle).dot(self.ways[k]) * side;
        let end = self
            .balls
            .iter()
            .map(|b| along(b.0))
            .fold(f64::MIN, f64::max);
        let near = self
            .balls
            .iter()
            .filter(|b| along(b.0) > end - 0.1 * self.size[k] - 1e-6);
        near.map(|b| b.1).fold(f64::MAX, f64::min)
    }
}

/// Whether a thin area is a low raised bar, such as lettering: lower than it is thick, with one free end and one that
/// is rooted in the body. Where it ends at the root only because it grows past the limit, it is no bar.
pub(super) fn is_raised(
    surface: &Surface,
    thinnest: &Candidate,
    extent: &Extent,
    limit: f64,
) -> bool {
    let thickness = thinnest.thickness;
    thinnest.kind != Kind::Oblique
        && (0..2).any(|k| {
            let height = extent.size[k];
            let free = |side: f64| {
                let far = side * (0.5 * height + 0.35 * thickness);
                !surface.is_clear(extent.middle, extent.middle + extent.ways[k] * far)
            };
            if height >= thickness || height <= 1e-3 || free(1.0) == free(-1.0) {
                return false;
            }
            let root = extent.least_at_end(k, if free(1.0) { -1.0 } else { 1.0 });
            root <= 0.9 * limit || root <= 1.02 * thickness
        })
}
