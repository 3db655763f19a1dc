//! Findings with their script lines, the worst first; those that want the same done stand together.

use crate::fault::Finding;
use crate::sheet::report::place;
use crate::sheet::shop_sheet::SheetSource;
use crate::sheet::shop_sheet::page::{line, section, text};

/// All findings.
pub(super) fn findings(source: &SheetSource) -> String {
    let mut groups: Vec<Vec<&Finding>> = Vec::new();
    for finding in source.findings {
        let same = |g: &&mut Vec<&Finding>| {
            let f = g[0];
            (f.level, f.code, then(f)) == (finding.level, finding.code, then(finding))
        };
        match groups.iter_mut().find(same) {
            Some(group) => group.push(finding),
            None => groups.push(vec![finding]),
        }
    }
    let mut body: String = groups.iter().map(|g| block(g)).collect();
    if body.is_empty() {
        body = line("None.");
    }
    section("findings", "Findings", &body)
}

/// What is to be done, or why nothing is.
fn then(finding: &Finding) -> String {
    match &finding.allowed {
        Some(reason) => format!("Allowed: {reason}"),
        None => finding.remedy.clone(),
    }
}

/// Findings of one code that want the same done.
fn block(group: &[&Finding]) -> String {
    let (level, code) = (group[0].level.word(), group[0].code);
    let mut out = format!(
        "<div class=\"finding\"><p><span class=\"level {level}\">{level}</span> <b>{code}</b> {}</p>\n",
        text(&then(group[0]))
    );
    for finding in group {
        let at: Vec<String> = finding
            .features
            .iter()
            .map(|(name, span)| format!("{name} ({})", place(span)))
            .collect();
        out += &format!(
            "<p class=\"at\">{} · <b>{}</b></p>\n",
            text(&finding.text),
            text(&at.join(", "))
        );
    }
    out + "</div>\n"
}
