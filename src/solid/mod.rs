//! Feature bodies as closed meshes, the order of operations, and the booleans: the only user of the kernel crates.

mod band;
mod changed;
mod edges;
mod figures;
mod inside;
mod kernel;
mod lathe;
mod levels;
mod local;
mod memo;
mod order;
mod pairs;
mod parted;
mod prepare;
mod profile;
pub mod reach;
mod ready;
mod rib;
mod settle;
mod shape;
mod shape_fault;
mod shell;
#[allow(clippy::module_inception)]
mod solid;
mod stack;
mod sweep;
mod triangulate;
mod wall;
mod whole;

pub use changed::{NO_FEATURE, difference};
pub use figures::Figures;
pub use kernel::SolidFault;
pub use levels::evaluate_levels;
pub use local::{Evaluated, added_to, evaluate};
pub use memo::Memo;
pub use order::{Claim, Step, in_order};
pub use pairs::{apart, common, common_volume, joined, minus, shell_volume, trimmed};
pub use prepare::{BodyFault, ShellStore, shell_of_body};
pub use profile::flare_share;
pub use ready::Ready;
pub use settle::Settled;
pub use shape::shell_of;
pub use shape_fault::{EdgeSize, ShapeFault};
pub use shell::{Facets, Shell, Skin};
pub use solid::Solid;
pub use whole::evaluate_whole;
