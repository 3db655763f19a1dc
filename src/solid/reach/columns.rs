//! Convex pieces of the plan that carry two heights: the floor's and the roof's.

use crate::measure::Vec2;

/// A corner of a piece of the plan, with the heights of the floor below and the roof above it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner {
    /// Where in plan (mm).
    pub at: Vec2,
    /// Height of the floor there (mm).
    pub floor_mm: f64,
    /// Height of the roof there (mm).
    pub roof_mm: f64,
}

impl Corner {
    fn between(&self, other: &Corner, share: f64) -> Corner {
        let mix = |a: f64, b: f64| a + share * (b - a);
        Corner {
            at: self.at.lerp(other.at, share),
            floor_mm: mix(self.floor_mm, other.floor_mm),
            roof_mm: mix(self.roof_mm, other.roof_mm),
        }
    }
}

/// Twice the signed area of a triangle in plan: positive when `c` lies left of the way from `a` to `b`.
pub(super) fn turn(a: Vec2, b: Vec2, c: Vec2) -> f64 {
    (b - a).perp_dot(c - a)
}

/// The part of a convex piece where `side` is at least 0; `side` is linear.
pub(super) fn kept(piece: &[Corner], side: impl Fn(&Corner) -> f64) -> Vec<Corner> {
    let mut out = Vec::with_capacity(piece.len() + 1);
    for (i, p) in piece.iter().enumerate() {
        let q = &piece[(i + 1) % piece.len()];
        let (s, t) = (side(p), side(q));
        if s >= 0.0 {
            out.push(*p);
        }
        if s * t < 0.0 {
            out.push(p.between(q, s / (s - t)));
        }
    }
    out
}

/// The part of a convex piece inside a convex, counter-clockwise rim.
pub(super) fn inside(piece: &[Corner], rim: &[Vec2]) -> Vec<Corner> {
    let mut left = piece.to_vec();
    for (i, &a) in rim.iter().enumerate() {
        if left.len() < 3 {
            return Vec::new();
        }
        let b = rim[(i + 1) % rim.len()];
        left = kept(&left, |c| turn(a, b, c.at));
    }
    left
}

/// Area of a counter-clockwise piece (mm²).
pub(super) fn area(piece: &[Corner]) -> f64 {
    (2..piece.len())
        .map(|i| turn(piece[0].at, piece[i - 1].at, piece[i].at))
        .sum::<f64>()
        / 2.0
}

/// The longest distance between two corners (mm).
pub(super) fn length(piece: &[Corner]) -> f64 {
    let mut longest: f64 = 0.0;
    for (i, a) in piece.iter().enumerate() {
        for b in &piece[..i] {
            longest = longest.max(a.at.distance_squared(b.at));
        }
    }
    longest.sqrt()
}

/// Twice the area over the length: between once and twice the true width (mm).
pub(super) fn width(piece: &[Corner]) -> f64 {
    let long = length(piece);
    if long > 0.0 {
        2.0 * area(piece).abs() / long
    } else {
        0.0
    }
}

/// Low and high corner of the box round a piece in plan.
pub(super) fn plan_box(piece: &[Corner]) -> (Vec2, Vec2) {
    piece.iter().fold(
        (Vec2::splat(f64::INFINITY), Vec2::splat(f64::NEG_INFINITY)),
        |(low, high), c| (low.min(c.at), high.max(c.at)),
    )
}
