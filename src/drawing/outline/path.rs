//! Outlines along a way: closed paths of lines and arcs, and round-ended bars.

use super::combine::combined;
use super::make::{sharp, sized};
use super::run::Run;
use super::{Outline, OutlineError, PathStep, Vertex};
use crate::measure::{SAME_POINT_MM, Vec2};
use std::f64::consts::PI;

impl Outline {
    /// A closed outline of lines and arcs from `start`; a line closes it where the last step doesn't
    /// end there.
    ///
    /// # Errors
    /// An arc that can't reach its end; a path that crosses itself or has no area.
    pub fn arc_path(start: Vec2, steps: &[PathStep]) -> Result<Outline, OutlineError> {
        let mut ring: Vec<Vertex> = Vec::with_capacity(steps.len() + 1);
        let mut at = start;
        for step in steps {
            let (to, bulge) = match *step {
                PathStep::Line(to) => (to, 0.0),
                PathStep::ArcThrough(by, to) => (to, bulge_through(at, by, to)?),
                PathStep::ArcRadius(to, radius) => (to, bulge_of_radius(at, to, radius)?),
            };
            ring.push(Vertex { at, bulge });
            at = to;
        }
        if at.distance(start) > SAME_POINT_MM {
            ring.push(sharp(at));
        }
        Outline::from_loops(vec![ring])
    }

    /// A round-ended bar of this width along a path (mm): all points within half the width of it.
    /// A path that ends where it begins makes a ring.
    ///
    /// # Errors
    /// Fewer than two different points; a width that isn't above zero.
    pub fn stroke(path: &[Vec2], width: f64) -> Result<Outline, OutlineError> {
        let width = sized(width)?;
        let mut stops: Vec<Vec2> = Vec::with_capacity(path.len());
        for &p in path {
            if !p.is_finite() {
                return Err(OutlineError::BadSize { size: p.x + p.y });
            }
            if stops.last().is_none_or(|q| q.distance(p) > SAME_POINT_MM) {
                stops.push(p);
            }
        }
        if stops.len() < 2 {
            return Err(OutlineError::TooFewPoints {
                wanted: 2,
                got: stops.len(),
            });
        }
        let bars: Vec<Outline> = stops
            .windows(2)
            .map(|w| bar(w[0], w[1], width * 0.5))
            .collect();
        if bars.len() == 1 {
            return Ok(bars[0].clone());
        }
        combined(&bars.iter().collect::<Vec<_>>(), |held| {
            held.contains(&true)
        })
    }
}

/// An obround between two points.
fn bar(from: Vec2, to: Vec2, radius: f64) -> Outline {
    let side = (to - from).normalize_or(Vec2::X).perp() * radius;
    let corner = |at: Vec2, bulge: f64| Vertex { at, bulge };
    Outline {
        loops: vec![vec![
            corner(from - side, 0.0),
            corner(to - side, 1.0),
            corner(to + side, 0.0),
            corner(from + side, 1.0),
        ]],
    }
}

/// Bulge of the arc through three points: half its turn is the angle between the chords at `by`, taken from 180°.
/// (Inscribed angle theorem.)
fn bulge_through(from: Vec2, by: Vec2, to: Vec2) -> Result<f64, OutlineError> {
    let (u, v) = (by - from, to - by);
    if u.length().min(v.length()).min(from.distance(to)) <= SAME_POINT_MM {
        return Err(OutlineError::TooFewPoints { wanted: 3, got: 2 });
    }
    let half_turn = u.perp_dot(v).atan2(u.dot(v));
    if Run::line(from, to).distance(by) <= SAME_POINT_MM {
        return Ok(0.0);
    }
    if half_turn.abs() > PI - 1e-7 {
        // All in one line and `by` beyond the ends: out and back.
        return Err(OutlineError::CrossesItself { near: by });
    }
    Ok((half_turn * 0.5).tan())
}

/// Bulge of the shorter arc of a radius; positive turns counter-clockwise.
fn bulge_of_radius(from: Vec2, to: Vec2, radius: f64) -> Result<f64, OutlineError> {
    let half = from.distance(to) * 0.5;
    if half <= SAME_POINT_MM * 0.5 {
        return Err(OutlineError::TooFewPoints { wanted: 2, got: 1 });
    }
    if !radius.is_finite() || radius == 0.0 {
        return Err(OutlineError::BadSize { size: radius });
    }
    if radius.abs() < half - SAME_POINT_MM {
        return Err(OutlineError::ArcTooSmall {
            radius: radius.abs(),
            least: half,
        });
    }
    let turn = 2.0 * (half / radius.abs()).min(1.0).asin();
    Ok((turn * 0.25).tan() * radius.signum())
}
