//! Questions to the mesh about one chord: whether it runs in metal, whether its wall goes on getting thinner.

use super::search::OBLIQUE_DEG;
use super::surface::Surface;
use crate::measure::Vec3;

/// The rays of a chord are shifted by this much, so that they run through no edge (mm).
const SHIFT_MM: f64 = 2e-3;

/// A ray of a chord may leave the metal this far from the chord's end (mm).
const END_MM: f64 = 0.02;

/// Faces up to this far from parallel count when a wall is followed to its thin end (radians).
const FAR_TURN: f64 = 1.9;

impl Surface {
    /// The first triangle that a ray meets within `most` mm: how far and which.
    pub(super) fn ray(&self, from: Vec3, along: Vec3, most: f64) -> Option<(f64, usize)> {
        self.tree
            .ray(&self.corners, &self.normals, from, along, most)
    }

    /// Whether a chord runs in metal: from its middle, a little aside, a ray each way leaves the metal at its end.
    pub(super) fn in_metal(&self, [p, q]: [Vec3; 2]) -> bool {
        let length = p.distance(q);
        if length < 1e-6 {
            return true;
        }
        let along = (q - p) / length;
        let e1 = along.any_orthonormal_vector();
        let e2 = along.cross(e1);
        let slack = END_MM.min(0.2 * length);
        [(0.7, 0.3), (-0.3, 0.7), (-0.7, -0.3), (0.3, -0.7)]
            .iter()
            .any(|&(a, b)| {
                let from = (p + q) * 0.5 + (e1 * a + e2 * b) * SHIFT_MM;
                [along, -along].iter().all(|&way| {
                    self.ray(from, way, 0.5 * length + slack)
                        .is_some_and(|(far, i)| {
                            far >= 0.5 * length - slack && self.normals[i].dot(way) > 0.0
                        })
                })
            })
    }

    /// Whether the straight way between two points crosses no surface; `None`-sized ways are clear.
    pub(super) fn is_clear(&self, from: Vec3, to: Vec3) -> bool {
        let length = from.distance(to);
        if length < 1e-6 {
            return true;
        }
        let margin = 1e-3_f64.min(length * 0.1);
        let along = (to - from) / length;
        self.ray(from + along * margin, along, length - 2.0 * margin)
            .is_none()
    }

    /// The largest ball under `most` mm that touches at `p` (outward normal `n`) and meets no face that opposes `n`
    /// within `turn` radians of straight: its diameter, and what stops it.
    pub(super) fn ball_at(
        &self,
        p: Vec3,
        n: Vec3,
        most: f64,
        turn: f64,
    ) -> (f64, Option<(usize, Vec3)>) {
        let mut radius = most * 0.5;
        let mut stop = None;
        let axis = n.to_array().map(|x| x as f32);
        let least_turn = (std::f64::consts::PI - turn) as f32;
        let opposes = -turn.cos();
        for _ in 0..24 {
            let middle = p - n * radius;
            let met = self.tree.nearest(
                &self.corners,
                middle,
                radius * (1.0 - 1e-6),
                |node| node.may_oppose(&axis, least_turn),
                |i| self.normals[i].dot(n) <= opposes && (p - self.corners[i][0]).dot(n) > -most,
            );
            let Some((i, q)) = met.filter(|(_, q)| (p - *q).dot(n) > 1e-6) else {
                break;
            };
            radius = p.distance_squared(q) / (2.0 * (p - q).dot(n));
            stop = Some((i, q));
        }
        (2.0 * radius, stop)
    }

    /// Whether a slanting wall goes on getting thinner past a place on both its sides, so that the place is no end of
    /// it: so it is on ellipses, lenses and rims, where the thinnest is elsewhere.
    pub(super) fn fades(&self, thickness: f64, ends: [Vec3; 2], triangles: [usize; 2]) -> bool {
        let normals = [0, 1].map(|k| self.normal_at(triangles[k], ends[k]));
        let thin_end = normals[0] + normals[1];
        if thin_end.length() < 1e-3 {
            return false;
        }
        let thin_end = thin_end.normalize();
        let step = 0.2 * thickness;
        (0..2).all(|k| {
            let (p, n) = (ends[k], normals[k]);
            let way = (thin_end - n * thin_end.dot(n)).normalize_or_zero();
            let patch = self.patches[triangles[k]];
            let near = self.tree.nearest(
                &self.corners,
                p + way * step,
                step * 1.5,
                |_| true,
                |i| self.patches[i] == patch && self.normals[i] != Vec3::ZERO,
            );
            let Some((i, q)) = near.filter(|(_, q)| q.distance(p) >= 0.5 * step) else {
                return false;
            };
            let n = self.normal_at(i, q);
            let (next, _) = self.ball_at(q, n, thickness * 1.2, FAR_TURN);
            next <= thickness * 0.998
        })
    }

    /// The angle between the outward normals at the ends of a pair of triangles (degrees).
    pub(super) fn turn_between(&self, ends: [Vec3; 2], triangles: [usize; 2]) -> f64 {
        let [n, m] = [0, 1].map(|k| self.normal_at(triangles[k], ends[k]));
        n.dot(m).clamp(-1.0, 1.0).acos().to_degrees()
    }
}

/// The turn up to which faces oppose for a wall (radians).
pub(super) fn oblique_turn() -> f64 {
    OBLIQUE_DEG.to_radians()
}
