//! A second opinion on a boolean, by another road: the vertices that it kept, against how often the other surface
//! winds round them.
//!
//! Where two surfaces agree to rounding only, a kernel can take a whole lump for the other side. Its vertices then hang
//! together by edges, all kept or all dropped; one of each lump is asked for. Where it looks wrong (the kernel also drops
//! vertices when it tidies up), or lies on the other surface, the result itself is asked on both sides of many triangles.

use manifold_rust::impl_mesh::ManifoldImpl;
use rustc_hash::FxHashSet;

use crate::drawing::body::Act;
use crate::measure::Vec3;
use crate::solid::local::mesh::{from_kernel_vec, to_kernel_vec};
use crate::solid::local::winding::turns;

/// A vertex this far off the other surface surely lies on one side of it (mm): far over any rounding.
const CLEAR_MM: f64 = 0.01;

/// Where a ray starts beside a point (mm): within what is clear, and in line with nothing that a drawing has.
const BESIDE: Vec3 = Vec3::new(1.371e-3, -2.917e-3, 0.0);

/// How far from a triangle the result is asked (mm).
const ASIDE_MM: f64 = 0.05;

/// How many triangles of a surface the result is asked about.
const ASKED: usize = 24;

/// How many lumps of a surface are asked about, the largest ones.
const LUMPS: usize = 12;

/// Whether a result keeps of a solid and a body what it should.
pub(super) fn believable(
    solid: &ManifoldImpl,
    body: &ManifoldImpl,
    result: &ManifoldImpl,
    act: Act,
) -> bool {
    let kept: FxHashSet<[u64; 3]> = result.vert_pos.iter().map(|p| bits(*p)).collect();
    let of_solid = lumps_agree(solid, body, &kept, false);
    let of_body = lumps_agree(body, solid, &kept, act == Act::Cut);
    if of_solid && of_body {
        return true;
    }
    let pair = Pair { solid, body, act };
    let within = body.bbox;
    let in_reach = |p: &Vec3| within.contains_point(to_kernel_vec(*p));
    [solid, body].into_iter().all(|surface| {
        let middles: Vec<usize> = (0..surface.num_tri())
            .filter(|&t| in_reach(&middle(corners(surface, t))))
            .collect();
        let asked = middles.iter().step_by(middles.len().div_ceil(ASKED).max(1));
        asked
            .copied()
            .all(|t| pair.borne_out(result, corners(surface, t)))
    })
}

/// The two that a result was made from.
struct Pair<'a> {
    solid: &'a ManifoldImpl,
    body: &'a ManifoldImpl,
    act: Act,
}

impl Pair<'_> {
    /// Whether a result has metal where it should on both sides of a triangle; places too near a surface don't count.
    fn borne_out(&self, result: &ManifoldImpl, triangle: [Vec3; 3]) -> bool {
        let [a, b, c] = triangle;
        let out = (b - a).cross(c - a).normalize_or_zero() * ASIDE_MM;
        [-out, out].into_iter().all(|aside| {
            let p = middle(triangle) + aside;
            let (Some(in_solid), Some(in_body)) = (side(self.solid, p), side(self.body, p)) else {
                return true;
            };
            let metal = match self.act {
                Act::Add => in_solid || in_body,
                Act::Cut => in_solid && !in_body,
            };
            // Only what a ray disputes is worth the solid angles.
            leaves(result, p) == Some(i32::from(metal))
                || winds(result, p).round() == f64::from(metal)
        })
    }
}

fn middle([a, b, c]: [Vec3; 3]) -> Vec3 {
    (a + b + c) / 3.0
}

fn bits(p: manifold_rust::linalg::Vec3) -> [u64; 3] {
    [p.x, p.y, p.z].map(|x| (x + 0.0).to_bits())
}

/// Whether the lumps of one surface are kept where they lie inside the other (`inside`), or outside it. No where a vertex
/// looked at lies on the other surface: then that is for the result itself to say.
fn lumps_agree(
    of: &ManifoldImpl,
    other: &ManifoldImpl,
    kept: &FxHashSet<[u64; 3]>,
    inside: bool,
) -> bool {
    let is_kept: Vec<bool> = of
        .vert_pos
        .iter()
        .map(|p| kept.contains(&bits(*p)))
        .collect();
    lumps(of, &is_kept).iter().take(LUMPS).all(|lump| {
        let v = lump[lump.len() / 2] as usize;
        side(other, from_kernel_vec(of.vert_pos[v]))
            .is_some_and(|lies_inside| (lies_inside == inside) == is_kept[v])
    })
}

