//! Freezing by Chvorinov's rule: t = B (V/A)². Moduli of plain bodies are worked out; B is for calibrating.

use std::f64::consts::PI;

use super::source::{Source, Sourced};

/// Chvorinov's constant of aluminium in sand (s/cm²): calibrate on a casting of your own.
pub const MOULD_S_CM2: Sourced = Sourced::range(
    200.0,
    400.0,
    Source::Memory("casting handbooks, aluminium in silica sand"),
)
.doubtful();

/// A feeder's modulus against that of what it feeds, at least.
pub const FEEDER_MODULUS: Sourced =
    Sourced::one(1.2, Source::Memory("feeding rules of steel foundries"));

/// The modulus of the neck or gate against that of what it feeds, at least.
pub const NECK_MODULUS: Sourced =
    Sourced::one(1.1, Source::Memory("feeding rules of steel foundries"));

/// Volume over cooling surface (mm from mm³ and mm²).
pub fn modulus_mm(volume_mm3: f64, area_mm2: f64) -> f64 {
    volume_mm3 / area_mm2
}

/// The modulus of a cylinder with all its surface cooling (mm).
pub fn cylinder_modulus_mm(dia_mm: f64, height_mm: f64) -> f64 {
    let side = PI * dia_mm * height_mm;
    let end = PI * dia_mm * dia_mm / 4.0;
    modulus_mm(end * height_mm, side + 2.0 * end)
}

/// The modulus of a cylinder whose base joins the casting (mm).
pub fn feeder_modulus_mm(dia_mm: f64, height_mm: f64) -> f64 {
    let side = PI * dia_mm * height_mm;
    let end = PI * dia_mm * dia_mm / 4.0;
    modulus_mm(end * height_mm, side + end)
}

/// The modulus of a long bar: section over perimeter (mm).
pub fn bar_modulus_mm(section_mm2: f64, perimeter_mm: f64) -> f64 {
    section_mm2 / perimeter_mm
}

/// How long a body freezes (s; the constant in s/cm², the modulus in mm).
pub fn freezing_s(mould_s_cm2: f64, modulus_mm: f64) -> f64 {
    mould_s_cm2 * (modulus_mm / 10.0).powi(2)
}

/// Chvorinov's constant from a body that froze in a time (s/cm²; time in s, modulus in mm).
pub fn mould_s_cm2(time_s: f64, modulus_mm: f64) -> f64 {
    time_s / (modulus_mm / 10.0).powi(2)
}

/// The diameter of a cylinder as high as wide that freezes in a time (mm): D = 6 √(t / B).
pub fn equal_cylinder_dia_mm(time_s: f64, mould_s_cm2: f64) -> f64 {
    60.0 * (time_s / mould_s_cm2).sqrt()
}
