//! A mesh made ready for the wall check: normals of the curved surface, patches, inside edges, knife edges.

use std::collections::HashMap;

use super::tree::Tree;
use crate::measure::Vec3;

/// A triangle lower than this has no normal worth the name (mm).
const SLIVER_MM: f64 = 1e-3;

/// Facets that turn by less than this are one curved surface (degrees).
const CREASE_DEG: f64 = 30.0;

/// Inside edges that turn by more than this are looked at on their own (degrees).
const SHARP_DEG: f64 = 25.0;

/// Metal between the faces of an outside edge of this angle or less runs out to nothing (degrees).
pub(super) const FEATHER_DEG: f64 = 62.0;

/// No neighbour.
pub(super) const NONE: u32 = u32::MAX;

/// An outside edge at which metal runs out to nothing.
#[derive(Debug, Clone, Copy)]
pub(super) struct KnifeEdge {
    /// The triangles on its two sides.
    pub triangles: [usize; 2],
    /// Its ends (mm).
    pub ends: [Vec3; 2],
    /// The angle of the metal (degrees).
    pub angle_deg: f64,
}

/// A closed mesh with all that the wall check needs to know about each triangle (mm). Triangles are renumbered.
#[derive(Debug, Clone)]
pub struct Surface {
    /// Corner indices.
    pub(super) triangles: Vec<[u32; 3]>,
    /// The number that the caller gave each triangle.
    pub(super) given: Vec<u32>,
    /// The feature of each triangle.
    pub(super) features: Vec<usize>,
    /// Corners.
    pub(super) corners: Vec<[Vec3; 3]>,
    /// Unit normals; zero for slivers.
    pub(super) normals: Vec<Vec3>,
    /// Across the edges that start at each corner.
    pub(super) neighbours: Vec<[u32; 3]>,
    /// Normals of the curved surface at each corner.
    pub(super) corner_normals: Vec<[Vec3; 3]>,
    /// Whether a triangle stands for a piece of curved surface.
    pub(super) curved: Vec<bool>,
    /// One bit an edge: the edge is an inside one.
    pub(super) reflex: Vec<u8>,
    /// The largest turn at its smooth inside edges (radians).
    pub(super) turn: Vec<f32>,
    /// The smooth connected part of one feature that each triangle is in.
    pub(super) patches: Vec<u32>,
    /// Sharp inside edges: triangle and edge.
    pub(super) sharp: Vec<(u32, u8)>,
    /// Knife edges.
    pub(super) knives: Vec<KnifeEdge>,
    /// Triangles round each point: where each point's run starts in `ring`.
    ring_starts: Vec<u32>,
    ring: Vec<u32>,
    /// Boxes and cones.
    pub(super) tree: Tree,
}

impl Surface {
    /// Makes a closed, outward-oriented mesh ready: points (mm), triangles, and the feature of each triangle.
    pub fn new(points: &[Vec3], triangles: &[[u32; 3]], features: &[usize]) -> Surface {
        let corners_of = |t: &[u32; 3]| t.map(|i| points[i as usize]);
        let corners: Vec<[Vec3; 3]> = triangles.iter().map(corners_of).collect();
        let normals: Vec<Vec3> = corners.iter().map(normal).collect();
        let (tree, order) = Tree::build(&corners, &normals);
        let at = |i: &u32| *i as usize;
        let mut out = Surface {
            triangles: order.iter().map(|i| triangles[at(i)]).collect(),
            features: order.iter().map(|i| features[at(i)]).collect(),
            corners: order.iter().map(|i| corners[at(i)]).collect(),
            normals: order.iter().map(|i| normals[at(i)]).collect(),
            given: order,
            neighbours: vec![[NONE; 3]; triangles.len()],
            corner_normals: Vec::new(),
            curved: Vec::new(),
            reflex: vec![0; triangles.len()],
            turn: vec![0.0; triangles.len()],
            patches: Vec::new(),
            sharp: Vec::new(),
            knives: Vec::new(),
            ring_starts: Vec::new(),
            ring: Vec::new(),
            tree,
        };
        out.find_rings(points.len());
        out.find_neighbours();
        out.smooth();
        out.find_edges();
        out.find_patches();
        out
    }

    /// How many triangles.
    pub(super) fn len(&self) -> usize {
        self.triangles.len()
    }

