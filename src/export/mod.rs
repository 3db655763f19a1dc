//! One file a format; each writes to any `impl Write`.

pub mod stl;
pub mod view;
pub mod wall_map;
