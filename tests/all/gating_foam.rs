//! The gating as foam of its own: sizes, volumes and areas of glue by closed formulas of what the script draws; the
//! pieces together are the gated stage, and no two of them share foam.

use std::collections::BTreeSet;
use std::f64::consts::PI;

use super::boards::laid;
use super::built::{near, said};
use super::formulas::round;
use super::pieces::{names, piece, pieces, plain, sized};
use foamwright::fault::Level;
use foamwright::pieces::{FoamPiece, Kind, Pieces, undone};
use foamwright::sheet::bill::{bill, piece_rows, step_rows};
use foamwright::shop::{Build, Stage, build_files, report_of, write_build};
use foamwright::solid::common_volume;

const BOARD: &str = "board(#{ thickness: 50, length: 600, width: 300, margin: 10, spacing: 8 });";

const PLATE: &str = "let plate = slab(\"plate\", #{ outline: rect(120, 60), height: 12 });";

/// Two stubs, a runner over them and a sprue on it.
const SET: &str = "
    let g = gate(\"g\", #{ on: plate.top, at: [[-40, 0], [40, 0]], size: 10, length: 15 });
    let bar = runner(\"bar\", #{ size: [12, 14], joins: g });
    sprue(\"s\", #{ on: bar, height: 150, dia: [20, 16] });";

/// What f32 leaves of a volume of some 10⁵ mm³ (mm³).
const ROUNDED: f64 = 0.1;

fn gating(pieces: &Pieces) -> &[FoamPiece] {
    &pieces.pieces[pieces.of_pattern()..]
}

/// The pieces with as many patterns as the tree carries are the gated stage, and no two share foam.
fn whole(build: &Build) -> &Pieces {
    let pieces = pieces(build);
    let volume = |stage| build.stage(stage).unwrap().figures.volume_mm3;
    let trees = build.part.pours() as f64;
    assert_eq!(build.part.patterns() % build.part.to_a_pour(), 0);
    let sum = gating(pieces).iter().map(|p| p.volume_mm3 * p.count as f64);
    let want = volume(Stage::Gated) - build.part.to_a_pour() as f64 * volume(Stage::Pattern);
    near(sum.sum::<f64>() / trees, want, 1e-5 * want + ROUNDED);
    let shells: Vec<_> = pieces
        .pieces
        .iter()
        .map(|p| p.placed().as_shell())
        .collect();
    for (i, one) in shells.iter().enumerate() {
        for (k, other) in shells[..i].iter().enumerate() {
            let (shared, at) = common_volume(one, other).unwrap();
            let both = (&pieces.pieces[i].name, &pieces.pieces[k].name);
            // Two roundings to f32 of a joint of some 10³ mm².
            assert!(shared < 0.05, "{both:?} share {shared} mm³ at {at:?}");
        }
    }
    pieces
}

fn glue(pieces: &Pieces, a: &str, b: &str) -> f64 {
    let at = |name: &str| pieces.pieces.iter().position(|p| p.name == name).unwrap();
    let area = piece(pieces, a).glue_of(at(b));
    near(piece(pieces, b).glue_of(at(a)), area, 1e-9);
    area
}

#[test]
fn stubs_runner_and_sprue_are_pieces_of_their_own() {
    let build = plain(&format!("{BOARD} {PLATE} {SET}"));
    let pieces = whole(&build);
    assert_eq!(names(pieces), ["whole", "g.1", "g.2", "bar", "s"]);
    assert!(
        gating(pieces)
            .iter()
            .all(|p| p.kind == Kind::Gating && p.board.is_some())
    );
    // The runner keeps its form, the stubs end flat on it; each lies on its long side.
    let long = 80.0 + 2.0 * (6.0 + 1.0);
    sized(piece(pieces, "bar"), [long, 14.0, 12.0]);
    near(piece(pieces, "bar").volume_mm3, 12.0 * 14.0 * long, ROUNDED);
    sized(piece(pieces, "g.1"), [15.0, 10.0, 10.0]);
    near(piece(pieces, "g.2").volume_mm3, 1500.0, ROUNDED);
    // The sprue's foot is wider than the runner's upper side of 12: it straddles it. Its foot goes down to the runner's middle.
    near(piece(pieces, "s").size_mm.z, 20.0, 0.05);
    assert_eq!(piece(pieces, "s").sides, 2);
    assert_eq!(piece(pieces, "g.1").sides, 1);
    near(glue(pieces, "g.1", "whole"), 100.0, 1e-3);
    near(glue(pieces, "g.1", "bar"), 100.0, 1e-3);
    assert_eq!(glue(pieces, "g.1", "g.2"), 0.0);
    assert!(
        build
            .findings
            .iter()
            .all(|f| f.code != "unparted" && f.code != "no-board")
    );
}

#[test]
fn a_stub_on_a_drum_is_hollowed_to_it() {
    let (r, w, h, length) = (30.0f64, 14.0f64, 8.0f64, 18.0f64);
    let build = plain(&format!(
        "{BOARD} let drum = slab(\"drum\", #{{ outline: disc({}), height: 20 }});
         gate(\"g\", #{{ on: drum.around(25, 10), size: [{w}, {h}], length: {length} }});",
        2.0 * r
    ));
    let pieces = whole(&build);
    // The arc over a chord of w, and what lies between chord, arc and the touching plane.
    let arc = 2.0 * r * (w / 2.0 / r).asin();
    near(glue(pieces, "g", "whole"), arc * h, 0.01 * arc * h);
    let y = w / 2.0;
    let under = w * r - (y * (r * r - y * y).sqrt() + r * r * (y / r).asin());
    let stub = piece(pieces, "g");
    near(
        stub.volume_mm3,
        h * (w * length + under),
        0.02 * w * h + ROUNDED,
    );
    // It lies so that the hollow stands upright: one side.
    assert_eq!(stub.sides, 1);
    near(stub.size_mm.z, h, 1e-4);
}

#[test]
fn a_round_stub_stands_on_its_end() {
    let build = plain(&format!(
        "{BOARD} {PLATE} gate(\"g\", #{{ on: plate.side(\"left\"), dia: 9, length: 20 }});"
    ));
    let pieces = whole(&build);
    let stub = piece(pieces, "g");
    near(stub.size_mm.z, 20.0, 1e-4);
    assert_eq!(stub.sides, 1);
    near(
        stub.volume_mm3,
        PI * 81.0 / 4.0 * 20.0,
        round(9.0, 20.0) + ROUNDED,
    );
    near(
        glue(pieces, "g", "whole"),
        PI * 81.0 / 4.0,
        round(9.0, 1.0) + 1e-3,
    );
}

#[test]
fn risers_ties_and_feeders_are_pieces_too() {
    let build = plain(&format!(
        "{BOARD} {PLATE}
         let high = boss(\"high\", #{{ on: plate.top, at: [-40, 0], dia: 24, height: 30 }});
         let post = boss(\"post\", #{{ on: plate.top, at: [0, 20], outline: rect(10, 10), height: 30 }});
         gate(\"a\", #{{ on: high.top, size: 10, length: 15 }});
         gate(\"b\", #{{ on: plate.top, at: [40, 0], size: 10, length: 15 }});
         let bar = runner(\"bar\", #{{ size: 10, joins: [\"a\", \"b\"] }});
         feeder(\"f\", #{{ on: plate.top, at: [20, -15], dia: 20, height: 30 }});
         tie(\"t\", #{{ from: [-34, 10, 30], to: [-5, 20, 30], size: [6, 6] }});"
    ));
    let pieces = whole(&build);
    let own: BTreeSet<&str> = gating(pieces).iter().map(|p| p.name.as_str()).collect();
    assert_eq!(
        own,
        BTreeSet::from(["a", "b", "bar", "bar riser", "f", "t"])
    );
    // From the lower stub's end up to the runner's underside.
    near(
        piece(pieces, "bar riser").volume_mm3,
        10.0 * 10.0 * 30.0,
        ROUNDED,
    );
    let order: Vec<&str> = pieces
        .steps
        .iter()
        .map(|s| pieces.pieces[s.piece].name.as_str())
        .collect();
    assert_eq!(order, ["a", "b", "f", "t", "bar riser", "bar"]);
}

#[test]
fn what_is_longer_than_a_board_is_cut_in_lengths() {
    // 580 inside the margins: a runner of 814 goes in two, a round feeder of 60 × 80 stands in two of 40.
    let build = plain(&format!(
        "{BOARD} let bed = slab(\"bed\", #{{ outline: rect(500, 60), height: 12 }});
         let g = gate(\"g\", #{{ on: bed.top, at: [[-100, 0], [100, 0]], size: 10, length: 15 }});
         runner(\"bar\", #{{ size: [12, 14], path: [[-400, 0, 34], [414, 0, 34]] }});"
    ));
    let pieces = whole(&build);
    for name in ["bar.1", "bar.2"] {
        sized(piece(pieces, name), [407.0, 14.0, 12.0]);
    }
    near(glue(pieces, "bar.1", "bar.2"), 12.0 * 14.0, 1e-3);
    let last = pieces.steps.last().unwrap();
    let on: Vec<&str> = last
        .on
        .iter()
        .map(|&p| pieces.pieces[p].name.as_str())
        .collect();
    assert_eq!(on, ["g.2", "bar.1"]);
    assert!(said(&build).iter().all(|f| f.0 != "no-board"));

    let tall = plain(&format!(
        "{BOARD} let block = slab(\"block\", #{{ outline: disc(100), height: 40 }});
         feeder(\"f\", #{{ on: block.top, dia: 60, height: 80 }});"
    ));
    let pieces = whole(&tall);
    for name in ["f.1", "f.2"] {
        near(piece(pieces, name).size_mm.z, 40.0, 1e-4);
        assert_eq!(piece(pieces, name).sides, 1);
    }
    near(
        glue(pieces, "f.1", "f.2"),
        PI * 900.0,
        round(60.0, 1.0) + 1e-3,
    );
}

#[test]
fn a_runner_that_turns_is_cut_at_its_corners_where_it_must() {
    let build = plain(&format!(
        "{BOARD} {PLATE}
         gate(\"g\", #{{ on: plate.side(\"left\"), size: 10, length: 20 }});
         runner(\"bar\", #{{ size: 12, path: [[-86, -250, 6], [-86, 250, 6], [314, 250, 6]] }});"
    ));
    let pieces = whole(&build);
    // Legs of 500 and 400 along their middle, each half a width longer on the outside of the mitre.
    sized(piece(pieces, "bar.1"), [506.0, 12.0, 12.0]);
    sized(piece(pieces, "bar.2"), [406.0, 12.0, 12.0]);
    // The mitre: 12 by 12 √2.
    near(glue(pieces, "bar.1", "bar.2"), 144.0 * 2f64.sqrt(), 1e-3);
}

#[test]
fn what_no_board_takes_is_found() {
    // Sections of 40 × 35 go on no board 30 wide, however short they are cut; those of 40 × 25 do, in lengths of 20.
    let found = |section: &str| {
        let build = plain(&format!(
            "board(#{{ thickness: 20, length: 200, width: 30, margin: 0 }});
             let block = slab(\"block\", #{{ outline: rect(60, 60), height: 60 }});
             gate(\"g\", #{{ on: block.top, size: {section}, length: 40 }});"
        ));
        let all = build.findings.iter().filter(|f| f.code == "no-board");
        let own = all.filter(|f| f.features[0].0.starts_with('g'));
        let names = gating(build.pieces.as_ref().unwrap()).iter();
        let names: Vec<String> = names.map(|p| p.name.clone()).collect();
        (own.map(|f| f.level).collect::<Vec<_>>(), names)
    };
    let (levels, names) = found("[40, 35]");
    assert_eq!((levels, names), (vec![Level::Stop], vec!["g".to_string()]));
    let (levels, names) = found("[40, 25]");
    assert_eq!(levels, []);
    assert_eq!(names, ["g.1", "g.2"]);
}

#[test]
fn the_bill_tells_gating_from_pattern() {
    let build = laid(&format!("{BOARD} {PLATE} {SET}"));
    let pieces = pieces(&build);
    let all = bill(&build.part, pieces, 20.0);
    let of: Vec<_> = all.pieces.iter().filter(|p| p.kind == "gating").collect();
    assert_eq!(of.len(), 4);
    assert!(
        of.iter()
            .all(|p| p.note.as_deref() == Some("glue on after coating") && p.at.is_some())
    );
    let volume = |stage| build.stage(stage).unwrap().figures.volume_mm3;
    near(all.totals.foam_kg, volume(Stage::Gated) * 20e-9, 1e-8);
    near(
        all.totals.gating_foam_kg,
        (volume(Stage::Gated) - volume(Stage::Pattern)) * 20e-9,
        1e-8,
    );
    let rows = piece_rows(&build.part, pieces, 20.0);
    assert_eq!(rows[0].note, None);
    let mut reader = csv::Reader::from_reader(
        all.csv()
            .trim_start_matches('\u{feff}')
            .as_bytes()
            .to_vec()
            .leak() as &[u8],
    );
    let notes: Vec<String> = {
        let heads = reader.headers().unwrap().clone();
        let column = heads.iter().position(|h| h == "note").unwrap();
        reader
            .records()
            .map(|r| r.unwrap()[column].to_string())
            .collect()
    };
    assert_eq!(
        notes
            .iter()
            .filter(|n| *n == "glue on after coating")
            .count(),
        4
    );
    // All on boards, each once.
    let boards = build.boards.as_ref().unwrap();
    assert!(boards.unplaced.is_empty());
    let placed: usize = boards.boards.iter().map(|b| b.placed.len()).sum();
    assert_eq!(placed, 5);
}

#[test]
fn gating_is_glued_on_after_all_else() {
    let build = plain(&format!(
        "{BOARD} {PLATE} split(\"low\", #{{ at: level(6) }});
         prop(\"foot\", #{{ on: plate.bottom, size: [20, 20, 20] }}); {SET}"
    ));
    let pieces = whole(&build);
    let rows = step_rows(&build.part, pieces);
    let told: Vec<&str> = rows.iter().map(|r| r.text.as_str()).collect();
    assert_eq!(
        told[1..],
        [
            "glue foot to low; cut it off before the pour",
            "after coating, glue g.1 to upper",
            "after coating, glue g.2 to upper",
            "after coating, glue bar to g.1 and g.2",
            "after coating, glue s to bar",
        ]
    );
    // Drawn apart, the stubs rise off the plate and the sprue off the runner.
    let apart = undone(pieces);
    assert!(apart[2..].iter().all(|u| u.by_mm.z > 1.0), "{apart:?}");
}

#[test]
fn a_tree_cuts_stubs_for_each_pattern_and_one_runner() {
    let script = |copies: &str| {
        plain(&format!(
            "{BOARD} let arm = slab(\"arm\", #{{ outline: rect(70, 24), height: 12 }}); {copies}
             tree(#{{ copies: 4, step: [0, 40, 0] }});
             let g = gate(\"gate\", #{{ on: arm.side(\"left\"), size: [14, 9], length: 12 }});
             let bar = runner(\"bar\", #{{ size: 16, joins: g }});
             sprue(\"sprue\", #{{ on: bar, dia: [26, 20], height: 180 }});"
        ))
    };
    let counts = |pieces: &Pieces| -> Vec<(String, usize)> {
        pieces
            .pieces
            .iter()
            .map(|p| (p.name.clone(), p.count))
            .collect()
    };
    let want = |all: [(&str, usize); 4]| all.map(|(name, n)| (name.to_string(), n)).to_vec();
    let one = script("");
    let pieces = whole(&one);
    assert_eq!(
        counts(pieces),
        want([("whole", 4), ("gate", 4), ("bar", 1), ("sprue", 1)])
    );
    near(glue(pieces, "gate", "whole"), 14.0 * 9.0, 1e-3);
    // Four stubs on one runner.
    let bar = piece(pieces, "bar");
    near(bar.glue_of(1), 4.0 * 14.0 * 9.0, 1e-2);
    let all = bill(&one.part, pieces, 20.0);
    // Both ends of four stubs, and the sprue's foot of 20 on a runner of 16.
    let sprue = bar.glue_of(3);
    near(all.totals.glue_mm2, 8.0 * 14.0 * 9.0 + sprue, 1e-2);
    let rows = step_rows(&one.part, pieces);
    assert_eq!(
        rows[0].text,
        "after coating, glue gate to whole, on each pattern of the tree"
    );
    let eight = script("copies(8);");
    assert_eq!(
        counts(whole(&eight)),
        want([("whole", 8), ("gate", 8), ("bar", 2), ("sprue", 2)])
    );
    // The second tree is left half empty.
    let six = script("copies(6);");
    assert_eq!(
        counts(super::pieces::pieces(&six)),
        want([("whole", 6), ("gate", 6), ("bar", 2), ("sprue", 2)])
    );
}

#[test]
fn turned_patterns_of_a_tree_are_alike() {
    let build = plain(&format!(
        "{BOARD} let arm = slab(\"arm\", #{{ outline: rect(70, 24), height: 12 }});
         tree(#{{ copies: 3, about: [-80, 0] }});
         let g = gate(\"gate\", #{{ on: arm.side(\"left\"), size: [14, 9], length: 35 }});
         sprue(\"sprue\", #{{ on: runner(\"hub\", #{{ dia: 30, path: [[-80, 0, -4], [-80, 0, 20]] }}), dia: [26, 20], height: 180 }});"
    ));
    let pieces = whole(&build);
    let counts: Vec<(&str, usize)> = gating(pieces)
        .iter()
        .map(|p| (p.name.as_str(), p.count))
        .collect();
    assert_eq!(counts, [("gate", 3), ("hub", 1), ("sprue", 1)]);
}

#[test]
fn the_package_is_the_pattern_and_files_hold_the_gating() {
    let build = laid(&format!("{BOARD} {PLATE} {SET}"));
    let report = report_of(&build, std::path::Path::new("t.rhai"), false);
    let made: Vec<String> = build_files(&build, &report)
        .into_iter()
        .map(|(o, _)| o.name)
        .collect();
    for name in ["pieces/g.1.stl", "pieces/bar.stl", "pieces/s.stl"] {
        assert!(made.iter().any(|n| n == name), "{made:?}");
    }
    let dir = tempfile::tempdir().unwrap();
    write_build(&build, &report, dir.path()).unwrap();
    let sheet = std::fs::read_to_string(dir.path().join("sheet.html")).unwrap();
    assert!(sheet.contains("(gating: glue on after coating)"));
    assert!(sheet.contains("<h3>Glue on after coating</h3>"));
    // One bare pattern: 120 × 60 × 12 of the densities' own foam, gating not counted.
    let pattern = report.pieces.as_ref().unwrap()[0].foam_kg * 1e3;
    assert!(sheet.contains(&format!("{pattern:.0} g")), "{pattern}");
    assert!(sheet.contains(&format!("bare it weighs {pattern:.0} g")));
}

#[test]
fn blanks_hold_the_gating_too() {
    let build = plain(&format!(
        "{BOARD} {PLATE} {SET} frame(#{{ rim: 15, tabs: 2, dowel_dia: 6 }});"
    ));
    assert!(whole(&build).pieces.iter().all(|p| p.blank.is_some()));
}

#[test]
fn a_stepped_runner_is_glued_up_of_its_stretches() {
    let build = plain(&format!(
        "{BOARD} {PLATE}
         let g = gate(\"g\", #{{ on: plate.top, at: [[-50, 0], [0, 0], [50, 0]], size: 10, length: 15 }});
         runner(\"bar\", #{{ sizes: [[16, 20], [12, 14]], joins: g }});"
    ));
    let pieces = whole(&build);
    // As the volumes in `gating.rs`: 65 and 51 long.
    sized(piece(pieces, "bar.1"), [65.0, 20.0, 16.0]);
    sized(piece(pieces, "bar.2"), [51.0, 14.0, 12.0]);
}
