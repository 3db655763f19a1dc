//! The bodies that add metal.

use crate::drawing::Part;
use crate::drawing::body::{Act, Band, Body, LathePoint, Rib, Shape, Sweep};
use crate::drawing::draw::seen_from;
use crate::drawing::feature::{
    Feature, Flange, Form, Ground, Host, Raised, RibForm, Tunnel, Turned, TurnedPoint,
};
use crate::drawing::given::{Edge, FaceKey, FeatureId};
use crate::drawing::marks::Slot;
use crate::drawing::outline::Outline;
use crate::fault::Fault;
use crate::measure::{EASE_MM, Frame, PARALLEL, Plane, SINK_MM, Vec2, Vec3};
use crate::pattern::member::Role;
use crate::pattern::skirt::{self, Foot};
use crate::pattern::stage::Stager;

/// How much wider a host's face counts when a lip over its edge is cut off (mm): under what any cutter resolves,
/// enough that walls in one line with the host's aren't touched.
const LIP_MM: f64 = 0.002;

/// How much farther out than at its plane a fillet is under it, at most (mm): `EASE_MM` times the lean of its last chord.
const FLARES_ON_MM: f64 = 0.5;

/// What lies nearer to a foot in plan than this may be metal for it to sink into (mm).
const UNDER_MM: f64 = 5.0;

/// A slab or a boss.
pub(super) fn raised(st: &mut Stager, id: FeatureId, r: &Raised) {
    let feature = &st.part.features[id];
    let (top, bottom) = (st.stock(id, Slot::Top), st.stock(id, Slot::Bottom));
    let raw = st.host_stock(feature.host.as_ref());
    let Some(outline) = sides_moved(st, id, &r.outline) else {
        return;
    };
    let wanted = r.trim.fillet.unwrap_or(0.0);
    let fillet = wanted.min((r.height - raw).max(0.0));
    let edge = if top > 0.0 { Edge::Sharp } else { r.trim.edge };
    let skirt = Foot {
        outline: &outline,
        z0: raw,
        height: r.height,
        draft_deg: r.trim.draft_deg,
        fillet,
    };
    let apart = fillet > 0.0 && skirt::made_apart(st, id, &skirt);
    let foot = core_foot(&skirt, apart, bottom);
    let z0 = foot.z0;
    let below = sink(st.part, id, &foot, r.trim.sink);
    let (z1, trims) = free_end(&feature.frame, r, &outline, top);
    let band = Band {
        outline: outline.clone(),
        holds: r.height,
        z0,
        z1,
        draft_deg: r.trim.draft_deg,
        flare: if fillet > 0.0 && !apart {
            Edge::Round(fillet)
        } else {
            Edge::Sharp
        },
        edge,
        below,
        above: 0.0,
    };
    let mut body = Body::plain(id, Act::Add, feature.frame, Shape::Band(band));
    body.trims = trims;
    body.less = lip(st.part, feature, &foot, below).into_iter().collect();
    st.out.add(body, Role::Core);
    if apart {
        skirt::add(st, id, &skirt);
    }
}

/// The foot of the metal itself. A fillet of its own starts at the raw face; without one the metal goes down to the
/// finished face, so that what hangs over a mouth or an edge is in the casting as far down as in the finished part.
fn core_foot<'a>(skirt: &Foot<'a>, apart: bool, bottom: f64) -> Foot<'a> {
    let own = skirt.fillet > 0.0 && !apart;
    Foot {
        z0: if own { skirt.z0 - bottom } else { -bottom },
        ..*skirt
    }
}

/// The free end of a raised body: its height with stock, or past a slanting or facing plane and trimmed back to it.
fn free_end(frame: &Frame, r: &Raised, outline: &Outline, top: f64) -> (f64, Vec<Plane>) {
    let Some(plane) = r.up_to else {
        return (r.height + top, Vec::new());
    };
    let toward = plane.normal.dot(frame.z);
    if !r.slants {
        // It lands on a face that looks back at it, or ends flush with one that looks the same way.
        let past = if toward < 0.0 { SINK_MM } else { top };
        return (r.height + past, Vec::new());
    }
    let slope = (1.0 - toward * toward).max(0.0).sqrt() / toward.abs();
    let past = outline.reach() * slope + 1.0;
    let trim = if toward > 0.0 {
        Plane {
            offset: plane.offset + top,
            ..plane
        }
    } else {
        Plane {
            normal: -plane.normal,
            offset: -plane.offset + SINK_MM,
        }
    };
    (r.height + top + past, vec![trim])
}

