//! The bill of foam pieces.

use std::collections::BTreeMap;

use crate::measure::Unit;
use crate::sheet::bill::{Bill, bill as of_pieces};
use crate::sheet::shop_sheet::SheetSource;
use crate::sheet::shop_sheet::page::{line, section, table, text};

/// Pieces, pegs and sums.
pub(super) fn bill(source: &SheetSource) -> String {
    let Some(pieces) = source.pieces else {
        let body = line(
            "The script declares no boards and parts nothing: the pattern is cut as one piece.",
        );
        return section("bill", "Foam", &body);
    };
    let bill = of_pieces(source.part, pieces, source.foam_kg_m3);
    let unit = source.part.unit;
    let heads = [
        "#no.",
        "piece",
        "#count",
        "#board",
        "#length × width × height",
        "#g each",
        "#sides",
        "glued to",
    ];
    let rows = bill.pieces.iter().map(|p| {
        let size = p.size_mm.map(|mm| unit.number(mm)).join(" × ");
        let mut name = text(&p.name);
        if p.kind != "body" {
            let note = p
                .note
                .as_ref()
                .map_or(String::new(), |note| format!(": {}", text(note)));
            name += &format!(" <span class=\"at\">({}{note})</span>", p.kind);
        }
        vec![
            p.number.to_string(),
            name,
            p.count.to_string(),
            p.board_mm
                .map_or_else(|| "none".to_string(), |mm| unit.number(mm)),
            size,
            format!("{:.1}", p.foam_kg * 1e3),
            p.sides.to_string(),
            text(&p.glued_to.join(", ")),
        ]
    });
    let mut body = table(&heads, &rows.collect::<Vec<_>>());
    body += &sums(&bill, unit);
    body += &line(&format!(
        "Sizes are as cut, shrink and stock counted, in {}. Sides: from how many the piece is cut.",
        unit.symbol()
    ));
    section("bill", "Foam", &body)
}

fn sums(bill: &Bill, unit: Unit) -> String {
    let t = &bill.totals;
    let mut said = vec![
        match t.pieces {
            1 => "1 piece".to_string(),
            n => format!("{n} pieces"),
        },
        match t.gating_foam_kg {
            0.0 => format!("{:.1} g of foam", t.foam_kg * 1e3),
            gating => format!(
                "{:.1} g of foam, {:.1} g of it gating",
                t.foam_kg * 1e3,
                gating * 1e3
            ),
        },
        match unit {
            Unit::Mm => format!("{:.1} cm² to glue", t.glue_mm2 / 100.0),
            Unit::Inch => format!("{:.2} in² to glue", t.glue_mm2 / (25.4 * 25.4)),
        },
    ];
    let mut pegs: BTreeMap<String, usize> = BTreeMap::new();
    for d in &bill.dowels {
        let size = format!(
            "dowels {} × {}",
            unit.number(d.dia_mm),
            unit.show(d.length_mm)
        );
        *pegs.entry(size).or_default() += d.count * bill.copies;
    }
    said.extend(
        pegs.into_iter()
            .map(|(size, count)| format!("{count} {size}")),
    );
    for (radius, length) in &t.wax_fillet_mm {
        let radius = unit.show(radius.parse().unwrap_or(0.0));
        said.push(format!(
            "{} of wax fillet {radius}",
            unit.show(length.round())
        ));
    }
    format!("<p><b>In all: {}.</b></p>\n", text(&said.join(", ")))
}
