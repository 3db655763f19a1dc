//! From a local boolean's result to a record: the closing triangles go, and the rim must be found again bit for bit.

use rustc_hash::FxHashMap;

use manifold_rust::impl_mesh::ManifoldImpl;

use crate::measure::Vec3;
use crate::solid::local::mesh::{
    CLOSING_ID, Corner, Mark, NewFacet, Pair, Record, from_kernel_vec, owner_place,
};
use crate::solid::local::patch::Patch;
use crate::solid::local::store::{Store, next};

type Bits = [u64; 3];

fn bits(p: Vec3) -> Bits {
    // Adding zero makes -0 and 0 the same.
    p.to_array().map(|x| (x + 0.0).to_bits())
}

/// The rim's edges by the places of their ends; `None` where two are alike.
fn rim_by_ends(store: &Store, patch: &Patch) -> Option<FxHashMap<(Bits, Bits), u32>> {
    let mut rim = FxHashMap::default();
    for (i, &h) in patch.rim.iter().enumerate() {
        let ends = [h, next(h)].map(|h| bits(store.points[store.start(h) as usize]));
        if rim.insert((ends[0], ends[1]), i as u32).is_some() {
            return None;
        }
    }
    Some(rim)
}

/// What the result puts in the place of the patch; `None` where the rim has changed.
pub(super) fn record(store: &Store, patch: &Patch, result: &ManifoldImpl) -> Option<Record> {
    let rim = rim_by_ends(store, patch)?;
    let marks = &result.mesh_relation.tri_ref;
    let kept: Vec<usize> = (0..result.num_tri())
        .filter(|&t| marks[t].original_id != CLOSING_ID)
        .collect();
    let mut place: Vec<Option<u32>> = vec![None; result.num_tri()];
    for (i, &t) in kept.iter().enumerate() {
        place[t] = Some(i as u32);
    }
    let mut vertices: Vec<Option<Corner>> = vec![None; result.num_vert()];
    let point = |v: i32| from_kernel_vec(result.vert_pos[v as usize]);
    let mut pairs: Vec<Pair> = Vec::with_capacity(3 * kept.len());
    let mut found = vec![false; patch.rim.len()];
    for &t in &kept {
        for k in 0..3 {
            let half = result.halfedge[3 * t + k];
            let other = half.paired_halfedge as usize;
            if let Some(across) = place[other / 3] {
                pairs.push(Pair::Within(3 * across + (other % 3) as u32));
                continue;
            }
            let i = *rim.get(&(bits(point(half.start_vert)), bits(point(half.end_vert))))?;
            if std::mem::replace(&mut found[i as usize], true) {
                return None;
            }
            let h = patch.rim[i as usize];
            for (vertex, corner) in [(half.start_vert, h), (half.end_vert, next(h))] {
                let corner = Corner::Kept(patch.start(corner));
                let known = vertices[vertex as usize].get_or_insert(corner);
                if *known != corner {
                    return None;
                }
            }
            pairs.push(Pair::Rim(i));
        }
    }
    if found.contains(&false) {
        return None;
    }
    let mut record = Record {
        epsilon: result.epsilon,
        tolerance: result.tolerance,
        ..Record::default()
    };
    for (&t, pairs) in kept.iter().zip(pairs.chunks(3)) {
        let corners = [0, 1, 2].map(|k| {
            let v = result.halfedge[3 * t + k].start_vert;
            *vertices[v as usize].get_or_insert_with(|| {
                record.points.push(point(v));
                Corner::New(record.points.len() as u32 - 1)
            })
        });
        record.facets.push(NewFacet {
            corners,
            pairs: [pairs[0], pairs[1], pairs[2]],
            mark: Mark {
                owner: owner_place(marks[t].original_id, patch.owners.len())?,
                skin: marks[t].face_id,
                plane: marks[t].coplanar_id,
            },
            normal: from_kernel_vec(result.face_normal[t]),
        });
    }
    record.change_mm3 = change(store, patch, result, &kept);
    Some(record)
}

/// Signed change of volume (mm³): both surfaces have the same rim, so cones from any point serve.
fn change(store: &Store, patch: &Patch, result: &ManifoldImpl, kept: &[usize]) -> f64 {
    let from = result
        .vert_pos
        .first()
        .map_or(Vec3::ZERO, |p| from_kernel_vec(*p));
    let six = |corners: [Vec3; 3]| {
        let [a, b, c] = corners.map(|p| p - from);
        a.dot(b.cross(c))
    };
    let new = kept.iter().map(|t| {
        let corner = |k: usize| result.halfedge[3 * t + k].start_vert as usize;
        six([0, 1, 2].map(|k| from_kernel_vec(result.vert_pos[corner(k)])))
    });
    let old = patch.near.iter().map(|&t| six(store.corners(t)));
    (new.sum::<f64>() - old.sum::<f64>()) / 6.0
}
