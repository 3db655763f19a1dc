//! One file a format; each writes to any `impl Write`.

pub mod stl;
pub mod surface_map;
pub mod view;
