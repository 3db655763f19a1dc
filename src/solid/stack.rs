//! Sections one over another, joined by walls and closed by caps: the mesh of bands, ribs and stacks.
//!
//! Sections may share runs of their rims, and cross; where they do, the wall stands upright. Equal heights
//! make a flat ledge. Caps keep away from the flat triangles that a sloping first wall can have.

use std::ops::Range;

use super::profile::ARC_SHARE;
use super::shape_fault::ShapeFault;
use super::shell::{Shell, Skin};
use super::triangulate::{Conflict, Pitch, divided, fill, grid};
use super::wall::{Plan, Wall};
use crate::drawing::outline::{Outline, sample_levels};
use crate::measure::{SAME_POINT_MM, Vec2, Vec3};

/// Heights closer than this are one height (mm).
pub(super) const SAME_HEIGHT_MM: f64 = 1e-9;

/// How high a rim is put under a sloping first wall, or over a last one, whose plan has flat ears (mm).
const RIM_MM: f64 = 0.002;

/// The rings of one section.
pub(super) type Rings = Vec<Vec<Vec2>>;

/// A section at its height.
#[derive(Debug, Clone)]
pub(super) struct Section {
    /// Height.
    pub z: f64,
    /// Its rings: outer ones counter-clockwise, holes clockwise.
    pub rings: Rings,
    /// What the wall up to the next section is.
    pub skin: Skin,
}

/// A closed body in its own frame, and which triangles make each wall.
#[derive(Debug, Default)]
pub(super) struct Layered {
    /// The mesh.
    pub shell: Shell,
    /// For each pair of neighbouring sections: its triangles, and whether they came from a triangulation.
    pub walls: Vec<(Range<usize>, bool)>,
}

/// Builds a stack in its own frame, its long runs cut at a pitch.
///
/// # Errors
/// Where the heights don't rise, or an outline crosses itself.
pub(super) fn stack(
    levels: &[(f64, Outline)],
    facet_mm: f64,
    pitch: Pitch,
) -> Result<Shell, ShapeFault> {
    if let Some(pair) = levels.windows(2).find(|w| w[1].0 < w[0].0 - SAME_HEIGHT_MM) {
        return Err(ShapeFault::NoHeight {
            height: pair[1].0 - pair[0].0,
        });
    }
    let height = levels.last().map_or(0.0, |l| l.0) - levels.first().map_or(0.0, |l| l.0);
    if height < SAME_POINT_MM {
        return Err(ShapeFault::NoHeight { height });
    }
    let outlines: Vec<Outline> = levels.iter().map(|l| l.1.clone()).collect();
    let build = |all_ends: bool| -> Result<Shell, ShapeFault> {
        let sampled = sample_levels(&outlines, facet_mm * ARC_SHARE, all_ends);
        let mut sections: Vec<Section> = levels
            .iter()
            .zip(sampled)
            .map(|(level, rings)| Section {
                z: level.0,
                rings: rings.iter().map(|r| divided(r, pitch)).collect(),
                skin: Skin::Side,
            })
            .collect();
        share_points(&mut sections);
        Ok(layered(sections, &[])?.shell)
    };
    build(false).or_else(|_| build(true))
}

/// Joins sections, lowest first. `creases` are runs that the top must keep, by the point's place in its section.
///
/// # Errors
/// [`Conflict`] where rings cross or touch themselves.
pub(super) fn layered(
    mut sections: Vec<Section>,
    creases: &[(u32, u32)],
) -> Result<Layered, Conflict> {
    // Which walls are rims put in here, and so no walls of the caller's.
    let mut is_rim = vec![false; sections.len() - 1];
    loop {
        match joined(&sections, creases)? {
            Joined::Done(mut layered) => {
                let mut rims = is_rim.iter();
                layered.walls.retain(|_| rims.next() == Some(&false));
                return Ok(layered);
            }
            Joined::BackToBack(k) => {
                let section = sections[k].clone();
                let below = k.checked_sub(1).map(|b| section.z - sections[b].z);
                let above = sections.get(k + 1).map(|s| s.z - section.z);
                match (below, above) {
                    (Some(room), _) if room > SAME_HEIGHT_MM => {
                        let (z, skin) = (section.z - RIM_MM.min(room * 0.5), sections[k - 1].skin);
                        sections.insert(k, Section { z, skin, ..section });
                    }
                    (_, Some(room)) if room > SAME_HEIGHT_MM => {
                        let z = section.z + RIM_MM.min(room * 0.5);
                        sections.insert(k + 1, Section { z, ..section });
                    }
                    _ => {
                        return Err(Conflict {
                            near: section.rings[0][0],
                        });
                    }
                }
                is_rim.insert(k, true);
            }
        }
    }
}

