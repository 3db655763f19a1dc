//! Reading files and running the stages.

pub mod modules;
