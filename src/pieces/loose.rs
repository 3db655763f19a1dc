//! Loose pieces: a feature with `loose: true` is cut on its own, flat at the face it stands on, together with what stands
//! on it. Its foot fillet is wax, which belongs to no piece.
//!
//! Whatever a piece takes is taken out of the rest by one exact cut, so that pieces and wax together are the pattern.

use std::sync::Arc;

use crate::drawing::Feature;
use crate::drawing::Part;
use crate::drawing::feature::{Form, Ground, Host};
use crate::drawing::given::FeatureId;
use crate::fault::{Fault, Faults};
use crate::measure::{Bounds, CRUMB_MM3, Plane, Vec3};
use crate::pattern::Stocks;
use crate::pieces::cut::{NO_JOINT, Rough, cut_out, raw_plane_of, shrunk};
use crate::pieces::recess::Pocket;
use crate::pieces::region::{Bodies, Take, over, swollen, together, without};
use crate::pieces::snap::{PAST_MM, snapped};
use crate::pieces::{Kind, Parting, Source, Wax, feet, insert};
use crate::solid::{Memo, Shell, Solid, SolidFault, Workpiece};

/// What loose pieces leave of the pattern.
pub(super) struct Loosened {
    /// The pattern without loose pieces and their wax.
    pub rest: Workpiece,
    /// The loose pieces.
    pub rough: Vec<Rough>,
    /// The wax at their feet; the piece of each is not numbered yet.
    pub wax: Vec<Wax>,
}

impl Loosened {
    /// Lays the bodies that were cut for a loose feature with the other pieces; the row of their seat.
    pub fn set_aside(
        &mut self,
        part: &Part,
        id: FeatureId,
        bodies: Vec<Solid>,
        plane: Plane,
        recess_mm: f64,
        why: String,
    ) -> Parting {
        let feature = &part.features[id];
        self.rough.extend(bodies.into_iter().map(|solid| Rough {
            name: Some(feature.name.clone()),
            site: Some(feature.site.clone()),
            kind: Kind::Loose(id),
            down: None,
            solid,
        }));
        Parting {
            name: feature.name.clone(),
            plane,
            why,
            site: feature.site.clone(),
            of: vec![id],
            loose: true,
            recess_mm,
            glue_mm2: 0.0,
        }
    }
}

/// Cuts all loose pieces out of the pattern, as long as they are `wanted`; `splits` gets a row for each. `None` where
/// there are none.
pub(super) fn cut(
    source: &Source,
    splits: &mut Vec<Parting>,
    memo: &mut Memo,
    wanted: &dyn Fn() -> Result<(), Faults>,
) -> Result<Option<Loosened>, Faults> {
    let (part, pattern) = (source.part, source.pattern);
    let mut ids: Vec<FeatureId> = (0..part.features.len())
        .filter(|&id| part.features[id].loose)
        .collect();
    if ids.is_empty() {
        return Ok(None);
    }
    let rest = Workpiece::of(pattern, &pattern.bounds());
    let mut out = Loosened {
        rest: rest.map_err(|fault| Faults::from(Fault::new(fault.text())))?,
        rough: Vec::new(),
        wax: Vec::new(),
    };
    // What stands on a loose piece and is loose itself goes first.
    ids.sort_by_key(|&id| (std::cmp::Reverse(depth(part, id)), id));
    for id in ids {
        wanted()?;
        match part.features[id].form {
            Form::Tunnel(_) => insert::cut(part, &source.bodies, splits, &mut out, id, memo)
                .map_err(|text| uncut(part, id, text))?,
            _ => one(source, splits, &mut out, id, memo)?,
        }
    }
    Ok(Some(out))
}

/// Why a feature can't be cut as a piece of its own.
fn uncut(part: &Part, id: FeatureId, text: impl std::fmt::Display) -> Fault {
    let feature = &part.features[id];
    let text = format!("{} can't be cut as a loose piece: {text}", feature.name);
    Fault::new(text).from_site(&feature.site)
}

/// How many features a feature stands on, one on another.
fn depth(part: &Part, id: FeatureId) -> usize {
    std::iter::successors(stands_on(part, id), |&f| stands_on(part, f)).count()
}

/// What a feature stands on or goes into.
pub(super) fn stands_on(part: &Part, id: FeatureId) -> Option<FeatureId> {
    match &part.features[id].form {
        Form::Hollow(hollow) => Some(hollow.of),
        _ => part.features[id].host_feature(),
    }
    .filter(|&host| host < id)
}

/// Whether a feature stands on another, itself or through others.
pub(super) fn goes_with(part: &Part, id: FeatureId, base: FeatureId) -> bool {
    std::iter::successors(stands_on(part, id), |&f| stands_on(part, f)).any(|f| f == base)
}

