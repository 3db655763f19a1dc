//! The local evaluation: against closed formulas, against the strict sequence of whole booleans, and against itself
//! after edits.

use std::f64::consts::PI;

use foamwright::drawing::body::{Act, Body, Shape};
use foamwright::drawing::outline::Outline;
use foamwright::measure::{Frame, Vec3};
use foamwright::solid::{Evaluated, Memo, Ready, Solid, Step, evaluate, evaluate_whole};

use super::plates::{FACET, bar, heap, in_turn, plate, ready, upright};
use super::seeded::Seeded;

fn cold(bodies: &[Ready]) -> Evaluated {
    evaluate(bodies, &in_turn(bodies.len()), &mut Memo::default()).expect("a solid")
}

fn of(bodies: &[Body]) -> Evaluated {
    cold(&ready(bodies))
}

/// Every bit of a solid.
fn bytes(solid: &Solid) -> Vec<u64> {
    let points = solid
        .points
        .iter()
        .flat_map(|p| p.to_array().map(f64::to_bits));
    let triangles = solid.triangles.iter().flatten().map(|&i| u64::from(i));
    let features = solid.features.iter().map(|&f| f as u64);
    points.chain(triangles).chain(features).collect()
}

/// Closed and oriented as it is, and after settling in f32.
fn sound(solid: &Solid, what: &str) {
    assert_eq!(solid.features.len(), solid.triangles.len(), "{what}");
    let mut edges: Vec<(u32, u32)> = solid
        .triangles
        .iter()
        .flat_map(|t| [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])])
        .collect();
    edges.sort_unstable();
    for pair in edges.windows(2) {
        assert_ne!(pair[0], pair[1], "{what}: an edge used twice");
    }
    for &(a, b) in &edges {
        assert!(edges.binary_search(&(b, a)).is_ok(), "{what}: an open edge");
    }
    let settled = solid.settled_in_f32();
    assert_eq!(settled.bad_edges_in_f32(), 0, "{what}");
    for p in &settled.points {
        for x in p.to_array() {
            assert_eq!(f64::from(x as f32), x, "{what}: not an f32");
        }
    }
    // Half a unit in the last place of f32 at the far end of these parts, over the whole surface; and crumbs.
    let rounding = f64::from(f32::EPSILON) * solid.bounds().high.abs().max_element().max(64.0);
    let change = (settled.volume_mm3() - solid.volume_mm3()).abs();
    assert!(
        change <= solid.area_mm2() * rounding + 0.01,
        "{what}: settling changed the volume by {change}"
    );
}

/// Area of each feature's surface (mm²).
fn areas(solid: &Solid, features: usize) -> Vec<f64> {
    let mut areas = vec![0.0; features];
    for ([a, b, c], &feature) in solid.corners().zip(&solid.features) {
        areas[feature] += (b - a).cross(c - a).length() / 2.0;
    }
    areas
}

/// Holds the local result to the strict sequence's.
fn agrees(bodies: &[Ready], what: &str) {
    let local = cold(bodies);
    let (whole, changes) =
        evaluate_whole(bodies, &in_turn(bodies.len())).expect("the strict sequence");
    sound(&local.solid, what);
    let (a, b) = (local.solid.figures(), whole.figures());
    let near =
        |got: f64, want: f64, relative: f64| (got - want).abs() <= relative * want.abs().max(1.0);
    assert!(
        near(a.volume_mm3, b.volume_mm3, 1e-9),
        "{what}: {a:?} {b:?}"
    );
    assert!(near(a.area_mm2, b.area_mm2, 1e-7), "{what}: {a:?} {b:?}");
    let (a, b) = (
        local.solid.settled_in_f32().figures(),
        whole.settled_in_f32().figures(),
    );
    assert_eq!(a.bodies, b.bodies, "{what}");
    assert_eq!(a.handles, b.handles, "{what}");
    for (feature, (got, want)) in areas(&local.solid, bodies.len())
        .into_iter()
        .zip(areas(&whole, bodies.len()))
        .enumerate()
    {
        assert!(
            near(got, want, 1e-6),
            "{what}: area of {feature}: {got} for {want}"
        );
    }
    for (i, (got, want)) in local.changes_mm3.iter().zip(&changes).enumerate() {
        // The strict sequence takes differences of whole volumes, which lose digits.
        assert!(
            (got - want).abs() <= 1e-9 * b.volume_mm3,
            "{what}: change of {i}: {got} for {want}"
        );
    }
}

