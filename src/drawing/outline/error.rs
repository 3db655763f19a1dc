//! Why an outline can't be made, and how it is told.

use crate::measure::{Unit, Vec2};
use std::fmt;

/// Why an outline can't be made. The fields are in mm.
#[derive(Debug, Clone, PartialEq)]
#[allow(missing_docs)]
pub enum OutlineError {
    /// Too few points, or all in a line.
    TooFewPoints { wanted: usize, got: usize },
    /// A size that is zero, negative or no number.
    BadSize { size: f64 },
    /// An obround wider than it is long.
    WiderThanLong { length: f64, width: f64 },
    /// It crosses or touches itself near this place.
    CrossesItself { near: Vec2 },
    /// A corner radius that doesn't fit; the largest that does.
    CornerTooBig { radius: f64, fits: f64, near: Vec2 },
    /// Shrunk to nothing; the largest shrink that leaves something.
    Vanishes { by: f64, fits: f64 },
    /// An arc whose ends are farther apart than its diameter; the least radius.
    ArcTooSmall { radius: f64, least: f64 },
    /// Nothing is left, or the two don't touch so that the result is empty.
    Empty,
    /// The contour crate failed on it.
    Failed { what: String },
}

impl OutlineError {
    /// The error in plain words, lengths in `unit`.
    pub fn text(&self, unit: Unit) -> String {
        let place = |p: &Vec2| format!("[{}, {}]", unit.number(p.x), unit.number(p.y));
        match self {
            OutlineError::TooFewPoints { wanted, got } => {
                format!(
                    "an outline like this needs at least {wanted} different points that don't all lie in one line; it has {got}"
                )
            }
            OutlineError::BadSize { size } => {
                format!(
                    "{} is not a size; give a length above zero",
                    unit.show(*size)
                )
            }
            OutlineError::WiderThanLong { length, width } => format!(
                "an obround lies along x: its length ({}) can't be less than its width ({}); swap them and turn it",
                unit.show(*length),
                unit.show(*width)
            ),
            OutlineError::CrossesItself { near } => {
                format!("the outline crosses or touches itself near {}", place(near))
            }
            OutlineError::CornerTooBig { radius, fits, near } => format!(
                "a corner radius of {} doesn't fit near {}; the largest that fits is {}",
                unit.show(*radius),
                place(near),
                unit.show(rounded_down(*fits, unit))
            ),
            OutlineError::Vanishes { by, fits } => format!(
                "nothing is left of the outline when it shrinks by {}; it takes less than {}",
                unit.show(*by),
                unit.show(rounded_down(*fits, unit))
            ),
            OutlineError::ArcTooSmall { radius, least } => format!(
                "an arc of radius {} doesn't reach that far; the least radius is {}",
                unit.show(*radius),
                unit.show(rounded_up(*least, unit))
            ),
            OutlineError::Empty => "nothing is left of the outline".into(),
            OutlineError::Failed { what } => {
                format!("the outline could not be worked out ({what})")
            }
        }
    }
}

impl fmt::Display for OutlineError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text(Unit::Mm))
    }
}

impl std::error::Error for OutlineError {}

/// Steps that `Unit::number` shows, in one unit.
fn steps(unit: Unit) -> f64 {
    match unit {
        Unit::Mm => 100.0,
        Unit::Inch => 10_000.0,
    }
}

/// The greatest shown number that still fits; a hair of rounding is forgiven.
fn rounded_down(mm: f64, unit: Unit) -> f64 {
    let n = steps(unit);
    (mm / unit.mm() * n + 1e-4).floor() / n * unit.mm()
}

/// The least shown number that is enough.
fn rounded_up(mm: f64, unit: Unit) -> f64 {
    let n = steps(unit);
    (mm / unit.mm() * n - 1e-4).ceil() / n * unit.mm()
}
