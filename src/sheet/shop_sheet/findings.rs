//! Findings with their script lines, the worst first.

use crate::sheet::report::place;
use crate::sheet::shop_sheet::SheetSource;
use crate::sheet::shop_sheet::page::{line, section, text};

/// All findings.
pub(super) fn findings(source: &SheetSource) -> String {
    let mut body = String::new();
    for f in source.findings {
        let level = f.level.word();
        let at: Vec<String> = f
            .features
            .iter()
            .map(|(name, span)| format!("{name} ({})", place(span)))
            .collect();
        body += &format!(
            "<div class=\"finding\"><p><span class=\"level {level}\">{level}</span> <b>{}</b> {}</p>",
            f.code,
            text(&f.text)
        );
        if let Some(reason) = &f.allowed {
            body += &format!("<p>Allowed: {}</p>", text(reason));
        } else if !f.remedy.is_empty() {
            body += &format!("<p>{}</p>", text(&f.remedy));
        }
        body += &format!("<p class=\"at\">{}</p></div>\n", text(&at.join(", ")));
    }
    if body.is_empty() {
        body = line("None.");
    }
    section("findings", "Findings", &body)
}
