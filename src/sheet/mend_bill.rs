//! The bill of a mending: what to glue in, what to carve away.

use crate::drawing::Part;
use crate::pieces::{Mending, Patch};
use crate::sheet::bill::table;
use crate::sheet::report::place;

/// One patch as a person reads it.
#[derive(Debug, Clone, PartialEq)]
pub struct MendRow {
    /// Its name, and that of its file: `glue-in-1`, `carve-1`.
    pub name: String,
    /// Length, width and height along the pattern's axes, in the script's unit.
    pub size: [String; 3],
    /// Its middle in the pattern, in the script's unit.
    pub at: [String; 3],
    /// Its volume (cm³).
    pub cm3: String,
    /// The feature it belongs to, and its line.
    pub feature: String,
    /// Where that stands in the script.
    pub line: String,
}

/// The rows: what to glue in, then what to carve.
pub fn mend_rows(part: &Part, mending: &Mending) -> Vec<MendRow> {
    let row = |kind: &str, number: usize, patch: &Patch| {
        let feature = patch.feature.and_then(|f| part.features.get(f));
        MendRow {
            name: format!("{kind}-{}", number + 1),
            size: patch.size_mm.to_array().map(|x| part.unit.number(x)),
            at: patch.at.to_array().map(|x| part.unit.number(x)),
            cm3: format!("{:.2}", patch.volume_mm3 / 1e3),
            feature: feature.map_or(String::new(), |f| f.name.clone()),
            line: feature.map_or(String::new(), |f| place(f.site.script())),
        }
    };
    let glued = mending.glue_in.iter().enumerate();
    let carved = mending.carve.iter().enumerate();
    glued
        .map(|(i, p)| row("glue-in", i, p))
        .chain(carved.map(|(i, p)| row("carve", i, p)))
        .collect()
}

/// The bill as a table for a spreadsheet, as `bill.csv` is.
pub fn mend_csv(part: &Part, rows: &[MendRow]) -> String {
    let unit = part.unit.symbol();
    let mut all = vec![vec![
        "piece".to_string(),
        format!("size x, {unit}"),
        format!("size y, {unit}"),
        format!("size z, {unit}"),
        format!("middle x, {unit}"),
        format!("middle y, {unit}"),
        format!("middle z, {unit}"),
        "volume, cm³".to_string(),
        "feature".to_string(),
        "line".to_string(),
    ]];
    for row in rows {
        let mut cells = vec![row.name.clone()];
        cells.extend(row.size.iter().chain(&row.at).cloned());
        cells.extend([row.cm3.clone(), row.feature.clone(), row.line.clone()]);
        all.push(cells);
    }
    table(all)
}
