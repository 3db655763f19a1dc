//! Upright bodies over an outline: slabs, bosses, pockets, flanges, bores.
//!
//! Each level of the [`Profile`] is the base outline offset by its distance, never one chained from another, and all
//! levels are sampled together. A wall that came from a triangulation is then held against the true distance to the
//! outline, at the middles of its triangles and edges; where it strays beyond what the profile's chords leave of
//! the facet, a level is put between.
//! A full circle needs none of this: its levels are circles.

use super::lathe::{around, circle, facets};
use super::profile::{ARC_SHARE, Level, PROFILE_SHARE, Profile};
use super::shape_fault::ShapeFault;
use super::shell::{Shell, Skin};
use super::stack::{Layered, Rings, Section, layered};
use super::triangulate::{Pitch, divided, fill, grid};
use crate::drawing::body::{Act, Band};
use crate::drawing::outline::{Outline, OutlineError, sample_levels};
use crate::measure::{SAME_POINT_MM, Vec2, Vec3};

/// How often walls are halved at most; each time halves the stray at least.
const ROUNDS: usize = 10;

/// Levels whose distances differ by less than this are one offset (mm).
const SAME_OFFSET_MM: f64 = 1e-9;

/// How much an offset is moved where its rims touch, as a share of the facet.
const NUDGE: f64 = 0.02;

/// Builds a band in its own frame.
///
/// # Errors
/// Where edges don't fit, the top vanishes, or the outline crosses itself.
pub(super) fn band(band: &Band, act: Act, facet_mm: f64) -> Result<Shell, ShapeFault> {
    let profile = Profile::new(band, act)?;
    let levels = profile.levels(facet_mm);
    if let Some((center, radius)) = band.outline.as_disc() {
        return round(center, radius, &levels, &profile, facet_mm * ARC_SHARE);
    }
    let no_kinks = |rings: Rings| (rings, Vec::new());
    Ok(general(&band.outline, levels, &profile, facet_mm, &no_kinks)?.shell)
}

/// What is done to the sampled rings of each level: points added; and the creases that a cap must keep.
pub(super) type Kinks<'a> = dyn Fn(Rings) -> (Rings, Vec<(u32, u32)>) + 'a;

/// Builds a band over any outline, adding levels until its walls are true.
pub(super) fn general(
    base: &Outline,
    mut levels: Vec<Level>,
    profile: &Profile<'_>,
    facet_mm: f64,
    kinks: &Kinks<'_>,
) -> Result<Layered, ShapeFault> {
    let mut offsets = Offsets {
        base,
        made: Vec::new(),
    };
    for round in 0..=ROUNDS {
        for level in &levels {
            offsets.add(level.d, profile)?;
        }
        let made = offsets.joined(&levels, profile, facet_mm, kinks)?;
        if round == ROUNDS {
            return Ok(made);
        }
        let straying = straying(&made, &levels, base, facet_mm);
        if straying.is_empty() {
            return Ok(made);
        }
        for k in straying.into_iter().rev() {
            let (a, b) = (levels[k], levels[k + 1]);
            let middle = Level {
                z: (a.z + b.z) * 0.5,
                d: (a.d + b.d) * 0.5,
                skin: a.skin,
            };
            levels.insert(k + 1, middle);
        }
    }
    Err(ShapeFault::NotFinite)
}

/// The offsets of one outline made so far.
struct Offsets<'a> {
    base: &'a Outline,
    made: Vec<(f64, Outline)>,
}

impl Offsets<'_> {
    fn place(&self, d: f64) -> Option<usize> {
        self.made
            .iter()
            .position(|m| (m.0 - d).abs() < SAME_OFFSET_MM)
    }

    fn add(&mut self, d: f64, profile: &Profile<'_>) -> Result<(), ShapeFault> {
        if self.place(d).is_some() {
            return Ok(());
        }
        let offset = if d.abs() < SAME_OFFSET_MM {
            Ok(self.base.clone())
        } else {
            self.base.grown(d)
        };
        let offset = offset.map_err(|error| match error {
            OutlineError::Vanishes { by, fits } => profile.eaten(by, fits),
            other => other.into(),
        })?;
        self.made.push((d, offset));
        Ok(())
    }

    /// The levels joined: as sampled, else with more points, else with each offset a trifle less or more (where
    /// rims of one level touch at a point).
    fn joined(
        &mut self,
        levels: &[Level],
        profile: &Profile<'_>,
        facet_mm: f64,
        kinks: &Kinks<'_>,
    ) -> Result<Layered, ShapeFault> {
        let sag = facet_mm * ARC_SHARE;
        let plain = self.layered(levels, sag, false, kinks);
        let fault = match plain.or_else(|_| self.layered(levels, sag, true, kinks)) {
            Err(fault) => fault,
            made => return made,
        };
        for nudge in [-NUDGE, NUDGE].map(|n| n * facet_mm) {
            let nudged: Vec<Level> = levels
                .iter()
                .map(|l| Level {
                    d: if l.d.abs() < SAME_OFFSET_MM {
                        l.d
                    } else {
                        l.d + nudge
                    },
                    ..*l
                })
                .collect();
            if nudged.iter().any(|l| self.add(l.d, profile).is_err()) {
                continue;
            }
            if let Ok(made) = self.layered(&nudged, sag, true, kinks) {
                return Ok(made);
            }
        }
        Err(fault)
    }

    fn layered(
        &self,
        levels: &[Level],
        sag_mm: f64,
        all_ends: bool,
        kinks: &Kinks<'_>,
    ) -> Result<Layered, ShapeFault> {
        let outlines: Vec<Outline> = self.made.iter().map(|m| m.1.clone()).collect();
        let sampled: Vec<(Rings, Vec<(u32, u32)>)> = sample_levels(&outlines, sag_mm, all_ends)
            .into_iter()
            .map(|rings| kinks(rings.iter().map(|r| divided(r, Pitch::GRID)).collect()))
            .collect();
        let section = |level: &Level| Section {
            z: level.z,
            rings: self
                .place(level.d)
                .map(|i| sampled[i].0.clone())
                .unwrap_or_default(),
            skin: level.skin,
        };
        let top = levels.last().and_then(|l| self.place(l.d));
        let creases = top.map(|i| sampled[i].1.as_slice()).unwrap_or_default();
        Ok(layered(levels.iter().map(section).collect(), creases)?)
    }
}

