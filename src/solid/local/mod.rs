//! Evaluation by local booleans: each body meets only the triangles near it, and its result is remembered.
//!
//! The solid is that of the strict sequence of whole booleans. Near triangles are closed off by fans far outside the
//! body's box, so that the kernel sees the same intersections as with the whole solid; afterwards the fans go and the
//! new triangles are sewn to the far ones along a rim that must come back bit for bit. Where it doesn't, that one step
//! is done whole. A result that keeps the wrong lumps (see `verdict`) is done again with the body swollen by a micrometre,
//! so that no surfaces agree to rounding only. Every result is a pure function of the sequence: neither the memo nor any global count shows in it.

mod close;
mod grid;
mod mesh;
mod patch;
mod plain;
mod run;
mod stitch;
mod store;
mod verdict;
mod winding;
mod workpiece;

pub(super) use mesh::Outcome;
pub use run::{Evaluated, evaluate};
pub(super) use winding::turns;
pub use workpiece::{Workpiece, added_to};
