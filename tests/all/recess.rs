//! Recesses under loose pieces: pocket and foot are closed formulas of the shapes drawn and fill each other to the last
//! bit; pieces never overlap; what can't be cut, or would break, is refused at the script's line.

use std::f64::consts::PI;

use super::built::{near, said};
use super::dowels::in_foam;
use super::pieces::{names, piece, pieces, plain};
use super::sheet_caliper::{bands, under};
use foamwright::pieces::{Kind, Pieces};
use foamwright::sheet::bill::bill;
use foamwright::shop::Build;
use foamwright::solid::common_volume;

const PLATE: &str = "min_foam(4); board(#{ thickness: 50, length: 600, width: 300 });
    let plate = slab(\"plate\", #{ outline: rect(120, 80), height: 30 });";

/// What the plate holds whole (mm³).
const WHOLE: f64 = 120.0 * 80.0 * 30.0;

/// The pieces, of which no two share more than the rounding to f32 of what they touch in.
fn apart(build: &Build) -> &Pieces {
    let pieces = pieces(build);
    let shells: Vec<_> = pieces
        .pieces
        .iter()
        .map(|p| p.placed().as_shell())
        .collect();
    for (i, a) in shells.iter().enumerate() {
        for (k, b) in shells[..i].iter().enumerate() {
            let touch = pieces.pieces[i].glue_of(k);
            let (volume, _) = common_volume(a, b).unwrap();
            assert!(volume <= 1e-5 * touch, "{volume} of {touch} mm²");
        }
    }
    pieces
}

/// A boss on the plate by its keys, 24 high.
fn on_plate(keys: &str) -> Build {
    plain(&format!(
        "{PLATE} boss(\"post\", #{{ on: plate.top, at: [10, 5], height: 24, {keys} }});"
    ))
}

/// The pocket's volume, by what the plate lacks.
fn pocket(pieces: &Pieces) -> f64 {
    WHOLE - piece(pieces, "body").volume_mm3
}

/// A cylinder's volume and, for its facets of 0.02 and the swell of a thousandth, how far a mesh may be off it.
fn round(radius: f64, deep: f64) -> (f64, f64) {
    (
        PI * radius * radius * deep,
        2.0 * PI * radius * deep * 0.021,
    )
}

#[test]
fn a_round_foot_is_let_in_by_its_own_section() {
    let build = on_plate("dia: 40, fillet: 4, loose: #{ recess: 3 }");
    let let_in = apart(&build);
    assert!(said(&build).is_empty(), "{:?}", said(&build));
    assert_eq!(names(let_in), ["body", "post"]);
    let (volume, off) = round(20.0, 3.0);
    near(pocket(let_in), volume, off);
    let (volume, off) = round(20.0, 27.0);
    near(piece(let_in, "post").volume_mm3, volume, off);
    near(piece(let_in, "post").size_mm.z, 27.0, 1e-3);
    // It is glued over the pocket's floor and wall.
    let glue = PI * 400.0 + PI * 40.0 * 3.0;
    near(
        piece(let_in, "post").glued[0].area_mm2,
        glue,
        PI * 40.0 * 0.05,
    );
    // The seat is drawn in the plate's face.
    assert_eq!(let_in.seats[0].loops.len(), 1);
    for p in &let_in.seats[0].loops[0] {
        near(p.z, 30.0, 1e-3);
    }
    // Wax lies at the same corner as without.
    let flat = on_plate("dia: 40, fillet: 4, loose: true");
    let flat = &pieces(&flat).wax[0];
    near(let_in.wax[0].length_mm, flat.length_mm, 1e-6);
    near(let_in.wax[0].volume_mm3, flat.volume_mm3, 1e-6);
    let bill = bill(&build.part, let_in, 25.0);
    assert_eq!(
        bill.steps[0].text,
        "glue post to body, set in its pocket, 3 mm deep; wax fillet 4 mm round its foot, 126 mm long"
    );
    assert_eq!(bill.steps[0].recess_mm, Some(3.0));
    assert!(
        bill.csv().contains("its foot goes 3 mm into a pocket"),
        "{}",
        bill.csv()
    );
}

#[test]
fn square_and_drafted_feet_are_let_in_straight() {
    let build = on_plate("outline: rect(40, 30), fillet: 0, loose: #{ recess: 2.5 }");
    let let_in = apart(&build);
    // To the swell of a thousandth on each side.
    near(pocket(let_in), 40.0 * 30.0 * 2.5, 140.0 * 2.5 * 1.1e-3);
    near(piece(let_in, "post").volume_mm3, 1200.0 * 26.5, 1.0);
    let build = on_plate("dia: 40, draft: 3, fillet: 2, loose: #{ recess: 3 }");
    let let_in = apart(&build);
    let foot = 20.0 + 24.0 * 3f64.to_radians().tan();
    let (volume, off) = round(foot, 3.0);
    near(pocket(let_in), volume, off);
    near(piece(let_in, "post").size_mm.x, 2.0 * foot, 0.01);
}

/// Its depth is as cut, whatever the shrink; the pocket is in the floor of a room, 20 under the top.
#[test]
fn a_foot_is_let_into_an_openings_floor() {
    let build = super::built::built(&format!(
        "shrink(2); {PLATE} let room = pocket(\"room\", #{{ into: plate.top, outline: rect(90, 60), depth: 18 }});
         boss(\"post\", #{{ on: room.floor, dia: 30, height: 12, fillet: 2, loose: #{{ recess: 3 }} }});"
    ));
    let let_in = apart(&build);
    near(piece(let_in, "post").size_mm.z, 12.0 * 1.02 + 3.0, 1e-3);
    let room = 90.0 * 60.0 * 18.0 * 1.02f64.powi(3);
    let (volume, off) = round(15.3, 3.0);
    let body = WHOLE * 1.02f64.powi(3) - room - volume;
    near(piece(let_in, "body").volume_mm3, body, off + 0.5);
}

/// A pad hangs from the roof of a box, 12 thick, on pegs and let in: its seat looks down.
#[test]
fn a_foot_is_let_into_a_roof() {
    let build = plain(
        "min_foam(4); let block = slab(\"block\", #{ outline: rect(120, 80), height: 50 });
         let room = hollow(\"room\", #{ of: block, open: block.bottom, wall: 6, floor: 12, fillet: 3 });
         boss(\"pad\", #{ on: room.floor, at: [5, 0], dia: 40, height: 14, fillet: 2,
             loose: #{ recess: 2, peg: #{ dia: 5, depth: 4 } } });",
    );
    let let_in = apart(&build);
    assert!(said(&build).is_empty(), "{:?}", said(&build));
    near(piece(let_in, "pad").size_mm.z, 16.0, 1e-3);
    assert_eq!(let_in.dowels.len(), 2);
    in_foam(&build, let_in, 4.0);
    for d in &let_in.dowels {
        near(d.at.z, 40.0, 1e-3);
    }
}

/// A hole in the foot stays one: an island stands in the pocket where it ends at the seat, and nothing where it goes on.
#[test]
fn a_bored_foot_leaves_what_stands_in_its_bore() {
    let build = on_plate("dia: 40, bore: 20, fillet: 0, loose: #{ recess: 3 }");
    let let_in = apart(&build);
    let ((outer, off), (inner, less)) = (round(20.0, 3.0), round(10.0, 3.0));
    near(pocket(let_in), outer - inner, off + less);
    assert_eq!(let_in.seats[0].loops.len(), 2);
    let build = plain(&format!(
        "{PLATE} let post = boss(\"post\", #{{ on: plate.top, dia: 40, height: 24, fillet: 0, loose: #{{ recess: 3 }} }});
         bore(\"hole\", #{{ into: post.top, dia: 20, through: true }});"
    ));
    let let_in = apart(&build);
    let (hole, wide) = round(10.0, 30.0);
    near(pocket(let_in), outer - inner + hole, off + less + wide);
    let (tall, off) = round(20.0, 27.0);
    let (bored, less) = round(10.0, 27.0);
    near(piece(let_in, "post").volume_mm3, tall - bored, off + less);
}

#[test]
fn pegs_go_in_from_the_pockets_floor() {
    let source = format!(
        "{PLATE} let post = boss(\"post\", #{{ on: plate.top, dia: 40, height: 24, fillet: 2 }});
         loose(post, #{{ recess: 3, peg: #{{ dia: 6, depth: 8 }} }});"
    );
    let build = plain(&source);
    let let_in = apart(&build);
    assert_eq!(let_in.dowels.len(), 2);
    in_foam(&build, let_in, 4.0);
    for d in &let_in.dowels {
        near(d.at.z, 27.0, 1e-3);
        near(d.depth_mm, 8.0, 1e-12);
    }
    let step = &bill(&build.part, let_in, 25.0).steps[0];
    let said = "glue post to body, set in its pocket, 3 mm deep, over 2 dowels; wax fillet 2 mm";
    assert!(step.text.starts_with(said), "{}", step.text);
    // The card: the pocket's middle is the plate's, its holes are in both pieces, 8 deep from the foot and the floor.
    let bands = bands(&format!("shrink(0); {source}"));
    under(&bands, "1 body", "pocket for post, depth 3 60 / 40");
    under(&bands, "1 body", "dowel hole × 2, dia 6 ");
    under(&bands, "2 post", "dowel hole × 2, dia 6 ");
    let deep = under(&bands, "2 post", "dowel hole × 2, depth 8 ");
    assert!(deep.contains("the same places"), "{deep}");
}

/// A post higher than the board comes in two; only the lower one is let in. Its wax runs round it once.
#[test]
fn a_split_through_the_piece_leaves_its_foot_whole() {
    let build = plain(&format!(
        "{PLATE} boss(\"post\", #{{ on: plate.top, dia: 40, height: 64, fillet: 3, loose: #{{ recess: 3 }} }}); auto_split();"
    ));
    let let_in = apart(&build);
    let posts: Vec<usize> = (0..let_in.pieces.len())
        .filter(|&p| matches!(let_in.pieces[p].kind, Kind::Loose(_)))
        .collect();
    assert_eq!(posts.len(), 2);
    let deep: Vec<_> = posts.iter().map(|&p| let_in.recess_of(p)).collect();
    assert_eq!(deep, [Some(3.0), None]);
    let high: f64 = posts.iter().map(|&p| let_in.pieces[p].size_mm.z).sum();
    near(high, 67.0, 1e-2);
    let wax: f64 = let_in.wax.iter().map(|w| w.length_mm).sum();
    near(wax, PI * 40.0, 0.2);
}

/// A plate in two halves along the post's middle is cut from its joint, where half the pocket is open to the cutter.
#[test]
fn a_pocket_parted_by_an_upright_split_is_in_both_halves() {
    let build = plain(&format!(
        "{PLATE} boss(\"post\", #{{ on: plate.top, dia: 40, height: 24, fillet: 0, loose: #{{ recess: 3 }} }});
         split(\"front\", #{{ at: face(#{{ at: [0, 0, 0], facing: [0, 1, 0] }}) }});"
    ));
    let let_in = apart(&build);
    let (volume, off) = round(20.0, 1.5);
    for half in ["front", "upper"] {
        near(piece(let_in, half).volume_mm3, WHOLE / 2.0 - volume, off);
    }
}

#[test]
fn mirrored_pieces_and_those_of_one_name_are_all_let_in() {
    let build = plain(&format!(
        "{PLATE} let pads = boss(\"pad\", #{{ on: plate.top, at: [[40, 20], [40, -20]], dia: 16, height: 8, fillet: 0 }});
         loose(pads, #{{ recess: 2, peg: #{{ dia: 3, depth: 4, count: 1 }} }});
         mirrored(\"left\", [pads], \"x\");"
    ));
    let let_in = apart(&build);
    let feet = (0..let_in.pieces.len()).filter(|&p| let_in.recess_of(p) == Some(2.0));
    assert_eq!((feet.count(), let_in.dowels.len()), (4, 4));
    let pegs: f64 = let_in.dowels.iter().map(|d| d.volume_mm3 / 2.0).sum();
    let (volume, off) = round(8.0, 2.0);
    near(pocket(let_in), 4.0 * volume + pegs, 4.0 * off);
}

/// A pad of 10 is let into the plate by 3, and carries a stud that is let into it by 2.
#[test]
fn a_loose_piece_is_let_into_another() {
    let build = plain(&format!(
        "{PLATE} let pad = boss(\"pad\", #{{ on: plate.top, dia: 50, height: 10, fillet: 0, loose: #{{ recess: 3 }} }});
         boss(\"stud\", #{{ on: pad.top, outline: rect(20, 20), height: 15, fillet: 0, loose: #{{ recess: 2 }} }});"
    ));
    let let_in = apart(&build);
    let (volume, off) = round(25.0, 13.0);
    near(piece(let_in, "pad").volume_mm3, volume - 800.0, off + 0.2);
    near(piece(let_in, "stud").volume_mm3, 400.0 * 17.0, 1.0);
}

/// A plane that touches a round post cuts the ear's foot off flat: its pegs lie in foam on both sides.
#[test]
fn pegs_hold_what_stands_on_a_round_post() {
    let build = plain(
        "min_foam(3); let post = slab(\"post\", #{ outline: disc(90), height: 60 });
         boss(\"ear\", #{ on: post.around(0, 30), dia: 30, height: 20, fillet: 0, loose: #{ peg: #{ dia: 4, depth: 8 } } });",
    );
    let set = apart(&build);
    assert_eq!(set.dowels.len(), 2);
    in_foam(&build, set, 3.0);
    for d in &set.dowels {
        near(d.at.x, 45.0, 1e-3);
        near(d.depth_mm, 8.0, 1e-12);
    }
}

/// What is refused: the keys of the boss, what is said after it, and words of the finding. It stands at the boss's line.
const REFUSED: [(&str, &str, &str); 8] = [
    ("at: [45, 0], dia: 40", "", "would come out of plate"),
    ("at: [40, 0], dia: 40", "", "would come out of plate"),
    (
        "at: [38, 0], dia: 40",
        "",
        "would leave 2 mm of foam beside it",
    ),
    ("outline: rect(130, 90)", "", "would come out of plate"),
    (
        "dia: 40",
        "pocket(\"room\", #{ into: plate.bottom, outline: rect(60, 60), depth: 24 });",
        "would leave 3 mm of foam under it, and less than 4 mm breaks",
    ),
    (
        "dia: 40",
        "bore(\"way\", #{ into: plate.side(\"left\"), dia: 20, through: true });",
        "would leave 2 mm of foam under it",
    ),
    (
        "dia: 40",
        "split(\"low\", #{ at: level(25) });",
        "would leave 2 mm of foam under it",
    ),
    (
        "dia: 40",
        "split(\"low\", #{ at: level(28.5) });",
        "a split runs beside its floor",
    ),
];

#[test]
fn pockets_that_break_or_come_out_are_refused() {
    for (keys, more, words) in REFUSED {
        let build = plain(&format!(
            "{PLATE}\nboss(\"post\", #{{ on: plate.top, {keys}, height: 24, fillet: 0, loose: #{{ recess: 3 }} }});\n{more}"
        ));
        refused(&build, words, 3);
    }
    // A cutter that comes from above and below doesn't get into a side.
    let build = plain(
        "let block = slab(\"block\", #{ outline: rect(90, 70), height: 60 });
         boss(\"ear\", #{ on: block.side(\"front\"), dia: 20, height: 12, fillet: 0, loose: #{ recess: 2 } });",
    );
    refused(&build, "hidden from the cutter in body", 2);
    // Through a thin loose pad, on which it stands.
    let build = plain(&format!(
        "{PLATE} let pad = boss(\"pad\", #{{ on: plate.top, dia: 50, height: 5, fillet: 0, loose: true }});
         boss(\"stud\", #{{ on: pad.top, dia: 20, height: 15, fillet: 0, loose: #{{ recess: 2 }} }});"
    ));
    refused(&build, "would leave 3 mm of foam under it", 3);
}

#[track_caller]
fn refused(build: &Build, words: &str, line: usize) {
    assert!(build.pieces.is_none(), "{words}");
    let finding = build.findings.iter().find(|f| f.code == "unparted");
    let finding = finding.unwrap_or_else(|| panic!("{words}: {:?}", said(build)));
    assert!(finding.text.contains(words), "{}: {words}", finding.text);
    assert_eq!(finding.features[0].1.line, line, "{words}");
    assert!(finding.remedy.contains("peg"), "{}", finding.remedy);
}
