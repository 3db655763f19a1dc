//! Walls that end at an inside edge or on a bulge: the shortest chord between two places of the surface.
//!
//! A facet has no ball beside it there: two bores side by side come nearest along a line between their facets'
//! edges, the corner of a pocket comes nearest to a tunnel at its corner.

use super::nearest::{point_triangle, segments, triangles};
use super::surface::{NONE, Surface};
use crate::measure::Vec3;

/// A neighbour that falls away from the chord by more than this for each mm shows that the chord isn't the shortest.
const DOWNHILL: f64 = 0.01;

/// Only facets that look along the chord by this much may show that.
const LOOKS_ALONG: f64 = 0.47;

/// A chord leans along an edge by no more than this (its cosine).
const ALONG_EDGE: f64 = 0.13;

/// Sine of the degree that a chord keeps from the sides of an inside edge, lest the root of every rib be told again.
const INSIDE_CONE: f64 = 0.017;

/// Where a point of a triangle lies.
enum On {
    Face,
    /// On the edge that starts at this corner.
    Edge(usize),
    Corner(usize),
}

/// A chord between two triangles: its length (mm), its ends and the triangles that they are on.
#[derive(Debug, Clone, Copy)]
pub(super) struct Chord {
    /// Its length (mm).
    pub length: f64,
    /// Its ends.
    pub ends: [Vec3; 2],
    /// The triangles at its ends.
    pub triangles: [usize; 2],
}

impl Surface {
    fn on(&self, i: usize, p: Vec3) -> On {
        let low = self.shares(i, p).map(|s| s < 1e-7);
        match low.iter().filter(|l| **l).count() {
            1 => On::Edge((low.iter().position(|l| *l).unwrap_or(0) + 1) % 3),
            2 => On::Corner(low.iter().position(|l| !*l).unwrap_or(0)),
            _ => On::Face,
        }
    }

    /// Whether `test` holds for every triangle that meets at a point of triangle `i`.
    fn all_at(&self, i: usize, p: Vec3, mut test: impl FnMut(usize) -> bool) -> bool {
        match self.on(i, p) {
            On::Face => test(i),
            On::Edge(k) => {
                let j = self.neighbours[i][k];
                test(i) && j != NONE && test(j as usize)
            }
            On::Corner(k) => self
                .round(self.triangles[i][k])
                .iter()
                .all(|&j| test(j as usize)),
        }
    }

    /// Whether the surface at `p` falls away from the chord nowhere, so that the chord is shortest there; `out` points
    /// from the metal outwards.
    fn is_shortest(&self, i: usize, p: Vec3, out: Vec3) -> bool {
        self.all_at(i, p, |j| {
            self.normals[j].dot(out) <= LOOKS_ALONG
                || self.corners[j].iter().all(|&x| {
                    let step = x - p;
                    let length = step.length();
                    length <= 1e-7 || step.dot(out) >= -DOWNHILL * length
                })
        })
    }

    /// Whether `out` lies between the normals of an inside edge.
    fn edge_holds(&self, i: usize, k: usize, out: Vec3, margin: f64) -> bool {
        let j = self.neighbours[i][k] as usize;
        let (n, m) = (self.normals[i], self.normals[j]);
        let c = n.dot(m);
        let along = (self.corners[i][(k + 1) % 3] - self.corners[i][k]).normalize_or_zero();
        let least = margin * (1.0 - c * c);
        out.dot(along).abs() <= ALONG_EDGE
            && out.dot(n) - c * out.dot(m) >= least
            && out.dot(m) - c * out.dot(n) >= least
    }

    /// Whether a ball can touch at `p` from the direction `out`: on a face that looks that way, or on an inside edge.
    fn can_touch(&self, i: usize, p: Vec3, out: Vec3) -> bool {
        const SQUARE: f64 = 0.966;
        let holds = |i: usize, k: usize| {
            self.reflex[i] & (1 << k) != 0 && self.edge_holds(i, k, out, -INSIDE_CONE)
        };
        if self.normals[i].dot(out) > SQUARE {
            return true;
        }
        match self.on(i, p) {
            On::Face => false,
            On::Edge(k) => holds(i, k),
            On::Corner(k) => {
                let point = self.triangles[i][k];
                self.round(point).iter().any(|&j| {
                    let (j, t) = (j as usize, self.triangles[j as usize]);
                    self.normals[j].dot(out) > SQUARE
                        || (0..3).any(|k| (t[k] == point || t[(k + 1) % 3] == point) && holds(j, k))
                })
            }
        }
    }

    /// Of the triangles that meet at the end of a chord, the one that looks most along it.
    pub(super) fn owner(&self, i: usize, p: Vec3, out: Vec3) -> usize {
        let mut best = (self.normals[i].dot(out), i);
        self.all_at(i, p, |j| {
            let d = self.normals[j].dot(out);
            if d > best.0 + 1e-6 {
                best = (d, j);
            }
            true
        });
        best.1
    }

    /// The shortest chord of two facets of smooth bulges, where that isn't a ball on both facets.
    pub(super) fn bulge_chord(&self, a: usize, b: usize, most: f64) -> Option<Chord> {
        const SQUARE: f64 = 0.9998;
        let (x, y) = (&self.corners[a], &self.corners[b]);
        let (na, nb) = (self.normals[a], self.normals[b]);
        if (self.reflex[a] | self.reflex[b]) == 0 {
            return None;
        }
        let slack = f64::from(self.turn[a] + self.turn[b]) + 0.02;
        if na.dot(nb) >= -slack.cos() || box_gap2(x, y) >= most * most {
            return None;
        }
        let (length, p, q) = triangles(x, y);
        if length >= most || length <= 1e-6 {
            return None;
        }
        let out = (p - q) / length;
        let (ca, cb) = (out.dot(na), -out.dot(nb));
        let kept = ca > 0.85
            && cb > 0.85
            && !(ca > SQUARE && cb > SQUARE)
            && self.is_shortest(a, p, out)
            && self.is_shortest(b, q, -out);
        kept.then_some(Chord {
            length,
            ends: [p, q],
            triangles: [a, b],
        })
    }

