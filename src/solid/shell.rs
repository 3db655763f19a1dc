//! A closed triangle mesh of one feature body, before any boolean.

use crate::measure::{Bounds, Vec3};

/// Which part of a body a triangle belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[repr(u8)]
pub enum Skin {
    /// The foot: the low end of a band, the start of a sweep.
    Foot,
    /// The free end: the high end of a band, the end of a sweep.
    Top,
    /// The sides, or the round of a lathe.
    Side,
    /// A foot fillet or a widened mouth.
    Flare,
    /// A rounded or chamfered free edge.
    Edge,
}

/// A closed, outward-oriented triangle mesh in part coordinates (mm).
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shell {
    /// Vertices.
    pub points: Vec<Vec3>,
    /// Triangles, counter-clockwise seen from outside; indices into `points`.
    pub triangles: Vec<[u32; 3]>,
    /// One a triangle.
    pub skins: Vec<Skin>,
}

impl Shell {
    /// The box round it.
    pub fn bounds(&self) -> Bounds {
        Bounds::of(self.points.iter().copied())
    }
}