/// Two equal cylinders crossing at right angles share 16 r³ / 3 (Archimedes' Method; Steinmetz's bicylinder).
#[test]
fn crossed_cylinders() {
    let (r, half) = (10.0, 30.0);
    let along = |axis: Vec3, act| bar(act, axis * -half, axis * half, 2.0 * r);
    let each = PI * r * r * 2.0 * half;
    let shared = 16.0 * r.powi(3) / 3.0;
    let joined = of(&[along(Vec3::X, Act::Add), along(Vec3::Y, Act::Add)]);
    let cut = of(&[along(Vec3::X, Act::Add), along(Vec3::Y, Act::Cut)]);
    // No point is farther in than the facet; round surface of both.
    let within = FACET * 2.0 * (2.0 * PI * r * 2.0 * half);
    for (done, want, handles) in [(&joined, 2.0 * each - shared, 0), (&cut, each - shared, 0)] {
        sound(&done.solid, "crossed cylinders");
        let figures = done.solid.figures();
        assert!(
            (figures.volume_mm3 - want).abs() <= within,
            "{figures:?} {want}"
        );
        assert_eq!(figures.handles, handles);
        assert!((done.changes_mm3.iter().sum::<f64>() - figures.volume_mm3).abs() < 1e-6);
    }
    // A cylinder cut by one as wide falls in two.
    assert_eq!(cut.solid.figures().bodies, 2);
    assert_eq!(joined.solid.figures().bodies, 1);
}

/// Blocks: every volume and area is exact.
#[test]
fn blocks() {
    let block = |act, x: f64, size: f64, z0: f64, z1: f64| {
        upright(
            act,
            Frame::PART,
            Outline::rect(size, size).at(x, 0.0),
            z0,
            z1,
        )
    };
    let done = of(&[
        block(Act::Add, 0.0, 100.0, 0.0, 20.0),
        // Wholly inside: a void.
        block(Act::Cut, 10.0, 10.0, 5.0, 15.0),
        // Through it.
        block(Act::Cut, -30.0, 20.0, -1.0, 21.0),
        // Beside it: a body of its own; then nothing in the air.
        block(Act::Add, 200.0, 30.0, 0.0, 30.0),
        block(Act::Cut, 400.0, 30.0, 0.0, 30.0),
        // Inside the metal already.
        block(Act::Add, 30.0, 5.0, 5.0, 15.0),
    ]);
    sound(&done.solid, "blocks");
    let want = [200_000.0, -1000.0, -8000.0, 27_000.0, 0.0, 0.0];
    for (got, want) in done.changes_mm3.iter().zip(want) {
        assert!((got - want).abs() < 1e-6, "{:?}", done.changes_mm3);
    }
    let figures = done.solid.figures();
    assert!((figures.volume_mm3 - 218_000.0).abs() < 1e-6, "{figures:?}");
    let area = 20_000.0 + 8000.0 + 600.0 - 800.0 + 1600.0 + 5400.0;
    assert!((figures.area_mm2 - area).abs() < 1e-6, "{figures:?}");
    assert_eq!(figures.bodies, 2);
    assert_eq!(figures.handles, 1);
    assert_eq!(done.solid.surfaces().len(), 3);
}

#[test]
fn nothing_and_nothing_left() {
    assert_eq!(of(&[]), Evaluated::default());
    let block = |act, size: f64| upright(act, Frame::PART, Outline::rect(size, size), -size, size);
    let done = of(&[
        block(Act::Cut, 20.0),
        block(Act::Add, 10.0),
        block(Act::Cut, 20.0),
    ]);
    assert!(done.solid.triangles.is_empty());
    assert_eq!(done.changes_mm3[0], 0.0);
    assert!((done.changes_mm3[1] + done.changes_mm3[2]).abs() < 1e-9);
}

