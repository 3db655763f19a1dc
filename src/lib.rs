//! foamwright: a cast part described once, and its foam pattern worked out.
//!
//! Data flows one way: script text → drawing → solids → pattern → findings → files.

pub mod cli;
pub mod drawing;
pub mod export;
pub mod fault;
pub mod foundry;
pub mod inspect;
pub mod measure;
pub mod pattern;
pub mod picture;
pub mod pieces;
pub mod pour;
pub mod preview;
pub mod script;
pub mod sheet;
pub mod shop;
pub mod solid;
