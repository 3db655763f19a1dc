//! Feature bodies as closed meshes, the order of operations, and the booleans: the only user of the kernel crates.

mod shell;
#[allow(clippy::module_inception)]
mod solid;

pub use shell::{Shell, Skin};
pub use solid::Solid;