#[test]
fn cuts_taken_out_beforehand() {
    let block = |act, x: f64| {
        upright(
            act,
            Frame::PART,
            Outline::rect(10.0, 10.0).at(x, 0.0),
            0.0,
            10.0,
        )
    };
    let bodies = ready(&[block(Act::Add, 0.0), block(Act::Cut, 5.0)]);
    let steps = [Step {
        body: 0,
        less: vec![1],
    }];
    let done = evaluate(&bodies, &steps, &mut Memo::default()).expect("a solid");
    // Half of the block is left.
    assert!((done.solid.volume_mm3() - 500.0).abs() < 1e-9);
    assert!((done.changes_mm3[0] - 500.0).abs() < 1e-9);
}

#[test]
fn plates_agree_with_whole_booleans() {
    for seed in 1..=5 {
        let bodies = ready(&plate(40, seed));
        agrees(&bodies, &format!("plate {seed}"));
    }
}

#[test]
fn heaps_agree_with_whole_booleans() {
    for seed in 1..=16 {
        let bodies = ready(&heap(24, seed));
        agrees(&bodies, &format!("heap {seed}"));
    }
}

/// Hardly any step falls back to a whole boolean, which would be right but slow.
#[test]
fn nearly_all_steps_are_local() {
    let mut unfit = 0;
    let mut steps = 0;
    let parts = (1..=4).flat_map(|seed| [plate(40, seed), heap(24, seed)]);
    for bodies in parts {
        let mut memo = Memo::default();
        evaluate(&ready(&bodies), &in_turn(bodies.len()), &mut memo).expect("a solid");
        unfit += memo.unfit();
        steps += bodies.len();
    }
    println!("{unfit} of {steps} steps whole");
    assert!(50 * unfit <= steps, "{unfit} of {steps} steps whole");
}

/// A little wider.
fn edited(body: &Body, g: &mut Seeded) -> Body {
    let mut body = body.clone();
    match &mut body.shape {
        Shape::Band(band) => {
            band.outline = band
                .outline
                .grown(g.between(0.1, 0.4))
                .expect("grown a little");
        }
        Shape::Sweep(sweep) => {
            sweep.section = sweep
                .section
                .grown(g.between(0.1, 0.4))
                .expect("grown a little");
        }
        _ => {}
    }
    body
}

/// Edits one after another with one memo: every result has the bytes of a cold build, whatever the kernel's global
/// counters have come to and whatever the memo holds.
#[test]
fn edits_give_what_a_cold_build_gives() {
    let g = &mut Seeded(11);
    let mut memo = Memo::default();
    let mut bodies = plate(40, 7);
    for round in 0..12 {
        let made = ready(&bodies);
        let warm = evaluate(&made, &in_turn(made.len()), &mut memo).expect("a solid");
        let fresh = cold(&made);
        assert_eq!(bytes(&warm.solid), bytes(&fresh.solid), "round {round}");
        assert_eq!(warm.changes_mm3, fresh.changes_mm3, "round {round}");
        memo.end_run();
        match round % 4 {
            0..2 => {
                let at = g.below(bodies.len());
                bodies[at] = edited(&bodies[at], g);
            }
            2 => {
                bodies.remove(1 + g.below(bodies.len() - 1));
            }
            _ => {
                // A hole near the start moves every later body's number.
                let at = Vec3::new(g.between(0.0, 80.0), g.between(0.0, 80.0), 0.0);
                bodies.insert(2, bar(Act::Cut, at - Vec3::Z, at + Vec3::Z * 40.0, 5.0));
            }
        }
    }
}

/// What nobody has used for three runs is forgotten.
#[test]
fn the_memo_forgets() {
    let mut memo = Memo::default();
    let made = ready(&plate(8, 1));
    evaluate(&made, &in_turn(8), &mut memo).expect("a solid");
    assert!(!memo.is_empty());
    for _ in 0..3 {
        memo.end_run();
        assert!(!memo.is_empty());
    }
    memo.end_run();
    assert!(memo.is_empty());
}

