//! The widest disc that fits inside an outline.

use super::Outline;

impl Outline {
    /// Diameter of the widest disc that fits inside (mm).
    pub fn widest_disc(&self) -> f64 {
        0.0
    }
}
