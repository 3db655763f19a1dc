//! Gaps: every floor of a mesh with the roof straight above it. None left is the proof that all can be reached.
//!
//! Method: facets narrower than [`WALL_MM`] in plan are walls. Each floor asks a tree of the roofs for those above it,
//! clips them in plan, and keeps of each only what no lower roof covers: so the gaps of a mesh are columns of air that
//! don't overlap, each bounded by one floor facet and one roof facet.

use rustc_hash::FxHashMap;

use crate::measure::{Bounds, Vec2, Vec3};
use crate::solid::Solid;
use crate::solid::reach::columns::{Corner, area, inside, kept, plan_box, turn, width};
use crate::solid::reach::tree::Tree;

/// A facet narrower than this in plan is a wall (mm): rounding to f32 tilts upright walls by less.
pub(super) const WALL_MM: f64 = 1e-4;

/// Overlaps in plan narrower than this are rounding (mm).
pub(super) const NOISE_MM: f64 = 1e-5;

/// A roof lower than this over its floor touches it (mm).
const TOUCH_MM: f64 = 1e-6;

/// A column of air between a floor and the first roof above it.
#[derive(Debug, Clone, PartialEq)]
pub struct Gap {
    /// The triangle that is its floor.
    pub floor: u32,
    /// The triangle that is its roof.
    pub roof: u32,
    /// Gaps that hang together have the same number: that of the first of them.
    pub void: u32,
    /// Its plan, convex and counter-clockwise, with both heights at each corner.
    pub corners: Vec<Corner>,
}

/// All gaps of a mesh.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Gaps {
    /// In the order of their floors.
    pub list: Vec<Gap>,
}

/// A facet and its box.
struct Facet {
    id: u32,
    corners: [Vec3; 3],
    bounds: Bounds,
}

impl Gaps {
    /// The gaps of a closed mesh whose triangles turn counter-clockwise seen from outside.
    pub fn of(solid: &Solid) -> Gaps {
        let (floors, roofs) = floors_and_roofs(solid);
        let boxes: Vec<Bounds> = roofs.iter().map(|r| r.bounds).collect();
        let tree = Tree::new(&boxes);
        let mut list = Vec::new();
        let mut over: Vec<(u32, Vec<Corner>)> = Vec::new();
        for floor in &floors {
            let mut wanted = floor.bounds;
            wanted.high.z = f64::INFINITY;
            tree.any(&wanted, |i| {
                let roof = &roofs[i as usize];
                let apart = roof.bounds.low.cmpge(wanted.high).any()
                    || roof.bounds.high.cmple(wanted.low).any();
                if !apart && let Some(piece) = overlap(floor, roof) {
                    over.push((roof.id, piece));
                }
                false
            });
            let whole = plan_turn(&floor.corners) / 2.0;
            list.extend(
                lowest(&mut over, whole)
                    .into_iter()
                    .map(|(roof, corners)| Gap {
                        floor: floor.id,
                        roof,
                        void: 0,
                        corners,
                    }),
            );
        }
        number_voids(solid, &mut list);
        Gaps { list }
    }

    /// Whether every point of the mesh can be seen from straight above or straight below: a proof.
    pub fn none(&self) -> bool {
        self.list.is_empty()
    }
}

pub(super) fn plan(p: Vec3) -> Vec2 {
    p.truncate()
}

fn plan_turn(c: &[Vec3; 3]) -> f64 {
    turn(plan(c[0]), plan(c[1]), plan(c[2]))
}

/// The corners of a triangle.
pub(super) fn corners(solid: &Solid, triangle: usize) -> [Vec3; 3] {
    solid.triangles[triangle].map(|v| solid.points[v as usize])
}

