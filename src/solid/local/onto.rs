//! Bodies added to a solid that is there already, by local booleans: what carries metal to a pattern.

use crate::measure::Bounds;
use crate::solid::kernel::SolidFault;
use crate::solid::local::mesh::{appended, mesh_of};
use crate::solid::local::patch::Patch;
use crate::solid::local::run::step_onto;
use crate::solid::local::store::Store;
use crate::solid::{Evaluated, Memo, Ready, Solid, Step};

/// A solid with bodies added in their order. Triangles of `base` keep their features, the others get their body's; the
/// changes are one a body. `base` has to be closed, and its features have to be numbers under 2³¹.
///
/// # Errors
/// The kernel panicked or refused the solid or a body; the fault names the body.
pub fn added_to(base: &Solid, bodies: &[Ready], memo: &mut Memo) -> Result<Evaluated, SolidFault> {
    let all = bodies
        .iter()
        .fold(base.bounds(), |all: Bounds, body| all.joined(body.bounds));
    let mut store = Store::new(&all);
    // Its own number is the one after the bodies'; the feature of each triangle rides along as its skin.
    let owner = bodies.len();
    let mesh = mesh_of(&base.points, &base.triangles, &|t| base.features[t] as i32)?;
    store.apply(&appended(&mesh, false), &Patch::empty(owner));
    let mut changes_mm3 = vec![0.0; bodies.len()];
    for (body, changed) in changes_mm3.iter_mut().enumerate() {
        let step = Step {
            body,
            less: Vec::new(),
        };
        *changed =
            step_onto(bodies, &step, &mut store, memo).map_err(|fault| fault.of_body(body))?;
    }
    let solid = store.solid_of(&|mark| {
        if mark.owner as usize == owner {
            mark.skin as usize
        } else {
            bodies[mark.owner as usize].feature
        }
    });
    Ok(Evaluated { solid, changes_mm3 })
}
