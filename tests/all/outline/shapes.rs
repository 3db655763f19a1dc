//! Rounded corners, belts, strokes, paths of arcs.

use super::{near, spot, star, v};
use crate::seeded::Seeded;
use foamwright::drawing::outline::{Outline, OutlineError, PathStep, Vertex};
use foamwright::measure::Vec2;
use std::f64::consts::PI;

/// A rounded rectangle: l w - (4 - π) r². A square rounded by half its side is a disc.
#[test]
fn rounded_corners_take_off_their_share() {
    for r in [0.5, 3.0, 9.999, 10.0] {
        let o = Outline::rect(30.0, 20.0).corners(r).unwrap();
        near(o.area(), 600.0 - (4.0 - PI) * r * r, 1e-9);
        near(o.perimeter(), 100.0 - (8.0 - 2.0 * PI) * r, 1e-9);
    }
    let (c, r) = Outline::rect(20.0, 20.0)
        .corners(10.0)
        .unwrap()
        .as_disc()
        .unwrap();
    assert!(c.length() < 1e-9 && (r - 10.0).abs() < 1e-9);
    match Outline::rect(30.0, 20.0).corners(10.1) {
        Err(OutlineError::CornerTooBig { radius, fits, .. }) => {
            near(fits, 10.0, 1e-5);
            near(radius, 10.1, 0.0);
        }
        other => panic!("{other:?}"),
    }
    // An L has five corners that stand out, each less (1 - π/4) r², and one that stands in, which adds it.
    let ell = [
        (0.0, 0.0),
        (30.0, 0.0),
        (30.0, 10.0),
        (10.0, 10.0),
        (10.0, 30.0),
        (0.0, 30.0),
    ];
    let ell = Outline::polygon(&ell.map(|(x, y)| v(x, y))).unwrap();
    near(
        ell.corners(2.0).unwrap().area(),
        500.0 - 4.0 * (1.0 - PI / 4.0) * 4.0,
        1e-9,
    );
}

/// A corner of any angle: rounding takes off r² (tan t - t), t half the turn there. (Kite less sector.)
#[test]
fn polygon_corners_take_off_kite_less_sector() {
    let mut g = Seeded(21);
    for _ in 0..200 {
        let Ok(o) = star(&mut g, 0.6) else { continue };
        let r = g.between(0.05, 1.0);
        let Ok(rounded) = o.corners(r) else { continue };
        let ring = &o.loops()[0];
        let n = ring.len();
        let off: f64 = (0..n)
            .map(|i| {
                let (a, b, c) = (ring[(i + n - 1) % n].at, ring[i].at, ring[(i + 1) % n].at);
                let t = (b - a).angle_to(c - b) / 2.0;
                r * r * (t.tan() - t)
            })
            .sum();
        near(rounded.area(), o.area() - off, 1e-8);
    }
}

/// Between a line and an arc: a half disc of radius R with its two corners rounded by r. The rounding's centre lies r
/// above the line and R - r from the centre: a triangle with that angle gives sectors and the middle.
#[test]
fn corners_between_line_and_arc_are_tangent() {
    let half = vec![
        Vertex {
            at: v(-10.0, 0.0),
            bulge: 0.0,
        },
        Vertex {
            at: v(10.0, 0.0),
            bulge: 1.0,
        },
    ];
    let (big, r): (f64, f64) = (10.0, 2.0);
    let o = Outline::from_loops(vec![half]).unwrap().corners(r).unwrap();
    let a = (r / (big - r)).asin();
    let reach = ((big - r) * (big - r) - r * r).sqrt();
    let middle = big * big * (PI - 2.0 * a) / 2.0;
    let roundings = r * r * (PI / 2.0 + a);
    near(o.area(), middle + roundings + reach * r, 1e-9);
}

/// Belt round two circles: crossed-out sectors and two trapezoids (the plain belt problem).
#[test]
fn a_belt_round_two_circles_has_its_formula() {
    for (r, s, d) in [(10.0, 4.0, 30.0), (6.0, 6.0, 20.0), (12.0f64, 1.0, 11.5)] {
        let o = Outline::belt(&[(v(1.0, 2.0), 2.0 * r), (v(1.0 + d, 2.0), 2.0 * s)]).unwrap();
        let a = ((r - s) / d).asin();
        let straight = d * a.cos();
        let (big, small) = (PI + 2.0 * a, PI - 2.0 * a);
        near(o.perimeter(), r * big + s * small + 2.0 * straight, 1e-9);
        near(
            o.area(),
            (r * r * big + s * s * small) / 2.0 + straight * (r + s),
            1e-9,
        );
    }
    // The first holds the second.
    let one = Outline::belt(&[(v(0.0, 0.0), 20.0), (v(2.0, 0.0), 5.0)]).unwrap();
    near(one.as_disc().unwrap().1, 10.0, 1e-12);
    // Equal circles: Steiner's formula on the hull of the centres; those in a row don't add vertices.
    let at = [
        (0.0, 0.0),
        (20.0, 0.0),
        (40.0, 0.0),
        (40.0, 30.0),
        (20.0, 15.0),
        (0.0, 30.0),
    ];
    let o = Outline::belt(&at.map(|(x, y)| (v(x, y), 8.0))).unwrap();
    near(o.area(), 1200.0 + 140.0 * 4.0 + PI * 16.0, 1e-9);
    assert_eq!(o.loops()[0].len(), 8);
    // A big circle between two small ones is reached twice.
    let twice = [
        (v(0.0, 0.0), 30.0),
        (v(-40.0, 0.0), 4.0),
        (v(40.0, 0.0), 4.0),
    ];
    let o = Outline::belt(&twice).unwrap();
    near(o.distance(v(0.0, 16.0)), 1.0, 1e-9);
    near(o.bounds().1.x, 42.0, 1e-9);
}

