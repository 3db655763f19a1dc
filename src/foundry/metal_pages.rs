//! The metals table as text for the command line.

use std::fmt::Write;

use super::metal_table::METALS;
use super::metals::{MetalRow, UnknownMetal, metal_row};
use super::source::Sourced;

const DOUBTFUL: &str = "? doubtful: its source leaves it open. Check it before you rely on it.";
const RULE: &str = "Shrink is by the shrink rule: pattern = casting × (1 + shrink). Calibrate it on a test bar of\nyour own: shrink_measured(#{ pattern: 250, casting: 246.8 }).";

/// All metals, one line each.
pub fn metals_list() -> String {
    let mut out = format!(
        "{:<15} {:>8}  {:>7}  {:>16}  what it is\n",
        "metal", "shrink %", "kg/m³", "pour °C"
    );
    for row in METALS {
        let pour = row.pour_foam_c.or(row.pour_c);
        let pour = pour.map_or_else(|| "-".to_string(), |p| p.text());
        let line = format!(
            "{:<15} {:>8}  {:>7}  {pour:>16}  {}",
            row.name,
            row.shrink_percent.text(),
            row.density_kg_m3.text(),
            row.about
        );
        out.push_str(&line);
        out.push('\n');
    }
    let _ = write!(
        out,
        "\n{DOUBTFUL}\n{RULE}\n`foamwright metals NAME` prints one metal with the source of every number.\n"
    );
    out
}

/// One metal, each number with where it is from.
///
/// # Errors
/// [`UnknownMetal`], with the nearest name.
pub fn metal_page(name: &str) -> Result<String, UnknownMetal> {
    let row = metal_row(name)?;
    let mut out = format!("{}: {}\n", row.name, row.about);
    if !row.also.is_empty() {
        let _ = writeln!(out, "  {:<22} {}", "also called", row.also.join(", "));
    }
    for (label, unit, value) in fields(row) {
        let Some(value) = value else { continue };
        let mut text = format!("{} {unit}", value.text());
        if let ("shrink", Some((top, bottom))) = (label, row.inch_per_foot) {
            let _ = write!(text, " ({top}/{bottom} in per ft)");
        }
        let _ = writeln!(out, "  {label:<22} {text:<30} {}", value.source);
    }
    for warning in row.warnings {
        let _ = writeln!(out, "  {:<22} {warning}", "warning");
    }
    if fields(row)
        .iter()
        .any(|(_, _, v)| v.is_some_and(|v| v.doubtful))
    {
        let _ = writeln!(out, "\n{DOUBTFUL}");
    } else {
        out.push('\n');
    }
    let _ = writeln!(out, "{RULE}");
    Ok(out)
}

/// Label, unit and value of each number of a row.
fn fields(row: &MetalRow) -> [(&'static str, &'static str, Option<Sourced>); 11] {
    [
        ("shrink", "%", Some(row.shrink_percent)),
        ("shrink elsewhere", "%", row.shrink_seen_percent),
        ("density, solid", "kg/m³", Some(row.density_kg_m3)),
        ("density, liquid", "kg/m³", row.liquid_kg_m3),
        ("freezes", "°C", row.freezes_c),
        ("latent heat", "kJ/kg", row.latent_kj_kg),
        ("heat of the melt", "kJ/(kg K)", row.melt_cp_kj_kg_k),
        ("poured", "°C", row.pour_c),
        ("poured over foam", "°C", row.pour_foam_c),
        (
            "shrink in freezing",
            "% of volume",
            row.freezing_shrink_percent,
        ),
        ("least wall", "mm", row.least_wall_mm),
    ]
}
