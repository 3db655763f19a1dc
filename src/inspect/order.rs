//! Judgements on record and the order of reports.

use crate::drawing::Part;
use crate::drawing::part::Allow;
use crate::fault::{Finding, Level};

/// Findings that an `allow` names become notes with its reason; then all are put in the order of reports.
pub fn settled(mut findings: Vec<Finding>, part: &Part) -> Vec<Finding> {
    for finding in &mut findings {
        if let Some(allow) = allowing(finding, part) {
            finding.level = Level::Note;
            finding.allowed = Some(allow.reason.clone());
        }
    }
    findings.sort_by(Finding::order);
    findings
}

/// The judgement on record that names a finding, if there is one.
pub(super) fn allowing<'a>(finding: &Finding, part: &'a Part) -> Option<&'a Allow> {
    part.allows.iter().find(|allow| {
        allow.code == finding.code
            && finding.features.iter().any(|(name, _)| {
                let vessel = part.gating.vessel(finding.code);
                (vessel == Some(name.as_str()) && allow.features.contains(name))
                    || part.features.iter().any(|f| {
                        f.name == *name
                            && allow.features.iter().any(|a| *a == f.name || *a == f.group)
                    })
                    || part.gating.pieces.iter().any(|p| {
                        p.name == *name
                            && allow.features.iter().any(|a| *a == p.name || *a == p.group)
                    })
            })
    })
}
