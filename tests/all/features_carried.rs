//! Features on round ground, on sides and slanting faces, in bottoms, and along ways: volumes by closed formulas.

use std::f64::consts::PI;

use super::built::{built, figures, finished, near};
use super::formulas::{fillet_ring, round, under_round};
use super::openings::Inside;
use foamwright::measure::Vec3;
use foamwright::shop::Stage;
use foamwright::solid::Figures;

/// A plate 60 × 40 × 12 on the ground.
const PLATE: &str = "let plate = slab(\"plate\", #{ outline: rect(60, 40), height: 12 });\n";

fn of(source: &str) -> Figures {
    figures(&built(source), Stage::Finished)
}

#[test]
fn a_flange_on_a_tunnels_mouth() {
    let script = |fillet: f64| {
        format!(
            "let pipe = tunnel(\"pipe\", #{{ from: [0, 0, 0], to: [0, 0, 70], inside: 25, wall: 5 }});
             flange(\"rim\", #{{ on: pipe.start, dia: 80, thick: 10, bolts: bolt_circle(4, 60), bolt_dia: 9, fillet: {fillet} }});"
        )
    };
    let pipe = PI * (17.5f64.powi(2) - 12.5f64.powi(2)) * 70.0;
    let rim = PI * (1600.0 - 17.5f64.powi(2) - 4.0 * 4.5f64.powi(2)) * 10.0;
    let slack = round(60.0, 70.0) + round(80.0 + 36.0, 10.0);
    let plain = of(&script(0.0));
    near(plain.volume_mm3, pipe + rim, slack);
    assert_eq!(
        (plain.bodies, plain.handles),
        (1, 5),
        "the way and four bolts"
    );
    near(plain.low_mm.z, 0.0, 1e-6);
    // The bolts' holes run from radius 25.5: a fillet of 3 reaches 20.5 and stays clear of them.
    let filleted = of(&script(3.0)).volume_mm3 - plain.volume_mm3;
    near(
        filleted,
        fillet_ring(3.0, 17.5, false),
        0.02 * 2.0 * PI * 20.0 * 3.0 * (PI / 2.0 + 1.0),
    );
}

#[test]
fn a_branch_on_a_drum_is_joined_to_it() {
    let drum = "let drum = boss(\"drum\", #{ dia: 60, height: 80 });";
    for deg in [0.0, 37.0, 200.0] {
        let branch = of(&format!(
            "{drum} boss(\"branch\", #{{ on: drum.around({deg}, 40), dia: 20, height: 25 }});"
        ));
        // From the drum's round up to 25 over the touching plane.
        let want = PI * 900.0 * 80.0 + PI * 100.0 * (30.0 + 25.0) - under_round(30.0, 10.0);
        near(
            branch.volume_mm3,
            want,
            round(60.0, 80.0) + round(20.0, 27.0),
        );
        assert_eq!((branch.bodies, branch.handles), (1, 0));
    }
}

#[test]
fn a_boss_on_a_tunnel_leaves_its_inside_open() {
    let pipe =
        "let pipe = tunnel(\"pipe\", #{ from: [0, 0, 0], to: [80, 0, 0], inside: 24, wall: 6 });";
    for deg in [0.0, 90.0, 155.0] {
        let boss = of(&format!(
            "{pipe} boss(\"boss\", #{{ on: pipe.along(40, {deg}), dia: 16, height: 15 }});"
        ));
        let want = PI * (324.0 - 144.0) * 80.0 + PI * 64.0 * (18.0 + 15.0) - under_round(18.0, 8.0);
        near(boss.volume_mm3, want, round(60.0, 80.0) + round(16.0, 17.0));
        assert_eq!((boss.bodies, boss.handles), (1, 1));
    }
}

#[test]
fn a_boss_on_a_side() {
    let script = format!(
        "{PLATE}boss(\"spout\", #{{ on: plate.side(\"right\"), at: [5, 0], dia: 10, height: 15 }});"
    );
    let spout = of(&script);
    near(
        spout.volume_mm3,
        28_800.0 + PI * 25.0 * 15.0,
        round(10.0, 15.0),
    );
    near(spout.high_mm.x, 45.0, 1e-6);
    assert_eq!((spout.bodies, spout.handles), (1, 0));
    // u runs to the right as one looks at it: at 5 on the right side is y = 5.
    let build = built(&script);
    let inside = Inside::new(&build.stage(Stage::Finished).expect("built").solid);
    assert!(inside.holds(Vec3::new(40.0, 9.1, 6.03)) && !inside.holds(Vec3::new(40.0, -0.9, 6.03)));
}

#[test]
fn a_boss_up_to_a_slanting_face() {
    // The plane passes the axis 30 over the plate: what it cuts off one side it leaves on the other.
    let script = format!(
        "{PLATE}boss(\"post\", #{{ on: plate.top, dia: 20, up_to: face(#{{ at: [0, 0, 42], facing: [1, 0, 2] }}) }});"
    );
    let post = of(&script);
    near(
        post.volume_mm3,
        28_800.0 + PI * 100.0 * 30.0,
        round(20.0, 35.0),
    );
    // It rises by half of what it goes to the left.
    near(post.high_mm.z, 42.0 + 5.0, 0.02);
}

#[test]
fn a_pocket_in_a_bottom_is_not_mirrored() {
    let script = |face: &str| {
        format!(
            "{PLATE}pocket(\"p\", #{{ into: plate.{face}, at: [5, 2], outline: polygon([[0, 0], [20, 0], [0, 10]]), depth: 5 }});"
        )
    };
    for (face, z) in [("top", 9.0), ("bottom", 3.0)] {
        let build = built(&script(face));
        near(
            figures(&build, Stage::Finished).volume_mm3,
            28_800.0 - 500.0,
            1e-3,
        );
        let inside = Inside::new(&build.stage(Stage::Finished).expect("built").solid);
        for (x, y, open) in [
            (7.1, 9.2, true),
            (20.1, 3.2, true),
            (20.1, 9.2, false),
            (-7.1, 9.2, false),
            (7.1, -9.2, false),
            (-7.1, -9.2, false),
        ] {
            assert_eq!(
                !inside.holds(Vec3::new(x, y, z)),
                open,
                "{face} at {x}, {y}"
            );
        }
    }
}

#[test]
fn tunnels_mitred_and_swept() {
    let pipe = |more: &str| {
        of(&format!(
            "tunnel(\"pipe\", #{{ path: [[0, 0, 0], [0, 0, 60], [70, 0, 60]], inside: 20, wall: 4{more} }});"
        ))
    };
    let ring = PI * (196.0 - 100.0);
    let slack = round(48.0, 130.0);
    // A mitre's two halves make up the middle line's length.
    let mitred = pipe("");
    near(mitred.volume_mm3, ring * 130.0, slack);
    // Pappus: the middle line, its corner cut by a quarter of radius 30.
    let swept = pipe(", bend: 30");
    near(swept.volume_mm3, ring * (130.0 - 60.0 + 15.0 * PI), slack);
    for way in [mitred, swept] {
        assert_eq!((way.bodies, way.handles), (1, 1));
    }
    // Through a block, with no wall: what it takes is the section times the way in metal.
    let block = "let block = slab(\"block\", #{ outline: rect(80, 60), height: 40 });";
    let through = finished(&format!(
        "{block} tunnel(\"way\", #{{ from: [-40, 0, 20], to: [40, 0, 20], inside: obround(24, 12), wall: 0 }});"
    ));
    let section = 12.0 * 12.0 + PI * 36.0;
    near(
        through,
        80.0 * 60.0 * 40.0 - section * 80.0,
        round(12.0, 80.0),
    );
}

#[test]
fn a_tunnels_end_on_a_face_runs_out_through_it() {
    // Aslant through a plate's top: the wall ends in the face, the inside runs out.
    let pipe = of(&format!(
        "{PLATE}tunnel(\"duct\", #{{ from: #{{ on: plate.bottom, at: [-10, 0] }}, to: [10, 0, 60], inside: 10, wall: 3 }});"
    ));
    assert_eq!((pipe.bodies, pipe.handles), (1, 1));
    near(pipe.low_mm.z, 0.0, 1e-6);
}