/// Vertices that hang together by edges and are all kept or all dropped, the largest lumps first.
fn lumps(mesh: &ManifoldImpl, is_kept: &[bool]) -> Vec<Vec<u32>> {
    let mut parent: Vec<u32> = (0..is_kept.len() as u32).collect();
    fn root(parent: &mut [u32], mut v: u32) -> u32 {
        while parent[v as usize] != v {
            parent[v as usize] = parent[parent[v as usize] as usize];
            v = parent[v as usize];
        }
        v
    }
    for edge in &mesh.halfedge {
        let (a, b) = (edge.start_vert as u32, edge.end_vert as u32);
        if is_kept[a as usize] == is_kept[b as usize] {
            let (a, b) = (root(&mut parent, a), root(&mut parent, b));
            parent[a.max(b) as usize] = a.min(b);
        }
    }
    let mut place = vec![usize::MAX; is_kept.len()];
    let mut lumps: Vec<Vec<u32>> = Vec::new();
    for v in 0..is_kept.len() as u32 {
        let at = &mut place[root(&mut parent, v) as usize];
        if *at == usize::MAX {
            *at = lumps.len();
            lumps.push(Vec::new());
        }
        lumps[*at].push(v);
    }
    lumps.sort_by_key(|lump| std::cmp::Reverse(lump.len()));
    lumps
}

/// Whether a point lies inside a surface; `None` where it lies too near to it to tell.
fn side(mesh: &ManifoldImpl, p: Vec3) -> Option<bool> {
    leaves(mesh, p).map(|leaves| leaves > 0)
}

/// How often more an upright ray from beside a point leaves a surface than enters it; `None` where the point lies too
/// near to it to tell.
fn leaves(mesh: &ManifoldImpl, p: Vec3) -> Option<i32> {
    let from = p + BESIDE;
    let mut leaves = 0;
    for t in 0..mesh.num_tri() {
        let [a, b, c] = corners(mesh, t);
        let low = a.min(b).min(c);
        let high = a.max(b).max(c);
        let beyond = p.x < low.x - CLEAR_MM
            || p.x > high.x + CLEAR_MM
            || p.y < low.y - CLEAR_MM
            || p.y > high.y + CLEAR_MM
            || p.z > high.z + CLEAR_MM;
        if beyond {
            continue;
        }
        if p.z >= low.z - CLEAR_MM && distance([a, b, c], p) < CLEAR_MM {
            return None;
        }
        let turn = |a: Vec3, b: Vec3| (b - a).truncate().perp_dot((from - a).truncate());
        let turns = [turn(a, b), turn(b, c), turn(c, a)];
        let way = match turns {
            [x, y, z] if x > 0.0 && y > 0.0 && z > 0.0 => 1,
            [x, y, z] if x < 0.0 && y < 0.0 && z < 0.0 => -1,
            _ => continue,
        };
        let normal = (b - a).cross(c - a);
        if (a - from).dot(normal) * f64::from(way) > 0.0 {
            leaves += way;
        }
    }
    Some(leaves)
}

/// How often a surface winds round a point.
fn winds(mesh: &ManifoldImpl, p: Vec3) -> f64 {
    turns((0..mesh.num_tri()).map(|t| corners(mesh, t)), p)
}

fn corners(mesh: &ManifoldImpl, t: usize) -> [Vec3; 3] {
    [0, 1, 2].map(|k| {
        let v = mesh.halfedge[3 * t + k].start_vert as usize;
        from_kernel_vec(mesh.vert_pos[v])
    })
}

/// Distance of a point from a triangle (mm).
fn distance([a, b, c]: [Vec3; 3], p: Vec3) -> f64 {
    let normal = (b - a).cross(c - a).normalize_or_zero();
    let within = |from: Vec3, to: Vec3| (to - from).cross(p - from).dot(normal) >= 0.0;
    if normal != Vec3::ZERO && within(a, b) && within(b, c) && within(c, a) {
        return (p - a).dot(normal).abs();
    }
    let off = |from: Vec3, to: Vec3| {
        let run = to - from;
        let t = ((p - from).dot(run) / run.length_squared().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
        (from + run * t).distance(p)
    };
    off(a, b).min(off(b, c)).min(off(c, a))
}
