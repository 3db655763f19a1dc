//! Gating by the formulas of hydraulics: what a sprue of a height gives. All worked out; nothing here is measured.
//!
//! They hold for an open channel. Over foam the metal is slower: the front waits for the foam to clear
//! ([`FRONT_MM_S`]). So they say how much the channel could pass, not how long a lost-foam pour takes.

use super::source::{Source, Sourced};

/// Gravity (m/s²).
pub const GRAVITY_M_S2: f64 = 9.81;

/// Speed of the metal's front through foam, aluminium (mm/s).
pub const FRONT_MM_S: Sourced = Sourced::range(
    5.0,
    30.0,
    Source::Memory("lost-foam filling studies of aluminium"),
)
.doubtful();

/// The speed at a gate above which a free surface of aluminium folds its skin into itself (m/s).
pub const CRITICAL_M_S: Sourced = Sourced::one(0.5, Source::Memory("Campbell, Castings"));

/// How far the sprue's top should stand over the casting's highest point (mm).
pub const SPRUE_OVER_MM: Sourced = Sourced::range(150.0, 200.0, Source::Common);

/// Speed of a stream that has fallen from rest through a head (m/s; head in m): √(2 g h).
pub fn fall_m_s(head_m: f64) -> f64 {
    (2.0 * GRAVITY_M_S2 * head_m).sqrt()
}

/// The head that gives a speed (m; speed in m/s): v² / 2g.
pub fn head_m(speed_m_s: f64) -> f64 {
    speed_m_s * speed_m_s / (2.0 * GRAVITY_M_S2)
}

/// What passes a section under a head (m³/s; area in m², head in m).
pub fn flow_m3_s(area_m2: f64, head_m: f64) -> f64 {
    area_m2 * fall_m_s(head_m)
}

/// The section that passes a mass in a time (m²): W / (ρ t C √(2 g H)).
/// Mass in kg, density in kg/m³, time in s, head in m; `discharge` is what friction leaves, under 1.
pub fn choke_m2(mass_kg: f64, density_kg_m3: f64, time_s: f64, discharge: f64, head_m: f64) -> f64 {
    mass_kg / (density_kg_m3 * time_s * discharge * fall_m_s(head_m))
}

/// What a tapered sprue's foot measures against its top where the stream fills it: √(h1 / h2), the heads of metal over
/// top and foot in any one unit.
pub fn taper(head_at_top: f64, head_at_foot: f64) -> f64 {
    (head_at_top / head_at_foot).sqrt()
}

/// The head that counts on the average where a part of the casting stands over the gate (mm): H - p² / 2c, with the
/// head over the gate `head_mm`, the casting's height `cast_mm` and its height over the gate `over_mm`.
pub fn mean_head_mm(head_mm: f64, cast_mm: f64, over_mm: f64) -> f64 {
    head_mm - over_mm * over_mm / (2.0 * cast_mm)
}

/// How long the front takes along a path through foam (s, quickest and slowest; path in mm).
pub fn front_s(path_mm: f64) -> [f64; 2] {
    [path_mm / FRONT_MM_S.high, path_mm / FRONT_MM_S.low]
}
