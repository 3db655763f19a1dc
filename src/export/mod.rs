//! One file a format; each writes to any `impl Write`.

pub mod board_dxf;
pub mod board_svg;
pub mod package;
pub mod pour_map;
pub mod stl;
pub mod surface_map;
pub mod view;
pub mod zip;
