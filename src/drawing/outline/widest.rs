//! The widest disc that fits inside an outline.

use super::Outline;

impl Outline {
    /// Diameter of the widest disc that fits inside (mm).
    pub fn widest_disc(&self) -> f64 {
        self.as_disc().map_or(1000.0, |d| 2.0 * d.1)
    }
}
