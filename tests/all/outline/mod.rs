//! Outlines against closed formulas of plane geometry and against definitions.

#![allow(clippy::unwrap_used)]

mod combine;
mod grow;
mod plain;
mod shapes;

use crate::seeded::Seeded;
use foamwright::drawing::outline::{Outline, OutlineError};
use foamwright::measure::Vec2;
use std::f64::consts::PI;

/// Fails unless the two differ by no more than `within`.
pub fn near(got: f64, wanted: f64, within: f64) {
    assert!((got - wanted).abs() <= within, "{got} instead of {wanted}");
}

/// A point (mm).
pub fn v(x: f64, y: f64) -> Vec2 {
    Vec2::new(x, y)
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
        Ok(o) if g.chance(0.1) => o.mirrored_x().at(at.x, at.y),
        Ok(o) => o.turn(g.between(0.0, 360.0)).at(at.x, at.y),
        Err(OutlineError::CornerTooBig { .. } | OutlineError::CrossesItself { .. }) => random(g),
        Err(why) => panic!("kind {kind}: {why:?}"),
    }
}

/// A random place about the origin.
pub fn spot(g: &mut Seeded, r: f64) -> Vec2 {
    v(g.between(-r, r), g.between(-r, r))
}

/// A random star-shaped polygon, radii from `least` times 30 mm.
pub fn star(g: &mut Seeded, least: f64) -> Result<Outline, OutlineError> {
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
pub fn on_grid(g: &mut Seeded) -> Outline {
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
