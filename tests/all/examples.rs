//! The parts in `scripts/`: they build without a finding that wants a second look, and measure what their
//! drawings say. Through holes are counted by hand from the scripts; sizes are theirs too.

use std::path::{Path, PathBuf};

use foamwright::fault::{Level, render_all};
use foamwright::shop::{Bench, Build, Stage, Wish};

use crate::built::figures;

/// The examples, by file name without its end.
pub const EXAMPLES: [&str; 3] = ["pump-cover", "gearbox-cover", "control-lever"];

/// Two boards of 2 in, and one (mm).
const BOARD_MM: f64 = 50.8;

/// Where an example lies.
pub fn path_of(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("scripts")
        .join(format!("{name}.rhai"))
}

/// An example, built with settings from outside.
pub fn example_with(name: &str, overrides: &[(String, String)]) -> Build {
    let wish = Wish {
        overrides: overrides.to_vec(),
        ..Wish::default()
    };
    let built = Bench::new().build(&path_of(name), &wish, &|_| {});
    built.unwrap_or_else(|failure| {
        let shown = render_all(&failure.faults, &|f| failure.texts.get(f).cloned());
        panic!("{name}: {shown}")
    })
}

fn example(name: &str) -> Build {
    example_with(name, &[])
}

/// The rows of the control lever's sizes, as settings.
pub fn lever_rows() -> Vec<Vec<(String, String)>> {
    let path = path_of("control-lever").with_file_name("control-lever-sizes.csv");
    let text = std::fs::read_to_string(path).expect("the sizes are there");
    let mut lines = text.lines().map(|l| l.split(','));
    let head: Vec<&str> = lines.next().expect("a head").collect();
    lines
        .map(|row| {
            head.iter()
                .zip(row)
                .map(|(name, value)| (name.to_string(), value.to_string()))
                .collect()
        })
        .collect()
}

