//! A solid that stays sound when its points are rounded to f32, as mesh files hold them.
//!
//! Points are rounded and welded; triangles that collapse go, and so do pairs that lie back to back. Where that leaves
//! bad edges, the solid is mended before rounding: edges shorter than the rounding are contracted as long as the surface
//! keeps its topology (the link condition: the two ends share just the two corners across), and points that still fall
//! together without being one are moved inwards by a few units in the last place. Distinct points on a surface whose
//! edges pair can't make a bad edge, so this ends. Volume changes by no more than the surface times the rounding.

use std::collections::BTreeSet;

use rustc_hash::{FxHashMap, FxHashSet};

use crate::measure::CRUMB_MM3;
use crate::measure::Vec3;
use crate::solid::edges::Edges;
use crate::solid::{Figures, Solid};

/// Edges under this are contracted where a solid needs mending (mm): a few units in the last place of f32 at 500 mm.
const SHORT_MM: f64 = 1e-4;
/// Steps that coordinates come in (mm): those near 0 too keep a distance that mesh readers don't weld away (2^-20).
const GRID_MM: f64 = 1.0 / 1_048_576.0;
/// Rounds of contracting.
const CONTRACT_ROUNDS: usize = 6;
/// Rounds of moving points apart; after half of them all that coincide are moved, not only those on bad edges.
const PART_ROUNDS: usize = 12;

/// A solid that is sound when its points are rounded to f32.
#[derive(Debug, Clone, PartialEq)]
pub struct Settled {
    /// Its points are f32 values.
    pub solid: Solid,
    /// What it measures.
    pub figures: Figures,
    /// Edges that are open, doubled or misoriented all the same; none unless the mending failed.
    pub bad_edges: usize,
}

impl Solid {
    /// The same without surfaces that enclose less than so much (mm³).
    pub(super) fn without_surfaces_under(&self, least_mm3: f64) -> Solid {
        let (of, volumes) = self.surfaces_of();
        if volumes.iter().all(|v| v.abs() >= least_mm3) {
            return self.clone();
        }
        kept(self, |t| volumes[of[t]].abs() >= least_mm3)
    }

    /// The same solid with its points on f32 values, welded, without crumbs, and with sound edges.
    pub fn settled_in_f32(&self) -> Solid {
        self.settled().solid
    }

    /// The same with what it measures.
    pub fn settled(&self) -> Settled {
        let plain = welded(self);
        let edges = Edges::of(&plain.triangles);
        if edges.bad() > 0 {
            return self.mended().measured();
        }
        let (of, volumes) = plain.volumes(&edges);
        if volumes.iter().any(|v| v.abs() < CRUMB_MM3) {
            return kept(&plain, |t| volumes[of[t]].abs() >= CRUMB_MM3).measured();
        }
        Settled {
            figures: plain.figures_by(&edges, &volumes),
            bad_edges: 0,
            solid: plain,
        }
    }

    /// With its figures.
    fn measured(self) -> Settled {
        let edges = Edges::of(&self.triangles);
        let (_, volumes) = self.volumes(&edges);
        Settled {
            figures: self.figures_by(&edges, &volumes),
            bad_edges: edges.bad(),
            solid: self,
        }
    }

    /// The same where plain rounding leaves bad edges.
    fn mended(&self) -> Solid {
        let clean = self.without_surfaces_under(CRUMB_MM3);
        let plain = rounded(&clean);
        if plain.bad_edges() == 0 {
            return plain;
        }
        let mut mended = clean;
        for _ in 0..CONTRACT_ROUNDS {
            if !contract_short(&mut mended) {
                break;
            }
        }
        let mut mended = mended.without_surfaces_under(CRUMB_MM3);
        for point in &mut mended.points {
            *point = in_f32(*point);
        }
        for round in 0..PART_ROUNDS {
            let out = rounded(&mended);
            if out.bad_edges() == 0 {
                return out;
            }
            part_points(&mut mended, round >= PART_ROUNDS / 2);
        }
        rounded(&mended)
    }
}

