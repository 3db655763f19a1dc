//! Containers that serve as flasks, and the sand round the pattern.

use std::f64::consts::PI;

use super::source::{Source, Sourced};

/// Sand kept at the sides and under the pattern (mm).
pub const SAND_ROUND_MM: Sourced = Sourced::range(50.0, 75.0, Source::Common);
/// Sand kept over the pattern's top (mm).
pub const SAND_OVER_MM: Sourced = Sourced::one(75.0, Source::Common);
/// Dry silica sand, poured (kg/m³).
pub const SAND_LOOSE_KG_M3: Sourced = Sourced::range(
    1450.0,
    1550.0,
    Source::Memory("bulk densities of silica sand"),
);
/// Dry silica sand, vibrated (kg/m³).
pub const SAND_PACKED_KG_M3: Sourced = Sourced::range(
    1600.0,
    1700.0,
    Source::Memory("bulk densities of silica sand"),
);

/// A container that is easily had.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Container {
    /// Its name in scripts.
    pub name: &'static str,
    /// Diameter inside (mm).
    pub dia_mm: f64,
    /// Height inside (mm).
    pub height_mm: f64,
    /// What it is said to hold (l).
    pub litres: Sourced,
}

const IN: f64 = 25.4;

/// Round containers, smallest first. The sizes are nominal; measure yours.
pub const CONTAINERS: &[Container] = &[
    Container {
        name: "5 gal pail",
        dia_mm: 11.25 * IN,
        height_mm: 13.5 * IN,
        litres: Sourced::one(22.0, Source::Memory("pail makers' sheets")).doubtful(),
    },
    Container {
        name: "30 gal drum",
        dia_mm: 18.25 * IN,
        height_mm: 27.5 * IN,
        litres: Sourced::one(117.9, Source::Memory("drum makers' sheets")).doubtful(),
    },
    Container {
        name: "55 gal drum",
        dia_mm: 22.5 * IN,
        height_mm: 33.5 * IN,
        litres: Sourced::one(218.0, Source::Read("drum dimensions, a supplier's sheet")),
    },
];

/// The container of a name; case and blanks don't matter.
pub fn container(name: &str) -> Option<&'static Container> {
    let plain = |s: &str| -> String {
        s.chars()
            .filter(|c| c.is_alphanumeric())
            .flat_map(char::to_lowercase)
            .collect()
    };
    let wanted = plain(name).replace("gallon", "gal").replace("us", "");
    CONTAINERS.iter().find(|c| plain(c.name) == wanted)
}

/// Litres of a cylinder (mm).
pub fn round_litres(dia_mm: f64, height_mm: f64) -> f64 {
    PI * dia_mm * dia_mm / 4.0 * height_mm * 1e-6
}

/// Sand that fills a container round a body (kg; litres, mm³, kg/m³).
pub fn sand_kg(container_l: f64, body_mm3: f64, sand_kg_m3: f64) -> f64 {
    (container_l * 1e-3 - body_mm3 * 1e-9) * sand_kg_m3
}
