//! Flat outlines of lines and arcs, values that never change. The only user of the contour crate.
//!
//! Promises: every [`Outline`] handed out has outers counter-clockwise before holes clockwise, no doubled points, no
//! arc of more than half a turn, runs of one line or circle joined, a full circle as two vertices. Nothing is
//! faceted before [`sample_levels`]. A failure is an [`OutlineError`], never a panic.

mod belt;
mod combine;
mod corners;
mod error;
mod make;
mod moved;
mod offset;
mod path;
mod place;
mod query;
mod run;
mod sample;
mod strips;
mod tidy;
mod trace;
mod widest;

pub use error::OutlineError;
pub use sample::sample_levels;

use crate::measure::Vec2;
use run::Run;

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
