//! Which board takes a piece.

use crate::drawing::Part;
use crate::measure::Vec3;
use crate::pieces::nesting::FREE_STEPS;

/// A piece may be larger by this than what takes it (mm): more than any rounding, less than any board's own tolerance.
pub(super) const SLACK_MM: f64 = 1e-3;

/// The thinnest board on hand that takes a piece of this length, width and height (mm), in a turn that it allows; of two
/// alike the first. By its place in the drawing's list.
pub fn board_for(part: &Part, size_mm: Vec3) -> Option<usize> {
    let fits = |&i: &usize| {
        size_mm.z <= part.boards[i].thickness_mm + SLACK_MM && takes_plan(part, i, size_mm)
    };
    (0..part.boards.len()).filter(fits).min_by(|&a, &b| {
        let thickness = |i: usize| part.boards[i].thickness_mm;
        thickness(a).total_cmp(&thickness(b))
    })
}

/// Whether a board's length and width, inside its margins, take a piece's, in a turn that the board allows.
pub(super) fn takes_plan(part: &Part, board: usize, size_mm: Vec3) -> bool {
    let [length, width] = part.boards[board].inside_mm().map(|s| s + SLACK_MM);
    let lies = |deg: f64| {
        let (sin, cos) = deg.to_radians().sin_cos();
        let (a, b) = (size_mm.x, size_mm.y);
        a * cos + b * sin <= length && a * sin + b * cos <= width
    };
    let slant = part.boards[board].turns_freely;
    let quarter = FREE_STEPS / 4;
    let turn = |k: usize| k as f64 * 360.0 / FREE_STEPS as f64;
    (0..=quarter).any(|k| (slant || k % quarter == 0) && lies(turn(k)))
}

/// The thickest board that takes a piece's length and width (mm).
pub(super) fn thickest_for(part: &Part, size_mm: Vec3) -> Option<f64> {
    (0..part.boards.len())
        .filter(|&i| takes_plan(part, i, size_mm))
        .map(|i| part.boards[i].thickness_mm)
        .reduce(f64::max)
}
