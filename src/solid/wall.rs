//! The wall between two neighbouring sections of a stack.
//!
//! Quads where both sections are the same; a strip of triangles where their rings run side by side; else a
//! triangulation, in plan, of what only one of them covers, each corner lifted to its section's height (then
//! edges are turned so that as few triangles as can be lie flat on one section). Where the sections share a
//! point or a run of their rims, upright triangles close the step.

use rustc_hash::FxHashMap;

use super::stack::{Rings, SAME_HEIGHT_MM, Section};
use super::triangulate::{Conflict, arrange};
use crate::measure::{SAME_POINT_MM, Vec2};

/// Two neighbouring sections and the mesh indices of their points.
pub(super) struct Wall<'a> {
    pub low: &'a Section,
    pub high: &'a Section,
    pub low_ids: &'a [Vec<u32>],
    pub high_ids: &'a [Vec<u32>],
}

impl Wall<'_> {
    /// Quads, where both sections are the same.
    pub(super) fn quads(&self) -> Option<Vec<[u32; 3]>> {
        let (a, b) = (&self.low.rings, &self.high.rings);
        let same_ring = |(a, b): (&Vec<Vec2>, &Vec<Vec2>)| {
            a.len() == b.len() && a.iter().zip(b).all(|(p, q)| p.distance_squared(*q) < 1e-18)
        };
        if a.len() != b.len() || !a.iter().zip(b).all(same_ring) {
            return None;
        }
        let mut triangles = Vec::new();
        for (a, b) in self.low_ids.iter().zip(self.high_ids) {
            for i in 0..a.len() {
                let j = (i + 1) % a.len();
                triangles.extend(quad([a[i], a[j], b[j], b[i]]));
            }
        }
        Some(triangles)
    }

    /// A strip between rings that run side by side, if all its triangles look the same way in plan.
    pub(super) fn strip(&self) -> Option<Vec<[u32; 3]>> {
        let (low, high) = (&self.low.rings, &self.high.rings);
        if low.len() != high.len() {
            return None;
        }
        let up = if self.narrows() { 1.0 } else { -1.0 };
        let mut taken = vec![false; high.len()];
        let mut triangles = Vec::new();
        for (ring, ids) in low.iter().zip(self.low_ids) {
            let n = ring.len();
            let mut best: Option<(f64, usize, usize)> = None;
            for (j, other) in high
                .iter()
                .enumerate()
                .filter(|(j, o)| !taken[*j] && o.len() == n)
            {
                for (shift, p) in other.iter().enumerate() {
                    let far = p.distance_squared(ring[0]);
                    if best.is_none_or(|b| far < b.0) {
                        best = Some((far, j, shift));
                    }
                }
            }
            let (_, j, shift) = best?;
            taken[j] = true;
            let (other, other_ids) = (&high[j], &self.high_ids[j]);
            let positive = |a: Vec2, b: Vec2, c: Vec2| up * (b - a).perp_dot(c - a) > 1e-12;
            for i in 0..n {
                let next = (i + 1) % n;
                let (k, l) = ((i + shift) % n, (next + shift) % n);
                let (p, q, r, s) = (ring[i], ring[next], other[l], other[k]);
                let (ip, iq, ir, is) = (ids[i], ids[next], other_ids[l], other_ids[k]);
                if p.distance_squared(r) <= q.distance_squared(s) {
                    if !positive(p, q, r) || !positive(p, r, s) {
                        return None;
                    }
                    triangles.extend([[ip, iq, ir], [ip, ir, is]]);
                } else {
                    if !positive(p, q, s) || !positive(q, r, s) {
                        return None;
                    }
                    triangles.extend([[ip, iq, is], [iq, ir, is]]);
                }
            }
        }
        Some(triangles)
    }

    /// Whether the lower section is the larger.
    pub(super) fn narrows(&self) -> bool {
        let area = |rings: &Rings| -> f64 {
            let ring_area = |r: &Vec<Vec2>| -> f64 {
                (0..r.len())
                    .map(|i| r[i].perp_dot(r[(i + 1) % r.len()]))
                    .sum()
            };
            rings.iter().map(ring_area).sum()
        };
        area(&self.low.rings) > area(&self.high.rings)
    }

    /// A triangulation of what only one of the sections covers.
    pub(super) fn triangulated(&self) -> Result<Vec<[u32; 3]>, Conflict> {
        const LOW: u8 = 1;
        const HIGH: u8 = 2;
        let plan = Plan::of(&self.low.rings, &self.high.rings);
        let low_ids: Vec<u32> = self.low_ids.iter().flatten().copied().collect();
        let high_ids: Vec<u32> = self.high_ids.iter().flatten().copied().collect();
        let low = |p: u32| plan.low_of[p as usize].map_or(u32::MAX, |i| low_ids[i as usize]);
        let high = |p: u32| plan.high_of[p as usize].map_or(u32::MAX, |i| high_ids[i as usize]);
        let mut low_runs: Vec<(u32, u32)> = runs(&self.low.rings, |i| i).collect();
        low_runs.sort_unstable();
        let high_runs: Vec<(u32, u32)> =
            runs(&self.high.rings, |i| plan.of_high[i as usize]).collect();
        let shared = |run: (u32, u32)| low_runs.binary_search(&run).is_ok();
        if let Some(run) = high_runs.iter().find(|&&(p, q)| shared((q, p))) {
            // The two sections touch back to back: a wall without thickness.
            return Err(Conflict {
                near: plan.points[run.0 as usize],
            });
        }
        let (common, high_only): (Vec<_>, Vec<_>) = high_runs.into_iter().partition(|r| shared(*r));
        let mut common = common;
        common.sort_unstable();
        let low_only: Vec<(u32, u32)> = low_runs
            .into_iter()
            .filter(|run| common.binary_search(run).is_err())
            .collect();
        let tagged = |runs: &[(u32, u32)], bits: u8| -> Vec<(u32, u32, u8)> {
            runs.iter().map(|&(p, q)| (p, q, bits)).collect()
        };
        let mut edges = tagged(&high_only, HIGH);
        edges.extend(tagged(&low_only, LOW));
        let mut faces: Vec<([u32; 3], bool)> = arrange(&plan.points, &edges)?
            .into_iter()
            .filter(|(_, bits)| *bits != LOW | HIGH)
            .map(|(t, bits)| (t, bits == LOW))
            .collect();
        let on_high = plan.lifted(&high_only);
        if self.high.z - self.low.z > SAME_HEIGHT_MM {
            flip_ears(&mut faces, &plan.points, &on_high);
        }
        let corner = |p: u32| if on_high[p as usize] { high(p) } else { low(p) };
        // Upright triangles between where a run lies and where the faces have it.
        let step = |a: [u32; 2], b: [u32; 2]| quad([a[0], a[1], b[1], b[0]]);
        let ends = |(p, q): (u32, u32), of: &dyn Fn(u32) -> u32| [of(p), of(q)];
        let upright: Vec<[u32; 3]> = low_only
            .iter()
            .map(|&r| step(ends(r, &low), ends(r, &corner)))
            .chain(
                high_only
                    .iter()
                    .map(|&r| step(ends(r, &corner), ends(r, &high))),
            )
            .chain(common.iter().map(|&r| step(ends(r, &low), ends(r, &high))))
            .flatten()
            .filter(distinct)
            .collect();
        let lifted = faces.into_iter().map(|(t, up)| {
            let [a, b, c] = t.map(corner);
            if up { [a, b, c] } else { [a, c, b] }
        });
        Ok(lifted.chain(upright).collect())
    }
}

