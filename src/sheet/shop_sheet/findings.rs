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
        let then = match &f.allowed {
            Some(reason) => format!("Allowed: {reason}"),
            None => f.remedy.clone(),
        };
        body += &format!(
            "<p class=\"at\">{} · <b>{}</b></p></div>\n",
            text(&then),
            text(&at.join(", "))
        );
    }
    if body.is_empty() {
        body = line("None.");
    }
    section("findings", "Findings", &body)
}
