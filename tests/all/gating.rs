//! The gated stage: volumes of stubs, runners, sprues, feeders, ties and trees by closed formulas. Sizes are as cut; the
//! pattern is 1.013 times the casting where a script says nothing of shrink (from memory: ASTM B26 appendix, A356).

use std::f64::consts::PI;

use super::built::{built, figures, near, tried};
use super::formulas::round;
use foamwright::fault::render_all;
use foamwright::shop::{Build, Stage};

/// A plate 120 × 60 × 12 that doesn't shrink.
const PLATE: &str =
    "shrink(0);\nlet plate = slab(\"plate\", #{ outline: rect(120, 60), height: 12 });\n";

/// What the gating adds to the pattern (mm³).
fn added(build: &Build) -> f64 {
    let copies = build.gated.as_ref().map_or(1, |g| g.copies) as f64;
    figures(build, Stage::Gated).volume_mm3 - copies * figures(build, Stage::Pattern).volume_mm3
}

/// What one piece adds outside what was there before it (mm³).
fn of_piece(build: &Build, name: &str) -> f64 {
    let number = build.part.gating.named(name)[0];
    build.pour.as_ref().unwrap().weights.pieces_mm3[number]
}

/// What f32 leaves of a volume of some 10⁵ mm³ (mm³): 10⁻⁷ of 100 mm over 10⁴ mm² of surface.
const ROUNDED: f64 = 0.1;

#[test]
fn nothing_is_gated_without_a_gate() {
    let build = built(&format!("{PLATE}flask(\"30 gal drum\");"));
    assert!(build.stage(Stage::Gated).is_none() && build.gated.is_none() && build.pour.is_none());
}

