//! What a diameter was asked for goes with the number, as the engine's own tag on a value: `tap("M8")` is 6.8, and the bore
//! that gets it is tapped. A value keeps its tag through variables, arrays, maps and functions; what is reckoned from it
//! is a plain number.

use rhai::Dynamic;

use crate::drawing::threads::HoleFor;
use crate::measure::Unit;

/// Diameters agree within this (mm).
const SAME_DIA_MM: f64 = 1e-9;

/// The diameter in a script's unit, with its tag.
pub fn marked(hole: HoleFor, unit: Unit) -> Dynamic {
    let mut value = Dynamic::from(hole.dia_mm() / unit.mm());
    if let Some(tag) = hole.number().and_then(|n| n.try_into().ok()) {
        value.set_tag(tag);
    }
    value
}

/// What a value was asked for as a diameter, where it still is one.
pub fn hole_for(value: &Dynamic, unit: Unit) -> Option<HoleFor> {
    let hole = HoleFor::numbered(usize::try_from(value.tag()).ok()?)?;
    let given = value.as_float().ok()? * unit.mm();
    ((given - hole.dia_mm()).abs() < SAME_DIA_MM).then_some(hole)
}
