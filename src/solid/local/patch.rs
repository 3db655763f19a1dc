//! The triangles near a body, taken out of the store with numbers of their own.

use rustc_hash::FxHashMap;

use crate::measure::Vec3;
use crate::solid::local::mesh::Mark;
use crate::solid::local::store::Store;
use crate::solid::memo::ContentHash;

/// Part of the store's surface, with numbers that depend on nothing else.
#[derive(Debug, Clone, Default)]
pub(super) struct Patch {
    /// The triangles, by number in the store.
    pub near: Vec<u32>,
    /// The store's vertices in the order in which the triangles name them.
    pub vertices: Vec<u32>,
    /// Corners of each triangle, as places in `vertices`.
    pub triangles: Vec<[u32; 3]>,
    /// Bodies in the order in which the triangles name them, then the body of the step.
    pub owners: Vec<u32>,
    /// The triangles' marks, the owner as its place in `owners`.
    pub marks: Vec<Mark>,
    /// The half-edges whose other half lies outside, by number in the store.
    pub rim: Vec<u32>,
    /// The place of each triangle in `near`.
    pub place: FxHashMap<u32, u32>,
}

impl Patch {
    /// The patch of some triangles, for the step of `body`.
    pub(super) fn of(store: &Store, near: Vec<u32>, body: usize) -> Patch {
        let mut number: FxHashMap<u32, u32> = FxHashMap::default();
        let mut vertices = Vec::with_capacity(near.len());
        let triangles = near
            .iter()
            .map(|&t| {
                store.facets[t as usize].corners.map(|v| {
                    *number.entry(v).or_insert_with(|| {
                        vertices.push(v);
                        vertices.len() as u32 - 1
                    })
                })
            })
            .collect();
        let mut patch = Patch {
            place: near.iter().zip(0..).map(|(&t, i)| (t, i)).collect(),
            near,
            vertices,
            triangles,
            ..Patch::default()
        };
        patch.rim = patch
            .near
            .iter()
            .flat_map(|&t| 3 * t..3 * t + 3)
            .filter(|&h| patch.on_rim(store, h))
            .collect();
        patch.mark(store, body);
        patch
    }

    /// The whole surface, each fan with a vertex of its own.
    pub(super) fn whole(store: &Store, body: usize) -> Patch {
        let near = store.live();
        let (vertices, triangles) = store.fans(&near);
        let mut patch = Patch {
            near,
            vertices,
            triangles,
            ..Patch::default()
        };
        patch.mark(store, body);
        patch
    }

    /// Nothing, for the step of `body`.
    pub(super) fn empty(body: usize) -> Patch {
        Patch {
            owners: vec![body as u32],
            ..Patch::default()
        }
    }

    fn mark(&mut self, store: &Store, body: usize) {
        let mut number: FxHashMap<u32, u32> = FxHashMap::default();
        for &t in &self.near {
            let mark = store.facets[t as usize].mark;
            let owner = *number.entry(mark.owner).or_insert_with(|| {
                self.owners.push(mark.owner);
                self.owners.len() as u32 - 1
            });
            self.marks.push(Mark { owner, ..mark });
        }
        self.owners.push(body as u32);
    }

    /// Whether the other half of a half-edge of the patch lies outside.
    pub(super) fn on_rim(&self, store: &Store, h: u32) -> bool {
        !self.place.contains_key(&(store.pairs[h as usize] / 3))
    }

    /// The place in `vertices` where a half-edge of the patch starts.
    pub(super) fn start(&self, h: u32) -> u32 {
        self.triangles[self.place[&(h / 3)] as usize][h as usize % 3]
    }

    /// Its vertices.
    pub(super) fn points(&self, store: &Store) -> Vec<Vec3> {
        let at = |&v: &u32| store.points[v as usize];
        self.vertices.iter().map(at).collect()
    }

    /// Hash of everything that a boolean with the body of key `step` sees.
    pub(super) fn key(&self, store: &Store, step: u128, purpose: u64) -> u128 {
        let mut hash = ContentHash::new(step, purpose);
        hash.put(self.vertices.len() as u64);
        hash.put(self.triangles.len() as u64);
        for &v in &self.vertices {
            let p = store.points[v as usize];
            p.to_array().into_iter().for_each(|x| hash.put_f64(x));
        }
        for ((t, mark), &from) in self.triangles.iter().zip(&self.marks).zip(&self.near) {
            hash.put(u64::from(t[0]) << 32 | u64::from(t[1]));
            hash.put(u64::from(t[2]) << 32 | u64::from(mark.owner));
            hash.put((mark.skin as u32 as u64) << 32 | u64::from(mark.plane as u32));
            let normal = store.facets[from as usize].normal;
            normal.to_array().into_iter().for_each(|x| hash.put_f64(x));
        }
        let first = |h: &u32| u64::from(self.place[&(h / 3)] * 3 + h % 3);
        self.rim.iter().for_each(|h| hash.put(first(h)));
        hash.put_f64(store.epsilon);
        hash.put_f64(store.tolerance);
        hash.value()
    }
}