/// How far a foot reaches below its plane: until it is wholly in metal.
fn sink(part: &Part, id: FeatureId, foot: &Foot, given: Option<f64>) -> f64 {
    let Some(host) = &part.features[id].host else {
        return given.unwrap_or(0.0);
    };
    given.unwrap_or_else(|| match host.ground {
        _ if on_nothing(part, id) => 0.0,
        Ground::Flat | Ground::Slope { .. } => SINK_MM,
        Ground::Round { radius, .. } => {
            let growth = foot.height * foot.draft_deg.to_radians().tan();
            let reach = foot.outline.reach() + growth;
            if reach < radius {
                radius - (radius * radius - reach * reach).sqrt() + SINK_MM
            } else {
                radius
            }
        }
    })
}

/// Whether a feature stands on a level, or on a free face, with no metal under it that it could sink into. For planes
/// square to no axis it isn't known, and metal is taken to be there.
fn on_nothing(part: &Part, id: FeatureId) -> bool {
    let feature = &part.features[id];
    if feature.host.as_ref().is_none_or(|h| h.feature.is_some()) {
        return false;
    }
    let (plane, mut under) = (feature.frame, feature.bounds().grown(UNDER_MM));
    let Some(axis) = (0..3).find(|&k| plane.z[k].abs() > 1.0 - PARALLEL) else {
        return false;
    };
    let [near, far] = [0.1, 1.5].map(|share| plane.origin[axis] - plane.z[axis] * share * SINK_MM);
    (under.low[axis], under.high[axis]) = (near.min(far), near.max(far));
    let metal = |(other, f): (FeatureId, &Feature)| {
        other != id && !f.is_opening() && f.bounds().meets(&under)
    };
    !part.features.iter().enumerate().any(metal)
}

/// What of a foot would show as a lip past the edge of the face it stands on.
fn lip(part: &Part, feature: &Feature, foot: &Foot, below: f64) -> Option<Body> {
    let host = feature.host.as_ref()?;
    let extent = outer_extent(part, host)?;
    if below <= 0.0 {
        return None;
    }
    let extent = seen_from(&host.frame, &feature.frame, &extent);
    let growth = (foot.height - foot.z0) * foot.draft_deg.to_radians().tan();
    // Under its plane a fillet goes on outwards a little, see `EASE_MM`.
    let fillet = if foot.fillet > 0.0 {
        foot.fillet + FLARES_ON_MM
    } else {
        0.0
    };
    let print = foot.outline.grown(growth + fillet).ok()?;
    if extent.holds(&print, LIP_MM) {
        return None;
    }
    let (low, high) = print.bounds();
    let (size, middle) = (high - low + Vec2::splat(2.0), (low + high) * 0.5);
    // A fillet runs out just inside the edge, cut a little over its plane; a wall may be in line with the host's.
    let (past, over) = if fillet > 0.0 {
        (-LIP_MM, EASE_MM)
    } else {
        (LIP_MM, 0.0)
    };
    let rest = Outline::rect(size.x, size.y)
        .at(middle.x, middle.y)
        .minus(&extent.grown(past).ok()?)
        .ok()?;
    let band = Band {
        outline: rest,
        holds: 0.0,
        z0: foot.z0 - below - 1.0,
        z1: foot.z0 + over,
        draft_deg: 0.0,
        flare: Edge::Sharp,
        edge: Edge::Sharp,
        below: 0.0,
        above: 0.0,
    };
    Some(Body::plain(0, Act::Add, feature.frame, Shape::Band(band)))
}

/// The extent of a host's face where metal ends at its rim: not for faces inside an opening, nor uneven ground.
pub(super) fn outer_extent(part: &Part, host: &Host) -> Option<Outline> {
    let feature = &part.features[host.feature?];
    let inside = feature.is_opening() || matches!(host.key, FaceKey::Floor);
    if inside || host.ground != Ground::Flat {
        None
    } else {
        host.extent.clone()
    }
}

/// An outline with the stock of its marked sides on; a fault where that fails.
pub(super) fn sides_moved(st: &mut Stager, id: FeatureId, outline: &Outline) -> Option<Outline> {
    let all = st.stock(id, Slot::Outside);
    let moves: Vec<((usize, usize), f64)> = if st.casting {
        st.stocks
            .iter()
            .filter_map(|((of, slot), s)| match slot {
                Slot::Side(l, v) if *of == id => Some(((*l, *v), *s)),
                _ => None,
            })
            .collect()
    } else {
        Vec::new()
    };
    let sign = if st.part.features[id].is_opening() {
        -1.0
    } else {
        1.0
    };
    let moved = outline.grown(sign * all).and_then(|o| {
        let moves: Vec<_> = moves.iter().map(|(at, s)| (*at, sign * s)).collect();
        if moves.is_empty() {
            Ok(o)
        } else {
            o.with_flat_moved(&moves)
        }
    });
    match moved {
        Ok(o) => Some(o),
        Err(e) => {
            let text = format!(
                "the stock on its sides doesn't fit: {}",
                e.text(st.part.unit)
            );
            st.fault(id, Fault::new(text));
            None
        }
    }
}

