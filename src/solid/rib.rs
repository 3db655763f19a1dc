//! Bars along a path whose height changes along it: ribs and gussets.
//!
//! A band over the path's stroke, as high as its highest point, then lowered: the foot zone stays, the zone of the
//! free edge goes down whole, the wall between shrinks in proportion. Along a leg the height changes evenly
//! from mitre plane to mitre plane; beyond the path's ends it runs level. Where a fillet and an edge no longer fit, both are squeezed; a height of 0 goes on
//! falling, under the foot.

use super::band::general;
use super::profile::Profile;
use super::shape_fault::ShapeFault;
use super::shell::Shell;
use super::stack::Rings;
use crate::drawing::body::{Act, Band, Rib};
use crate::drawing::outline::Outline;
use crate::measure::{SAME_POINT_MM, Vec2};

/// The least straight wall left between a fillet and an edge before both are squeezed (mm).
const LEAST_WALL_MM: f64 = 0.02;

/// Builds a rib in its own frame.
///
/// # Errors
/// As a band; also where the path has no length or there is no height.
pub(super) fn rib(rib: &Rib, act: Act, facet_mm: f64) -> Result<Shell, ShapeFault> {
    let highest = rib
        .heights
        .iter()
        .copied()
        .fold(f64::NEG_INFINITY, f64::max);
    if !rib.heights.iter().all(|h| h.is_finite()) || !rib.path.iter().all(|p| p.is_finite()) {
        return Err(ShapeFault::NotFinite);
    }
    if rib.heights.len() != rib.path.len() {
        return Err(ShapeFault::PathTooShort {
            point: rib.heights.len().min(rib.path.len()),
        });
    }
    if let Some(lowest) = rib.heights.iter().find(|h| **h < -SAME_POINT_MM) {
        return Err(ShapeFault::NoHeight { height: *lowest });
    }
    let crest = Crest::new(rib)?;
    let band = Band {
        outline: Outline::stroke(&rib.path, rib.thick)?,
        holds: rib.z0 + highest,
        z0: rib.z0,
        z1: rib.z0 + highest,
        draft_deg: rib.draft_deg,
        flare: rib.flare,
        edge: rib.edge,
        below: rib.below,
        above: 0.0,
    };
    let profile = Profile::new(&band, act)?;
    let levels = profile.levels(facet_mm);
    let level = rib
        .heights
        .iter()
        .all(|h| (h - highest).abs() < SAME_POINT_MM);
    let kinks = |rings: Rings| {
        if level {
            (rings, Vec::new())
        } else {
            crest.kinked(rings)
        }
    };
    let mut shell = general(&band.outline, levels, &profile, facet_mm, &kinks)?.shell;
    if !level {
        let lower = Lowering::new(rib, highest, profile.straight());
        for p in &mut shell.points {
            p.z = lower.map(p.z, crest.height(p.truncate()));
        }
    }
    Ok(shell)
}

/// The line in plan at a path point across which the height's slope changes.
#[derive(Debug, Clone, Copy)]
struct Mitre {
    at: Vec2,
    /// Along the path, halving its turn.
    normal: Vec2,
}

/// The height along a path.
struct Crest<'a> {
    rib: &'a Rib,
    /// One a path point.
    mitres: Vec<Mitre>,
}

