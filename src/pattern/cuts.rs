//! The bodies that remove metal: each opening with its extension over the mouth, and the opening alone.

use crate::drawing::body::{Act, Band, Body, Shape};
use crate::drawing::feature::{Depth, Form, Ground, Host, Pocket};
use crate::drawing::given::{Edge, FaceKey, FeatureId};
use crate::drawing::marks::Slot;
use crate::drawing::outline::Outline;
use crate::fault::Fault;
use crate::measure::{Bounds, FLUSH_MM, Frame, OVERSHOOT_MM, Plane, Vec2, Vec3};
use crate::pattern::adds::{sides_moved, slant};
use crate::pattern::bores::edge_size;
use crate::pattern::member::{LeftSolid, Mouth};
use crate::pattern::stage::Stager;
use crate::pattern::{bores, grooves, hollows, tunnels};

/// Lists the openings of a feature.
pub(super) fn openings(st: &mut Stager, id: FeatureId) {
    let part = st.part;
    let feature = &part.features[id];
    match &feature.form {
        Form::Bore(b) => bores::bore(st, id, b),
        Form::Pocket(p) => pocket(st, id, p),
        Form::Raised(r) => bores::boss_bore(st, id, r),
        Form::Flange(f) => bores::bolt_holes(st, id, f),
        Form::Tunnel(t) => tunnels::tunnel(st, id, t),
        Form::Turned(t) if !t.adds => hollows::turned(st, id, t),
        Form::Hollow(h) => hollows::hollow(st, id, h),
        Form::Groove(g) => grooves::groove(st, id, g),
        _ => {}
    }
}

/// Whether the casting leaves an opening of this width solid; notes it, or records a fault where it was to be cored.
pub(super) fn left_solid(
    st: &mut Stager,
    id: FeatureId,
    what: &'static str,
    width_mm: f64,
    bent: bool,
) -> bool {
    let cored = st.part.features[id].cored;
    if !st.casting {
        return false;
    }
    if cored == Some(true) {
        if width_mm > FLUSH_MM {
            return false;
        }
        st.fault(
            id,
            Fault::new("`cored: true`, but the stock leaves nothing of the opening")
                .hint("give it less stock, or leave `cored` out"),
        );
        return true;
    }
    let solid = cored == Some(false) || width_mm < st.part.min_cored_mm || width_mm <= FLUSH_MM;
    if solid {
        st.out.left_solid.push(LeftSolid {
            feature: id,
            what,
            width_mm: width_mm.max(0.0),
            bent,
        });
    }
    solid
}

/// How far a drafted side's metal stands out of its plane within `reach` of a point (mm).
fn stands_out(st: &Stager, of: FeatureId, key: &FaceKey, at: Vec3, reach: f64) -> f64 {
    match st.part.face_of(of, key).map(|face| face.as_host()) {
        Ok(Host {
            ground: Ground::Slope { slope, top },
            frame,
            ..
        }) => ((top - frame.local(at).y + reach) * slope).max(0.0),
        _ => 0.0,
    }
}

/// How far over its mouth an opening must clear: stock, the host's draft, and any foot fillet that reaches it.
pub(super) fn over(st: &Stager, id: FeatureId, host: Option<&Host>, section: &Outline) -> f64 {
    let feature = &st.part.features[id];
    let stock = st.host_stock(host);
    let draft = match host.map(|h| (h.ground, h)) {
        Some((Ground::Slope { slope, top }, h)) => {
            let v = h.frame.local(feature.frame.origin).y;
            ((top - v + section.reach()) * slope).max(0.0)
        }
        _ => 0.0,
    };
    let plane = host.map_or_else(|| feature.frame.plane(), |h| h.frame.plane());
    let (low, high) = section.bounds();
    let mouth = footprint(&feature.frame, low, high, 0.0, 0.1);
    let fillets = st
        .part
        .features
        .iter()
        .enumerate()
        .filter_map(|(other, f)| {
            let fillet = match &f.form {
                Form::Raised(r) => r.trim.fillet?,
                Form::Rib(r) => r.trim.fillet?,
                Form::Pocket(p) => p.trim.fillet?,
                Form::Bore(b) => b.trim.fillet?,
                Form::Flange(f) => f.fillet,
                Form::Hollow(h) => h.fillet,
                _ => return None,
            };
            let on_plane = match &f.form {
                Form::Flange(fl) => f
                    .frame
                    .raised(-fl.thick)
                    .inward()
                    .plane()
                    .flush_with(&plane, FLUSH_MM),
                Form::Pocket(_) | Form::Bore(_) | Form::Hollow(_) => {
                    host.is_some_and(|h| h.feature == Some(other))
                }
                _ => f
                    .host
                    .as_ref()
                    .is_some_and(|h| h.frame.plane().flush_with(&plane, FLUSH_MM)),
            };
            (on_plane && f.bounds().grown(fillet).meets(&mouth)).then_some(fillet)
        });
    OVERSHOOT_MM + stock + draft + fillets.fold(0.0, f64::max)
}

/// The box over a rectangle of a frame's plan.
pub(super) fn footprint(frame: &Frame, low: Vec2, high: Vec2, z0: f64, z1: f64) -> Bounds {
    Bounds::of([z0, z1].into_iter().flat_map(|z| {
        [
            (low.x, low.y),
            (high.x, low.y),
            (low.x, high.y),
            (high.x, high.y),
        ]
        .map(|(x, y)| frame.point(Vec3::new(x, y, z)))
    }))
}

