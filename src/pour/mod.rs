//! The pour: what the gating and the castings weigh, what to melt, whether crucible and flask take it, how the sprue
//! stands, and where the saw goes.
//!
//! Volumes are those of the meshes; the rest follows from them by the formulas of `foundry`, whose ranges stay ranges
//! here. What foam becomes as cold metal is smaller by the shrink: mass = volume / growth × density. Everything is an
//! estimate, and is to be printed as one. Nothing here looks at how the part freezes.

pub mod fields;
mod findings;
mod flask;
mod lift;
mod melt;
mod saw;
mod sprue;

pub use flask::{FlaskFit, container_names};
pub use lift::Lift;
pub use melt::{CrucibleFit, Melt, Weights};
pub use saw::{Ride, SawPass};
pub use sprue::{Choke, GateFigures, SprueFigures};

use crate::drawing::Part;
use crate::fault::{Faults, Finding, Span};
use crate::pattern::Gated;
use crate::solid::{Figures, Solid};

/// What the pour is worked out from.
pub struct Subject<'a> {
    /// The drawing.
    pub part: &'a Part,
    /// How the gating lies.
    pub gated: &'a Gated,
    /// The casting's figures.
    pub casting: &'a Figures,
    /// The pattern.
    pub pattern: &'a Solid,
    /// The pattern's figures.
    pub pattern_figures: &'a Figures,
    /// The gated pattern.
    pub whole: &'a Solid,
    /// The gated pattern's figures.
    pub whole_figures: &'a Figures,
    /// Density of the foam (kg/m³).
    pub foam_kg_m3: f64,
}

/// Everything that is known of a pour before it.
#[derive(Debug, Clone, PartialEq)]
pub struct Pour {
    /// How many castings come out of it.
    pub copies: usize,
    /// What the metal weighs.
    pub weights: Weights,
    /// What to melt, and the crucible.
    pub melt: Melt,
    /// Flask and sand.
    pub flask: FlaskFit,
    /// Lift in the dip and in the flask.
    pub lift: Lift,
    /// The sprue that stands highest, where there is one.
    pub sprue: Option<SprueFigures>,
    /// One a gate, in script order.
    pub gates: Vec<GateFigures>,
    /// Passes of the saw.
    pub passes: Vec<SawPass>,
    /// What was found.
    pub findings: Vec<Finding>,
}

/// Works out a pour.
///
/// # Errors
/// The flask is named by a container that the table doesn't have.
pub fn pour(subject: &Subject) -> Result<Pour, Faults> {
    let weights = melt::weights(subject);
    let melt = melt::melt(subject, &weights);
    let flask = flask::fit(subject)?;
    let lift = lift::lift(subject);
    let sprue = sprue::sprue(subject);
    let gates = sprue::gates(subject);
    let passes = saw::passes(subject);
    let mut pour = Pour {
        copies: subject.gated.copies,
        weights,
        melt,
        flask,
        lift,
        sprue,
        gates,
        passes,
        findings: Vec::new(),
    };
    pour.findings = findings::findings(subject, &pour);
    Ok(pour)
}

/// A piece of the gating as findings name it.
fn named(part: &Part, piece: usize) -> (String, Span) {
    let piece = &part.gating.pieces[piece];
    (piece.name.clone(), piece.site.script().clone())
}

/// What the pattern's volume is over the casting's.
fn growth(part: &Part) -> f64 {
    part.metal.growth().element_product()
}
