//! One file a format; each writes to any `impl Write`.

pub mod board_dxf;
pub mod board_svg;
pub mod package;
pub mod pour_map;
pub mod stl;
pub mod surface_map;
pub mod view;
pub mod zip;

/// The layers of a board's drawing for the seats of loose pieces: on the side that looks up, and on the lower one.
const SEATS: [&str; 2] = ["seats", "seats-below"];
