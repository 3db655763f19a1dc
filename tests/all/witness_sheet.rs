//! What is written for the bench held against general-purpose libraries: the 3MF package against `lib3mf` and `trimesh`,
//! boards against `ezdxf` and `svgelements`, the bill against Python's `csv`, the sheet against `lxml` as strict XML.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;

use foamwright::shop::{Build, Effort, Wish, laid, report_of, write_build};

use crate::built::{built, built_file};
use crate::examples::EXAMPLES;
use crate::witness::python_with;

/// What the checks need.
const NEEDS: &str = "ezdxf, lib3mf, lxml, networkx, numpy, svgelements, trimesh";

#[test]
fn bench_files_are_what_other_libraries_read() {
    let Some(python) = python_with(NEEDS) else {
        let text = format!(
            "SKIPPED: the outside checks of sheets, boards and packages, for want of a Python with {NEEDS} \
             (pip install -r tests/witness/requirements.txt; FOAMWRIGHT_PYTHON names the one to use)"
        );
        // Written past the test harness, which would keep it to itself.
        let _ = writeln!(std::io::stderr(), "\n{text}\n");
        let ci = std::env::var("CI").is_ok_and(|v| v == "true");
        assert!(!ci, "{text}");
        return;
    };
    let dir = tempfile::tempdir().expect("a temporary folder");
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut folders: Vec<PathBuf> = Vec::new();
    let mut put = |name: &str, build: Build| {
        let build = laid(build, Effort::Quick, &|| true);
        let report = report_of(&build, Path::new(name), false);
        let folder = dir.path().join(name);
        write_build(&build, &report, &folder).expect("the files are written");
        folders.push(folder);
    };
    for name in EXAMPLES {
        let script = root.join(format!("scripts/{name}.rhai"));
        put(name, built_file(&script, &Wish::default()));
    }
    // One without any pieces, and one whose names try to be markup.
    put(
        "bare",
        built("slab(\"p\", #{ outline: rect(40, 30), height: 8 });"),
    );
    put("hostile", built(crate::sheet::HOSTILE));
    let script = root.join("tests/witness/check_sheet.py");
    let done = Command::new(python)
        .arg("-B")
        .arg(script)
        .args(&folders)
        .output();
    let done = done.expect("Python starts");
    let said = String::from_utf8_lossy(&done.stdout);
    let _ = writeln!(std::io::stderr(), "\nbench files: {}", said.trim());
    let wrong = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{said}\n{wrong}");
}
