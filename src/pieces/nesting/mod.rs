//! Flat pieces laid on boards: nothing left over, then the fewest boards, then the shortest length used on the last.
//!
//! Data flows one way: [`Piece`]s and [`Board`]s → `kind` (outlines made ready) → `nofit` (where two pieces meet, as
//! regions of `field`) → `construct` (a first layout) → `rounds` (workers of `compress` that steer `separate`) →
//! [`Layout`], held against the true outlines by [`check()`], which shares nothing with the search.
//!
//! **Promised**: spacing and margin are kept to [`KEPT_MM`]; a piece that fits no board is told as such; the same
//! pieces, boards, rules, effort and seed give the same layout on any machine and with any number of threads, as the
//! budget is counted in work and not by the clock. **Not promised**: that no better layout exists.
//!
//! Method: no-fit regions (Minkowski differences), overlap measured as depth in them, and guided local search over
//! weighted overlaps (arXiv 2509.13329 is the nearest in print).

mod check;
mod compress;
mod construct;
mod field;
mod job;
mod kind;
mod nofit;
mod plan;
mod random;
mod rounds;
mod search;
mod separate;
mod stock;

pub use check::{Flaw, KEPT_MM, check};
pub use job::{
    Board, Effort, LaidBoard, Layout, NestingFault, OffCut, Piece, Placed, Rules, Turns, Unplaced,
    Why,
};
pub use kind::FREE_STEPS;
pub(in crate::pieces) use kind::signed_area;
pub use plan::silhouette;
pub use rounds::{lay_out, lay_out_on, lay_out_while};
