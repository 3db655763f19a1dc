//! Plane regions between closed rings as triangles.
//!
//! A constrained Delaunay triangulation (the `spade` crate) of all ring points, then a flood fill that starts
//! outside and flips a bit at each ring edge it crosses (the even-odd rule). Large regions get a grid of extra
//! points, so that no sliver reaches across a whole face. Promise: triangles are counter-clockwise, use every
//! ring edge exactly as given, and the result depends on the points alone.

use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};

use crate::measure::{GRID_CLEAR_MM, GRID_FROM_MM, GRID_MM, Vec2};

/// Why a region can't be triangulated: rings cross, or touch, near this place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Conflict {
    /// A place on the trouble.
    pub near: Vec2,
}

/// An edge of an arrangement: two point indices, and the bits that change as one crosses it.
/// No bits: a crease, an edge that the triangles must keep.
pub(super) type RimEdge = (u32, u32, u8);

/// Triangulates everything that `edges` enclose. Gives counter-clockwise triangles with the bits in force
/// inside each, leaving out those without any.
///
/// # Errors
/// [`Conflict`] where two points coincide or two edges cross.
pub(super) fn arrange(points: &[Vec2], edges: &[RimEdge]) -> Result<Vec<([u32; 3], u8)>, Conflict> {
    let nowhere = Conflict {
        near: points.first().copied().unwrap_or(Vec2::ZERO),
    };
    let mut bits: Vec<(u64, u8)> = edges
        .iter()
        .map(|&(a, b, bits)| (key(a, b), bits))
        .collect();
    bits.sort_unstable();
    if let Some(twice) = bits.windows(2).find(|w| w[0].0 == w[1].0) {
        return Err(Conflict {
            near: points[(twice[0].0 >> 32) as usize],
        });
    }
    let mut crossing = None;
    let plane = ConstrainedDelaunayTriangulation::<Point2<f64>>::try_bulk_load_cdt(
        points.iter().map(|p| Point2::new(p.x, p.y)).collect(),
        edges
            .iter()
            .map(|&(a, b, _)| [a as usize, b as usize])
            .collect(),
        |edge| crossing = crossing.or(Some(edge)),
    )
    .map_err(|_| nowhere)?;
    if plane.num_vertices() != points.len() {
        return Err(Conflict {
            near: twin(points).unwrap_or(nowhere.near),
        });
    }
    if let Some([a, b]) = crossing {
        return Err(Conflict {
            near: (points[a] + points[b]) * 0.5,
        });
    }
    // The bits in force in each face, `None` until reached; the outer face is 0.
    let mut inside: Vec<Option<u8>> = vec![None; plane.num_all_faces()];
    let flip = |edge: &spade::handles::DirectedEdgeHandle<'_, _, _, _, _>| -> Result<u8, Conflict> {
        if !edge.is_constraint_edge() {
            return Ok(0);
        }
        let (a, b) = (edge.from().fix().index(), edge.to().fix().index());
        let found = bits.binary_search_by_key(&key(a as u32, b as u32), |e| e.0);
        found
            .map(|i| bits[i].1)
            .map_err(|_| Conflict { near: points[a] })
    };
    let mut todo = Vec::new();
    for edge in plane.convex_hull() {
        let inner = if edge.face().is_outer() {
            edge.rev()
        } else {
            edge
        };
        let slot = &mut inside[inner.face().fix().index()];
        if slot.is_none() && !inner.face().is_outer() {
            *slot = Some(flip(&inner)?);
            todo.push(inner.face().fix());
        }
    }
    while let Some(face) = todo.pop() {
        let here = inside[face.index()].unwrap_or(0);
        let Some(face) = plane.face(face).as_inner() else {
            continue;
        };
        for edge in face.adjacent_edges() {
            let over = edge.rev().face();
            if !over.is_outer() && inside[over.fix().index()].is_none() {
                inside[over.fix().index()] = Some(here ^ flip(&edge)?);
                todo.push(over.fix());
            }
        }
    }
    let of = |f: usize| inside[f].unwrap_or(0);
    let kept = plane.inner_faces().filter(|f| of(f.fix().index()) != 0);
    Ok(kept
        .map(|f| {
            (
                f.vertices().map(|v| v.fix().index() as u32),
                of(f.fix().index()),
            )
        })
        .collect())
}

/// Triangulates the inside of rings. Indices count through the rings' points in order, then `inner`.
///
/// # Errors
/// As [`arrange`].
pub(super) fn fill(
    rings: &[Vec<Vec2>],
    inner: &[Vec2],
    creases: &[(u32, u32)],
) -> Result<Vec<[u32; 3]>, Conflict> {
    let plain = inner.is_empty() && creases.is_empty() && rings.len() == 1;
    if let Some(triangles) = rings.first().filter(|_| plain).and_then(|r| fill_convex(r)) {
        return Ok(triangles);
    }
    let mut points: Vec<Vec2> = rings.iter().flatten().copied().collect();
    let mut edges = Vec::with_capacity(points.len() + creases.len());
    let mut first = 0;
    for ring in rings {
        let n = ring.len() as u32;
        edges.extend((0..n).map(|i| (first + i, first + (i + 1) % n, 1)));
        first += n;
    }
    points.extend_from_slice(inner);
    edges.extend(creases.iter().map(|&(a, b)| (a, b, 0)));
    Ok(arrange(&points, &edges)?
        .into_iter()
        .map(|(t, _)| t)
        .collect())
}

