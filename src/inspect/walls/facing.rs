//! Two facets that face each other: the ball tangent to both planes.
//!
//! Every such ball has its middle on the plane that halves the angle between the two. Each triangle is projected on
//! that plane along its own normal; where the projections overlap, there is a ball that touches both triangles. Its
//! diameter changes evenly over the overlap, so the least lies at a corner: exact however the flats are cut up.

use super::surface::Surface;
use crate::measure::{Vec2, Vec3};

/// Corners an overlap of two triangles can have, with room for rounding.
const MOST: usize = 12;

/// A ball tangent to two facets.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Ball {
    /// Its middle (mm).
    pub middle: Vec3,
    /// Where it touches the first facet and the second.
    pub ends: [Vec3; 2],
    /// Its radius (mm).
    pub radius: f64,
}

/// The overlap of two facets on the plane between them.
#[derive(Debug, Clone, Default)]
pub(super) struct Overlap {
    /// The balls at its corners.
    pub balls: Vec<Ball>,
    /// Its area (mm²).
    pub area: f64,
}

/// A polygon of a few corners.
#[derive(Clone, Copy)]
struct Few {
    count: usize,
    corners: [Vec2; MOST],
}

impl Few {
    /// What of it lies left of the line from `s` to `t`.
    fn left_of(&self, s: Vec2, t: Vec2) -> Few {
        let mut out = Few {
            count: 0,
            corners: [Vec2::ZERO; MOST],
        };
        let side = |x: Vec2| (t - s).perp_dot(x - s);
        for j in 0..self.count {
            let (x, y) = (self.corners[j], self.corners[(j + 1) % self.count]);
            let (dx, dy) = (side(x), side(y));
            if dx >= 0.0 {
                out.push(x);
            }
            if (dx >= 0.0) != (dy >= 0.0) {
                out.push(x + (y - x) * (dx / (dx - dy)));
            }
        }
        out
    }

    fn push(&mut self, p: Vec2) {
        if self.count < MOST {
            self.corners[self.count] = p;
            self.count += 1;
        }
    }

    fn area(&self) -> f64 {
        let from = self.corners[0];
        (1..self.count.saturating_sub(1))
            .map(|i| (self.corners[i] - from).perp_dot(self.corners[i + 1] - from))
            .sum::<f64>()
            * 0.5
    }
}

impl Overlap {
    /// Finds the overlap of triangles `a` and `b` of a surface; its area is 0 where there is none, or where no ball
    /// is smaller than `most` mm across.
    pub fn find(&mut self, surface: &Surface, a: usize, b: usize, most: f64) {
        self.balls.clear();
        self.area = 0.0;
        let (na, nb) = (surface.normals[a], surface.normals[b]);
        let (ta, tb) = (&surface.corners[a], &surface.corners[b]);
        let between = na - nb;
        let length = between.length();
        let up = between / length;
        let height = (ta[0].dot(na) - tb[0].dot(nb)) / length;
        // The ball that touches at a point has this radius for each mm that the point stands off the plane between.
        let lean = na.dot(up);
        let e1 = up.any_orthonormal_vector();
        let e2 = up.cross(e1);
        let flat = |c: Vec3| Vec2::new(c.dot(e1), c.dot(e2));
        let radius_a = |p: Vec3| (p.dot(up) - height) / lean;
        let least = ta.iter().map(|&p| radius_a(p)).fold(f64::MAX, f64::min);
        if least * 2.0 > most {
            return;
        }
        let mut on_a = ta.map(|p| flat(p - na * radius_a(p)));
        let mut on_b = tb.map(|q| flat(q - nb * ((height - q.dot(up)) / lean)));
        for on in [&mut on_a, &mut on_b] {
            if (on[1] - on[0]).perp_dot(on[2] - on[0]) < 0.0 {
                on.swap(1, 2);
            }
        }
        let mut few = Few {
            count: 0,
            corners: [Vec2::ZERO; MOST],
        };
        on_a.iter().for_each(|&p| few.push(p));
        for i in 0..3 {
            few = few.left_of(on_b[i], on_b[(i + 1) % 3]);
            if few.count < 3 {
                return;
            }
        }
        self.area = few.area();
        for c in &few.corners[..few.count] {
            let middle = up * height + e1 * c.x + e2 * c.y;
            let radius = (ta[0] - middle).dot(na);
            self.balls.push(Ball {
                middle,
                ends: [middle + na * radius, middle + nb * radius],
                radius,
            });
        }
    }

    /// The least ball of the overlap, by the curved surfaces that the facets stand for: its diameter and where it
    /// touches, and the largest diameter. In the middle where the diameter is the same all over.
    pub fn least(&self, surface: &Surface, a: usize, b: usize) -> Option<(f64, [Vec3; 2], f64)> {
        let mut least: Option<(f64, [Vec3; 2])> = None;
        let mut largest = 0.0_f64;
        for ball in self.balls.iter().filter(|ball| ball.radius > -1e-9) {
            let across = diameter(surface, a, b, ball);
            if least.is_none_or(|(found, _)| across < found - 1e-9) {
                least = Some((across, ball.ends));
            }
            largest = largest.max(across);
        }
        let (across, mut ends) = least?;
        if largest - across < 1e-3 {
            let share = 1.0 / self.balls.len() as f64;
            ends = [0, 1].map(|k| self.balls.iter().map(|ball| ball.ends[k]).sum::<Vec3>() * share);
        }
        Some((across, ends, largest))
    }
}

/// The ball's diameter: of flats, exact; of curved surfaces, from its chord and the angle between their normals.
fn diameter(surface: &Surface, a: usize, b: usize, ball: &Ball) -> f64 {
    if !surface.curved[a] && !surface.curved[b] {
        return 2.0 * ball.radius;
    }
    let [p, q] = ball.ends;
    let d = surface.normal_at(a, p).dot(surface.normal_at(b, q));
    p.distance(q) / ((1.0 - d) * 0.5).max(0.0).sqrt().max(0.5)
}
