//! Lengths, points, frames and the named tolerances. Inside the program every length is in
//! millimetres and every angle that a person gives is in degrees.

mod frame;
mod length;
mod tolerance;

pub use frame::{Bounds, Frame, Plane, sin_cos_deg};
pub use glam::{DVec2 as Vec2, DVec3 as Vec3};
pub use length::{LengthError, Unit, parse_length};
pub use tolerance::*;
