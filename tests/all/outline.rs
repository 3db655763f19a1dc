//! Outlines against closed formulas of plane geometry.

use crate::seeded::Seeded;
use foamwright::drawing::outline::{Outline, OutlineError, PathStep, Vertex, sample_levels};
use foamwright::measure::{Unit, Vec2};
use std::f64::consts::PI;

fn near(got: f64, wanted: f64, within: f64) {
    assert!((got - wanted).abs() <= within, "{got} instead of {wanted}");
}

fn v(x: f64, y: f64) -> Vec2 {
    Vec2::new(x, y)
}

/// Circle: area π r², length 2 π r. Obround: w (l - w) + π w²/4.
#[test]
fn simple_shapes_measure_by_their_formulas() {
    let disc = Outline::disc(10.0).at(3.0, 4.0);
    near(disc.area(), PI * 25.0, 1e-9);
    near(disc.perimeter(), PI * 10.0, 1e-9);
    near(disc.reach(), 10.0, 1e-9);
    assert_eq!(disc.as_disc(), Some((v(3.0, 4.0), 5.0)));
    let bar = Outline::obround(30.0, 8.0).unwrap().turn(30.0);
    near(bar.area(), 8.0 * 22.0 + PI * 16.0, 1e-9);
    near(bar.perimeter(), 44.0 + PI * 8.0, 1e-9);
    let (low, high) = bar.bounds();
    near(high.x, 11.0 * 30f64.to_radians().cos() + 4.0, 1e-9);
    near(low.y, -(11.0 * 0.5 + 4.0), 1e-9);
    near(Outline::rect(7.0, 3.0).area(), 21.0, 1e-12);
}

/// Distance to a circle is | |p - c| - r |; to a rectangle's corner by Pythagoras.
#[test]
fn distances_are_signed() {
    let disc = Outline::disc(10.0);
    near(disc.distance(v(0.0, 0.0)), -5.0, 1e-12);
    near(disc.distance(v(8.0, 6.0)), 5.0, 1e-12);
    let rect = Outline::rect(10.0, 6.0);
    near(rect.distance(v(8.0, 7.0)), 5.0, 1e-12);
    near(rect.distance(v(4.0, 0.0)), -1.0, 1e-12);
    assert!(rect.contains(v(4.9, -2.9)) && !rect.contains(v(5.1, 0.0)));
}

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

/// Shoelace formula.
#[test]
fn polygons_have_their_shoelace_area_either_way_round() {
    let mut points = [
        v(0.0, 0.0),
        v(10.0, 0.0),
        v(10.0, 10.0),
        v(5.0, 4.0),
        v(0.0, 10.0),
    ];
    let shoelace = 0.5
        * (0..5)
            .map(|i| points[i].perp_dot(points[(i + 1) % 5]))
            .sum::<f64>();
    near(Outline::polygon(&points).unwrap().area(), shoelace, 1e-12);
    points.reverse();
    near(Outline::polygon(&points).unwrap().area(), shoelace, 1e-12);
}

#[test]
fn a_polygon_that_crosses_itself_is_told_where() {
    let bow = [v(0.0, 0.0), v(10.0, 10.0), v(10.0, 0.0), v(0.0, 10.0)];
    match Outline::polygon(&bow) {
        Err(OutlineError::CrossesItself { near }) => assert!(near.distance(v(5.0, 5.0)) < 1e-6),
        other => panic!("{other:?}"),
    }
    let line = [v(0.0, 0.0), v(5.0, 0.0), v(9.0, 0.0)];
    assert!(matches!(
        Outline::polygon(&line),
        Err(OutlineError::TooFewPoints { .. })
    ));
    let spur = [
        v(0.0, 0.0),
        v(10.0, 0.0),
        v(10.0, 5.0),
        v(10.0, 20.0),
        v(10.0, 4.0),
        v(0.0, 4.0),
    ];
    assert!(matches!(
        Outline::polygon(&spur),
        Err(OutlineError::CrossesItself { .. })
    ));
}

/// Nesting: a loop in a loop is a hole, in a hole an outer; areas alternate. An arc over 180° is split.
#[test]
fn loops_are_turned_by_their_nesting() {
    let ring = |r: f64, way: f64| {
        vec![
            Vertex {
                at: v(r, 0.0),
                bulge: way,
            },
            Vertex {
                at: v(-r, 0.0),
                bulge: way,
            },
        ]
    };
    let o = Outline::from_loops(vec![ring(2.0, 1.0), ring(9.0, -1.0), ring(5.0, 1.0)]).unwrap();
    assert_eq!((o.outers(), o.holes()), (2, 1));
    near(o.area(), PI * (81.0 - 25.0 + 4.0), 1e-9);
    assert!(o.contains(v(1.0, 1.0)) && !o.contains(v(3.0, 0.0)) && o.contains(v(0.0, 7.0)));
    // Three quarters of a circle of radius 5 and its chord: 3/4 π r² + r²/2.
    let three_quarters = vec![
        Vertex {
            at: v(5.0, 0.0),
            bulge: (1.5 * PI / 4.0).tan(),
        },
        Vertex {
            at: v(0.0, -5.0),
            bulge: 0.0,
        },
    ];
    let o = Outline::from_loops(vec![three_quarters]).unwrap();
    near(o.area(), 0.75 * PI * 25.0 + 12.5, 1e-9);
    assert!(o.loops()[0].iter().all(|v| v.bulge.abs() <= 1.0));
}

