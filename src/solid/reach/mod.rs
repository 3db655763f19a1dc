//! What a 3-axis cutter reaches of a closed mesh from its two sides, straight above (+z) and straight below (-z).
//!
//! Two questions, both answered on the mesh itself:
//! - [`Gaps`]: which surface can be seen neither from above nor from below, whatever the cutter? A point that looks up
//!   has solid under it, so it is hidden only where a roof (a facet that looks down) lies above it. **No floor with a
//!   roof above it is a proof that every point can be reached**; walls need no test, since a hidden wall bounds a void
//!   that has a floor and a roof.
//! - [`Clearance`]: which surface do cutters of given sizes not touch, since they are too wide or too short?

mod clearance;
mod columns;
mod gaps;
mod hidden;
mod tree;

pub use clearance::{Clearance, Miss, MissKind};
pub use columns::Corner;
pub use gaps::{Gap, Gaps};
pub use hidden::Hidden;
