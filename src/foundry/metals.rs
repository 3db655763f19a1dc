//! Metals by name.

use std::fmt;

use super::metal_table::METALS;
use super::source::Sourced;
use crate::drawing::part::Metal;

/// The metal of a script that names none.
pub const DEFAULT_METAL: &str = "A356";

/// What the table holds of one metal. Fields that no source gave are `None`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MetalRow {
    /// The name in scripts.
    pub name: &'static str,
    /// Other names that a script may use.
    pub also: &'static [&'static str],
    /// What it is, in a few words.
    pub about: &'static str,
    /// Linear shrink that is used, in percent by the shrink rule.
    pub shrink_percent: Sourced,
    /// The same as the trade writes it: inches in the foot, as a fraction.
    pub inch_per_foot: Option<(u32, u32)>,
    /// What sources give for the shrink where they disagree, in percent.
    pub shrink_seen_percent: Option<Sourced>,
    /// Density of the solid (kg/m³).
    pub density_kg_m3: Sourced,
    /// Density of the melt (kg/m³).
    pub liquid_kg_m3: Option<Sourced>,
    /// Solidus and liquidus (°C).
    pub freezes_c: Option<Sourced>,
    /// Latent heat (kJ/kg).
    pub latent_kj_kg: Option<Sourced>,
    /// Heat capacity of the melt (kJ/kg K).
    pub melt_cp_kj_kg_k: Option<Sourced>,
    /// Pouring range in sand (°C).
    pub pour_c: Option<Sourced>,
    /// Pouring range over foam, where it differs (°C).
    pub pour_foam_c: Option<Sourced>,
    /// Shrink in volume while it freezes (percent); negative grows.
    pub freezing_shrink_percent: Option<Sourced>,
    /// Least wall that usually runs (mm).
    pub least_wall_mm: Option<Sourced>,
    /// What to be warned of.
    pub warnings: &'static [&'static str],
}

/// A metal that the table doesn't have.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnknownMetal {
    /// The name as asked for.
    pub name: String,
    /// The nearest name that is known.
    pub nearest: Option<&'static str>,
}

impl fmt::Display for UnknownMetal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the metal \"{}\" is not in the table", self.name)?;
        if let Some(nearest) = self.nearest {
            write!(f, "; did you mean \"{nearest}\"?")?;
        }
        Ok(())
    }
}

impl std::error::Error for UnknownMetal {}

/// The row of a metal; case, blanks and hyphens in the name don't matter.
///
/// # Errors
/// [`UnknownMetal`], with the nearest name.
pub fn metal_row(name: &str) -> Result<&'static MetalRow, UnknownMetal> {
    let wanted = plain(name);
    let names = |row: &'static MetalRow| std::iter::once(row.name).chain(row.also.iter().copied());
    METALS
        .iter()
        .find(|row| names(row).any(|n| plain(n) == wanted))
        .ok_or_else(|| UnknownMetal {
            name: name.to_string(),
            nearest: METALS
                .iter()
                .flat_map(names)
                .map(|n| (edits(&wanted, &plain(n)), n))
                .filter(|(far, n)| *far <= 1.max(n.len().min(wanted.len()) / 2))
                .min_by_key(|(far, _)| *far)
                .map(|(_, n)| n),
        })
}

/// The metal that a part is drawn with.
///
/// # Errors
/// [`UnknownMetal`], with the nearest name.
pub fn metal(name: &str) -> Result<Metal, UnknownMetal> {
    let row = metal_row(name)?;
    Ok(Metal {
        name: row.name.to_string(),
        shrink_percent: [row.shrink_percent.low; 3],
        density_kg_m3: row.density_kg_m3.low,
        // The thin end of the range runs on a good day.
        least_wall_mm: row.least_wall_mm.map(|wall| wall.high),
    })
}

/// Every name in the table, in its order, other names left out.
pub fn metal_names() -> Vec<&'static str> {
    METALS.iter().map(|row| row.name).collect()
}

/// A name without case, blanks and hyphens.
fn plain(name: &str) -> String {
    name.chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect()
}

/// How many letters must be put in, taken out or changed to turn `a` into `b`.
fn edits(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut diagonal = std::mem::replace(&mut row[0], i + 1);
        for (j, cb) in b.iter().enumerate() {
            let change = diagonal + usize::from(ca != *cb);
            diagonal = row[j + 1];
            row[j + 1] = change.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}
