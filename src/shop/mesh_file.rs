//! Reading a mesh that has no script: STL, in mm.

use std::collections::HashMap;
use std::io::Cursor;
use std::path::Path;

use crate::fault::Fault;
use crate::measure::Vec3;
use crate::solid::Solid;

/// Bytes before a binary file's triangles.
const HEAD_BYTES: usize = 84;

/// Bytes of a triangle in a binary file.
const TRIANGLE_BYTES: usize = 50;

/// Reads a closed mesh (mm), text or binary. Points that are the same to the last bit are one; triangles without area
/// are dropped; a mesh inside out is turned over. All its triangles are credited to feature 0.
///
/// # Errors
/// The file can't be read, is no STL, or its mesh isn't closed: with the first open place.
pub fn read_mesh(path: &Path) -> Result<Solid, Fault> {
    let shown = path.display();
    let bytes = std::fs::read(path).map_err(|e| Fault::new(format!("{shown}: {e}")))?;
    let no_mesh = |why: String| {
        Fault::new(format!("{shown} is no STL file: {why}"))
            .hint("text or binary STL, in mm, is read")
    };
    if !bytes.starts_with(b"solid") {
        let count = bytes
            .get(80..HEAD_BYTES)
            .and_then(|b| b.try_into().ok())
            .map(u32::from_le_bytes);
        let want = count.map(|n| HEAD_BYTES + n as usize * TRIANGLE_BYTES);
        if want.is_none_or(|want| bytes.len() < want) {
            return Err(no_mesh("it ends too early".to_string()));
        }
    }
    let read = stl_io::create_stl_reader(&mut Cursor::new(bytes))
        .and_then(Iterator::collect::<Result<Vec<stl_io::Triangle>, _>>)
        .map_err(|e| no_mesh(e.to_string()))?;
    let mut solid = welded(&read);
    if solid.triangles.is_empty() {
        return Err(no_mesh("it holds no triangle".to_string()));
    }
    if let Some(trouble) = open_edge(&solid) {
        let [x, y, z] = trouble.at.to_array();
        return Err(Fault::new(format!(
            "the mesh of {shown} isn't closed: {} of its edges don't pair up, the first at [{x:.3}, {y:.3}, {z:.3}]",
            trouble.count
        ))
        .hint("each edge of a closed mesh has a triangle on either side, running in opposite directions"));
    }
    if volume(&solid) < 0.0 {
        solid.triangles.iter_mut().for_each(|t| t.swap(1, 2));
    }
    Ok(solid)
}

fn welded(read: &[stl_io::Triangle]) -> Solid {
    let mut known: HashMap<[u32; 3], u32> = HashMap::new();
    let mut solid = Solid::default();
    for triangle in read {
        let t = triangle.vertices.map(|v| {
            // Adding zero makes -0 and 0 the same bits.
            let [x, y, z] = [v[0], v[1], v[2]].map(|c| c + 0.0);
            *known
                .entry([x.to_bits(), y.to_bits(), z.to_bits()])
                .or_insert_with(|| {
                    let p = Vec3::new(f64::from(x), f64::from(y), f64::from(z));
                    solid.points.push(p);
                    (solid.points.len() - 1) as u32
                })
        });
        if t[0] != t[1] && t[1] != t[2] && t[2] != t[0] {
            solid.triangles.push(t);
        }
    }
    solid.features = vec![0; solid.triangles.len()];
    solid
}

/// Edges that don't pair up.
struct Open {
    count: usize,
    /// The middle of the first one (mm).
    at: Vec3,
}

/// Edges that are run along more often one way than the other: how many, and where the first is.
fn open_edge(solid: &Solid) -> Option<Open> {
    let mut runs: HashMap<[u32; 2], i32> = HashMap::new();
    let edges = || {
        solid
            .triangles
            .iter()
            .flat_map(|t| (0..3).map(|k| [t[k], t[(k + 1) % 3]]))
    };
    for [a, b] in edges() {
        *runs.entry([a.min(b), a.max(b)]).or_default() += if a < b { 1 } else { -1 };
    }
    let count = runs.values().filter(|n| **n != 0).count();
    let [a, b] = edges().find(|[a, b]| runs[&[*a.min(b), *a.max(b)]] != 0)?;
    Some(Open {
        count,
        at: (solid.points[a as usize] + solid.points[b as usize]) * 0.5,
    })
}

/// Six times the signed volume (mm³).
fn volume(solid: &Solid) -> f64 {
    let from = solid.points[0];
    let at = |i: u32| solid.points[i as usize] - from;
    solid
        .triangles
        .iter()
        .map(|t| at(t[0]).dot(at(t[1]).cross(at(t[2]))))
        .sum()
}
