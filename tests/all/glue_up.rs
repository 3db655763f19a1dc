//! The order of gluing, feet and handles, copies, and the blanks that pieces are cut from.

use std::f64::consts::PI;

use super::built::{built, near, tried};
use super::pieces::{piece, pieces, plain};
use foamwright::measure::{Bounds, Vec3};
use foamwright::pieces::{Kind, Pieces, undone};
use foamwright::sheet::bill::{bill, step_rows};
use foamwright::shop::{build_files, report_of};

const BOARD: &str = "board(#{ thickness: 50, length: 600, width: 300 });";

/// What each step sets, on what.
fn told(pieces: &Pieces) -> Vec<(String, Vec<String>)> {
    let name = |p: &usize| pieces.pieces[*p].name.clone();
    let steps = pieces.steps.iter();
    steps
        .map(|s| (name(&s.piece), s.on.iter().map(name).collect()))
        .collect()
}

fn step(piece: &str, on: &[&str]) -> (String, Vec<String>) {
    (
        piece.to_string(),
        on.iter().map(ToString::to_string).collect(),
    )
}

#[test]
fn loose_pieces_are_set_before_the_halves_are_joined() {
    // A closed box in two halves, with a stud on its floor that no hand gets to once it is shut.
    let build = plain(&format!(
        "{BOARD} min_foam(4); fillets(3);
         let block = slab(\"box\", #{{ outline: rect(120, 90), height: 60, fillet: 0 }});
         let room = pocket(\"room\", #{{ into: level(50), outline: rect(90, 60), depth: 40 }});
         boss(\"stud\", #{{ on: room.floor, dia: 20, height: 12, loose: true }});
         boss(\"knob\", #{{ on: block.top, dia: 24, height: 10, loose: true }});
         split(\"low\", #{{ at: level(30) }}); dowels(#{{ dia: 6, depth: 5, count: 2 }});"
    ));
    let pieces = pieces(&build);
    let said = told(pieces);
    let at = |name: &str| said.iter().position(|s| s.0 == name).unwrap();
    assert_eq!(said[at("stud")], step("stud", &["low"]));
    assert_eq!(said[at("knob")], step("knob", &["upper"]));
    assert_eq!(said[at("upper")], step("upper", &["low"]));
    assert!(at("stud") < at("upper"), "{said:?}");
    assert_eq!(said.len(), 3);
    // Pegs go in when the halves are joined, wax is laid with its piece.
    assert_eq!(pieces.steps[at("upper")].dowels.len(), pieces.dowels.len());
    assert_eq!(pieces.dowels.len(), 2);
    assert_eq!(pieces.steps[at("stud")].wax.len(), 1);
    let rows = step_rows(&build.part, pieces);
    assert!(
        rows[at("upper")].text.contains("over 2 dowels"),
        "{}",
        rows[at("upper")].text
    );
    let stud = &rows[at("stud")].text;
    // The foot of 20 is 63 mm round.
    assert!(
        stud.contains("wax fillet 3 mm") && stud.contains("63 mm long"),
        "{stud}"
    );
}

#[test]
fn what_stands_over_another_piece_comes_after_it() {
    // The arm of the post hangs over the pad: with it in place the pad can't be set from above.
    let build = plain(
        "let plate = slab(\"plate\", #{ outline: rect(140, 80), height: 12 });
         let post = boss(\"a post\", #{ on: plate.top, at: [-40, 0], outline: rect(20, 20), height: 40, fillet: 0, loose: true });
         boss(\"arm\", #{ on: post.side(\"right\"), at: [0, 12], outline: rect(14, 14), height: 50, fillet: 0 });
         boss(\"pad\", #{ on: plate.top, at: [0, 0], dia: 20, height: 6, fillet: 2, loose: true });",
    );
    let pieces = pieces(&build);
    assert_eq!(
        told(pieces),
        [step("pad", &["body"]), step("a post", &["body"])]
    );
}

#[test]
fn a_piece_that_bridges_two_halves_comes_last() {
    let build = plain(
        "let block = slab(\"block\", #{ outline: rect(80, 80), height: 60 });
         boss(\"ear\", #{ on: block.side(\"right\"), outline: rect(30, 30), height: 12, fillet: 0, loose: true });
         split(\"low\", #{ at: level(30) });",
    );
    let pieces = pieces(&build);
    assert_eq!(
        told(pieces),
        [step("upper", &["low"]), step("ear", &["low", "upper"])]
    );
}

#[test]
fn feet_and_handles_are_pieces_of_no_stage() {
    let script = |more: &str| {
        format!(
            "shrink([1, 2, 3]); {BOARD} let block = slab(\"block\", #{{ outline: rect(100, 60), height: 30 }});
             finish(block.bottom, 2); {more}"
        )
    };
    let bare = built(&script(""));
    let build = built(&script(
        "prop(\"foot\", #{ on: block.bottom, at: [30, 10], size: [20, 15, 40] });
         grip(\"handle\", #{ on: block.top, size: [40, 12, 45] });",
    ));
    for (a, b) in bare.stages.iter().zip(&build.stages) {
        assert_eq!(a.figures, b.figures);
    }
    let pieces = build.pieces.as_ref().unwrap();
    assert_eq!(
        told(pieces),
        [step("foot", &["whole"]), step("handle", &["whole"])]
    );
    // Its size is as cut, its place moves with the shrink, and it stands on the stock of 2.
    let foot = piece(pieces, "foot");
    assert_eq!(foot.kind, Kind::Prop);
    near(foot.volume_mm3, 20.0 * 15.0 * 40.0, 1e-2);
    let middle = foot.lay.point(foot.size_mm / 2.0);
    near(middle.x, 30.0 * 1.01, 1e-4);
    near(middle.y, 10.0 * 1.02, 1e-4);
    near(middle.z, -2.0 * 1.03 - 20.0, 1e-4);
    let bill = bill(&build.part, pieces, 25.0);
    assert_eq!(bill.pieces[1].kind, "prop");
    assert!(bill.steps[0].text.contains("cut it off before the pour"));
    let build = built(&script(
        "prop(\"foot\", #{ on: block.bottom, at: [80, 0], size: [20, 15, 40] });",
    ));
    assert!(build.findings.iter().any(|f| f.code == "unparted"));
}

#[test]
fn copies_multiply_the_bill() {
    let script = |copies: &str| {
        format!("{BOARD} slab(\"block\", #{{ outline: rect(100, 60), height: 30 }}); {copies}")
    };
    let totals = |script: &str| {
        let build = plain(script);
        bill(&build.part, build.pieces.as_ref().unwrap(), 25.0)
    };
    let (one, six) = (totals(&script("")), totals(&script("copies(6);")));
    assert_eq!((one.copies, six.copies, six.totals.pieces), (1, 6, 6));
    assert_eq!(six.pieces[0].count, 6);
    near(six.totals.volume_mm3, 6.0 * one.totals.volume_mm3, 1e-6);
    near(six.totals.foam_kg, 6.0 * one.totals.foam_kg, 1e-12);
    assert!(tried("part(\"t\"); copies(2); copies(3);").is_err());
}

#[test]
fn a_blank_holds_its_piece_by_tabs() {
    let build = plain(&format!(
        "{BOARD} cutter(#{{ dia: 6, reach: 60 }});
         slab(\"step\", #{{ outline: rect(120, 60).corners(10), height: 40 }});
         frame(#{{ rim: 20, tabs: 4, dowel_dia: 8 }});"
    ));
    let pieces = pieces(&build);
    let blank = pieces.pieces[0].blank.as_ref().unwrap();
    assert_eq!(blank.bad_edges_in_f32(), 0);
    assert_eq!(blank.figures().bodies, 1);
    // The way round the piece is 7 wide, the rim 20, and 16 more on the side of the far hole.
    let size = blank.bounds().size();
    near(size.x, 120.0 + 2.0 * 27.0 + 16.0, 1e-3);
    near(size.y, 60.0 + 2.0 * 27.0, 1e-3);
    near(size.z, 50.0, 1e-3);
    // Rim, piece and four tabs of 15 x 12 over a way of 7, less two holes of 8.
    let rim = (190.0 * 114.0 - 134.0 * 74.0) * 50.0;
    let step = (120.0 * 60.0 - (4.0 - PI) * 100.0) * 40.0;
    let holes = 2.0 * PI * 16.0 * 50.0;
    let want = rim + step - holes + 4.0 * 15.0 * 12.0 * 7.0;
    near(blank.volume_mm3(), want, 5e-4 * want);
    // Turned over about its long axis the holes lie on themselves; turned round they don't.
    let hole = |x: f64| !blank.holds(glam::DVec3::new(x, 30.0, 25.0));
    assert!(hole(-17.0) && hole(120.0 + 17.0 + 16.0));
    assert!(!hole(120.0 + 17.0));
    let report = report_of(&build, std::path::Path::new("t.rhai"), false);
    let files: Vec<String> = build_files(&build, &report)
        .into_iter()
        .map(|f| f.0.name)
        .collect();
    assert!(files.contains(&"frames/whole.stl".to_string()), "{files:?}");
}

/// Each step undone leaves what it set in one line with its seat, clear of what it was set on, by the same air for all.
#[test]
fn pieces_drawn_apart_lie_clear_along_their_joints() {
    let build = plain(&format!(
        "{BOARD} min_foam(4); fillets(3);
         let block = slab(\"box\", #{{ outline: rect(120, 90), height: 60, fillet: 0 }});
         let room = pocket(\"room\", #{{ into: level(50), outline: rect(90, 60), depth: 40 }});
         boss(\"stud\", #{{ on: room.floor, dia: 20, height: 12, loose: true }});
         boss(\"knob\", #{{ on: block.top, dia: 24, height: 10, loose: true }});
         boss(\"ear\", #{{ on: block.side(\"right\"), outline: rect(30, 30), height: 12, fillet: 0, loose: true }});
         split(\"low\", #{{ at: level(30) }});"
    ));
    let pieces = pieces(&build);
    let moves = undone(pieces);
    assert_eq!(moves.len(), pieces.steps.len());
    let at = |name: &str| pieces.pieces.iter().position(|p| p.name == name).unwrap();
    let step = |name: &str| {
        pieces
            .steps
            .iter()
            .position(|s| s.piece == at(name))
            .unwrap()
    };
    let mut both = vec![at("upper"), at("knob")];
    both.sort_unstable();
    assert_eq!(
        moves[step("upper")].pieces,
        both,
        "what is set by then goes with it"
    );
    assert_eq!(moves[step("stud")].pieces, [at("stud")]);
    for (name, way) in [
        ("upper", Vec3::Z),
        ("stud", Vec3::Z),
        ("knob", Vec3::Z),
        ("ear", Vec3::X),
    ] {
        let by = moves[step(name)].by_mm;
        assert!((by.normalize() - way).length() < 1e-9, "{name} goes {by}");
    }
    // The stud's foot is 20 mm below the joint, the others stand on theirs.
    let (stud, knob) = (moves[step("stud")].by_mm.z, moves[step("knob")].by_mm.z);
    near(stud - knob, 20.0, 1e-4);
    // All undone, no two pieces' boxes meet.
    let mut shifts = vec![Vec3::ZERO; pieces.pieces.len()];
    for moved in &moves {
        for &p in &moved.pieces {
            shifts[p] += moved.by_mm;
        }
    }
    let boxes: Vec<Bounds> = pieces
        .pieces
        .iter()
        .zip(&shifts)
        .map(|(p, by)| {
            let points = p.placed().points;
            Bounds::of(points.into_iter().map(|q| q + *by))
        })
        .collect();
    for (i, a) in boxes.iter().enumerate() {
        for b in &boxes[..i] {
            assert!(!a.meets(b), "{a:?} meets {b:?}");
        }
    }
    assert_eq!(undone(pieces), moves);
}
