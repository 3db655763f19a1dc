//! A section carried along a way of straight legs: tunnels, tunnel walls, ties.
//!
//! The section's frame is carried untwisted: each corner turns it about the axis square to both legs. A mitred
//! corner lays the section in the plane that halves the angle; a bend turns it about the bend's centre, so that
//! every side quad is plane. Vertices lie on the true surface; chords of the outermost line keep to the sag.
//! A way that runs into itself is told for legs that pass each other, not for bends.

use super::profile::{ARC_SHARE, PROFILE_SHARE, chords, cuts};
use super::shape_fault::ShapeFault;
use super::shell::{Shell, Skin};
use super::triangulate::{Pitch, divided, fill, grid};
use crate::drawing::body::Sweep;
use crate::drawing::outline::sample_levels;
use crate::measure::{SAME_POINT_MM, Vec2, Vec3};

/// How much wider than the section's reach a bend must be (mm), so that its inside is no point.
const BEND_OVER_REACH_MM: f64 = 0.05;

/// Where the section stands: its point (a, b) lies at `origin` + `u` a + `v` b. In a mitre u and v slant.
#[derive(Debug, Clone, Copy)]
struct Station {
    origin: Vec3,
    u: Vec3,
    v: Vec3,
}

impl Station {
    fn point(&self, p: Vec2) -> Vec3 {
        self.origin + self.u * p.x + self.v * p.y
    }

    /// A point turned about an axis through `center`.
    fn turned(&self, center: Vec3, axis: Vec3, angle: f64) -> Station {
        let (sin, cos) = angle.sin_cos();
        let turn = |x: Vec3| x * cos + axis.cross(x) * sin + axis * (axis.dot(x) * (1.0 - cos));
        Station {
            origin: center + turn(self.origin - center),
            u: turn(self.u),
            v: turn(self.v),
        }
    }
}

/// A straight leg of the way.
#[derive(Debug, Clone, Copy)]
struct Leg {
    along: Vec3,
    length: f64,
    /// The section's axes on it.
    u: Vec3,
    v: Vec3,
}

/// A corner of the way: the axis and angle that turn one leg's direction to the next one's.
#[derive(Debug, Clone, Copy)]
struct Corner {
    axis: Vec3,
    angle: f64,
}

/// Builds a swept body in its own frame.
///
/// # Errors
/// Where the way turns back, a bend is too tight, a leg too short, or legs meet.
pub(super) fn sweep(sweep: &Sweep, facet_mm: f64) -> Result<Shell, ShapeFault> {
    let levels = sample_levels(
        std::slice::from_ref(&sweep.section),
        facet_mm * ARC_SHARE,
        false,
    );
    let rings: Vec<Vec<Vec2>> = levels
        .into_iter()
        .flatten()
        .map(|ring| divided(&ring, Pitch::GRID))
        .collect();
    let bend = sweep.bend.filter(|b| *b > 0.0);
    let sizes = [sweep.before, sweep.after, bend.unwrap_or(0.0)];
    if !sizes.iter().all(|s| s.is_finite()) || !sweep.way.iter().all(|p| p.is_finite()) {
        return Err(ShapeFault::NotFinite);
    }
    let (legs, corners) = legs(sweep)?;
    check_passing(sweep, &legs, &rings)?;
    let stations = match bend {
        Some(bend) => bent(
            sweep,
            bend,
            &legs,
            &corners,
            &rings,
            facet_mm * PROFILE_SHARE,
        )?,
        None => mitred(sweep, &legs, &corners, &rings)?,
    };
    mesh(&rings, &cut_legs(&stations), sweep.flip_u)
}

/// The legs with the section's axes carried along, and the corners between them.
fn legs(sweep: &Sweep) -> Result<(Vec<Leg>, Vec<Corner>), ShapeFault> {
    let way = &sweep.way;
    if way.len() < 2 {
        return Err(ShapeFault::PathTooShort { point: way.len() });
    }
    let mut legs: Vec<Leg> = Vec::with_capacity(way.len() - 1);
    let mut corners = Vec::with_capacity(way.len() - 2);
    for (i, pair) in way.windows(2).enumerate() {
        let length = pair[0].distance(pair[1]);
        if length < SAME_POINT_MM {
            return Err(ShapeFault::PathTooShort { point: i + 2 });
        }
        let along = (pair[1] - pair[0]) / length;
        let Some(last) = legs.last().copied() else {
            let up = if along.cross(Vec3::Z).length() < 1e-6 {
                Vec3::Y
            } else {
                Vec3::Z
            };
            let v = (up - along * up.dot(along)).normalize();
            let u = along.cross(v) * if sweep.flip_u { -1.0 } else { 1.0 };
            legs.push(Leg {
                along,
                length,
                u,
                v,
            });
            continue;
        };
        let cross = last.along.cross(along);
        let angle = cross.length().atan2(last.along.dot(along));
        if angle > std::f64::consts::PI - 1e-6 {
            return Err(ShapeFault::TurnsBack { point: i + 1 });
        }
        if angle < 1e-9 {
            corners.push(Corner {
                axis: last.u,
                angle: 0.0,
            });
            legs.push(Leg {
                along,
                length,
                ..last
            });
            continue;
        }
        let axis = cross / cross.length();
        let carried = Station {
            origin: Vec3::ZERO,
            u: last.u,
            v: last.v,
        };
        let Station { u, v, .. } = carried.turned(Vec3::ZERO, axis, angle);
        corners.push(Corner { axis, angle });
        legs.push(Leg {
            along,
            length,
            u,
            v,
        });
    }
    Ok((legs, corners))
}

