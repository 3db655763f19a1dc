//! Levels by the cutter's reach: how many a part needs is known from how it is drawn (a side bore is opened at the height of
//! its axis alone, but for the lip), and every piece is looked at again after it is cut, on its own mesh.

use super::built::{built_whole, near};
use super::pieces::{names, piece, pieces, plain};
use super::seeded::Seeded;
use foamwright::pieces::Pieces;
use foamwright::shop::Build;
use foamwright::solid::reach::Gaps;

/// Nothing of any piece is hidden from its two sides, but for strips of lip.
#[track_caller]
fn reached(pieces: &Pieces) {
    for piece in &pieces.pieces {
        let hidden = Gaps::of(&piece.solid).all_hidden(0.05).plan_mm2();
        assert!(hidden < 1.0, "{} hides {hidden} mm²", piece.name);
    }
}

fn heights(pieces: &Pieces) -> Vec<f64> {
    pieces.splits.iter().map(|s| s.plane.offset).collect()
}

fn block(more: &str) -> Build {
    plain(&format!(
        "auto_split(); let b = slab(\"b\", #{{ outline: rect(100, 80), height: 60 }}); {more}"
    ))
}

#[test]
fn a_side_bore_is_opened_at_its_axis() {
    // Bores from three sides: on none of them can the block be laid and cut in one.
    let build = block(
        "bore(\"s\", #{ into: b.side(\"left\"), at: [10, 3], dia: 20, depth: 40 });
         bore(\"t\", #{ into: b.side(\"front\"), at: [10, 3], dia: 20, depth: 20 });
         bore(\"u\", #{ into: b.top, at: [-30, 20], dia: 12, depth: 20 });",
    );
    let pieces = pieces(&build);
    assert_eq!(pieces.pieces.len(), 2);
    reached(pieces);
    // The axis lies at 33. A strip of 0.05 under an overhang is free: √(2 · 10 · 0.05) = 1 mm of height either way.
    near(heights(pieces)[0], 33.0, 1.0);
    assert!(
        pieces.splits[0].why.contains("opens s, t"),
        "{}",
        pieces.splits[0].why
    );
}

#[test]
fn what_can_be_cut_in_one_is_left_whole() {
    let build = block(
        "bore(\"s\", #{ into: b.top, dia: 20, through: true }); pocket(\"p\", #{ into: b.bottom, at: [30, 0], outline: rect(20, 20), depth: 10 });",
    );
    assert_eq!(names(pieces(&build)), ["whole"]);
    // Laid on its side a block with bores from one side is cut in one too.
    let build = block(
        "bore(\"s\", #{ into: b.side(\"left\"), at: [[-20, 3], [20, -9]], dia: 20, through: true });",
    );
    let one = pieces(&build);
    assert_eq!(names(one), ["whole"]);
    reached(one);
}

#[test]
fn one_level_serves_the_board_and_the_bore() {
    let build = plain(
        "board(#{ thickness: 50, length: 600, width: 300 }); auto_split();
         let b = slab(\"b\", #{ outline: rect(200, 160), height: 80 });
         bore(\"s\", #{ into: b.side(\"left\"), at: [0, -5], dia: 20, depth: 60 });
         bore(\"t\", #{ into: b.side(\"front\"), at: [0, -5], dia: 20, depth: 50 });",
    );
    let pieces = pieces(&build);
    assert_eq!(pieces.pieces.len(), 2);
    reached(pieces);
    near(heights(pieces)[0], 35.0, 1.0);
    let why = &pieces.splits[0].why;
    assert!(
        why.contains("thickest board") && why.contains("opens"),
        "{why}"
    );
}

#[test]
fn an_overhang_is_parted_in_the_middle_of_its_room() {
    // A cap that stands out all round its stem: any level from the plate's top to the cap's underside opens it; in all
    // of it there are no flat faces, so it is the middle.
    let build = plain(
        "auto_split(); let plate = slab(\"plate\", #{ outline: rect(140, 140), height: 10 });
         let stem = boss(\"stem\", #{ on: plate.top, dia: 40, height: 30 });
         slab(\"cap\", #{ on: stem.top, outline: rect(90, 90), height: 15 });",
    );
    let pieces = pieces(&build);
    reached(pieces);
    assert_eq!(pieces.pieces.len(), 2);
    // On a face is as good as off it, and the nearest flat face lies at the room's end.
    let at = heights(pieces)[0];
    assert!((10.0 - 1e-3..=40.0 + 1e-3).contains(&at), "{at}");
    assert!(pieces.pieces.iter().all(|p| p.size_mm.min_element() >= 2.0));
}

#[test]
fn layers_are_never_thinner_than_foam_can_be_handled() {
    // Axes 3 mm apart: with foam of 4 mm only one of the two can be opened, and the other is told.
    let script = |least: f64| {
        format!(
            "shrink(0); min_foam({least}); auto_split();
             let b = slab(\"b\", #{{ outline: rect(300, 300), height: 50 }});
             bore(\"s\", #{{ into: b.side(\"left\"), at: [20, 0], dia: 16, depth: 40 }});
             bore(\"t\", #{{ into: b.side(\"front\"), at: [20, 3], dia: 16, depth: 30 }});
             bore(\"u\", #{{ into: b.top, at: [-30, 20], dia: 16, depth: 30 }});"
        )
    };
    let told = |build: &Build| build.findings.iter().any(|f| f.code == "out-of-reach");
    let free = built_whole(&script(0.8));
    reached(pieces(&free));
    assert!(!told(&free));
    assert_eq!(pieces(&free).splits.len(), 2);
    let held = built_whole(&script(4.0));
    let parted = held.pieces.as_ref().unwrap();
    assert_eq!(parted.splits.len(), 1);
    assert!(parted.pieces.iter().all(|p| p.size_mm.z >= 4.0));
    assert!(told(&held));
}

#[test]
fn random_side_bores_take_as_many_levels_as_they_have_heights() {
    let mut random = Seeded(11);
    for round in 0..10 {
        let count = 1 + round % 4;
        let mut script = String::from(
            "facet(0.02); auto_split(); let b = slab(\"b\", #{ outline: rect(160, 140), height: 90 });",
        );
        let mut rows = std::collections::BTreeSet::new();
        for k in 0..count {
            // Axes 8 mm apart or at one height.
            let row = (random.unit() * 7.0).floor() as i32;
            rows.insert(row);
            let side = ["left", "front", "right", "back"][k % 4];
            let at = (random.unit() - 0.5) * 60.0;
            script.push_str(&format!(
                "bore(\"s{k}\", #{{ into: b.side(\"{side}\"), at: [{at:.1}, {}], dia: {:.1}, depth: {:.1}, meets: [{}] }});",
                8 * row - 24,
                6.0 + 8.0 * random.unit(),
                20.0 + 40.0 * random.unit(),
                (0..k).map(|j| format!("\"s{j}\"")).collect::<Vec<_>>().join(", ")
            ));
        }
        let build = plain(&script);
        let parted = pieces(&build);
        reached(parted);
        // Laid on a side that bores come from, only the others call for levels, by their places along it.
        let (sideways, along) = (count.div_ceil(2), count / 2);
        let want = rows.len().min(sideways).min(along);
        assert_eq!(parted.splits.len(), want, "{script}");
    }
}

#[test]
fn a_plane_where_faces_look_both_ways_parts_cleanly() {
    // In the plane of the split lie the top of a block and the underside of a roof beside it.
    for k in 0..10 {
        let height = 9.0 + 0.37 * f64::from(k);
        let build = plain(&format!(
            "let base = slab(\"base\", #{{ outline: rect(120, 60), height: 8 }});
             slab(\"left\", #{{ on: base.top, at: [-30, 0], outline: rect(60, 60), height: {height} }});
             let post = slab(\"post\", #{{ on: base.top, at: [35, 0], outline: rect(10, 60), height: {height} }});
             slab(\"roof\", #{{ on: post.top, at: [0, 0], outline: rect(50, 60), height: 10 }});
             split(\"low\", #{{ at: post.top }});"
        ));
        let parted = pieces(&build);
        assert_eq!(names(parted), ["low", "upper"], "{height}");
        near(piece(parted, "upper").size_mm.z, 10.0, 1e-4);
        near(piece(parted, "upper").volume_mm3, 50.0 * 60.0 * 10.0, 0.2);
        near(piece(parted, "low").size_mm.z, 8.0 + height, 1e-4);
        // Feet stand out over their edges by two thousandths.
        near(piece(parted, "low").glued[0].area_mm2, 600.0, 0.5);
    }
}
