//! Solid angles: how often a surface winds round a point (van Oosterom and Strackee's formula), and where to ask.

use std::f64::consts::PI;

use crate::measure::{Bounds, Vec3};

/// The solid angle of a triangle seen from a point, positive where it faces away.
pub(super) fn solid_angle(corners: [Vec3; 3], from: Vec3) -> f64 {
    let [a, b, c] = corners.map(|p| p - from);
    let (la, lb, lc) = (a.length(), b.length(), c.length());
    let over = a.dot(b.cross(c));
    let under = la * lb * lc + a.dot(b) * lc + b.dot(c) * la + c.dot(a) * lb;
    2.0 * over.atan2(under)
}

/// How often a closed surface winds round a point.
pub(in crate::solid) fn turns(triangles: impl Iterator<Item = [Vec3; 3]>, from: Vec3) -> f64 {
    triangles.map(|t| solid_angle(t, from)).sum::<f64>() / (4.0 * PI)
}

/// A point on a triangle, well within a region: the triangle's place and the point. `None` where no triangle enters.
pub(super) fn probe(
    triangles: impl Iterator<Item = [Vec3; 3]>,
    region: &Bounds,
) -> Option<(usize, Vec3)> {
    let mut best: Option<(f64, usize, Vec3)> = None;
    for (i, triangle) in triangles.enumerate() {
        let part = clipped(triangle, region);
        if part.len() < 3 {
            continue;
        }
        let doubled: Vec3 = (1..part.len() - 1)
            .map(|k| (part[k] - part[0]).cross(part[k + 1] - part[0]))
            .sum();
        let size = doubled.length_squared();
        if size > 0.0 && best.is_none_or(|(most, _, _)| size > most) {
            let middle = part.iter().sum::<Vec3>() / part.len() as f64;
            best = Some((size, i, middle));
        }
    }
    best.map(|(_, i, p)| (i, p))
}

/// The part of a triangle inside a box, as a convex polygon (Sutherland and Hodgman's clipping).
fn clipped(triangle: [Vec3; 3], region: &Bounds) -> Vec<Vec3> {
    let mut part = triangle.to_vec();
    for axis in 0..3 {
        for (sign, limit) in [(1.0, region.low[axis]), (-1.0, -region.high[axis])] {
            let depth = |p: Vec3| sign * p[axis] - limit;
            let mut kept = Vec::with_capacity(part.len() + 1);
            for k in 0..part.len() {
                let (u, v) = (part[k], part[(k + 1) % part.len()]);
                let (du, dv) = (depth(u), depth(v));
                if du > 0.0 {
                    kept.push(u);
                }
                if (du > 0.0) != (dv > 0.0) {
                    kept.push(u + (v - u) * (du / (du - dv)));
                }
            }
            part = kept;
        }
    }
    part
}
