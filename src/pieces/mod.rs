//! Pieces of foam: how a pattern is taken apart, and how its flat pieces lie on the boards that they are cut from.

pub mod nesting;
