//! Imports: where modules are looked for, and what can't be reached.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::sync::Arc;

use crate::script::{Folder, metals, read_with, shown};
use foamwright::script::{ModuleFault, Modules, Read, Reading, Unread, read};
use foamwright::shop::modules::FolderModules;

/// A module with one function that puts a disc of this height.
fn module(height: u32) -> String {
    format!("fn put(name) {{ slab(name, #{{ outline: disc(20), height: {height} }}) }}")
}

const SCRIPT: &str = "part(\"p\"); import \"pads\" as pads; pads::put(\"a\");";

/// Reads a script that lies on disk.
fn read_file(script: &Path, library: &[(&str, &str)]) -> Result<Read, Unread> {
    let source = fs::read_to_string(script).expect("the script is there");
    let reading = Reading {
        file_name: "part.rhai",
        modules: Arc::new(FolderModules::beside(script).expect("its folder is there")),
        metals: &metals,
        metal_names: &[],
        overrides: &[],
        library,
        facet_mm: None,
    };
    read(&source, &reading)
}

fn top(read: Result<Read, Unread>) -> f64 {
    let read = read.unwrap_or_else(|u| panic!("{}", shown(&u)));
    read.part.features[0].bounds().high.z
}

#[test]
fn three_places_in_order() {
    let folder = tempfile::tempdir().expect("a folder");
    let script = folder.path().join("part.rhai");
    fs::write(&script, SCRIPT).expect("written");
    let built_in = module(3);
    let library = [("pads", built_in.as_str())];
    assert_eq!(top(read_file(&script, &library)), 3.0);
    fs::create_dir(folder.path().join("library")).expect("made");
    fs::write(folder.path().join("library/pads.rhai"), module(2)).expect("written");
    assert_eq!(top(read_file(&script, &library)), 2.0);
    fs::write(folder.path().join("pads.rhai"), module(1)).expect("written");
    let read = read_file(&script, &library);
    let files = read.as_ref().map(|r| r.files.clone()).unwrap_or_default();
    assert_eq!(top(read), 1.0);
    let real = fs::canonicalize(folder.path().join("pads.rhai")).expect("it is there");
    assert_eq!(files, [real]);
}

#[test]
fn nothing_outside_of_the_folder() {
    let outer = tempfile::tempdir().expect("a folder");
    let inner = outer.path().join("inner");
    fs::create_dir(&inner).expect("made");
    fs::write(outer.path().join("secret.rhai"), module(1)).expect("written");
    fs::write(inner.join("near.rhai"), module(1)).expect("written");
    let modules = FolderModules::beside(&inner.join("part.rhai")).expect("its folder is there");
    let absolute = outer.path().join("secret").to_string_lossy().into_owned();
    for name in [
        "../secret",
        "./../secret",
        "a/../../secret",
        absolute.as_str(),
        "",
        ".",
        "..",
        "near/",
        "a\\..\\b",
        "c:near",
        "\0",
    ] {
        assert_eq!(
            modules.load(name).err(),
            Some(ModuleFault::ClimbsOut),
            "{name}"
        );
    }
    assert_eq!(modules.load("secret").err(), Some(ModuleFault::NotThere));
    assert!(modules.load("near").is_ok());
}

#[cfg(unix)]
#[test]
fn links_out_of_the_folder_are_refused() {
    let outer = tempfile::tempdir().expect("a folder");
    let inner = outer.path().join("inner");
    fs::create_dir_all(inner.join("library")).expect("made");
    fs::create_dir(outer.path().join("elsewhere")).expect("made");
    fs::write(outer.path().join("elsewhere/secret.rhai"), module(1)).expect("written");
    fs::write(inner.join("library/true.rhai"), module(1)).expect("written");
    let link = |to: &str, from: &str| {
        std::os::unix::fs::symlink(outer.path().join(to), inner.join(from)).expect("linked");
    };
    link("elsewhere/secret.rhai", "file.rhai");
    link("elsewhere", "folder");
    link("inner/library/true.rhai", "within.rhai");
    let modules = FolderModules::beside(&inner.join("part.rhai")).expect("its folder is there");
    assert_eq!(modules.load("file").err(), Some(ModuleFault::ClimbsOut));
    assert_eq!(
        modules.load("folder/secret").err(),
        Some(ModuleFault::ClimbsOut)
    );
    assert!(
        modules.load("within").is_ok(),
        "a link that stays inside is a file like any other"
    );
    assert_eq!(
        modules.load("true").map(|m| m.id),
        modules.load("within").map(|m| m.id)
    );
}

