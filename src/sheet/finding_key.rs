//! How a finding is known again after an edit: by its code, stage and features, and by which of several it is.

use std::collections::BTreeMap;

use crate::fault::Finding;

/// One key a finding, in their order: the same for the same finding in the next build, whatever lines moved; no two alike.
pub fn finding_keys(findings: &[Finding]) -> Vec<String> {
    let mut met: BTreeMap<String, usize> = BTreeMap::new();
    let key = |f: &Finding| {
        let names: Vec<&str> = f.features.iter().map(|(n, _)| n.as_str()).collect();
        let stage = f.stage.unwrap_or("-");
        let base = format!("{} {stage} {}", f.code, names.join(" + "));
        let count = met.entry(base.clone()).or_insert(0);
        *count += 1;
        match *count {
            1 => base,
            n => format!("{base} #{n}"),
        }
    };
    findings.iter().map(key).collect()
}
