//! What one solid has that another has not: what an edit added or removed.

use crate::measure::TRIFLE_MM3;
use crate::solid::kernel::SolidFault;
use crate::solid::{Solid, minus};

/// The feature that a difference's triangles are credited to: none.
pub const NO_FEATURE: usize = usize::MAX;

/// `a` without `b`, less whatever is no more than a trifle: where faces coincide, the boolean leaves slivers.
///
/// # Errors
/// The kernel panicked or refused a solid.
pub fn difference(a: &Solid, b: &Solid) -> Result<Solid, SolidFault> {
    let left = minus(&a.as_shell(), &b.as_shell())?;
    let solid = Solid {
        features: vec![NO_FEATURE; left.triangles.len()],
        points: left.points,
        triangles: left.triangles,
    };
    Ok(solid.without_surfaces_under(TRIFLE_MM3))
}