impl<'a> Crest<'a> {
    fn new(rib: &'a Rib) -> Result<Crest<'a>, ShapeFault> {
        let path = &rib.path;
        if path.len() < 2 {
            return Err(ShapeFault::PathTooShort { point: path.len() });
        }
        let mut legs = Vec::with_capacity(path.len() - 1);
        for (i, pair) in path.windows(2).enumerate() {
            let leg = (pair[1] - pair[0]).try_normalize();
            let long = pair[1].distance(pair[0]) > SAME_POINT_MM;
            legs.push(
                leg.filter(|_| long)
                    .ok_or(ShapeFault::PathTooShort { point: i + 2 })?,
            );
        }
        let mut mitres = Vec::with_capacity(path.len());
        for (i, &at) in path.iter().enumerate() {
            let before = legs[i.saturating_sub(1)];
            let after = legs[i.min(legs.len() - 1)];
            let normal = (before + after).try_normalize();
            let normal = normal.filter(|n| n.dot(before) > 1e-3);
            mitres.push(Mitre {
                at,
                normal: normal.ok_or(ShapeFault::TurnsBack { point: i + 1 })?,
            });
        }
        Ok(Crest { rib, mitres })
    }

    /// The leg nearest to a place.
    fn leg(&self, p: Vec2) -> usize {
        let far = |i: usize| {
            let (a, b) = (self.rib.path[i], self.rib.path[i + 1]);
            let t = ((p - a).dot(b - a) / (b - a).length_squared()).clamp(0.0, 1.0);
            (a + (b - a) * t).distance_squared(p)
        };
        let legs = 0..self.rib.path.len() - 1;
        legs.min_by(|&i, &j| far(i).total_cmp(&far(j))).unwrap_or(0)
    }

    /// The height over the foot at a place.
    fn height(&self, p: Vec2) -> f64 {
        let i = self.leg(p);
        let (from, to) = (self.mitres[i], self.mitres[i + 1]);
        let along = (to.at - from.at).normalize();
        // How far along the leg's direction the planes at its ends are.
        let behind = (p - from.at).dot(from.normal) / along.dot(from.normal);
        let ahead = (to.at - p).dot(to.normal) / along.dot(to.normal);
        let (low, high) = (self.rib.heights[i], self.rib.heights[i + 1]);
        let length = behind + ahead;
        let t = if length.abs() < SAME_POINT_MM {
            0.5
        } else {
            behind / length
        };
        // Beyond an end it runs level, but goes on falling where it has come down to nothing.
        let sinks = |h: f64, end: bool| end && h < LEAST_WALL_MM;
        let before = if sinks(low, i == 0) { t } else { t.max(0.0) };
        let t = if sinks(high, i + 2 == self.mitres.len()) {
            before
        } else {
            before.min(1.0)
        };
        // Never above the ends.
        (low + (high - low) * t).min(low.max(high))
    }

    /// The rings with points where they pass a mitre, and for each mitre the crease between the two.
    fn kinked(&self, rings: Rings) -> (Rings, Vec<(u32, u32)>) {
        let mut passes: Vec<Vec<(f64, u32)>> = vec![Vec::new(); self.mitres.len()];
        let mut count = 0;
        let mut note = |mitre: usize, p: Vec2, index: u32| {
            let across = (p - self.mitres[mitre].at).perp_dot(self.mitres[mitre].normal);
            passes[mitre].push((across, index));
        };
        let kinked: Rings = rings
            .iter()
            .map(|ring| {
                let mut grown = Vec::with_capacity(ring.len());
                for (i, &p) in ring.iter().enumerate() {
                    let q = ring[(i + 1) % ring.len()];
                    grown.push(p);
                    for (m, _, x) in self.passes(p, q) {
                        if x.distance(p) < SAME_POINT_MM * 10.0 {
                            note(m, p, count + grown.len() as u32 - 1);
                        } else if x.distance(q) >= SAME_POINT_MM * 10.0 {
                            grown.push(x);
                            note(m, x, count + grown.len() as u32 - 1);
                        }
                    }
                }
                count += grown.len() as u32;
                grown
            })
            .collect();
        let nearest = |side: &dyn Fn(f64) -> bool, on: &[(f64, u32)]| {
            let mine = on.iter().filter(|p| side(p.0));
            mine.min_by(|a, b| a.0.abs().total_cmp(&b.0.abs()))
                .map(|p| p.1)
        };
        let crease =
            |on: &Vec<(f64, u32)>| Some((nearest(&|x| x < 0.0, on)?, nearest(&|x| x > 0.0, on)?));
        (kinked, passes.iter().filter_map(crease).collect())
    }

    /// Where a run passes the mitres beside its own legs: the mitre, how far along the run, the place.
    fn passes(&self, p: Vec2, q: Vec2) -> Vec<(usize, f64, Vec2)> {
        let mut found: Vec<(usize, f64, Vec2)> = Vec::new();
        for (m, mitre) in self.mitres.iter().enumerate() {
            let (a, b) = (
                (p - mitre.at).dot(mitre.normal),
                (q - mitre.at).dot(mitre.normal),
            );
            // The end counts with the next run.
            if (a < 0.0) == (b < 0.0) && a.abs() > SAME_POINT_MM {
                continue;
            }
            let t = if a == b {
                0.0
            } else {
                (a / (a - b)).clamp(0.0, 1.0)
            };
            let x = p + (q - p) * t;
            let leg = self.leg(x);
            if leg == m || leg + 1 == m {
                found.push((m, t, x));
            }
        }
        found.sort_by(|a, b| a.1.total_cmp(&b.1));
        found
    }
}

/// How a level of the full height comes down where the height is less.
struct Lowering {
    z0: f64,
    highest: f64,
    /// The straight wall's ends.
    low: f64,
    high: f64,
    /// The least height at which fillet and edge keep their size.
    least: f64,
    /// Under this nothing moves.
    floor: f64,
}

impl Lowering {
    fn new(rib: &Rib, highest: f64, (low, high): (f64, f64)) -> Lowering {
        let z1 = rib.z0 + highest;
        let least = ((low - rib.z0) + (z1 - high) + LEAST_WALL_MM).min(highest);
        Lowering {
            z0: rib.z0,
            highest,
            low,
            high,
            least,
            floor: rib.z0 - rib.below * 0.8,
        }
    }

    fn map(&self, z: f64, height: f64) -> f64 {
        let kept = height.clamp(self.least, self.highest);
        let down = kept - self.highest;
        let z = if z <= self.low + 1e-9 {
            z
        } else if z >= self.high - 1e-9 {
            z + down
        } else {
            z + down * (z - self.low) / (self.high - self.low)
        };
        if height >= self.least || z <= self.floor {
            return z;
        }
        // Squeeze all that stands over the floor.
        let room = self.z0 - self.floor + self.least;
        let left = (self.z0 - self.floor + height).max(room.min(1.0) * 0.05);
        self.floor + (z - self.floor) * left / room
    }
}
