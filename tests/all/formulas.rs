//! Closed formulas that several tests hold volumes against.

use std::f64::consts::PI;

/// The facet where a script says none (mm): language, `facet`.
pub const FACET: f64 = 0.02;

/// The most that facets can hide of a round wall: a mesh has its vertices on the true circle and its chords at most
/// a facet inside (mm³).
pub fn round(dia: f64, length: f64) -> f64 {
    PI * dia * FACET * length
}

/// Volume over a rectangle `l` × `w` that holds at z = 0 and is drafted by `t` a mm, from `low` to `high`: above 0 the
/// section shrinks and keeps its corners, below it is the parallel body with round ones (Steiner: A + P d + π d²).
pub fn drafted(l: f64, w: f64, t: f64, low: f64, high: f64) -> f64 {
    let whole = |z: f64| {
        let corners = if z > 0.0 { 4.0 } else { PI };
        l * w * z - (l + w) * t * z * z + corners * t * t * z * z * z / 3.0
    };
    whole(high) - whole(low)
}

/// Volume of the fillet of radius `r` round a boss of radius `radius`: section (1 - π/4) r², its middle by Pappus.
/// Inside a bore the second term turns its sign.
pub fn fillet_ring(r: f64, radius: f64, inside: bool) -> f64 {
    let sign = if inside { -1.0 } else { 1.0 };
    2.0 * PI * ((1.0 - PI / 4.0) * r * r * radius + sign * (5.0 / 6.0 - PI / 4.0) * r.powi(3))
}

/// Area that two discs share (from memory: the lens of two circles, any handbook of plane geometry).
pub fn lens(a: f64, b: f64, apart: f64) -> f64 {
    let part = |a: f64, b: f64| {
        let h = (apart * apart + a * a - b * b) / (2.0 * apart);
        a * a * (h / a).acos() - h * (a * a - h * h).sqrt()
    };
    part(a, b) + part(b, a)
}

/// The integral of √(R² - y²) over a disc of radius `r` (numeric, Simpson in y): what a round ground takes from a
/// boss that touches it.
pub fn under_round(radius: f64, r: f64) -> f64 {
    let n = 2000;
    let f = |y: f64| (radius * radius - y * y).sqrt() * 2.0 * (r * r - y * y).max(0.0).sqrt();
    let step = 2.0 * r / f64::from(n);
    let sum: f64 = (0..=n)
        .map(|i| {
            let weight = match i {
                0 => 1.0,
                i if i == n => 1.0,
                i if i % 2 == 1 => 4.0,
                _ => 2.0,
            };
            weight * f(-r + step * f64::from(i))
        })
        .sum();
    sum * step / 3.0
}
