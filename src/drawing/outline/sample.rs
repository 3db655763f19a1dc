//! Outlines as points: several levels of one body sampled together, so that their rings nest.
//!
//! Method: arcs about one centre (whatever their radius and level) share one division of the full circle, a
//! multiple of 4 fine enough for the largest radius, always starting at +x; an arc's own ends are kept. Every
//! point lies on the true curve; chords stand off it by at most the sag.

use super::run::runs_of;
use super::{Outline, Run};
use crate::measure::{ARC_CENTRE_MM, Vec2};
use std::f64::consts::{PI, TAU};

/// Shared division points nearer than this to an arc's own end are left out (mm): no slivers.
const END_GAP_MM: f64 = 5e-3;

/// Division points nearer than this to an end taken from another level give way to it (mm).
const SHARED_GAP_MM: f64 = 0.02;

/// Ends of several levels that differ by less than this are one (rad).
const SAME_END_RAD: f64 = 1e-5;

/// Arcs about one centre.
struct Hub {
    centre: Vec2,
    radius: f64,
    ends: Vec<f64>,
}

/// Samples several outlines (levels of one body) together so that arcs about one centre share angles and
/// neighbours nest: for each level and each loop its points, loops in the outline's order. `sag_mm` is the farthest
/// that a chord may stand off its arc. With `all_ends` each arc also gets points where arcs about the
/// same centre end on other levels.
pub fn sample_levels(levels: &[Outline], sag_mm: f64, all_ends: bool) -> Vec<Vec<Vec<Vec2>>> {
    let hubs = hubs(levels);
    let angles: Vec<Vec<f64>> = hubs.iter().map(|h| division(h, sag_mm, all_ends)).collect();
    let ring = |runs: &mut dyn Iterator<Item = Run>| {
        let mut points = Vec::new();
        for run in runs {
            points.push(run.from);
            if let Some(i) = run.bend.and_then(|b| hub_at(&hubs, b.centre)) {
                between(&run, &angles[i], &mut points);
            }
        }
        points
    };
    levels
        .iter()
        .map(|level| level.loops.iter().map(|r| ring(&mut runs_of(r))).collect())
        .collect()
}

fn hub_at(hubs: &[Hub], centre: Vec2) -> Option<usize> {
    hubs.iter()
        .position(|h| (h.centre - centre).abs().max_element() < ARC_CENTRE_MM)
}

fn hubs(levels: &[Outline]) -> Vec<Hub> {
    let mut hubs: Vec<Hub> = Vec::new();
    for run in levels.iter().flat_map(|l| l.runs()) {
        let Some(b) = run.bend else { continue };
        let i = hub_at(&hubs, b.centre).unwrap_or_else(|| {
            hubs.push(Hub {
                centre: b.centre,
                radius: 0.0,
                ends: Vec::new(),
            });
            hubs.len() - 1
        });
        let hub = &mut hubs[i];
        hub.radius = hub.radius.max(b.radius);
        for p in [run.from, run.to] {
            let a = (p - b.centre).to_angle().rem_euclid(TAU);
            if hub.ends.iter().all(|e| apart(*e, a) > SAME_END_RAD) {
                hub.ends.push(a);
            }
        }
    }
    hubs
}

/// Least angle between two directions.
fn apart(a: f64, b: f64) -> f64 {
    let d = (a - b).abs() % TAU;
    d.min(TAU - d)
}

/// The angles at which arcs of a hub get points.
fn division(hub: &Hub, sag_mm: f64, all_ends: bool) -> Vec<f64> {
    let half = (1.0 - (sag_mm / hub.radius).clamp(1e-9, 0.25)).acos();
    let count = ((PI / half).ceil().max(8.0) as usize).next_multiple_of(4);
    let mut angles = if all_ends {
        hub.ends.clone()
    } else {
        Vec::new()
    };
    for k in 0..count {
        let a = TAU * k as f64 / count as f64;
        let free = |e: &f64| apart(*e, a) * hub.radius >= SHARED_GAP_MM;
        if !all_ends || hub.ends.iter().all(free) {
            angles.push(a);
        }
    }
    angles
}

/// Adds an arc's points strictly between its ends, in its order.
fn between(run: &Run, angles: &[f64], points: &mut Vec<Vec2>) {
    let Some(b) = run.bend else { return };
    let start = (run.from - b.centre).to_angle();
    let sweep = b.sweep.abs();
    let gap = (END_GAP_MM / b.radius).min(0.1 * sweep);
    let mut inner: Vec<(f64, f64)> = angles
        .iter()
        .map(|&a| (((a - start) * b.sweep.signum()).rem_euclid(TAU), a))
        .filter(|(way, _)| *way > gap && *way < sweep - gap)
        .collect();
    inner.sort_by(|p, q| p.0.total_cmp(&q.0));
    points.extend(
        inner
            .into_iter()
            .map(|(_, a)| b.centre + Vec2::from_angle(a) * b.radius),
    );
}
