//! The pour's figures and steps, and the cautions.

use crate::pattern::Stage;
use crate::picture::View;
use crate::sheet::pour_card::{CLOSE, cautions as of_part, pour_card};
use crate::sheet::shop_sheet::SheetSource;
use crate::sheet::shop_sheet::page::{line, section, table, text, told};
use crate::sheet::shop_sheet::pictures::{THERE, figure, toned};

/// Figures with their method, steps, passes of the saw.
pub(super) fn pour(source: &SheetSource) -> String {
    let Some(pour) = source.pour else {
        return section(
            "pour",
            "Pour",
            &line("The script doesn't gate the pattern."),
        );
    };
    let card = pour_card(source.part, pour, source.outlook, source.foam_kg() * 1e3);
    let mut body = String::new();
    if let Some((_, solid)) = source.stage(Stage::Gated) {
        let said = "The gated pattern";
        body += &figure(&toned(solid, THERE), View::Iso, [720, 480], said, said);
    }
    let rows = card.figures.iter().map(|f| {
        vec![
            text(f.name),
            format!("<b>{}</b>", told(&f.value)),
            told(&f.how),
        ]
    });
    body += &table(
        &["figure", "value", "how it is found"],
        &rows.collect::<Vec<_>>(),
    );
    body += "<h3>From dip to shake-out</h3>\n<ol>\n";
    for step in &card.steps {
        body += &format!("<li>{}</li>\n", told(step));
    }
    body += "</ol>\n";
    section("pour", "Pour", &body)
}

/// Cautions, on every sheet.
pub(super) fn cautions(source: &SheetSource) -> String {
    let mut body = String::from("<ul>\n");
    for caution in of_part(source.part) {
        let from = format!("({})", caution.source);
        body += &format!(
            "<li>{} <span class=\"at\">{}</span></li>\n",
            text(caution.text),
            told(&from)
        );
    }
    body += "</ul>\n";
    body += &format!("<p class=\"warn\">{}</p>\n", text(CLOSE));
    section("cautions", "Cautions", &body)
}