/// The plane that a loose piece ends at, in the pattern; its normal looks into the piece.
fn seat(part: &Part, stocks: &Stocks, id: FeatureId) -> Plane {
    let feature = &part.features[id];
    if let Form::Flange(flange) = &feature.form {
        let bottom = raw_stock_below(part, stocks, id);
        let back = feature.frame.raised(-flange.thick - bottom);
        return shrunk(part, back.plane());
    }
    let plane = feature
        .host
        .as_ref()
        .map_or_else(|| feature.frame.plane(), |host| ground(part, stocks, host));
    shrunk(part, plane)
}

fn raw_stock_below(part: &Part, stocks: &Stocks, id: FeatureId) -> f64 {
    let slot = part.slot(id, &crate::drawing::given::FaceKey::Bottom);
    slot.ok()
        .and_then(|slot| stocks.get(&(id, slot)).copied())
        .unwrap_or(0.0)
}

/// The plane of the metal under a foot: a drafted side's own slope, and the plane that touches a round body.
fn ground(part: &Part, stocks: &Stocks, host: &Host) -> Plane {
    let plane = raw_plane_of(part, stocks, host.feature, &host.key, host.frame.plane());
    match host.ground {
        Ground::Slope { slope, top } => {
            let normal = (host.frame.z + host.frame.y * slope).normalize();
            let raised = plane.offset - host.frame.plane().offset;
            let at = host.frame.point(Vec3::new(0.0, top, raised));
            Plane {
                normal,
                offset: normal.dot(at),
            }
        }
        Ground::Flat | Ground::Round { .. } => plane,
    }
}

fn one(
    source: &Source,
    splits: &mut Vec<Parting>,
    out: &mut Loosened,
    id: FeatureId,
    memo: &mut Memo,
) -> Result<(), Fault> {
    let (part, bodies) = (source.part, &source.bodies);
    let no = |text: String| uncut(part, id, text);
    let feature = &part.features[id];
    let plane = snapped(source.pattern, seat(part, source.stocks, id));
    let number = part.features.len() + splits.len();
    let own = |f: FeatureId| f == id || goes_with(part, f, id);
    let region = region(part, bodies, id, &plane, &own, memo).map_err(|fault| no(fault.text()))?;
    let Some(mut region) = region.filter(|r| !r.triangles.is_empty()) else {
        return Err(no("nothing of it stands over its seat".to_string()));
    };
    let recess = feature.located.recess.as_ref();
    if let Some(recess) = recess {
        let mut rest = out.rest.clone();
        let foot = cut_out(&mut rest, region.clone(), number, 0.0, memo).map_err(no)?;
        let pocket = Pocket {
            part,
            id,
            recess,
            plane,
        };
        pocket.stands(over_loose(source, id, &pocket, &foot))?;
        region = pocket.cutter(&region, &foot, number, &out.rest.solid())?;
    }
    let piece = cut_out(&mut out.rest, region, number, 0.0, memo).map_err(no)?;
    let found = piece.bodies();
    if found.is_empty() {
        return Err(no("other loose pieces hold all of it".to_string()));
    }
    let why = format!("{} is loose", feature.name);
    let recess_mm = recess.map_or(0.0, |r| r.depth_mm);
    splits.push(out.set_aside(part, id, found, plane, recess_mm, why));
    let foot = Foot {
        plane,
        number,
        own: &own,
        id,
    };
    wax(part, bodies, &foot, out, memo).map_err(no)
}

/// The foam that a pocket leaves under it of the loose pieces that its feature stands on, which end at seats of their own
/// (mm).
fn over_loose(source: &Source, id: FeatureId, pocket: &Pocket, foot: &Solid) -> Option<f64> {
    let part = source.part;
    let hosts = std::iter::successors(stands_on(part, id), |&f| stands_on(part, f));
    let left = hosts.filter(|&f| part.features[f].loose).map(|f| {
        let host = seat(part, source.stocks, f);
        let let_in = part.features[f].located.recess.as_ref();
        let on = |p: &&Vec3| pocket.plane.distance(**p).abs() < PAST_MM;
        let floor = |p: &Vec3| *p - pocket.plane.normal * pocket.recess.depth_mm;
        let over = foot.points.iter().filter(on);
        let least = over.map(|p| host.distance(floor(p)));
        least.fold(f64::INFINITY, f64::min) + let_in.map_or(0.0, |r| r.depth_mm)
    });
    left.min_by(f64::total_cmp)
}

