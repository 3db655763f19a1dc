//! From a body as described to a shell ready for the booleans: laid over its ground, trimmed, cut back.

use std::collections::HashMap;
use std::sync::Arc;

use crate::drawing::body::{Body, Drape};
use crate::measure::{Frame, Vec2};
use crate::solid::{ShapeFault, Shell, SolidFault, common, minus, shell_of, trimmed};

/// Why a body can't be made.
#[derive(Debug, Clone, PartialEq)]
pub enum BodyFault {
    /// Its shape is impossible.
    Shape(ShapeFault),
    /// A boolean that prepares it failed.
    Solid(SolidFault),
}

impl From<ShapeFault> for BodyFault {
    fn from(fault: ShapeFault) -> BodyFault {
        BodyFault::Shape(fault)
    }
}

impl From<SolidFault> for BodyFault {
    fn from(fault: SolidFault) -> BodyFault {
        BodyFault::Solid(fault)
    }
}

/// The closed shell of a body with its drape, trims, `less` and `within` applied, in part coordinates.
///
/// # Errors
/// An impossible shape, or a kernel failure in preparing it.
pub fn shell_of_body(body: &Body, facet_mm: f64) -> Result<Shell, BodyFault> {
    let mut shell = shell_of(body, facet_mm)?;
    if let Some(drape) = body.drape {
        lay_over(&mut shell, &body.frame, &drape);
    }
    for plane in &body.trims {
        shell = trimmed(&shell, plane)?;
    }
    for less in &body.less {
        shell = minus(&shell, &shell_of_body(less, facet_mm)?)?;
    }
    for within in &body.within {
        shell = common(&shell, &shell_of_body(within, facet_mm)?)?;
    }
    Ok(shell)
}

/// Moves every point along the frame's z by the height of the ground under it.
fn lay_over(shell: &mut Shell, frame: &Frame, drape: &Drape) {
    for point in &mut shell.points {
        let local = frame.local(*point);
        *point += frame.z * drape.height(Vec2::new(local.x, local.y));
    }
}

/// Shells by the description of their body, kept over a few runs: an edit makes anew only what it changed.
#[derive(Debug, Default)]
pub struct ShellStore {
    /// Body (as text, which is exact for f64) and facet to shell; with the run it was last used in.
    kept: HashMap<String, (Arc<Shell>, u64)>,
    run: u64,
}

/// How many runs an unused shell is kept.
const RUNS_KEPT: u64 = 3;

impl ShellStore {
    /// The shell of a body, from the store or made.
    ///
    /// # Errors
    /// See [`shell_of_body`].
    pub fn shell(&mut self, body: &Body, facet_mm: f64) -> Result<Arc<Shell>, BodyFault> {
        let anonymous = Body {
            feature: 0,
            ..body.clone()
        };
        let key = format!("{facet_mm:?} {anonymous:?}");
        if let Some((shell, used)) = self.kept.get_mut(&key) {
            *used = self.run;
            return Ok(Arc::clone(shell));
        }
        let shell = Arc::new(shell_of_body(body, facet_mm)?);
        self.kept.insert(key, (Arc::clone(&shell), self.run));
        Ok(shell)
    }

    /// Ends a run: what has not been used for a few runs is dropped.
    pub fn end_run(&mut self) {
        self.run += 1;
        let run = self.run;
        self.kept.retain(|_, (_, used)| run - *used <= RUNS_KEPT);
    }
}
