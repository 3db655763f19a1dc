//! What a solid measures, point tests and the algebra of shells: against closed formulas and Euler's characteristic.

use std::f64::consts::PI;
use std::sync::Arc;

use foamwright::drawing::body::Act;
use foamwright::drawing::outline::Outline;
use foamwright::measure::{Frame, Plane, Vec3};
use foamwright::solid::{
    Memo, Ready, Shell, Solid, SolidFault, common, common_volume, evaluate, evaluate_levels,
    evaluate_whole, joined, minus, shell_of, shell_volume, trimmed,
};

use super::plates::{FACET, bar, in_turn, plate, ready, upright};

fn block(size: Vec3, at: Vec3) -> Shell {
    let outline = Outline::rect(size.x, size.y).at(at.x, at.y);
    let body = upright(Act::Add, Frame::PART, outline, at.z, at.z + size.z);
    shell_of(&body, FACET).expect("a block")
}

fn round(from: Vec3, to: Vec3, dia: f64) -> Shell {
    shell_of(&bar(Act::Add, from, to, dia), FACET).expect("a bar")
}

fn near(got: f64, want: f64, slack: f64) {
    assert!((got - want).abs() <= slack, "{got} for {want}");
}

fn solid_of(shell: &Shell) -> Solid {
    Solid {
        points: shell.points.clone(),
        triangles: shell.triangles.clone(),
        features: vec![0; shell.triangles.len()],
    }
}

/// Two cubes that touch in one point, which they share as one vertex: two bodies and no hole.
#[test]
fn touching_in_a_point_joins_nothing() {
    let cube = block(Vec3::splat(2.0), Vec3::ZERO);
    let other = block(Vec3::splat(2.0), Vec3::splat(2.0));
    let mut solid = solid_of(&cube);
    let shared = |p: &Vec3| cube.points.iter().position(|q| q == p);
    let mut number = Vec::new();
    for p in &other.points {
        number.push(shared(p).unwrap_or_else(|| {
            solid.points.push(*p);
            solid.points.len() - 1
        }));
    }
    assert_eq!(solid.points.len(), 15);
    for t in &other.triangles {
        solid.triangles.push(t.map(|i| number[i as usize] as u32));
        solid.features.push(1);
    }
    let figures = solid.figures();
    assert_eq!((figures.bodies, figures.handles), (2, 0));
    near(figures.volume_mm3, 16.0, 1e-12);
    near(figures.area_mm2, 48.0, 1e-12);
    assert_eq!(solid.bad_edges_in_f32(), 0);
    // Settling welds the two again; it must not make one body of them either.
    let settled = solid.settled_in_f32().figures();
    assert_eq!((settled.bodies, settled.handles), (2, 0));
}

/// Through holes by Euler's characteristic: a bore makes one handle, a bore that crosses n others n + 1 more.
#[test]
fn handles_of_crossing_bores() {
    use Act::{Add, Cut};
    let z = Vec3::Z * 10.0;
    let along_x = |y: f64| {
        bar(
            Cut,
            Vec3::new(-40.0, y, 10.0),
            Vec3::new(40.0, y, 10.0),
            6.0,
        )
    };
    let base = upright(Add, Frame::PART, Outline::rect(60.0, 40.0), 0.0, 20.0);
    let along_y = bar(Cut, z - Vec3::Y * 30.0, z + Vec3::Y * 30.0, 6.0);
    let blind = bar(
        Cut,
        Vec3::new(20.0, 15.0, 12.0),
        Vec3::new(20.0, 15.0, 30.0),
        5.0,
    );
    let void = upright(
        Cut,
        Frame::PART,
        Outline::rect(4.0, 4.0).at(-20.0, 0.0),
        5.0,
        9.0,
    );
    let parts = [base, along_x(-8.0), along_x(8.0), along_y, blind, void];
    let want = [0, 1, 2, 5, 5, 5];
    for count in 1..=parts.len() {
        let made = ready(&parts[..count]);
        let done = evaluate(&made, &in_turn(count), &mut Memo::default()).expect("a solid");
        let figures = done.solid.figures();
        assert_eq!((figures.bodies, figures.handles), (1, want[count - 1]));
    }
}

