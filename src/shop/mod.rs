//! Reading files, running the stages in order, writing what came out.

mod library;
pub mod modules;
mod pipeline;

pub use library::LIBRARY;
pub use pipeline::{Bench, Build, Built, Failure, Progress, Seconds, Wish};