/// Bodies of one kind may come in any order: the same solid.
#[test]
fn order_among_adds_and_among_cuts_does_not_matter() {
    let g = &mut Seeded(3);
    let mut bodies = plate(30, 4);
    bodies.sort_by_key(|b| b.act == Act::Cut);
    let adds = bodies.iter().filter(|b| b.act == Act::Add).count();
    let want = of(&bodies).solid.figures();
    for _ in 0..3 {
        let (add, cut) = bodies.split_at_mut(adds);
        for group in [add, cut] {
            for i in (1..group.len()).rev() {
                group.swap(i, g.below(i + 1));
            }
        }
        let done = of(&bodies);
        sound(&done.solid, "shuffled");
        let got = done.solid.figures();
        assert!((got.volume_mm3 - want.volume_mm3).abs() <= 1e-9 * want.volume_mm3);
        assert!((got.area_mm2 - want.area_mm2).abs() <= 1e-7 * want.area_mm2);
        assert_eq!((got.bodies, got.handles), (want.bodies, want.handles));
    }
}

/// Far from the origin f32 is coarse: many solids need mending, and all come out sound.
#[test]
fn settling_mends_what_rounding_breaks() {
    let moved = |mut solid: Solid, by: Vec3| {
        solid.points.iter_mut().for_each(|p| *p += by);
        solid
    };
    let far = Vec3::new(1_200_000.0, 1_500_000.0, 1_100_000.0);
    let mut broken = 0;
    for seed in 1..=8 {
        let near = of(&heap(24, seed)).solid;
        let solid = moved(near.clone(), far);
        broken += usize::from(solid.bad_edges_in_f32() > 0);
        let settled = solid.settled_in_f32();
        assert_eq!(settled.bad_edges_in_f32(), 0, "heap {seed}");
        // A unit in the last place of f32 there is 1/8 mm; a point may move by a few.
        let change = moved(settled.clone(), -far).volume_mm3() - near.volume_mm3();
        assert!(
            change.abs() <= near.area_mm2() / 4.0,
            "heap {seed}: {change}"
        );
        assert_eq!(settled.settled_in_f32(), settled, "heap {seed}: again");
    }
    assert!(broken > 0, "none needed mending: the test tests nothing");
}

/// Two bodies nearer to each other than f32 resolves, edge along edge: welded, the edge would have four faces.
#[test]
fn settling_parts_edges_that_would_meet() {
    let prism = |x: f64, y: f64| {
        upright(
            Act::Add,
            Frame::PART,
            Outline::rect(10.0, 10.0).at(x, y),
            0.0,
            10.0,
        )
    };
    let mut solid = of(&[prism(500.0, 500.0), prism(510.1, 510.1)]).solid;
    for p in &mut solid.points {
        if p.x > 505.05 {
            *p -= Vec3::new(0.1 - 1e-6, 0.1 - 1e-6, 0.0);
        }
    }
    assert!(solid.bad_edges_in_f32() > 0);
    let settled = solid.settled_in_f32();
    assert_eq!(settled.bad_edges_in_f32(), 0);
    assert!((settled.volume_mm3() - 2000.0).abs() < 0.05);
    assert_eq!(settled.figures().bodies, 2);
}

/// A crumb goes, a void and a body stay.
#[test]
fn settling_drops_crumbs() {
    let block = |act, x: f64, size: f64| {
        let half = size / 2.0;
        upright(
            act,
            Frame::PART,
            Outline::rect(size, size).at(x, 0.0),
            -half,
            half,
        )
    };
    let done = of(&[
        block(Act::Add, 0.0, 10.0),
        block(Act::Cut, 0.0, 2.0),
        block(Act::Add, 30.0, 0.09),
    ]);
    assert_eq!(done.solid.surfaces().len(), 3);
    let settled = done.solid.settled_in_f32();
    assert_eq!(settled.surfaces().len(), 2);
    assert!((settled.volume_mm3() - 992.0).abs() < 1e-3);
}