/// Definition of a convex hull: its support in each direction is the greatest of the circles'.
#[test]
fn a_belt_is_the_hull_of_its_circles() {
    let mut g = Seeded(22);
    for case in 0..500 {
        let n = 1 + g.below(8);
        let circles: Vec<(Vec2, f64)> = (0..n)
            .map(|_| (spot(&mut g, 30.0).round(), g.between(1.0, 30.0).ceil()))
            .collect();
        let o = Outline::belt(&circles).unwrap();
        for k in 0..24 {
            let deg = 15.0 * k as f64;
            let way = Vec2::from_angle(deg.to_radians());
            let wanted = circles
                .iter()
                .map(|(c, d)| c.dot(way) + d / 2.0)
                .fold(f64::MIN, f64::max);
            let reach = o.turn(-deg).bounds().1.x;
            assert!(
                (reach - wanted).abs() < 1e-9,
                "case {case} {circles:?} towards {deg}"
            );
        }
        for (c, d) in &circles {
            assert!(o.distance(*c) <= 1e-6 - d / 2.0, "case {case} {circles:?}");
        }
    }
}

/// A bar along an L: two obrounds less their common quarter-overlap; in general the points within half the width.
#[test]
fn a_stroke_holds_the_points_within_half_its_width() {
    let bend = Outline::stroke(&[v(0.0, 0.0), v(30.0, 0.0), v(30.0, 20.0)], 6.0).unwrap();
    // 50 long, the round inside of the corner lost twice: square 9 counted twice, quarter disc outside the joint.
    near(
        bend.area(),
        50.0 * 6.0 - 9.0 + PI * 9.0 / 4.0 + PI * 9.0,
        1e-9,
    );
    let mut g = Seeded(23);
    for case in 0..300 {
        let n = 2 + g.below(6);
        let mut path: Vec<Vec2> = (0..n).map(|_| spot(&mut g, 30.0)).collect();
        if g.chance(0.5) {
            path.iter_mut().for_each(|p| *p = (*p / 5.0).round() * 5.0);
        }
        if g.chance(0.3) {
            path.push(path[0]);
        }
        if path.iter().all(|p| *p == path[0]) {
            continue;
        }
        let width = g.between(1.0, 8.0).ceil();
        let o = Outline::stroke(&path, width).unwrap();
        for _ in 0..100 {
            let p = spot(&mut g, 36.0);
            let off = path
                .windows(2)
                .map(|w| {
                    let way = w[1] - w[0];
                    let t = if way.length() == 0.0 {
                        0.0
                    } else {
                        (p - w[0]).dot(way) / way.length_squared()
                    };
                    p.distance(w[0] + way * t.clamp(0.0, 1.0))
                })
                .fold(f64::MAX, f64::min);
            if (off - width / 2.0).abs() > 1e-4 {
                assert_eq!(
                    o.contains(p),
                    off < width / 2.0,
                    "case {case} {path:?} {width} at {p}"
                );
            }
        }
    }
}

/// A half disc by three points; a circular segment of radius R and chord c: R² (t - sin t) / 2, sin(t/2) = c / 2R.
#[test]
fn arc_paths_have_their_segments() {
    let steps = [PathStep::ArcThrough(v(0.0, 10.0), v(-10.0, 0.0))];
    near(
        Outline::arc_path(v(10.0, 0.0), &steps).unwrap().area(),
        PI * 50.0,
        1e-9,
    );
    let steps = [PathStep::ArcThrough(v(-10.0, 0.0), v(0.0, -10.0))];
    near(
        Outline::arc_path(v(10.0, 0.0), &steps).unwrap().area(),
        PI * 75.0 + 50.0,
        1e-9,
    );
    let t = 2.0 * (8.0f64 / 10.0).asin();
    let cap = 50.0 * (t - t.sin());
    for (radius, sign) in [(10.0, 1.0), (-10.0, -1.0)] {
        let steps = [
            PathStep::Line(v(16.0, 0.0)),
            PathStep::ArcRadius(v(16.0, 16.0), radius),
            PathStep::Line(v(0.0, 16.0)),
        ];
        near(
            Outline::arc_path(v(0.0, 0.0), &steps).unwrap().area(),
            256.0 + sign * cap,
            1e-9,
        );
    }
    let short = [
        PathStep::ArcRadius(v(20.0, 0.0), 9.0),
        PathStep::Line(v(10.0, 10.0)),
    ];
    let why = Outline::arc_path(v(0.0, 0.0), &short);
    assert_eq!(
        why,
        Err(OutlineError::ArcTooSmall {
            radius: 9.0,
            least: 10.0
        })
    );
    let lens = [
        PathStep::ArcRadius(v(20.0, 0.0), 10.0),
        PathStep::ArcRadius(v(0.0, 0.0), 10.0),
    ];
    near(
        Outline::arc_path(v(0.0, 0.0), &lens)
            .unwrap()
            .as_disc()
            .unwrap()
            .1,
        10.0,
        1e-9,
    );
}