/// Nothing above a note, and notes only of the kinds named; but what goes in from a side, or stands out over the rim,
/// is out of reach in one piece: these features and no others.
#[track_caller]
fn only_notes(build: &Build, codes: &[&str], out_of_reach: &[&str]) {
    let hidden: Vec<&str> = build
        .findings
        .iter()
        .filter(|f| f.code == "out-of-reach")
        .map(|f| f.features[0].0.as_str())
        .collect();
    assert_eq!(hidden, out_of_reach);
    let wrong: Vec<&str> = build
        .findings
        .iter()
        .filter(|f| f.code != "out-of-reach")
        .filter(|f| f.level != Level::Note || !codes.contains(&f.code))
        .map(|f| f.text.as_str())
        .collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// Overall size along one axis (mm).
fn across(build: &Build, stage: Stage, axis: usize) -> f64 {
    let figures = figures(build, stage);
    (figures.high_mm - figures.low_mm)[axis]
}

#[test]
fn pump_cover_is_one_board_thick() {
    let build = example("pump-cover");
    only_notes(
        &build,
        &[
            "drill-later",
            "hot-corner",
            "kept-open",
            "no-sand",
            "saw-plane",
            "sharp-inside",
        ],
        // The pipes are loose: a cutter reaches all of every piece.
        &[],
    );
    let (finished, casting) = (
        figures(&build, Stage::Finished),
        figures(&build, Stage::Casting),
    );
    // Six bolts, four flange bolts, the bleed hole, the seal, inlet and outlet; cast open: the last three.
    assert_eq!((finished.bodies, finished.handles), (1, 14));
    assert_eq!((casting.bodies, casting.handles), (1, 3));
    // Plate 10, body 28, seal pad 6; stock 2 below and 1.5 above.
    assert!((across(&build, Stage::Finished, 2) - 44.0).abs() < 1e-4);
    assert!((across(&build, Stage::Casting, 2) - 47.5).abs() < 1e-4);
    assert!(across(&build, Stage::Pattern, 2) < BOARD_MM);
}

#[test]
fn gearbox_cover_is_two_boards_thick_and_rich() {
    let build = example("gearbox-cover");
    // What stands on its sides, and the tunnel, is loose: a cutter reaches all of every piece.
    only_notes(
        &build,
        &[
            "drill-later",
            "heavy",
            "hot-corner",
            "no-sand",
            "saw-plane",
            "sharp-inside",
            "wall-cut",
        ],
        &[],
    );
    assert!(
        (60..=100).contains(&build.part.features.len()),
        "{} features",
        build.part.features.len()
    );
    let (finished, casting) = (
        figures(&build, Stage::Finished),
        figures(&build, Stage::Casting),
    );
    // Fourteen bolts, two dowels, two shafts, the window, level plug, drain, breather; the tunnel across the
    // chamber is a bar that makes one handle and its inside another.
    assert_eq!((finished.bodies, finished.handles), (1, 24));
    // Bolts, dowels, drain, level plug and breather are drilled later.
    assert_eq!((casting.bodies, casting.handles), (1, 5));
    // Rim 1/2, housing 2-1/4, hubs 0.85; stock 3/32 on both sides.
    assert!((across(&build, Stage::Finished, 2) - 3.6 * 25.4).abs() < 1e-4);
    assert!((across(&build, Stage::Casting, 2) - (3.6 + 2.0 * 3.0 / 32.0) * 25.4).abs() < 1e-4);
    let high = across(&build, Stage::Pattern, 2);
    assert!(high > BOARD_MM && high < 2.0 * BOARD_MM, "{high} mm");
}

#[test]
fn control_lever_is_a_family() {
    let rows = lever_rows();
    assert!(rows.len() >= 3, "three sizes or more");
    for row in rows {
        let build = example_with("control-lever", &row);
        let codes = [
            "drill-later",
            "gate-weak",
            "heavy",
            "hot-corner",
            "no-sand",
            "saw-plane",
            "sharp-inside",
        ];
        only_notes(&build, &codes, &[]);
        let figures = figures(&build, Stage::Finished);
        // Shaft and pin go through.
        assert_eq!((figures.bodies, figures.handles), (1, 2), "{row:?}");
        let value = |name: &str| -> f64 {
            let (_, text) = row.iter().find(|(n, _)| n == name).expect("a setting");
            text.parse().expect("a number")
        };
        // Hub's circle on the left, the pin's on the right: 2 d + 4, and 14 more round them.
        let (shaft, pin) = (value("shaft"), value("pin"));
        let long = value("reach") + (2.0 * shaft + 18.0) / 2.0 + (2.0 * pin + 18.0) / 2.0;
        assert!((across(&build, Stage::Finished, 0) - long).abs() < 0.05);
        // Arm and hub: 1.2 d + 4 above, 4 below.
        assert!((across(&build, Stage::Finished, 2) - (1.2 * shaft + 8.0)).abs() < 1e-4);
    }
}

/// The same part drawn ten times finer has the same volume within 0.1 %.
fn hardly_changes_when_finer(name: &str) {
    let fine = Wish {
        facet_mm: Some(0.002),
        ..Wish::default()
    };
    let fine = Bench::new().build(&path_of(name), &fine, &|_| {});
    let fine = figures(&fine.expect("it builds finer"), Stage::Finished).volume_mm3;
    let plain = figures(&example(name), Stage::Finished).volume_mm3;
    let off = (plain / fine - 1.0).abs();
    assert!(off < 1e-3, "{name}: {plain} and {fine} mm³");
}

#[test]
fn the_pump_cover_hardly_changes_when_finer() {
    hardly_changes_when_finer("pump-cover");
}

#[test]
fn the_gearbox_cover_hardly_changes_when_finer() {
    hardly_changes_when_finer("gearbox-cover");
}

#[test]
fn the_control_lever_hardly_changes_when_finer() {
    hardly_changes_when_finer("control-lever");
}
