//! Which pieces touch along a split, and over what area: triangles of both sides of the cut clipped against each other
//! in its plane (Sutherland and Hodgman's clip of convex polygons).

use crate::drawing::Part;
use crate::measure::Vec2;
use crate::pieces::cut::{Rough, frame_of};
use crate::pieces::{FoamPiece, Glue, Parting};

/// Joints under this are crumbs of the cut (mm²).
const LEAST_MM2: f64 = 0.01;

/// A triangle in the plane of a split, counter-clockwise, and the piece it is of.
struct Flat {
    corners: [Vec2; 3],
    low: Vec2,
    high: Vec2,
    piece: usize,
}

/// Fills in what each piece is glued to and each split's area of glue.
pub(super) fn join(part: &Part, rough: &[Rough], splits: &mut [Parting], pieces: &mut [FoamPiece]) {
    for (number, split) in splits.iter_mut().enumerate() {
        let (mut under, mut over) = flats(part.features.len() + number, split, rough);
        under.sort_by(|a, b| a.low.x.total_cmp(&b.low.x));
        over.sort_by(|a, b| a.low.x.total_cmp(&b.low.x));
        let mut areas = std::collections::BTreeMap::new();
        let widest = over.iter().map(|f| f.high.x - f.low.x).fold(0.0, f64::max);
        let mut first = 0;
        for a in &under {
            while first < over.len() && over[first].low.x + widest < a.low.x {
                first += 1;
            }
            for b in over[first..].iter().take_while(|b| b.low.x <= a.high.x) {
                if b.high.x > a.low.x && b.high.y > a.low.y && b.low.y < a.high.y {
                    *areas.entry((a.piece, b.piece)).or_insert(0.0) += common(a, b);
                }
            }
        }
        for ((a, b), area_mm2) in areas.into_iter().filter(|(_, area)| *area > LEAST_MM2) {
            split.glue_mm2 += area_mm2;
            let mut glue = |of: usize, piece: usize| {
                pieces[of].glued.push(Glue {
                    piece,
                    area_mm2,
                    split: number,
                });
            };
            glue(a, b);
            glue(b, a);
        }
    }
    for piece in pieces {
        piece.glued.sort_by_key(|g| (g.piece, g.split));
    }
}

/// The cut's triangles of the pieces below it and above it.
fn flats(id: usize, split: &Parting, rough: &[Rough]) -> (Vec<Flat>, Vec<Flat>) {
    let frame = frame_of(&split.plane);
    let (mut under, mut over) = (Vec::new(), Vec::new());
    for (piece, rough) in rough.iter().enumerate() {
        let of_cut = rough.solid.corners().zip(&rough.solid.features);
        for (corners, _) in of_cut.filter(|(_, f)| **f == id) {
            let [a, b, c] = corners.map(|p| frame.local(p));
            // What doesn't lie in the plane is a side of the cutter, which is in the air but for rounding.
            if a.z.abs().max(b.z.abs()).max(c.z.abs()) > 1e-4 {
                continue;
            }
            let [a, b, c] = [a, b, c].map(|p| p.truncate());
            let up = (b - a).perp_dot(c - a) > 0.0;
            let corners = if up { [a, b, c] } else { [a, c, b] };
            let flat = Flat {
                corners,
                low: a.min(b).min(c),
                high: a.max(b).max(c),
                piece,
            };
            // A piece below looks up at its joint.
            if up {
                under.push(flat)
            } else {
                over.push(flat)
            }
        }
    }
    (under, over)
}

/// The area that two triangles share (mm²).
fn common(a: &Flat, b: &Flat) -> f64 {
    let mut shape = a.corners.to_vec();
    for k in 0..3 {
        let (from, to) = (b.corners[k], b.corners[(k + 1) % 3]);
        let side = |p: Vec2| (to - from).perp_dot(p - from);
        let mut kept = Vec::with_capacity(shape.len() + 1);
        for i in 0..shape.len() {
            let (p, q) = (shape[i], shape[(i + 1) % shape.len()]);
            let (sp, sq) = (side(p), side(q));
            if sp >= 0.0 {
                kept.push(p);
            }
            if (sp > 0.0 && sq < 0.0) || (sp < 0.0 && sq > 0.0) {
                kept.push(p + (q - p) * (sp / (sp - sq)));
            }
        }
        shape = kept;
    }
    let first = shape.first().copied().unwrap_or_default();
    let doubled: f64 = shape
        .windows(2)
        .map(|w| (w[0] - first).perp_dot(w[1] - first))
        .sum();
    doubled / 2.0
}