/// The walls that stand off their true distance from the outline by more than the facet.
fn straying(made: &Layered, levels: &[Level], base: &Outline, facet_mm: f64) -> Vec<usize> {
    let strays = |k: &usize| {
        let (a, b) = (levels[*k], levels[*k + 1]);
        let (triangles, by_plan) = &made.walls[*k];
        let (rise, run) = (b.z - a.z, b.d - a.d);
        if !by_plan || run.abs() < facet_mm * 0.25 {
            return false;
        }
        // Square to the wall, not level.
        let square = rise / rise.hypot(run);
        let off = |p: Vec3| {
            let wanted = a.d + run * (p.z - a.z) / rise;
            (base.distance(p.truncate()) - wanted).abs() * square > facet_mm * (1.0 - PROFILE_SHARE)
        };
        made.shell.triangles[triangles.clone()].iter().any(|t| {
            let [p, q, r] = t.map(|i| made.shell.points[i as usize]);
            let slopes = |a: Vec3, b: Vec3| (a.z - b.z).abs() > 1e-9;
            off((p + q + r) / 3.0)
                || [(p, q), (q, r), (r, p)]
                    .iter()
                    .any(|&(a, b)| slopes(a, b) && off((a + b) * 0.5))
        })
    };
    (0..levels.len() - 1).filter(strays).collect()
}

/// A band over a full circle. Its free end may come to a point.
fn round(
    center: Vec2,
    radius: f64,
    levels: &[Level],
    profile: &Profile<'_>,
    sag_mm: f64,
) -> Result<Shell, ShapeFault> {
    let last = levels.len() - 1;
    for (k, level) in levels.iter().enumerate() {
        let left = radius + level.d;
        if left < -SAME_POINT_MM || (left < SAME_POINT_MM && k != last) {
            return Err(profile.eaten(-level.d, radius));
        }
    }
    let widest = levels.iter().fold(0.0_f64, |a, l| a.max(radius + l.d));
    let circle = circle(facets(widest, sag_mm));
    let n = circle.len() as u32;
    let mut shell = Shell::default();
    let ring = |r: f64| -> Vec<Vec2> { circle.iter().map(|c| center + *c * r).collect() };
    for (k, level) in levels.iter().enumerate() {
        let r = radius + level.d;
        let first = shell.points.len() as u32;
        let point = k == last && r < SAME_POINT_MM;
        if point {
            shell.add_point(center.extend(level.z));
        } else {
            shell
                .points
                .extend(ring(r).into_iter().map(|p| p.extend(level.z)));
        }
        let Some(below) = k.checked_sub(1).map(|b| (first - n, levels[b].skin)) else {
            continue;
        };
        for (a, b) in around(n) {
            if point {
                shell.push([below.0 + a, below.0 + b, first], below.1);
            } else {
                shell.push_quad([below.0 + a, below.0 + b, first + b, first + a], below.1);
            }
        }
        if k == last && !point {
            cap(&mut shell, &[ring(r)], first, level.z, Skin::Top)?;
        }
    }
    let (r, z) = (radius + levels[0].d, levels[0].z);
    cap(&mut shell, &[ring(r)], 0, z, Skin::Foot)?;
    Ok(shell)
}

/// Closes an end whose ring starts at a point index.
fn cap(
    shell: &mut Shell,
    rings: &[Vec<Vec2>],
    first: u32,
    z: f64,
    skin: Skin,
) -> Result<(), ShapeFault> {
    let inner = grid(rings);
    let extra = shell.points.len() as u32;
    let n = rings[0].len() as u32;
    shell.points.extend(inner.iter().map(|p| p.extend(z)));
    for t in fill(rings, &inner, &[])? {
        let [a, b, c] = t.map(|i| if i < n { first + i } else { extra + i - n });
        shell.push(
            if skin == Skin::Top {
                [a, b, c]
            } else {
                [a, c, b]
            },
            skin,
        );
    }
    Ok(())
}