    /// The shortest chords shorter than `most` from a sharp inside edge to the triangles that it faces.
    pub(super) fn edge_chords(&self, edge: (u32, u8), most: f64, found: &mut Vec<Chord>) {
        let (a, k) = (edge.0 as usize, edge.1 as usize);
        let other = self.neighbours[a][k] as usize;
        let ends = [self.corners[a][k], self.corners[a][(k + 1) % 3]];
        let (low, high) = self.edge_column(a, other, ends, most);
        self.tree.walk(
            |_, node| node.meets(&low, &high),
            |leaf| {
                for b in leaf.triangles().filter(|&b| b != a && b != other) {
                    let chord = self.edge_chord(ends, b, most);
                    let Some((length, p, q)) = chord else {
                        continue;
                    };
                    let out = (p - q) / length;
                    if out.dot(self.normals[b]) <= -1e-3
                        && self.edge_holds(a, k, out, INSIDE_CONE)
                        && self.is_shortest(b, q, -out)
                        && self.can_touch(b, q, -out)
                    {
                        found.push(Chord {
                            length,
                            ends: [p, q],
                            triangles: [a, b],
                        });
                    }
                }
            },
        );
    }

    /// The box that holds every chord from an inside edge into the metal.
    fn edge_column(
        &self,
        a: usize,
        other: usize,
        ends: [Vec3; 2],
        most: f64,
    ) -> ([f32; 3], [f32; 3]) {
        let (n, m) = (self.normals[a], self.normals[other]);
        let middle = (n + m).normalize_or_zero();
        // Between the two normals no direction sticks out of these three.
        let middle = middle / middle.dot(n).max(0.2);
        let (mut low, mut high) = (Vec3::MAX, Vec3::MIN);
        for p in ends {
            for q in [p, p - n * most, p - m * most, p - middle * most] {
                low = low.min(q);
                high = high.max(q);
            }
        }
        let lean = most * ALONG_EDGE + 1e-3;
        (
            (low - lean).to_array().map(|x| x as f32),
            (high + lean).to_array().map(|x| x as f32),
        )
    }

    /// The shortest chord from an edge to a triangle: square to the triangle where the edge lies over it.
    fn edge_chord(&self, ends: [Vec3; 2], b: usize, most: f64) -> Option<(f64, Vec3, Vec3)> {
        let (y, n) = (&self.corners[b], self.normals[b]);
        let (d0, d1) = (n.dot(y[0] - ends[0]), n.dot(y[0] - ends[1]));
        // The metal lies under the facet: the edge must, too.
        if d0 <= 0.0 && d1 <= 0.0 || d0.min(d1) >= most {
            return None;
        }
        let best = over(ends, y, n, [-d0, -d1])
            .filter(|_| d0 > 0.0 && d1 > 0.0)
            .unwrap_or_else(|| edge_to_triangle(ends, y));
        (best.0 < most && best.0 > 1e-6).then_some(best)
    }
}

/// Where an edge lies over a triangle, the place where it is nearest; `heights` are those of its ends.
fn over([p, q]: [Vec3; 2], y: &[Vec3; 3], n: Vec3, heights: [f64; 2]) -> Option<(f64, Vec3, Vec3)> {
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for j in 0..3 {
        let inward = n.cross(y[(j + 1) % 3] - y[j]);
        let (start, slope) = (inward.dot(p - y[j]), inward.dot(q - p));
        if slope.abs() < 1e-12 {
            if start < -1e-9 {
                return None;
            }
        } else if slope > 0.0 {
            from = from.max(-start / slope);
        } else {
            to = to.min(-start / slope);
        }
    }
    if from > to {
        return None;
    }
    let height = |s: f64| (heights[0] + (heights[1] - heights[0]) * s).abs();
    let s = if (height(from) - height(to)).abs() < 1e-4 {
        0.5 * (from + to)
    } else if height(from) < height(to) {
        from
    } else {
        to
    };
    let at = p + (q - p) * s;
    let signed = heights[0] + (heights[1] - heights[0]) * s;
    Some((height(s), at, at - n * signed))
}

fn edge_to_triangle(ends: [Vec3; 2], y: &[Vec3; 3]) -> (f64, Vec3, Vec3) {
    let mut best = (f64::MAX, Vec3::ZERO, Vec3::ZERO);
    let mut offer = |p: Vec3, q: Vec3| {
        let d = p.distance(q);
        if d < best.0 - 1e-9 {
            best = (d, p, q);
        }
    };
    for p in ends {
        offer(p, point_triangle(p, y));
    }
    for j in 0..3 {
        let (p, q) = segments(ends, [y[j], y[(j + 1) % 3]]);
        offer(p, q);
    }
    best
}

/// Squared gap between the boxes of two triangles (mm²).
fn box_gap2(x: &[Vec3; 3], y: &[Vec3; 3]) -> f64 {
    let low = |t: &[Vec3; 3]| t[0].min(t[1]).min(t[2]);
    let high = |t: &[Vec3; 3]| t[0].max(t[1]).max(t[2]);
    (low(y) - high(x))
        .max(low(x) - high(y))
        .max(Vec3::ZERO)
        .length_squared()
}
