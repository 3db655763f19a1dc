//! What no board takes whole is cut into lengths: a bar that turns at its corners first, then each leg evenly across.

use crate::drawing::Part;
use crate::measure::{Bounds, Frame, Vec3};
use crate::pattern::Gated;
use crate::pieces::boards::board_for;
use crate::pieces::gating::Labels;
use crate::pieces::gating::lying::{fits, legs, lies, way};
use crate::pieces::gating::shaped::Shaped;
use crate::pieces::lay::Lie;
use crate::solid::{Solid, SolidFault};

/// The most lengths that a leg is cut into.
const MOST: usize = 12;
/// How far a cut reaches (mm): past any part.
const FAR_MM: f64 = 1e5;
/// Directions are one where their product is more.
const SAME_WAY: f64 = 1.0 - 1e-6;

/// The pieces, in lengths where needed. What fits no board in any way stays whole.
pub(super) fn in_lengths(
    part: &Part,
    gated: &Gated,
    shaped: Vec<Shaped>,
    labels: Labels,
) -> Result<Vec<Shaped>, SolidFault> {
    let mut cuts = 0..;
    let mut label = || labels.length(cuts.next().unwrap_or(0));
    let mut out = Vec::with_capacity(shaped.len());
    for one in shaped {
        let laid = &gated.laid[one.laid];
        let taken = |solid: &Solid| lies(part, laid, solid).iter().any(|lie| fits(part, lie));
        let way = way(laid);
        let mut parts = vec![one.solid];
        for corner in way.windows(3) {
            let normal = legs(corner).iter().copied().sum::<Vec3>().normalize();
            parts = each(parts, &taken, |solid| {
                across(solid, &[(corner[1], normal)], &mut label)
            })?;
        }
        parts = each(parts, &taken, |solid| {
            let planes = evenly(part, &legs(&way), &lies(part, laid, solid));
            across(solid, &planes, &mut label)
        })?;
        out.extend(parts.into_iter().map(|solid| Shaped {
            laid: one.laid,
            solid,
        }));
    }
    Ok(out)
}

/// Parts that no board takes, cut; the others as they are.
fn each(
    parts: Vec<Solid>,
    taken: &dyn Fn(&Solid) -> bool,
    mut cut: impl FnMut(&Solid) -> Result<Vec<Solid>, SolidFault>,
) -> Result<Vec<Solid>, SolidFault> {
    let mut out = Vec::new();
    for solid in parts {
        if taken(&solid) {
            out.push(solid);
        } else {
            out.extend(cut(&solid)?);
        }
    }
    Ok(out)
}

/// The planes that cut a piece evenly across one of its legs, so that each length goes on a board; as few as it goes.
fn evenly(part: &Part, legs: &[Vec3], lies: &[Lie]) -> Vec<(Vec3, Vec3)> {
    let mut best: Option<(usize, Vec<(Vec3, Vec3)>)> = None;
    for lie in lies {
        let axes = [lie.frame.x, lie.frame.y, lie.frame.z];
        for (k, axis) in axes.into_iter().enumerate() {
            if !legs.iter().any(|leg| leg.dot(axis).abs() > SAME_WAY) {
                continue;
            }
            let whole = lie.size_mm[k];
            let short = |n: usize| {
                let mut size = lie.size_mm;
                size[k] = whole / n as f64;
                board_for(part, size).is_some()
            };
            let Some(n) = (2..=MOST).find(|n| short(*n)) else {
                continue;
            };
            if best.as_ref().is_none_or(|(least, _)| n < *least) {
                let at = |i: usize| lie.frame.origin + axis * (whole * i as f64 / n as f64);
                best = Some((n, (1..n).map(|i| (at(i), axis)).collect()));
            }
        }
    }
    best.map_or_else(Vec::new, |(_, planes)| planes)
}

/// A solid parted at planes, each a point and a normal, into its bodies.
fn across(
    solid: &Solid,
    planes: &[(Vec3, Vec3)],
    label: &mut dyn FnMut() -> usize,
) -> Result<Vec<Solid>, SolidFault> {
    let mut out = Vec::new();
    let mut rest = solid.clone();
    let over = Bounds {
        low: Vec3::new(-FAR_MM, -FAR_MM, 0.0),
        high: Vec3::splat(FAR_MM),
    };
    for (at, normal) in planes {
        let mut frame = Frame::facing(*at, *normal, None);
        if !frame.right_handed() {
            frame.y = -frame.y;
        }
        let (above, below) = rest.parted(&frame, &over, label())?;
        out.extend(below.bodies());
        rest = above;
    }
    out.extend(rest.bodies());
    Ok(out)
}
