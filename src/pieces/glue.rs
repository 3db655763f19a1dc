//! Which pieces touch along a cut, and over what area: triangles of both sides of the cut clipped against each other in
//! their plane (Sutherland and Hodgman's clip of convex polygons).

use std::collections::BTreeMap;

use crate::drawing::Part;
use crate::measure::{Bounds, Frame, Vec2, Vec3};
use crate::pieces::cut::Rough;
use crate::pieces::{FoamPiece, Glue, Parting};

/// Joints under this are crumbs of the cut (mm²).
const LEAST_MM2: f64 = 0.01;
/// Two sides of a cut lie this near to each other (mm).
const TOUCH_MM: f64 = 1e-4;
/// And look at each other to within this (1 less the cosine).
const AGAINST: f64 = 1e-6;

/// A triangle of a cut and the piece it is of.
struct Facet {
    corners: [Vec3; 3],
    normal: Vec3,
    bounds: Bounds,
    piece: usize,
}

/// Fills in what each piece is glued to and each cut's area of glue.
pub(super) fn join(part: &Part, rough: &[Rough], splits: &mut [Parting], pieces: &mut [FoamPiece]) {
    let mut facets = facets(part, rough, splits.len());
    for (number, (split, facets)) in splits.iter_mut().zip(&mut facets).enumerate() {
        for ((a, b), area_mm2) in touching(facets) {
            if area_mm2 < LEAST_MM2 {
                continue;
            }
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

/// The area over which triangles of one body lie against those of another (mm²).
pub(super) fn contact_mm2(
    own: impl Iterator<Item = [Vec3; 3]>,
    other: impl Iterator<Item = [Vec3; 3]>,
) -> f64 {
    let mut all: Vec<Facet> = own.filter_map(|corners| facet(corners, 0)).collect();
    let Some(around) = all.iter().map(|f| f.bounds).reduce(Bounds::joined) else {
        return 0.0;
    };
    let near = other.filter_map(|corners| facet(corners, 1));
    all.extend(near.filter(|f| f.bounds.meets(&around)));
    touching(&mut all).get(&(0, 1)).copied().unwrap_or(0.0)
}

fn facet(corners: [Vec3; 3], piece: usize) -> Option<Facet> {
    let [a, b, c] = corners;
    let normal = (b - a).cross(c - a).normalize_or_zero();
    (normal != Vec3::ZERO).then(|| Facet {
        corners,
        normal,
        bounds: Bounds::of(corners).grown(TOUCH_MM),
        piece,
    })
}

/// The triangles of each cut, by its number.
fn facets(part: &Part, rough: &[Rough], cuts: usize) -> Vec<Vec<Facet>> {
    let mut out: Vec<Vec<Facet>> = (0..cuts).map(|_| Vec::new()).collect();
    for (piece, rough) in rough.iter().enumerate() {
        for (corners, &feature) in rough.solid.corners().zip(&rough.solid.features) {
            let cut = feature.checked_sub(part.features.len());
            let Some(of) = cut.and_then(|number| out.get_mut(number)) else {
                continue;
            };
            of.extend(facet(corners, piece));
        }
    }
    out
}

/// The pairs of pieces that touch along a cut, and over what area (mm²).
fn touching(facets: &mut [Facet]) -> BTreeMap<(usize, usize), f64> {
    facets.sort_by(|a, b| a.bounds.low.x.total_cmp(&b.bounds.low.x));
    let mut areas = BTreeMap::new();
    for (i, a) in facets.iter().enumerate() {
        let later = facets[i + 1..].iter();
        for b in later.take_while(|b| b.bounds.low.x <= a.bounds.high.x) {
            let against = a.normal.dot(b.normal) < AGAINST - 1.0;
            if a.piece == b.piece || !against || !a.bounds.meets(&b.bounds) {
                continue;
            }
            let far = |p: &Vec3| a.normal.dot(*p - a.corners[0]).abs() > TOUCH_MM;
            if b.corners.iter().any(far) {
                continue;
            }
            let pair = (a.piece.min(b.piece), a.piece.max(b.piece));
            *areas.entry(pair).or_insert(0.0) += common(a, b);
        }
    }
    areas
}

/// The area that two triangles in one plane share (mm²).
fn common(a: &Facet, b: &Facet) -> f64 {
    let frame = Frame::facing(a.corners[0], a.normal, None);
    let flat = |corners: [Vec3; 3]| {
        let [p, q, r] = corners.map(|p| frame.local(p).truncate());
        if (q - p).perp_dot(r - p) > 0.0 {
            [p, q, r]
        } else {
            [p, r, q]
        }
    };
    area_mm2(&clip(flat(a.corners).to_vec(), &flat(b.corners)))
}

/// The area of a convex shape, counter-clockwise (mm²).
pub(super) fn area_mm2(shape: &[Vec2]) -> f64 {
    let first = shape.first().copied().unwrap_or_default();
    let doubled: f64 = shape
        .windows(2)
        .map(|w| (w[0] - first).perp_dot(w[1] - first))
        .sum();
    doubled / 2.0
}

/// What of a convex shape lies within a triangle, both counter-clockwise.
pub(super) fn clip(mut shape: Vec<Vec2>, rim: &[Vec2; 3]) -> Vec<Vec2> {
    for k in 0..3 {
        let (from, to) = (rim[k], rim[(k + 1) % 3]);
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
    shape
}
