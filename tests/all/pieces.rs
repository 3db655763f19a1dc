//! Foam pieces: sizes, volumes and glue areas are closed formulas of the shapes drawn; a pattern parted at random is
//! held against itself; the bill is read back by a plain CSV reader.

use super::built::{built, near, said};
use foamwright::fault::Level;
use foamwright::measure::SINK_MM;
use foamwright::pieces::{FoamPiece, Kind, Pieces};
use foamwright::sheet::bill::bill;
use foamwright::shop::{Build, Stage};
use foamwright::solid::NO_FEATURE;

/// No shrink: the pattern has the script's own sizes.
pub fn plain(source: &str) -> Build {
    built(&format!("shrink(0); {source}"))
}

pub fn pieces(build: &Build) -> &Pieces {
    let pieces = build.pieces.as_ref().expect("the script parts the pattern");
    sound(build, pieces);
    pieces
}

/// Every piece is closed, in f32 too, lies at the origin, and together they are the pattern.
fn sound(build: &Build, pieces: &Pieces) {
    let pattern = build.stage(Stage::Pattern).unwrap().figures.volume_mm3;
    let own = pieces
        .pieces
        .iter()
        .filter(|p| matches!(p.kind, Kind::Body | Kind::Loose(_)));
    let foam = own.map(|p| p.solid.volume_mm3());
    let sum = foam.chain(pieces.wax.iter().map(|w| w.volume_mm3));
    let sum = sum
        .chain(pieces.dowels.iter().map(|d| d.volume_mm3))
        .sum::<f64>();
    near(sum, pattern, 1e-6 * pattern);
    for piece in &pieces.pieces {
        assert_eq!(piece.solid.bad_edges_in_f32(), 0, "{}", piece.name);
        assert_eq!(piece.solid.figures().bodies, 1, "{}", piece.name);
        near(piece.solid.bounds().low.length(), 0.0, 1e-5);
        near(
            (piece.solid.bounds().high - piece.size_mm).length(),
            0.0,
            1e-5,
        );
        near(
            piece.volume_mm3,
            piece.solid.volume_mm3(),
            1e-9 * piece.volume_mm3,
        );
    }
}

pub fn names(pieces: &Pieces) -> Vec<&str> {
    pieces.pieces.iter().map(|p| p.name.as_str()).collect()
}

pub fn piece<'a>(pieces: &'a Pieces, name: &str) -> &'a FoamPiece {
    let found = pieces.pieces.iter().find(|p| p.name == name);
    found.unwrap_or_else(|| {
        let sizes = pieces.pieces.iter().map(|p| (&p.name, p.size_mm));
        panic!("no {name} in {:?}", sizes.collect::<Vec<_>>())
    })
}

#[track_caller]
pub fn sized(piece: &FoamPiece, want: [f64; 3]) {
    for (got, want) in piece.size_mm.to_array().into_iter().zip(want) {
        near(got, want, 1e-4);
    }
}

#[test]
fn nothing_said_of_foam_makes_no_pieces() {
    let build = plain("slab(\"block\", #{ outline: rect(50, 40), height: 30 });");
    assert!(build.pieces.is_none());
}

