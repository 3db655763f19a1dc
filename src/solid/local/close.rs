//! Closes a patch off with triangles that all miss the body's box, so that the kernel can take it for a solid.
//!
//! Each rim edge lies beyond some side of the box; a fan joins it to an apex far out on that side. Where the side
//! changes along a loop, a triangle to both apexes bridges the gap. What stays open is a cycle of edges of the
//! octahedron of the six apexes, filled by its faces; whole octahedra then make the winding number inside the box
//! that of a solid: 0 outside it, 1 within.

use std::collections::HashSet;
use std::f64::consts::PI;

use crate::measure::{Bounds, Vec3};
use crate::solid::local::patch::Patch;
use crate::solid::local::store::{Store, next};
use crate::solid::local::winding::{probe, solid_angle};

/// Why a patch can't be closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Open {
    /// None of it enters the box.
    Apart,
    /// It needs a whole boolean.
    Unfit,
}

/// A closed patch: its own triangles first.
#[derive(Debug, Clone, Default)]
pub(super) struct Closed {
    pub points: Vec<Vec3>,
    pub triangles: Vec<[u32; 3]>,
}

/// The octahedron's faces, outward; apexes are +x +y +z -x -y -z.
const FACES: [[usize; 3]; 8] = [
    [0, 1, 2],
    [3, 2, 1],
    [0, 2, 4],
    [3, 4, 2],
    [0, 5, 1],
    [3, 1, 5],
    [0, 4, 5],
    [3, 5, 4],
];

/// The directed edges between apexes that fans have used, net.
type Cycle = [[i32; 6]; 6];

/// How far a winding number may be off a whole one.
const WINDING_SLACK: f64 = 0.05;

/// A fan longer than this is a fault in the store.
const LONGEST_FAN: usize = 100_000;

/// Closes a patch round the box `region`.
pub(super) fn closed(store: &Store, patch: &Patch, region: &Bounds) -> Result<Closed, Open> {
    let mut mesh = Closed {
        points: patch.points(store),
        triangles: patch.triangles.clone(),
    };
    let first_apex = mesh.points.len() as u32;
    let own = mesh.triangles.len();
    let mut cycle = Cycle::default();
    if !patch.rim.is_empty() {
        let reach = 2.0 * region.size().element_sum();
        for axis in [Vec3::X, Vec3::Y, Vec3::Z, -Vec3::X, -Vec3::Y, -Vec3::Z] {
            mesh.points.push(region.middle() + axis * reach);
        }
        close_loops(store, patch, region, first_apex, &mut mesh, &mut cycle)?;
    }
    let faces = face_counts(&cycle).ok_or(Open::Unfit)?;
    let corners = |t: &[u32; 3]| t.map(|v| mesh.points[v as usize]);
    let (on, at) = probe(mesh.triangles[..own].iter().map(corners), region).ok_or(Open::Apart)?;
    let apart_from_own = mesh.triangles.iter().enumerate().filter(|(i, _)| *i != on);
    let mut angle: f64 = apart_from_own
        .map(|(_, t)| solid_angle(corners(t), at))
        .sum();
    let face = |f: usize| FACES[f].map(|apex| first_apex + apex as u32);
    for f in (0..8).filter(|&f| faces[f] != 0) {
        angle += f64::from(faces[f]) * solid_angle(corners(&face(f)), at);
    }
    // On its own triangle a point sees half a turn less.
    let turns = angle / (4.0 * PI) - 0.5;
    let surplus = turns.round();
    if (turns - surplus).abs() > WINDING_SLACK || (patch.rim.is_empty() && surplus != 0.0) {
        return Err(Open::Unfit);
    }
    for (f, count) in faces.iter().enumerate() {
        let copies = count - surplus as i32;
        let [a, b, c] = face(f);
        let facing = if copies > 0 { [a, b, c] } else { [a, c, b] };
        for _ in 0..copies.abs() {
            mesh.triangles.push(facing);
        }
    }
    drop_unused(&mut mesh);
    Ok(mesh)
}

