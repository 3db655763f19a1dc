//! From a feature as given to a feature resolved: one method of [`Part`](crate::drawing::Part) a word.
//!
//! Each either adds its instances and returns a handle, or refuses with the key at fault and changes nothing.

mod gating;
mod grooves;
mod mirror;
mod openings;
mod place;
mod raised;
mod tunnel;
mod turned;

pub(crate) use place::seen_from;
