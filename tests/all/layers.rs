//! The house rules of DEVELOPERS.md, held against the source: who may import whom, who may use which crate,
//! how long a file may be.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// Lines that no file may go beyond.
const MOST_LINES: usize = 800;

/// Crates that only one place may use: the crate's name, and the folder under `src`.
const KEPT_IN: &[(&str, &str)] = &[
    ("rhai", "script"),
    ("i_overlay", "pieces/nesting"),
    ("i_triangle", "pieces/nesting"),
    ("manifold_rust", "solid"),
    ("spade", "solid"),
    ("cavalier_contours", "drawing/outline"),
];

/// A row of the table: the layer, and what its module may import.
#[derive(Debug, PartialEq)]
struct Room {
    layer: u32,
    may: String,
}

/// The rooms of a table `| layer | module | holds | may import |`.
fn rooms(markdown: &str) -> BTreeMap<String, Room> {
    let mut rooms = BTreeMap::new();
    for line in markdown.lines().filter(|l| l.starts_with('|')) {
        let cells: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
        let [layer, module, _, may] = cells[..] else {
            continue;
        };
        let (Ok(layer), true) = (layer.parse(), module.starts_with('`')) else {
            continue;
        };
        let may = may.to_string();
        let name = module.trim_matches('`').trim_end_matches('/').to_string();
        let twice = rooms.insert(name, Room { layer, may });
        assert_eq!(twice, None, "{module} stands in the table twice");
    }
    rooms
}

/// Whether `from` may import `to`: `nothing`; layers such as `0, 1` or `0-3`; names in back-ticks;
/// after `but`, names that are taken out again.
fn may_import(rooms: &BTreeMap<String, Room>, from: &str, to: &str) -> bool {
    let may = &rooms[from].may;
    let (given, but) = may.split_once(" but ").unwrap_or((may, ""));
    let named = |text: &str| text.split('`').skip(1).step_by(2).any(|name| name == to);
    let layer = rooms[to].layer;
    let mut layers = given
        .split([',', ' '])
        .filter_map(|span| match span.split_once('-') {
            Some((low, high)) => Some((low.parse().ok()?, high.parse().ok()?)),
            None => span.parse().ok().map(|n: u32| (n, n)),
        });
    (named(given) || layers.any(|(low, high)| (low..=high).contains(&layer))) && !named(but)
}

/// The first words after `crate::` in a source text, each with its line; comments are passed over.
fn imports(source: &str) -> Vec<(usize, String)> {
    let code: Vec<&str> = source
        .lines()
        .map(|l| l.find("//").map_or(l, |at| &l[..at]))
        .collect();
    let text = code.join("\n");
    let mut found = Vec::new();
    for (at, key) in text.match_indices("crate::") {
        let line = text[..at].matches('\n').count() + 1;
        let rest = &text[at + key.len()..];
        if let Some(list) = rest.strip_prefix('{') {
            found.extend(first_words(list).into_iter().map(|word| (line, word)));
        } else {
            found.push((line, word_at(rest)));
        }
    }
    found
}

/// The first word of each entry of `a::b, c::{d, e}, f}`.
fn first_words(list: &str) -> Vec<String> {
    let mut words = Vec::new();
    let mut depth = 0;
    let mut fresh = true;
    for (at, c) in list.char_indices() {
        match c {
            '{' => depth += 1,
            '}' if depth == 0 => break,
            '}' => depth -= 1,
            ',' if depth == 0 => fresh = true,
            c if fresh && (c.is_alphanumeric() || c == '_') => {
                words.push(word_at(&list[at..]));
                fresh = false;
            }
            _ => {}
        }
    }
    words
}

fn word_at(text: &str) -> String {
    text.chars()
        .take_while(|c| c.is_alphanumeric() || *c == '_')
        .collect()
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every Rust file below a folder of the crate, in order.
fn rust_files(below: &str) -> Vec<PathBuf> {
    let mut files = Vec::new();
    let mut folders = vec![root().join(below)];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).expect("the folder can be read") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                files.push(path);
            }
        }
    }
    files.sort();
    files
}

/// A file's path from the crate's root, with `/` between.
fn shown(path: &Path) -> String {
    let path = path.strip_prefix(root()).expect("below the root");
    path.to_string_lossy().replace('\\', "/")
}

fn read(path: &Path) -> String {
    fs::read_to_string(path).expect("a source file is text")
}

/// The module that a file under `src` belongs to; none for `lib.rs` and `main.rs`.
fn module_of(path: &Path) -> Option<String> {
    let shown = shown(path);
    let inner = shown.strip_prefix("src/")?;
    let name = inner.split('/').next()?.trim_end_matches(".rs").to_string();
    (name != "lib" && name != "main").then_some(name)
}

fn table() -> BTreeMap<String, Room> {
    rooms(&read(&root().join("DEVELOPERS.md")))
}

fn none(wrong: &[String], what: &str) {
    assert!(wrong.is_empty(), "{what}:\n{}", wrong.join("\n"));
}

