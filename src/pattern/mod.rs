//! From the drawing to the bodies of a stage: machining stock, openings left solid, shrink.
//!
//! [`members`] lists every closed body that a stage adds or cuts; [`Staged::claim`] says which cut may take
//! metal of which add, so that `solid` can order and combine them. Nothing here makes a mesh.

mod adds;
mod bores;
mod cuts;
mod gated;
mod grooves;
mod hollows;
mod member;
mod skirt;
mod stage;
mod standing;
mod stock;
mod tunnels;

pub use gated::{Gated, Laid, LaidPlace, Rigid, gated};
pub use member::{Cut, LeftSolid, Member, Mouth, Role, Staged};
pub use stage::{Stage, members};
pub use standing::may_meet;
pub use stock::{Stocks, settle_stock};
