//! Sharp corners rounded.
//!
//! Method: the rounding circle touches both runs of a corner, so its centre lies where the two, each moved square to
//! itself by the radius, meet; the runs are cut back to where it touches. Works between lines and arcs, for
//! corners that stand out and those that stand in.

use super::run::{Bend, Run, run_at};
use super::tidy::{crossing, tidy_ring};
use super::{Outline, OutlineError, Vertex};
use crate::measure::Vec2;

/// Runs whose directions differ by less than this at a vertex go on smoothly there (rad).
const SMOOTH_RAD: f64 = 1e-4;

/// The largest radius is found to this (mm).
const RADIUS_MM: f64 = 1e-6;

impl Outline {
    /// Every sharp corner, standing out or in, rounded with radius `r` (mm).
    ///
    /// # Errors
    /// `CornerTooBig` with the largest radius that fits, and the corner.
    pub fn corners(&self, r: f64) -> Result<Outline, OutlineError> {
        if !r.is_finite() || r < 0.0 {
            return Err(OutlineError::BadSize { size: r });
        }
        if r == 0.0 {
            return Ok(self.clone());
        }
        let near = match self.rounded(r) {
            Ok(done) => return Ok(done),
            Err(near) => near,
        };
        let (mut fits, mut over) = (0.0, r);
        while over - fits > RADIUS_MM {
            let middle = 0.5 * (fits + over);
            if self.rounded(middle).is_ok() {
                fits = middle;
            } else {
                over = middle;
            }
        }
        Err(OutlineError::CornerTooBig {
            radius: r,
            fits,
            near,
        })
    }

    /// The rounded outline, or the corner where the radius doesn't fit.
    fn rounded(&self, r: f64) -> Result<Outline, Vec2> {
        let mut loops = Vec::with_capacity(self.loops.len());
        for ring in &self.loops {
            loops.push(rounded_ring(ring, r)?);
        }
        let loops: Vec<_> = loops.iter().filter_map(|l| tidy_ring(l)).collect();
        if loops.len() != self.loops.len() {
            return Err(self.loops[0][0].at);
        }
        match crossing(&loops) {
            Some(near) => Err(near),
            None => Ok(Outline { loops }),
        }
    }
}

/// Where a corner's circle touches the run before (fraction of it) and after.
struct Touch {
    before: f64,
    after: f64,
    from: Vec2,
    to: Vec2,
    bulge: f64,
}

fn rounded_ring(ring: &[Vertex], r: f64) -> Result<Vec<Vertex>, Vec2> {
    let n = ring.len();
    let runs: Vec<Run> = (0..n).map(|i| run_at(ring, i)).collect();
    let mut touches = Vec::with_capacity(n);
    for i in 0..n {
        let (before, after) = (&runs[(i + n - 1) % n], &runs[i]);
        touches.push(match turn(before, after) {
            t if t.abs() < SMOOTH_RAD => None,
            t => Some(touch(before, after, t, r).ok_or(ring[i].at)?),
        });
    }
    let mut out = Vec::with_capacity(2 * n);
    for i in 0..n {
        let run = &runs[i];
        let (mut t0, mut from) = (0.0, run.from);
        if let Some(t) = &touches[i] {
            out.push(Vertex {
                at: t.from,
                bulge: t.bulge,
            });
            (t0, from) = (t.after, t.to);
        }
        let (mut t1, mut to) = (1.0, run.to);
        if let Some(t) = &touches[(i + 1) % n] {
            (t1, to) = (t.before, t.from);
        }
        let left = (t1 - t0) * run.length();
        if left < -1e-9 {
            return Err(ring[i].at);
        }
        // Two roundings that meet leave nothing of the run between them.
        if left > 1e-9 {
            out.push(Vertex {
                at: from,
                bulge: run.piece(t0, t1, from, to).bulge,
            });
        }
    }
    Ok(out)
}

/// Change of direction from one run to the next (rad), positive to the left.
fn turn(before: &Run, after: &Run) -> f64 {
    before.heading(1.0).angle_to(after.heading(0.0))
}

/// The rounding of one corner that turns by `turn`; none where the radius finds no place on the runs.
fn touch(before: &Run, after: &Run, turn: f64, r: f64) -> Option<Touch> {
    let side = turn.signum();
    let (a, b) = (moved(before, side * r)?, moved(after, side * r)?);
    let corner = after.from;
    let reach = r + before.length() + after.length();
    let centre = meetings(&a, &b, reach)
        .into_iter()
        .filter(|&c| on(before, c, r) && on(after, c, r))
        .min_by(|p, q| p.distance(corner).total_cmp(&q.distance(corner)))?;
    let (from, to) = (foot(before, centre), foot(after, centre));
    let sweep = (from - centre).angle_to(to - centre);
    if sweep * side < 0.0 {
        return None;
    }
    Some(Touch {
        before: before.fraction(from).min(1.0),
        after: after.fraction(to).max(0.0),
        from,
        to,
        bulge: (sweep * 0.25).tan(),
    })
}

/// The line or circle of a run, moved to its left by `by`.
enum Carrier {
    Line(Vec2, Vec2),
    Circle(Vec2, f64),
}

fn moved(run: &Run, by: f64) -> Option<Carrier> {
    match run.bend {
        None => {
            let way = run.heading(0.0);
            Some(Carrier::Line(run.from + way.perp() * by, way))
        }
        Some(b) => {
            let radius = b.radius - by * b.sweep.signum();
            (radius > 0.0).then_some(Carrier::Circle(b.centre, radius))
        }
    }
}

/// Where two carriers meet, lines taken `reach` long both ways.
fn meetings(a: &Carrier, b: &Carrier, reach: f64) -> Vec<Vec2> {
    a.runs(reach)
        .iter()
        .flat_map(|p| {
            b.runs(reach)
                .iter()
                .flat_map(|q| p.crossings(q, 1e-9))
                .collect::<Vec<_>>()
        })
        .collect()
}

impl Carrier {
    fn runs(&self, reach: f64) -> Vec<Run> {
        match *self {
            Carrier::Line(p, way) => vec![Run::line(p - way * reach, p + way * 2.0 * reach)],
            Carrier::Circle(c, r) => {
                let half = Vec2::new(r, 0.0);
                vec![
                    Run::new(c + half, c - half, 1.0),
                    Run::new(c - half, c + half, 1.0),
                ]
            }
        }
    }
}

/// Nearest point of a run's carrier.
fn foot(run: &Run, p: Vec2) -> Vec2 {
    match run.bend {
        Some(Bend { centre, radius, .. }) => centre + (p - centre).normalize_or(Vec2::X) * radius,
        None => {
            let way = run.heading(0.0);
            run.from + way * (p - run.from).dot(way)
        }
    }
}

/// Whether a circle about `c` of radius `r` touches the run between its ends.
fn on(run: &Run, c: Vec2, r: f64) -> bool {
    let p = foot(run, c);
    let slack = 1e-9 / run.length();
    let t = run.fraction(p);
    t > -slack && t < 1.0 + slack && (p.distance(c) - r).abs() < 1e-6
}