#[test]
fn areas_go_to_whose_surface_it_is() {
    use Act::{Add, Cut};
    let made = ready(&[
        upright(Add, Frame::PART, Outline::rect(30.0, 20.0), 0.0, 10.0),
        upright(Cut, Frame::PART, Outline::rect(10.0, 5.0), -1.0, 11.0),
        upright(
            Add,
            Frame::PART,
            Outline::rect(4.0, 4.0).at(11.0, 0.0),
            9.0,
            15.0,
        ),
    ]);
    let done = evaluate(&made, &in_turn(3), &mut Memo::default()).expect("a solid");
    let areas = done.solid.area_by_feature_mm2();
    near(areas[0], 2.0 * (600.0 - 50.0) + 1000.0 - 16.0, 1e-9);
    near(areas[1], 30.0 * 10.0, 1e-9);
    near(areas[2], 16.0 * 5.0 + 16.0, 1e-9);
    near(areas.iter().sum(), done.solid.area_mm2(), 1e-9);
}

#[test]
fn scaling_goes_by_axis() {
    let solid = solid_of(&block(Vec3::new(3.0, 4.0, 5.0), Vec3::new(1.0, 2.0, 3.0)));
    let grown = solid.scaled([1.01, 1.02, 1.03]);
    near(grown.volume_mm3(), 60.0 * 1.01 * 1.02 * 1.03, 1e-9);
    near(grown.bounds().high.z, 8.0 * 1.03, 1e-12);
    assert_eq!(grown.triangles, solid.triangles);
}

/// Two equal round bars crossing square share 16 r³ / 3, its centroid in the middle (Archimedes' Method).
#[test]
fn shared_by_crossed_bars() {
    let r = 6.0;
    let (a, b) = (
        round(Vec3::X * -20.0, Vec3::X * 20.0, 2.0 * r),
        round(Vec3::Y * -20.0, Vec3::Y * 20.0, 2.0 * r),
    );
    let (volume, middle) = common_volume(&a, &b).expect("they cross");
    let want = 16.0 * r.powi(3) / 3.0;
    // Its surface is 16 r²; no facet stands off by more than FACET.
    near(volume, want, 16.0 * r * r * FACET);
    assert!(middle.expect("they share metal").length() < 1e-6);
    let each = shell_volume(&a);
    near(each, PI * r * r * 40.0, 2.0 * PI * r * 40.0 * FACET);
    let volume_of = |shell: Result<Shell, SolidFault>| shell_volume(&shell.expect("a shell"));
    near(volume_of(minus(&a, &b)), each - volume, 1e-6);
    near(volume_of(joined(&a, &b)), 2.0 * each - volume, 1e-6);
    near(volume_of(common(&a, &b)), volume, 1e-9);
}

#[test]
fn nothing_shared_is_an_empty_shell() {
    let (a, far) = (
        block(Vec3::splat(4.0), Vec3::ZERO),
        block(Vec3::splat(4.0), Vec3::X * 50.0),
    );
    assert_eq!(common_volume(&a, &far), Ok((0.0, None)));
    assert!(common(&a, &far).expect("nothing").triangles.is_empty());
    assert!(minus(&a, &a).expect("nothing").triangles.is_empty());
    let none = Shell::default();
    near(shell_volume(&minus(&a, &none).expect("all")), 64.0, 1e-9);
    near(shell_volume(&joined(&none, &a).expect("all")), 64.0, 1e-9);
    assert!(common(&a, &none).expect("nothing").triangles.is_empty());
}

