//! Which way up a pattern leaves the least of its hollows empty.

use crate::measure::Vec3;
use crate::pour::fields::findings::empty;
use crate::pour::fields::sand::{Hollow, unfilled};
use crate::solid::Solid;

/// Directions are tried on cells so many times as coarse: each costs an eighth.
const COARSER: f64 = 2.0;

/// A direction is worth telling where it leaves less than this share of what stays empty now.
const WORTH: f64 = 0.5;

/// The directions tried: both ways along each axis, and halfway between two of them.
const TRIED: [[f64; 3]; 10] = [
    [0.0, 0.0, 1.0],
    [0.0, 0.0, -1.0],
    [0.0, 1.0, 0.0],
    [0.0, -1.0, 0.0],
    [1.0, 0.0, 0.0],
    [-1.0, 0.0, 0.0],
    [0.0, 1.0, -1.0],
    [0.0, 1.0, 1.0],
    [0.0, -1.0, -1.0],
    [0.0, -1.0, 1.0],
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
    let now_mm3 = left(up);
    let all = TRIED.map(Vec3::from_array);
    let tried = all.into_iter().map(|up| Attitude {
        up,
        empty_mm3: left(up),
        now_mm3,
    });
    let best = tried.min_by(|a, b| a.empty_mm3.total_cmp(&b.empty_mm3))?;
    (best.empty_mm3 < WORTH * now_mm3).then_some(best)
}
