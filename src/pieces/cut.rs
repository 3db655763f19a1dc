//! Parts the pattern along the planes of its splits.

use crate::drawing::Part;
use crate::drawing::given::{FaceKey, FaceRef, FeatureId};
use crate::fault::{Fault, Faults, Site};
use crate::measure::{Bounds, FLUSH_MM, Frame, Plane, Vec3};
use crate::pattern::Stocks;
use crate::pieces::snap::{PAST_MM, overhangs, snapped};
use crate::pieces::{Kind, Parting};
use crate::solid::{BOX, Memo, Shell, Solid, SolidFault, Workpiece, minus};

/// How far a cutter stands out of what it parts (mm).
const BEYOND_MM: f64 = 10.0;
/// Foam this near to what is parted off alone stands in its way (mm).
const CLEAR_MM: f64 = 0.5;

/// A surface under this on one side of a cut doesn't make a feature part of that side (mm²).
const LEAST_SURFACE_MM2: f64 = 0.1;

/// Numbers from here on, past the part's features, are of cuts that are no joint.
pub(super) const NO_JOINT: FeatureId = 1 << 20;

/// A piece in the pattern's own place.
#[derive(Debug, Clone)]
pub(super) struct Rough {
    /// `None` until a split names it.
    pub name: Option<String>,
    pub site: Option<Site>,
    /// What it is in the pattern.
    pub kind: Kind,
    /// The direction that it lies on, or the one across, where that was chosen.
    pub down: Option<Vec3>,
    /// Triangles of split number s are of feature number `part.features.len() + s`.
    pub solid: Solid,
}

/// The planes of the script's splits in the pattern.
pub(super) fn planes(part: &Part, stocks: &Stocks, pattern: &Solid) -> Vec<Parting> {
    part.splits
        .iter()
        .filter_map(|split| {
            let plane = raw_plane(part, stocks, &split.at)?;
            let ids = split.of.iter().flat_map(|name| part.named(name)).collect();
            Some(Parting {
                name: split.name.clone(),
                plane: snapped(pattern, shrunk(part, upward(plane))),
                why: "the script says so".to_string(),
                site: split.site.clone(),
                of: ids,
                loose: false,
                recess_mm: 0.0,
                glue_mm2: 0.0,
            })
        })
        .collect()
}

/// The plane of a face as cast: with its stock where it is marked.
pub(super) fn raw_plane(part: &Part, stocks: &Stocks, at: &FaceRef) -> Option<Plane> {
    let face = part.face(at).ok()?;
    let plane = face.frame.plane();
    Some(raw_plane_of(part, stocks, face.feature, &face.key, plane))
}

/// The same of a face that is known already.
pub(super) fn raw_plane_of(
    part: &Part,
    stocks: &Stocks,
    feature: Option<FeatureId>,
    key: &FaceKey,
    mut plane: Plane,
) -> Plane {
    if let Some(id) = feature
        && let Ok(slot) = part.slot(id, key)
    {
        plane.offset += stocks.get(&(id, slot)).copied().unwrap_or(0.0);
    }
    plane
}

/// The same plane with its normal up, so that below is below. An upright plane stays as its face looks.
pub(super) fn upward(plane: Plane) -> Plane {
    if plane.normal.z < -1e-9 {
        Plane {
            normal: -plane.normal,
            offset: -plane.offset,
        }
    } else {
        plane
    }
}

/// A plane of the casting in the pattern.
pub(super) fn shrunk(part: &Part, plane: Plane) -> Plane {
    let grow = part.metal.growth();
    let normal = plane.normal / grow;
    let length = normal.length();
    Plane {
        normal: normal / length,
        offset: plane.offset / length,
    }
}

