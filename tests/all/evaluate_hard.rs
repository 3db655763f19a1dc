//! Hard input for the evaluation: blocks on a lattice, whose faces lie in each other's planes everywhere, counted cell
//! by cell; copies, near copies, far from the origin; threads side by side.

use std::ops::Range;
use std::thread;

use foamwright::drawing::body::{Act, Body};
use foamwright::drawing::outline::Outline;
use foamwright::measure::{Frame, Vec3};
use foamwright::solid::{Memo, Ready, Solid, evaluate, evaluate_whole};

use super::plates::{bar, heap, in_turn, plate, ready, upright};
use super::seeded::Seeded;

/// Cells along an axis of the lattice, and their size (mm).
const CELLS: usize = 8;
const CELL: f64 = 5.0;

/// A block of whole cells: its least cell and the one after its last, along each axis.
type Cells = [[usize; 2]; 3];

fn lattice(count: usize, g: &mut Seeded) -> Vec<(Act, Cells)> {
    (0..count)
        .map(|i| {
            let act = if i == 0 || g.chance(0.55) {
                Act::Add
            } else {
                Act::Cut
            };
            let mut span = || {
                let low = g.below(CELLS - 1);
                [low, low + 1 + g.below((CELLS - low).min(4))]
            };
            (act, [span(), span(), span()])
        })
        .collect()
}

fn lattice_body(act: Act, [x, y, z]: Cells, frame: Frame) -> Body {
    let at = |n: usize| n as f64 * CELL;
    let outline = Outline::rect(at(x[1] - x[0]), at(y[1] - y[0]))
        .at(at(x[0] + x[1]) / 2.0, at(y[0] + y[1]) / 2.0);
    upright(act, frame, outline, at(z[0]), at(z[1]))
}

/// Volume and surface of what the blocks leave, counted in cells and cell faces.
fn counted(blocks: &[(Act, Cells)]) -> (f64, f64) {
    let mut full = vec![false; CELLS * CELLS * CELLS];
    let number = |x: usize, y: usize, z: usize| (z * CELLS + y) * CELLS + x;
    for (act, [xs, ys, zs]) in blocks {
        for z in zs[0]..zs[1] {
            for y in ys[0]..ys[1] {
                for x in xs[0]..xs[1] {
                    full[number(x, y, z)] = *act == Act::Add;
                }
            }
        }
    }
    let mut faces = 0;
    for z in 0..CELLS {
        for y in 0..CELLS {
            for x in 0..CELLS {
                for step in [[1, 0, 0], [0, 1, 0], [0, 0, 1]] {
                    let (a, b) = ([x, y, z], [x + step[0], y + step[1], z + step[2]]);
                    let there = b.iter().all(|&i| i < CELLS) && full[number(b[0], b[1], b[2])];
                    faces += usize::from(full[number(a[0], a[1], a[2])] != there);
                    // The lattice's low sides.
                    let low = a.iter().zip(step).any(|(&i, s)| s == 1 && i == 0);
                    faces += usize::from(low && full[number(a[0], a[1], a[2])]);
                }
            }
        }
    }
    let cells = full.iter().filter(|f| **f).count();
    (cells as f64 * CELL.powi(3), faces as f64 * CELL.powi(2))
}

fn settles(solid: &Solid, what: &str) {
    let settled = solid.settled_in_f32();
    assert_eq!(settled.bad_edges_in_f32(), 0, "{what}");
    let rounding = f64::from(f32::EPSILON) * solid.bounds().high.abs().max_element().max(64.0);
    let change = (settled.volume_mm3() - solid.volume_mm3()).abs();
    assert!(
        change <= solid.area_mm2() * rounding + 0.01,
        "{what}: {change}"
    );
}

fn bytes(solid: &Solid) -> Vec<u64> {
    let points = solid
        .points
        .iter()
        .flat_map(|p| p.to_array().map(f64::to_bits));
    let triangles = solid.triangles.iter().flatten().map(|&i| u64::from(i));
    points
        .chain(triangles)
        .chain(solid.features.iter().map(|&f| f as u64))
        .collect()
}

