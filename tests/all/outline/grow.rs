//! Offsets, the widest disc, samples.

use super::{near, on_grid, random, spot, v};
use crate::seeded::Seeded;
use foamwright::drawing::outline::{Outline, OutlineError, sample_levels};
use foamwright::measure::Vec2;
use std::f64::consts::PI;

/// Steiner's formula for convex sets: area(K grown by d) = A + P d + π d².
#[test]
fn convex_outlines_grow_by_steiner() {
    let hexagon: Vec<Vec2> = (0..6)
        .map(|k| Vec2::from_angle(k as f64 * PI / 3.0) * 10.0)
        .collect();
    let shapes = [
        Outline::rect(40.0, 25.0),
        Outline::polygon(&hexagon).unwrap(),
        Outline::obround(30.0, 8.0).unwrap().turn(17.0),
        Outline::disc(12.0),
    ];
    for o in shapes {
        for d in [0.01, 1.0, 7.5] {
            let grown = o.grown(d).unwrap();
            near(
                grown.area(),
                o.area() + o.perimeter() * d + PI * d * d,
                1e-6,
            );
            near(grown.perimeter(), o.perimeter() + 2.0 * PI * d, 1e-6);
            let back = grown.grown(-d).unwrap();
            near(back.area(), o.area(), 1e-5);
        }
    }
}

#[test]
fn a_grown_disc_stays_a_disc() {
    let (c, r) = Outline::disc(20.0)
        .at(5.0, 1.0)
        .grown(-3.0)
        .unwrap()
        .as_disc()
        .unwrap();
    assert_eq!((c, r), (v(5.0, 1.0), 7.0));
    let gone = Outline::disc(20.0).grown(-10.0);
    assert_eq!(
        gone,
        Err(OutlineError::Vanishes {
            by: 10.0,
            fits: 10.0
        })
    );
}

/// The definition of an offset: a point is in the outline grown by d where its distance is less than d.
#[test]
fn grown_outlines_hold_the_points_nearer_than_the_distance() {
    let mut g = Seeded(13);
    for case in 0..500 {
        let (o, d) = match g.chance(0.3) {
            true => (on_grid(&mut g), g.between(-4.0, 6.0).round()),
            false => (random(&mut g), g.between(-4.0, 6.0)),
        };
        let grown = match o.grown(d) {
            Ok(grown) => Some(grown),
            Err(OutlineError::Vanishes { by, fits }) => {
                assert!(by == -d && fits <= by + 1e-3, "case {case}");
                None
            }
            Err(why) => panic!("case {case}: {why:?} {o:?} {d}"),
        };
        for _ in 0..100 {
            let p = spot(&mut g, 50.0);
            let off = o.distance(p);
            if (off - d).abs() > 2e-3 {
                let held = grown.as_ref().is_some_and(|o| o.contains(p));
                assert_eq!(held, off < d, "case {case} {o:?} by {d} at {p}");
            }
        }
    }
}

/// Incircle of a polygon whose sides all touch it: diameter 4 A / P. A ring: its width. A bar: its width.
#[test]
fn the_widest_disc_is_the_incircle() {
    near(Outline::rect(30.0, 7.0).turn(12.0).widest_disc(), 7.0, 1e-9);
    near(
        Outline::obround(30.0, 7.0).unwrap().widest_disc(),
        7.0,
        1e-9,
    );
    near(Outline::disc(9.0).widest_disc(), 9.0, 1e-9);
    let ring = Outline::disc(40.0).minus(&Outline::disc(22.0)).unwrap();
    near(ring.widest_disc(), 9.0, 1e-3);
    let bar = Outline::stroke(&[v(0.0, 0.0), v(50.0, 0.0), v(80.0, 10.0)], 6.0).unwrap();
    assert!((6.0 - 1e-3..6.2).contains(&bar.widest_disc()));
    near(
        Outline::rect(30.0, 20.0)
            .corners(3.0)
            .unwrap()
            .widest_disc(),
        20.0,
        1e-3,
    );
    let mut g = Seeded(24);
    for case in 0..300 {
        // Tangents to a circle at random angles, less than half a turn apart.
        let n = 3 + g.below(5);
        let r = g.between(1.0, 20.0);
        let a: Vec<f64> = (0..n)
            .map(|k| 2.0 * PI * (k as f64 + g.between(-0.2, 0.2)) / n as f64)
            .collect();
        let corners: Vec<Vec2> = (0..n)
            .map(|k| {
                let (a, b) = (
                    a[k],
                    a[(k + 1) % n] + if k + 1 == n { 2.0 * PI } else { 0.0 },
                );
                Vec2::from_angle((a + b) / 2.0) * r / ((b - a) / 2.0).cos()
            })
            .collect();
        let o = Outline::polygon(&corners).unwrap().at(3.0, -8.0);
        near(4.0 * o.area() / o.perimeter(), 2.0 * r, 1e-9);
        let got = o.widest_disc();
        assert!(
            (got - 2.0 * r).abs() <= 1e-3,
            "case {case}: {got} for {}",
            2.0 * r
        );
    }
}

/// A disc that fits must fit where it is said to, and no point of a fine grid may lie deeper.
#[test]
fn no_place_is_deeper_than_the_widest_disc() {
    let mut g = Seeded(25);
    for case in 0..60 {
        let o = random(&mut g);
        let got = o.widest_disc();
        let (low, high) = o.bounds();
        let deepest = (0..=80 * 80)
            .map(|k| low + (high - low) * v((k % 81) as f64, (k / 81) as f64) / 80.0)
            .map(|p| -o.distance(p))
            .fold(0.0, f64::max);
        let cell = (high - low).length() / 160.0;
        assert!(
            got / 2.0 >= deepest - 1e-3 && got / 2.0 <= deepest + cell,
            "case {case}: {got} {o:?}"
        );
    }
}

/// Sag of a chord: r (1 - cos(half angle)).
#[test]
fn samples_lie_on_the_curve_and_nest() {
    let levels: Vec<Outline> = [0.0, -1.0, -3.0]
        .iter()
        .map(|d| {
            Outline::rect(30.0, 20.0)
                .grown(5.0)
                .unwrap()
                .grown(*d)
                .unwrap()
        })
        .collect();
    let sag = 0.02;
    for (o, loops) in levels.iter().zip(sample_levels(&levels, sag, false)) {
        for (i, p) in loops[0].iter().enumerate() {
            near(o.distance(*p), 0.0, 1e-9);
            let q = loops[0][(i + 1) % loops[0].len()];
            assert!(o.distance((*p + q) * 0.5) >= -sag * 1.0001);
        }
        let count = loops[0].len();
        assert_eq!(count, sample_levels(&levels, sag, false)[0][0].len());
    }
}
