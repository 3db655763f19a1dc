//! What an outline measures: area, extents, distances, flat sides.

use super::run::{ring_area, run_at, runs_of, winding};
use super::tidy::whole_circle;
use super::{Flat, Outline, Run, Vertex};
use crate::measure::{PARALLEL, SAME_POINT_MM, Vec2, sin_cos_deg};

impl Outline {
    /// The loops: outers counter-clockwise first, then holes clockwise.
    pub fn loops(&self) -> &[Vec<Vertex>] {
        &self.loops
    }

    /// How many holes it has.
    pub fn holes(&self) -> usize {
        self.loops.len() - self.outers()
    }

    /// How many separate regions it has.
    pub fn outers(&self) -> usize {
        self.loops.iter().filter(|r| ring_area(r) > 0.0).count()
    }

    pub(super) fn runs(&self) -> impl Iterator<Item = Run> + '_ {
        self.loops.iter().flat_map(|r| runs_of(r))
    }

    /// Area, holes taken off (mm²).
    pub fn area(&self) -> f64 {
        self.loops.iter().map(|r| ring_area(r)).sum()
    }

    /// Length of all its rims (mm).
    pub fn perimeter(&self) -> f64 {
        self.runs().map(|r| r.length()).sum()
    }

    /// Least and greatest coordinates (mm).
    pub fn bounds(&self) -> (Vec2, Vec2) {
        self.runs()
            .map(|r| r.bounds())
            .fold((Vec2::INFINITY, Vec2::NEG_INFINITY), |(l, h), (a, b)| {
                (l.min(a), h.max(b))
            })
    }

    /// Distance of the farthest rim point from the origin (mm).
    pub fn reach(&self) -> f64 {
        self.runs().map(|r| farthest(&r)).fold(0.0, f64::max)
    }

    /// Whether the point lies inside; on the rim either may come out.
    pub fn contains(&self, p: Vec2) -> bool {
        self.loops.iter().map(|r| winding(r, p)).sum::<i32>() > 0
    }

    /// Distance to the rim, negative inside (mm).
    pub fn distance(&self, p: Vec2) -> f64 {
        let off = self
            .runs()
            .map(|r| r.distance(p))
            .fold(f64::INFINITY, f64::min);
        if self.contains(p) { -off } else { off }
    }

    /// The straight runs of the rim, in the order of loops and vertices.
    pub fn flats(&self) -> Vec<Flat> {
        let mut flats = Vec::new();
        for (k, ring) in self.loops.iter().enumerate() {
            for i in 0..ring.len() {
                let run = run_at(ring, i);
                if run.bend.is_none() && run.length() > SAME_POINT_MM {
                    flats.push(Flat {
                        place: (k, i),
                        from: run.from,
                        to: run.to,
                        outward: -run.heading(0.0).perp(),
                    });
                }
            }
        }
        flats
    }

    /// The flat side that looks most nearly towards `deg` (0 is +x, counter-clockwise), less than a quarter turn
    /// off. Ties: the farthest out, then the first counter-clockwise. A hole's sides count only
    /// where no outer rim has one.
    pub fn flat_toward(&self, deg: f64) -> Option<Flat> {
        let (s, c) = sin_cos_deg(deg);
        let way = Vec2::new(c, s);
        let outers = self.outers();
        let (outside, inside): (Vec<Flat>, Vec<Flat>) =
            self.flats().into_iter().partition(|f| f.place.0 < outers);
        [outside, inside]
            .into_iter()
            .find_map(|flats| looking(&flats, way))
    }

    /// Whether it is one region without holes whose rim nowhere turns inwards.
    pub fn is_convex(&self) -> bool {
        let [ring] = self.loops.as_slice() else {
            return false;
        };
        let runs: Vec<Run> = runs_of(ring).collect();
        (0..runs.len()).all(|i| {
            let next = &runs[(i + 1) % runs.len()];
            let bends_out = runs[i].bend.is_none_or(|b| b.sweep > 0.0);
            bends_out && runs[i].heading(1.0).perp_dot(next.heading(0.0)) > -PARALLEL.sqrt()
        })
    }

    /// Centre and radius (mm) if the outline is one full circle.
    pub fn as_disc(&self) -> Option<(Vec2, f64)> {
        match self.loops.as_slice() {
            [ring] => whole_circle(ring),
            _ => None,
        }
    }
}

/// The best of some flats for a direction.
fn looking(flats: &[Flat], way: Vec2) -> Option<Flat> {
    let middle = |f: &Flat| (f.from + f.to) * 0.5;
    let off = |v: Vec2| way.angle_to(v).abs();
    let facing: Vec<&Flat> = flats
        .iter()
        .filter(|f| f.outward.dot(way) > PARALLEL)
        .collect();
    let least = facing
        .iter()
        .map(|f| off(f.outward))
        .min_by(f64::total_cmp)?;
    let near: Vec<&Flat> = facing
        .into_iter()
        .filter(|f| off(f.outward) <= least + 1e-7)
        .collect();
    let out = near
        .iter()
        .map(|f| middle(f).dot(way))
        .max_by(f64::total_cmp)?;
    let turn = |v: Vec2| {
        let a = way.angle_to(v);
        if a < -1e-7 {
            a + std::f64::consts::TAU
        } else {
            a.max(0.0)
        }
    };
    near.into_iter()
        .filter(|f| middle(f).dot(way) >= out - SAME_POINT_MM)
        .min_by(|a, b| {
            let by_look = turn(a.outward) - turn(b.outward);
            let by_place = turn(middle(a)) - turn(middle(b));
            if by_look.abs() > 1e-7 {
                by_look
            } else {
                by_place
            }
            .total_cmp(&0.0)
        })
        .copied()
}

/// Distance of the farthest point of a run from the origin.
fn farthest(run: &Run) -> f64 {
    let ends = run.from.length().max(run.to.length());
    let Some(b) = run.bend else { return ends };
    let p = b.centre + b.centre.normalize_or(Vec2::X) * b.radius;
    let t = run.fraction(p);
    if t > 0.0 && t < 1.0 {
        ends.max(p.length())
    } else {
        ends
    }
}
