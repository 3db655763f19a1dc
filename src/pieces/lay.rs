//! Lays a piece flat as it is cut: on its joint or the flat side across from it, whichever is larger; a piece without a
//! joint on its largest flat side.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::drawing::Part;
use crate::measure::{Frame, Vec3};
use crate::pieces::boards::board_for;
use crate::pieces::cut::Rough;
use crate::pieces::{FoamPiece, Kind, Parting};
use crate::solid::{NO_FEATURE, Solid};

/// A point this near to the outermost one lies in the same flat side (mm): what two roundings to f32 can differ by.
const FLAT_MM: f64 = 1e-3;
/// Directions are one where they differ by less.
const SAME_WAY: f64 = 1e-4;
/// The most directions looked at beside joints and axes: the largest facets'.
const MOST_WAYS: usize = 24;
/// Overhangs under this don't call for a second side (mm²).
const OVERHANG_MM2: f64 = 1.0;

/// A way to lay a piece.
#[derive(Debug, Clone)]
pub(super) struct Lie {
    /// Where it lies in the pattern.
    pub frame: Frame,
    /// Length, width and height.
    pub size_mm: Vec3,
    /// Area of what it lies on (mm²).
    pub area_mm2: f64,
}

/// Lays every piece.
pub(super) fn laid(part: &Part, rough: &[Rough], splits: &[Parting]) -> Vec<FoamPiece> {
    let names = names(rough);
    rough
        .iter()
        .zip(names)
        .map(|(piece, name)| lay(part, piece, name, splits))
        .collect()
}

/// Names that tell pieces apart: those of one name are numbered.
fn names(rough: &[Rough]) -> Vec<String> {
    let parted = rough
        .iter()
        .any(|r| r.name.is_some() && r.kind == Kind::Body);
    let loose = rough.iter().any(|r| matches!(r.kind, Kind::Loose(_)));
    let plain = |r: &Rough| match &r.name {
        Some(name) => name.clone(),
        None if parted => "upper".to_string(),
        None if loose => "body".to_string(),
        None => "whole".to_string(),
    };
    let mut count: BTreeMap<String, usize> = BTreeMap::new();
    for piece in rough {
        *count.entry(plain(piece)).or_default() += 1;
    }
    let mut given: BTreeMap<String, usize> = BTreeMap::new();
    rough
        .iter()
        .map(|piece| {
            let name = plain(piece);
            if count[&name] == 1 {
                return name;
            }
            let number = given.entry(name.clone()).or_default();
            *number += 1;
            format!("{name}.{number}")
        })
        .collect()
}

fn lay(part: &Part, piece: &Rough, name: String, splits: &[Parting]) -> FoamPiece {
    let lies = lies(part, piece, splits);
    let asked = |lie: &Lie| {
        piece
            .down
            .is_none_or(|down| lie.frame.z.dot(down).abs() > 1.0 - 1e-6)
    };
    let fits = |lie: &&Lie| asked(lie) && board_for(part, lie.size_mm).is_some();
    let lie = lies
        .iter()
        .find(fits)
        .or(lies.iter().find(|l| asked(l)))
        .unwrap_or(&lies[0]);
    flat(part, piece, name, lie)
}

/// The piece lying so.
pub(super) fn flat(part: &Part, piece: &Rough, name: String, lie: &Lie) -> FoamPiece {
    let mut seen = piece.solid.seen_from(&lie.frame);
    for feature in &mut seen.features {
        if *feature >= part.features.len() {
            *feature = NO_FEATURE;
        }
    }
    let settled = seen.settled();
    let size_mm = settled.figures.high_mm - settled.figures.low_mm;
    FoamPiece {
        name,
        size_mm,
        volume_mm3: settled.figures.volume_mm3,
        board: board_for(part, size_mm),
        sides: sides(&settled.solid),
        kind: piece.kind,
        count: part.patterns(),
        blank: None,
        glued: Vec::new(),
        features: features(&settled.solid),
        site: piece.site.clone(),
        lay: lie.frame,
        solid: Arc::new(settled.solid),
    }
}

