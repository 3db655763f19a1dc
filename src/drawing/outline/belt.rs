//! The taut outline round several circles: the convex hull of discs.
//!
//! Method: wrapping. The outward normal of the hull turns once round; on the circle reached, the next tangent is the
//! one that needs the least turn. A circle may be reached several times. Circles inside others are dropped.

use super::make::sized;
use super::tidy::{split_long_arcs, tidy_ring};
use super::{Outline, OutlineError, Vertex};
use crate::measure::{SAME_POINT_MM, Vec2};
use std::f64::consts::{PI, TAU};

/// Turns that differ by less than this are one: circles in a row share a tangent (rad).
const SAME_TURN_RAD: f64 = 1e-9;

/// A common tangent: leaves one circle and reaches another where the outward normal looks along `normal`.
struct Tangent {
    from: usize,
    to: usize,
    /// Angle of the outward normal (rad), rising from 0 to a full turn round the hull.
    normal: f64,
}

impl Outline {
    /// The taut outline round circles given as (centre, diameter) in mm; one circle alone is a disc.
    ///
    /// # Errors
    /// No circle, or a diameter that isn't above zero.
    pub fn belt(circles: &[(Vec2, f64)]) -> Result<Outline, OutlineError> {
        for (at, dia) in circles {
            sized(*dia)?;
            if !at.is_finite() {
                return Err(OutlineError::BadSize { size: at.x + at.y });
            }
        }
        let circles = outermost(circles);
        let Some(start) = rightmost(&circles) else {
            return Err(OutlineError::TooFewPoints { wanted: 1, got: 0 });
        };
        let tangents = wrapped(&circles, start);
        if tangents.is_empty() {
            let (at, r) = circles[start];
            return Ok(Outline::disc(2.0 * r).at(at.x, at.y));
        }
        let mut ring = Vec::new();
        for (k, t) in tangents.iter().enumerate() {
            let normal = Vec2::from_angle(t.normal);
            let next = tangents
                .get(k + 1)
                .map_or(tangents[0].normal + TAU, |n| n.normal);
            let rim = |i: usize| circles[i].0 + normal * circles[i].1;
            ring.push(Vertex {
                at: rim(t.from),
                bulge: 0.0,
            });
            ring.extend(arc(rim(t.to), circles[t.to].0, next - t.normal));
        }
        let ring = tidy_ring(&split_long_arcs(&ring)).ok_or(OutlineError::Empty)?;
        Ok(Outline { loops: vec![ring] })
    }
}

/// A counter-clockwise arc from a point, in two where it turns more than half.
fn arc(from: Vec2, centre: Vec2, sweep: f64) -> Vec<Vertex> {
    let parts = if sweep > PI { 2 } else { 1 };
    let step = sweep / f64::from(parts);
    (0..parts)
        .map(|k| Vertex {
            at: centre + Vec2::from_angle(step * f64::from(k)).rotate(from - centre),
            bulge: (step * 0.25).tan(),
        })
        .collect()
}

/// Centres and radii of the circles that no other holds; of equal ones the first.
fn outermost(circles: &[(Vec2, f64)]) -> Vec<(Vec2, f64)> {
    let mut kept: Vec<(Vec2, f64)> = Vec::new();
    for &(at, dia) in circles {
        let r = dia * 0.5;
        let inside = |a: Vec2, r: f64, b: Vec2, s: f64| a.distance(b) + r <= s + SAME_POINT_MM;
        if kept.iter().any(|&(b, s)| inside(at, r, b, s)) {
            continue;
        }
        kept.retain(|&(b, s)| !inside(b, s, at, r));
        kept.push((at, r));
    }
    kept
}

/// The circle that reaches farthest to +x; of several the lowest, where the walk upwards begins.
fn rightmost(circles: &[(Vec2, f64)]) -> Option<usize> {
    let reach = circles.iter().map(|c| c.0.x + c.1).max_by(f64::total_cmp)?;
    (0..circles.len())
        .filter(|&i| circles[i].0.x + circles[i].1 >= reach - 1e-12)
        .min_by(|&a, &b| circles[a].0.y.total_cmp(&circles[b].0.y))
}

/// The hull's tangents in order of their normals.
fn wrapped(circles: &[(Vec2, f64)], start: usize) -> Vec<Tangent> {
    let mut tangents = Vec::new();
    let (mut at, mut normal) = (start, 0.0);
    // Each pair gives at most one tangent each way.
    for _ in 0..=circles.len() * circles.len() {
        let Some((to, turn)) = next(circles, at, normal) else {
            break;
        };
        if normal + turn >= TAU - SAME_TURN_RAD {
            break;
        }
        normal += turn;
        tangents.push(Tangent {
            from: at,
            to,
            normal,
        });
        at = to;
    }
    tangents
}

/// The circle whose tangent needs the least turn; of several the farthest.
fn next(circles: &[(Vec2, f64)], at: usize, normal: f64) -> Option<(usize, f64)> {
    let (from, r) = circles[at];
    let mut best: Option<(usize, f64)> = None;
    for (i, &(to, s)) in circles.iter().enumerate() {
        let way = to - from;
        let apart = way.length();
        if i == at || apart <= (r - s).abs() {
            continue;
        }
        let tangent = way.to_angle() - ((r - s) / apart).acos();
        let mut turn = (tangent - normal).rem_euclid(TAU);
        if turn > TAU - SAME_TURN_RAD {
            turn = 0.0;
        }
        let better = best.is_none_or(|(j, least)| {
            turn < least - SAME_TURN_RAD
                || (turn <= least + SAME_TURN_RAD && apart > circles[j].0.distance(from))
        });
        if better {
            best = Some((i, turn));
        }
    }
    best
}