#[test]
fn a_mirror_keeps_area_and_direction() {
    let o = Outline::obround(30.0, 8.0).unwrap().turn(20.0).at(6.0, 2.0);
    let m = o.mirrored_x();
    near(m.area(), o.area(), 1e-9);
    near(m.distance(v(-9.0, 5.0)), o.distance(v(9.0, 5.0)), 1e-9);
    near(
        o.mirrored_y().distance(v(9.0, -5.0)),
        o.distance(v(9.0, 5.0)),
        1e-9,
    );
}

#[test]
fn sides_are_found_by_direction() {
    let rect = Outline::rect(10.0, 6.0).at(20.0, 0.0);
    let left = rect.flat_toward(180.0).unwrap();
    assert!(left.outward.distance(v(-1.0, 0.0)) < 1e-12);
    assert!((left.from.x - 15.0).abs() < 1e-12 && left.from.y > left.to.y);
    // A corner of a square looks at 45°: two sides tie, the first counter-clockwise is the upper one.
    let tie = Outline::rect(10.0, 10.0).flat_toward(45.0).unwrap();
    assert!(tie.outward.distance(v(0.0, 1.0)) < 1e-12);
    assert_eq!(Outline::disc(5.0).flat_toward(0.0), None);
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

/// A random outline of many kinds, about 60 mm across, some with holes.
pub fn random(g: &mut Seeded) -> Outline {
    let kind = g.below(9);
    let made = match kind {
        0 => Ok(Outline::disc(g.between(6.0, 60.0))),
        1 => Ok(Outline::rect(g.between(8.0, 60.0), g.between(8.0, 60.0))),
        2 => {
            let w = g.between(5.0, 25.0);
            Outline::obround(w + g.between(0.0, 40.0), w)
        }
        3 => star(g, 0.5),
        4 => star(g, 0.7).and_then(|o| o.corners(g.between(0.1, 1.5))),
        5 => {
            let n = 1 + g.below(5);
            let circles: Vec<(Vec2, f64)> = (0..n)
                .map(|_| (spot(g, 25.0), g.between(4.0, 26.0)))
                .collect();
            Outline::belt(&circles)
        }
        6 => {
            let n = 2 + g.below(4);
            let path: Vec<Vec2> = (0..n).map(|_| spot(g, 28.0)).collect();
            Outline::stroke(&path, g.between(2.0, 10.0))
        }
        7 => {
            let r = g.between(12.0, 30.0);
            let hole =
                Outline::disc(g.between(2.0, r)).at(g.between(-3.0, 3.0), g.between(-3.0, 3.0));
            Outline::disc(2.0 * r).minus(&hole)
        }
        _ => {
            let (a, b, c) = (random(g), random(g), random(g));
            a.plus(&b).and_then(|o| o.minus(&c)).or(Ok(a))
        }
    };
    let at = spot(g, 12.0);
    match made {
        Ok(o) => o.turn(g.between(0.0, 360.0)).at(at.x, at.y),
        Err(OutlineError::CornerTooBig { .. } | OutlineError::CrossesItself { .. }) => random(g),
        Err(why) => panic!("kind {kind}: {why:?}"),
    }
}

fn spot(g: &mut Seeded, r: f64) -> Vec2 {
    v(g.between(-r, r), g.between(-r, r))
}

fn star(g: &mut Seeded, least: f64) -> Result<Outline, OutlineError> {
    let n = 3 + g.below(8);
    let points: Vec<Vec2> = (0..n)
        .map(|k| {
            let a = 2.0 * PI * (k as f64 + g.between(-0.3, 0.3)) / n as f64;
            Vec2::from_angle(a) * g.between(least, 1.0) * 30.0
        })
        .collect();
    Outline::polygon(&points)
}

/// A random outline on whole millimetres: rims that coincide, touch and share corners with others.
fn on_grid(g: &mut Seeded) -> Outline {
    let whole = |g: &mut Seeded, n: usize| g.below(n) as f64;
    let made = match g.below(5) {
        0 => Ok(Outline::disc(2.0 + 2.0 * whole(g, 5))),
        1 | 2 => Ok(Outline::rect(
            2.0 + 2.0 * whole(g, 6),
            2.0 + 2.0 * whole(g, 6),
        )),
        3 => Outline::obround(4.0 + 2.0 * whole(g, 4), 4.0).map(|o| o.turn(90.0 * whole(g, 2))),
        _ => {
            let (a, b) = (on_grid(g), on_grid(g));
            a.minus(&b).or(Ok(a))
        }
    };
    made.unwrap().at(whole(g, 7) - 3.0, whole(g, 7) - 3.0)
}

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

/// The definition of an offset: a point is in the outline grown by d where its distance is less than d.
#[test]
fn grown_outlines_hold_the_points_nearer_than_the_distance() {
    let mut g = Seeded(13);
    for case in 0..500 {
        let o = random(&mut g);
        let d = g.between(-4.0, 6.0);
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