/// Twice the signed plan area of a triangle (mm²): positive for a floor, negative for a roof, 0 for a wall.
pub(super) fn floor_sign(c: &[Vec3; 3]) -> f64 {
    let twice = plan_turn(c);
    let side = |i: usize| plan(c[i]).distance(plan(c[(i + 1) % 3]));
    let longest = side(0).max(side(1)).max(side(2));
    if twice.abs() < WALL_MM * longest {
        0.0
    } else {
        twice
    }
}

fn floors_and_roofs(solid: &Solid) -> (Vec<Facet>, Vec<Facet>) {
    let (mut floors, mut roofs) = (Vec::new(), Vec::new());
    for id in 0..solid.triangles.len() {
        let corners = corners(solid, id);
        let sign = floor_sign(&corners);
        if sign == 0.0 {
            continue;
        }
        let facet = Facet {
            id: id as u32,
            corners,
            bounds: Bounds::of(corners),
        };
        if sign > 0.0 {
            floors.push(facet);
        } else {
            roofs.push(facet);
        }
    }
    (floors, roofs)
}

/// Whether a side of the first triangle parts the two in plan; `sense` is -1 for one that turns clockwise.
fn parted(a: &[Vec3; 3], sense: f64, b: &[Vec3; 3]) -> bool {
    (0..3).any(|k| {
        let (p, q) = (plan(a[k]), plan(a[(k + 1) % 3]));
        b.iter().all(|&r| sense * turn(p, q, plan(r)) <= 0.0)
    })
}

/// Where a roof lies above a floor, if it does.
fn overlap(floor: &Facet, roof: &Facet) -> Option<Vec<Corner>> {
    let (f, r) = (&floor.corners, &roof.corners);
    if parted(f, 1.0, r) || parted(r, -1.0, f) {
        return None;
    }
    // A roof turns clockwise in plan: take it backwards.
    let whole = [r[2], r[1], r[0]].map(|p| Corner {
        at: plan(p),
        floor_mm: 0.0,
        roof_mm: p.z,
    });
    let rim = f.map(plan);
    let mut piece = inside(&whole, &rim);
    if piece.len() < 3 || width(&piece) < NOISE_MM {
        return None;
    }
    // Heights held inside the floor's own: a steep floor's plane is ill-conditioned.
    let all = turn(rim[0], rim[1], rim[2]);
    let mut air = 0.0;
    for corner in &mut piece {
        let first = (turn(rim[1], rim[2], corner.at) / all).clamp(0.0, 1.0);
        let second = (turn(rim[2], rim[0], corner.at) / all).clamp(0.0, 1.0);
        let third = (1.0 - first - second).max(0.0);
        let z = first * f[0].z + second * f[1].z + third * f[2].z;
        corner.floor_mm = z.clamp(floor.bounds.low.z, floor.bounds.high.z);
        air += corner.roof_mm - corner.floor_mm;
    }
    (air > TOUCH_MM * piece.len() as f64).then_some(piece)
}

/// Lowest and highest roof of a piece (mm).
fn roof_range(piece: &[Corner]) -> (f64, f64) {
    piece
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), c| {
            (low.min(c.roof_mm), high.max(c.roof_mm))
        })
}

/// Of the roofs over one floor what no other roof lies under. `floor_mm2` is the floor's plan area: once roofs cover
/// it, higher ones don't count.
fn lowest(over: &mut Vec<(u32, Vec<Corner>)>, floor_mm2: f64) -> Vec<(u32, Vec<Corner>)> {
    if over.len() < 2 {
        return std::mem::take(over);
    }
    let mut roofs: Vec<(u32, Vec<Corner>, (f64, f64))> = over
        .drain(..)
        .map(|(id, piece)| {
            let range = roof_range(&piece);
            (id, piece, range)
        })
        .collect();
    roofs.sort_by(|a, b| a.2.0.total_cmp(&b.2.0).then(a.0.cmp(&b.0)));
    let mut out: Vec<(u32, Vec<Corner>)> = Vec::new();
    let (mut covered, mut cover_top) = (0.0, f64::NEG_INFINITY);
    for (i, (id, piece, (low, high))) in roofs.iter().enumerate() {
        if covered >= floor_mm2 * (1.0 - 1e-9) && *low >= cover_top {
            break;
        }
        let mut pieces = vec![piece.clone()];
        for (j, (_, other, (other_low, _))) in roofs.iter().enumerate() {
            if other_low >= high || pieces.is_empty() {
                break;
            }
            if i != j {
                pieces = pieces
                    .into_iter()
                    .flat_map(|p| uncovered(p, other))
                    .collect();
            }
        }
        for p in pieces {
            covered += area(&p);
            cover_top = f64::max(cover_top, *high);
            out.push((*id, p));
        }
    }
    out
}