/// The metal of other features that keeps its foam where a loose piece runs into it. In an opening that is only what stands
/// in it too: of the rest, what the opening leaves.
fn in_the_way(
    part: &Part,
    bodies: &Bodies,
    id: FeatureId,
    own: &dyn Fn(FeatureId) -> bool,
    near: &Bounds,
    memo: &mut Memo,
) -> Result<Vec<Shell>, SolidFault> {
    let hosts = std::iter::successors(stands_on(part, id), |&f| stands_on(part, f));
    let openings: Vec<FeatureId> = hosts.filter(|&f| part.features[f].is_opening()).collect();
    let inside = |other: FeatureId| {
        let fills = &part.features[other].fills;
        openings.iter().any(|&opening| {
            let Feature { name, group, .. } = &part.features[opening];
            goes_with(part, other, opening) || fills.iter().any(|n| n == name || n == group)
        })
    };
    let mut out = Vec::new();
    for (other, shell) in bodies.cores(part) {
        if own(other) || !shell.bounds().meets(near) {
            continue;
        }
        let taken = if inside(other) { &[][..] } else { &openings };
        let cuts = bodies.cuts(part, taken);
        out.push(without(shell, cuts, memo)?);
    }
    Ok(out)
}

/// What a loose piece may take: its metal and all that stands on it, over the seat.
fn region(
    part: &Part,
    bodies: &Bodies,
    id: FeatureId,
    plane: &Plane,
    own: &dyn Fn(FeatureId) -> bool,
    memo: &mut Memo,
) -> Result<Option<Shell>, SolidFault> {
    let take = |f: FeatureId| match f {
        f if f == id => Some(Take::Core),
        f if own(f) => Some(Take::All),
        _ => None,
    };
    let mut shells = Vec::new();
    for shell in bodies.of(part, take) {
        shells.push(over(&swollen(&shell), plane, memo)?);
    }
    let whole = together(shells.into_iter().filter(|s| !s.triangles.is_empty()), memo)?;
    let Some(mut whole) = whole else {
        return Ok(None);
    };
    match &part.features[id].form {
        // A rib ends at the bosses that it runs into.
        Form::Rib(_) => {
            let others = in_the_way(part, bodies, id, own, &whole.bounds(), memo)?;
            whole = without(whole, others.into_iter(), memo)?;
        }
        // What rises to a face ends there.
        Form::Raised(raised) => {
            if let Some(end) = raised.up_to
                && end.normal.dot(part.features[id].frame.z) < 0.0
            {
                let end = shrunk(part, end);
                let back = Plane {
                    normal: -end.normal,
                    offset: -end.offset - PAST_MM,
                };
                whole = memo.trimmed(&whole, &back)?;
            }
        }
        _ => {}
    }
    Ok(Some(whole))
}

/// Where a loose piece was cut off.
struct Foot<'a> {
    plane: Plane,
    /// The cut's number.
    number: usize,
    /// What belongs to the piece.
    own: &'a dyn Fn(FeatureId) -> bool,
    id: FeatureId,
}

/// Takes the wax at a loose piece's foot out of the rest.
fn wax(
    part: &Part,
    bodies: &Bodies,
    foot: &Foot,
    out: &mut Loosened,
    memo: &mut Memo,
) -> Result<(), String> {
    let (plane, id) = (&foot.plane, foot.id);
    let said = |fault: SolidFault| fault.text();
    let flange = matches!(part.features[id].form, Form::Flange(_));
    let skirts = bodies.of(part, |f| (f == id).then_some(Take::Skirt));
    let mut trimmed = Vec::new();
    for skirt in skirts {
        // A little off the piece's own cut: two cuts in one plane would leave a skin. A flange's fillet lies on the other
        // side of its seat, and reaches into where the flange was.
        let seat = if flange {
            Plane {
                normal: -plane.normal,
                offset: -PAST_MM - plane.offset,
            }
        } else {
            Plane {
                offset: plane.offset + PAST_MM,
                ..*plane
            }
        };
        trimmed.push(over(&swollen(&skirt), &seat, memo).map_err(said)?);
    }
    let Some(ring) = together(trimmed.into_iter(), memo).map_err(said)? else {
        return Ok(());
    };
    let others = in_the_way(part, bodies, id, foot.own, &ring.bounds(), memo).map_err(said)?;
    let ring = without(ring, others.into_iter(), memo).map_err(said)?;
    if ring.triangles.is_empty() {
        return Ok(());
    }
    let wax = cut_out(&mut out.rest, ring, NO_JOINT, CRUMB_MM3, memo)?;
    let volume_mm3 = wax.volume_mm3();
    if volume_mm3 <= 0.0 {
        return Ok(());
    }
    out.wax.push(Wax {
        feature: id,
        piece: 0,
        radius_mm: feet::radius(part, id),
        length_mm: feet::length(&wax, plane, if flange { NO_JOINT } else { foot.number }),
        volume_mm3,
        solid: Arc::new(wax),
    });
    Ok(())
}
