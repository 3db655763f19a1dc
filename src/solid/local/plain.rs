//! A whole solid as a record, without the kernel: it has nothing to mend in a mesh whose edges pair and that has no needles.

use rustc_hash::FxHashMap;

use crate::drawing::given::FeatureId;
use crate::solid::Solid;
use crate::solid::edges::{ALONE, Edges};
use crate::solid::local::mesh::{Corner, Mark, NEEDLE_MM, NewFacet, Pair, Record, lowest};

/// The flat face of a triangle isn't known yet.
const NO_FACE: u32 = u32::MAX;

/// The record that puts a solid into an empty store, each triangle's feature as its skin; `None` where the kernel's
/// import should mend it first. Corners that lie nearer to a flat face than `tolerance` (mm) lie in it.
pub(super) fn plain(solid: &Solid, tolerance: f64) -> Option<Record> {
    let Solid {
        points,
        triangles,
        features,
    } = solid;
    if triangles.iter().any(|t| lowest(points, t) < NEEDLE_MM) {
        return None;
    }
    let edges = Edges::of(triangles);
    let across = edges.across();
    if edges.bad() > 0 || across.contains(&ALONE) {
        return None;
    }
    let mut facets: Vec<NewFacet> = triangles
        .iter()
        .enumerate()
        .map(|(t, corners)| {
            let [a, b, c] = corners.map(|v| points[v as usize]);
            NewFacet {
                corners: corners.map(Corner::New),
                pairs: [0, 1, 2].map(|k| Pair::Within(across[3 * t + k])),
                mark: Mark {
                    owner: 0,
                    skin: features[t] as i32,
                    plane: 0,
                },
                normal: (b - a).cross(c - a).normalize(),
            }
        })
        .collect();
    let faces = faces(solid, &across, &facets, tolerance);
    // Numbered within each feature, so that an edit elsewhere changes none of them.
    let mut count: FxHashMap<FeatureId, i32> = FxHashMap::default();
    let mut number = vec![0; facets.len()];
    for (t, &face) in faces.iter().enumerate() {
        let first = face as usize;
        if first == t {
            let next = count.entry(features[t]).or_default();
            number[t] = *next;
            *next += 1;
        }
        facets[t].normal = facets[first].normal;
    }
    for (facet, &face) in facets.iter_mut().zip(&faces) {
        facet.mark.plane = number[face as usize];
    }
    Some(Record {
        points: points.clone(),
        facets,
        taken: None,
        change_mm3: solid.volume_mm3(),
        epsilon: 0.0,
        tolerance: 0.0,
    })
}

/// The flat face that each triangle lies in, as the number of its largest triangle: what hangs together and lies in the
/// plane of that, within one feature.
fn faces(solid: &Solid, across: &[u32], facets: &[NewFacet], tolerance: f64) -> Vec<u32> {
    let area = |t: &u32| {
        let [a, b, c] = solid.triangles[*t as usize].map(|v| solid.points[v as usize]);
        (b - a).cross(c - a).length_squared()
    };
    let mut order: Vec<(f64, u32)> = (0..facets.len() as u32).map(|t| (area(&t), t)).collect();
    order.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut of = vec![NO_FACE; facets.len()];
    let mut open = Vec::new();
    for (_, first) in order {
        if of[first as usize] != NO_FACE {
            continue;
        }
        of[first as usize] = first;
        let normal = facets[first as usize].normal;
        let offset = normal.dot(solid.points[solid.triangles[first as usize][0] as usize]);
        open.push(first);
        while let Some(t) = open.pop() {
            for side in &across[3 * t as usize..][..3] {
                let other = side / 3;
                let in_plane =
                    |v: &u32| (normal.dot(solid.points[*v as usize]) - offset).abs() < tolerance;
                if of[other as usize] == NO_FACE
                    && solid.features[other as usize] == solid.features[first as usize]
                    && solid.triangles[other as usize].iter().all(in_plane)
                {
                    of[other as usize] = first;
                    open.push(other);
                }
            }
        }
    }
    of
}
