//! Meshes held against general-purpose mesh libraries: `trimesh` and `manifold3d` from the Python registry.
//!
//! Every example, every word's example and every library part is built and written with its feature bodies and
//! their order; `tests/witness/check_meshes.py` reads the files, measures them by its own means, combines the
//! same bodies with its own booleans and compares. Without Python (or with `FOAMWRIGHT_PYTHON` naming one
//! that lacks the libraries) the checks are skipped, loudly; with `CI` set that is a failure.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;

use foamwright::measure::Vec3;
use foamwright::pattern::{Stage, Stocks, settle_stock};
use foamwright::script::{NoModules, word_list};
use foamwright::shop::{Bench, Build, Wish, file_name, report_of, write_build};
use foamwright::solid::Solid;

use crate::body_files::{bodies_of, told_steps, write_bodies};
use crate::examples::{EXAMPLES, example_with, lever_rows};
use crate::library::{PARTS, built_in};

/// What the checks need.
pub const NEEDS: &str = "numpy, scipy, trimesh, manifold3d, rtree";

#[test]
fn meshes_are_what_other_libraries_make_of_them() {
    let cases = cases();
    let Some(python) = python() else {
        let text = format!(
            "SKIPPED: the outside checks of {} meshes, for want of a Python with {NEEDS} \
             (pip install -r tests/witness/requirements.txt; FOAMWRIGHT_PYTHON names the one to use)",
            3 * cases.len()
        );
        // Written past the test harness, which would keep it to itself.
        let _ = writeln!(std::io::stderr(), "\n{text}\n");
        let ci = std::env::var("CI").is_ok_and(|v| v == "true");
        assert!(!ci, "{text}");
        return;
    };
    let kept = std::env::var_os("FOAMWRIGHT_WITNESS_DIR").map(PathBuf::from);
    let temporary = tempfile::tempdir().expect("a temporary folder");
    let folder = kept.unwrap_or_else(|| temporary.path().to_path_buf());
    for (name, build) in &cases {
        write_case(&folder.join(file_name(name)), name, build);
    }
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/witness/check_meshes.py");
    let done = Command::new(python).arg(script).arg(&folder).output();
    let done = done.expect("Python starts");
    let said = String::from_utf8_lossy(&done.stdout);
    let _ = writeln!(
        std::io::stderr(),
        "\noutside checks: {}",
        said.lines().last().unwrap_or("none")
    );
    let wrong = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{said}\n{wrong}");
}

/// A Python that has what the checks of meshes need.
pub fn python() -> Option<String> {
    python_with(NEEDS)
}

/// A Python that has these modules.
pub fn python_with(needs: &str) -> Option<String> {
    let named = std::env::var("FOAMWRIGHT_PYTHON").ok();
    let candidates = named.map_or_else(|| vec!["python3".into(), "python".into()], |p| vec![p]);
    candidates.into_iter().find(|python| {
        let asked = Command::new(python)
            .args(["-c", &format!("import {needs}")])
            .output();
        asked.is_ok_and(|out| out.status.success())
    })
}

/// Everything that is checked: a name and its build.
fn cases() -> Vec<(String, Build)> {
    let mut cases: Vec<(String, Build)> = Vec::new();
    for name in EXAMPLES {
        cases.push((name.to_string(), example_with(name, &[])));
    }
    for (n, row) in lever_rows().into_iter().enumerate() {
        cases.push((
            format!("control-lever {}", n + 1),
            example_with("control-lever", &row),
        ));
    }
    for (name, source) in PARTS {
        cases.push((format!("library {name}"), built_in(source, "in")));
    }
    let mut seen: Vec<&str> = Vec::new();
    for word in word_list() {
        if seen.contains(&word.example) {
            continue;
        }
        seen.push(word.example);
        let built = Bench::new().build_text(
            word.example,
            "example.rhai",
            Arc::new(NoModules),
            &Wish::default(),
            &|_| {},
        );
        let build =
            built.unwrap_or_else(|failure| panic!("the example of {}: {failure:?}", word.title()));
        cases.push((format!("word {} {}", seen.len(), word.name), build));
    }
    cases
}

/// Writes a build as `make` does, and beside it what the other side needs: figures that the report lacks,
/// and each stage's feature bodies with their order.
fn write_case(folder: &Path, name: &str, build: &Build) {
    let report = report_of(build, Path::new("case.rhai"), false);
    write_build(build, &report, folder).expect("the files can be written");
    let mut told = serde_json::Map::new();
    told.insert("name".into(), name.into());
    told.insert("facet_mm".into(), build.part.facet_mm.into());
    for stage in Stage::ALL {
        let Some(built) = build.stage(stage) else {
            continue;
        };
        let centre = centre(&built.solid).to_array();
        told.insert(
            format!("{}_centre_mm", stage.name()),
            centre.to_vec().into(),
        );
    }
    for (stage, stocks) in [
        (Stage::Finished, Stocks::new()),
        (Stage::Casting, stocks(build)),
    ] {
        let (ready, steps) = bodies_of(&build.part, stage, &stocks);
        write_bodies(&folder.join(format!("{}.bodies", stage.name())), &ready);
        let steps = told_steps(&ready, &steps);
        told.insert(format!("{}_steps", stage.name()), steps);
    }
    let text = serde_json::to_string(&told).expect("plain JSON");
    fs::write(folder.join("witness.json"), text).expect("the file can be written");
}

fn stocks(build: &Build) -> Stocks {
    let largest = build.part.bounds().size().max_element();
    let grade = |rma: char, ct: u8, size: f64| {
        foamwright::foundry::stock_of_grade(rma, ct, size)
            .map(|stock| (stock.flat_mm, stock.round_side_mm))
            .map_err(|e| e.to_string())
    };
    settle_stock(&build.part, largest, &grade).expect("the build settled them too")
}

/// Centre of mass: the sum over tetrahedra from the origin.
fn centre(solid: &Solid) -> Vec3 {
    let mut six_volumes = 0.0;
    let mut sum = Vec3::ZERO;
    for t in &solid.triangles {
        let [a, b, c] = t.map(|i| solid.points[i as usize]);
        let six = a.dot(b.cross(c));
        six_volumes += six;
        sum += (a + b + c) * (six / 4.0);
    }
    sum / six_volumes
}