#[test]
fn a_stub_is_as_cut_and_stands_on_the_raw_face() {
    let script = |before: &str| {
        let build = built(&format!(
            "{before}let plate = slab(\"plate\", #{{ outline: rect(120, 60), height: 12 }});
             finish(plate.top, 2);
             gate(\"g\", #{{ on: plate.top, at: [20, 5], size: [10, 8], length: 15 }});"
        ));
        (added(&build), figures(&build, Stage::Gated))
    };
    let (volume, figures) = script("shrink(0);\n");
    near(volume, 10.0 * 8.0 * 15.0, ROUNDED);
    near(figures.high_mm.z, 14.0 + 15.0, 1e-4);
    let (volume, figures) = script("shrink(1.3);\n");
    near(volume, 10.0 * 8.0 * 15.0, ROUNDED);
    near(figures.high_mm.z, 14.0 * 1.013 + 15.0, 1e-4);
    assert_eq!((figures.bodies, figures.handles), (1, 0));
}

#[test]
fn a_stub_on_a_side_and_one_up_to_a_plane() {
    let build = built(&format!(
        "{PLATE}gate(\"side\", #{{ on: plate.side(\"left\"), dia: 9, length: 20 }});
         gate(\"up\", #{{ on: plate.top, size: [10, 6], up_to: level(40) }});"
    ));
    near(of_piece(&build, "up"), 10.0 * 6.0 * 28.0, ROUNDED);
    let disc = PI * 81.0 / 4.0 * 20.0;
    near(of_piece(&build, "side"), disc, round(9.0, 20.0) + ROUNDED);
    near(figures(&build, Stage::Gated).low_mm.x, -80.0, 1e-4);
}

#[test]
fn a_stub_up_to_a_slanting_plane_ends_on_it() {
    // The plane through [0, 0, 40] at 45°: over the middle of the section it is as high as at its axis.
    let build = built(&format!(
        "{PLATE}gate(\"up\", #{{ on: plate.top, size: [10, 6],
            up_to: face(#{{ at: [0, 0, 40], facing: [1, 0, 1] }}) }});"
    ));
    near(added(&build), 10.0 * 6.0 * 28.0, ROUNDED);
    near(figures(&build, Stage::Gated).high_mm.z, 45.0, 1e-4);
}

#[test]
fn a_stub_on_a_round_body_meets_it_all_round() {
    let (r, w, h, length) = (30.0f64, 14.0f64, 8.0f64, 18.0f64);
    let build = built(&format!(
        "shrink(0);
         let drum = slab(\"drum\", #{{ outline: disc({}), height: 20 }});
         gate(\"g\", #{{ on: drum.around(25, 10), size: [{w}, {h}], length: {length} }});",
        2.0 * r
    ));
    // Under the touching plane: w R less the area under the circle, ½ [y √(R² - y²) + R² asin(y / R)] on both sides.
    let y = w / 2.0;
    let under = w * r - (y * (r * r - y * y).sqrt() + r * r * (y / r).asin());
    let want = h * (w * length + under);
    near(added(&build), want, 0.02 * w * h + ROUNDED);
    let figures = figures(&build, Stage::Gated);
    assert_eq!((figures.bodies, figures.handles), (1, 0));
}

#[test]
fn a_stub_on_a_drafted_side_meets_its_slope() {
    // The face of the drafted side is upright through its top; the metal stands out by tan 5° a mm below it.
    let t = 5f64.to_radians().tan();
    let build = built(
        "shrink(0);
         let block = slab(\"block\", #{ outline: rect(60, 40), height: 30, draft: 5 });
         gate(\"g\", #{ on: block.side(\"right\"), size: [10, 12], length: 20 });",
    );
    // At the middle of the stub the metal stands 15 t out of the plane.
    near(added(&build), 10.0 * 12.0 * (20.0 - 15.0 * t), ROUNDED);
}

#[test]
fn a_runner_joins_stubs_and_makes_a_loop() {
    let build = built(&format!(
        "{PLATE}let g = gate(\"g\", #{{ on: plate.top, at: [[-40, 0], [40, 0]], size: 10, length: 15 }});
         let bar = runner(\"bar\", #{{ size: [12, 14], joins: g }});"
    ));
    // From stub to stub, past each by the runner's half width and 1 mm.
    let long = 80.0 + 2.0 * (6.0 + 1.0);
    // A stub is counted with what it goes into the runner (0.2 mm), the runner without.
    near(
        of_piece(&build, "bar"),
        12.0 * 14.0 * long - 2.0 * 20.0,
        ROUNDED,
    );
    near(of_piece(&build, "g.1"), 1500.0 + 100.0 * 0.2, ROUNDED);
    near(
        added(&build),
        2.0 * 1500.0 + 12.0 * 14.0 * long,
        2.0 * ROUNDED,
    );
    let figures = figures(&build, Stage::Gated);
    assert_eq!((figures.bodies, figures.handles), (1, 1));
    let gates = &build.pour.as_ref().unwrap().gates;
    assert!(gates.iter().all(|g| g.meets == Some(2)));
}

#[test]
fn a_runner_is_mitred_where_it_turns() {
    let build = built(&format!(
        "{PLATE}let g = gate(\"g\", #{{ on: plate.top, at: [[-40, -20], [40, -20], [40, 20]], dia: 9, length: 15 }});
         runner(\"bar\", #{{ size: 12, joins: [g] }});"
    ));
    // A mitred bar holds its section times its middle line.
    let long = 80.0 + 40.0 + 2.0 * (6.0 + 1.0);
    let stubs = 3.0 * PI * 81.0 / 4.0 * 15.0;
    near(
        added(&build),
        stubs + 144.0 * long,
        3.0 * round(9.0, 15.0) + ROUNDED,
    );
    assert_eq!(figures(&build, Stage::Gated).bodies, 1);
}

#[test]
fn a_stub_off_the_level_gets_a_riser() {
    let build = built(&format!(
        "{PLATE}let high = boss(\"high\", #{{ on: plate.top, at: [-40, 0], dia: 24, height: 30 }});
         gate(\"a\", #{{ on: high.top, size: 10, length: 15 }});
         gate(\"b\", #{{ on: plate.top, at: [40, 0], size: 10, length: 15 }});
         runner(\"bar\", #{{ size: 10, joins: [\"a\", \"b\"] }});"
    ));
    // The riser goes up from the lower stub's end, 30 mm under the runner, and is counted to the runner.
    let level = 10.0 * 10.0 * (80.0 + 2.0 * (5.0 + 1.0));
    near(added(&build), 2.0 * 1500.0 + level + 100.0 * 30.0, ROUNDED);
    assert_eq!(figures(&build, Stage::Gated).bodies, 1);
    assert_eq!(figures(&build, Stage::Gated).handles, 1);
}

#[test]
fn a_runner_along_a_path_meets_the_stub_that_ends_on_it() {
    let build = built(&format!(
        "{PLATE}gate(\"g\", #{{ on: plate.side(\"left\"), size: 10, length: 20 }});
         runner(\"bar\", #{{ size: 12, path: [[-86, -40, 6], [-86, 40, 6]] }});"
    ));
    near(added(&build), 100.0 * 20.0 + 144.0 * 80.0, 2.0 * ROUNDED);
    assert_eq!(figures(&build, Stage::Gated).bodies, 1);
}

#[test]
fn a_sprue_is_a_cone_over_what_it_stands_on() {
    let build = built(&format!(
        "{PLATE}let g = gate(\"g\", #{{ on: plate.top, dia: 24, length: 20 }});
         sprue(\"s\", #{{ on: g, height: 150, dia: [26, 18] }});"
    ));
    let cone = PI * 150.0 / 12.0 * (26.0 * 26.0 + 26.0 * 18.0 + 18.0 * 18.0);
    near(of_piece(&build, "s"), cone, round(22.0, 150.0) + ROUNDED);
    near(
        figures(&build, Stage::Gated).high_mm.z,
        12.0 + 20.0 + 150.0,
        1e-4,
    );
}

#[test]
fn a_sprue_stands_on_the_runner_where_it_is_told() {
    let build = built(&format!(
        "{PLATE}let g = gate(\"g\", #{{ on: plate.top, at: [[-40, 0], [40, 0]], size: 10, length: 15 }});
         let bar = runner(\"bar\", #{{ size: 20, joins: g }});
         sprue(\"s\", #{{ on: bar, xy: [25, 30], height: 150, dia: 16 }});"
    ));
    let figures = figures(&build, Stage::Gated);
    near(figures.high_mm.z, 12.0 + 15.0 + 20.0 + 150.0, 1e-4);
    let top: Vec<f64> = {
        let solid = &build.stage(Stage::Gated).unwrap().solid;
        let high = solid
            .points
            .iter()
            .filter(|p| p.z > figures.high_mm.z - 1e-3);
        high.map(|p| p.x).collect()
    };
    near(
        top.iter().copied().fold(f64::INFINITY, f64::min),
        25.0 - 8.0,
        0.03,
    );
    near(
        of_piece(&build, "s"),
        PI * 64.0 * 150.0,
        round(16.0, 150.0) + ROUNDED,
    );
}

#[test]
fn feeders_and_ties_fill_what_lies_between() {
    let build = built(&format!(
        "{PLATE}let a = boss(\"a\", #{{ on: plate.top, at: [-40, 0], outline: rect(10, 40), height: 40, fillet: 0 }});
         let b = boss(\"b\", #{{ on: plate.top, at: [40, 0], outline: rect(10, 40), height: 40, fillet: 0 }});
         tie(\"t\", #{{ from: #{{ on: a.side(\"right\"), at: [0, 10] }}, to: #{{ on: b.side(\"left\"), at: [0, 10] }}, size: [6, 8] }});
         feeder(\"f\", #{{ on: plate.top, at: [0, -20], dia: 20, height: 30 }});"
    ));
    near(of_piece(&build, "t"), 6.0 * 8.0 * 70.0, ROUNDED);
    near(
        of_piece(&build, "f"),
        PI * 100.0 * 30.0,
        round(20.0, 30.0) + ROUNDED,
    );
    assert_eq!(figures(&build, Stage::Gated).handles, 1);
}

#[test]
fn a_tree_repeats_the_pattern_and_its_stubs() {
    let build = built(&format!(
        "{PLATE}tree(#{{ copies: 3, step: [0, 80, 0] }});
         let g = gate(\"g\", #{{ on: plate.side(\"left\"), size: 10, length: 20 }});
         runner(\"bar\", #{{ size: 12, joins: g }});"
    ));
    let bar = 144.0 * (160.0 + 2.0 * (6.0 + 1.0));
    near(added(&build), 3.0 * 2000.0 + bar, 4.0 * ROUNDED);
    assert_eq!(figures(&build, Stage::Gated).bodies, 1);
    let weights = &build.pour.as_ref().unwrap().weights;
    near(
        weights.castings_kg,
        3.0 * 120.0 * 60.0 * 12.0 * 2685e-9,
        1e-6,
    );
    // About a line: the middle of the copies lies on it.
    let build = built(&format!(
        "{PLATE}tree(#{{ copies: 4, about: [-110, 0] }});
         let g = gate(\"g\", #{{ on: plate.side(\"left\"), size: 10, length: 50 }});
         sprue(\"s\", #{{ on: g, height: 200, dia: 30 }});"
    ));
    let figures = figures(&build, Stage::Gated);
    near((figures.low_mm.x + figures.high_mm.x) / 2.0, -110.0, 0.1);
    near(figures.low_mm.y, -170.0, 1e-3);
}

#[test]
fn gates_never_change_the_casting() {
    let casting = |gate: &str| {
        let build = built(&format!("{PLATE}{gate}"));
        let solid = &build.stage(Stage::Casting).unwrap().solid;
        (solid.points.clone(), solid.triangles.clone())
    };
    let plain = casting("");
    for x in [-30, 0, 17] {
        let gated = casting(&format!(
            "gate(\"g\", #{{ on: plate.top, at: [{x}, 4], size: 10, length: 15 }});"
        ));
        assert!(gated == plain, "a gate at {x} changed the casting");
    }
}

/// What a script that can't be built says.
#[track_caller]
fn refused(source: &str) -> String {
    let failure = tried(&format!("part(\"t\"); {source}")).expect_err("it is refused");
    render_all(&failure.faults, &|f| failure.texts.get(f).cloned())
}

#[test]
fn stubs_without_metal_under_them_are_refused_with_the_place() {
    let said = refused(&format!(
        "{PLATE}gate(\"g\", #{{ on: plate.top, at: [57, 0], size: 10, length: 15 }});"
    ));
    assert!(
        said.contains("g: there is no metal under it at [61.97"),
        "{said}"
    );
    assert!(said.contains("t.rhai:3:"), "{said}");
    // A pipe's wall of 3 mm under a stub that reaches 5.06 mm down its side: 20 - √(20² - 13.5²) is 5.24.
    let said = refused(
        "let pipe = slab(\"pipe\", #{ outline: disc(40).minus(disc(38)), height: 60 });
         min_wall(0);
         gate(\"g\", #{ on: pipe.top, at: [0, 15], size: 4, length: 15 });",
    );
    assert!(said.contains("no metal under it"), "{said}");
    let said = refused(
        "min_wall(0);
         let block = slab(\"block\", #{ outline: rect(60, 60), height: 20.1 });
         pocket(\"p\", #{ into: block.bottom, outline: rect(40, 40), depth: 20 });
         gate(\"g\", #{ on: block.top, size: 10, length: 15 });",
    );
    assert!(
        said.contains("g: it would come out of the other side"),
        "{said}"
    );
}

#[test]
fn runners_and_trees_that_cannot_be_are_refused() {
    let said = refused(&format!(
        "{PLATE}let g = gate(\"g\", #{{ on: plate.top, at: [[-40, 0], [40, 0], [0, 0]], size: 10, length: 15 }});
         runner(\"bar\", #{{ size: 12, joins: g }});"
    ));
    assert!(said.contains("it goes back on itself at g.2"), "{said}");
    let said = refused(&format!(
        "{PLATE}tree(#{{ copies: 2, step: [0, 50, 0] }});
         gate(\"g\", #{{ on: plate.top, size: 10, length: 15 }});"
    ));
    assert!(
        said.contains("patterns 1 and 2 of the tree lie in one another"),
        "{said}"
    );
    let said = refused(&format!(
        "{PLATE}flask(\"40 gal drum\");
         gate(\"g\", #{{ on: plate.top, size: 10, length: 15 }});"
    ));
    assert!(
        said.contains("no container is called \"40 gal drum\""),
        "{said}"
    );
    assert!(
        said.contains("5 gal pail, 30 gal drum, 55 gal drum"),
        "{said}"
    );
    let said = refused(&format!(
        "{PLATE}let g = gate(\"g\", #{{ on: plate.bottom, size: 10, length: 15 }});
         sprue(\"s\", #{{ on: g, dia: 20, height: 100 }});"
    ));
    assert!(said.contains("g looks down"), "{said}");
}

#[test]
fn a_runner_steps_past_its_stubs() {
    let build = built(&format!(
        "{PLATE}let g = gate(\"g\", #{{ on: plate.top, at: [[-50, 0], [0, 0], [50, 0]], size: 10, length: 15 }});
         runner(\"bar\", #{{ sizes: [[16, 20], [12, 14]], joins: g }});"
    ));
    // The larger section goes past the middle stub by its half width and 1 mm, the smaller begins there; the ends go past
    // theirs by the runner's own half width and 1 mm.
    let large = 16.0 * 20.0 * (50.0 + (8.0 + 1.0) + (5.0 + 1.0));
    let small = 12.0 * 14.0 * (50.0 - (5.0 + 1.0) + (6.0 + 1.0));
    near(added(&build), 3.0 * 1500.0 + large + small, 3.0 * ROUNDED);
    let figures = figures(&build, Stage::Gated);
    assert_eq!((figures.bodies, figures.handles), (1, 2));
    // Both lie on the stubs' ends, 27 over the ground.
    near(figures.high_mm.z, 27.0 + 20.0, 1e-4);

    // Sections that grow again, and one that lasts over two stretches: the middle stretch is the wider one.
    let build = built(&format!(
        "{PLATE}let g = gate(\"g\", #{{ on: plate.top, at: [[-50, 0], [-20, 0], [20, 0], [50, 0]], dia: 8, length: 15 }});
         let bar = runner(\"bar\", #{{ sizes: [10, 14, 10], joins: g }});
         sprue(\"s\", #{{ on: bar, dia: 14, height: 150 }});"
    ));
    let wide = 14.0 * 14.0 * (40.0 + 2.0 * (4.0 + 1.0));
    let narrow = 10.0 * 10.0 * (30.0 - (4.0 + 1.0) + (5.0 + 1.0));
    near(
        of_piece(&build, "bar"),
        wide + 2.0 * narrow - 4.0 * PI * 16.0 * 0.2,
        4.0 * round(8.0, 0.2) + 2.0 * ROUNDED,
    );
    // The sprue stands at the middle of the whole, on the wide stretch.
    let sprue = build.pour.as_ref().unwrap().sprue.as_ref().unwrap();
    let top = 12.0 + 15.0 + 14.0 + 150.0;
    near(sprue.over_mm, top - 12.0, 1e-3);
}

#[test]
fn one_section_for_every_stretch_is_one_runner() {
    let script = |sizes: &str| {
        built(&format!(
            "{PLATE}let g = gate(\"g\", #{{ on: plate.top, at: [[-40, -20], [40, -20], [40, 20]], dia: 9, length: 15 }});
             runner(\"bar\", #{{ {sizes}, joins: [g] }});"
        ))
    };
    let (one, listed) = (script("size: 12"), script("sizes: [12, 12]"));
    assert_eq!(
        one.stage(Stage::Gated).unwrap().solid,
        listed.stage(Stage::Gated).unwrap().solid
    );
    // Where it turns and steps, the larger goes round the corner: the smaller one's half width past the stub and 1 mm,
    // and the smaller begins in its middle.
    let turned = script("sizes: [[16, 14], [12, 14]]");
    let large = 16.0 * 14.0 * (80.0 + (8.0 + 1.0) + (6.0 + 1.0));
    let small = 12.0 * 14.0 * (40.0 - 8.0 + (6.0 + 1.0));
    let stubs = 3.0 * PI * 81.0 / 4.0 * 15.0;
    near(
        added(&turned),
        stubs + large + small,
        3.0 * round(9.0, 15.0) + ROUNDED,
    );
}

#[test]
fn a_step_with_no_room_is_told() {
    let failure = tried(&format!(
        "part(\"t\"); {PLATE}let g = gate(\"g\", #{{ on: plate.top, at: [[-21, 0], [0, 0], [21, 0]], size: [40, 10], length: 15 }});
         runner(\"bar\", #{{ sizes: [12, 20], joins: g }});"
    ))
    .unwrap_err();
    let shown = render_all(&failure.faults, &|f| failure.texts.get(f).cloned());
    let want = "from g.1 to g.2 too little is left of its section past the step";
    assert!(shown.contains(want), "{shown}");
}