    /// The triangles round a point.
    pub(super) fn round(&self, point: u32) -> &[u32] {
        let i = point as usize;
        &self.ring[self.ring_starts[i] as usize..self.ring_starts[i + 1] as usize]
    }

    /// The area of a triangle (mm²).
    pub(super) fn area(&self, i: usize) -> f64 {
        let [a, b, c] = self.corners[i];
        (b - a).cross(c - a).length() * 0.5
    }

    /// How far a point of a triangle's plane is towards each corner: 1 at the corner, 0 on the edge across.
    pub(super) fn shares(&self, i: usize, p: Vec3) -> [f64; 3] {
        let ([a, b, c], n) = (self.corners[i], self.normals[i]);
        let area = (b - a).cross(c - a).dot(n);
        let u = ((c - b).cross(p - b).dot(n) / area).clamp(0.0, 1.0);
        let w = ((a - c).cross(p - c).dot(n) / area).clamp(0.0, 1.0);
        [u, w, (1.0 - u - w).max(0.0)]
    }

    /// The normal of the curved surface at a point of a triangle.
    pub(super) fn normal_at(&self, i: usize, p: Vec3) -> Vec3 {
        if !self.curved[i] {
            return self.normals[i];
        }
        let [u, v, w] = self.shares(i, p);
        let [a, b, c] = self.corner_normals[i];
        (a * u + b * v + c * w).normalize_or_zero()
    }

    fn find_rings(&mut self, points: usize) {
        let mut starts = vec![0_u32; points + 1];
        for t in &self.triangles {
            for &p in t {
                starts[p as usize + 1] += 1;
            }
        }
        for i in 0..points {
            starts[i + 1] += starts[i];
        }
        let mut next = starts.clone();
        let mut ring = vec![0_u32; self.triangles.len() * 3];
        for (i, t) in self.triangles.iter().enumerate() {
            for &p in t {
                ring[next[p as usize] as usize] = i as u32;
                next[p as usize] += 1;
            }
        }
        (self.ring_starts, self.ring) = (starts, ring);
    }

    fn find_neighbours(&mut self) {
        for i in 0..self.len() {
            for k in 0..3 {
                let (a, b) = (self.triangles[i][k], self.triangles[i][(k + 1) % 3]);
                let runs_back = |&&j: &&u32| {
                    let t = self.triangles[j as usize];
                    (0..3).any(|m| t[m] == b && t[(m + 1) % 3] == a)
                };
                if let Some(&j) = self.round(a).iter().find(runs_back) {
                    self.neighbours[i][k] = j;
                }
            }
        }
    }

    /// Groups triangles that `joins` says belong together; gives the group of each, and how many there are.
    fn groups(&self, joins: impl Fn(usize, usize, usize) -> bool) -> (Vec<u32>, usize) {
        let mut group = vec![NONE; self.len()];
        let mut count = 0;
        let mut stack = Vec::new();
        for i in 0..self.len() {
            if group[i] != NONE {
                continue;
            }
            group[i] = count;
            stack.push(i);
            while let Some(j) = stack.pop() {
                for q in self.neighbours[j] {
                    let q = q as usize;
                    if q < self.len() && group[q] == NONE && joins(i, j, q) {
                        group[q] = count;
                        stack.push(q);
                    }
                }
            }
            count += 1;
        }
        (group, count as usize)
    }

    /// Normals of the curved surface: neighbours within the crease, by the area of the flat that each is part of,
    /// so that a large flat stays flat beside a fillet however it is cut into triangles.
    fn smooth(&mut self) {
        let (flat, flats) =
            self.groups(|first, _, q| self.normals[first].dot(self.normals[q]) > 1.0 - 1e-7);
        let mut areas = vec![0.0; flats];
        for i in 0..self.len() {
            areas[flat[i] as usize] += self.area(i);
        }
        let crease = CREASE_DEG.to_radians().cos();
        let mut seen: Vec<u32> = Vec::new();
        let mut corner_normals = vec![[Vec3::ZERO; 3]; self.len()];
        let mut curved = vec![false; self.len()];
        for i in 0..self.len() {
            for (k, corner) in corner_normals[i].iter_mut().enumerate() {
                seen.clear();
                let mut sum = Vec3::ZERO;
                for &j in self.round(self.triangles[i][k]) {
                    let n = self.normals[j as usize];
                    let group = flat[j as usize];
                    if self.normals[i].dot(n) > crease && !seen.contains(&group) {
                        seen.push(group);
                        sum += n * areas[group as usize];
                    }
                }
                let n = sum.normalize_or_zero();
                *corner = n;
                curved[i] |= n.dot(self.normals[i]) < 1.0 - 1e-6;
            }
        }
        (self.corner_normals, self.curved) = (corner_normals, curved);
    }

