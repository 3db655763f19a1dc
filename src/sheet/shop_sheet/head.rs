//! The title block, and what the script itself says: notes, settings, judgements on record, threads.

use crate::drawing::part::SettingValue;
use crate::drawing::threads;
use crate::fault::Level;
use crate::foundry::{Sourced, metal_row};
use crate::pattern::Stage;
use crate::picture::View;
use crate::sheet::boards::{board_rows, board_totals};
use crate::sheet::shop_sheet::SheetSource;
use crate::sheet::shop_sheet::page::{big, line, section, table, text, told};
use crate::sheet::shop_sheet::pictures::{THERE, figure, toned};

/// Part, script, big figures, pictures, and lines to write on.
pub(super) fn title_block(source: &SheetSource) -> String {
    let part = source.part;
    let mut out = format!(
        "<header>\n<div><h1>{}</h1><span class=\"at\">{} · {}</span></div>\n<div class=\"figures\">\n",
        text(&part.name),
        text(source.script),
        match part.unit {
            crate::measure::Unit::Mm => "lengths in mm",
            crate::measure::Unit::Inch => "lengths in inches",
        }
    );
    out += &figures(source);
    out += "</div>\n<div>\n";
    out += &metal(source);
    out += "</div>\n<div class=\"pictures\">\n";
    for (stage, said) in [
        (Stage::Finished, "The finished part"),
        (Stage::Pattern, "The pattern, with shrink and stock"),
    ] {
        if let Some((_, solid)) = source.stage(stage) {
            let solid = toned(solid, THERE);
            out += &figure(&solid, View::Iso, [720, 540], said, said);
        }
    }
    out += "</div>\n<div class=\"blank\"><span>cut by</span><span>glued on</span><span>poured on</span><span>melt no.</span></div>\n</header>\n";
    out
}

fn figures(source: &SheetSource) -> String {
    let part = source.part;
    let mut out = String::new();
    if let Some((f, _)) = source.stage(Stage::Finished) {
        let size = (f.high_mm - f.low_mm).to_array();
        let numbers = size.map(|mm| part.unit.number(mm)).join(" × ");
        out += &big(
            &format!("{numbers} {}", part.unit.symbol()),
            "finished, over all",
        );
    }
    if let Some((f, _)) = source.stage(Stage::Casting) {
        let kg = f.volume_mm3 * 1e-9 * part.metal.density_kg_m3;
        out += &big(
            &format!("{kg:.3} kg"),
            &format!("casting, {}", part.metal.name),
        );
    }
    out += &big(
        &format!("{:.0} g", source.foam_kg() * 1e3),
        &format!("foam of one bare pattern, {}", source.foam_name),
    );
    out += &big(&part.patterns().to_string(), "patterns to make");
    out += &big(&boards_used(source), "boards used");
    let count = |level: Level| source.findings.iter().filter(|f| f.level == level).count();
    let [stop, look, note] = [Level::Stop, Level::Look, Level::Note].map(count);
    out += &big(
        &format!("{stop} / {look} / {note}"),
        "findings: stop / look / note",
    );
    out
}

fn boards_used(source: &SheetSource) -> String {
    let (Some(pieces), Some(boards)) = (source.pieces, source.boards) else {
        return "–".to_string();
    };
    let unit = source.part.unit;
    let rows = board_rows(source.part, pieces, boards);
    let sums = board_totals(&rows);
    let said = sums
        .iter()
        .map(|s| format!("{} of {}", s.boards, unit.show(s.thickness_mm)));
    said.collect::<Vec<_>>().join(", ")
}

/// The metal's figures with where they are from, and its warnings.
fn metal(source: &SheetSource) -> String {
    let metal = &source.part.metal;
    let row = metal_row(&metal.name).ok();
    let from = |sourced: Option<Sourced>, value: f64| match sourced {
        Some(s) if (s.low - value).abs() < 1e-9 => {
            format!(
                "({}{})",
                s.source,
                if s.doubtful { ", doubtful ?" } else { "" }
            )
        }
        _ => "(as the script gives it)".to_string(),
    };
    let [x, y, z] = metal.shrink_percent;
    let shrink = if x == y && y == z {
        format!("{x} %")
    } else {
        format!("{x}, {y}, {z} % in x, y, z")
    };
    let said = [
        format!(
            "Shrink {shrink}: pattern = casting × (1 + shrink) {}",
            from(row.map(|r| r.shrink_percent), x)
        ),
        format!(
            "Density {} kg/m³ {}",
            metal.density_kg_m3,
            from(row.map(|r| r.density_kg_m3), metal.density_kg_m3)
        ),
    ];
    let mut out = format!("<p><b>{}</b></p>\n", text(&metal.name));
    for words in said {
        out += &format!("<p>{}</p>\n", told(&words));
    }
    for warning in row.map_or(&[][..], |r| r.warnings) {
        out += &format!("<p class=\"warn\">{}</p>\n", text(warning));
    }
    out
}

/// Notes, settings, judgements on record, threads.
pub(super) fn words(source: &SheetSource) -> String {
    let part = source.part;
    let mut body = String::new();
    if !part.notes.is_empty() {
        body += "<ul>\n";
        for note in &part.notes {
            body += &format!("<li>{}</li>\n", text(note));
        }
        body += "</ul>\n";
    }
    if !part.settings.is_empty() {
        let said = part.settings.iter().map(|s| {
            let value = match &s.value {
                SettingValue::Number(n) => n.to_string(),
                SettingValue::Text(t) => t.clone(),
                SettingValue::Flag(f) => f.to_string(),
            };
            format!("{} = {value}", s.name)
        });
        body += &line(&format!(
            "Settings: {}",
            said.collect::<Vec<_>>().join(", ")
        ));
    }
    let named = threads_named(source);
    if !named.is_empty() {
        body += &line(&format!("Threads: {}", named.join(", ")));
    }
    if !part.allows.is_empty() {
        let rows = part.allows.iter().map(|a| {
            let at = crate::sheet::report::place(a.site.script());
            [a.code.as_str(), &a.features.join(", "), &a.reason, &at]
                .map(text)
                .to_vec()
        });
        body += "<h3>Allowed by the script</h3>\n";
        body += &table(
            &["finding", "on", "because", "script"],
            &rows.collect::<Vec<_>>(),
        );
    }
    if body.is_empty() {
        body = line("The script says nothing here.");
    }
    section("notes", "Notes", &body)
}

/// Threads that settings name.
fn threads_named(source: &SheetSource) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for setting in &source.part.settings {
        if let SettingValue::Text(name) = &setting.value
            && let Some(thread) = threads::find(name)
        {
            out.push(format!("{} (setting {})", thread.name, setting.name));
        }
    }
    out
}
