//! Loose pieces: sizes, volumes and lengths of wax are closed formulas of the shapes drawn.

use std::f64::consts::PI;

use super::built::{built, near, tried};
use super::pieces::{names, piece, pieces, plain, sized};
use foamwright::measure::Vec3;
use foamwright::pieces::{Kind, Wax};
use foamwright::solid::reach::Gaps;

/// Volume of a fillet of radius r round a disc of radius b (mm³): the square ring less the quarter torus, by Pappus.
/// The quarter disc cut away has its centroid 4 r / 3π off its centre, which lies r from the disc.
fn ring(b: f64, r: f64) -> f64 {
    let square = PI * ((b + r).powi(2) - b * b) * r;
    let quarter = PI * r * r / 4.0 * 2.0 * PI * (b + r - 4.0 * r / (3.0 * PI));
    square - quarter
}

#[track_caller]
fn waxed(wax: &Wax, radius: f64, length: f64) {
    near(wax.radius_mm, radius, 1e-9);
    near(wax.length_mm, length, 0.01 * length);
}

#[test]
fn a_loose_boss_is_cut_flat_and_its_fillet_is_wax() {
    let build = plain(
        "let plate = slab(\"plate\", #{ outline: rect(120, 60), height: 20 });
         boss(\"post\", #{ on: plate.top, at: [10, 5], dia: 30, height: 24, fillet: 4, loose: true });",
    );
    let pieces = pieces(&build);
    assert_eq!(names(pieces), ["body", "post"]);
    sized(piece(pieces, "body"), [120.0, 60.0, 20.0]);
    // Where the wax lies it is cut wider by two thousandths.
    near(piece(pieces, "post").size_mm.x, 30.0, 5e-3);
    near(piece(pieces, "post").size_mm.z, 24.0, 1e-3);
    // Polygons stand in for circles: to within twice a facet of 0.02 on the rim.
    near(
        piece(pieces, "post").volume_mm3,
        PI * 225.0 * 24.0,
        PI * 30.0 * 24.0 * 0.02,
    );
    near(piece(pieces, "body").volume_mm3, 144_000.0, 0.2);
    let post = build.part.find("post").unwrap();
    assert_eq!(piece(pieces, "post").kind, Kind::Loose(post));
    assert_eq!(piece(pieces, "post").sides, 1);
    waxed(&pieces.wax[0], 4.0, PI * 30.0);
    near(
        pieces.wax[0].volume_mm3,
        ring(15.0, 4.0),
        0.02 * ring(15.0, 4.0),
    );
    // Its seat is its own foot, on the plate.
    let seat = &pieces.seats[0];
    assert_eq!((seat.piece, seat.on, seat.loops.len()), (1, 0, 1));
    for p in &seat.loops[0] {
        near(
            (p.truncate() - glam::DVec2::new(10.0, 5.0)).length(),
            15.0,
            0.03,
        );
        near(p.z, 20.0, 1e-3);
    }
    near(
        piece(pieces, "post").glued[0].area_mm2,
        PI * 225.0,
        PI * 30.0 * 0.02,
    );
}

#[test]
fn what_stands_on_a_loose_piece_goes_with_it() {
    let build = built(
        "fillets(3);
         let plate = slab(\"plate\", #{ outline: rect(120, 60), height: 20 });
         let post = boss(\"post\", #{ on: plate.top, dia: 40, height: 14, loose: true });
         let cap = boss(\"cap\", #{ on: post.top, dia: 20, height: 10 });
         bore(\"hole\", #{ into: cap.top, dia: 12, through: true });
         boss(\"side\", #{ on: post.around(0, 7), outline: rect(8, 8), height: 6, fillet: 0, loose: true });",
    );
    let pieces = pieces(&build);
    assert_eq!(names(pieces), ["body", "post", "side"]);
    let post = piece(pieces, "post");
    near(post.size_mm.z, 24.0 * 1.013, 1e-3);
    assert!(post.features.contains(&build.part.find("cap").unwrap()));
    // The foot between the plane that touches the post and the post stays with the post.
    near(
        piece(pieces, "side").volume_mm3,
        8.0 * 8.0 * 6.0 * 1.013_f64.powi(3),
        0.1,
    );
    near(piece(pieces, "side").size_mm.z, 6.0 * 1.013, 1e-3);
    assert_eq!(pieces.wax.len(), 1);
    waxed(&pieces.wax[0], 3.0, PI * 40.0 * 1.013);
}

#[test]
fn a_marked_face_seats_a_loose_piece_at_its_stock() {
    let build = plain(
        "let plate = slab(\"plate\", #{ outline: rect(120, 60), height: 20 });
         let post = boss(\"post\", #{ on: plate.top, outline: rect(20, 20), height: 24, loose: true });
         finish(plate.top, 2); finish(post.top, 3);",
    );
    let pieces = pieces(&build);
    sized(piece(pieces, "body"), [120.0, 60.0, 22.0]);
    sized(piece(pieces, "post"), [20.0, 20.0, 25.0]);
}

#[test]
fn a_loose_rib_ends_at_its_bosses_and_a_loose_boss_takes_its_ribs_ends() {
    let script = |boss: &str, rib: &str| {
        format!(
            "let plate = slab(\"plate\", #{{ outline: rect(120, 60), height: 20 }});
             boss(\"post\", #{{ on: plate.top, at: [-30, 0], outline: rect(20, 20), height: 24, fillet: 0{boss} }});
             rib(\"web\", #{{ on: plate.top, from: [-30, 0], to: [40, 0], thick: 8, height: 12, fillet: 2{rib} }});"
        )
    };
    let build = plain(&script("", ", loose: true"));
    let loose = pieces(&build);
    assert_eq!(names(loose), ["body", "web"]);
    // From the post's side at x = -20 to the round end at 44.
    near(
        piece(loose, "web")
            .size_mm
            .x
            .max(piece(loose, "web").size_mm.y),
        64.0,
        5e-3,
    );
    near(
        piece(loose, "body").volume_mm3,
        144_000.0 + 400.0 * 24.0,
        0.5,
    );
    // Two long sides and half a turn of radius 4.
    waxed(&loose.wax[0], 2.0, 2.0 * 60.0 + PI * 4.0);
    // It is glued to the plate and to the post.
    near(
        piece(loose, "web").glue_of(0),
        8.0 * 60.0 + PI * 8.0 + 8.0 * 12.0,
        0.5,
    );
    let build = plain(&script(", loose: true", ""));
    let loose = pieces(&build);
    near(piece(loose, "post").size_mm.x, 20.0, 5e-3);
    near(piece(loose, "post").volume_mm3, 400.0 * 24.0, 2.0);
}

#[test]
fn a_loose_piece_on_a_drafted_side_ends_in_its_slope() {
    let build = plain(
        "let box = slab(\"box\", #{ outline: rect(80, 80), height: 50, draft: 5 });
         boss(\"ear\", #{ on: box.side(\"right\"), outline: rect(20, 20), height: 15, fillet: 0, loose: true });",
    );
    let pieces = pieces(&build);
    // The box keeps its own metal: a pyramid's stump from 80 to 80 + 100 tan 5°, whose edges are rounded by the draft.
    let slope = 5f64.to_radians().tan();
    let (a, b) = (80.0_f64, 80.0 + 100.0 * slope);
    let rounded = (4.0 - PI) * slope * slope * 50f64.powi(3) / 3.0;
    let stump = 50.0 / 3.0 * (a * a + a * b + b * b) - rounded;
    near(piece(pieces, "body").volume_mm3, stump, 10.0);
    // Its foot is the ear's section over the cosine of the slope, its middle 15 less the slope at mid-height high.
    near(
        piece(pieces, "ear").volume_mm3,
        400.0 * (15.0 - 25.0 * slope),
        0.5,
    );
    near(
        piece(pieces, "ear").glue_of(0),
        400.0 / 5f64.to_radians().cos(),
        0.5,
    );
}

#[test]
fn a_loose_flange_ends_at_its_back() {
    let build = plain(
        "let pipe = tunnel(\"pipe\", #{ from: [0, 0, 0], to: [0, 0, 70], inside: 26, wall: 6 });
         flange(\"rim\", #{ on: pipe.start, dia: 80, thick: 10, fillet: 3, loose: true });",
    );
    let pieces = pieces(&build);
    assert_eq!(names(pieces), ["rim", "body"]);
    near(
        piece(pieces, "rim").volume_mm3,
        PI * (1600.0 - 169.0) * 10.0,
        60.0,
    );
    near(piece(pieces, "rim").size_mm.z, 10.0, 1e-3);
    near(piece(pieces, "body").size_mm.z, 60.0, 1e-3);
    waxed(&pieces.wax[0], 3.0, PI * 38.0);
}

#[test]
fn mirrored_copies_and_instances_are_loose_too() {
    let build = plain(
        "let plate = slab(\"plate\", #{ outline: rect(160, 60), height: 20 });
         let pads = boss(\"pad\", #{ on: plate.top, at: [[40, 15], [40, -15]], dia: 16, height: 8, fillet: 2, loose: true });
         mirrored(\"left\", [pads], \"x\");",
    );
    let pieces = pieces(&build);
    let mut names = names(pieces);
    names.sort_unstable();
    assert_eq!(
        names,
        ["body", "left.pad.1", "left.pad.2", "pad.1", "pad.2"]
    );
    assert_eq!(pieces.wax.len(), 4);
}

#[test]
fn a_loose_piece_must_stand_on_something() {
    let failure =
        tried("part(\"t\"); slab(\"s\", #{ outline: rect(20, 20), height: 8, loose: true });");
    let text = failure.err().map(|f| f.faults.0[0].text.clone());
    assert!(text.is_some_and(|t| t.contains("glued to the face")));
}

#[test]
fn loose_pieces_of_random_parts_are_the_pattern_with_their_wax() {
    let mut seed = 7_u64;
    for _ in 0..10 {
        let mut within = |low: f64, high: f64| {
            // Knuth's multiplier (The Art of Computer Programming, volume 2).
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            low + (high - low) * (seed >> 11) as f64 / (1u64 << 53) as f64
        };
        let script = format!(
            "facet(0.1); fillets(3);
             let box = slab(\"box\", #{{ outline: rect(140, 90).corners(12), height: 40, draft: {:.2} }});
             hollow(\"inside\", #{{ of: box, open: box.bottom, wall: 6, floor: 6 }});
             let post = boss(\"post\", #{{ on: box.top, at: [{:.2}, {:.2}], dia: {:.2}, height: {:.2}, draft: {:.2}, loose: true }});
             boss(\"ear\", #{{ on: box.side(\"front\"), at: [{:.2}, 2], dia: {:.2}, height: 12, loose: true }});
             rib(\"web\", #{{ on: box.top, from: [-20, 0], to: [50, {:.2}], thick: 7, height: [14, 8], loose: true }});
             bore(\"hole\", #{{ into: post.top, dia: 9, through: true }});
             split(\"low\", #{{ at: level({:.2}) }});",
            within(0.0, 4.0),
            within(-35.0, -25.0),
            within(-12.0, 12.0),
            within(20.0, 34.0),
            within(14.0, 30.0),
            within(0.0, 3.0),
            within(-30.0, 30.0),
            within(16.0, 22.0),
            within(-20.0, 20.0),
            within(8.0, 35.0),
        );
        let build = built(&script);
        let pieces = pieces(&build);
        assert!(pieces.pieces.len() >= 5, "{script}");
        for name in ["post", "ear", "web"] {
            assert!(!piece(pieces, name).glued.is_empty(), "{name} {script}");
        }
    }
}

#[test]
fn a_loose_tunnel_comes_out_as_halves() {
    // A pipe of 30 outside and 20 inside runs level through a block, straight and bent in plan.
    for path in [
        "[[-60, 0, 30], [60, 0, 30]]",
        "[[-60, -10, 30], [0, -10, 30], [60, 40, 30]]",
    ] {
        let build = plain(&format!(
            "slab(\"block\", #{{ outline: rect(80, 60), height: 60 }});
             tunnel(\"pipe\", #{{ path: {path}, inside: 20, wall: 5, loose: true }});"
        ));
        let pieces = pieces(&build);
        for name in ["pipe.1", "pipe.2"] {
            let half = piece(pieces, name);
            // It lies on the tunnel's own plane, where its inside opens.
            near(half.lay.z.z.abs(), 1.0, 1e-9);
            let hidden = Gaps::of(&half.solid).all_hidden(0.05);
            assert!(
                hidden.plan_mm2() < 1.0,
                "{name} {path}: {}",
                hidden.plan_mm2()
            );
        }
        for body in pieces.pieces.iter().filter(|p| p.kind == Kind::Body) {
            let (solid, _) = body.upright();
            assert!(
                Gaps::of(&solid).all_hidden(0.05).plan_mm2() < 1.0,
                "{}",
                body.name
            );
        }
    }
    // A sloping one parts along its slope.
    let build = plain(
        "slab(\"block\", #{ outline: rect(80, 60), height: 60 });
         tunnel(\"pipe\", #{ from: [-52, 0, 0], to: [52, 0, 60], inside: 20, wall: 5, loose: true });",
    );
    let pieces = pieces(&build);
    let way = Vec3::new(104.0, 0.0, 60.0).normalize();
    for name in ["pipe.1", "pipe.2"] {
        near(piece(pieces, name).lay.z.dot(way), 0.0, 1e-6);
    }
    assert!(build.findings.iter().all(|f| f.code != "no-effect"));
}

/// A bar of 60 by 20 is parted by a pocket right through it into blocks of 25 and 15: round each the wax runs along two
/// sides and an end. Its volume is the straight section, (1 - π/4) r², and two quarters of the ring round an edge.
#[test]
fn wax_of_a_feature_in_several_pieces_is_parted_among_them() {
    let build = plain(
        "let plate = slab(\"plate\", #{ outline: rect(120, 60), height: 20 });
         let bar = boss(\"bar\", #{ on: plate.top, outline: rect(60, 20), height: 12, fillet: 3, loose: true });
         pocket(\"gap\", #{ into: bar.top, at: [5, 0], outline: rect(20, 40), depth: 12 });",
    );
    let pieces = pieces(&build);
    assert_eq!(names(pieces), ["body", "bar.1", "bar.2"]);
    let bend = 2.0 * PI / 2.0 * (5.0 / 6.0 - PI / 4.0) * 27.0;
    for (name, long) in [("bar.1", 25.0), ("bar.2", 15.0)] {
        let at = pieces.pieces.iter().position(|p| p.name == name).unwrap();
        let block = piece(pieces, name);
        near(block.volume_mm3, long * 20.0 * 12.0, 3.0);
        let own: Vec<&Wax> = pieces.wax.iter().filter(|w| w.piece == at).collect();
        assert_eq!(own.len(), 1, "{name}");
        waxed(own[0], 3.0, 2.0 * long + 20.0);
        let volume = (1.0 - PI / 4.0) * 9.0 * (2.0 * long + 20.0) + bend;
        near(own[0].volume_mm3, volume, 0.02 * volume);
        near(own[0].solid.volume_mm3(), own[0].volume_mm3, 1e-9);
    }
    assert_eq!(pieces.wax.len(), 2);
    // The step that sets a block lays its own wax.
    for step in pieces.steps.iter().filter(|s| !s.wax.is_empty()) {
        assert_eq!(step.wax.len(), 1);
        assert_eq!(pieces.wax[step.wax[0]].piece, step.piece);
    }
}

/// A flange comes in two, by a slot across it; its fillet, a ring round a pipe of 38, is parted by the split in the slot.
/// The corner's length is the circle's: the sections of the wax, a leg of 3 each, are no part of it.
#[test]
fn a_split_plane_through_wax_adds_no_length() {
    let build = plain(
        "let pipe = tunnel(\"pipe\", #{ from: [0, 0, 0], to: [0, 0, 70], inside: 26, wall: 6 });
         let rim = flange(\"rim\", #{ on: pipe.start, dia: 80, thick: 10, fillet: 3, loose: true });
         pocket(\"gap\", #{ into: rim.top, outline: rect(100, 10), depth: 10 });
         split(\"half\", #{ at: face(#{ at: [0, 0, 35], facing: [0, 1, 0] }) });",
    );
    let pieces = pieces(&build);
    assert_eq!(pieces.wax.len(), 2);
    for wax in &pieces.wax {
        waxed(wax, 3.0, PI * 19.0);
        near(
            wax.volume_mm3,
            ring(19.0, 3.0) / 2.0,
            0.02 * ring(19.0, 3.0),
        );
        near(wax.solid.volume_mm3(), wax.volume_mm3, 1e-9);
    }
    assert_ne!(pieces.wax[0].piece, pieces.wax[1].piece);
    let foam: f64 = pieces.pieces.iter().map(|p| p.volume_mm3).sum();
    let wax: f64 = pieces.wax.iter().map(|w| w.volume_mm3).sum();
    let pattern = build.stages[2].solid.volume_mm3();
    assert!(((foam + wax) / pattern - 1.0).abs() < 1e-6);
}