/// Parts the pattern, or what loose pieces leave of it, by the script's splits. The second value says of each whether it
/// parted anything.
pub(super) fn cut(
    part: &Part,
    rest: &Solid,
    splits: &[Parting],
) -> Result<(Vec<Rough>, Vec<bool>), Faults> {
    let plain = |solid| Rough {
        name: None,
        site: None,
        kind: Kind::Body,
        down: None,
        solid,
    };
    let mut rough: Vec<Rough> = rest.bodies().into_iter().map(plain).collect();
    let mut effective = vec![false; splits.len()];
    for (number, split) in splits.iter().enumerate() {
        if split.loose {
            effective[number] = true;
            continue;
        }
        let id = part.features.len() + number;
        let mut next = Vec::new();
        for piece in rough {
            let before = next.len();
            let parted = if split.of.is_empty() {
                whole(piece, split, id, &mut next)
            } else {
                alone(part, piece, split, id, &mut next)
            };
            parted.map_err(|text| Faults::from(Fault::new(text).from_site(&split.site)))?;
            effective[number] |= next.len() > before + 1;
        }
        rough = next;
    }
    Ok((rough, effective))
}

/// Lowest first, then from left to right and from front to back.
pub(super) fn in_order(rough: &mut [Rough]) {
    rough.sort_by_cached_key(|piece| {
        let low = piece.solid.bounds().low;
        [low.z, low.x, low.y].map(|x| (x * 1e3).round() as i64)
    });
}

/// The frame of a split, right-handed, its z the normal.
pub(super) fn frame_of(plane: &Plane) -> Frame {
    let origin = plane.normal * plane.offset;
    // Looking up, a frame keeps the part's x and y, so that a level cuts at exactly its height.
    let mut frame = Frame::facing(origin, plane.normal, None);
    if !frame.right_handed() {
        frame.y = -frame.y;
    }
    frame
}

/// How far a solid reaches below and above a plane (mm).
fn reach(solid: &Solid, plane: &Plane) -> [f64; 2] {
    let distances = solid.points.iter().map(|p| plane.distance(*p));
    distances.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], d| {
        [low.min(d), high.max(d)]
    })
}

/// The two sides of a plane.
pub(super) fn sides(
    solid: &Solid,
    plane: &Plane,
    id: FeatureId,
) -> Result<(Vec<Solid>, Vec<Solid>), String> {
    let frame = frame_of(plane);
    let box_of = Bounds::of(solid.points.iter().map(|p| frame.local(*p))).grown(BEYOND_MM);
    let below = Bounds {
        high: box_of.high.with_z(0.0),
        ..box_of
    };
    let (below, above) = match overhangs(solid, plane) {
        None => checked(solid, solid.parted(&frame, &below, id))?,
        Some(over) => {
            let corners = below.corners().map(|c| frame.point(c)).to_vec();
            let cutter = Shell::plain(corners, BOX.to_vec());
            let cutter = minus(&cutter, &over).map_err(|fault| fault.text())?;
            let parted = solid.parted_by(&cutter.points, &cutter.triangles, id);
            checked(solid, parted)?
        }
    };
    Ok((below.bodies(), above.bodies()))
}

/// What a cut gave, if both sides hold together what was cut.
pub(super) fn checked(
    solid: &Solid,
    parted: Result<(Solid, Solid), SolidFault>,
) -> Result<(Solid, Solid), String> {
    let (inside, outside) = parted.map_err(|fault| fault.text())?;
    let after = inside.volume_mm3() + outside.volume_mm3();
    held(solid.volume_mm3(), after)?;
    Ok((inside, outside))
}

/// What lies inside a closed mesh, cut out of what is left; of less than `least_mm3` nothing is.
pub(super) fn cut_out(
    rest: &mut Workpiece,
    cutter: Shell,
    id: FeatureId,
    least_mm3: f64,
    memo: &mut Memo,
) -> Result<Solid, String> {
    let before = rest.volume_mm3();
    let (points, triangles) = (cutter.points, cutter.triangles);
    let piece = rest.cut_out(points, triangles, id, least_mm3, memo);
    let piece = piece.map_err(|fault| fault.text())?;
    held(before, piece.volume_mm3() + rest.volume_mm3())?;
    Ok(piece)
}

