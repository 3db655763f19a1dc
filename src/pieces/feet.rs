//! The wax at the feet of loose pieces: how long it is, and which piece each of it is laid at.
//!
//! A feature that comes in several pieces has its wax parted among them, by the planes that part the pieces: each has its
//! own length and volume, and together they are what was there.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::drawing::Part;
use crate::drawing::feature::Form;
use crate::drawing::given::FeatureId;
use crate::measure::{FLUSH_MM, Plane, Vec3};
use crate::pieces::cut::{NO_JOINT, Rough, sides};
use crate::pieces::{Kind, Parting, Wax};
use crate::solid::Solid;

/// What lies this near to a seat's plane lies in it (mm).
const SEATED_MM: f64 = 1e-3;

/// Marks where a fillet is parted, while its corner is looked for: not a face of the corner.
const SECTION: FeatureId = NO_JOINT + 1;

/// The radius of a feature's foot fillet, as drawn (mm).
pub(super) fn radius(part: &Part, id: FeatureId) -> f64 {
    match &part.features[id].form {
        Form::Raised(raised) => raised.trim.fillet.unwrap_or(0.0).min(raised.height),
        Form::Rib(rib) => {
            let high = rib.heights.iter().copied().fold(0.0, f64::max);
            rib.trim.fillet.unwrap_or(0.0).min(high)
        }
        Form::Flange(flange) => flange.fillet,
        _ => 0.0,
    }
}

/// How long a fillet is along the corner that it fills (mm); `beside` is the number of the cut that made the piece's wall.
pub(super) fn length(wax: &Solid, plane: &Plane, beside: usize) -> f64 {
    // Not `sum`: that of nothing is -0.
    let corner = corner(wax, plane, beside);
    corner.iter().fold(0.0, |sum, [a, b]| sum + a.distance(*b))
}

/// The corner that a fillet fills: where its face in the seat's plane and its cut faces of one number beside that meet.
fn corner(wax: &Solid, plane: &Plane, beside: usize) -> Vec<[Vec3; 2]> {
    let point = |v: u32| wax.points[v as usize];
    let seated = |t: &[u32; 3]| {
        t.iter()
            .all(|&v| plane.distance(point(v)).abs() < SEATED_MM)
    };
    let mut floor = BTreeSet::new();
    let mut walls = Vec::new();
    for (triangle, feature) in wax.triangles.iter().zip(&wax.features) {
        let sides = (0..3).map(|k| (triangle[k], triangle[(k + 1) % 3]));
        if seated(triangle) {
            floor.extend(sides);
        } else if *feature == beside {
            walls.extend(sides);
        }
    }
    let along = walls.into_iter().filter(|(a, b)| floor.contains(&(*b, *a)));
    along.map(|(a, b)| [point(a), point(b)]).collect()
}

/// The wax with the pieces that it is laid at, a row a piece.
pub(super) fn of_pieces(
    part: &Part,
    wax: Vec<Wax>,
    rough: &[Rough],
    splits: &[Parting],
) -> Vec<Wax> {
    let mut out = Vec::new();
    for wax in wax {
        let own = |p: &usize| rough[*p].kind == Kind::Loose(wax.feature);
        let own: Vec<usize> = (0..rough.len()).filter(own).collect();
        match own[..] {
            [] => {}
            [piece] => out.push(Wax { piece, ..wax }),
            _ => out.extend(shared(part, &wax, &own, rough, splits)),
        }
    }
    out
}

/// The wax of a feature in several pieces, a row for each that has any.
fn shared(part: &Part, wax: &Wax, own: &[usize], rough: &[Rough], splits: &[Parting]) -> Vec<Wax> {
    let seat = splits
        .iter()
        .position(|s| s.loose && s.of.first() == Some(&wax.feature));
    let Some(seat) = seat else {
        return Vec::from([Wax {
            piece: own[0],
            ..wax.clone()
        }]);
    };
    let beside = match part.features[wax.feature].form {
        Form::Flange(_) => NO_JOINT,
        _ => part.features.len() + seat,
    };
    let plane = &splits[seat].plane;
    let mut bits = vec![Solid::clone(&wax.solid)];
    for split in splits.iter().filter(|s| !s.loose && parts(s, own, rough)) {
        // What can't be cut stays whole, and is laid at the piece that has most of it.
        let cut = |bit: Solid| match sides(&bit, &split.plane, SECTION) {
            Ok((under, above)) if !under.is_empty() && !above.is_empty() => {
                under.into_iter().chain(above).collect()
            }
            _ => vec![bit],
        };
        bits = bits.into_iter().flat_map(cut).collect();
    }
    let mut each: BTreeMap<usize, Wax> = BTreeMap::new();
    for mut bit in bits.iter().flat_map(Solid::bodies) {
        let corner = corner(&bit, plane, beside);
        let piece = nearest(&bit, &corner, own, rough);
        let row = each.entry(piece).or_insert_with(|| Wax {
            piece,
            length_mm: 0.0,
            volume_mm3: 0.0,
            solid: Arc::default(),
            ..wax.clone()
        });
        row.length_mm += corner.iter().fold(0.0, |sum, [a, b]| sum + a.distance(*b));
        row.volume_mm3 += bit.volume_mm3();
        for feature in bit.features.iter_mut().filter(|f| **f == SECTION) {
            *feature = NO_JOINT;
        }
        Arc::make_mut(&mut row.solid).append(&bit);
    }
    each.into_values().collect()
}

/// Whether a split parts two of some pieces.
fn parts(split: &Parting, own: &[usize], rough: &[Rough]) -> bool {
    let side = |p: &usize| {
        let distances = rough[*p]
            .solid
            .points
            .iter()
            .map(|q| split.plane.distance(*q));
        distances.fold([0.0, 0.0], |[low, high]: [f64; 2], d| {
            [low.min(d), high.max(d)]
        })
    };
    let reach: Vec<[f64; 2]> = own.iter().map(side).collect();
    reach.iter().any(|[low, _]| *low > -FLUSH_MM) && reach.iter().any(|[_, high]| *high < FLUSH_MM)
}

/// The piece that most of a corner runs along.
fn nearest(bit: &Solid, corner: &[[Vec3; 2]], own: &[usize], rough: &[Rough]) -> usize {
    let at = |p: Vec3| {
        let far = |piece: &usize| away_mm2(&rough[*piece].solid, p);
        let least = own.iter().map(|piece| (far(piece), *piece));
        let least = least.min_by(|a, b| a.0.total_cmp(&b.0));
        least.map_or(own[0], |(_, piece)| piece)
    };
    if corner.is_empty() {
        return at(bit.bounds().middle());
    }
    let mut along: BTreeMap<usize, f64> = BTreeMap::new();
    for [a, b] in corner {
        *along.entry(at((*a + *b) / 2.0)).or_default() += a.distance(*b);
    }
    let most = along.into_iter().max_by(|a, b| a.1.total_cmp(&b.1));
    most.map_or(own[0], |(piece, _)| piece)
}

/// The square of how far a point is from the edges of a solid (mm²).
fn away_mm2(solid: &Solid, p: Vec3) -> f64 {
    let mut least = f64::INFINITY;
    for corners in solid.corners() {
        for k in 0..3 {
            let (from, to) = (corners[k], corners[(k + 1) % 3]);
            let way = to - from;
            let t = (p - from).dot(way) / way.length_squared().max(f64::MIN_POSITIVE);
            least = least.min((from + way * t.clamp(0.0, 1.0)).distance_squared(p));
        }
    }
    least
}
