//! A build's folder over several builds: files of pieces and boards that a newer build no longer has are taken away.
//!
//! Only what `report.json` says that a build wrote is ever taken away, and of that only what lies in a folder that is
//! this program's own.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use crate::shop::files::Output;

/// Folders within a build's folder whose files come and go with the build.
const OWN: [&str; 3] = ["boards/", "frames/", "pieces/"];

/// Whether a name is a file right in one of those folders, and one that this program could have written.
fn own(name: &str) -> bool {
    let rest = OWN.iter().find_map(|folder| name.strip_prefix(folder));
    let ending = |rest: &str| [".stl", ".svg", ".dxf"].iter().any(|e| rest.ends_with(e));
    rest.is_some_and(|r| ending(r) && !r.starts_with('.') && !r.contains(['/', '\\', ':']))
}

/// The files of that kind among some outputs, in order.
pub(super) fn own_files(outputs: &[(Output, u64)]) -> Vec<String> {
    let names = outputs.iter().map(|(o, _)| o.name.clone());
    let sorted: BTreeSet<String> = names.filter(|n| own(n)).collect();
    sorted.into_iter().collect()
}

/// The files of that kind that the report in a folder tells of; none where there is no report.
pub(super) fn files_before(folder: &Path) -> Vec<String> {
    let told = || -> Option<Vec<String>> {
        let text = fs::read(folder.join("report.json")).ok()?;
        let report: serde_json::Value = serde_json::from_slice(&text).ok()?;
        let files = report.get("files")?.as_array()?;
        let names = files.iter().filter_map(|f| f.as_str().map(String::from));
        Some(names.filter(|n| own(n)).collect())
    };
    told().unwrap_or_default()
}

/// Takes away files of before that are none any more. A file that can't be removed stays.
pub(super) fn remove_stale(folder: &Path, before: &[String], now: &[String]) {
    for name in before.iter().filter(|n| !now.contains(n)) {
        let _ = fs::remove_file(folder.join(name));
        if let Some(inner) = folder.join(name).parent() {
            // Goes only where it is empty.
            let _ = fs::remove_dir(inner);
        }
    }
}
