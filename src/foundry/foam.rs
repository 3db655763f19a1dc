//! Foam: least densities of the board types (ASTM C578), and the board that weights are given for.

use super::source::{Source, Sourced};

const C578: Source = Source::Read("ASTM C578 types bulletin");

/// A type of foam board.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FoamType {
    /// Expanded (EPS) or extruded (XPS) polystyrene.
    pub kind: &'static str,
    /// The type of ASTM C578.
    pub number: &'static str,
    /// Least density (kg/m³).
    pub density_kg_m3: Sourced,
}

const fn foam(kind: &'static str, number: &'static str, density: f64) -> FoamType {
    FoamType {
        kind,
        number,
        density_kg_m3: Sourced::one(density, C578),
    }
}

/// Polystyrene boards, lightest first within a kind.
pub const FOAMS: &[FoamType] = &[
    foam("EPS", "XI", 12.0),
    foam("EPS", "I", 15.0),
    foam("EPS", "VIII", 18.0),
    foam("EPS", "II", 22.0),
    foam("EPS", "IX", 29.0),
    foam("XPS", "X", 21.0),
    foam("XPS", "IV", 25.0),
    foam("XPS", "VI", 29.0),
    foam("XPS", "VII", 35.0),
    foam("XPS", "V", 48.0),
];

/// The board that a pattern's weight is given for: the common blue, pink or green insulation board.
pub const DEFAULT_FOAM: FoamType = foam("XPS", "IV", 25.0);
