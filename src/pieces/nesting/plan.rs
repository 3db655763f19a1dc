//! The outline of a solid seen from above.
//!
//! What looks up covers the silhouette of a closed solid. The edges along which it ends, as directed lines, wind round
//! each place as often as a facet lies over it; the region wound round is the silhouette (non-zero rule). **Promised**:
//! rims and holes to the polygon library's grid, about a ten-millionth of the solid's size. **Not promised**: holes and
//! slivers under [`CRUMB_MM2`], which no cutter sees, are left out.

use std::collections::BTreeMap;

use i_overlay::core::fill_rule::FillRule;
use i_overlay::float::simplify::SimplifyShape;

use super::kind::signed_area;
use crate::measure::{Vec2, Vec3};
use crate::solid::Solid;

/// Loops smaller than this are rounding, or holes that no cutter enters (mm²).
const CRUMB_MM2: f64 = 0.01;

/// A point this near to the line between its neighbours says nothing (mm).
const STRAIGHT_MM: f64 = 1e-6;

/// The loops of a solid's silhouette seen along z: rims counter-clockwise, holes clockwise, largest first (mm).
pub fn silhouette(solid: &Solid) -> Vec<Vec<Vec2>> {
    let ends = ends(solid);
    let chains = chains(&ends, solid);
    let shapes = chains.simplify_shape_as::<i64>(FillRule::NonZero);
    let mut loops: Vec<Vec<Vec2>> = shapes
        .into_iter()
        .flat_map(|shape| {
            shape.into_iter().enumerate().map(|(at, points)| {
                let points: Vec<Vec2> = points.into_iter().map(Vec2::from_array).collect();
                let mut kept = without_straight(&points);
                // A shape's first loop is its rim.
                if (signed_area(&kept) > 0.0) != (at == 0) {
                    kept.reverse();
                }
                kept
            })
        })
        .filter(|l| l.len() >= 3 && signed_area(l).abs() > CRUMB_MM2)
        .collect();
    loops.sort_by(|a, b| signed_area(b).abs().total_cmp(&signed_area(a).abs()));
    loops
}

/// Directed edges along which what looks up ends, each as often as it does; ordered.
fn ends(solid: &Solid) -> Vec<[u32; 2]> {
    let mut counts: BTreeMap<[u32; 2], i32> = BTreeMap::new();
    for t in &solid.triangles {
        let [a, b, c] = t.map(|i| solid.points[i as usize].truncate());
        if (b - a).perp_dot(c - a) <= 0.0 {
            continue;
        }
        for k in 0..3 {
            let (from, to) = (t[k], t[(k + 1) % 3]);
            if from < to {
                *counts.entry([from, to]).or_default() += 1;
            } else {
                *counts.entry([to, from]).or_default() -= 1;
            }
        }
    }
    let mut out = Vec::new();
    for ([low, high], count) in counts {
        let edge = if count > 0 { [low, high] } else { [high, low] };
        out.extend(std::iter::repeat_n(edge, count.unsigned_abs() as usize));
    }
    out
}

/// The edges as closed chains: as many begin at each point as end there, so any way along them comes back.
fn chains(ends: &[[u32; 2]], solid: &Solid) -> Vec<Vec<[f64; 2]>> {
    let mut next: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
    for [from, to] in ends {
        next.entry(*from).or_default().push(*to);
    }
    let mut out = Vec::new();
    while let Some((&first, _)) = next.first_key_value() {
        let mut chain = Vec::new();
        let mut at = first;
        while let Some(ways) = next.get_mut(&at) {
            let to = ways.pop();
            if ways.is_empty() {
                next.remove(&at);
            }
            let Some(to) = to else { break };
            let Vec3 { x, y, .. } = solid.points[at as usize];
            chain.push([x, y]);
            at = to;
        }
        if chain.len() >= 3 {
            out.push(chain);
        }
    }
    out
}

/// A loop without the points that lie on the line between their neighbours.
fn without_straight(points: &[Vec2]) -> Vec<Vec2> {
    let n = points.len();
    let mut kept: Vec<Vec2> = Vec::with_capacity(n);
    for (i, &p) in points.iter().enumerate() {
        let before = kept.last().copied().unwrap_or(points[n - 1]);
        let after = points[(i + 1) % n];
        let along = after - before;
        let off = along.perp_dot(p - before).abs();
        if off > STRAIGHT_MM * along.length() || along.dot(p - before) < 0.0 {
            kept.push(p);
        }
    }
    kept
}
