//! File names from names that a person made up: letters, digits, `.`, `-` and `_` stay, clashes are numbered.

use std::collections::BTreeSet;

/// The longest file name made from a name (characters).
const LONGEST: usize = 80;

/// A name as a file or folder name: nothing in it can leave its folder.
pub fn file_name(name: &str) -> String {
    let kept = |c: char| c.is_alphanumeric() || matches!(c, '.' | '-' | '_');
    let mut out = String::new();
    for c in name.chars().take(LONGEST) {
        if kept(c) {
            out.push(c);
        } else if !out.ends_with('-') {
            out.push('-');
        }
    }
    // No hidden file, no `..`, nothing that a shell or an older file system trips over at either end.
    let out = out.trim_matches(['.', '-']).replace("..", ".");
    if out.is_empty() {
        "unnamed".to_string()
    } else {
        out
    }
}

/// Gives each name a file name of its own; a clash (also one of letter case only) gets `-2`, `-3`, ….
#[derive(Debug, Default)]
pub struct FileNames {
    taken: BTreeSet<String>,
}

impl FileNames {
    /// The file name for one more name.
    pub fn next(&mut self, name: &str) -> String {
        let plain = file_name(name);
        let mut out = plain.clone();
        let mut number = 2;
        while !self.taken.insert(out.to_lowercase()) {
            out = format!("{plain}-{number}");
            number += 1;
        }
        out
    }
}
