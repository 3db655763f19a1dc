//! Faulty scripts: `tests/bad/*.rhai`, each with the faults expected in its own `//~` lines.
//!
//! `//~ 3:12+6 text` is a fault at line 3, column 12, 6 characters long, whose message holds the text;
//! `//~ modules/pads.rhai:3:12+6 text` one in another file, `//~ - text` one without a place. Below it
//! `//~   hint: text` and `//~   from 5:1` are its hints and calls. The faults and calls must be these
//! and no others, in this order. With `FOAMWRIGHT_UPDATE=1` set, the lines are written anew.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use foamwright::fault::{Fault, Span, harmless, render};
use foamwright::script::{Reading, Unread, read};
use foamwright::shop::modules::FolderModules;

use crate::script::metals;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bad")
}

/// Reads a fixture as if the person stood in its folder.
fn read_fixture(name: &str, source: &str) -> Result<(), Unread> {
    let modules = FolderModules::beside(&folder().join(name)).expect("the folder is there");
    let reading = Reading {
        file_name: name,
        modules: Arc::new(modules),
        metals: &metals,
        metal_names: &["A356".into(), "grey iron".into()],
        overrides: &[],
        library: &[("bosses", "fn tapped(name) {}")],
        facet_mm: None,
    };
    read(source, &reading).map(|_| ())
}

fn place(span: &Span, own: &str) -> String {
    let file = span
        .file
        .rsplit_once("tests/bad/")
        .map_or(&*span.file, |(_, f)| f);
    let file = if file == own {
        String::new()
    } else {
        format!("{file}:")
    };
    format!("{file}{}:{}+{}", span.line, span.column, span.length)
}

/// The lines that describe a fault.
fn lines(fault: &Fault, own: &str) -> Vec<String> {
    let span = fault
        .span
        .as_ref()
        .map_or("-".to_string(), |s| place(s, own));
    let mut lines = vec![format!("{span} {}", harmless(&fault.text))];
    lines.extend(
        fault
            .calls
            .iter()
            .map(|c| format!("  from {}", place(c, own))),
    );
    lines.extend(
        fault
            .hints
            .iter()
            .map(|h| format!("  hint: {}", harmless(h))),
    );
    lines
}

#[test]
fn every_bad_script_teaches() {
    let update = std::env::var_os("FOAMWRIGHT_UPDATE").is_some();
    let mut files: Vec<PathBuf> = fs::read_dir(folder())
        .expect("the fixtures are there")
        .flatten()
        .map(|e| e.path())
        .collect();
    files.retain(|f| f.extension().is_some_and(|e| e == "rhai"));
    files.sort();
    assert!(files.len() > 40, "only {} fixtures", files.len());
    let mut wrong = Vec::new();
    for file in files {
        let name = file
            .file_name()
            .map(|n| n.to_string_lossy().into_owned())
            .unwrap_or_default();
        let source = fs::read_to_string(&file).expect("a fixture is text");
        let Err(unread) = read_fixture(&name, &source) else {
            wrong.push(format!("{name}: can be read"));
            continue;
        };
        let got: Vec<String> = unread
            .faults
            .0
            .iter()
            .flat_map(|f| lines(f, &name))
            .collect();
        if update {
            let script: String = source
                .lines()
                .filter(|l| !l.starts_with("//~"))
                .map(|l| format!("{l}\n"))
                .collect();
            let notes: String = got.iter().map(|l| format!("//~ {l}\n")).collect();
            fs::write(&file, format!("{script}{notes}")).expect("the fixtures can be written");
            continue;
        }
        let wanted: Vec<&str> = source
            .lines()
            .filter_map(|l| l.strip_prefix("//~ "))
            .collect();
        if got.len() != wanted.len() || got.iter().zip(&wanted).any(|(g, w)| !g.starts_with(w)) {
            wrong.push(format!(
                "{name}: wanted\n{}\ngot\n{}\n",
                wanted.join("\n"),
                got.join("\n")
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn carets_stand_under_what_the_span_says() {
    for entry in fs::read_dir(folder())
        .expect("the fixtures are there")
        .flatten()
    {
        let Ok(source) = fs::read_to_string(entry.path()) else {
            continue;
        };
        let name = entry.file_name().to_string_lossy().into_owned();
        let Err(unread) = read_fixture(&name, &source) else {
            continue;
        };
        for fault in &unread.faults.0 {
            let text = render(fault, &|f| unread.texts.get(f).cloned());
            let Some(span) = fault.span.as_ref().filter(|s| s.column > 0) else {
                continue;
            };
            let line = unread.texts[&*span.file]
                .lines()
                .nth(span.line - 1)
                .unwrap_or_default();
            let wanted: String = line
                .chars()
                .skip(span.column - 1)
                .take(span.length)
                .collect();
            let mut shown = text.lines().skip_while(|l| !l.contains(" | "));
            let (code, carets) = (
                shown.next().unwrap_or_default(),
                shown.next().unwrap_or_default(),
            );
            let start = carets
                .chars()
                .position(|c| c == '^')
                .expect("there are carets");
            let count = carets.chars().filter(|c| *c == '^').count();
            let under: String = code.chars().skip(start).take(count).collect();
            assert_eq!(under.trim_end(), wanted.trim_end(), "{name}:\n{text}");
        }
    }
}
