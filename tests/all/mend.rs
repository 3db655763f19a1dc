//! Patches for foam that was cut from an earlier version, against volumes by formula.

use std::f64::consts::PI;
use std::process::Command;

use super::built::{built, near};
use foamwright::pieces::mending;
use foamwright::shop::{Build, Stage};
use foamwright::solid::Solid;

fn lid(hub: f64, high: f64) -> Build {
    built(&format!(
        "shrink(0); fillets(0);
         let lid = slab(\"lid\", #{{ outline: rect(90, 60), height: 12 }});
         let hub = boss(\"hub\", #{{ on: lid.top, dia: {hub}, height: {high} }});
         bore(\"hole\", #{{ into: hub.top, dia: 12, through: true }});"
    ))
}

fn pattern(build: &Build) -> &Solid {
    &build.stage(Stage::Pattern).expect("it is built").solid
}

/// Facets stand 0.02 mm off a circle at most.
fn ring(outer: f64, inner: f64, high: f64) -> f64 {
    PI / 4.0 * (outer * outer - inner * inner) * high
}

#[test]
fn a_taller_boss_is_a_ring_to_glue_on() {
    let (old, new) = (lid(30.0, 20.0), lid(30.0, 26.0));
    let found = mending(pattern(&new), pattern(&old)).expect("it can be compared");
    assert_eq!((found.glue_in.len(), found.carve.len()), (1, 0));
    let patch = &found.glue_in[0];
    near(
        patch.volume_mm3,
        ring(30.0, 12.0, 6.0),
        0.005 * patch.volume_mm3,
    );
    near(patch.size_mm.z, 6.0, 1e-4);
    near(patch.at.z, 35.0, 1e-4);
    assert_eq!(new.part.features[patch.feature.expect("one")].name, "hub");
    // The other way round it is carved off.
    let back = mending(pattern(&old), pattern(&new)).expect("it can be compared");
    assert_eq!((back.glue_in.len(), back.carve.len()), (0, 1));
    near(back.carve[0].volume_mm3, patch.volume_mm3, 1e-3);
}

#[test]
fn a_thinner_and_taller_boss_is_carved_and_added_to() {
    let (old, new) = (lid(30.0, 20.0), lid(26.0, 25.0));
    let found = mending(pattern(&new), pattern(&old)).expect("it can be compared");
    assert_eq!((found.glue_in.len(), found.carve.len()), (1, 1));
    let (add, off) = (&found.glue_in[0], &found.carve[0]);
    near(
        add.volume_mm3,
        ring(26.0, 12.0, 5.0),
        0.005 * add.volume_mm3,
    );
    near(
        off.volume_mm3,
        ring(30.0, 26.0, 20.0),
        0.02 * off.volume_mm3,
    );
    assert_eq!(new.part.features[off.feature.expect("one")].name, "hub");
    // Old, more, less: the new pattern.
    let whole = pattern(&old).volume_mm3() + add.volume_mm3 - off.volume_mm3;
    near(whole, pattern(&new).volume_mm3(), 0.5 + found.slivers_mm3);
}

#[test]
fn what_is_too_thin_is_left_out_and_counted() {
    let (old, new) = (lid(30.0, 20.0), lid(30.2, 20.0));
    let found = mending(pattern(&new), pattern(&old)).expect("it can be compared");
    // A skin of 0.1 mm round the boss.
    assert!(found.glue_in.is_empty() && found.carve.is_empty());
    assert!(found.slivers > 0);
    near(
        found.slivers_mm3,
        ring(30.2, 30.0, 20.0),
        0.3 * found.slivers_mm3,
    );
    let same = mending(pattern(&old), pattern(&old)).expect("it can be compared");
    assert_eq!(
        (same.glue_in.len(), same.carve.len(), same.slivers),
        (0, 0, 0)
    );
}

#[test]
fn the_command_keeps_what_was_cut_and_mends_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let script = folder.path().join("lid.rhai");
    let text = "part(\"valve lid\");
let lid = slab(\"lid\", #{ outline: rect(90, 60), height: setting(\"high\", 12) });";
    std::fs::write(&script, text).expect("it is written");
    let run = |arguments: &[&str]| {
        Command::new(env!("CARGO_BIN_EXE_foamwright"))
            .current_dir(folder.path())
            .args(arguments)
            .output()
            .expect("it runs")
    };
    let said = |output: &std::process::Output| {
        String::from_utf8_lossy(&output.stdout).into_owned()
            + String::from_utf8_lossy(&output.stderr).as_ref()
    };
    // Nothing was kept yet.
    let none = run(&["mend", "lid.rhai"]);
    assert_eq!(none.status.code(), Some(2));
    assert!(said(&none).contains("--as-cut"), "{}", said(&none));
    assert_eq!(
        run(&["make", "lid.rhai", "--as-cut"]).status.code(),
        Some(0)
    );
    // A later build leaves what was cut as it is.
    std::fs::write(&script, text.replace("12", "15")).expect("it is written");
    assert_eq!(run(&["make", "lid.rhai"]).status.code(), Some(0));
    let mended = run(&["mend", "lid.rhai"]);
    assert_eq!(mended.status.code(), Some(0), "{}", said(&mended));
    let out = folder.path().join("out/lid/mend");
    let table = std::fs::read_to_string(out.join("mend.csv")).expect("a bill");
    // 3 mm more, grown by the shrink of aluminium as the script has it: one slab.
    assert_eq!(table.lines().count(), 2, "{table}");
    assert!(table.contains("glue-in-1"), "{table}");
    let patch = foamwright::shop::read_mesh(&out.join("glue-in-1.stl")).expect("a closed mesh");
    let grown = foamwright::shop::read_mesh(&folder.path().join("out/lid/pattern.stl"))
        .expect("a closed mesh");
    near(patch.volume_mm3(), grown.volume_mm3() * 3.0 / 15.0, 0.5);
    // Mended back: patches of before are gone.
    std::fs::write(&script, text).expect("it is written");
    let same = run(&["mend", "lid.rhai"]);
    assert!(
        said(&same).contains("nothing to glue in"),
        "{}",
        said(&same)
    );
    assert!(!out.join("glue-in-1.stl").exists());
    // A mesh that lies elsewhere is refused.
    let far = folder.path().join("far.rhai");
    let moved = text.replace("height:", "at: [500, 0], height:");
    std::fs::write(&far, moved).expect("it is written");
    let cut = folder.path().join("out/lid/as-cut.stl");
    let wrong = run(&["mend", "far.rhai", "--cut", &cut.to_string_lossy()]);
    assert_eq!(wrong.status.code(), Some(2), "{}", said(&wrong));
}
