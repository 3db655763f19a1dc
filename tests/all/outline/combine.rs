//! Outlines joined, cut, compared.

use super::{near, on_grid, random, spot, v};
use crate::seeded::Seeded;
use foamwright::drawing::outline::{Outline, OutlineError};
use foamwright::measure::Vec2;
use std::f64::consts::PI;

/// Area of a result, nothing left being 0.
fn area(o: Result<Outline, OutlineError>, what: &str) -> f64 {
    match o {
        Ok(o) => o.area(),
        Err(OutlineError::Empty) => 0.0,
        Err(why) => panic!("{what}: {why:?}"),
    }
}

/// Inclusion and exclusion: |A| + |B| = |A ∪ B| + |A ∩ B|, |A| = |A - B| + |A ∩ B|; and each point is where set algebra
/// says.
fn check_pair(a: &Outline, b: &Outline, g: &mut Seeded, case: usize) {
    let what = format!("case {case}: {a:?} and {b:?}");
    let (plus, minus, common) = (a.plus(b), a.minus(b), a.common(b));
    let shared = area(common.clone(), &what);
    let sum = area(plus.clone(), &what) + shared;
    assert!((a.area() + b.area() - sum).abs() < 1e-4, "{what}");
    assert!(
        (a.area() - area(minus.clone(), &what) - shared).abs() < 1e-4,
        "{what}"
    );
    let held = |o: &Result<Outline, OutlineError>, p| o.as_ref().is_ok_and(|o| o.contains(p));
    for _ in 0..60 {
        let p = spot(g, 40.0);
        if a.distance(p).abs().min(b.distance(p).abs()) < 1e-4 {
            continue;
        }
        let (in_a, in_b) = (a.contains(p), b.contains(p));
        assert_eq!(held(&plus, p), in_a || in_b, "{what} at {p}");
        assert_eq!(held(&minus, p), in_a && !in_b, "{what} at {p}");
        assert_eq!(held(&common, p), in_a && in_b, "{what} at {p}");
    }
}

#[test]
fn areas_obey_inclusion_and_exclusion() {
    let mut g = Seeded(11);
    let mut holes = 0;
    for case in 0..600 {
        let (a, b) = (random(&mut g), random(&mut g));
        holes += usize::from(a.holes() + b.holes() > 0);
        check_pair(&a, &b, &mut g, case);
    }
    assert!(holes > 100, "{holes}");
}

#[test]
fn areas_obey_inclusion_and_exclusion_where_rims_coincide() {
    let mut g = Seeded(12);
    for case in 0..2000 {
        let (a, b) = (on_grid(&mut g), on_grid(&mut g));
        check_pair(&a, &b, &mut g, case);
    }
}

#[test]
fn one_outline_holds_another() {
    let ring = Outline::disc(40.0).minus(&Outline::disc(20.0)).unwrap();
    assert!(ring.holds(&ring, 0.0));
    assert!(ring.holds(&Outline::disc(9.9).at(15.0, 0.0), 0.0));
    assert!(!ring.holds(&Outline::disc(10.1).at(15.0, 0.0), 0.0));
    assert!(ring.holds(&Outline::disc(10.1).at(15.0, 0.0), 0.1));
    assert!(!ring.holds(&Outline::disc(30.0), 0.0));
    assert!(Outline::disc(40.0).holds(&ring, 0.0));
    assert!(!ring.holds(&Outline::disc(40.0), 0.0));
    assert!(Outline::rect(10.0, 10.0).holds(&Outline::rect(10.0, 4.0).at(0.0, 3.0), 0.0));
}

/// Plain areas: each moved side adds length times move, each filled corner of a rectangle move times move.
#[test]
fn moved_flats_add_their_sweep_and_their_corners() {
    let rect = Outline::rect(30.0, 20.0);
    let side = |o: &Outline, deg: f64| o.flat_toward(deg).unwrap().place;
    let one = rect.with_flat_moved(&[(side(&rect, 0.0), 3.0)]).unwrap();
    assert_eq!(one.bounds(), (v(-15.0, -10.0), v(18.0, 10.0)));
    assert_eq!(one.loops()[0].len(), 4);
    let two = rect
        .with_flat_moved(&[(side(&rect, 0.0), 3.0), (side(&rect, 90.0), 2.0)])
        .unwrap();
    near(two.area(), 33.0 * 22.0, 1e-9);
    let less = rect
        .with_flat_moved(&[(side(&rect, 0.0), -3.0), (side(&rect, 90.0), -2.0)])
        .unwrap();
    near(less.area(), 27.0 * 18.0, 1e-9);
    // Rounded: the rounding between moved sides keeps its radius, so the result is the larger rounded rectangle.
    let round = rect.corners(4.0).unwrap();
    let all: Vec<_> = round.flats().iter().map(|f| (f.place, 2.5)).collect();
    let grown = round.with_flat_moved(&all).unwrap();
    near(grown.area(), 35.0 * 25.0 - (4.0 - PI) * 16.0, 1e-7);
    assert_eq!(grown.loops()[0].len(), 8);
    // One side alone leaves steps: its own length times the move.
    let step = round.with_flat_moved(&[(side(&round, 90.0), 2.5)]).unwrap();
    near(step.area(), round.area() + 22.0 * 2.5, 1e-9);
    // Sharp hexagon, all sides: a hexagon again, apothem larger by the move. Area 2 √3 a².
    let hexagon: Vec<Vec2> = (0..6)
        .map(|k| Vec2::from_angle(k as f64 * PI / 3.0) * 10.0)
        .collect();
    let hexagon = Outline::polygon(&hexagon).unwrap();
    let all: Vec<_> = hexagon.flats().iter().map(|f| (f.place, 1.5)).collect();
    let apothem = 10.0 * (PI / 3.0).sin() + 1.5;
    near(
        hexagon.with_flat_moved(&all).unwrap().area(),
        2.0 * 3f64.sqrt() * apothem * apothem,
        1e-7,
    );
    // An L with a rounded inner corner: all six sides out by 1.
    let ell = [
        (0.0, 0.0),
        (30.0, 0.0),
        (30.0, 10.0),
        (10.0, 10.0),
        (10.0, 30.0),
        (0.0, 30.0),
    ];
    let ell = Outline::polygon(&ell.map(|(x, y)| v(x, y)))
        .unwrap()
        .corners(2.0)
        .unwrap();
    let all: Vec<_> = ell.flats().iter().map(|f| (f.place, 1.0)).collect();
    let wide = 32.0 * 12.0 + 12.0 * 20.0;
    near(
        ell.with_flat_moved(&all).unwrap().area(),
        wide - 4.0 * (4.0 - PI),
        1e-7,
    );
}

/// Rims that almost coincide: inclusion and exclusion, where snapping may move a rim by 1e-5 mm over its length.
#[test]
fn areas_add_up_where_rims_almost_coincide() {
    let mut g = Seeded(14);
    for case in 0..1500 {
        let hair = 10f64.powf(g.between(-9.0, -3.0));
        let a = if g.chance(0.5) {
            on_grid(&mut g)
        } else {
            random(&mut g)
        };
        let b = match g.below(3) {
            0 => a.at(hair, -hair),
            1 => a.turn(hair),
            _ => a.grown(hair).unwrap(),
        };
        let what = format!("case {case}: {a:?} off by {hair:e}");
        let shared = area(a.common(&b), &what);
        let (plus, minus) = (area(a.plus(&b), &what), area(a.minus(&b), &what));
        let within = 2e-5 * (a.perimeter() + b.perimeter());
        near(plus + shared, a.area() + b.area(), within);
        near(minus + shared, a.area(), within);
    }
}
