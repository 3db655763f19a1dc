//! A body as a closed mesh in part coordinates.
//!
//! Promise: the shell is closed, faces outward whatever the hand of the body's frame, keeps to the true surface
//! within the facet, and depends on the body and the facet alone. Drape, trims, `less` and `within` are not applied
//! here; but what will be laid over a cylinder has runs short enough to follow it.

use std::panic::{AssertUnwindSafe, catch_unwind};

use super::band::band;
use super::lathe::lathe;
use super::rib::rib;
use super::shape_fault::ShapeFault;
use super::shell::Shell;
use super::stack::stack;
use super::sweep::sweep;
use super::triangulate::Pitch;
use crate::drawing::body::{Body, Drape, Shape};

/// Builds a body's shell; no facet stands off the true surface by more than `facet_mm`.
///
/// # Errors
/// [`ShapeFault`] where the body's numbers contradict each other, with the limit that they break.
pub fn shell_of(body: &Body, facet_mm: f64) -> Result<Shell, ShapeFault> {
    if !(facet_mm.is_finite() && facet_mm > 0.0) {
        return Err(ShapeFault::NotFinite);
    }
    let pitch = pitch(body, facet_mm);
    let built = catch_unwind(AssertUnwindSafe(|| match &body.shape {
        Shape::Band(shape) => band(shape, body.act, facet_mm),
        Shape::Stack(levels) => stack(levels, facet_mm, pitch),
        Shape::Rib(shape) => rib(shape, body.act, facet_mm),
        Shape::Lathe(profile) => lathe(profile, facet_mm),
        Shape::Sweep(shape) => sweep(shape, facet_mm),
    }));
    let shell = built.unwrap_or_else(|panic| {
        let text = panic.downcast_ref::<String>().map(String::as_str);
        let text = text
            .or(panic.downcast_ref::<&str>().copied())
            .unwrap_or("no reason given");
        Err(ShapeFault::Panic {
            what: text.to_string(),
        })
    })?;
    debug_assert!(
        shell.facets().edges_pair(),
        "a shell must be closed: {:?}",
        body.shape
    );
    Ok(shell.placed(&body.frame))
}

/// How finely long runs are cut. What will be laid over a cylinder must be able to follow it.
fn pitch(body: &Body, facet_mm: f64) -> Pitch {
    match (body.drape, &body.shape) {
        (Some(Drape::Round { radius, at, axis }), Shape::Stack(levels)) => {
            let reach = levels.iter().map(|l| l.1.reach()).fold(0.0, f64::max);
            Pitch::over_cylinder(radius, reach + at.perp_dot(axis).abs(), facet_mm)
        }
        _ => Pitch::GRID,
    }
}