#[test]
fn one_board_takes_the_whole_pattern() {
    let build = plain(
        "board(#{ thickness: 50, length: 600, width: 300 });
         board(#{ thickness: 30, length: 600, width: 300 });
         slab(\"block\", #{ outline: rect(50, 40), height: 30 });",
    );
    let pieces = pieces(&build);
    assert_eq!(names(pieces), ["whole"]);
    let whole = &pieces.pieces[0];
    sized(whole, [50.0, 40.0, 30.0]);
    // The thinnest that takes it.
    assert_eq!((whole.board, whole.sides), (Some(1), 1));
    assert!(whole.glued.is_empty() && said(&build).is_empty());
    assert!(bill(&build.part, pieces, 25.0).csv().contains(",,0.0,"));
}

#[test]
fn a_level_parts_a_block_in_two() {
    let build = plain(
        "slab(\"block\", #{ outline: rect(100, 60), height: 90 });
         split(\"lower\", #{ at: level(40) });",
    );
    let pieces = pieces(&build);
    assert_eq!(names(pieces), ["lower", "upper"]);
    sized(piece(pieces, "lower"), [100.0, 60.0, 40.0]);
    sized(piece(pieces, "upper"), [100.0, 60.0, 50.0]);
    near(piece(pieces, "lower").volume_mm3, 240_000.0, 0.1);
    for (of, other) in [(0, 1), (1, 0)] {
        let glued = &pieces.pieces[of].glued;
        assert_eq!((glued.len(), glued[0].piece, glued[0].split), (1, other, 0));
        near(glued[0].area_mm2, 6_000.0, 1e-3);
        let joint = pieces.pieces[of].solid.features.iter();
        assert!(joint.filter(|f| **f == NO_FEATURE).count() >= 2);
    }
    // No board is declared: none is guessed, and none is missed.
    assert!(pieces.pieces.iter().all(|p| p.board.is_none()));
    assert!(said(&build).is_empty());
}

#[test]
fn the_order_of_splits_makes_no_difference() {
    let script = |splits: [&str; 2]| {
        format!(
            "slab(\"block\", #{{ outline: rect(100, 60), height: 90 }});{}{}",
            splits[0], splits[1]
        )
    };
    let low = "split(\"low\", #{ at: level(20) });";
    let middle = "split(\"middle\", #{ at: level(50) });";
    for order in [[low, middle], [middle, low]] {
        let build = plain(&script(order));
        let pieces = pieces(&build);
        sized(piece(pieces, "low"), [100.0, 60.0, 20.0]);
        sized(piece(pieces, "middle"), [100.0, 60.0, 30.0]);
        sized(piece(pieces, "upper"), [100.0, 60.0, 40.0]);
        assert_eq!(piece(pieces, "middle").glued.len(), 2);
    }
}

/// A plate 120 × 60 × 20 with a post of 30 × 30 × 24 at each end.
const POSTS: &str = "let plate = slab(\"plate\", #{ outline: rect(120, 60), height: 20 });
    boss(\"left\", #{ on: plate.top, at: [-40, 0], outline: rect(30, 30), height: 24 });
    boss(\"right\", #{ on: plate.top, at: [40, 0], outline: rect(30, 30), height: 24 });";

#[test]
fn a_face_parts_what_stands_on_it_and_pieces_are_numbered() {
    let build = plain(&format!("{POSTS} split(\"foot\", #{{ at: plate.top }});"));
    let pieces = pieces(&build);
    assert_eq!(names(pieces), ["foot", "upper.1", "upper.2"]);
    sized(&pieces.pieces[0], [120.0, 60.0, 20.0]);
    sized(&pieces.pieces[1], [30.0, 30.0, 24.0]);
    near(piece(pieces, "foot").volume_mm3, 144_000.0, 0.1);
    // From left to right.
    let left = build.part.find("left").unwrap();
    assert_eq!(pieces.pieces[1].features, [left]);
    near(pieces.pieces[1].glued[0].area_mm2, 900.0, 1e-3);
    near(pieces.splits[0].glue_mm2, 1_800.0, 1e-3);
}

#[test]
fn of_parts_off_only_what_it_names() {
    let build = plain(&format!(
        "{POSTS} split(\"foot\", #{{ at: plate.top, of: \"right\" }});"
    ));
    let pieces = pieces(&build);
    assert_eq!(names(pieces), ["foot", "right"]);
    near(piece(pieces, "foot").volume_mm3, 144_000.0 + 21_600.0, 0.1);
    near(joint_area(piece(pieces, "right")), 900.0, 1e-3);
    near(joint_area(piece(pieces, "foot")), 900.0, 1e-3);
    near(piece(pieces, "right").glued[0].area_mm2, 900.0, 1e-3);
    // Below it, the boss is the piece below.
    let build = plain(
        "let plate = slab(\"plate\", #{ outline: rect(120, 60), height: 20 });
         boss(\"stud\", #{ on: plate.bottom, dia: 20, height: 8 });
         boss(\"peg\", #{ on: plate.bottom, at: [30, 0], outline: rect(10, 10), height: 8 });
         split(\"a peg\", #{ at: plate.bottom, of: [\"peg\"] });",
    );
    let pieces = self::pieces(&build);
    near(piece(pieces, "a peg").volume_mm3, 800.0, 1e-2);
}

#[test]
fn a_marked_face_counts_with_its_stock_and_moves_with_shrink() {
    let build = built(&format!(
        "shrink([1, 2, 3]); {POSTS} finish(plate.top, 2); split(\"foot\", #{{ at: plate.top }});"
    ));
    let pieces = pieces(&build);
    sized(piece(pieces, "foot"), [121.2, 61.2, 22.0 * 1.03]);
    sized(piece(pieces, "upper.1"), [30.3, 30.6, 22.0 * 1.03]);
}

#[test]
fn faces_part_cleanly_whatever_their_heights_are_rounded_to() {
    // Heights of which the pattern's f32 values lie above or below the plane, on level and on slanting faces.
    for k in 0..12 {
        let height = 17.0 + 0.37 * f64::from(k);
        let build = built(&format!(
            "let plate = slab(\"plate\", #{{ outline: rect(120, 60), height: {height} }});
             boss(\"post\", #{{ on: plate.top, dia: 30, height: 24 }});
             split(\"foot\", #{{ at: plate.top }});"
        ));
        let pieces = pieces(&build);
        assert_eq!(names(pieces), ["foot", "upper"], "{height}");
        near(piece(pieces, "foot").size_mm.z, height * 1.013, 1e-4);
        let turned = built(&format!(
            "let slope = slab(\"slope\", #{{ on: face(#{{ at: [0, 0, 0], facing: [0.3, 0.{k}1, 1] }}),
                 outline: rect(120, 60), height: {height} }});
             boss(\"post\", #{{ on: slope.top, dia: 30, height: 24 }});
             split(\"foot\", #{{ at: slope.top }});"
        ));
        let pieces = self::pieces(&turned);
        assert_eq!(names(pieces), ["foot", "upper"], "slanting, {height}");
        // On a free face its foot reaches below that.
        let high = (height + SINK_MM) * 1.013;
        near(piece(pieces, "foot").size_mm.z, high, 1e-3);
    }
}

#[test]
fn an_upright_split_lays_its_pieces_on_their_joint() {
    let build = plain(
        "let bar = slab(\"bar\", #{ outline: rect(40, 30), height: 200 });
         split(\"half\", #{ at: face(#{ at: [10, 0, 0], facing: [1, 0, 0] }) });",
    );
    let pieces = pieces(&build);
    // The joint is 30 x 200; x runs from -20 to 10 and on to 20.
    near(piece(pieces, "half").size_mm.z, 30.0, 1e-4);
    near(piece(pieces, "upper").size_mm.z, 10.0, 1e-4);
    near(piece(pieces, "half").glued[0].area_mm2, 6_000.0, 1e-3);
}

#[test]
fn a_tilted_split_parts_a_block_along_its_slope() {
    // A plane through the middle at 45°: two halves, the joint 60 x 90 √2.
    let build = plain(
        "slab(\"block\", #{ outline: rect(90, 60), height: 90 });
         split(\"wedge\", #{ at: face(#{ at: [0, 0, 45], facing: [1, 0, 1] }) });",
    );
    let pieces = pieces(&build);
    near(piece(pieces, "wedge").volume_mm3, 243_000.0, 0.5);
    near(
        piece(pieces, "wedge").glued[0].area_mm2,
        60.0 * 90.0 * 2.0_f64.sqrt(),
        0.05,
    );
    near(
        piece(pieces, "wedge").size_mm.z,
        45.0 * 2.0_f64.sqrt(),
        1e-3,
    );
}

#[test]
fn a_piece_that_no_board_takes_stops() {
    let script = |height: f64, length: f64| {
        format!(
            "board(#{{ thickness: 50, length: 220, width: 120, margin: 10 }});
             slab(\"block\", #{{ outline: rect({length}, 80), height: {height} }});"
        )
    };
    let found = |height, length| {
        let build = plain(&script(height, length));
        said(&build)
            .iter()
            .map(|s| (s.0, s.1, s.2.join(",")))
            .collect::<Vec<_>>()
    };
    let stops = [("no-board", Level::Stop, "block".to_string())];
    assert_eq!(found(50.0, 200.0), []);
    assert_eq!(found(50.02, 200.0), stops);
    assert_eq!(found(50.0, 200.02), stops);
    // Shrink counts: 49.5 x 1.013 is over 50.
    let build = built(&script(49.5, 150.0));
    assert_eq!(said(&build).len(), 1);
    near(build.findings[0].value.unwrap(), 49.5 * 1.013, 1e-3);
}

#[test]
fn foam_too_thin_to_handle_is_worth_a_look() {
    let script = |z: f64| {
        format!(
            "min_foam(4); slab(\"block\", #{{ outline: rect(100, 80), height: 50 }});
             split(\"lower\", #{{ at: level({z}) }});"
        )
    };
    assert!(said(&plain(&script(4.0))).is_empty());
    let build = plain(&script(3.9));
    assert_eq!(build.findings[0].code, "thin-foam");
    near(build.findings[0].value.unwrap(), 3.9, 1e-3);
}

#[test]
fn a_split_beside_the_pattern_is_told() {
    let build = plain(
        "slab(\"block\", #{ outline: rect(100, 80), height: 50 });
         split(\"lower\", #{ at: level(50) });",
    );
    assert_eq!(build.findings[0].code, "no-effect");
}

#[test]
fn auto_split_makes_even_layers_and_takes_faces_near_them() {
    let board = "board(#{ thickness: 50, length: 600, width: 300 }); auto_split();";
    let build = plain(&format!(
        "{board} slab(\"block\", #{{ outline: rect(200, 160), height: 120 }});"
    ));
    let even = pieces(&build);
    assert_eq!(names(even), ["whole.1", "whole.2", "whole.3"]);
    assert!(even.pieces.iter().all(|p| p.board == Some(0)));
    even.pieces
        .iter()
        .for_each(|p| sized(p, [200.0, 160.0, 40.0]));
    assert!(said(&build).is_empty());
    // A step at 48 lies near the even level of 45.
    let build = plain(&format!(
        "{board} let block = slab(\"block\", #{{ outline: rect(200, 160), height: 48 }});
         slab(\"step\", #{{ on: block.top, outline: rect(200, 100), height: 42 }});"
    ));
    let stepped = pieces(&build);
    sized(&stepped.pieces[0], [200.0, 160.0, 48.0]);
    sized(&stepped.pieces[1], [200.0, 100.0, 42.0]);
    assert!(stepped.splits[0].why.contains("flat face"));
}

#[test]
fn auto_split_keeps_thin_foam_out_of_its_layers() {
    // A block of 90 with a well from below to z = 70, in which a stud hangs down to 44.5: at the even level of 45 half a
    // millimetre of it would come off.
    let build = plain(
        "board(#{ thickness: 50, length: 600, width: 300 }); min_foam(4); auto_split();
         let block = slab(\"block\", #{ outline: rect(200, 160), height: 90 });
         let well = pocket(\"well\", #{ into: block.bottom, outline: rect(100, 80), depth: 70 });
         boss(\"stud\", #{ on: well.floor, outline: rect(20, 20), height: 25.5 });",
    );
    let pieces = pieces(&build);
    assert!(!build.findings.iter().any(|f| f.code == "thin-foam"));
    // The level is on the stud's end, 44.5.
    assert_eq!(pieces.pieces.len(), 2);
    near(pieces.splits[0].plane.offset, 44.5, 1e-3);
}

/// Numbers in 0..1 by Knuth's multiplier (The Art of Computer Programming, volume 2).
fn random(seed: &mut u64) -> f64 {
    *seed = seed
        .wrapping_mul(6_364_136_223_846_793_005)
        .wrapping_add(1_442_695_040_888_963_407);
    (*seed >> 11) as f64 / (1u64 << 53) as f64
}

#[test]
fn pieces_of_random_splits_are_the_pattern() {
    let mut seed = 20;
    for round in 0..12 {
        let mut script = String::from(
            "facet(0.1); fillets(3);
             let plate = slab(\"plate\", #{ outline: rect(140, 90).corners(12), height: 14 });
             let post = boss(\"post\", #{ on: plate.top, at: [-30, 0], dia: 44, height: 40, draft: 2 });
             let stub = boss(\"stub\", #{ on: plate.top, at: [38, 10], dia: 24, height: 22 });
             bore(\"hole\", #{ into: post.top, dia: 18, through: true });
             pocket(\"well\", #{ into: plate.bottom, outline: rect(40, 30), depth: 8 });",
        );
        for k in 0..1 + round % 3 {
            let mut within = |low: f64, high: f64| low + (high - low) * random(&mut seed);
            let at = match k {
                0 => format!("level({:.2})", within(1.0, 50.0)),
                1 => "plate.top".to_string(),
                _ => format!(
                    "face(#{{ at: [{:.2}, {:.2}, {:.2}], facing: [{:.2}, {:.2}, {:.2}] }})",
                    within(-40.0, 40.0),
                    within(-20.0, 20.0),
                    within(5.0, 25.0),
                    within(-1.0, 1.0),
                    within(-1.0, 1.0),
                    within(0.1, 1.0)
                ),
            };
            script.push_str(&format!("split(\"cut {k}\", #{{ at: {at} }});"));
        }
        let build = built(&script);
        let pieces = pieces(&build);
        assert!(pieces.pieces.len() > 1, "{script}");
        let touched = pieces.pieces.iter().filter(|p| !p.glued.is_empty());
        assert_eq!(touched.count(), pieces.pieces.len(), "{script}");
        // Both sides of a joint know the same area, which is that of the cut's own triangles.
        let joints: f64 = pieces.splits.iter().map(|s| s.glue_mm2).sum();
        let cut: f64 = pieces.pieces.iter().map(joint_area).sum();
        near(2.0 * joints, cut, 0.02 + 1e-5 * cut);
    }
}

fn joint_area(piece: &FoamPiece) -> f64 {
    let triangles = piece.solid.corners().zip(&piece.solid.features);
    triangles
        .filter(|(_, f)| **f == NO_FEATURE)
        .map(|([a, b, c], _)| (b - a).cross(c - a).length() / 2.0)
        .sum()
}

#[test]
fn the_bill_reads_back() {
    let build = plain(
        "board(#{ thickness: 50, length: 600, width: 300, density: 30 });
         let plate = slab(\"plate\", #{ outline: rect(120, 60), height: 20 });
         boss(\"post\", #{ on: plate.top, outline: rect(30, 30), height: 24 });
         split(\"=1+1, \\\"µ\\\"\", #{ at: plate.top });",
    );
    let bill = bill(&build.part, pieces(&build), 25.0);
    let text = bill.csv();
    assert!(text.starts_with('\u{feff}'));
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    assert_eq!(&reader.headers().unwrap()[1], "name");
    let rows: Vec<csv::StringRecord> = reader.records().map(|r| r.unwrap()).collect();
    assert_eq!(rows.len(), 3);
    let cells: Vec<&str> = rows[0].iter().take(11).collect();
    // 120 x 60 x 20 mm are 144 cm³, at 30 kg/m³ 4.32 g; one side, for it lies on the plain face.
    assert_eq!(
        cells,
        [
            "1",
            "'=1+1, \"µ\"",
            "body",
            "1",
            "50",
            "120",
            "60",
            "20",
            "144.0",
            "4.3",
            "1"
        ]
    );
    assert_eq!(&rows[0][11], "upper");
    assert_eq!(&rows[0][12], "9.0");
    assert_eq!(&rows[2][0], "total");
    assert_eq!(&rows[2][8], "165.6");
    let json: serde_json::Value = serde_json::from_str(&bill.json()).unwrap();
    near(
        json["pieces"][1]["volume_mm3"].as_f64().unwrap(),
        21_600.0,
        1e-2,
    );
    assert_eq!(json["pieces"][0]["glued_to"][0], "upper");
    near(json["totals"]["glue_mm2"].as_f64().unwrap(), 900.0, 1e-3);
}

#[test]
fn what_stands_too_near_can_t_be_parted_off_alone() {
    let build = built(
        "let plate = slab(\"plate\", #{ outline: rect(120, 60), height: 20 });
         boss(\"a\", #{ on: plate.top, outline: rect(30, 30), height: 24 });
         boss(\"b\", #{ on: plate.top, at: [15.6, 15.6], dia: 0.8, height: 24 });
         boss(\"c\", #{ on: plate.top, at: [40, 0], outline: rect(20, 20), height: 24 });
         split(\"foot\", #{ at: plate.top, of: \"a\" });",
    );
    assert!(build.pieces.is_none() && build.stops());
    let found = build
        .findings
        .iter()
        .find(|f| f.code == "unparted")
        .unwrap();
    assert!(found.text.contains("parted off alone"), "{}", found.text);
}
