//! What to melt, and what holds it down.

use super::source::{Source, Sourced};

/// Lost in melting, aluminium ingot (share).
pub const LOSS_INGOT: Sourced = Sourced::range(
    0.01,
    0.02,
    Source::Memory("foundry practice, aluminium ingot"),
);
/// Lost in melting, aluminium returns (share).
pub const LOSS_RETURNS: Sourced =
    Sourced::range(0.02, 0.05, Source::Memory("foundry practice, returns"));
/// Lost in melting, bronze (share).
pub const LOSS_BRONZE: Sourced =
    Sourced::range(0.01, 0.03, Source::Memory("foundry practice, bronze"));
/// Lost in melting, brass (share).
pub const LOSS_BRASS: Sourced =
    Sourced::range(0.03, 0.06, Source::Memory("foundry practice, brass"));
/// What is melted over the need (share).
pub const SPARE: Sourced = Sourced::range(0.10, 0.15, Source::Common);
/// What stays in the crucible, of what was melted (share).
pub const HEEL: Sourced = Sourced::range(0.05, 0.10, Source::Common);
/// How full a crucible is worked, of its brimful litres (share).
pub const FILL: Sourced = Sourced::range(0.75, 0.85, Source::Common);
/// Yield of lost-foam castings (share).
pub const YIELD: Sourced = Sourced::range(0.5, 0.8, Source::Read("lost-foam process descriptions"));

/// Melt loss of a metal by its table name (share): ingot and returns together for aluminium and what isn't listed.
pub fn melt_loss(metal: &str) -> Sourced {
    let name = metal.to_lowercase();
    if name.contains("brass") {
        LOSS_BRASS
    } else if name.contains("bronze")
        || name.starts_with('c') && name[1..].starts_with(|c: char| c.is_ascii_digit())
    {
        LOSS_BRONZE
    } else {
        Sourced::range(LOSS_INGOT.low, LOSS_RETURNS.high, LOSS_RETURNS.source)
    }
}

/// What to charge (kg): the poured mass and the spare over it, over what melting leaves, and the heel. The heel is a
/// share of what is melted, so that charge = melted (1 + heel).
pub fn charge_kg(poured_kg: f64, spare: f64, loss: f64, heel: f64) -> f64 {
    poured_kg * (1.0 + spare) / (1.0 - loss) * (1.0 + heel)
}

/// Litres of melt (kg, kg/m³).
pub fn litres(mass_kg: f64, liquid_kg_m3: f64) -> f64 {
    mass_kg / liquid_kg_m3 * 1000.0
}

/// What a body under sand floats with (kg; Archimedes): ρ V - weight. Density of the fluid in kg/m³, volume in mm³.
pub fn hold_down_kg(fluid_kg_m3: f64, volume_mm3: f64, weight_kg: f64) -> f64 {
    fluid_kg_m3 * volume_mm3 * 1e-9 - weight_kg
}