/// Evaluates seeded lattices in a frame; gives each solid with its count and what to call it.
fn lattices(
    seeds: Range<u64>,
    frame: impl Fn(&mut Seeded) -> Frame,
) -> impl Iterator<Item = (Solid, (f64, f64), String)> {
    seeds.map(move |seed| {
        let g = &mut Seeded(seed);
        let blocks = lattice(4 + g.below(14), g);
        let frame = frame(g);
        let bodies: Vec<Body> = blocks
            .iter()
            .map(|(act, cells)| lattice_body(*act, *cells, frame))
            .collect();
        let made = ready(&bodies);
        let what = format!("lattice {seed}");
        let done = evaluate(&made, &in_turn(made.len()), &mut Memo::default()).expect(&what);
        settles(&done.solid, &what);
        (done.solid, counted(&blocks), what)
    })
}

#[test]
fn lattices_hold_to_the_count() {
    for (solid, (volume, area), what) in lattices(0..60, |_| Frame::PART) {
        let figures = solid.figures();
        assert!(
            (figures.volume_mm3 - volume).abs() <= 1e-6,
            "{what}: {figures:?} for {volume}"
        );
        assert!(
            (figures.area_mm2 - area).abs() <= 1e-6,
            "{what}: {figures:?} for {area}"
        );
    }
}

#[test]
fn copies_and_near_copies() {
    let g = &mut Seeded(77);
    for round in 0..30 {
        let mut bodies = heap(6, 300 + round);
        // Copies of some bodies, moved by nothing or next to nothing.
        for _ in 0..4 {
            let mut copy = bodies[g.below(bodies.len())].clone();
            if g.chance(0.3) {
                copy.act = if copy.act == Act::Add {
                    Act::Cut
                } else {
                    Act::Add
                };
            }
            let shift = [0.0, 1e-12, 1e-9, 1e-7, 1e-5][g.below(5)];
            copy.frame.origin += Vec3::new(g.between(-1.0, 1.0), g.between(-1.0, 1.0), 1.0) * shift;
            let at = 1 + g.below(bodies.len());
            bodies.insert(at, copy);
        }
        let made = ready(&bodies);
        let steps = in_turn(made.len());
        let what = format!("copies {round}");
        let local = evaluate(&made, &steps, &mut Memo::default()).expect(&what);
        let whole = evaluate_whole(&made, &steps).expect(&what).0;
        let (a, b) = (local.solid.volume_mm3(), whole.volume_mm3());
        // Where faces agree to rounding only a body may be swollen by a micrometre all round.
        assert!(
            (a - b).abs() <= 1.2e-3 * whole.area_mm2(),
            "{what}: {a} for {b}"
        );
        settles(&local.solid, &what);
    }
}

/// Two metres out f32 is 2e-4 mm coarse.
#[test]
fn far_from_the_origin() {
    for seed in 0..12 {
        let mut bodies = heap(14, 900 + seed);
        for body in &mut bodies {
            body.frame.origin += Vec3::new(2000.0, -1500.0, 700.0);
        }
        let made = ready(&bodies);
        let done = evaluate(&made, &in_turn(14), &mut Memo::default()).expect("a solid");
        settles(&done.solid, &format!("far {seed}"));
    }
}

/// Results don't depend on what other threads ask of the kernel meanwhile.
#[test]
fn threads_get_the_same_bytes() {
    let made = ready(&plate(24, 9));
    let steps = in_turn(24);
    let run = |made: &[Ready]| {
        bytes(
            &evaluate(made, &steps, &mut Memo::default())
                .expect("a solid")
                .solid,
        )
    };
    let want = run(&made);
    thread::scope(|scope| {
        let runs: Vec<_> = (0..4).map(|_| scope.spawn(|| run(&made))).collect();
        for other in runs {
            assert!(other.join().expect("no panic") == want);
        }
    });
}

/// An edit redoes the steps that it touches, no others.
#[test]
fn an_edit_redoes_little() {
    let bodies = plate(60, 3);
    // A hole between the stations, made last, in the middle and first of all after the plate.
    for place in [60, 30, 1] {
        let mut memo = Memo::default();
        evaluate(&ready(&bodies), &in_turn(60), &mut memo).expect("a solid");
        memo.end_run();
        let before = memo.len();
        let mut edited = bodies.clone();
        let at = Vec3::new(21.0, 21.0, 0.0);
        edited.insert(place, bar(Act::Cut, at - Vec3::Z, at + Vec3::Z * 11.0, 4.0));
        evaluate(&ready(&edited), &in_turn(61), &mut memo).expect("a solid");
        let redone = memo.len() - before;
        println!("{redone} of 61 steps redone for a hole at {place}");
        assert!(
            (1..=20).contains(&redone),
            "{redone} steps redone for a hole at {place}"
        );
    }
}