/// Ways to lay a piece, best first; never empty.
pub(super) fn lies(part: &Part, piece: &Rough, splits: &[Parting]) -> Vec<Lie> {
    let joints = joint_ways(part, piece, splits);
    let solid = &piece.solid;
    let mut ways = joints.clone();
    ways.extend([Vec3::NEG_Z, Vec3::Z]);
    if joints.is_empty() {
        ways.extend(facet_ways(solid));
    }
    let mut lies: Vec<Lie> = Vec::new();
    for (i, down) in ways.iter().enumerate() {
        let seen_before = ways[..i].iter().any(|w| (*w - *down).length() < SAME_WAY);
        if !seen_before {
            lies.push(lie(solid, *down));
        }
    }
    if !joints.is_empty() {
        // What is cut at a joint is cut square to it.
        lies.truncate(joints.len().max(1));
    }
    let most = lies.iter().map(|l| l.area_mm2).fold(0.0, f64::max);
    // Sides of one size are as good: the first of them is taken.
    lies.sort_by_key(|l| -(l.area_mm2 / most.max(1.0) * 1e6).round() as i64);
    lies
}

/// Both directions square to each joint of a piece. What only carries a loose piece isn't cut square to its seat.
fn joint_ways(part: &Part, piece: &Rough, splits: &[Parting]) -> Vec<Vec3> {
    let mut ways: Vec<Vec3> = Vec::new();
    for (number, split) in splits.iter().enumerate() {
        let id = part.features.len() + number;
        let carries =
            split.loose && !matches!(piece.kind, Kind::Loose(own) if split.of.contains(&own));
        if carries || !piece.solid.features.contains(&id) {
            continue;
        }
        for way in [-split.plane.normal, split.plane.normal] {
            if !ways.iter().any(|w| (*w - way).length() < SAME_WAY) {
                ways.push(way);
            }
        }
    }
    ways
}

/// Where the largest facets look.
fn facet_ways(solid: &Solid) -> Vec<Vec3> {
    let mut areas: BTreeMap<[i64; 3], f64> = BTreeMap::new();
    for [a, b, c] in solid.corners() {
        let doubled = (b - a).cross(c - a);
        let area = doubled.length();
        if area > 0.0 {
            let key = (doubled / area)
                .to_array()
                .map(|x| (x * 1e5).round() as i64);
            *areas.entry(key).or_default() += area;
        }
    }
    let mut areas: Vec<([i64; 3], f64)> = areas.into_iter().collect();
    areas.sort_by(|a, b| b.1.total_cmp(&a.1));
    let way = |key: &[i64; 3]| Vec3::from_array(key.map(|x| x as f64)).normalize();
    areas
        .iter()
        .take(MOST_WAYS)
        .map(|(key, _)| way(key))
        .collect()
}

/// A piece with this direction down.
fn lie(solid: &Solid, down: Vec3) -> Lie {
    let mut frame = Frame::facing(Vec3::ZERO, -down, None);
    if !frame.right_handed() {
        frame.y = -frame.y;
    }
    lie_in(solid, frame)
}

/// A piece with a frame's z up and its x along the board; the frame is right-handed.
pub(super) fn lie_in(solid: &Solid, mut frame: Frame) -> Lie {
    let box_of = crate::measure::Bounds::of(solid.points.iter().map(|p| frame.local(*p)));
    let floor = |p: &Vec3| frame.local(*p).z < box_of.low.z + FLAT_MM;
    let area_mm2 = solid
        .corners()
        .filter(|corners| corners.iter().all(floor))
        .map(|[a, b, c]| (b - a).cross(c - a).length() / 2.0)
        .sum();
    frame.origin = frame.point(box_of.low);
    Lie {
        frame,
        size_mm: box_of.size(),
        area_mm2,
    }
}

/// From how many sides a piece that lies flat is cut.
pub(super) fn sides(solid: &Solid) -> u8 {
    let overhang: f64 = solid
        .corners()
        .filter(|corners| corners.iter().any(|p| p.z > FLAT_MM))
        .map(|[a, b, c]| -(b - a).cross(c - a).z / 2.0)
        .filter(|area| *area > 0.0)
        .sum();
    if overhang > OVERHANG_MM2 { 2 } else { 1 }
}

/// Features with a surface on a piece, largest first.
fn features(solid: &Solid) -> Vec<usize> {
    let mut areas: BTreeMap<usize, f64> = BTreeMap::new();
    for ([a, b, c], &feature) in solid.corners().zip(&solid.features) {
        *areas.entry(feature).or_default() += (b - a).cross(c - a).length();
    }
    areas.remove(&NO_FEATURE);
    let mut areas: Vec<(usize, f64)> = areas.into_iter().collect();
    areas.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    areas.into_iter().map(|(id, _)| id).collect()
}
