//! Flat outlines of lines and arcs, values that never change. The only user of the contour crate.

use crate::measure::Vec2;

/// A vertex of a loop; `bulge` is that of the run to the next vertex: the tangent of a quarter of the arc's
/// angle, positive counter-clockwise, 0 for a line, never beyond ±1 (longer arcs are split).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vertex {
    /// Where (mm).
    pub at: Vec2,
    /// See above.
    pub bulge: f64,
}

/// A closed region of the plane: outer loops counter-clockwise, holes clockwise, no loop crosses another.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outline {
    /// Outer loops first, each at least two vertices.
    loops: Vec<Vec<Vertex>>,
}

/// A straight run of an outline's rim.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flat {
    /// Loop and vertex index where it starts.
    pub place: (usize, usize),
    /// Start, in the loop's direction (metal on the left).
    pub from: Vec2,
    /// End.
    pub to: Vec2,
    /// Unit normal away from the inside of the outline.
    pub outward: Vec2,
}

/// One step of an `arc_path`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PathStep {
    /// A straight run to this point.
    Line(Vec2),
    /// An arc through the first point to the second.
    ArcThrough(Vec2, Vec2),
    /// An arc to a point with this radius, the shorter way; positive turns counter-clockwise.
    ArcRadius(Vec2, f64),
}

/// Why an outline can't be made. The fields are in mm.
#[derive(Debug, Clone, PartialEq)]
#[allow(missing_docs)]
pub enum OutlineError {
    /// Too few points, or all in a line.
    TooFewPoints { wanted: usize, got: usize },
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
mod stub;
