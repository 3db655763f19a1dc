//! Which board takes a piece.

use crate::drawing::Part;
use crate::measure::Vec3;

/// A piece may be larger by this than what takes it (mm): more than any rounding, less than any board's own tolerance.
pub(super) const SLACK_MM: f64 = 1e-3;

/// The thinnest board on hand that takes a piece of this length, width and height (mm), turned by 90° or not; of two
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

/// Whether a board's length and width, inside its margins, take a piece's.
pub(super) fn takes_plan(part: &Part, board: usize, size_mm: Vec3) -> bool {
    let [length, width] = part.boards[board].inside_mm().map(|s| s + SLACK_MM);
    let lies = |a: f64, b: f64| a <= length && b <= width;
    lies(size_mm.x, size_mm.y) || lies(size_mm.y, size_mm.x)
}

/// The thickest board that takes a piece's length and width (mm).
pub(super) fn thickest_for(part: &Part, size_mm: Vec3) -> Option<f64> {
    (0..part.boards.len())
        .filter(|&i| takes_plan(part, i, size_mm))
        .map(|i| part.boards[i].thickness_mm)
        .reduce(f64::max)
}
