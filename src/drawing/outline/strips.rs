//! A second way to grow and shrink, slower, for outlines that the contour crate can't do: the outline joined with
//! (or cut by) the strip along each run of its rim and a disc at each corner, which is the definition of an offset.

use super::combine::combined;
use super::make::sharp;
use super::run::{Run, run_at};
use super::tidy::{circle, reversed};
use super::{Outline, OutlineError, Vertex};

/// Runs whose directions differ by less than this at a vertex leave no gap between their strips (rad).
const SMOOTH_RAD: f64 = 1e-7;

/// The outline grown by `d` mm, shrunk where `d` is negative.
///
/// # Errors
/// `Empty` when nothing is left; `Failed` if the rims can't be sorted out.
pub(super) fn grown_by_strips(base: &Outline, d: f64) -> Result<Outline, OutlineError> {
    let mut parts = Vec::new();
    for ring in base.loops() {
        for i in 0..ring.len() {
            let (run, next) = (run_at(ring, i), run_at(ring, (i + 1) % ring.len()));
            parts.push(strip(&run, d));
            let turn = run.heading(1.0).angle_to(next.heading(0.0));
            if turn.abs() > SMOOTH_RAD || tight(&run, d) || tight(&next, d) {
                parts.push(circle(run.to, d.abs()));
            }
        }
    }
    let parts: Vec<Outline> = parts
        .into_iter()
        .map(|ring| Outline { loops: vec![ring] })
        .collect();
    let mut sources = vec![base];
    sources.extend(&parts);
    if d > 0.0 {
        combined(&sources, |held| held.contains(&true))
    } else {
        combined(&sources, |held| held[0] && !held[1..].contains(&true))
    }
}

/// Radius of an arc moved to its right by `d`; zero or less where it goes beyond its centre.
fn moved_radius(run: &Run, d: f64) -> Option<f64> {
    run.bend.map(|b| b.radius + d * b.sweep.signum())
}

/// Whether the offset goes beyond the centre of the arc.
fn tight(run: &Run, d: f64) -> bool {
    moved_radius(run, d).is_some_and(|r| r <= 1e-6)
}

/// The strip between a run and the run moved to its right by `d` (to its left where `d` is negative),
/// counter-clockwise.
fn strip(run: &Run, d: f64) -> Vec<Vertex> {
    let out = |t: f64| -run.heading(t).perp() * d;
    let first = Vertex {
        at: run.from,
        bulge: run.bulge,
    };
    let mut ring = vec![first, sharp(run.to)];
    match (run.bend, moved_radius(run, d)) {
        (Some(b), Some(r)) if r <= 1e-6 => ring.push(sharp(b.centre)),
        _ => {
            ring.push(Vertex {
                at: run.to + out(1.0),
                bulge: -run.bulge,
            });
            ring.push(sharp(run.from + out(0.0)));
        }
    }
    if d > 0.0 { reversed(&ring) } else { ring }
}
