//! What one solid has that another has not: what an edit added or removed.

use crate::measure::TRIFLE_MM3;
use crate::solid::kernel::SolidFault;
use crate::solid::{Shell, Skin, Solid, minus};

/// The feature that a difference's triangles are credited to: none.
pub const NO_FEATURE: usize = usize::MAX;

/// `a` without `b`, less whatever is no more than a trifle: where faces coincide, the boolean leaves slivers.
///
/// # Errors
/// The kernel panicked or refused a solid.
pub fn difference(a: &Solid, b: &Solid) -> Result<Solid, SolidFault> {
    let left = minus(&as_shell(a), &as_shell(b))?;
    let solid = Solid {
        features: vec![NO_FEATURE; left.triangles.len()],
        points: left.points,
        triangles: left.triangles,
    };
    Ok(solid.without_trifles())
}

fn as_shell(solid: &Solid) -> Shell {
    Shell {
        points: solid.points.clone(),
        triangles: solid.triangles.clone(),
        skins: vec![Skin::Side; solid.triangles.len()],
    }
}

impl Solid {
    /// The same without surfaces that enclose less than a trifle.
    fn without_trifles(&self) -> Solid {
        let (of, volumes) = self.surface_of_each();
        let kept = |t: usize| volumes[of[t]].abs() >= TRIFLE_MM3;
        let mut number = vec![u32::MAX; self.points.len()];
        let mut out = Solid::default();
        for (t, corners) in self.triangles.iter().enumerate().filter(|(t, _)| kept(*t)) {
            let corners = corners.map(|v| {
                let at = &mut number[v as usize];
                if *at == u32::MAX {
                    *at = out.points.len() as u32;
                    out.points.push(self.points[v as usize]);
                }
                *at
            });
            out.triangles.push(corners);
            out.features.push(self.features[t]);
        }
        out
    }
}
