//! Revolved bodies: a closed profile turned about z.
//!
//! One vertex where the profile meets the axis, a ring of them elsewhere; every ring has the same angles,
//! multiples of 360°/N, N a multiple of 4 from the largest radius. Vertices lie on the true surface.
//! Long runs are cut, so that no sliver goes the length of a drum.

use super::profile::{ARC_SHARE, PROFILE_SHARE, chords, cuts};
use super::shape_fault::ShapeFault;
use super::shell::{Shell, Skin};
use crate::drawing::body::LathePoint;
use crate::measure::{SAME_POINT_MM, Vec2, Vec3, sin_cos_deg};

/// The fewest facets that a round body takes, however small.
const FEWEST_FACETS: usize = 24;

/// How many facets a full circle takes so that none stands off it by more than `sag_mm`; a multiple of 4.
pub(super) fn facets(radius_mm: f64, sag_mm: f64) -> usize {
    chords(radius_mm, std::f64::consts::TAU, sag_mm)
        .max(FEWEST_FACETS)
        .next_multiple_of(4)
}

/// The unit circle at multiples of 360°/N, exact at the quarters.
pub(super) fn circle(n: usize) -> Vec<Vec2> {
    let at = |k: usize| {
        let (sin, cos) = sin_cos_deg(360.0 * k as f64 / n as f64);
        Vec2::new(cos, sin)
    };
    (0..n).map(at).collect()
}

/// Builds a revolved body in its own frame.
///
/// # Errors
/// Where the profile goes behind the axis, crosses itself, or encloses nothing.
pub(super) fn lathe(profile: &[LathePoint], facet_mm: f64) -> Result<Shell, ShapeFault> {
    let rim = sampled(profile, facet_mm * PROFILE_SHARE)?;
    check(&rim)?;
    let widest = rim.iter().fold(0.0_f64, |a, p| a.max(p.x));
    let circle = circle(facets(widest, facet_mm * ARC_SHARE));
    let mut shell = Shell::default();
    let rings: Vec<Option<u32>> = rim.iter().map(|p| ring(&mut shell, &circle, *p)).collect();
    let n = circle.len() as u32;
    for (i, low) in rings.iter().enumerate() {
        let j = (i + 1) % rim.len();
        match (*low, rings[j]) {
            (None, None) => {}
            (Some(a), Some(b)) => {
                for (k, l) in around(n) {
                    shell.push_quad([a + k, a + l, b + l, b + k], Skin::Side);
                }
            }
            (Some(a), None) => {
                // Each fan has its tip to itself, so that two that meet there stay apart.
                let tip = shell.add_point(Vec3::new(0.0, 0.0, rim[j].y));
                around(n).for_each(|(k, l)| shell.push([a + k, a + l, tip], Skin::Side));
            }
            (None, Some(b)) => {
                let tip = shell.add_point(Vec3::new(0.0, 0.0, rim[i].y));
                around(n).for_each(|(k, l)| shell.push([tip, b + l, b + k], Skin::Side));
            }
        }
    }
    Ok(shell)
}

/// Neighbours round a ring.
pub(super) fn around(n: u32) -> impl Iterator<Item = (u32, u32)> {
    (0..n).map(move |k| (k, (k + 1) % n))
}

/// The ring of a profile point; none on the axis.
fn ring(shell: &mut Shell, circle: &[Vec2], p: Vec2) -> Option<u32> {
    let first = shell.points.len() as u32;
    if p.x == 0.0 {
        return None;
    }
    shell
        .points
        .extend(circle.iter().map(|c| (*c * p.x).extend(p.y)));
    Some(first)
}

