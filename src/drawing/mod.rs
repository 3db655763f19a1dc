//! The part as data: features, outlines, faces, places, finish marks, and what stands in what.
//!
//! A script (or a test) gives each feature as a struct of [`given`]; [`Part`] resolves it at once to
//! millimetres, frames and faces, or refuses it with the offending key ([`Refusal`]). Nothing here
//! makes a mesh: the bodies that a stage needs are described by [`body::Body`].

pub mod body;
pub mod contains;
pub(crate) mod draw;
pub mod face;
pub mod feature;
pub mod foam;
pub mod gating;
pub mod given;
pub mod inside;
pub mod marks;
pub mod outline;
pub mod part;
pub mod threads;
pub mod way;

pub use feature::Feature;
pub use part::{Metal, Part, Refusal};