/// What joining came to: a body, or flat triangles back to back at a section.
enum Joined {
    Done(Layered),
    BackToBack(usize),
}

/// Which ways a section's flat triangles look, of the wall under it or over it. Those that look down from
/// inside the section lie on the back of those that look up inside it, and likewise outside.
#[derive(Debug, Clone, Copy, Default)]
struct Flats {
    up: bool,
    down: bool,
}

fn joined(sections: &[Section], creases: &[(u32, u32)]) -> Result<Joined, Conflict> {
    let mut made = Layered::default();
    let mut indices: Vec<Vec<Vec<u32>>> = Vec::with_capacity(sections.len());
    for (k, section) in sections.iter().enumerate() {
        let below = k.checked_sub(1).map(|b| (&sections[b], &indices[b]));
        let ledge = below.filter(|(s, _)| section.z - s.z < SAME_HEIGHT_MM);
        indices.push(add_section(&mut made.shell, section, ledge));
    }
    // The foot's cap looks down.
    let mut under = Flats {
        up: false,
        down: true,
    };
    for k in 0..sections.len() - 1 {
        let wall = Wall {
            low: &sections[k],
            high: &sections[k + 1],
            low_ids: &indices[k],
            high_ids: &indices[k + 1],
        };
        let first = made.shell.triangles.len();
        let (triangles, by_plan) = match wall.quads().or_else(|| wall.strip()) {
            Some(triangles) => (triangles, false),
            None => (wall.triangulated()?, true),
        };
        let flats = |z: f64| match by_plan {
            true => flats(&triangles, &made.shell.points, z),
            false => Flats::default(),
        };
        let over = flats(wall.low.z);
        if (under.down && over.up) || (under.up && over.down) {
            return Ok(Joined::BackToBack(k));
        }
        under = flats(wall.high.z);
        for t in triangles {
            made.shell.push(t, wall.low.skin);
        }
        made.walls
            .push((first..made.shell.triangles.len(), by_plan));
    }
    let last = sections.len() - 1;
    // The top's cap looks up.
    if under.down {
        return Ok(Joined::BackToBack(last));
    }
    cap(&mut made.shell, &sections[0], &indices[0], &[], Skin::Foot)?;
    cap(
        &mut made.shell,
        &sections[last],
        &indices[last],
        creases,
        Skin::Top,
    )?;
    Ok(Joined::Done(made))
}

/// Which ways the triangles that lie flat at a height look.
fn flats(triangles: &[[u32; 3]], points: &[Vec3], z: f64) -> Flats {
    let mut flats = Flats::default();
    for t in triangles {
        let [a, b, c] = t.map(|i| points[i as usize]);
        if [a, b, c].iter().all(|p| (p.z - z).abs() < SAME_HEIGHT_MM) {
            let up = (b - a).truncate().perp_dot((c - a).truncate()) > 0.0;
            flats.up |= up;
            flats.down |= !up;
        }
    }
    flats
}

/// Adds a section's points; those of a ledge that lie on the section below it are that one's.
fn add_section(
    shell: &mut Shell,
    section: &Section,
    ledge: Option<(&Section, &Vec<Vec<u32>>)>,
) -> Vec<Vec<u32>> {
    let first = shell.points.len() as u32;
    let mut own = Vec::with_capacity(section.rings.len());
    for ring in &section.rings {
        let from = shell.points.len() as u32;
        shell
            .points
            .extend(ring.iter().map(|p| p.extend(section.z)));
        own.push((from..from + ring.len() as u32).collect::<Vec<u32>>());
    }
    if let Some((below, below_ids)) = ledge {
        let plan = Plan::of(&below.rings, &section.rings);
        let below_ids: Vec<u32> = below_ids.iter().flatten().copied().collect();
        for id in own.iter_mut().flatten() {
            if let Some(low) = plan.low_of[plan.of_high[(*id - first) as usize] as usize] {
                *id = below_ids[low as usize];
            }
        }
    }
    own
}

