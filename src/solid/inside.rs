//! Whether a point lies inside: by how often the surface winds round it, so nothing depends on a ray that meets an
//! edge. Exact but for points within rounding of the surface; takes time in proportion to the triangles.

use crate::measure::Vec3;
use crate::solid::local::turns;
use crate::solid::{Shell, Solid};

impl Solid {
    /// Whether a point lies in the metal.
    pub fn holds(&self, p: Vec3) -> bool {
        turns(self.corners(), p) > 0.5
    }
}

impl Shell {
    /// Whether a point lies inside.
    pub fn holds(&self, p: Vec3) -> bool {
        turns(self.corners(), p) > 0.5
    }
}
