//! Pieces laid on boards by the way that the command takes: outlines against areas by formula, layouts by `check`, which
//! shares nothing with the search, files by what they hold.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use foamwright::fault::render_all;
use foamwright::measure::Vec2;
use foamwright::pieces::nesting::{
    self, Flaw, LaidBoard, Layout, OffCut, Piece, Rules, Turns, check,
};
use foamwright::pieces::{Boards, area, board_drawings};
use foamwright::script::NoModules;
use foamwright::sheet::bill::bill;
use foamwright::shop::{Bench, Build, Effort, Wish, report_of, write_build};

use super::built::near;

/// Builds with the boards laid; no shrink, so that foam has the script's own sizes.
pub fn laid(source: &str) -> Build {
    laid_with(source, Effort::Quick)
}

fn laid_with(source: &str, effort: Effort) -> Build {
    let source = format!("part(\"t\"); shrink(0); {source}");
    let wish = Wish {
        effort: Some(effort),
        ..Wish::default()
    };
    let built = Bench::new().build_text(&source, "t.rhai", Arc::new(NoModules), &wish, &|_| {});
    built.unwrap_or_else(|failure| {
        let shown = render_all(&failure.faults, &|f| failure.texts.get(f).cloned());
        panic!("{shown}")
    })
}

fn boards(build: &Build) -> &Boards {
    build.boards.as_ref().expect("boards are laid")
}

/// What is wrong with a build's layout; all its boards must be of one thickness.
fn flaws(build: &Build) -> Result<(), Vec<Flaw>> {
    let (pieces, laid) = (build.pieces.as_ref().unwrap(), boards(build));
    let wanted: Vec<Piece> = laid
        .outlines
        .iter()
        .map(|o| Piece {
            outline: o.to_vec(),
            count: 1,
            turns: Turns::Quarter,
        })
        .collect();
    assert_eq!(wanted.len(), pieces.pieces.len());
    let sizes: Vec<nesting::Board> = build
        .part
        .boards
        .iter()
        .map(|b| nesting::Board {
            length_mm: b.length_mm,
            width_mm: b.width_mm,
            margin_mm: b.margin_mm,
            count: None,
        })
        .collect();
    let on = laid.boards.iter().map(|b| LaidBoard {
        board: b.board,
        used_length_mm: b.used_length_mm,
        placed: b.placed.clone(),
        offcut: b.offcut_mm.map(|[length_mm, width_mm]| OffCut {
            length_mm,
            width_mm,
        }),
    });
    let layout = Layout {
        boards: on.collect(),
        unplaced: Vec::new(),
    };
    let spacing_mm = build.part.boards[0].spacing_mm;
    check(&wanted, &sizes, &Rules { spacing_mm }, &layout)
}

const NARROW: &str = "board(#{ thickness: 50, length: 600, width: 240, margin: 10, spacing: 8 });";

const BOARD: &str = "board(#{ thickness: 50, length: 600, width: 300, margin: 10, spacing: 8 });";