/// Closes an end.
fn cap(
    shell: &mut Shell,
    section: &Section,
    ids: &[Vec<u32>],
    creases: &[(u32, u32)],
    skin: Skin,
) -> Result<(), Conflict> {
    let inner = grid(&section.rings);
    let mut index: Vec<u32> = ids.iter().flatten().copied().collect();
    for t in fill(&section.rings, &inner, creases)? {
        if index.len() == section.rings.iter().map(Vec::len).sum::<usize>() {
            index.extend(inner.iter().map(|p| shell.add_point(p.extend(section.z))));
        }
        let [a, b, c] = t.map(|i| index[i as usize]);
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

/// Adds to each section the points where its neighbours' rims lie on its own or cross it.
fn share_points(sections: &mut [Section]) {
    for _ in 0..2 * sections.len() {
        let mut changed = false;
        for k in 1..sections.len() {
            let (low, high) = sections.split_at_mut(k);
            changed |= share_between(&mut low[k - 1].rings, &mut high[0].rings);
        }
        if !changed {
            return;
        }
    }
}

/// Adds to two sections each other's points on their rims, and the points where their rims cross.
fn share_between(a: &mut Rings, b: &mut Rings) -> bool {
    let mut crossings = Vec::new();
    for (p, q) in segments(a) {
        let (low, high) = (p.min(q) - SAME_POINT_MM, p.max(q) + SAME_POINT_MM);
        for (r, s) in segments(b) {
            if r.min(s).cmpgt(high).any() || r.max(s).cmplt(low).any() {
                continue;
            }
            let side = |a: Vec2, b: Vec2, c: Vec2| (b - a).perp_dot(c - a) / (b - a).length();
            let (sr, ss, sp, sq) = (side(p, q, r), side(p, q, s), side(r, s, p), side(r, s, q));
            let clear = |x: f64, y: f64| x * y < 0.0 && x.abs().min(y.abs()) > SAME_POINT_MM;
            if clear(sr, ss) && clear(sp, sq) {
                crossings.push(p + (q - p) * (sp / (sp - sq)));
            }
        }
    }
    let (of_a, of_b): (Vec<Vec2>, Vec<Vec2>) = (
        a.iter().flatten().copied().collect(),
        b.iter().flatten().copied().collect(),
    );
    let into_a = add_points(a, of_b.iter().chain(&crossings));
    let into_b = add_points(b, of_a.iter().chain(&crossings));
    into_a || into_b
}

/// Puts the points that lie on a ring's run, away from its ends, into the ring.
fn add_points<'a>(rings: &mut Rings, points: impl Iterator<Item = &'a Vec2> + Clone) -> bool {
    let mut changed = false;
    for ring in rings {
        let mut grown = Vec::with_capacity(ring.len());
        for (i, &p) in ring.iter().enumerate() {
            grown.push(p);
            let run = ring[(i + 1) % ring.len()] - p;
            let on_run = |x: &Vec2| {
                let t = (*x - p).dot(run) / run.length_squared();
                let near = (p + run * t).distance(*x) < SAME_POINT_MM;
                let within =
                    t * run.length() > SAME_POINT_MM && (1.0 - t) * run.length() > SAME_POINT_MM;
                (near && within).then_some((t, *x))
            };
            let mut on: Vec<(f64, Vec2)> = points.clone().filter_map(on_run).collect();
            on.sort_by(|a, b| a.0.total_cmp(&b.0));
            on.dedup_by(|b, a| a.1.distance(b.1) < SAME_POINT_MM);
            changed |= !on.is_empty();
            grown.extend(on.into_iter().map(|x| x.1));
        }
        *ring = grown;
    }
    changed
}

/// The straight runs of all rings.
fn segments(rings: &Rings) -> impl Iterator<Item = (Vec2, Vec2)> + '_ {
    rings
        .iter()
        .flat_map(|r| (0..r.len()).map(move |i| (r[i], r[(i + 1) % r.len()])))
}
