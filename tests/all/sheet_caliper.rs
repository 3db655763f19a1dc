//! The caliper card against the drawing's own numbers: a size as cut is the finished one and its stock, times one and the
//! shrink (the shrink rule: pattern = casting × (1 + s)); a place is counted from two sides of its piece.

use std::path::Path;

use foamwright::shop::sheet_of;

use crate::built::built_whole;
use crate::sheet::rows;

/// The card's rows under each piece's band.
pub fn bands(source: &str) -> Vec<(String, Vec<String>)> {
    let sheet = sheet_of(&built_whole(source), Path::new("t.rhai"));
    let card = sheet.split("id=\"caliper\"").nth(1).unwrap();
    let body = card.split("</section>").next().unwrap();
    let mut out: Vec<(String, Vec<String>)> = Vec::new();
    for row in body.split("<tr").skip(2) {
        let said = rows(&format!("<tr{row}"), "").remove(0);
        if row.starts_with(" class=\"band\"") {
            out.push((said, Vec::new()));
        } else {
            out.last_mut().unwrap().1.push(said);
        }
    }
    out
}

#[track_caller]
pub fn under<'a>(bands: &'a [(String, Vec<String>)], band: &str, row: &str) -> &'a str {
    let piece = bands.iter().find(|b| b.0 == band);
    let piece = piece.unwrap_or_else(|| panic!("no {band}: {bands:?}"));
    let found = piece.1.iter().find(|r| r.starts_with(row));
    found.unwrap_or_else(|| panic!("no {row} under {band}: {:?}", piece.1))
}

