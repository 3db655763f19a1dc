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
        let roots = roots(self);
        let mut six_volumes = vec![0.0; self.points.len()];
        for (t, [a, b, c]) in self.triangles.iter().zip(self.corners()) {
            six_volumes[roots[t[0] as usize]] += a.dot(b.cross(c));
        }
        let kept = |t: usize| {
            let root = roots[self.triangles[t][0] as usize];
            six_volumes[root].abs() >= 6.0 * TRIFLE_MM3
        };
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

/// For each point, the point that stands for its connected surface.
fn roots(solid: &Solid) -> Vec<usize> {
    let mut parent: Vec<usize> = (0..solid.points.len()).collect();
    fn root(parent: &mut [usize], mut i: usize) -> usize {
        while parent[i] != i {
            parent[i] = parent[parent[i]];
            i = parent[i];
        }
        i
    }
    for t in &solid.triangles {
        let first = root(&mut parent, t[0] as usize);
        for &i in &t[1..] {
            let other = root(&mut parent, i as usize);
            parent[other] = first;
        }
    }
    (0..parent.len()).map(|i| root(&mut parent, i)).collect()
}