/// The profile as points (r, z), counter-clockwise, arcs as chords, long lines cut; r is exactly 0 on the axis.
fn sampled(profile: &[LathePoint], sag_mm: f64) -> Result<Vec<Vec2>, ShapeFault> {
    let finite = |p: &LathePoint| p.r.is_finite() && p.z.is_finite() && p.bulge.is_finite();
    if !profile.iter().all(finite) {
        return Err(ShapeFault::NotFinite);
    }
    let mut rim: Vec<Vec2> = Vec::new();
    for (i, p) in profile.iter().enumerate() {
        let to = profile[(i + 1) % profile.len()];
        run(
            &mut rim,
            Vec2::new(p.r, p.z),
            Vec2::new(to.r, to.z),
            p.bulge,
            sag_mm,
        );
    }
    for p in &mut rim {
        if p.x < -SAME_POINT_MM {
            return Err(ShapeFault::ProfileBehindAxis { r: p.x, z: p.y });
        }
        if p.x < SAME_POINT_MM {
            p.x = 0.0;
        }
    }
    rim.dedup_by(|b, a| a.distance(*b) < SAME_POINT_MM);
    while rim.len() > 1 && rim[0].distance(rim[rim.len() - 1]) < SAME_POINT_MM {
        rim.pop();
    }
    let twice_area: f64 = (0..rim.len())
        .map(|i| rim[i].perp_dot(rim[(i + 1) % rim.len()]))
        .sum();
    if rim.len() < 3 || twice_area.abs() < SAME_POINT_MM {
        return Err(ShapeFault::ProfileEmpty);
    }
    if twice_area < 0.0 {
        rim.reverse();
    }
    Ok(rim)
}

/// The points of one run, without its end.
fn run(rim: &mut Vec<Vec2>, from: Vec2, to: Vec2, bulge: f64, sag_mm: f64) {
    let chord = to - from;
    if bulge.abs() < 1e-9 || chord.length() < SAME_POINT_MM {
        let n = cuts(chord.length());
        rim.extend((0..n).map(|k| from + chord * (k as f64 / n as f64)));
        return;
    }
    let sweep = 4.0 * bulge.atan();
    let radius = chord.length() * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
    let center = (from + to) * 0.5 + chord.perp() * ((1.0 - bulge * bulge) / (4.0 * bulge));
    let n = chords(radius, sweep, sag_mm);
    rim.push(from);
    rim.extend(
        (1..n)
            .map(|k| center + Vec2::from_angle(sweep * k as f64 / n as f64).rotate(from - center)),
    );
}

/// Checks that the rim neither crosses nor touches itself.
fn check(rim: &[Vec2]) -> Result<(), ShapeFault> {
    let n = rim.len();
    let at = |i: usize| (rim[i], rim[(i + 1) % n]);
    for i in 0..n {
        let (a, b) = at(i);
        let next = rim[(i + 2) % n];
        // A run that folds back onto the one before it.
        let (back, on) = (a - b, next - b);
        if back.dot(on) > 0.0
            && back.perp_dot(on).abs() < SAME_POINT_MM * back.length().max(on.length())
        {
            return Err(ShapeFault::ProfileCrosses { r: b.x, z: b.y });
        }
        let (low, high) = (a.min(b) - SAME_POINT_MM, a.max(b) + SAME_POINT_MM);
        for j in i + 2..n {
            let (c, d) = at(j);
            let apart = c.min(d).cmpgt(high).any() || c.max(d).cmplt(low).any();
            if apart || (i == 0 && j == n - 1) {
                continue;
            }
            if meet(a, b, c, d) {
                let near = (a + b + c + d) * 0.25;
                return Err(ShapeFault::ProfileCrosses {
                    r: near.x,
                    z: near.y,
                });
            }
        }
    }
    Ok(())
}

/// Whether two runs cross or touch.
fn meet(a: Vec2, b: Vec2, c: Vec2, d: Vec2) -> bool {
    let side = |p: Vec2, q: Vec2, r: Vec2| (q - p).perp_dot(r - p);
    let crosses = side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0;
    let near = |p: Vec2, q: Vec2, r: Vec2| {
        let t = ((r - p).dot(q - p) / (q - p).length_squared()).clamp(0.0, 1.0);
        (p + (q - p) * t).distance(r) < SAME_POINT_MM
    };
    crosses || near(a, b, c) || near(a, b, d) || near(c, d, a) || near(c, d, b)
}
