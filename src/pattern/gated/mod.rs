//! The gated pattern: gates, runners, sprues, feeders and ties laid on the pattern and made one with it.
//!
//! Places come from the finished part: a face gets its stock, then everything is scaled by the metal's shrink about the
//! origin. Sizes stay as cut. A stub's foot goes in until it lies wholly in metal, found by lines along the stub; its
//! free end goes on until it lies in the runner that it meets. What each piece adds is measured by the boolean.

mod foot;
mod joined;
mod lay;
mod piece;
mod rays;
mod run;

pub use piece::{Gated, Laid, LaidPlace, Rigid};

use std::sync::Arc;

use crate::drawing::Part;
use crate::fault::{Fault, Faults};
use crate::measure::Bounds;
use crate::pattern::Stocks;
use crate::solid::{BodyFault, Memo, Ready, ShellStore, Solid, added_to, common_volume};

/// Metal that two patterns of a tree may share through rounding (mm³).
const SHARED_MM3: f64 = 1.0;

/// The pattern with what the script gates it with, and how that lies; `None` where it gates nothing. Triangles of the
/// gating are of feature number `part.features.len()` + the piece's number.
///
/// # Errors
/// A stub that hangs over an edge or comes out of the other side; a runner that goes back on itself; a tree whose
/// patterns lie in one another; a kernel failure. Each at its line.
pub fn gated(
    part: &Part,
    stocks: &Stocks,
    pattern: &Solid,
    store: &mut ShellStore,
    memo: &mut Memo,
) -> Result<Option<(Solid, Gated)>, Faults> {
    if part.gating.pieces.is_empty() {
        return Ok(None);
    }
    let laid = lay::lay(part, stocks, pattern, store)?;
    let places = lay::copies(part);
    let base = tree(part, pattern, &places)?;
    let bodies: Vec<_> = laid.iter().map(|l| &l.body).collect();
    let mut ready = Vec::with_capacity(laid.len());
    for (made, one) in store.shells(&bodies, part.facet_mm).into_iter().zip(&laid) {
        let shell = made.map_err(|fault| body_fault(part, one.piece, &fault))?;
        ready.push(Ready::new(
            one.body.feature,
            one.body.act,
            Arc::clone(&shell),
        ));
    }
    let done = added_to(&base, &ready, memo).map_err(|fault| {
        let text = fault.text();
        match fault.body() {
            Some(body) => at(part, laid[body].piece, text),
            None => Fault::new(text),
        }
    })?;
    let gated = Gated {
        laid,
        outside_mm3: done.changes_mm3,
        copies: part.gating.tree.as_ref().map_or(1, |t| t.copies),
        places,
    };
    Ok(Some((done.solid, gated)))
}

/// A fault at a piece of the gating.
fn at(part: &Part, piece: usize, text: impl std::fmt::Display) -> Fault {
    let piece = &part.gating.pieces[piece];
    Fault::new(format!("{}: {text}", piece.name)).from_site(&piece.site)
}

fn body_fault(part: &Part, piece: usize, fault: &BodyFault) -> Fault {
    match fault {
        BodyFault::Shape(shape) => {
            let hints = shape.hints(part.unit);
            let fault = at(part, piece, shape.text(part.unit));
            hints.into_iter().fold(fault, Fault::hint)
        }
        BodyFault::Solid(solid) => at(part, piece, solid.text()),
    }
}

/// All patterns of the tree as one solid.
fn tree(part: &Part, pattern: &Solid, copies: &[piece::Rigid]) -> Result<Solid, Fault> {
    let Some(tree) = &part.gating.tree else {
        return Ok(pattern.clone());
    };
    let moved: Vec<Solid> = copies
        .iter()
        .map(|rigid| Solid {
            points: pattern.points.iter().map(|p| rigid.point(*p)).collect(),
            ..pattern.clone()
        })
        .collect();
    let boxes: Vec<Bounds> = moved.iter().map(Solid::bounds).collect();
    let mut out = Solid::default();
    for (i, one) in moved.iter().enumerate() {
        for other in 0..i {
            let shared = if boxes[i].meets(&boxes[other]) {
                common_volume(&one.as_shell(), &moved[other].as_shell())
                    .map_or(0.0, |(volume, _)| volume)
            } else {
                0.0
            };
            if shared > SHARED_MM3 {
                let text = format!(
                    "patterns {} and {} of the tree lie in one another",
                    other + 1,
                    i + 1
                );
                let size = pattern.bounds().size();
                let hint = format!(
                    "one pattern is {} by {} by {}; set them farther apart",
                    part.unit.show(size.x),
                    part.unit.show(size.y),
                    part.unit.show(size.z)
                );
                return Err(Fault::new(text).hint(hint).from_site(&tree.site));
            }
        }
        out.append(one);
    }
    Ok(out)
}
