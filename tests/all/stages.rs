//! From finished part to casting to pattern: stock, openings left solid, shrink; volumes by closed formulas.
//!
//! What facets may hide of a round is [`round`].

use std::f64::consts::PI;

use super::built::{built, figures, finished_and_casting, near};
use super::formulas::{drafted, fillet_ring, round};
use foamwright::shop::{Build, Stage};

/// A plate 60 × 40 × 12 on the ground.
const PLATE: &str = "let plate = slab(\"plate\", #{ outline: rect(60, 40), height: 12 });\n";

/// What the casting has more than the finished part (mm³).
#[track_caller]
fn more(source: &str) -> f64 {
    let (finished, casting) = finished_and_casting(source);
    casting - finished
}

#[test]
fn stock_on_a_boss_top_makes_it_higher() {
    let script = format!(
        "{PLATE}let b = boss(\"b\", #{{ on: plate.top, dia: 30, height: 20 }}); finish(b.top, 2.5);"
    );
    near(more(&script), PI * 225.0 * 2.5, round(30.0, 2.5));
    near(
        figures(&built(&script), Stage::Casting).high_mm.z,
        34.5,
        1e-5,
    );
}

#[test]
fn stock_on_a_bottom_goes_down() {
    let script = format!("{PLATE}finish(plate.bottom, 3);");
    near(more(&script), 60.0 * 40.0 * 3.0, 0.05);
    near(
        figures(&built(&script), Stage::Casting).low_mm.z,
        -3.0,
        1e-5,
    );
}

#[test]
fn a_bore_closes_in_by_twice_the_stock_in_diameter() {
    let script = format!(
        "{PLATE}let h = bore(\"h\", #{{ into: plate.top, dia: 20, through: true }}); finish(h.wall, 1.5);"
    );
    near(
        more(&script),
        PI * (100.0 - 72.25) * 12.0,
        round(20.0, 12.0),
    );
    let boss = "let b = boss(\"b\", #{ dia: 40, height: 25, bore: 20 }); finish(b.wall, 2);";
    near(more(boss), PI * (100.0 - 64.0) * 25.0, round(20.0, 25.0));
}

#[test]
fn a_pockets_floor_rises_and_takes_its_fillet_along() {
    for fillet in [0.0, 3.0] {
        let script = format!(
            "{PLATE}let p = pocket(\"p\", #{{ into: plate.top, outline: rect(20, 16), depth: 8, fillet: {fillet} }});
             finish(p.floor, 2);"
        );
        // With the same fillet at both floors the difference is a plain prism.
        near(more(&script), 20.0 * 16.0 * 2.0, 0.05);
    }
}

#[test]
fn a_shoulder_and_a_bored_floor_take_stock_too() {
    let script = format!(
        "{PLATE}let h = bore(\"h\", #{{ into: plate.top, dia: 10, depth: 10, counterbore: #{{ dia: 20, depth: 5 }} }});
         finish(h.shoulder, 2); finish(h.floor, 1);"
    );
    let want = PI * (100.0 - 25.0) * 2.0 + PI * 25.0 * 1.0;
    near(more(&script), want, round(20.0, 2.0) + round(10.0, 3.0));
}

#[test]
fn a_tunnels_ends_grow() {
    let script = "let t = tunnel(\"t\", #{ from: [0, 0, 0], to: [0, 0, 70], inside: 25, wall: 5 });
        finish([t.start, t.end], 2);";
    let ring = PI * (17.5f64.powi(2) - 12.5f64.powi(2));
    near(more(script), ring * 4.0, round(35.0, 4.0));
    let casting = figures(&built(script), Stage::Casting);
    near(casting.low_mm.z, -2.0, 1e-5);
    near(casting.high_mm.z, 72.0, 1e-5);
    assert_eq!(casting.handles, 1, "it stays open");
}