/// The nearest point whose coordinates are f32 and on the grid.
fn in_f32(p: Vec3) -> Vec3 {
    // Adding zero makes -0 and 0 the same.
    let near = |x: f64| f64::from(((x / GRID_MM).round() * GRID_MM) as f32 + 0.0);
    Vec3::from_array(p.to_array().map(near))
}

/// A settled point in steps of the grid.
fn steps(p: Vec3) -> [i64; 3] {
    p.to_array().map(|x| (x / GRID_MM) as i64)
}

fn bits(p: Vec3) -> [u64; 3] {
    p.to_array().map(f64::to_bits)
}

/// Some of the triangles, and the points that they use.
pub(super) fn kept(solid: &Solid, keep: impl Fn(usize) -> bool) -> Solid {
    let mut number: Vec<Option<u32>> = vec![None; solid.points.len()];
    let mut out = Solid::default();
    for (i, t) in solid.triangles.iter().enumerate().filter(|(i, _)| keep(*i)) {
        out.triangles.push(t.map(|v| {
            *number[v as usize].get_or_insert_with(|| {
                out.points.push(solid.points[v as usize]);
                out.points.len() as u32 - 1
            })
        }));
        out.features.push(solid.features[i]);
    }
    out
}

/// Points rounded and welded; collapsed triangles are gone.
fn welded(solid: &Solid) -> Solid {
    let mut index: FxHashMap<[i64; 3], u32> = FxHashMap::default();
    index.reserve(solid.points.len());
    let mut points = Vec::with_capacity(solid.points.len());
    let number: Vec<u32> = solid
        .points
        .iter()
        .map(|p| {
            let p = in_f32(*p);
            *index.entry(steps(p)).or_insert_with(|| {
                points.push(p);
                points.len() as u32 - 1
            })
        })
        .collect();
    let welded = Solid {
        points,
        triangles: solid
            .triangles
            .iter()
            .map(|t| t.map(|v| number[v as usize]))
            .collect(),
        features: solid.features.clone(),
    };
    let flat = |t: &[u32; 3]| t[0] == t[1] || t[1] == t[2] || t[2] == t[0];
    if welded.triangles.iter().any(flat) {
        return kept(&welded, |i| !flat(&welded.triangles[i]));
    }
    welded
}

/// Points rounded and welded; collapsed triangles and pairs back to back are gone.
fn rounded(solid: &Solid) -> Solid {
    let welded = welded(solid);
    let mut keep = vec![true; welded.triangles.len()];
    drop_back_to_back(&welded.triangles, &mut keep);
    kept(&welded, |i| keep[i])
}

/// Pairs of triangles on the same three corners that look opposite ways are not to be kept.
fn drop_back_to_back(triangles: &[[u32; 3]], keep: &mut [bool]) {
    let sorted = |i: usize| {
        let mut corners = triangles[i];
        corners.sort_unstable();
        corners
    };
    let mut order: Vec<([u32; 3], usize)> = (0..triangles.len()).map(|i| (sorted(i), i)).collect();
    order.sort_unstable();
    for group in order.chunk_by(|a, b| a.0 == b.0).filter(|g| g.len() > 1) {
        let (even, odd): (Vec<usize>, Vec<usize>) = group
            .iter()
            .map(|(_, i)| *i)
            .partition(|&i| from_least(triangles[i])[1] < from_least(triangles[i])[2]);
        for (a, b) in even.into_iter().zip(odd) {
            keep[a] = false;
            keep[b] = false;
        }
    }
}

/// A triangle turned so that its least corner comes first.
fn from_least(t: [u32; 3]) -> [u32; 3] {
    let least = (0..3).min_by_key(|&k| t[k]).unwrap_or(0);
    [t[least], t[(least + 1) % 3], t[(least + 2) % 3]]
}

