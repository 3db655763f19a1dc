//! A closed triangle mesh of one feature body, before any boolean, and the invariants that every mesh is held to.
//!
//! The invariants are named functions of [`Facets`], shared by debug builds, tests and the solids that
//! the booleans give. Volume and area are the usual sums over triangles; genus is Euler's formula.

use std::collections::HashMap;

use crate::measure::{Bounds, Frame, Vec3};
use crate::solid::edges::Edges;

/// Which part of a body a triangle belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[repr(u8)]
pub enum Skin {
    /// The foot: the low end of a band, the start of a sweep.
    Foot,
    /// The free end: the high end of a band, the end of a sweep.
    Top,
    /// The sides, or the round of a lathe.
    Side,
    /// A foot fillet or a widened mouth.
    Flare,
    /// A rounded or chamfered free edge.
    Edge,
}

/// A closed, outward-oriented triangle mesh in part coordinates (mm).
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shell {
    /// Vertices.
    pub points: Vec<Vec3>,
    /// Triangles, counter-clockwise seen from outside; indices into `points`.
    pub triangles: Vec<[u32; 3]>,
    /// One a triangle.
    pub skins: Vec<Skin>,
}

impl Shell {
    /// A mesh all of whose triangles are sides.
    pub fn plain(points: Vec<Vec3>, triangles: Vec<[u32; 3]>) -> Shell {
        Shell {
            skins: vec![Skin::Side; triangles.len()],
            points,
            triangles,
        }
    }

    /// The box round it.
    pub fn bounds(&self) -> Bounds {
        Bounds::of(self.points.iter().copied())
    }

    /// The three corners of each triangle.
    pub(super) fn corners(&self) -> impl Iterator<Item = [Vec3; 3]> + '_ {
        self.triangles
            .iter()
            .map(|t| t.map(|i| self.points[i as usize]))
    }

    /// Its mesh, for the invariants.
    pub fn facets(&self) -> Facets<'_> {
        Facets {
            points: &self.points,
            triangles: &self.triangles,
        }
    }

    /// The area of the triangles of one skin (mm²).
    pub fn skin_area(&self, skin: Skin) -> f64 {
        let of_skin = self
            .triangles
            .iter()
            .zip(&self.skins)
            .filter(|(_, s)| **s == skin);
        of_skin.map(|(t, _)| area(self.facets().corners(t))).sum()
    }

    /// Adds a triangle.
    pub(super) fn push(&mut self, triangle: [u32; 3], skin: Skin) {
        self.triangles.push(triangle);
        self.skins.push(skin);
    }

    /// Adds the square-cornered run `a` to `b` (counter-clockwise seen from above) up to `b2` over `b` and `a2` over `a`.
    pub(super) fn push_quad(&mut self, [a, b, b2, a2]: [u32; 4], skin: Skin) {
        self.push([a, b, b2], skin);
        self.push([a, b2, a2], skin);
    }

    /// Adds a vertex and gives its index.
    pub(super) fn add_point(&mut self, p: Vec3) -> u32 {
        self.points.push(p);
        (self.points.len() - 1) as u32
    }

    /// Turns every triangle over.
    pub(super) fn turn_over(&mut self) {
        for t in &mut self.triangles {
            t.swap(1, 2);
        }
    }

    /// The same shell moved from a frame's local coordinates into part coordinates, still outward-oriented.
    pub(super) fn placed(mut self, frame: &Frame) -> Shell {
        for p in &mut self.points {
            *p = frame.point(*p);
        }
        if !frame.right_handed() {
            self.turn_over();
        }
        self
    }
}

/// A view of any triangle mesh, for the invariants.
#[derive(Debug, Clone, Copy)]
pub struct Facets<'a> {
    /// Vertices.
    pub points: &'a [Vec3],
    /// Triangles; indices into `points`.
    pub triangles: &'a [[u32; 3]],
}

impl Facets<'_> {
    /// The corners of a triangle.
    fn corners(&self, t: &[u32; 3]) -> [Vec3; 3] {
        t.map(|i| self.points[i as usize])
    }

    /// Whether the mesh is closed and oriented: every directed edge occurs once, and its reverse once.
    pub fn edges_pair(&self) -> bool {
        !self.triangles.is_empty() && Edges::of(self.triangles).bad() == 0
    }

    /// Whether the mesh is still closed and oriented once its vertices are rounded to f32 and welded,
    /// as the file formats do; triangles that collapse on the way are dropped.
    pub fn edges_hold_in_f32(&self) -> bool {
        let mut seen: HashMap<[u32; 3], u32> = HashMap::with_capacity(self.points.len());
        let welded: Vec<u32> = self
            .points
            .iter()
            .map(|p| {
                // Adding zero makes -0 and 0 the same bits.
                let key = [p.x, p.y, p.z].map(|c| (c as f32 + 0.0).to_bits());
                let next = seen.len() as u32;
                *seen.entry(key).or_insert(next)
            })
            .collect();
        let kept: Vec<[u32; 3]> = self
            .triangles
            .iter()
            .map(|t| t.map(|i| welded[i as usize]))
            .filter(|t| t[0] != t[1] && t[1] != t[2] && t[2] != t[0])
            .collect();
        !kept.is_empty() && Edges::of(&kept).bad() == 0
    }

    /// Signed volume (mm³), positive where the triangles face outward.
    pub fn volume(&self) -> f64 {
        let from = self.points.first().copied().unwrap_or(Vec3::ZERO);
        let sixth = |[a, b, c]: [Vec3; 3]| (a - from).dot((b - from).cross(c - from)) / 6.0;
        self.triangles.iter().map(|t| sixth(self.corners(t))).sum()
    }

    /// Surface area (mm²).
    pub fn area(&self) -> f64 {
        self.triangles.iter().map(|t| area(self.corners(t))).sum()
    }

    /// How many separate surfaces it is, joined by edges.
    pub fn components(&self) -> usize {
        Edges::of(self.triangles).surfaces().1
    }

    /// Handles, summed over the components: 0 for a ball, 1 for a ring. Only for a closed mesh.
    pub fn genus(&self) -> i64 {
        let vertices = Edges::of(self.triangles).fans() as i64;
        let faces = self.triangles.len() as i64;
        let euler = vertices - faces * 3 / 2 + faces;
        self.components() as i64 - euler / 2
    }
}

/// Area of a triangle (mm²).
fn area([a, b, c]: [Vec3; 3]) -> f64 {
    (b - a).cross(c - a).length() * 0.5
}