/// Adds the fans of every loop of the rim.
fn close_loops(
    store: &Store,
    patch: &Patch,
    region: &Bounds,
    first_apex: u32,
    mesh: &mut Closed,
    cycle: &mut Cycle,
) -> Result<(), Open> {
    let mut seen: HashSet<u32> = HashSet::with_capacity(patch.rim.len());
    let mut claimed: HashSet<u32> = HashSet::with_capacity(patch.rim.len());
    for &start in &patch.rim {
        if seen.contains(&start) {
            continue;
        }
        // Edges of the loop by their start vertices.
        let mut along: Vec<u32> = Vec::new();
        let mut h = start;
        loop {
            seen.insert(h);
            h = next_on_rim(store, patch, h, &mut claimed, mesh, &mut along)?;
            if h == start {
                break;
            }
        }
        // `along` holds the end of each edge; turned by one, its start.
        along.rotate_right(1);
        let points: Vec<Vec3> = along.iter().map(|&v| mesh.points[v as usize]).collect();
        let sides = sides(&points, region).ok_or(Open::Unfit)?;
        let count = along.len();
        for i in 0..count {
            let (a, b) = (along[i], along[(i + 1) % count]);
            let (side, before) = (sides[i], sides[(i + count - 1) % count]);
            mesh.triangles.push([b, a, first_apex + side as u32]);
            if before != side {
                mesh.triangles
                    .push([a, first_apex + before as u32, first_apex + side as u32]);
                cycle[before][side] += 1;
            }
        }
    }
    Ok(())
}

/// The rim edge that starts where `h` ends. Its start goes to `along`: the vertex itself for the first fan that
/// comes by, a copy for each later one.
fn next_on_rim(
    store: &Store,
    patch: &Patch,
    h: u32,
    claimed: &mut HashSet<u32>,
    mesh: &mut Closed,
    along: &mut Vec<u32>,
) -> Result<u32, Open> {
    let mut fan = vec![h / 3];
    let mut n = next(h);
    while !patch.on_rim(store, n) {
        n = next(store.pairs[n as usize]);
        fan.push(n / 3);
        if fan.len() > LONGEST_FAN {
            return Err(Open::Unfit);
        }
    }
    let vertex = patch.start(n);
    let mut own = vertex;
    if !claimed.insert(vertex) {
        own = mesh.points.len() as u32;
        mesh.points.push(mesh.points[vertex as usize]);
        for t in fan {
            for corner in &mut mesh.triangles[patch.place[&t] as usize] {
                if *corner == vertex {
                    *corner = own;
                }
            }
        }
    }
    along.push(own);
    Ok(n)
}

/// A side of the box that each edge of a loop lies beyond, the last one as long as it serves.
fn sides(points: &[Vec3], region: &Bounds) -> Option<Vec<usize>> {
    let beyond = |p: Vec3, side: usize| match side {
        0..3 => p[side] > region.high[side],
        _ => p[side - 3] < region.low[side - 3],
    };
    let mut last = None;
    let mut sides = Vec::with_capacity(points.len());
    for (i, &a) in points.iter().enumerate() {
        let b = points[(i + 1) % points.len()];
        let serves = |&side: &usize| beyond(a, side) && beyond(b, side);
        last = last.filter(serves).or_else(|| (0..6).find(serves));
        sides.push(last?);
    }
    Some(sides)
}

/// How many of each face close the cycle, up to whole octahedra.
fn face_counts(cycle: &Cycle) -> Option<[i32; 8]> {
    let net = |a: usize, b: usize| cycle[a][b] - cycle[b][a];
    let mut counts: [Option<i32>; 8] = [Some(0), None, None, None, None, None, None, None];
    let mut open = vec![0];
    while let Some(f) = open.pop() {
        for k in 0..3 {
            let (a, b) = (FACES[f][k], FACES[f][(k + 1) % 3]);
            let across =
                (0..8).find(|&g| (0..3).any(|i| FACES[g][i] == b && FACES[g][(i + 1) % 3] == a))?;
            let count = counts[f]? + net(a, b);
            match counts[across] {
                None => {
                    counts[across] = Some(count);
                    open.push(across);
                }
                Some(known) if known != count => return None,
                Some(_) => {}
            }
        }
    }
    Some(counts.map(|c| c.unwrap_or(0)))
}

/// Drops points that no triangle uses.
fn drop_unused(mesh: &mut Closed) {
    const UNUSED: u32 = u32::MAX;
    let mut number = vec![UNUSED; mesh.points.len()];
    for &v in mesh.triangles.iter().flatten() {
        number[v as usize] = 0;
    }
    let mut kept = Vec::with_capacity(mesh.points.len());
    for (n, p) in number.iter_mut().zip(&mesh.points) {
        if *n != UNUSED {
            *n = kept.len() as u32;
            kept.push(*p);
        }
    }
    mesh.points = kept;
    for t in &mut mesh.triangles {
        *t = t.map(|v| number[v as usize]);
    }
}
