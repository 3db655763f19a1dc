//! Evaluation by levels: bodies of one act that needn't wait for each other go into the solid together.
//!
//! Adds lie on even levels, cuts on odd ones, each body as low as the earlier bodies that its box meets allow. The
//! bodies of a level are joined first (those whose boxes meet by booleans in a balanced tree, the rest set side by
//! side), then meet the solid in one boolean. A second witness for the local evaluation, and many times faster than
//! the strict sequence; it remembers nothing.

use manifold_rust::manifold::Manifold;
use manifold_rust::types::OpType;

use crate::drawing::body::Act;
use crate::measure::Bounds;
use crate::solid::kernel::{SolidFault, boolean, checked, guarded};
use crate::solid::whole::{Owners, op};
use crate::solid::{Ready, Solid, Step};

/// Boxes this near count as meeting (mm).
const NEAR_MM: f64 = 0.01;

/// Evaluates a sequence level by level.
///
/// # Errors
/// The kernel panicked or refused a body; the fault names it where it is known.
pub fn evaluate_levels(bodies: &[Ready], steps: &[Step]) -> Result<Solid, SolidFault> {
    let levels = levels(bodies, steps);
    let count = levels.iter().max().map_or(0, |most| most + 1);
    let mut owners = Owners::default();
    let mut solid = Manifold::empty();
    for level in 0..count {
        let mut members = Vec::new();
        for (step, _) in steps.iter().zip(&levels).filter(|(_, l)| **l == level) {
            let mesh =
                guarded(|| owners.mesh(bodies, step)).map_err(|fault| fault.of_body(step.body))?;
            if !mesh.is_empty() {
                members.push((bodies[step.body].bounds, mesh));
            }
        }
        if members.is_empty() {
            continue;
        }
        let act = if level % 2 == 0 { Act::Add } else { Act::Cut };
        solid = guarded(|| boolean(&solid, &together(members)?, op(act)))?;
    }
    Ok(owners.solid(&solid, bodies))
}

/// The level of each step.
fn levels(bodies: &[Ready], steps: &[Step]) -> Vec<usize> {
    let mut levels: Vec<usize> = Vec::with_capacity(steps.len());
    for (i, step) in steps.iter().enumerate() {
        let body = &bodies[step.body];
        let parity = usize::from(body.act == Act::Cut);
        let near = body.bounds.grown(NEAR_MM);
        let after = |j: usize| levels[j] + usize::from(bodies[steps[j].body].act != body.act);
        let least = (0..i)
            .filter(|&j| near.meets(&bodies[steps[j].body].bounds))
            .map(after)
            .max()
            .unwrap_or(parity);
        // Both are of the body's parity: one more than the other act's level, the own act's level, or the lowest.
        levels.push(least.max(parity));
    }
    levels
}

/// What any of the bodies holds.
fn together(members: Vec<(Bounds, Manifold)>) -> Result<Manifold, SolidFault> {
    let mut heaps: Vec<Vec<(Bounds, Manifold)>> = Vec::new();
    for member in members {
        let near = member.0.grown(NEAR_MM);
        let touches = |heap: &Vec<(Bounds, Manifold)>| heap.iter().any(|(b, _)| near.meets(b));
        let (meeting, apart) = heaps.into_iter().partition(touches);
        heaps = apart;
        heaps.push(meeting.into_iter().flatten().chain([member]).collect());
    }
    let joined: Result<Vec<Manifold>, SolidFault> = heaps.iter().map(|heap| joined(heap)).collect();
    checked(Manifold::compose(&joined?))
}

/// The union of some bodies as a balanced tree.
fn joined(heap: &[(Bounds, Manifold)]) -> Result<Manifold, SolidFault> {
    match heap {
        [] => Ok(Manifold::empty()),
        [(_, only)] => Ok(only.clone()),
        _ => {
            let (a, b) = heap.split_at(heap.len() / 2);
            boolean(&joined(a)?, &joined(b)?, OpType::Add)
        }
    }
}