/// Both sections' points in plan, coinciding ones as one.
pub(super) struct Plan {
    pub points: Vec<Vec2>,
    /// For each point: which of the lower section's it is, counted through its rings.
    pub low_of: Vec<Option<u32>>,
    /// Likewise of the upper section.
    high_of: Vec<Option<u32>>,
    /// For each of the upper section's: its place in `points`. The lower section's come first, in order.
    pub of_high: Vec<u32>,
}

impl Plan {
    pub(super) fn of(low: &Rings, high: &Rings) -> Plan {
        let mut points: Vec<Vec2> = low.iter().flatten().copied().collect();
        let n = points.len() as u32;
        let mut low_of: Vec<Option<u32>> = (0..n).map(Some).collect();
        let mut high_of: Vec<Option<u32>> = vec![None; points.len()];
        let mut by_x: Vec<u32> = (0..n).collect();
        by_x.sort_by(|&a, &b| points[a as usize].x.total_cmp(&points[b as usize].x));
        let mut of_high = Vec::new();
        for (i, p) in high.iter().flatten().enumerate() {
            let from = by_x.partition_point(|&k| points[k as usize].x < p.x - SAME_POINT_MM);
            let near = by_x[from..]
                .iter()
                .take_while(|&&k| points[k as usize].x <= p.x + SAME_POINT_MM)
                .find(|&&k| points[k as usize].distance(*p) < SAME_POINT_MM);
            let place = near.copied().filter(|&k| high_of[k as usize].is_none());
            let place = place.unwrap_or_else(|| {
                points.push(*p);
                low_of.push(None);
                high_of.push(None);
                points.len() as u32 - 1
            });
            high_of[place as usize] = Some(i as u32);
            of_high.push(place);
        }
        Plan {
            points,
            low_of,
            high_of,
            of_high,
        }
    }
}