/// The first and the last station, with the extra lengths.
fn ends(sweep: &Sweep, legs: &[Leg]) -> (Station, Station) {
    let (first, last) = (legs[0], legs[legs.len() - 1]);
    let end = sweep.way[sweep.way.len() - 1] + last.along * sweep.after;
    let start = sweep.way[0] - first.along * sweep.before;
    (
        Station {
            origin: start,
            u: first.u,
            v: first.v,
        },
        Station {
            origin: end,
            u: last.u,
            v: last.v,
        },
    )
}

/// The stations of a way with bends.
fn bent(
    sweep: &Sweep,
    bend: f64,
    legs: &[Leg],
    corners: &[Corner],
    rings: &[Vec<Vec2>],
    sag_mm: f64,
) -> Result<Vec<Station>, ShapeFault> {
    let tangent = |c: &Corner| bend * (c.angle * 0.5).tan();
    let (start, end) = ends(sweep, legs);
    let mut stations = vec![start];
    for (i, corner) in corners.iter().enumerate().filter(|(_, c)| c.angle > 0.0) {
        let leg = legs[i];
        let inward = corner.axis.cross(leg.along);
        let reach = |way: Vec3| {
            let over = |p: &Vec2| (leg.u * p.x + leg.v * p.y).dot(way);
            rings
                .iter()
                .flatten()
                .map(over)
                .fold(f64::NEG_INFINITY, f64::max)
        };
        let least = reach(inward) + BEND_OVER_REACH_MM;
        if bend < least - SAME_POINT_MM {
            return Err(ShapeFault::BendTooTight {
                point: i + 2,
                bend,
                least,
            });
        }
        let from = sweep.way[i + 1] - leg.along * tangent(corner);
        let before = Station {
            origin: from,
            u: leg.u,
            v: leg.v,
        };
        let center = from + inward * bend;
        let n = chords((bend + reach(-inward)).max(bend), corner.angle, sag_mm).max(2);
        let step = corner.angle / n as f64;
        stations.extend((0..=n).map(|k| before.turned(center, corner.axis, step * k as f64)));
    }
    for (i, leg) in legs.iter().enumerate() {
        let at_start = if i > 0 { tangent(&corners[i - 1]) } else { 0.0 };
        let needs = at_start + corners.get(i).map_or(0.0, tangent);
        if needs > leg.length + SAME_POINT_MM {
            return Err(ShapeFault::LegTooShort {
                leg: i + 1,
                length: leg.length,
                needs,
                bent: true,
            });
        }
    }
    stations.push(end);
    stations.dedup_by(|b, a| a.origin.distance(b.origin) < SAME_POINT_MM);
    Ok(stations)
}

/// The stations of a way with mitred corners.
fn mitred(
    sweep: &Sweep,
    legs: &[Leg],
    corners: &[Corner],
    rings: &[Vec<Vec2>],
) -> Result<Vec<Station>, ShapeFault> {
    let (start, end) = ends(sweep, legs);
    let mut stations = vec![start];
    // The leg that ends at each station after the first.
    let mut leg_of = Vec::with_capacity(legs.len());
    for (i, _) in corners.iter().enumerate().filter(|(_, c)| c.angle > 0.0) {
        let leg = legs[i];
        let normal = (leg.along + legs[i + 1].along).normalize();
        let slanted = |axis: Vec3| axis - leg.along * (axis.dot(normal) / leg.along.dot(normal));
        stations.push(Station {
            origin: sweep.way[i + 1],
            u: slanted(leg.u),
            v: slanted(leg.v),
        });
        leg_of.push(i);
    }
    stations.push(end);
    leg_of.push(legs.len() - 1);
    for (pair, &i) in stations.windows(2).zip(&leg_of) {
        let ahead = |p: &Vec2| (pair[1].point(*p) - pair[0].point(*p)).dot(legs[i].along);
        let shortest = rings
            .iter()
            .flatten()
            .map(ahead)
            .fold(f64::INFINITY, f64::min);
        if shortest < SAME_POINT_MM {
            let length = legs[i].length;
            let needs = length - shortest;
            return Err(ShapeFault::LegTooShort {
                leg: i + 1,
                length,
                needs,
                bent: false,
            });
        }
    }
    Ok(stations)
}

