//! The pour: what the geometry says of how a casting fills, feeds and freezes.

pub mod fields;