/// Whether both sides of a cut hold together what was cut.
fn held(before: f64, after: f64) -> Result<(), String> {
    if (before - after).abs() > 1e-7 * before.max(1.0) {
        return Err(format!(
            "the two sides of this split hold {after:.3} mm³ of foam, not {before:.3}; \
             move it by a hundredth of a millimetre"
        ));
    }
    Ok(())
}

/// Parts a piece right through.
fn whole(piece: Rough, split: &Parting, id: FeatureId, out: &mut Vec<Rough>) -> Result<(), String> {
    let [low, high] = reach(&piece.solid, &split.plane);
    let below = |solid: Solid| Rough {
        name: Some(split.name.clone()),
        site: Some(split.site.clone()),
        kind: Kind::Body,
        down: None,
        solid,
    };
    if low > -FLUSH_MM {
        out.push(piece);
        return Ok(());
    }
    if high < FLUSH_MM {
        out.push(if piece.name.is_none() {
            below(piece.solid)
        } else {
            piece
        });
        return Ok(());
    }
    let (under, over) = sides(&piece.solid, &split.plane, id)?;
    out.extend(under.into_iter().map(below));
    out.extend(over.into_iter().map(|solid| Rough {
        solid,
        ..piece.clone()
    }));
    Ok(())
}

/// Whether a feature has a surface on a solid that is more than a rest of the cut.
fn shows(solid: &Solid, feature: FeatureId) -> bool {
    let own = solid.corners().zip(&solid.features);
    let area: f64 = own
        .filter(|(_, f)| **f == feature)
        .map(|([a, b, c], _)| (b - a).cross(c - a).length() / 2.0)
        .sum();
    area > LEAST_SURFACE_MM2
}

/// Parts off only what belongs to some features: the bodies above the plane that have a surface of one of them, or else
/// those below.
fn alone(
    part: &Part,
    piece: Rough,
    split: &Parting,
    id: FeatureId,
    out: &mut Vec<Rough>,
) -> Result<(), String> {
    let [low, high] = reach(&piece.solid, &split.plane);
    if low > -FLUSH_MM || high < FLUSH_MM {
        out.push(piece);
        return Ok(());
    }
    let (under, over) = sides(&piece.solid, &split.plane, id)?;
    let wanted = |solid: &Solid| split.of.iter().copied().find(|&f| shows(solid, f));
    let up = over.iter().any(|s| wanted(s).is_some());
    let side = if up { over } else { under };
    let frame = frame_of(&split.plane);
    let box_of = |solid: &Solid| Bounds::of(solid.points.iter().map(|p| frame.local(*p)));
    let (off, stay): (Vec<Solid>, Vec<Solid>) = side.into_iter().partition(|s| wanted(s).is_some());
    let in_the_way: Vec<Bounds> = stay.iter().map(box_of).collect();
    let mut rest = piece.solid.clone();
    let mut named = piece.clone();
    for body in &off {
        let feature = &part.features[wanted(body).unwrap_or(0)];
        // Round what is parted off the cutter's end stays in the air: it must not lie in a face there.
        let mut cutter = box_of(body).grown(CLEAR_MM);
        if up {
            cutter.low.z = PAST_MM;
        } else {
            cutter.high.z = -PAST_MM;
        }
        if in_the_way.iter().any(|b| b.overlaps(&cutter, 1e-6)) {
            return Err(format!(
                "{} can't be parted off alone here: other foam on the same side of the split stands too near",
                feature.name
            ));
        }
        let (inside, outside) = checked(&rest, rest.parted(&frame, &cutter, id))?;
        let name = if up {
            (feature.name.clone(), feature.site.clone())
        } else {
            (split.name.clone(), split.site.clone())
        };
        out.extend(inside.bodies().into_iter().map(|solid| Rough {
            name: Some(name.0.clone()),
            site: Some(name.1.clone()),
            kind: Kind::Body,
            down: None,
            solid,
        }));
        rest = outside;
    }
    if up && !off.is_empty() {
        named.name = Some(split.name.clone());
        named.site = Some(split.site.clone());
    }
    out.extend(rest.bodies().into_iter().map(|solid| Rough {
        solid,
        ..named.clone()
    }));
    Ok(())
}
