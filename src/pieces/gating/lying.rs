//! How a piece of the gating is laid: along its own axes, on whichever side it is cut from the fewest sides and lowest.

use crate::drawing::Part;
use crate::drawing::face::section_axes;
use crate::measure::{Frame, LIP_MM, TRIFLE_MM2, Vec3};
use crate::pattern::{Laid, LaidPlace};
use crate::pieces::boards::board_for;
use crate::pieces::lay::{Lie, lie_in, sides};
use crate::solid::Solid;
use crate::solid::reach::Gaps;

/// Heights are one where they differ by less (mm).
const SAME_MM: f64 = 1e-3;

/// A slant counts from this sine.
const SLANT: f64 = 1e-3;

/// The middle line of a laid piece.
pub(super) fn way(laid: &Laid) -> Vec<Vec3> {
    match &laid.place {
        LaidPlace::Stub { frame, length, .. } => {
            vec![frame.origin, frame.origin + frame.z * *length]
        }
        LaidPlace::Bar { way, .. } => way.clone(),
        LaidPlace::Tie { ends, .. } => ends.to_vec(),
        LaidPlace::Sprue { foot, top, .. } => vec![*foot, *top],
    }
}

/// The directions of the legs of a way.
pub(super) fn legs(way: &[Vec3]) -> Vec<Vec3> {
    let legs = way.windows(2).map(|w| (w[1] - w[0]).normalize());
    legs.collect()
}

/// Ways to lay a piece: each axis of each leg down or up, the leg along the board; and so that what cuts it at a slant,
/// a plane or a sprue, stands upright.
pub(super) fn lies(part: &Part, laid: &Laid, solid: &Solid) -> Vec<Lie> {
    let mut out = Vec::new();
    let trims = laid.body.trims.iter().map(|plane| plane.normal);
    let slants: Vec<Vec3> = trims.chain([part.gating.up()]).collect();
    for leg in legs(&way(laid)) {
        let (u, v) = match &laid.place {
            LaidPlace::Stub { frame, .. } => (frame.x, frame.y),
            _ => section_axes(leg),
        };
        let across = slants.iter().map(|s| leg.cross(*s));
        let upright = across.filter(|a| a.length() > SLANT).map(Vec3::normalize);
        let square = [(v, leg), (u, leg), (leg, u)].into_iter();
        for (up, along) in square.chain(upright.map(|across| (across, leg))) {
            for z in [up, -up] {
                out.push(lie_in(
                    solid,
                    Frame {
                        origin: Vec3::ZERO,
                        x: along,
                        y: z.cross(along),
                        z,
                    },
                ));
            }
        }
    }
    out
}

/// Whether a board takes it so; where there are none, always.
pub(super) fn fits(part: &Part, lie: &Lie) -> bool {
    part.boards.is_empty() || board_for(part, lie.size_mm).is_some()
}

/// The best of the ways to lay a piece: one that a board takes, where a cutter gets everywhere, from the fewest sides,
/// the lowest, on the largest floor.
pub(super) fn best(part: &Part, solid: &Solid, lies: Vec<Lie>) -> Option<Lie> {
    let rank = |lie: &Lie| {
        let seen = solid.seen_from(&lie.frame);
        let hidden = Gaps::of(&seen).all_hidden(LIP_MM).plan_mm2() > TRIFLE_MM2;
        let height = (lie.size_mm.z / SAME_MM).round() as i64;
        let floor = (lie.area_mm2 / TRIFLE_MM2).round() as i64;
        (!fits(part, lie), hidden, sides(&seen), height, -floor)
    };
    lies.into_iter().min_by_key(rank)
}
