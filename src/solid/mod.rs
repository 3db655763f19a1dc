//! Feature bodies as closed meshes, the order of operations, and the booleans: the only user of the kernel crates.

mod band;
mod lathe;
mod profile;
mod rib;
mod shape;
mod shape_fault;
mod shell;
#[allow(clippy::module_inception)]
mod solid;
mod stack;
mod sweep;
mod triangulate;
mod wall;

pub use shape::shell_of;
pub use shape_fault::{EdgeSize, ShapeFault};
pub use shell::{Facets, Shell, Skin};
pub use solid::Solid;