/// A pipe of 22 in 32 through a flange 68 wide, whose middle is 34 × 1.013 = 34.4 from the piece's front; halves lie on
/// their joint. The other end of the pipe is in the chamber, where no caliper goes.
#[test]
fn a_tunnels_sizes_stand_at_the_pieces_that_show_its_mouth() {
    let bands = bands(
        "metal(\"A356\"); board(#{ thickness: 50, length: 600, width: 300 });
         let body = slab(\"body\", #{ outline: rect(90, 80), height: 40 });
         let chamber = pocket(\"chamber\", #{ into: body.bottom, outline: rect(60, 60), depth: 32 });
         let pipe = tunnel(\"pipe\", #{ from: [-80, 0, 19], to: [-25, 0, 19], inside: 22, wall: 5, meets: chamber, loose: true });
         flange(\"rim\", #{ on: pipe.start, outline: rect(68, 36), thick: 9 });",
    );
    let last = bands.last().unwrap();
    assert!(!last.0.starts_with("Once glued"), "{last:?}");
    for piece in ["1 pipe.1", "2 pipe.2", "3 pipe.1", "3 pipe.2"] {
        let Some(found) = bands.iter().find(|b| b.0 == piece) else {
            continue;
        };
        assert_eq!(
            found
                .1
                .iter()
                .filter(|r| r.starts_with("pipe, inside"))
                .count(),
            1
        );
        // 22, 32, 5 and 9 times 1.013.
        let said = under(
            &bands,
            piece,
            "pipe, inside, at its mouth 22.29 left side: 34.4 from front, 0 up",
        );
        assert!(said.contains("across front to back"), "{said}");
        under(&bands, piece, "pipe, outside 32.42");
        under(&bands, piece, "pipe, wall 5.06 at its joint");
        under(&bands, piece, "rim, thickness 9.12 left side");
    }
    let halves = bands
        .iter()
        .filter(|b| b.1.iter().any(|r| r.starts_with("pipe, inside")));
    assert_eq!(halves.count(), 2);
}

/// The rib's middle is 130 and 70 from the slab's sides, its top 10 + 6 over the table.
#[test]
fn a_ribs_place_is_its_own() {
    let bands = bands(
        "metal(\"A356\");
         let p = slab(\"p\", #{ outline: rect(200, 100), height: 10 });
         rib(\"web\", #{ on: p.top, from: [0, 20], to: [60, 20], thick: 6, height: 12 });
         rib(\"slope\", #{ on: p.top, from: [-60, -30], to: [-60, 10], thick: 5, height: [14, 6], draft: 3, round: 2 });",
    );
    under(&bands, "pattern", "web, thickness 6.08 131.7 / 70.9");
    // 2 under its edge: 5 + 2 × 2 × tan 3°, and the slope is (100 - 60) from the left. Its middle is 40 from the front.
    let thick = (5.0 + 4.0 * 3f64.to_radians().tan()) * 1.013;
    let row = format!("slope, thickness, 2.03 mm below its free edge {thick:.2} 40.5 / ");
    under(&bands, "pattern", &row);
}

/// A boss of 20 on a drafted side, one on a round body and one on a round body's side that is a loose piece: the places
/// are on the pieces.
#[test]
fn no_place_is_outside_of_its_piece() {
    let bands = bands(
        "metal(\"A356\"); board(#{ thickness: 60, length: 600, width: 300 });
         let box = slab(\"box\", #{ outline: rect(80, 80), height: 50, draft: 5 });
         boss(\"ear\", #{ on: box.side(\"right\"), dia: 20, height: 15, fillet: 0, loose: true });
         let post = boss(\"post\", #{ on: box.top, dia: 50, height: 40 });
         boss(\"pad\", #{ on: post.around(0, 20), dia: 20, height: 10, fillet: 2, loose: true });
         boss(\"nose\", #{ on: post.around(180, 20), dia: 20, height: 10, fillet: 2 });",
    );
    let all: Vec<&String> = bands.iter().flat_map(|b| &b.1).collect();
    assert!(all.iter().all(|r| !r.contains(" -")), "{all:?}");
    // Its own middle, 10 × 1.013 from two sides; the wax widens nothing by a tenth.
    let ear = bands.iter().find(|b| b.0.ends_with(" ear")).unwrap();
    assert!(
        ear.1
            .iter()
            .any(|r| r.starts_with("ear, dia 20.26 10.1 / ")),
        "{ear:?}"
    );
    let pad = bands.iter().find(|b| b.0.ends_with(" pad")).unwrap();
    assert!(
        pad.1
            .iter()
            .any(|r| r.starts_with("pad, dia 20.26 10.1 / 10.1")),
        "{pad:?}"
    );
}

/// A shaft's post of 60 is parted at half its height by a split right through its axis: each half shows it across the
/// joint. A post parted off its axis shows it on neither.
#[test]
fn a_size_that_no_piece_shows_whole_is_for_the_glued_pattern() {
    let script = |at: f64| {
        format!(
            "metal(\"A356\"); board(#{{ thickness: 60, length: 600, width: 300 }});
             let p = slab(\"p\", #{{ outline: rect(20, 90), height: 80 }});
             boss(\"post\", #{{ on: p.side(\"right\"), dia: 60, height: 40, fillet: 0 }});
             split(\"low\", #{{ at: level({at}) }});"
        )
    };
    let through = bands(&script(40.0));
    for piece in ["1 low", "2 upper"] {
        let said = under(&through, piece, "post, dia 60.78");
        assert!(said.ends_with("across front to back"), "{said}");
    }
    under(
        &through,
        "Once glued: no piece alone shows both ends",
        "p, height 81.04 over 1 low, 2 upper",
    );
    let off = bands(&script(30.0));
    under(&off, "2 upper", "post, dia 60.78");
    assert!(
        !off[0].1.iter().any(|r| r.starts_with("post, dia")),
        "{off:?}"
    );
}

/// A chamber turned from below: 2 of stock on the face that it goes into and 1 on the seat make the seat 4 + 2 - 1 deep.
#[test]
fn turned_runs_and_depths_count_both_stocks() {
    let bands = bands(
        "metal(\"A356\"); stock(2);
         let p = slab(\"p\", #{ outline: disc(120), height: 40 });
         let c = turned(\"c\", #{ into: p.bottom, profile: [[0, 0], [45, 0], [45, -4, \"seat\"], [40, -4], [40, -20], [0, -20]] });
         finish(p.bottom); finish(c.named(\"seat\"), 1);",
    );
    under(&bands, "pattern", "c, dia 91.17 60.8 / 60.8, underneath");
    under(&bands, "pattern", "c, dia 81.04 60.8 / 60.8, underneath");
    under(&bands, "pattern", "c, depth of seat 5.06");
    under(&bands, "pattern", "c, depth 22.29 60.8 / 60.8, underneath");
}

/// In inches a caliper's thousandth: 2 × 1.013.
#[test]
fn inches_are_told_to_a_thousandth() {
    let bands = bands(
        "units(\"in\"); metal(\"A356\");
         let p = slab(\"p\", #{ outline: rect(4, 3), height: 1/2 });
         boss(\"b\", #{ on: p.top, at: [1, 1/2], dia: 2, height: 1, fillet: 0 });",
    );
    under(&bands, "pattern", "b, dia 2.026 3.04 / 2.03");
    under(&bands, "pattern", "b, height 1.013 3.04 / 2.03");
}
