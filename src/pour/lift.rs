//! What lifts: the pattern in the dip, and the sand over the metal.
//!
//! Archimedes for the dip. In the flask the metal presses on every surface over it with the head up to the sprue's top;
//! the sand over it weighs against that. Both are summed over the mesh's upward facets.

use crate::foundry::flasks::SAND_LOOSE_KG_M3;
use crate::foundry::melt::hold_down_kg;
use crate::foundry::{Source, Sourced};
use crate::pour::{Subject, melt};

/// Density of a refractory coating as mixed (kg/m³); that of your own is soon weighed.
pub const COATING_KG_M3: Sourced = Sourced::range(1300.0, 1700.0, Source::Common).doubtful();

/// What floats and lifts (kg).
#[derive(Debug, Clone, PartialEq)]
pub struct Lift {
    /// What holds one pattern under in the coating: least and most.
    pub hold_down_kg: [f64; 2],
    /// Density of the coating (kg/m³).
    pub coating_kg_m3: Sourced,
    /// How hard the metal lifts what lies over it, filled to the sprue's top.
    pub metal_lifts_kg: f64,
    /// What the sand over it weighs, loose, up to that level.
    pub sand_over_kg: f64,
    /// The weight that it takes on the sand beside its own: 0 where the sand is enough.
    pub weigh_down_kg: f64,
}

pub(super) fn lift(subject: &Subject) -> Lift {
    let foam_kg = subject.pattern_figures.volume_mm3 * 1e-9 * subject.foam_kg_m3;
    let dip = |density| hold_down_kg(density, subject.pattern_figures.volume_mm3, foam_kg);
    let up = subject.part.gating.up();
    let whole = subject.whole;
    let top = whole
        .points
        .iter()
        .map(|p| up.dot(*p))
        .fold(f64::NEG_INFINITY, f64::max);
    // Head times plan area over the castings' and runners' upward facets (mm³).
    let mut pressed = 0.0;
    for [a, b, c] in whole.corners() {
        let plan = (b - a).cross(c - a).dot(up) / 2.0;
        if plan > 0.0 {
            pressed += plan * (top - up.dot(a + b + c) / 3.0);
        }
    }
    let metal_lifts_kg = pressed * 1e-9 * melt::liquid(subject.part).high;
    let sand_over_kg = pressed * 1e-9 * SAND_LOOSE_KG_M3.low;
    Lift {
        hold_down_kg: [dip(COATING_KG_M3.low), dip(COATING_KG_M3.high)],
        coating_kg_m3: COATING_KG_M3,
        metal_lifts_kg,
        sand_over_kg,
        weigh_down_kg: (metal_lifts_kg - sand_over_kg).max(0.0),
    }
}