/// Adds stations along straight runs, so that no sliver goes their whole length.
fn cut_legs(stations: &[Station]) -> Vec<Station> {
    let mut cut = vec![stations[0]];
    for pair in stations.windows(2) {
        let [from, to] = [pair[0], pair[1]];
        let n = cuts(from.origin.distance(to.origin));
        cut.extend((1..=n).map(|k| {
            let t = k as f64 / n as f64;
            let between = |a: Vec3, b: Vec3| if k == n { b } else { a + (b - a) * t };
            Station {
                origin: between(from.origin, to.origin),
                u: between(from.u, to.u),
                v: between(from.v, to.v),
            }
        }));
    }
    cut
}

/// Joins the stations' rings and closes both ends.
fn mesh(rings: &[Vec<Vec2>], stations: &[Station], flip_u: bool) -> Result<Shell, ShapeFault> {
    let inner = grid(rings);
    let cap = fill(rings, &inner, &[])?;
    let rim: Vec<Vec2> = rings.iter().flatten().copied().collect();
    let mut shell = Shell::default();
    for station in stations {
        shell.points.extend(rim.iter().map(|p| station.point(*p)));
    }
    let n = rim.len() as u32;
    for k in 0..stations.len() as u32 - 1 {
        let mut first = k * n;
        for ring in rings {
            let m = ring.len() as u32;
            for i in 0..m {
                let (a, b) = (first + i, first + (i + 1) % m);
                shell.push_quad([a, b, b + n, a + n], Skin::Side);
            }
            first += m;
        }
    }
    for (station, last, skin) in [
        (0, false, Skin::Foot),
        (stations.len() - 1, true, Skin::Top),
    ] {
        let extra = shell.points.len() as u32;
        shell
            .points
            .extend(inner.iter().map(|p| stations[station].point(*p)));
        let index = |i: u32| {
            if i < n {
                station as u32 * n + i
            } else {
                extra + i - n
            }
        };
        for [a, b, c] in cap.iter().map(|t| t.map(index)) {
            shell.push(if last { [a, b, c] } else { [a, c, b] }, skin);
        }
    }
    if !flip_u {
        // u, v and the way make a left-handed frame.
        shell.turn_over();
    }
    Ok(shell)
}

/// Checks that no two legs pass through each other: where two legs pass side by side, the sections along the
/// shortest line between them must have room.
fn check_passing(sweep: &Sweep, legs: &[Leg], rings: &[Vec<Vec2>]) -> Result<(), ShapeFault> {
    let reach = |leg: &Leg, way: Vec3| {
        let over = |p: &Vec2| (leg.u * p.x + leg.v * p.y).dot(way);
        rings
            .iter()
            .flatten()
            .map(over)
            .fold(f64::NEG_INFINITY, f64::max)
    };
    for i in 0..legs.len() {
        for j in i + 2..legs.len() {
            let (a, b) = (legs[i], legs[j]);
            let Some(between) = shortest(sweep.way[i], &a, sweep.way[j], &b) else {
                continue;
            };
            let length = between.length();
            let way = between.normalize_or(a.along.cross(b.along).normalize_or(a.u));
            if length < reach(&a, way) + reach(&b, -way) {
                return Err(ShapeFault::MeetsItself {
                    legs: (i + 1, j + 1),
                });
            }
        }
    }
    Ok(())
}

/// The shortest line from one leg to another where both pass it inside their length.
fn shortest(from_a: Vec3, a: &Leg, from_b: Vec3, b: &Leg) -> Option<Vec3> {
    let gap = from_b - from_a;
    let cos = a.along.dot(b.along);
    let square = 1.0 - cos * cos;
    let (on_a, on_b) = (gap.dot(a.along), gap.dot(b.along));
    if square < 1e-9 {
        // Parallel: where they lie side by side.
        let far = on_a + b.length * cos;
        let side_by_side = on_a.min(far) < a.length && on_a.max(far) > 0.0;
        return side_by_side.then_some(gap - a.along * on_a);
    }
    let s = (on_a - cos * on_b) / square;
    let t = (cos * on_a - on_b) / square;
    let inside = (0.0..=a.length).contains(&s) && (0.0..=b.length).contains(&t);
    inside.then(|| gap + b.along * t - a.along * s)
}