/// A flange, and the fillet at its back.
pub(super) fn flange(st: &mut Stager, id: FeatureId, f: &Flange) {
    let feature = &st.part.features[id];
    let (top, bottom) = (st.stock(id, Slot::Top), st.stock(id, Slot::Bottom));
    let Some(outline) = sides_moved(st, id, &f.outline) else {
        return;
    };
    let back = -f.thick - bottom;
    let band = Band {
        outline: outline.clone(),
        holds: 0.0,
        z0: back,
        z1: top,
        draft_deg: 0.0,
        flare: Edge::Sharp,
        edge: if top > 0.0 { Edge::Sharp } else { f.edge },
        below: 0.0,
        above: 0.0,
    };
    st.out.add(
        Body::plain(id, Act::Add, feature.frame, Shape::Band(band)),
        Role::Core,
    );
    if let (Some(neck), true) = (&f.neck, f.fillet > 0.0) {
        let frame = feature.frame.raised(back).inward();
        skirt::round_neck(st, id, &frame, neck, f.fillet, &outline);
    }
}

/// A rib.
pub(super) fn rib(st: &mut Stager, id: FeatureId, r: &RibForm) {
    let feature = &st.part.features[id];
    let raw = st.host_stock(feature.host.as_ref());
    let top = st.stock(id, Slot::Top);
    let high = r.heights.iter().copied().fold(0.0, f64::max);
    let Ok(stroke) = Outline::stroke(&r.path, r.thick) else {
        return;
    };
    let fillet = r.trim.fillet.unwrap_or(0.0).min((high - raw).max(0.0));
    let skirt = Foot {
        outline: &stroke,
        z0: raw,
        height: high,
        draft_deg: r.trim.draft_deg,
        fillet,
    };
    let level = r.heights.iter().all(|h| (h - high).abs() < 1e-9);
    let apart = fillet > 0.0 && (!level || skirt::made_apart(st, id, &skirt));
    let foot = core_foot(&skirt, apart, 0.0);
    let below = sink(st.part, id, &foot, r.trim.sink);
    let flare = if fillet > 0.0 && !apart {
        Edge::Round(fillet)
    } else {
        Edge::Sharp
    };
    let edge = if top > 0.0 { Edge::Sharp } else { r.trim.edge };
    let rib = Rib {
        path: r.path.clone(),
        thick: r.thick,
        heights: r
            .heights
            .iter()
            .map(|h| (h + top - foot.z0).max(0.0))
            .collect(),
        z0: foot.z0,
        draft_deg: r.trim.draft_deg,
        flare,
        edge,
        below,
    };
    if high + top > foot.z0 {
        let mut body = Body::plain(id, Act::Add, feature.frame, Shape::Rib(rib));
        body.less = lip(st.part, feature, &foot, below).into_iter().collect();
        st.out.add(body, Role::Core);
    }
    if apart && level {
        skirt::add(st, id, &skirt);
    } else if apart {
        // A gusset's fillet follows its falling height.
        let least = r
            .heights
            .iter()
            .copied()
            .fold(high, f64::min)
            .max(fillet.min(high));
        skirt::add(
            st,
            id,
            &Foot {
                height: least.max(fillet),
                ..skirt
            },
        );
    }
}

/// The wall of a tunnel.
pub(super) fn tunnel(st: &mut Stager, id: FeatureId, t: &Tunnel) {
    if t.wall <= 0.0 {
        return;
    }
    let section = match t.inside.grown(t.wall) {
        Ok(section) => section,
        Err(e) => {
            let text = format!(
                "its wall can't be laid round its inside: {}",
                e.text(st.part.unit)
            );
            return st.fault(id, Fault::new(text));
        }
    };
    let mut trims = Vec::new();
    let mut more = [0.0, 0.0];
    for (end, (slot, key)) in [(Slot::Start, FaceKey::Start), (Slot::End, FaceKey::End)]
        .into_iter()
        .enumerate()
    {
        // A flange at the mouth is its face: the wall stops a little short of it.
        more[end] = if flanged(st.part, id, &key) {
            -SINK_MM
        } else {
            st.stock(id, slot)
        };
    }
    for (end, host) in t.ends.iter().enumerate() {
        if let Some(host) = host {
            let raw = st.host_stock(Some(host)).max(more[end]).max(0.0);
            more[end] = raw + slant(&host.frame, end_way(t, end)) * section.reach() + 1.0;
            let plane = host.frame.plane();
            trims.push(Plane {
                offset: plane.offset + raw,
                ..plane
            });
        }
    }
    let sweep = Sweep {
        way: t.way.clone(),
        bend: t.bend,
        section,
        before: more[0],
        after: more[1],
        flip_u: t.flip_u,
    };
    let mut body = Body::plain(id, Act::Add, Frame::PART, Shape::Sweep(sweep));
    body.trims = trims;
    st.out.add(body, Role::Core);
}