#[test]
fn the_table_names_every_module_and_no_other() {
    let files = rust_files("src");
    let there: BTreeSet<String> = files.iter().filter_map(|f| module_of(f)).collect();
    let told: BTreeSet<String> = table().into_keys().collect();
    assert_eq!(
        told, there,
        "the table of DEVELOPERS.md (left) and the modules of src (right) differ"
    );
}

#[test]
fn no_layer_imports_what_it_may_not() {
    let rooms = table();
    let mut wrong = Vec::new();
    for file in rust_files("src") {
        let Some(from) = module_of(&file) else {
            continue;
        };
        for (line, to) in imports(&read(&file)) {
            if to != from && rooms.contains_key(&to) && !may_import(&rooms, &from, &to) {
                let place = shown(&file);
                wrong.push(format!("{place}:{line}: `{from}` may not import `{to}`"));
            }
        }
    }
    none(&wrong, "imports against the layers of DEVELOPERS.md");
}

#[test]
fn no_layer_may_import_its_own_or_a_higher_one() {
    let rooms = table();
    for (from, room) in &rooms {
        for (to, other) in &rooms {
            // `fault` builds on `measure`; both are ground.
            let ground = (from.as_str(), to.as_str()) == ("fault", "measure");
            let start = (from.as_str(), to.as_str()) == ("cli", "preview");
            if from != to && other.layer >= room.layer && !ground && !start {
                assert!(
                    !may_import(&rooms, from, to),
                    "the table lets {from} import {to}"
                );
            }
        }
    }
}

#[test]
fn kernels_and_engines_stay_in_their_rooms() {
    let mut wrong = Vec::new();
    for file in rust_files("src") {
        let place = shown(&file);
        for (number, line) in read(&file).lines().enumerate() {
            let code = line.split("//").next().unwrap_or("");
            for (name, room) in KEPT_IN {
                let uses = code.contains(&format!("{name}::"));
                if uses && !place.starts_with(&format!("src/{room}/")) {
                    let line = number + 1;
                    wrong.push(format!("{place}:{line}: {name} is used outside src/{room}"));
                }
            }
            if code.contains("truck_") {
                wrong.push(format!("{place}:{}: only tests use truck", number + 1));
            }
        }
    }
    none(&wrong, "crates outside their rooms");
}

#[test]
fn files_are_short_and_named_for_what_they_hold() {
    let mut wrong = Vec::new();
    for file in rust_files("src").into_iter().chain(rust_files("tests")) {
        let place = shown(&file);
        let lines = read(&file).lines().count();
        if lines > MOST_LINES {
            wrong.push(format!("{place}: {lines} lines, {MOST_LINES} at most"));
        }
        let named = |name: &str| place.split(['/', '.']).any(|part| part == name);
        if ["util", "utils", "helpers", "misc"].into_iter().any(named) {
            wrong.push(format!("{place}: named for nothing in particular"));
        }
    }
    none(&wrong, "files");
}

/// A file that no `mod` line names is compiled by nobody: its tests would be lost without a word.
#[test]
fn no_file_is_left_out() {
    let all: Vec<_> = rust_files("src")
        .into_iter()
        .chain(rust_files("tests/all"))
        .collect();
    let declared: String = all.iter().map(|file| read(file)).collect();
    let left_out: Vec<String> = all
        .iter()
        .filter(|file| {
            let name = file.file_stem().unwrap_or_default().to_string_lossy();
            let named = format!("mod {name};");
            !["mod", "lib", "main"].contains(&&*name)
                && !declared.lines().any(|l| {
                    let line = l.trim();
                    line == named
                        || line
                            .strip_suffix(&named)
                            .is_some_and(|before| before.starts_with("pub"))
                })
        })
        .map(|file| shown(file))
        .collect();
    none(&left_out, "files that no mod line names");
}

#[test]
fn the_check_itself_sees_what_is_wrong() {
    let rooms = rooms(
        "| layer | module | holds | may import |\n| --- | --- | --- | --- |\n\
         | 0 | `low` | x | nothing |\n| 1 | `mid/` | x | 0 |\n| 1 | `side` | x | `low` |\n\
         | 2 | `high` | x | 0-1 but `side` |\n",
    );
    assert_eq!(rooms.len(), 4);
    assert!(may_import(&rooms, "mid", "low") && may_import(&rooms, "side", "low"));
    assert!(may_import(&rooms, "high", "mid") && may_import(&rooms, "high", "low"));
    assert!(!may_import(&rooms, "high", "side") && !may_import(&rooms, "low", "mid"));
    assert!(!may_import(&rooms, "mid", "side") && !may_import(&rooms, "mid", "high"));
    let source = "//! crate::comment\nuse crate::{\n    one::{A, B},\n    two,\n};\nfn f() { crate::three::g() }\n";
    let found: Vec<String> = imports(source).into_iter().map(|(_, word)| word).collect();
    assert_eq!(found, ["one", "two", "three"]);
    assert_eq!(imports(source)[2].0, 6);
}