#[test]
fn files_that_are_no_text_and_no_file() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("noise.rhai"), [0xff, 0xfe, 0x00, 0x80]).expect("written");
    fs::create_dir(folder.path().join("dir.rhai")).expect("made");
    let script = folder.path().join("part.rhai");
    fs::write(&script, "part(\"p\");\nimport \"noise\" as n;").expect("written");
    let unread = read_file(&script, &[]).expect_err("it isn't text");
    assert!(
        unread.faults.0[0].text.contains("isn't text"),
        "{}",
        shown(&unread)
    );
    assert_eq!(
        unread.faults.0[0].span.as_ref().map(ToString::to_string),
        Some("part.rhai:2:8".into())
    );
    let modules = FolderModules::beside(&script).expect("its folder is there");
    assert!(matches!(
        modules.load("dir"),
        Err(ModuleFault::Unreadable { .. })
    ));
}

/// Reads with modules from memory.
fn with(files: &[(&'static str, &'static str)], script: &str) -> Result<Read, Unread> {
    let folder = Folder(files.iter().copied().collect::<BTreeMap<_, _>>());
    read_with(script, Arc::new(folder), &[], &[])
}

#[test]
fn circles_are_shown_whole() {
    let files = [
        ("a.rhai", "import \"b\" as b;"),
        ("b.rhai", "\nimport \"c\" as c;"),
        ("c.rhai", "\n\nimport \"a\" as a;"),
    ];
    let unread = with(&files, "part(\"p\");\nimport \"a\" as a;").expect_err("a circle");
    let fault = &unread.faults.0[0];
    assert!(fault.text.contains("a → b → c → a"), "{}", fault.text);
    assert_eq!(
        fault.span.as_ref().map(ToString::to_string),
        Some("c.rhai:3:8".into())
    );
    let calls: Vec<String> = fault.calls.iter().map(ToString::to_string).collect();
    assert_eq!(calls, ["b.rhai:2:8", "a.rhai:1:8", "part.rhai:2:8"]);
    assert_eq!(unread.faults.0.len(), 1);
}

#[test]
fn a_module_that_imports_the_script_goes_in_a_circle() {
    let folder = tempfile::tempdir().expect("a folder");
    let script = folder.path().join("part.rhai");
    fs::write(&script, "part(\"p\"); import \"pads\" as pads;").expect("written");
    fs::write(folder.path().join("pads.rhai"), "import \"part\" as p;").expect("written");
    let unread = read_file(&script, &[]).expect_err("a circle");
    assert!(
        unread.faults.0[0].text.contains("part.rhai → pads → part"),
        "{}",
        shown(&unread)
    );
    assert_eq!(unread.faults.0.len(), 1);
}

#[test]
fn a_module_that_two_import_is_read_once() {
    let files = [
        (
            "sizes.rhai",
            "export const DIA = 20; slab(\"once\", #{ outline: disc(9), height: 3 });",
        ),
        (
            "a.rhai",
            "import \"sizes\" as sizes; fn dia() { sizes::DIA }",
        ),
    ];
    let script = "part(\"p\"); import \"a\" as a; import \"sizes\" as s; slab(\"x\", #{ outline: disc(s::DIA + a::dia()), height: 5 });";
    let read = with(&files, script).unwrap_or_else(|u| panic!("{}", shown(&u)));
    assert_eq!(read.part.features.len(), 2);
    assert_eq!(read.files.len(), 2);
}

#[test]
fn the_library_needs_no_folder() {
    let library = [(
        "pads",
        "fn put(name) { slab(name, #{ outline: disc(20), height: 4 }) }",
    )];
    let read = read_with(
        SCRIPT,
        Arc::new(foamwright::script::NoModules),
        &library,
        &[],
    );
    assert_eq!(top(read), 4.0);
}

#[test]
fn dash_fractions_in_modules_are_found_too() {
    let files = [(
        "pads.rhai",
        "fn put(name) {\n slab(name, #{ outline: disc(20), height: 2-3/8 }) }",
    )];
    let read = with(&files, SCRIPT).unwrap_or_else(|u| panic!("{}", shown(&u)));
    assert_eq!(
        read.part.findings[0].features[0].1.to_string(),
        "pads.rhai:2:43"
    );
}