/// Whether a flange lies at this mouth of a tunnel and covers its wall.
fn flanged(part: &Part, id: FeatureId, key: &FaceKey) -> bool {
    part.features.iter().any(|f| match &f.form {
        Form::Flange(flange) => {
            let here = f
                .host
                .as_ref()
                .is_some_and(|h| h.feature == Some(id) && h.key == *key);
            here && flange.thick > SINK_MM
                && flange
                    .neck
                    .as_ref()
                    .is_some_and(|neck| flange.outline.holds(neck, 0.0))
        }
        _ => false,
    })
}

/// The direction outward along the way at its start (0) or end (1).
pub(super) fn end_way(t: &Tunnel, end: usize) -> Vec3 {
    let n = t.way.len();
    if end == 0 {
        (t.way[0] - t.way[1]).normalize()
    } else {
        (t.way[n - 1] - t.way[n - 2]).normalize()
    }
}

/// How far a face leans along a way, per mm across.
pub(super) fn slant(face: &Frame, way: Vec3) -> f64 {
    let cos = face.z.dot(way).abs().max(0.05);
    (1.0 - cos * cos).max(0.0).sqrt() / cos
}

/// A turned body that adds.
pub(super) fn turned(st: &mut Stager, id: FeatureId, t: &Turned) {
    let feature = &st.part.features[id];
    let mut points = runs_moved(st, id, t);
    if feature.host.is_some() && !on_nothing(st.part, id) {
        extend_run(&mut points, 0.0, -SINK_MM, false);
    }
    let shape = Shape::Lathe(
        points
            .iter()
            .map(|p| LathePoint {
                r: p.r,
                z: p.z,
                bulge: p.bulge,
            })
            .collect(),
    );
    st.out
        .add(Body::plain(id, Act::Add, feature.frame, shape), Role::Core);
}

/// A turned profile with the stock of its marked runs on.
pub(super) fn runs_moved(st: &Stager, id: FeatureId, t: &Turned) -> Vec<TurnedPoint> {
    let n = t.profile.len();
    let sign = if t.adds { 1.0 } else { -1.0 };
    let mut points = t.profile.clone();
    for i in 0..n {
        let s = sign * st.stock(id, Slot::Run(i));
        if s == 0.0 {
            continue;
        }
        let (a, b) = (&t.profile[i], &t.profile[(i + 1) % n]);
        let along = Vec2::new(b.r - a.r, b.z - a.z).normalize_or_zero();
        let out = Vec2::new(along.y, -along.x) * s;
        for j in [i, (i + 1) % n] {
            // On the axis a vertex only slides along it.
            points[j].r = if t.profile[j].r == 0.0 {
                0.0
            } else {
                (points[j].r + out.x).max(0.0)
            };
            points[j].z += out.y;
        }
    }
    points
}

/// Moves the flat run at height `z` (looking up or down) on to `z + by`, with upright walls between.
pub(super) fn extend_run(points: &mut Vec<TurnedPoint>, z: f64, by: f64, up: bool) {
    let n = points.len();
    let found = (0..n).find(|&i| {
        let (a, b) = (&points[i], &points[(i + 1) % n]);
        let level = a.bulge == 0.0 && (a.z - z).abs() < 1e-6 && (b.z - z).abs() < 1e-6;
        level
            && (if up {
                b.r < a.r - 1e-9
            } else {
                b.r > a.r + 1e-9
            })
    });
    let Some(i) = found else { return };
    let (a, b) = (points[i].clone(), points[(i + 1) % n].clone());
    let at = |r: f64| TurnedPoint {
        r,
        z: z + by,
        bulge: 0.0,
        face: None,
    };
    // Points on the axis need no wall of their own.
    let mut between = Vec::new();
    if a.r == 0.0 {
        points[i].z = z + by;
    } else {
        between.push(at(a.r));
    }
    if b.r == 0.0 {
        points[(i + 1) % n].z = z + by;
    } else {
        between.push(at(b.r));
    }
    for (k, p) in between.into_iter().enumerate() {
        points.insert(i + 1 + k, p);
    }
}