#[test]
fn marked_sides_move_and_their_corner_is_filled() {
    let script = |marks: &str| format!("{PLATE}{marks}");
    let two = "finish(plate.side(\"right\"), 3); finish(plate.side(\"back\"), 2);";
    near(more(&script(two)), (63.0 * 42.0 - 60.0 * 40.0) * 12.0, 0.05);
    let one = "finish(plate.side(\"left\"), 3);";
    near(more(&script(one)), 3.0 * 40.0 * 12.0, 0.05);
    let opposite = "finish([plate.side(\"left\"), plate.side(\"right\")], 1);";
    near(more(&script(opposite)), 2.0 * 40.0 * 12.0, 0.05);
    let with_top = "finish(plate.side(\"right\"), 3); finish(plate.top, 2);";
    near(
        more(&script(with_top)),
        63.0 * 40.0 * 14.0 - 60.0 * 40.0 * 12.0,
        0.05,
    );
}

#[test]
fn a_round_corner_between_two_marked_sides_moves_with_them() {
    let script = "let p = slab(\"p\", #{ outline: rect(60, 40).corners(8), height: 12 });
        for s in [\"left\", \"right\", \"front\", \"back\"] { finish(p.side(s), 2); }";
    let (finished, casting) = finished_and_casting(script);
    // The corners keep their radius: what the squares have more than their rounds.
    let corners = (4.0 - PI) * 64.0;
    near(finished, (2400.0 - corners) * 12.0, round(16.0, 12.0));
    near(casting, (64.0 * 44.0 - corners) * 12.0, round(16.0, 12.0));
}

#[test]
fn an_outside_grows_and_a_pockets_wall_closes_in() {
    let script = "let b = boss(\"b\", #{ dia: 40, height: 20 }); finish(b.outside, 2);";
    near(more(script), PI * (484.0 - 400.0) * 20.0, round(44.0, 20.0));
    let script = format!(
        "{PLATE}let p = pocket(\"p\", #{{ into: plate.top, outline: rect(20, 16), depth: 8 }});
         finish(p.side(\"left\"), 2);"
    );
    near(more(&script), 2.0 * 16.0 * 8.0, 0.05);
}

#[test]
fn stock_continues_a_drafted_slope() {
    let t = 3f64.to_radians().tan();
    let script =
        "let p = slab(\"p\", #{ outline: rect(60, 40), height: 20, draft: 3 }); finish(p.top, 4);";
    let (finished, casting) = finished_and_casting(script);
    near(finished, drafted(60.0, 40.0, t, -20.0, 0.0), 0.5);
    near(casting, drafted(60.0, 40.0, t, -20.0, 4.0), 0.5);
    // On a drafted pocket's floor the walls end sooner, no narrower than they were there.
    let script = format!(
        "{PLATE}let p = pocket(\"p\", #{{ into: plate.top, outline: rect(30, 20), depth: 10, draft: 3 }});
         finish(p.floor, 2);"
    );
    // Downwards it narrows: its z counts down from the mouth.
    near(more(&script), drafted(30.0, 20.0, t, 8.0, 10.0), 0.2);
}

#[test]
fn what_stands_on_a_marked_face_keeps_its_top() {
    for fillet in [0.0, 3.0] {
        let script = format!(
            "{PLATE}boss(\"b\", #{{ on: plate.top, dia: 20, height: 18, fillet: {fillet} }}); finish(plate.top, 3);"
        );
        // The boss's foot goes up by the stock; a fillet goes up with it, unchanged.
        near(more(&script), (2400.0 - PI * 100.0) * 3.0, round(20.0, 3.0));
        near(
            figures(&built(&script), Stage::Casting).high_mm.z,
            30.0,
            1e-5,
        );
    }
}

#[test]
fn a_fillet_shrinks_to_the_height_left_over_the_stock() {
    let script = format!(
        "allow(\"in-stock\", [\"b\"], \"meant\");{PLATE}
         boss(\"b\", #{{ on: plate.top, dia: 20, height: 5, fillet: 4 }}); finish(plate.top, 3);"
    );
    let (_, casting) = finished_and_casting(&script);
    // 2 mm are left above the raw face.
    let want = 2400.0 * 15.0 + PI * 100.0 * 2.0 + fillet_ring(2.0, 10.0, false);
    near(casting, want, round(20.0, 2.0) + round(24.0, 2.0));
}

#[test]
fn stock_leaves_openings_open() {
    let script = format!(
        "{PLATE}bore(\"h\", #{{ into: plate.top, dia: 20, through: true }});
         pocket(\"p\", #{{ into: plate.bottom, at: [22, 0], outline: rect(10, 20), depth: 6 }});
         finish([plate.top, plate.bottom], 3);"
    );
    let want = 2.0 * 3.0 * (2400.0 - PI * 100.0) - 3.0 * 200.0;
    near(more(&script), want, round(20.0, 6.0));
    assert_eq!(figures(&built(&script), Stage::Casting).handles, 1);
}

#[test]
fn the_edge_of_a_marked_face_is_plain_in_the_casting() {
    for edge in ["round", "chamfer"] {
        let script = format!(
            "let p = slab(\"p\", #{{ outline: rect(60, 40), height: 12, {edge}: 2 }}); finish(p.top, 3);"
        );
        near(finished_and_casting(&script).1, 2400.0 * 15.0, 0.05);
    }
    let script = format!(
        "{PLATE}bore(\"h\", #{{ into: plate.top, dia: 20, depth: 10, chamfer: 2 }}); finish(plate.top, 3);"
    );
    let want = 2400.0 * 15.0 - PI * 100.0 * 13.0;
    near(finished_and_casting(&script).1, want, round(20.0, 13.0));
}

#[test]
fn small_openings_are_left_solid() {
    let bore = |dia: f64, keys: &str| {
        format!(
            "min_cored(8);{PLATE}bore(\"h\", #{{ into: plate.top, dia: {dia}, through: true{keys} }});"
        )
    };
    let open = |dia: f64| 28800.0 - PI * dia * dia / 4.0 * 12.0;
    let cast = |source: &str| finished_and_casting(source).1;
    near(cast(&bore(6.0, "")), 28800.0, 0.05);
    near(cast(&bore(8.0, "")), open(8.0), round(8.0, 12.0));
    near(
        cast(&bore(6.0, ", cored: true")),
        open(6.0),
        round(6.0, 12.0),
    );
    near(cast(&bore(20.0, ", cored: false")), 28800.0, 0.05);
    // Whatever the casting has, the finished part is open.
    for keys in ["", ", cored: true", ", cored: false"] {
        let (finished, _) = finished_and_casting(&bore(6.0, keys));
        near(finished, open(6.0), round(6.0, 12.0));
    }
    // As cast it is narrower by its stock.
    let marked =
        bore(12.0, "").replace("bore(\"h\"", "let h = bore(\"h\"") + "finish(h.wall, 2.5);";
    near(cast(&marked), 28800.0, 0.05);
}

#[test]
fn steps_of_a_bore_are_judged_one_by_one() {
    let script = format!(
        "min_cored(8);{PLATE}bore(\"h\", #{{ into: plate.top, dia: 6, through: true, counterbore: #{{ dia: 14, depth: 5 }} }});"
    );
    let want = 28800.0 - PI * 49.0 * 5.0;
    near(finished_and_casting(&script).1, want, round(14.0, 5.0));
}

#[test]
fn a_slot_counts_by_the_widest_disc_that_fits() {
    let script = |width: f64| {
        format!(
            "min_cored(8);{PLATE}pocket(\"p\", #{{ into: plate.top, outline: rect(30, {width}), through: true }});"
        )
    };
    near(finished_and_casting(&script(7.9)).1, 28800.0, 0.05);
    near(
        finished_and_casting(&script(8.1)).1,
        28800.0 - 30.0 * 8.1 * 12.0,
        0.05,
    );
}

#[test]
fn cored_with_nothing_left_is_an_error() {
    let script = "part(\"t\"); let plate = slab(\"plate\", #{ outline: rect(60, 40), height: 12 });
        let h = bore(\"h\", #{ into: plate.top, dia: 6, through: true, cored: true }); finish(h.wall, 3);";
    assert!(super::built::tried(script).is_err());
}

/// Pattern volume over casting volume.
fn growth(source: &str) -> f64 {
    let build: Build = built(source);
    let [casting, pattern] =
        [Stage::Casting, Stage::Pattern].map(|s| figures(&build, s).volume_mm3);
    pattern / casting
}

#[test]
fn shrink_scales_the_volume_by_the_product_of_its_axes() {
    let part = format!(
        "{PLATE}boss(\"b\", #{{ on: plate.top, dia: 24, height: 20, bore: 10, fillet: 3 }}); finish(plate.bottom, 2);"
    );
    // Points are rounded to f32 in each stage.
    near(
        growth(&format!("shrink(1.3);{part}")),
        1.013f64.powi(3),
        1e-6,
    );
    near(
        growth(&format!("shrink([1.3, 1.0, 2.1]);{part}")),
        1.013 * 1.01 * 1.021,
        1e-6,
    );
    near(growth(&format!("shrink(0);{part}")), 1.0, 1e-6);
    let bar = "shrink_measured(#{ pattern: 250, casting: 246.8 });";
    near(
        growth(&format!("{bar}{part}")),
        (250.0f64 / 246.8).powi(3),
        1e-6,
    );
    // A356: 5/32 in a foot, 1.30 % (facts; from memory: ASTM B26 appendix).
    near(
        growth(&format!("metal(\"A356\");{part}")),
        1.013f64.powi(3),
        1e-6,
    );
    let build = built(&format!("shrink(2);{part}"));
    let (casting, pattern) = (
        figures(&build, Stage::Casting),
        figures(&build, Stage::Pattern),
    );
    near(pattern.low_mm.z, casting.low_mm.z * 1.02, 1e-5);
    near(pattern.high_mm.x, casting.high_mm.x * 1.02, 1e-5);
    assert_eq!(pattern.handles, casting.handles);
}

#[test]
fn stock_by_grade_follows_the_standard() {
    // RMA G + CT11 / 2 at the ends of the rows, checked against a casting design guide (facts, ISO 8062).
    let flat = [
        (100.0, 3.6),
        (160.0, 4.7),
        (250.0, 5.6),
        (400.0, 6.6),
        (630.0, 7.5),
        (1000.0, 9.0),
    ];
    for (length, stock) in flat {
        let script = format!(
            "stock_grade(\"G\", \"CT11\");
             let p = slab(\"p\", #{{ outline: rect({length}, 40), height: 20 }}); finish(p.top);"
        );
        near(more(&script), length * 40.0 * stock, length * 40.0 * 1e-4);
        // A hair over the row's end the next row holds.
        let over = script.replace(&format!("rect({length}"), &format!("rect({}", length + 0.1));
        if length < 1000.0 {
            assert!(more(&over) > (length + 0.1) * 40.0 * (stock + 0.5));
        }
    }
}

#[test]
fn a_bores_side_shares_the_tolerance() {
    // 160 to 250 mm: RMA H 4, CT10 4 (facts, ISO 8062): 4 + 4/4 on the radius.
    let script = "stock_grade(\"H\", \"CT10\");
        let p = slab(\"p\", #{ outline: rect(200, 60), height: 20 });
        let h = bore(\"h\", #{ into: p.top, dia: 40, through: true }); finish(h.wall);";
    near(more(script), PI * (400.0 - 225.0) * 20.0, round(40.0, 20.0));
}
