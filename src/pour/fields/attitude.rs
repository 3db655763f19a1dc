//! Which way up a pattern leaves the least of its hollows empty.

use crate::measure::Vec3;
use crate::pour::fields::findings::empty;
use crate::pour::fields::sand::{Hollow, unfilled};
use crate::solid::Solid;

/// Directions are tried on cells so many times as coarse: each costs an eighth.
const COARSER: f64 = 2.0;

/// A direction is worth telling where it leaves less than this share of what stays empty now.
const WORTH: f64 = 0.5;

/// The directions tried: both ways along each axis.
const TRIED: [Vec3; 6] = [
    Vec3::Z,
    Vec3::NEG_Z,
    Vec3::Y,
    Vec3::NEG_Y,
    Vec3::X,
    Vec3::NEG_X,
];

/// A way up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Attitude {
    /// Up in the drawing.
    pub up: Vec3,
    /// What stays empty then (mm³).
    pub empty_mm3: f64,
    /// What stays empty as it is (mm³).
    pub now_mm3: f64,
}

/// The direction that leaves the least empty, where it is much better than `up`. Cells of the usual size (mm).
pub(super) fn better(solid: &Solid, up: Vec3, cell_mm: f64) -> Option<Attitude> {
    let left = |up: Vec3| -> f64 {
        let hollows = unfilled(solid, up, COARSER * cell_mm);
        let by_level = hollows.iter().filter(|h: &&Hollow| empty(h));
        by_level.map(|h| h.volume_mm3).sum()
    };
    let (now_mm3, tried) = std::thread::scope(|scope| {
        let tried = TRIED.map(|up| (up, scope.spawn(move || left(up))));
        (left(up), tried.map(|(up, empty)| (up, empty.join())))
    });
    let tried = tried.into_iter().map(|(up, empty)| Attitude {
        up,
        empty_mm3: empty.unwrap_or_else(|panic| std::panic::resume_unwind(panic)),
        now_mm3,
    });
    let best = tried.min_by(|a, b| a.empty_mm3.total_cmp(&b.empty_mm3))?;
    (best.empty_mm3 < WORTH * now_mm3).then_some(best)
}
