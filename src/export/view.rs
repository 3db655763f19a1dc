//! The mesh as the preview page draws it: vertices split wherever the shading or the feature changes, and the lines to draw.
//!
//! Little-endian: the magic `FWM1`, the numbers of vertices, triangles and lines (u32 each); a vertex is three f32
//! (mm, part coordinates), a normal of three i16 (32767 is 1) and the feature's number (u16, 65535 for none); a triangle is
//! three u32, counter-clockwise seen from outside; a line is two u32. A line is an edge that turns by more than the crease
//! angle of the pictures, or that parts two features; each is listed once. A view of several bodies goes on with a u32 a body:
//! how many of the vertices are its; they come body by body.

use std::io::{self, Write};

use crate::measure::Vec3;
use crate::picture::{CREASE_COS, corner_normals};
use crate::solid::Solid;

/// The first word: `FWM1`.
pub const MAGIC: u32 = u32::from_le_bytes(*b"FWM1");

/// The number that stands for no feature.
pub const NO_FEATURE: u16 = u16::MAX;

/// No vertex.
const NONE: u32 = u32::MAX;

/// A vertex of the view.
pub(super) struct Vertex {
    /// The solid's point.
    pub point: u32,
    /// See [`unit()`].
    pub normal: [i16; 3],
    feature: u16,
    /// The next vertex at the same point, or [`NONE`].
    next: u32,
}

/// Writes a solid's view.
///
/// # Errors
/// What the writer says; more triangles than the layout can count.
pub fn write(solid: &Solid, to: &mut dyn Write) -> io::Result<()> {
    write_view(solid, &[], to)
}

/// Writes the view of several bodies as one.
///
/// # Errors
/// As [`write()`].
pub fn write_bodies(bodies: &[Solid], to: &mut dyn Write) -> io::Result<()> {
    let mut all = Solid::default();
    let mut ends = Vec::with_capacity(bodies.len());
    for body in bodies {
        all.append(body);
        ends.push(all.points.len());
    }
    write_view(&all, &ends, to)
}

/// `ends` says of each body where its points end; none for one body.
fn write_view(solid: &Solid, ends: &[usize], to: &mut dyn Write) -> io::Result<()> {
    let (vertices, triangles) = split(solid);
    let lines = lines(solid, &triangles);
    let mut bytes = Vec::new();
    bytes.extend(MAGIC.to_le_bytes());
    for count in [vertices.len(), triangles.len(), lines.len()] {
        let count = u32::try_from(count).map_err(|_| {
            io::Error::new(io::ErrorKind::InvalidInput, "too large a mesh for a view")
        })?;
        bytes.extend(count.to_le_bytes());
    }
    bytes.reserve(20 * vertices.len() + 12 * triangles.len() + 8 * lines.len());
    for vertex in &vertices {
        for x in solid.points[vertex.point as usize].to_array() {
            bytes.extend((x as f32).to_le_bytes());
        }
        for n in vertex.normal {
            bytes.extend(n.to_le_bytes());
        }
        bytes.extend(vertex.feature.to_le_bytes());
    }
    for index in triangles.iter().flatten().chain(lines.iter().flatten()) {
        bytes.extend(index.to_le_bytes());
    }
    let mut first = 0;
    for end in ends {
        // No body shares a point with another, and vertices are in the order met.
        let last = vertices.partition_point(|v| (v.point as usize) < *end);
        bytes.extend(((last - first) as u32).to_le_bytes());
        first = last;
    }
    to.write_all(&bytes)
}

/// The vertices in the order met, and each triangle's three.
pub(super) fn split(solid: &Solid) -> (Vec<Vertex>, Vec<[u32; 3]>) {
    let mut first = vec![NONE; solid.points.len()];
    let mut vertices: Vec<Vertex> = Vec::with_capacity(solid.points.len());
    let normals = corner_normals(solid);
    let mut triangles = Vec::with_capacity(solid.triangles.len());
    for (t, corners) in solid.triangles.iter().enumerate() {
        let feature = u16::try_from(solid.features[t]).unwrap_or(NO_FEATURE);
        let found: [u32; 3] = std::array::from_fn(|k| {
            let (point, normal) = (corners[k], short(normals[t][k]));
            let mut at = first[point as usize];
            while at != NONE {
                let there = &vertices[at as usize];
                if there.feature == feature && there.normal == normal {
                    return at;
                }
                at = there.next;
            }
            let new = vertices.len() as u32;
            let next = std::mem::replace(&mut first[point as usize], new);
            vertices.push(Vertex {
                point,
                normal,
                feature,
                next,
            });
            new
        });
        triangles.push(found);
    }
    (vertices, triangles)
}

/// The direction that sixteen bits a part stand for.
pub(super) fn unit(normal: [i16; 3]) -> Vec3 {
    Vec3::from_array(normal.map(f64::from)).normalize_or_zero()
}

/// A unit direction in sixteen bits a part.
fn short(normal: Vec3) -> [i16; 3] {
    normal
        .to_array()
        .map(|x| (x * f64::from(i16::MAX)).round() as i16)
}

/// Edges to draw, as vertices of the triangle that runs along them upwards in point number.
fn lines(solid: &Solid, split: &[[u32; 3]]) -> Vec<[u32; 2]> {
    let units: Vec<Vec3> = solid
        .corners()
        .map(|[a, b, c]| (b - a).cross(c - a).normalize_or_zero())
        .collect();
    // For each point, the half-edges that lead down to it from a point of higher number: who lies across.
    let mut begins = vec![0u32; solid.points.len() + 1];
    let half_edges = |t: usize| {
        let c = solid.triangles[t];
        [(c[0], c[1], 0), (c[1], c[2], 1), (c[2], c[0], 2)]
    };
    let all = || (0..solid.triangles.len()).flat_map(|t| half_edges(t).map(|e| (t, e)));
    for (_, (_, to, _)) in all().filter(|(_, (from, to, _))| from > to) {
        begins[to as usize + 1] += 1;
    }
    for i in 1..begins.len() {
        begins[i] += begins[i - 1];
    }
    let mut filled = begins.clone();
    let mut across = vec![(0u32, 0u32); begins.last().map_or(0, |n| *n as usize)];
    for (t, (from, to, _)) in all().filter(|(_, (from, to, _))| from > to) {
        across[filled[to as usize] as usize] = (from, t as u32);
        filled[to as usize] += 1;
    }
    let mut lines = Vec::new();
    for (t, (from, to, k)) in all().filter(|(_, (from, to, _))| from < to) {
        let bucket = begins[from as usize] as usize..begins[from as usize + 1] as usize;
        let Some(&(_, other)) = across[bucket].iter().find(|(end, _)| *end == to) else {
            continue;
        };
        let other = other as usize;
        let turns = units[t].dot(units[other]) < CREASE_COS;
        if turns || solid.features[t] != solid.features[other] {
            lines.push([split[t][k], split[t][(k + 1) % 3]]);
        }
    }
    lines
}