/// What is left of a roof's piece when another roof that lies lower covers a part of it.
fn uncovered(piece: Vec<Corner>, other: &[Corner]) -> Vec<Vec<Corner>> {
    let ((low, high), (other_low, other_high)) = (plan_box(&piece), plan_box(other));
    if (high - other_low).min_element() <= NOISE_MM || (other_high - low).min_element() <= NOISE_MM
    {
        return vec![piece];
    }
    let rim: Vec<Vec2> = other.iter().map(|c| c.at).collect();
    let both = inside(&piece, &rim);
    if both.len() < 3 || width(&both) < NOISE_MM || !lies_under(other, &both) {
        return vec![piece];
    }
    let mut out = Vec::new();
    let mut rest = piece;
    for (k, &a) in rim.iter().enumerate() {
        let b = rim[(k + 1) % rim.len()];
        let beyond = kept(&rest, |c| -turn(a, b, c.at));
        if beyond.len() > 2 && width(&beyond) >= NOISE_MM {
            out.push(beyond);
        }
        rest = kept(&rest, |c| turn(a, b, c.at));
        if rest.len() < 3 {
            break;
        }
    }
    out
}

/// Whether a roof lies under another's part that covers a share of its plan. The plane is taken from the three corners
/// that span most.
fn lies_under(roof: &[Corner], part: &[Corner]) -> bool {
    let widest = (1..roof.len() - 1).max_by(|&i, &j| {
        let span = |k: usize| turn(roof[0].at, roof[k].at, roof[k + 1].at);
        span(i).total_cmp(&span(j))
    });
    let Some(k) = widest else { return false };
    let [a, b, c] = [roof[0], roof[k], roof[k + 1]];
    let all = turn(a.at, b.at, c.at);
    if all <= 0.0 {
        return false;
    }
    let above: f64 = part
        .iter()
        .map(|p| {
            let (u, v) = (turn(b.at, c.at, p.at) / all, turn(c.at, a.at, p.at) / all);
            p.roof_mm - (u * a.roof_mm + v * b.roof_mm + (1.0 - u - v) * c.roof_mm)
        })
        .sum();
    above > TOUCH_MM * part.len() as f64
}

/// Gaps hang together where their floors share a vertex and their roofs share a vertex.
fn number_voids(solid: &Solid, list: &mut [Gap]) {
    fn root(of: &mut [u32], mut i: u32) -> u32 {
        while of[i as usize] != i {
            of[i as usize] = of[of[i as usize] as usize];
            i = of[i as usize];
        }
        i
    }
    let mut of: Vec<u32> = (0..list.len() as u32).collect();
    let mut first: FxHashMap<(u32, u32), u32> = FxHashMap::default();
    for (i, gap) in list.iter().enumerate() {
        for floor in solid.triangles[gap.floor as usize] {
            for roof in solid.triangles[gap.roof as usize] {
                let other = *first.entry((floor, roof)).or_insert(i as u32);
                let (a, b) = (root(&mut of, i as u32), root(&mut of, other));
                of[a.max(b) as usize] = a.min(b);
            }
        }
    }
    for (i, gap) in list.iter_mut().enumerate() {
        gap.void = root(&mut of, i as u32);
    }
}