/// Triangulates a strictly convex ring by cutting off every second corner, again and again; `None` if it isn't.
fn fill_convex(ring: &[Vec2]) -> Option<Vec<[u32; 3]>> {
    let n = ring.len();
    let turn = |i: usize| {
        let (a, b, c) = (ring[i], ring[(i + 1) % n], ring[(i + 2) % n]);
        (b - a).perp_dot(c - b) / ((b - a).length() * (c - b).length())
    };
    // Turning left everywhere by less than one whole round in all: convex.
    let mut round = 0.0;
    for i in 0..n {
        let sine = turn(i);
        if sine < 1e-9 || !sine.is_finite() {
            return None;
        }
        let (a, b, c) = (ring[i], ring[(i + 1) % n], ring[(i + 2) % n]);
        round += (b - a).angle_to(c - b);
    }
    if round > 1.5 * std::f64::consts::TAU {
        return None;
    }
    let mut left: Vec<u32> = (0..n as u32).collect();
    let mut triangles = Vec::with_capacity(n - 2);
    while left.len() > 2 {
        let m = left.len();
        triangles.extend((0..m / 2).map(|i| [left[2 * i], left[2 * i + 1], left[(2 * i + 2) % m]]));
        left = left.into_iter().step_by(2).collect();
    }
    Some(triangles)
}

/// The extra points of a large region: a square grid, multiples of the pitch in the region's own coordinates,
/// inside the rings and clear of their rims.
pub(super) fn grid(rings: &[Vec<Vec2>]) -> Vec<Vec2> {
    let all = || rings.iter().flatten();
    let low = all().fold(Vec2::INFINITY, |a, p| a.min(*p));
    let high = all().fold(Vec2::NEG_INFINITY, |a, p| a.max(*p));
    if (high - low).max_element() <= GRID_FROM_MM {
        return Vec::new();
    }
    let steps = |from: f64, to: f64| (from / GRID_MM).ceil() as i64..=(to / GRID_MM).floor() as i64;
    let mut points = Vec::new();
    for row in steps(low.y, high.y) {
        for column in steps(low.x, high.x) {
            let p = Vec2::new(column as f64, row as f64) * GRID_MM;
            if well_inside(rings, p) {
                points.push(p);
            }
        }
    }
    points
}

/// How finely long runs are cut (mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pitch {
    /// A longer run is cut.
    pub over: f64,
    /// At multiples of this.
    pub every: f64,
    /// No cut lies nearer to an end.
    pub clear: f64,
}

impl Pitch {
    /// That of large flat faces.
    pub(super) const GRID: Pitch = Pitch {
        over: GRID_FROM_MM,
        every: GRID_MM,
        clear: GRID_CLEAR_MM,
    };

    /// So fine that no run of a body laid over a cylinder, out to a reach from its middle, stands off it by more than
    /// `sag_mm`.
    pub(super) fn over_cylinder(radius_mm: f64, reach_mm: f64, sag_mm: f64) -> Pitch {
        let steep = (1.0 - (reach_mm / radius_mm).powi(2)).max(0.04).sqrt();
        let every = (2.0 * (2.0 * radius_mm * sag_mm).sqrt() * steep).clamp(0.1, GRID_MM);
        Pitch {
            over: every,
            every,
            clear: every * 0.2,
        }
    }
}

/// A ring with its long runs cut where they pass multiples of the pitch, counted along the run's direction
/// from the region's origin: parallel runs of neighbouring levels are cut at the same places.
pub(super) fn divided(ring: &[Vec2], pitch: Pitch) -> Vec<Vec2> {
    let mut points = Vec::with_capacity(ring.len());
    for (i, &from) in ring.iter().enumerate() {
        points.push(from);
        let run = ring[(i + 1) % ring.len()] - from;
        let length = run.length();
        if length <= pitch.over {
            continue;
        }
        let along = run / length;
        let start = from.dot(along);
        let first = ((start + pitch.clear) / pitch.every).ceil() as i64;
        let last = ((start + length - pitch.clear) / pitch.every).floor() as i64;
        points.extend((first..=last).map(|k| from + along * (k as f64 * pitch.every - start)));
    }
    points
}

/// Whether a point lies inside the rings and clear of their rims.
fn well_inside(rings: &[Vec<Vec2>], p: Vec2) -> bool {
    let mut inside = false;
    for ring in rings {
        let mut a = ring[ring.len() - 1];
        for &b in ring {
            let along = b - a;
            let t = ((p - a).dot(along) / along.length_squared()).clamp(0.0, 1.0);
            if (a + along * t).distance_squared(p) < GRID_CLEAR_MM * GRID_CLEAR_MM {
                return false;
            }
            if (a.y > p.y) != (b.y > p.y) && p.x < a.x + along.x * (p.y - a.y) / along.y {
                inside = !inside;
            }
            a = b;
        }
    }
    inside
}

/// Sorts an edge's ends into one key.
fn key(a: u32, b: u32) -> u64 {
    u64::from(a.min(b)) << 32 | u64::from(a.max(b))
}

/// A point that occurs twice.
fn twin(points: &[Vec2]) -> Option<Vec2> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    sorted.windows(2).find(|w| w[0] == w[1]).map(|w| w[0])
}