#[test]
fn an_outline_is_what_is_seen_from_above() {
    // 120 × 60 less a hole of 30: area 7200 - π 15². The top plate of the other hangs over its foot on all sides, and
    // the blind hole in it is not seen through: 100 × 80.
    let plain = laid(&format!(
        "{BOARD} let s = slab(\"s\", #{{ outline: rect(120, 60), height: 20 }});
         bore(\"b\", #{{ into: s.top, dia: 30, through: true }});"
    ));
    let loops = &boards(&plain).outlines[0];
    assert_eq!(loops.len(), 2);
    // Facets stand off by at most 0.02 mm, all inside the circle: the hole is smaller by at most 0.02 × its rim.
    let hole = std::f64::consts::PI * 15.0 * 15.0;
    let off = 0.02 * std::f64::consts::TAU * 15.0;
    near(area(loops), 7200.0 - hole + off / 2.0, off / 2.0);
    near(area(&loops[..1]), 7200.0, 1e-6);

    let wide = laid(&format!(
        "{BOARD} slab(\"foot\", #{{ outline: rect(60, 40), height: 20 }});
         let top = slab(\"top\", #{{ xyz: [0, 0, 20], outline: rect(100, 80), height: 10 }});
         bore(\"b\", #{{ into: top.top, dia: 20, depth: 6 }});"
    ));
    let loops = &boards(&wide).outlines[0];
    assert_eq!(loops.len(), 1);
    assert_eq!(loops[0].len(), 4);
    near(area(loops), 8000.0, 1e-6);
}

#[test]
fn pieces_keep_their_spacing_and_margin() {
    // Three levels of a stepped block, one a piece: 200 × 100, 160 × 80 and 100 × 60 on one board.
    let source = format!(
        "{BOARD} let a = slab(\"a\", #{{ outline: rect(200, 100), height: 40 }});
         let b = slab(\"b\", #{{ on: a.top, outline: rect(160, 80), height: 40 }});
         let c = slab(\"c\", #{{ on: b.top, outline: rect(100, 60), height: 40 }});
         split(\"a\", #{{ at: a.top }}); split(\"b\", #{{ at: b.top }});"
    );
    let build = laid(&source);
    assert_eq!(flaws(&build), Ok(()));
    let on = boards(&build);
    assert_eq!(on.boards.len(), 1);
    near(on.boards[0].pieces_mm2, 20000.0 + 12800.0 + 6000.0, 1e-6);
    // No layout is shorter than its area over the width inside the margins, with one margin at each end.
    let used = on.boards[0].used_length_mm;
    assert!(used > 38800.0 / 280.0 + 20.0 && used < 260.0, "{used}");
    let [length, width] = on.boards[0].offcut_mm.unwrap();
    near(length + used, 600.0, 1e-9);
    near(width, 300.0, 0.0);
    // The solid of the board lies where the outlines are.
    let bounds = on.boards[0].solid.bounds();
    near(bounds.high.x + 10.0, used, 1e-4);
    near(bounds.low.z, 0.0, 1e-5);
    near(bounds.high.z, 40.0, 1e-4);
    near(
        on.boards[0].solid.volume_mm3(),
        40.0 * 38800.0,
        40.0 * 38.8 * 0.1,
    );
    assert_eq!(on.boards[0].solid.bad_edges_in_f32(), 0);
}

#[test]
fn a_layout_is_the_same_each_time() {
    let source = format!(
        "{BOARD} let a = slab(\"a\", #{{ outline: belt([[0, 0, 80], [90, 10, 40]]), height: 30 }});
         let b = boss(\"b\", #{{ on: a.top, dia: 60, height: 40 }});
         split(\"a\", #{{ at: a.top }});"
    );
    let (one, two) = (laid(&source), laid(&source));
    assert_eq!(one.boards, two.boards);
    assert_eq!(flaws(&one), Ok(()));
}

#[test]
fn each_thickness_has_boards_of_its_own() {
    let build = laid(
        "board(#{ thickness: 25, length: 300, width: 200, margin: 5, spacing: 6 });
         board(#{ thickness: 50, length: 600, width: 300, margin: 10, spacing: 8 });
         let a = slab(\"a\", #{ outline: rect(150, 100), height: 40 });
         let b = slab(\"b\", #{ on: a.top, outline: rect(120, 80), height: 20 });
         split(\"a\", #{ at: a.top });",
    );
    let on = boards(&build);
    assert_eq!(on.boards.len(), 2);
    // Thickest first.
    assert_eq!(on.boards[0].board, 1);
    assert_eq!(on.boards[1].board, 0);
    let rows = report_of(&build, Path::new("t.rhai"), false)
        .boards
        .unwrap();
    assert_eq!(rows[0].thickness_mm, 50.0);
    assert_eq!(rows[0].placed[0].piece, "a");
    assert_eq!(rows[1].placed[0].piece, "upper");
    // 120 × 80 turned or not, one margin at each end.
    assert!(
        [130.0, 90.0]
            .iter()
            .any(|l| (rows[1].used_length_mm - l).abs() < 1e-6)
    );
    near(
        rows[1].density,
        9600.0 / (rows[1].used_length_mm * 200.0),
        1e-9,
    );
}

#[test]
fn a_piece_in_a_ring_lies_in_its_hole() {
    // On a board 240 wide the bar of 160 × 20 lies upright behind the ring of 200, 10 + 200 + 8 + 20 + 10 = 248 long.
    // Beside the ring the disc of 90 ends at 110 + √(153² - 75²) + 45 + 10 = 298 or later (centres at least
    // 100 + 8 + 45 apart, at most 185 - 110 across); in its hole of 120 it has 8 round it.
    let build = laid_with(
        &format!(
            "{NARROW} let r = slab(\"ring\", #{{ outline: disc(200).minus(disc(120)), height: 20 }});
             let t = slab(\"bridge\", #{{ on: r.top, outline: rect(160, 20), height: 15 }});
             let d = boss(\"d\", #{{ on: t.top, dia: 90, height: 30 }});
             split(\"ring\", #{{ at: r.top }}); split(\"bridge\", #{{ at: t.top }});"
        ),
        Effort::Usual,
    );
    assert_eq!(flaws(&build), Ok(()));
    let on = &boards(&build).boards[0];
    let drawing = &board_drawings(&build.part, build.pieces.as_ref().unwrap(), boards(&build))[0];
    let ring = drawing.pieces.iter().find(|p| p.name == "ring").unwrap();
    let disc = drawing.pieces.iter().find(|p| p.name == "upper").unwrap();
    let middle = |loops: &[Vec<Vec2>]| {
        let points: Vec<Vec2> = loops[0].to_vec();
        points.iter().sum::<Vec2>() / points.len() as f64
    };
    let apart = middle(&ring.loops).distance(middle(&disc.loops));
    assert!(apart <= 60.0 - 45.0 - 8.0 + 0.1, "{apart} mm apart");
    near(on.used_length_mm, 248.0, 0.5);
}

#[test]
fn names_lie_on_their_pieces() {
    let build = laid(&format!(
        "{BOARD} slab(\"frame\", #{{ outline: rect(200, 150).minus(rect(160, 110)), height: 20 }});"
    ));
    let drawing = &board_drawings(&build.part, build.pieces.as_ref().unwrap(), boards(&build))[0];
    let piece = &drawing.pieces[0];
    let inside = |rim: &Vec<Vec2>, at: Vec2| {
        let (low, high) = rim
            .iter()
            .fold((Vec2::INFINITY, Vec2::NEG_INFINITY), |(l, h), p| {
                (l.min(*p), h.max(*p))
            });
        at.cmpgt(low).all() && at.cmplt(high).all()
    };
    assert!(piece.rims().all(|r| inside(r, piece.name_at)));
    assert!(!piece.holes().any(|h| inside(h, piece.name_at)));
}

#[test]
fn the_bill_sums_boards_up() {
    let build = laid(&format!(
        "{BOARD} let a = slab(\"a\", #{{ outline: rect(200, 100), height: 40 }});
         slab(\"b\", #{{ on: a.top, outline: rect(160, 80), height: 40 }});
         split(\"a\", #{{ at: a.top }});"
    ));
    let pieces = build.pieces.as_ref().unwrap();
    let bill = bill(&build.part, pieces, 25.0).with_boards(&build.part, pieces, boards(&build));
    let used = boards(&build).boards[0].used_length_mm;
    assert_eq!(bill.totals.boards.len(), 1);
    assert_eq!(bill.totals.boards[0].boards, 1);
    near(bill.totals.boards[0].used_length_mm, used, 0.0);
    near(bill.totals.boards[0].used_mm2, used * 300.0, 1e-9);
    let csv = bill.csv();
    let last = csv.trim_end().lines().last().unwrap();
    assert!(last.starts_with("board 1,2 pieces,"), "{last}");
    let json: serde_json::Value = serde_json::from_str(&bill.json()).unwrap();
    assert_eq!(json["boards"][0]["placed"].as_array().unwrap().len(), 2);
    near(
        json["offcuts"][0]["size_mm"][0].as_f64().unwrap(),
        600.0 - used,
        1e-9,
    );
}

#[test]
fn files_of_pieces_that_are_gone_go_too() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path();
    let write = |name: &str, thickness: u32| {
        let build = laid(&format!(
            "board(#{{ thickness: {thickness}, length: 600, width: 300 }});
             let a = slab(\"a\", #{{ outline: rect(200, 100), height: 20 }});
             slab(\"b\", #{{ on: a.top, outline: rect(160, 80), height: 15 }});
             split(\"{name}\", #{{ at: a.top }});"
        ));
        let report = report_of(&build, Path::new("t.rhai"), false);
        write_build(&build, &report, out).unwrap();
    };
    let there = |name: &str| out.join(name).is_file();
    write("foot", 20);
    assert!(there("pieces/foot.stl") && there("boards/board-1.dxf"));
    // A file that a person put there stays.
    fs::write(out.join("pieces/mine.stl"), "mine").unwrap();
    write("base", 20);
    assert!(there("pieces/base.stl") && !there("pieces/foot.stl"));
    assert!(there("pieces/mine.stl"));
    // A report that someone changed takes nothing away outside the two folders.
    let precious = ["finished.stl", "pieces/../precious.stl", "/precious.stl"];
    let told = serde_json::json!({ "files": precious });
    fs::write(out.join("report.json"), told.to_string()).unwrap();
    fs::write(out.join("precious.stl"), "precious").unwrap();
    write("base", 20);
    assert!(there("precious.stl") && there("finished.stl"));
}

/// The seat of a loose post is drawn on its host where the post will stand: a circle of its foot's diameter, at its place
/// counted from the middle of the host; one below, for what is set on from there.
#[test]
fn seats_are_drawn_on_the_host() {
    let build = laid_with(
        "board(#{ thickness: 50, length: 600, width: 400 });
         let plate = slab(\"plate\", #{ outline: rect(120, 60), height: 20 });
         boss(\"post\", #{ on: plate.top, at: [30, 10], dia: 24, height: 15, loose: true });
         boss(\"stud\", #{ on: plate.bottom, at: [-30, 5], dia: 16, height: 15, loose: true });",
        Effort::Quick,
    );
    let pieces = build.pieces.as_deref().unwrap();
    let drawings = board_drawings(&build.part, pieces, boards(&build));
    let host = drawings[0]
        .pieces
        .iter()
        .find(|p| p.name == "body")
        .unwrap();
    let rim = host.rims().next().unwrap();
    let middle = |l: &[Vec2]| {
        let low = l.iter().fold(l[0], |m, p| m.min(*p));
        let high = l.iter().fold(l[0], |m, p| m.max(*p));
        ((low + high) / 2.0, high - low)
    };
    // As it lies, top up or down, one of the two looks up.
    assert_eq!(host.seats.each_ref().map(Vec::len), [1, 1]);
    let mut found: Vec<(f64, f64)> = host
        .seats
        .iter()
        .map(|s| {
            let (at, size) = middle(&s[0]);
            near(size.x, size.y, 0.1);
            (size.x, at.distance(middle(rim).0))
        })
        .collect();
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    near(found[0].0, 16.0, 0.1);
    near(found[0].1, 30.0_f64.hypot(5.0), 0.1);
    near(found[1].0, 24.0, 0.1);
    near(found[1].1, 30.0_f64.hypot(10.0), 0.1);
}

/// A bar of 300 × 20 lies across a square board of 250 only on the slant: at 45 degrees it takes (300 + 20) / √2 each way.
#[test]
fn pieces_turn_freely_where_the_board_allows_it() {
    let bar = |turns: &str, more: &str| {
        laid(&format!(
            "board(#{{ thickness: 30, length: 250, width: 250{turns} }}); {more}
             slab(\"bar\", #{{ outline: rect(300, 20), height: 20 }});"
        ))
    };
    let build = bar(", turns: \"free\"", "");
    let placed = &boards(&build).boards[0].placed[0];
    let turn = placed.turn_deg.rem_euclid(90.0);
    assert!((30.0..=60.0).contains(&turn), "{turn}");
    // By right angles it fits none, and where another board of the thickness forbids more nothing turns on either.
    let stops = |build: &Build| build.findings.iter().any(|f| f.code == "no-board");
    assert!(!stops(&build));
    for build in [
        bar(", turns: \"quarter\"", ""),
        bar("", ""),
        bar(
            ", turns: \"free\"",
            "board(#{ thickness: 30, length: 200, width: 100 });",
        ),
    ] {
        assert!(stops(&build), "{:?}", build.findings);
    }
}
