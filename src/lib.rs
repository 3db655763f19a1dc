//! foamwright: a cast part described once, and its foam pattern worked out.
//!
//! Data flows one way: script text → drawing → solids → pattern → findings → files.

pub mod drawing;
pub mod fault;
pub mod foundry;
pub mod measure;
pub mod pattern;
pub mod solid;
