//! A value for every place of a surface, as the preview page colours it: how thick the metal is behind it, say.
//!
//! The mesh is that of [`super::view`], cut finer so that a large facet can be thin in one place: no edge is longer than a
//! share of the part. Little-endian: the magic `FWM1`, the numbers of vertices, of triangles and of values a vertex (u32
//! each); a vertex is its place (three f32: mm, part coordinates) and its values (f32 each); a triangle is three u32. What
//! follows is the map's legend, as text; a map whose figures the page knows by itself has none.

use std::io::{self, Write};

use rustc_hash::FxHashMap;

use crate::export::view::{split, unit};
use crate::measure::Vec3;
use crate::solid::Solid;

/// The file's first four bytes.
pub const MAGIC: u32 = u32::from_le_bytes(*b"FWM1");

/// The longest edge, as a share of the part's diagonal.
const LONGEST: f64 = 0.01;

/// Edges are left longer where the surface would give more triangles than this beside the mesh's own.
const MOST_TRIANGLES: f64 = 250_000.0;

/// The value is asked for so far inside a facet's rim (mm): on the rim itself the way in would run along a side.
const INSIDE_MM: f64 = 0.05;

/// A vertex of the finer mesh.
#[derive(Clone, Copy)]
struct Place {
    at: Vec3,
    normal: Vec3,
}

/// Writes the map of a solid. `value` gives what there is at a point on the surface (mm), where the way in is that (unit).
///
/// # Errors
/// What the writer says; more vertices than the format can count.
pub fn write<const N: usize>(
    solid: &Solid,
    value: &(dyn Fn(Vec3, Vec3) -> [f64; N] + Sync),
    legend: &str,
    to: &mut dyn Write,
) -> io::Result<()> {
    let (vertices, mut triangles) = split(solid);
    let mut places: Vec<Place> = vertices
        .iter()
        .map(|v| Place {
            at: solid.points[v.point as usize],
            normal: unit(v.normal),
        })
        .collect();
    refine(&mut places, &mut triangles, longest(solid));
    let values = values(&places, &triangles, value);
    let vertex = 12 + 4 * N;
    let mut bytes = Vec::with_capacity(16 + vertex * places.len() + 12 * triangles.len());
    bytes.extend(MAGIC.to_le_bytes());
    for count in [places.len(), triangles.len(), N] {
        let count = u32::try_from(count)
            .map_err(|_| io::Error::new(io::ErrorKind::InvalidInput, "too large a mesh"))?;
        bytes.extend(count.to_le_bytes());
    }
    for (place, values) in places.iter().zip(values) {
        for x in place.at.to_array() {
            bytes.extend((x as f32).to_le_bytes());
        }
        for value in values {
            bytes.extend(value.to_le_bytes());
        }
    }
    for index in triangles.iter().flatten() {
        bytes.extend(index.to_le_bytes());
    }
    bytes.extend(legend.as_bytes());
    to.write_all(&bytes)
}

/// The longest edge for a solid (mm).
fn longest(solid: &Solid) -> f64 {
    let by_size = solid.bounds().size().length() * LONGEST;
    // An even-sided triangle of side s has 0.433 s²; halving leaves them at about half of that.
    by_size.max((solid.area_mm2() / (0.2 * MOST_TRIANGLES)).sqrt())
}

/// Halves edges until none is longer; a halved edge is halved for both of its triangles.
fn refine(places: &mut Vec<Place>, triangles: &mut Vec<[u32; 3]>, longest_mm: f64) {
    if longest_mm <= 0.0 {
        return;
    }
    let mut middles: FxHashMap<(u32, u32), u32> = FxHashMap::default();
    let mut waiting = std::mem::take(triangles);
    while let Some([a, b, c]) = waiting.pop() {
        let mut halves = |from: u32, to: u32| {
            let (p, q) = (places[from as usize], places[to as usize]);
            (p.at.distance(q.at) > longest_mm).then(|| {
                *middles
                    .entry((from.min(to), from.max(to)))
                    .or_insert_with(|| {
                        places.push(Place {
                            at: (p.at + q.at) / 2.0,
                            normal: (p.normal + q.normal).try_normalize().unwrap_or(p.normal),
                        });
                        places.len() as u32 - 1
                    })
            })
        };
        match [halves(a, b), halves(b, c), halves(c, a)] {
            [None, None, None] => triangles.push([a, b, c]),
            [Some(d), Some(e), Some(f)] => {
                waiting.extend([[a, d, f], [d, b, e], [f, e, c], [d, e, f]]);
            }
            [Some(d), Some(e), None] => waiting.extend([[a, d, e], [d, b, e], [a, e, c]]),
            [None, Some(e), Some(f)] => waiting.extend([[b, e, f], [e, c, f], [b, f, a]]),
            [Some(d), None, Some(f)] => waiting.extend([[c, f, d], [f, a, d], [c, d, b]]),
            [Some(d), None, None] => waiting.extend([[a, d, c], [d, b, c]]),
            [None, Some(e), None] => waiting.extend([[b, e, a], [e, c, a]]),
            [None, None, Some(f)] => waiting.extend([[c, f, b], [f, a, b]]),
        }
    }
}

/// The values at each place, on all cores.
fn values<const N: usize>(
    places: &[Place],
    triangles: &[[u32; 3]],
    value: &(dyn Fn(Vec3, Vec3) -> [f64; N] + Sync),
) -> Vec<[f32; N]> {
    // The middle of the triangles round each place: the way off its rim.
    let mut middle = vec![(Vec3::ZERO, 0.0); places.len()];
    for t in triangles {
        let sum: Vec3 = t.iter().map(|&v| places[v as usize].at).sum();
        for &v in t {
            let (so_far, count) = &mut middle[v as usize];
            *so_far += sum / 3.0;
            *count += 1.0;
        }
    }
    let one = |(place, (sum, count)): (&Place, &(Vec3, f64))| {
        let off = (*sum / count.max(1.0) - place.at).clamp_length_max(INSIDE_MM);
        value(place.at + off, -place.normal).map(|x| x as f32)
    };
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let share = places.len().div_ceil(cores).max(1);
    std::thread::scope(|scope| {
        let workers: Vec<_> = places
            .chunks(share)
            .zip(middle.chunks(share))
            .map(|(places, middle)| {
                scope.spawn(move || places.iter().zip(middle).map(one).collect::<Vec<_>>())
            })
            .collect();
        workers
            .into_iter()
            .flat_map(|w| w.join().unwrap_or_else(|p| std::panic::resume_unwind(p)))
            .collect()
    })
}