/// Contracts short edges where the topology allows it; whether there were any.
fn contract_short(solid: &mut Solid) -> bool {
    let mut of: Vec<Vec<usize>> = vec![Vec::new(); solid.points.len()];
    for (i, t) in solid.triangles.iter().enumerate() {
        t.iter().for_each(|&v| of[v as usize].push(i));
    }
    let short = |points: &[Vec3], a: u32, b: u32| {
        points[a as usize].distance(points[b as usize]) < SHORT_MM
    };
    let mut dead = vec![false; solid.triangles.len()];
    let mut any = false;
    for i in 0..solid.triangles.len() {
        for k in 0..3 {
            let t = solid.triangles[i];
            let (a, b) = (t[k], t[(k + 1) % 3]);
            if dead[i] || !short(&solid.points, a, b) || !contractible(solid, &of, a, b) {
                continue;
            }
            any = true;
            for t in std::mem::take(&mut of[b as usize]) {
                let corners = &mut solid.triangles[t];
                if corners.contains(&a) {
                    dead[t] = true;
                    let gone = *corners;
                    for v in gone.into_iter().filter(|&v| v != b) {
                        of[v as usize].retain(|&other| other != t);
                    }
                } else {
                    for v in corners.iter_mut().filter(|v| **v == b) {
                        *v = a;
                    }
                    of[a as usize].push(t);
                }
            }
        }
    }
    *solid = kept(solid, |i| !dead[i]);
    any
}

/// Whether the ends of an edge share just the two corners across it.
fn contractible(solid: &Solid, of: &[Vec<usize>], a: u32, b: u32) -> bool {
    let round = |v: u32| -> BTreeSet<u32> {
        let corners = of[v as usize].iter().flat_map(|&t| solid.triangles[t]);
        corners.filter(|&other| other != v).collect()
    };
    let shared = round(a).intersection(&round(b)).count();
    let both = of[a as usize]
        .iter()
        .filter(|&&t| solid.triangles[t].contains(&b))
        .count();
    shared == 2 && both == 2 && of[a as usize].len() + of[b as usize].len() > 6
}

/// Moves points that fall together without being one inwards, each by as little as makes it alone: those on bad edges,
/// or all.
fn part_points(solid: &mut Solid, all: bool) {
    let mut edge_count: FxHashMap<([u64; 3], [u64; 3]), (i32, i32)> = FxHashMap::default();
    for corners in solid.corners() {
        let places = corners.map(bits);
        for k in 0..3 {
            let (a, b) = (places[k], places[(k + 1) % 3]);
            let count = edge_count.entry((a.min(b), a.max(b))).or_default();
            if a < b { count.0 += 1 } else { count.1 += 1 }
        }
    }
    let bad: FxHashSet<[u64; 3]> = edge_count
        .iter()
        .filter(|(ends, count)| **count != (1, 1) || ends.0 == ends.1)
        .flat_map(|(ends, _)| [ends.0, ends.1])
        .collect();
    let mut inward = vec![Vec3::ZERO; solid.points.len()];
    for t in &solid.triangles {
        let [a, b, c] = t.map(|v| solid.points[v as usize]);
        let area = (b - a).cross(c - a);
        t.iter().for_each(|&v| inward[v as usize] -= area);
    }
    let mut taken: FxHashMap<[u64; 3], u32> = FxHashMap::default();
    for (i, p) in solid.points.iter().enumerate() {
        taken.entry(bits(*p)).or_insert(i as u32);
    }
    for (i, inward) in inward.iter().enumerate() {
        let place = bits(solid.points[i]);
        let first = taken[&place] == i as u32;
        if first || !(all || bad.contains(&place)) {
            continue;
        }
        let direction = inward.try_normalize().unwrap_or(Vec3::X);
        let step = f64::from(f32::EPSILON) * solid.points[i].abs().max_element().max(1.0);
        let free = (1..1000)
            .map(|k| in_f32(solid.points[i] + direction * (step * f64::from(k))))
            .find(|p| !taken.contains_key(&bits(*p)));
        if let Some(p) = free {
            solid.points[i] = p;
            taken.insert(bits(p), i as u32);
        }
    }
}
