//! Plain shapes: what they measure, how they are turned, what is refused and how it is told.

use super::{near, v};
use foamwright::drawing::outline::{Outline, OutlineError, Vertex};
use foamwright::measure::Unit;
use std::f64::consts::PI;

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

#[test]
fn errors_are_told_in_the_unit_of_the_script() {
    let why = Outline::rect(25.4, 50.8).corners(20.0).unwrap_err();
    assert_eq!(
        why.text(Unit::Inch),
        "a corner radius of 0.7874 in doesn't fit near [-0.5, -1]; the largest that fits is 0.5 in"
    );
    let why = Outline::rect(30.0, 20.0).grown(-10.0).unwrap_err();
    assert_eq!(
        why.to_string(),
        "nothing is left of the outline when it shrinks by 10 mm; it takes less than 10 mm"
    );
    let why = Outline::obround(5.0, 8.0).unwrap_err();
    assert!(
        why.to_string()
            .contains("can't be less than its width (8 mm)"),
        "{why}"
    );
    assert!(
        Outline::belt(&[(v(0.0, 0.0), -2.0)])
            .unwrap_err()
            .to_string()
            .starts_with("-2 mm is not a size")
    );
    assert_eq!(
        Outline::disc(5.0).minus(&Outline::disc(5.0)),
        Err(OutlineError::Empty)
    );
}

/// A circle has no direction: turned about its own middle it is the same, vertices too.
#[test]
fn a_turned_disc_is_the_same_disc() {
    let o = Outline::disc(12.0);
    assert_eq!(o.turn(33.0).mirrored_x().loops()[0].len(), 2);
    let (turned, plain) = (o.turn(33.0), o.at(0.0, 0.0));
    for (a, b) in turned.loops()[0].iter().zip(&plain.loops()[0]) {
        assert!(a.at.distance(b.at) < 1e-12 && a.bulge == b.bulge);
    }
}
