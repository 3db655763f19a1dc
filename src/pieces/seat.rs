//! The outline of each loose piece where it is set on another: the rim of its triangles in the seat's plane.

use std::collections::{BTreeMap, BTreeSet};

use crate::drawing::Part;
use crate::measure::{Plane, Vec3};
use crate::pieces::cut::Rough;
use crate::pieces::{Dowel, FoamPiece, Kind, Parting, Seat};
use crate::solid::Solid;

/// What lies this near to the plane of a seat lies in it (mm).
const NEAR_MM: f64 = 1e-4;

/// A loop whose points all lie this near to a peg's rim is its hole (mm).
const RIM_MM: f64 = 1e-3;

/// The seats of all loose pieces, in the order of pieces; holes of pegs in them are no part of their outline.
pub(super) fn seats(
    part: &Part,
    rough: &[Rough],
    splits: &[Parting],
    pieces: &[FoamPiece],
    dowels: &[Dowel],
) -> Vec<Seat> {
    let seat = |(piece, rough): (usize, &Rough)| {
        let Kind::Loose(own) = rough.kind else {
            return None;
        };
        let number = splits
            .iter()
            .position(|s| s.loose && s.of.first() == Some(&own))?;
        let glued = pieces[piece].glued.iter().filter(|g| g.split == number);
        let on = glued.max_by(|a, b| {
            a.area_mm2
                .total_cmp(&b.area_mm2)
                .then(b.piece.cmp(&a.piece))
        })?;
        let id = part.features.len() + number;
        let hole = |points: &Vec<Vec3>| {
            let mut own = dowels.iter().filter(|d| d.split == number);
            let off = |d: &Dowel, p: &Vec3| (p.distance(d.at) - d.dia_mm / 2.0).abs();
            own.any(|d| points.iter().all(|p| off(d, p) < RIM_MM))
        };
        // A foot in a pocket has the outline of its seat at its end.
        let split = &splits[number];
        let mut loops = loops(&rough.solid, &split.joint(), id);
        loops.retain(|points| !hole(points));
        for p in loops.iter_mut().flatten() {
            *p += split.plane.normal * split.recess_mm;
        }
        Some(Seat {
            piece,
            on: on.piece,
            loops,
        })
    };
    rough.iter().enumerate().filter_map(seat).collect()
}

/// The rim of a solid's triangles of one cut that lie in a plane.
pub(super) fn loops(solid: &Solid, plane: &Plane, id: usize) -> Vec<Vec<Vec3>> {
    let mut sides: BTreeSet<(u32, u32)> = BTreeSet::new();
    for (triangle, feature) in solid.triangles.iter().zip(&solid.features) {
        let near = |v: &u32| plane.distance(solid.points[*v as usize]).abs() < NEAR_MM;
        if *feature != id || !triangle.iter().all(near) {
            continue;
        }
        for k in 0..3 {
            sides.insert((triangle[k], triangle[(k + 1) % 3]));
        }
    }
    let rim: Vec<(u32, u32)> = sides
        .iter()
        .filter(|(a, b)| !sides.contains(&(*b, *a)))
        .copied()
        .collect();
    let mut next: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
    rim.iter()
        .rev()
        .for_each(|(a, b)| next.entry(*a).or_default().push(*b));
    let mut out = Vec::new();
    while let Some((&first, _)) = next.iter().find(|(_, to)| !to.is_empty()) {
        let (mut at, mut points) = (first, Vec::new());
        while let Some(to) = next.get_mut(&at).and_then(Vec::pop) {
            points.push(solid.points[at as usize]);
            at = to;
        }
        if points.len() > 2 {
            out.push(points);
        }
    }
    out
}
