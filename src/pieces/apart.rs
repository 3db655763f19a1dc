//! The pieces drawn apart so that each can be seen: every step of gluing undone along its joint's normal.

use crate::measure::{Bounds, Frame, Vec3};
use crate::pieces::{FoamPiece, Pieces, Step};

/// Air between two pieces drawn apart, as a share of the pattern's largest side.
const AIR: f64 = 0.18;

/// What undoing a step of gluing moves.
#[derive(Debug, Clone, PartialEq)]
pub struct Undone {
    /// The piece that the step sets and all that is on it by then, by their places in the list, in order.
    pub pieces: Vec<usize>,
    /// How they move (mm): so far that they lie clear of what the step sets them on, itself drawn apart.
    pub by_mm: Vec3,
}

/// One a step, in the order of the steps. A piece drawn apart from all moves by the sum over the steps that move it.
pub fn undone(pieces: &Pieces) -> Vec<Undone> {
    let around = |p: &FoamPiece| Bounds::of(p.solid.points.iter().map(|q| p.lay.point(*q)));
    let boxes: Vec<Bounds> = pieces.pieces.iter().map(around).collect();
    let Some(all) = boxes.iter().copied().reduce(Bounds::joined) else {
        return Vec::new();
    };
    let air_mm = AIR * all.size().max_element();
    let mut shifts = vec![Vec3::ZERO; boxes.len()];
    // What each piece is joined with so far: pieces of one group bear one number.
    let mut group: Vec<usize> = (0..boxes.len()).collect();
    let mut out = Vec::with_capacity(pieces.steps.len());
    for step in &pieces.steps {
        let under: Vec<usize> = step.on.iter().map(|&p| group[p]).collect();
        let own = group[step.piece];
        let (moved, rest): (Vec<usize>, Vec<usize>) = (0..boxes.len())
            .filter(|&p| group[p] == own || under.contains(&group[p]))
            .partition(|&p| group[p] == own);
        let way = way(pieces, step, &boxes);
        let frame = Frame::facing(Vec3::ZERO, way, None);
        let seen = |p: usize| {
            let corners = boxes[p].corners();
            Bounds::of(corners.map(|c| frame.local(c + shifts[p])))
        };
        let by_mm = way * (sunk_mm(&moved, &rest, &seen) + air_mm);
        moved.iter().for_each(|&p| shifts[p] += by_mm);
        rest.iter().for_each(|&p| group[p] = own);
        out.push(Undone {
            pieces: moved,
            by_mm,
        });
    }
    out
}

/// How far pieces must rise along z until none of them lies beside or under one of the others that it lies over (mm).
fn sunk_mm(moved: &[usize], rest: &[usize], seen: &dyn Fn(usize) -> Bounds) -> f64 {
    let rest: Vec<Bounds> = rest.iter().map(|&p| seen(p)).collect();
    let mut sunk: f64 = 0.0;
    for own in moved.iter().map(|&p| seen(p)) {
        for other in &rest {
            let before = own.low.truncate().cmplt(other.high.truncate());
            let behind = own.high.truncate().cmpgt(other.low.truncate());
            if before.all() && behind.all() {
                sunk = sunk.max(other.high.z - own.low.z);
            }
        }
    }
    sunk
}

/// The way that a step's piece comes off again: square to its largest joint there, else away from what it is set on.
fn way(pieces: &Pieces, step: &Step, boxes: &[Bounds]) -> Vec3 {
    let glued = pieces.pieces[step.piece].glued.iter();
    let joint = glued
        .filter(|g| step.on.contains(&g.piece))
        .max_by(|a, b| a.area_mm2.total_cmp(&b.area_mm2));
    let own = boxes[step.piece].middle();
    match joint {
        Some(glue) => {
            let plane = &pieces.splits[glue.split].plane;
            let side = plane.distance(own) - plane.distance(boxes[glue.piece].middle());
            plane.normal * if side < 0.0 { -1.0 } else { 1.0 }
        }
        None => {
            let on = step.on.first().map_or(Vec3::ZERO, |&p| boxes[p].middle());
            (own - on).try_normalize().unwrap_or(Vec3::Z)
        }
    }
}
