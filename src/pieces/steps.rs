//! The order of gluing: loose pieces are set on theirs while these still lie apart on the bench, then these on each other,
//! then what touches several of them or would be in the way before.
//!
//! A piece can be set where it can be drawn out again along its seat's normal: nothing that is there already lies over it
//! or over its wax. What would lie over it comes later, so no step closes off a place that is still to be glued or filleted.

use std::collections::BTreeSet;

use crate::measure::{Bounds, Frame, TRIFLE_MM2, Vec3};
use crate::pieces::cut::Rough;
use crate::pieces::{Dowel, FoamPiece, Kind, Parting, Step, Wax};
use crate::solid::Solid;
use crate::solid::reach::Gaps;

/// Overlaps narrower than this don't stop a piece (mm): a joint gives by as much.
const GIVE_MM: f64 = 0.1;
/// What is in the way is lifted by so much, so that what touches it counts (mm).
const LIFT_MM: f64 = 0.02;

/// What the order follows from.
pub(super) struct Bench<'a> {
    pub rough: &'a [Rough],
    pub pieces: &'a [FoamPiece],
    pub splits: &'a [Parting],
    pub wax: &'a [Wax],
    pub dowels: &'a [Dowel],
    /// What each foot or handle is glued to; one a piece.
    pub carriers: &'a [Option<usize>],
}

/// The steps, in order. The first piece lies on the bench; each step sets another on what is there.
pub(super) fn steps(bench: &Bench) -> Vec<Step> {
    let all = 0..bench.pieces.len();
    let bodies: Vec<usize> = all
        .clone()
        .filter(|&p| bench.pieces[p].kind == Kind::Body)
        .collect();
    let loose: Vec<usize> = all
        .clone()
        .filter(|&p| matches!(bench.pieces[p].kind, Kind::Loose(_)))
        .collect();
    let mut early: Vec<(usize, usize)> = Vec::new();
    let mut late: Vec<usize> = Vec::new();
    for &piece in &loose {
        match bench.base(piece) {
            Some(base) => early.push((base, piece)),
            None => late.push(piece),
        }
    }
    // What stands in the way of another body isn't set before it.
    let joined = bench.body_order(&bodies);
    for (at, &(body, way)) in joined.iter().enumerate() {
        let there: Vec<usize> = joined[..at].iter().map(|j| j.0).collect();
        let Some(way) = way else { continue };
        early.retain(|&(base, piece)| {
            let blocks = if base == body {
                there.iter().any(|&other| bench.over(piece, other, way))
            } else {
                there.contains(&base) && bench.over(body, piece, way)
            };
            if blocks {
                late.push(piece);
            }
            !blocks
        });
    }
    let mut out = Vec::new();
    let mut set: BTreeSet<usize> = BTreeSet::new();
    for &(body, _) in &joined {
        set.insert(body);
        let mut own: Vec<usize> = early
            .iter()
            .filter(|(base, _)| *base == body)
            .map(|(_, piece)| *piece)
            .collect();
        bench.set_all(&mut own, &[body], &mut out);
    }
    let mut there: Vec<usize> = Vec::new();
    for &(body, _) in &joined {
        let with = early.iter().filter(|(base, _)| *base == body);
        if !there.is_empty() {
            out.push(bench.step(body, &there));
        }
        there.push(body);
        there.extend(with.map(|(_, piece)| *piece));
    }
    late.sort_unstable();
    bench.set_all(&mut late, &there, &mut out);
    for piece in all.filter(|&p| matches!(bench.pieces[p].kind, Kind::Prop | Kind::Grip)) {
        out.push(Step {
            piece,
            on: bench.carriers[piece].into_iter().collect(),
            dowels: Vec::new(),
            wax: Vec::new(),
        });
    }
    out
}