impl Plan {
    /// Which points the faces have on the upper section. A point of both sections goes with the upper one where
    /// a run of its rim alone joins two such points, so that the wall reaches up to that run.
    fn lifted(&self, high_only: &[(u32, u32)]) -> Vec<bool> {
        let mut on_high: Vec<bool> = self.low_of.iter().map(Option::is_none).collect();
        let both = |p: u32| self.low_of[p as usize].is_some();
        for &(p, q) in high_only.iter().filter(|&&(p, q)| both(p) && both(q)) {
            on_high[p as usize] = true;
            on_high[q as usize] = true;
        }
        on_high
    }
}

/// The runs of all rings, each as its ends, counted through the rings and renamed.
fn runs(rings: &Rings, name: impl Fn(u32) -> u32) -> impl Iterator<Item = (u32, u32)> {
    let mut first = 0;
    rings
        .iter()
        .flat_map(move |ring| {
            let (from, n) = (first, ring.len() as u32);
            first += n;
            (0..n)
                .map(move |i| (from + i, from + (i + 1) % n))
                .collect::<Vec<_>>()
        })
        .map(move |(a, b)| (name(a), name(b)))
}

/// Turns edges so that no triangle has all its corners on one section, where that can be.
fn flip_ears(faces: &mut [([u32; 3], bool)], points: &[Vec2], on_high: &[bool]) {
    let high = |p: u32| on_high[p as usize];
    let flat = |t: &[u32; 3]| high(t[0]) == high(t[1]) && high(t[1]) == high(t[2]);
    if !faces.iter().any(|(t, _)| flat(t)) {
        return;
    }
    let edges = |t: [u32; 3]| [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])];
    let mut of_edge: FxHashMap<(u32, u32), usize> = FxHashMap::default();
    for (f, (t, _)) in faces.iter().enumerate() {
        of_edge.extend(edges(*t).map(|e| (e, f)));
    }
    let turn = |a: u32, b: u32, c: u32| {
        let [a, b, c] = [a, b, c].map(|i| points[i as usize]);
        (b - a).perp_dot(c - a)
    };
    for _ in 0..faces.len() {
        let mut changed = false;
        for f in 0..faces.len() {
            let (t, up) = faces[f];
            if !flat(&t) {
                continue;
            }
            for k in 0..3 {
                let (a, b, c) = (t[k], t[(k + 1) % 3], t[(k + 2) % 3]);
                let Some(&g) = of_edge.get(&(c, b)) else {
                    continue;
                };
                let Some(d) = faces[g].0.into_iter().find(|&i| i != b && i != c) else {
                    continue;
                };
                let convex = turn(a, b, d) > 1e-9 && turn(a, d, c) > 1e-9;
                if faces[g].1 != up || high(d) == high(a) || !convex {
                    continue;
                }
                for e in edges(t).into_iter().chain(edges(faces[g].0)) {
                    of_edge.remove(&e);
                }
                faces[f].0 = [a, b, d];
                faces[g].0 = [a, d, c];
                of_edge.extend(edges(faces[f].0).map(|e| (e, f)));
                of_edge.extend(edges(faces[g].0).map(|e| (e, g)));
                changed = true;
                break;
            }
        }
        if !changed {
            return;
        }
    }
}

/// A quad as two triangles.
fn quad([a, b, b2, a2]: [u32; 4]) -> [[u32; 3]; 2] {
    [[a, b, b2], [a, b2, a2]]
}

/// Whether a triangle has three different corners.
fn distinct(t: &[u32; 3]) -> bool {
    t[0] != t[1] && t[1] != t[2] && t[2] != t[0]
}