    /// Inside edges, smooth and sharp, and knife edges.
    fn find_edges(&mut self) {
        let sharp = SHARP_DEG.to_radians().cos();
        for i in 0..self.len() {
            for k in 0..3 {
                let j = self.neighbours[i][k] as usize;
                if j >= self.len() {
                    continue;
                }
                let (n, m) = (self.normals[i], self.normals[j]);
                let (p, q) = (self.corners[i][k], self.corners[i][(k + 1) % 3]);
                let d = n.dot(m);
                if n == Vec3::ZERO || m == Vec3::ZERO || d >= 1.0 - 1e-7 {
                    continue;
                }
                let turn = d.clamp(-1.0, 1.0).acos();
                if n.cross(m).dot(q - p) < 0.0 {
                    self.reflex[i] |= 1 << k;
                    if turn < SHARP_DEG.to_radians() {
                        self.turn[i] = self.turn[i].max(turn as f32);
                    }
                    if d < sharp && i < j {
                        self.sharp.push((i as u32, k as u8));
                    }
                } else if i < j && 180.0 - turn.to_degrees() < FEATHER_DEG {
                    self.knives.push(KnifeEdge {
                        triangles: [i, j],
                        ends: [p, q],
                        angle_deg: 180.0 - turn.to_degrees(),
                    });
                }
            }
        }
    }

    /// Smooth connected parts of one feature; flat ones of one feature in one plane count as one.
    fn find_patches(&mut self) {
        let crease = CREASE_DEG.to_radians().cos();
        let (mut patch, count) = self.groups(|_, j, q| {
            self.features[q] == self.features[j] && self.normals[j].dot(self.normals[q]) > crease
        });
        let mut first: Vec<Option<usize>> = vec![None; count];
        let mut flat = vec![true; count];
        for (i, &at) in patch.iter().enumerate() {
            if self.normals[i] == Vec3::ZERO {
                continue;
            }
            let at = at as usize;
            let head = *first[at].get_or_insert(i);
            flat[at] &= self.normals[head].dot(self.normals[i]) > 1.0 - 1e-8;
        }
        let mut planes: HashMap<(usize, [i64; 4]), u32> = HashMap::new();
        let mut same: Vec<u32> = (0..count as u32).collect();
        for (at, head) in first.iter().enumerate() {
            let Some(i) = head.filter(|_| flat[at]) else {
                continue;
            };
            let n = self.normals[i];
            let step = |x: f64, by: f64| (x * by + 0.37).round() as i64;
            let offset = step(n.dot(self.corners[i][0]), 1e2);
            let key = [step(n.x, 1e4), step(n.y, 1e4), step(n.z, 1e4), offset];
            same[at] = *planes.entry((self.features[i], key)).or_insert(at as u32);
        }
        for p in &mut patch {
            *p = same[*p as usize];
        }
        self.patches = patch;
    }
}

/// The unit normal of a triangle; zero for a sliver.
fn normal(&[a, b, c]: &[Vec3; 3]) -> Vec3 {
    let n = (b - a).cross(c - a);
    let longest = a.distance(b).max(b.distance(c)).max(c.distance(a));
    if n.length() > SLIVER_MM * longest {
        n.normalize()
    } else {
        Vec3::ZERO
    }
}

/// The smooth connected regions of a closed mesh, numbered in the order of its triangles: what stands for features
/// where there is no script. One number a triangle.
pub fn smooth_regions(points: &[Vec3], triangles: &[[u32; 3]]) -> Vec<usize> {
    let surface = Surface::new(points, triangles, &vec![0; triangles.len()]);
    let mut patch = vec![0; triangles.len()];
    for (i, &given) in surface.given.iter().enumerate() {
        patch[given as usize] = surface.patches[i];
    }
    let mut number: HashMap<u32, usize> = HashMap::new();
    patch
        .into_iter()
        .map(|p| {
            let next = number.len();
            *number.entry(p).or_insert(next)
        })
        .collect()
}
