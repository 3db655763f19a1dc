//! What a founder looks up: metals, ISO 8062 allowances, shrink, freezing, gating, melt, flasks. Tables and pure functions.
//!
//! Every number says where it is from ([`source::Source`]): read in a named text, from memory of a named
//! publication, common practice, or worked out. A value that its own source leaves open is marked doubtful,
//! and every page that prints it says so. Nothing here depends on a part or a script.

pub mod flasks;
pub mod foam;
pub mod freezing;
pub mod gating;
pub mod iso8062;
pub mod melt;
pub mod metal_pages;
pub mod metal_table;
pub mod metals;
pub mod shrink;
pub mod source;

pub use iso8062::{GradeStock, TableFault, casting_tolerance, machining_allowance, stock_of_grade};
pub use metal_pages::{metal_page, metals_list};
pub use metals::{DEFAULT_METAL, UnknownMetal, metal, metal_names, metal_row};
pub use source::{Source, Sourced};
