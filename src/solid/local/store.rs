//! The solid while it grows: triangles with half-edge pairs, so that a patch can be taken out and sewn in.
//!
//! Triangle `t` has the half-edges 3t, 3t + 1, 3t + 2; half-edge 3t + k runs from corner k to corner k + 1.

use crate::drawing::given::FeatureId;
use crate::measure::{Bounds, Vec3};
use crate::solid::local::grid::Grid;
use crate::solid::local::mesh::{Corner, Mark, Pair, Record};
use crate::solid::local::patch::Patch;
use crate::solid::{Ready, Solid};

/// The kernel's own uncertainty by the size of its coordinates.
const KERNEL_PRECISION: f64 = 1e-12;

/// The half-edge after `h` in its triangle.
pub(super) fn next(h: u32) -> u32 {
    if h % 3 == 2 { h - 2 } else { h + 1 }
}

/// A triangle of the store.
#[derive(Debug, Clone)]
pub(super) struct Facet {
    /// Vertices.
    pub corners: [u32; 3],
    /// Where it comes from; the owner is the body's number.
    pub mark: Mark,
    /// Its normal, as the kernel has it.
    pub normal: Vec3,
    bounds: Bounds,
    live: bool,
}

/// The growing solid.
#[derive(Debug, Clone)]
pub(super) struct Store {
    /// Vertices; some are no longer used.
    pub points: Vec<Vec3>,
    /// Triangles; some are dead.
    pub facets: Vec<Facet>,
    /// The other half-edge of each.
    pub pairs: Vec<u32>,
    /// The kernel's uncertainty (mm).
    pub epsilon: f64,
    /// The kernel's tolerance (mm).
    pub tolerance: f64,
    grid: Grid,
}

impl Store {
    /// Nothing yet, with room for bodies in a box.
    pub(super) fn new(bounds: &Bounds) -> Store {
        let reach = bounds.low.abs().max(bounds.high.abs()).max_element();
        // A power of two, so that hardly any edit of a body changes it.
        let epsilon = if reach.is_finite() && reach > 0.0 {
            KERNEL_PRECISION * reach.log2().ceil().exp2()
        } else {
            0.0
        };
        Store {
            points: Vec::new(),
            facets: Vec::new(),
            pairs: Vec::new(),
            epsilon,
            tolerance: epsilon,
            grid: Grid::over(bounds),
        }
    }

    /// The numbers of the live triangles whose box meets `region`, rising.
    pub(super) fn near(&mut self, region: &Bounds) -> Vec<u32> {
        let facets = &self.facets;
        self.grid.near(region, |t| {
            let facet = &facets[t as usize];
            facet.live.then_some(&facet.bounds)
        })
    }

    /// The numbers of all live triangles, rising.
    pub(super) fn live(&self) -> Vec<u32> {
        (0..self.facets.len() as u32)
            .filter(|&t| self.facets[t as usize].live)
            .collect()
    }

    /// The box round the live triangles.
    pub(super) fn bounds(&self) -> Bounds {
        let live = self.facets.iter().filter(|f| f.live);
        live.fold(Bounds::EMPTY, |all, f| all.joined(f.bounds))
    }

    /// The corners of a triangle.
    pub(super) fn corners(&self, t: u32) -> [Vec3; 3] {
        self.facets[t as usize]
            .corners
            .map(|v| self.points[v as usize])
    }

    /// Where a half-edge starts.
    pub(super) fn start(&self, h: u32) -> u32 {
        self.facets[h as usize / 3].corners[h as usize % 3]
    }

    /// Puts a record in the place of the patch that it was made from.
    pub(super) fn apply(&mut self, record: &Record, patch: &Patch) {
        let across: Vec<u32> = patch.rim.iter().map(|&h| self.pairs[h as usize]).collect();
        let first_point = self.points.len() as u32;
        let first = self.facets.len() as u32;
        self.points.extend_from_slice(&record.points);
        for &t in &patch.near {
            self.facets[t as usize].live = false;
        }
        for (i, facet) in record.facets.iter().enumerate() {
            let number = first + i as u32;
            let corners = facet.corners.map(|corner| match corner {
                Corner::Kept(local) => patch.vertices[local as usize],
                Corner::New(k) => first_point + k,
            });
            let bounds = Bounds::of(corners.map(|v| self.points[v as usize]));
            for (k, pair) in facet.pairs.iter().enumerate() {
                match *pair {
                    Pair::Within(h) => self.pairs.push(3 * first + h),
                    Pair::Rim(i) => {
                        let other = across[i as usize];
                        self.pairs.push(other);
                        self.pairs[other as usize] = 3 * number + k as u32;
                    }
                }
            }
            self.facets.push(Facet {
                corners,
                mark: Mark {
                    owner: patch.owners[facet.mark.owner as usize],
                    ..facet.mark
                },
                normal: facet.normal,
                bounds,
                live: true,
            });
            self.grid.enter(number, &bounds);
        }
        self.epsilon = self.epsilon.max(record.epsilon);
        self.tolerance = self.tolerance.max(record.tolerance);
    }

    /// The live triangles with one vertex a fan: where surfaces touch in a point, each has its own. Points and
    /// triangles come in the order of the store.
    pub(super) fn fans(&self, live: &[u32]) -> (Vec<u32>, Vec<[u32; 3]>) {
        const NONE: u32 = u32::MAX;
        let mut fan = vec![NONE; self.pairs.len()];
        let mut vertices = Vec::new();
        let mut triangles = Vec::with_capacity(live.len());
        for &t in live {
            for h in 3 * t..3 * t + 3 {
                if fan[h as usize] != NONE {
                    continue;
                }
                let id = vertices.len() as u32;
                vertices.push(self.start(h));
                let mut around = h;
                while fan[around as usize] == NONE {
                    fan[around as usize] = id;
                    around = next(self.pairs[around as usize]);
                }
            }
            triangles.push([0, 1, 2].map(|k| fan[3 * t as usize + k]));
        }
        (vertices, triangles)
    }

    /// The solid as it stands.
    pub(super) fn solid(&self, bodies: &[Ready]) -> Solid {
        self.solid_of(&|mark| bodies[mark.owner as usize].feature)
    }

    /// The same; `feature` says whose a triangle is.
    pub(super) fn solid_of(&self, feature: &dyn Fn(&Mark) -> FeatureId) -> Solid {
        let live = self.live();
        let (vertices, triangles) = self.fans(&live);
        Solid {
            points: vertices.iter().map(|&v| self.points[v as usize]).collect(),
            triangles,
            features: live
                .iter()
                .map(|&t| feature(&self.facets[t as usize].mark))
                .collect(),
        }
    }
}
