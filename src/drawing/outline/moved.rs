//! Flat sides moved outward: stock on the sides of a body.
//!
//! Method: each moved flat adds the rectangle that it sweeps; between two of them the corner is filled, with the
//! rounding between them moved along. Flats moved inward take away in the same way.

use super::combine::combined;
use super::make::sharp;
use super::run::{Run, run_at};
use super::tidy::settled;
use super::{Outline, OutlineError, Vertex};
use crate::measure::{SAME_POINT_MM, Vec2};

/// A flat that moves.
struct Move {
    ring: usize,
    at: usize,
    run: Run,
    outward: Vec2,
    by: f64,
}

impl Outline {
    /// Flat sides (by [`super::Flat::place`]) moved outward by so much (mm). A sharp corner between two moved flats is
    /// filled; an arc that joins two of them smoothly moves too and keeps its radius; elsewhere a step is left.
    /// Negative moves go inward. Places that are no flats are passed over.
    ///
    /// # Errors
    /// `Empty` when nothing is left.
    pub fn with_flat_moved(
        &self,
        moves: &[((usize, usize), f64)],
    ) -> Result<Outline, OutlineError> {
        let moves: Vec<Move> = moves
            .iter()
            .filter_map(|&(p, by)| self.movable(p, by))
            .collect();
        let mut more = Vec::new();
        let mut less = Vec::new();
        for m in &moves {
            let way = m.outward * m.by;
            let swept = [m.run.from, m.run.from + way, m.run.to + way, m.run.to];
            let target = if m.by > 0.0 { &mut more } else { &mut less };
            target.extend(region(swept.map(sharp).to_vec()));
            let next = moves
                .iter()
                .find(|n| n.by * m.by > 0.0 && self.follows(m, n));
            if let Some(next) = next {
                target.extend(self.filling(m, next));
            }
        }
        let mut sources = vec![self];
        sources.extend(more.iter().chain(&less));
        let split = 1 + more.len();
        combined(&sources, |held| {
            held[..split].contains(&true) && !held[split..].contains(&true)
        })
    }

    fn movable(&self, (ring, at): (usize, usize), by: f64) -> Option<Move> {
        let loops = self.loops.get(ring)?;
        if at >= loops.len() || by.abs() <= SAME_POINT_MM * 0.1 || !by.is_finite() {
            return None;
        }
        let run = run_at(loops, at);
        run.bend.is_none().then(|| Move {
            ring,
            at,
            run,
            outward: -run.heading(0.0).perp(),
            by,
        })
    }

    /// Whether `b` comes next after `a`, with nothing or one arc between them.
    fn follows(&self, a: &Move, b: &Move) -> bool {
        let n = self.loops[a.ring].len();
        let step = (b.at + n - a.at) % n;
        a.ring == b.ring && (step == 1 || (step == 2 && self.arc_after(a).is_some()))
    }

    /// The arc after a flat, if there is one.
    fn arc_after(&self, a: &Move) -> Option<Run> {
        let ring = &self.loops[a.ring];
        let run = run_at(ring, (a.at + 1) % ring.len());
        run.bend.is_some().then_some(run)
    }

    /// What lies between the sweeps of two neighbours.
    fn filling(&self, a: &Move, b: &Move) -> Vec<Outline> {
        // The shift that moves both lines as wanted: v·n1 = d1, v·n2 = d2.
        let across = a.outward.perp_dot(b.outward);
        if across.abs() < 1e-9 {
            return Vec::new();
        }
        let shift = (b.outward.perp() * -a.by + a.outward.perp() * b.by) / across;
        let (p, q) = (a.run.to, b.run.from);
        let (from, to) = (a.outward * a.by, b.outward * b.by);
        let arc = self.arc_after(a);
        let Some(arc) = arc.filter(|_| p.distance(q) > SAME_POINT_MM) else {
            return region([p, p + from, p + shift, p + to].map(sharp).to_vec());
        };
        let smooth = |u: Vec2, v: Vec2| u.perp_dot(v).abs() < 1e-6 && u.dot(v) > 0.0;
        if !smooth(a.run.heading(1.0), arc.heading(0.0))
            || !smooth(arc.heading(1.0), b.run.heading(0.0))
        {
            return Vec::new();
        }
        let rims = vec![
            sharp(p),
            Vertex {
                at: p + shift,
                bulge: arc.bulge,
            },
            sharp(q + shift),
            Vertex {
                at: q,
                bulge: -arc.bulge,
            },
        ];
        [
            rims,
            [p, p + from, p + shift].map(sharp).to_vec(),
            [q, q + shift, q + to].map(sharp).to_vec(),
        ]
        .into_iter()
        .flat_map(region)
        .collect()
    }
}

/// A loop as an outline, turned counter-clockwise; nothing if it has no area.
fn region(ring: Vec<Vertex>) -> Vec<Outline> {
    let turned = if super::run::ring_area(&ring) < 0.0 {
        super::tidy::reversed(&ring)
    } else {
        ring
    };
    settled([turned]).into_iter().collect()
}