/// A block cut by a slanting plane through its middle is halved; skins stay.
#[test]
fn trimmed_by_a_plane() {
    let a = block(Vec3::splat(10.0), Vec3::ZERO);
    let normal = Vec3::new(1.0, 2.0, 3.0).normalize();
    let plane = Plane {
        normal,
        offset: normal.dot(Vec3::new(0.0, 0.0, 5.0)),
    };
    let half = trimmed(&a, &plane).expect("half");
    near(shell_volume(&half), 500.0, 1e-9);
    assert_eq!(half.skins.len(), half.triangles.len());
    for p in &half.points {
        assert!(plane.distance(*p) < 1e-9);
    }
    // Wholly above and wholly below.
    let raised = |by: f64| Plane {
        normal,
        offset: plane.offset + by,
    };
    assert!(
        trimmed(&a, &raised(-50.0))
            .expect("nothing")
            .triangles
            .is_empty()
    );
    near(
        shell_volume(&trimmed(&a, &raised(50.0)).expect("all")),
        1000.0,
        1e-9,
    );
}

#[test]
fn points_inside() {
    let tube = minus(
        &round(Vec3::ZERO, Vec3::Z * 20.0, 20.0),
        &round(Vec3::Z * -1.0, Vec3::Z * 21.0, 10.0),
    )
    .expect("a tube");
    let solid = solid_of(&tube);
    for (p, want) in [
        (Vec3::new(7.0, 0.0, 10.0), true),
        (Vec3::new(0.0, 0.0, 10.0), false),
        (Vec3::new(0.0, -9.9, 0.1), true),
        (Vec3::new(0.0, -9.9, -0.1), false),
        (Vec3::new(4.9, 0.0, 10.0), false),
        (Vec3::new(7.2, 7.2, 10.0), false),
        (Vec3::new(7.0, 7.0, 19.9), true),
    ] {
        assert_eq!(tube.holds(p), want, "{p:?}");
        assert_eq!(solid.holds(p), want, "{p:?}");
    }
}

/// A fault names the body that it came from, whichever way the sequence is worked out.
#[test]
fn faults_name_their_body() {
    let whole = Arc::new(block(Vec3::splat(10.0), Vec3::ZERO));
    let mut open = block(Vec3::splat(4.0), Vec3::splat(2.0));
    open.triangles.pop();
    open.skins.pop();
    let bodies = [
        Ready::new(0, Act::Add, Arc::clone(&whole)),
        Ready::new(1, Act::Add, whole),
        Ready::new(2, Act::Cut, Arc::new(open)),
    ];
    let steps = in_turn(3);
    let local = evaluate(&bodies, &steps, &mut Memo::default()).expect_err("an open shell");
    assert_eq!(local.body(), Some(2), "{local:?}");
    let strict = evaluate_whole(&bodies, &steps).expect_err("an open shell");
    assert_eq!(strict.body(), Some(2), "{strict:?}");
    let levels = evaluate_levels(&bodies, &steps).expect_err("an open shell");
    assert_eq!(levels.body(), Some(2), "{levels:?}");
}

/// By levels and one by one: the same solid, feature by feature.
#[test]
fn levels_agree_with_one_by_one() {
    for seed in 1..=3 {
        let made = ready(&plate(30, seed));
        let levels = evaluate_levels(&made, &in_turn(30)).expect("a solid");
        let strict = evaluate_whole(&made, &in_turn(30)).expect("a solid").0;
        let (a, b) = (levels.figures(), strict.figures());
        near(a.volume_mm3, b.volume_mm3, 1e-9 * b.volume_mm3);
        assert_eq!((a.bodies, a.handles), (b.bodies, b.handles));
        let (a, b) = (levels.area_by_feature_mm2(), strict.area_by_feature_mm2());
        assert_eq!(a.len(), b.len());
        for (a, b) in a.into_iter().zip(b) {
            near(a, b, 1e-6 * b.max(1.0));
        }
    }
}