/// The mouth of an opening in its feature's own plane.
pub(super) fn mouth(st: &Stager, id: FeatureId, section: &Outline, over: f64) -> Mouth {
    let feature = &st.part.features[id];
    let (low, high) = section.bounds();
    Mouth {
        plane: feature.frame.plane(),
        host: feature.host_feature(),
        over: footprint(&feature.frame, low, high, 0.01, over),
    }
}

/// How deep an opening goes in this stage, the planes it is cut back to, and where it comes out.
pub(super) struct Deep {
    pub depth: f64,
    pub trims: Vec<Plane>,
    /// It ends in a floor square to its axis.
    pub blind: bool,
}

/// How much deeper an opening goes into another one for each mm of stock there. A round wall of radius R - s stands
/// nearer than one of R by s R / sqrt(R² - w²) over a section 2 w wide: this is enough up to w = 0.96 R.
const INTO_STOCK: f64 = 4.0;

pub(super) fn deep(st: &Stager, id: FeatureId, depth: &Depth, section: &Outline) -> Deep {
    let frame = st.part.features[id].frame;
    match depth {
        Depth::By(d) => Deep {
            depth: d - st.stock(id, Slot::Floor),
            trims: Vec::new(),
            blind: true,
        },
        Depth::Into {
            opening,
            depth,
            middle,
        } => Deep {
            // Stock makes that opening narrower: its wall comes towards the mouth, and bends more.
            depth: (depth + INTO_STOCK * st.most_stock(*opening)).min(*middle),
            trims: Vec::new(),
            blind: false,
        },
        Depth::Through { .. } => {
            let corners = [st.reach.low, st.reach.high];
            let far = (0..8)
                .map(|i| {
                    Vec3::new(
                        corners[i & 1].x,
                        corners[i >> 1 & 1].y,
                        corners[i >> 2 & 1].z,
                    )
                })
                .map(|p| (frame.origin - p).dot(frame.z))
                .fold(1.0, f64::max);
            Deep {
                depth: far,
                trims: Vec::new(),
                blind: false,
            }
        }
        Depth::To {
            plane,
            leaves,
            face,
            depth,
        } => {
            let stock = face.as_ref().map_or(0.0, |(f, key)| {
                st.part.slot(*f, key).map_or(0.0, |slot| st.stock(*f, slot))
            });
            let lean =
                slant(&Frame::facing(Vec3::ZERO, plane.normal, None), frame.z) * section.reach();
            if *leaves {
                let out = face.as_ref().map_or(0.0, |(f, key)| {
                    let at = frame.origin - frame.z * *depth;
                    stands_out(st, *f, key, at, section.reach())
                });
                return Deep {
                    depth: depth + lean + stock + out + OVERSHOOT_MM,
                    trims: Vec::new(),
                    blind: false,
                };
            }
            let floor = st.stock(id, Slot::Floor);
            if lean < FLUSH_MM {
                return Deep {
                    depth: depth - stock - floor,
                    trims: Vec::new(),
                    blind: true,
                };
            }
            // A slanting end: run past it and cut back to its plane.
            let facing = if plane.normal.dot(frame.z) > 0.0 {
                *plane
            } else {
                flipped(plane)
            };
            let trim = flipped(&Plane {
                offset: facing.offset + stock,
                ..facing
            });
            Deep {
                depth: depth + lean + 1.0,
                trims: vec![trim],
                blind: false,
            }
        }
    }
}

fn flipped(plane: &Plane) -> Plane {
    Plane {
        normal: -plane.normal,
        offset: -plane.offset,
    }
}

/// A pocket: a band that goes in.
fn pocket(st: &mut Stager, id: FeatureId, p: &Pocket) {
    let feature = &st.part.features[id];
    let wall = st.stock(id, Slot::Wall);
    let end = deep(st, id, &p.depth, &p.outline);
    let tan = p.trim.draft_deg.to_radians().tan();
    let through = matches!(p.depth, Depth::Through { .. });
    let shrink = if through { 0.0 } else { end.depth * tan };
    let width = p.outline.widest_disc() - 2.0 * shrink - 2.0 * wall;
    if left_solid(st, id, "pocket", width, false) {
        return;
    }
    let Some(outline) = sides_moved(st, id, &p.outline) else {
        return;
    };
    let Ok(outline) = outline.grown(-wall) else {
        return;
    };
    let host = feature.host.as_ref();
    let marked = st.host_stock(host) > 0.0;
    let flare = if marked { Edge::Sharp } else { p.trim.edge };
    let rim = outline
        .grown(edge_size(flare))
        .unwrap_or_else(|_| outline.clone());
    let over = over(st, id, host, &rim);
    let fillet = p.trim.fillet.unwrap_or(0.0);
    let build = |over: f64| {
        let band = Band {
            outline: outline.clone(),
            holds: 0.0,
            z0: 0.0,
            z1: end.depth,
            draft_deg: p.trim.draft_deg,
            flare,
            edge: if end.blind && fillet > 0.0 {
                Edge::Round(fillet)
            } else {
                Edge::Sharp
            },
            below: over,
            above: 0.0,
        };
        let mut body = Body::plain(id, Act::Cut, feature.frame.inward(), Shape::Band(band));
        body.trims.clone_from(&end.trims);
        body
    };
    let mouth = mouth(st, id, &rim, over);
    st.out.cut(build(over), build(0.0), vec![mouth]);
}