impl Bench<'_> {
    /// The one body that a loose piece is glued to, itself or through other loose pieces; `None` of several.
    fn base(&self, piece: usize) -> Option<usize> {
        let mut seen = BTreeSet::from([piece]);
        let mut open = vec![piece];
        let mut bodies = BTreeSet::new();
        // A piece's own seat leads to what it stands on; other loose pieces that only touch it don't count.
        while let Some(at) = open.pop() {
            for glue in &self.pieces[at].glued {
                let own = self.splits[glue.split].loose && self.owns(at, glue.split);
                match self.pieces[glue.piece].kind {
                    Kind::Body if own => {
                        bodies.insert(glue.piece);
                    }
                    Kind::Loose(_) if own && seen.insert(glue.piece) => open.push(glue.piece),
                    _ => {}
                }
            }
        }
        match bodies.len() {
            1 => bodies.first().copied(),
            _ => None,
        }
    }

    /// Whether a cut is the seat of this very piece.
    fn owns(&self, piece: usize, split: usize) -> bool {
        match self.pieces[piece].kind {
            Kind::Loose(id) => self.splits[split].of.contains(&id),
            _ => false,
        }
    }

    /// Bodies in the order that they are joined in, each with the way it is drawn out again; the first has none.
    fn body_order(&self, bodies: &[usize]) -> Vec<(usize, Option<Vec3>)> {
        let mut left: Vec<usize> = bodies.to_vec();
        let mut out: Vec<(usize, Option<Vec3>)> = Vec::new();
        while !left.is_empty() {
            let next = left.iter().enumerate().find_map(|(i, &body)| {
                let there = |p: usize| out.iter().any(|o| o.0 == p);
                let joints = self.pieces[body].glued.iter();
                let glue = joints
                    .filter(|g| there(g.piece) && !self.splits[g.split].loose)
                    .max_by(|a, b| a.area_mm2.total_cmp(&b.area_mm2))?;
                let plane = &self.splits[glue.split].plane;
                let side = plane.distance(middle(&self.rough[body].solid))
                    - plane.distance(middle(&self.rough[glue.piece].solid));
                Some((i, Some(plane.normal * side.signum())))
            });
            let (i, way) = next.unwrap_or((0, None));
            out.push((left.remove(i), way));
        }
        out
    }

    /// Sets several loose pieces on what is there, those first that others would close off.
    fn set_all(&self, pieces: &mut Vec<usize>, there: &[usize], out: &mut Vec<Step>) {
        let mut set: Vec<usize> = there.to_vec();
        while !pieces.is_empty() {
            let stands = |p: usize| {
                let glued = self.pieces[p].glued.iter();
                glued
                    .filter(|g| self.owns(p, g.split))
                    .all(|g| !pieces.contains(&g.piece))
            };
            let shut = |p: usize| {
                let others = pieces.iter().filter(|&&o| o != p);
                others
                    .filter(|&&o| self.out_of(o).is_some_and(|way| self.over(o, p, way)))
                    .count()
            };
            // Of those whose seat is there, one that closes off the fewest of the others.
            let ready = (0..pieces.len()).filter(|&i| stands(pieces[i]));
            let next = ready.min_by_key(|&i| (shut(pieces[i]), i)).unwrap_or(0);
            let piece = pieces.remove(next);
            out.push(self.step(piece, &set));
            set.push(piece);
        }
    }

    /// The way a loose piece is drawn off its seat.
    fn out_of(&self, piece: usize) -> Option<Vec3> {
        let glued = self.pieces[piece].glued.iter();
        let own = glued.map(|g| g.split).find(|&s| self.owns(piece, s))?;
        let plane = &self.splits[own].plane;
        let side = plane.distance(middle(&self.rough[piece].solid));
        Some(plane.normal * side.signum())
    }

    fn step(&self, piece: usize, there: &[usize]) -> Step {
        let mut on: Vec<usize> = Vec::new();
        for glue in &self.pieces[piece].glued {
            if there.contains(&glue.piece) && !on.contains(&glue.piece) {
                on.push(glue.piece);
            }
        }
        let pegs = (0..self.dowels.len()).filter(|&d| {
            let [a, b] = self.dowels[d].pieces;
            (a == piece && there.contains(&b)) || (b == piece && there.contains(&a))
        });
        let wax = (0..self.wax.len()).filter(|&w| self.wax[w].piece == piece);
        Step {
            piece,
            on,
            dowels: pegs.collect(),
            wax: wax.collect(),
        }
    }

    /// Whether one piece lies over another, or over its wax, as seen along the way that this one is drawn out.
    fn over(&self, moving: usize, other: usize, way: Vec3) -> bool {
        let mut frame = Frame::facing(Vec3::ZERO, way, None);
        if !frame.right_handed() {
            frame.y = -frame.y;
        }
        let wax = self.wax.iter().filter(|w| w.piece == moving);
        let parts = std::iter::once(&self.rough[moving].solid).chain(wax.map(|w| &*w.solid));
        let mut both = Solid::default();
        for part in parts {
            append(&mut both, part, &frame, 0.0, &|_| true);
        }
        let own = both.triangles.len();
        let around = both.bounds();
        append(&mut both, &self.rough[other].solid, &frame, LIFT_MM, &|b| {
            let low = b.low.truncate().cmplt(around.high.truncate());
            let high = b.high.truncate().cmpgt(around.low.truncate());
            let plan = low.all() && high.all();
            plan && b.high.z > around.low.z
        });
        if both.triangles.len() == own {
            return false;
        }
        let gaps = Gaps::of(&both);
        let between = |gap: &crate::solid::reach::Gap| {
            (gap.floor as usize) < own && (gap.roof as usize) >= own
        };
        let hidden = gaps.hidden(f64::NEG_INFINITY, f64::INFINITY, GIVE_MM, &between);
        hidden.plan_mm2() > TRIFLE_MM2
    }
}

/// Adds triangles of a solid as seen from a frame and lifted, those whose box is wanted.
fn append(
    to: &mut Solid,
    solid: &Solid,
    frame: &Frame,
    lift_mm: f64,
    wanted: &dyn Fn(&Bounds) -> bool,
) {
    let first = to.points.len() as u32;
    let lifted = |p: &Vec3| frame.local(*p) + Vec3::Z * lift_mm;
    let points: Vec<Vec3> = solid.points.iter().map(lifted).collect();
    for (triangle, feature) in solid.triangles.iter().zip(&solid.features) {
        let corners = triangle.map(|v| points[v as usize]);
        if wanted(&Bounds::of(corners)) {
            to.triangles.push(triangle.map(|v| v + first));
            to.features.push(*feature);
        }
    }
    to.points.extend(points);
}

fn middle(solid: &Solid) -> Vec3 {
    solid.bounds().middle()
}
