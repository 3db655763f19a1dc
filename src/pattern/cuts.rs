//! The bodies that remove metal: each opening with its extension over the mouth, and the opening alone.

use crate::drawing::body::{Act, Band, Body, LathePoint, Shape, Sweep};
use crate::drawing::feature::{
    Bore, Depth, Flange, Form, Ground, Hollow, Host, Pocket, Raised, Tunnel, Turned,
};
use crate::drawing::given::{Edge, FaceKey, FeatureId};
use crate::drawing::inside::profile_outline;
use crate::drawing::marks::Slot;
use crate::drawing::outline::Outline;
use crate::fault::Fault;
use crate::measure::{Bounds, FLUSH_MM, Frame, OVERSHOOT_MM, Plane, Vec2, Vec3};
use crate::pattern::adds::{end_way, extend_run, runs_moved, sides_moved, slant};
use crate::pattern::grooves;
use crate::pattern::member::{LeftSolid, Mouth};
use crate::pattern::stage::Stager;

/// Lists the openings of a feature.
pub(super) fn openings(st: &mut Stager, id: FeatureId) {
    let part = st.part;
    let feature = &part.features[id];
    match &feature.form {
        Form::Bore(b) => bore(st, id, b),
        Form::Pocket(p) => pocket(st, id, p),
        Form::Raised(r) => boss_bore(st, id, r),
        Form::Flange(f) => bolt_holes(st, id, f),
        Form::Tunnel(t) => tunnel(st, id, t),
        Form::Turned(t) if !t.adds => turned(st, id, t),
        Form::Hollow(h) => hollow(st, id, h),
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

pub(super) fn deep(st: &Stager, id: FeatureId, depth: &Depth, section: &Outline) -> Deep {
    let frame = st.part.features[id].frame;
    match depth {
        Depth::By(d) => Deep {
            depth: d - st.stock(id, Slot::Floor),
            trims: Vec::new(),
            blind: true,
        },
        Depth::Into { depth, .. } => Deep {
            depth: *depth,
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
                return Deep {
                    depth: depth + lean + stock + OVERSHOOT_MM,
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

/// A bore with its steps, one lathe body.
fn bore(st: &mut Stager, id: FeatureId, b: &Bore) {
    let feature = &st.part.features[id];
    let disc = Outline::disc(b.dia);
    let end = deep(st, id, &b.depth, &disc);
    let wall = st.stock(id, Slot::Wall);
    let tan = b.trim.draft_deg.to_radians().tan();
    let floor_dia = b.dia - 2.0 * end.depth * tan;
    let narrowest = if matches!(b.depth, Depth::Through { .. }) {
        b.dia
    } else {
        floor_dia
    };
    let main = !left_solid(st, id, "bore", narrowest - 2.0 * wall, false);
    let step = b
        .counterbore
        .is_some_and(|(dia, _)| !left_solid(st, id, "counterbore", dia - 2.0 * wall, false));
    if !main && !step {
        return;
    }
    let host = feature.host.as_ref();
    let marked = st.host_stock(host) > 0.0;
    let widest = b
        .counterbore
        .map_or(b.dia, |c| c.0)
        .max(b.countersink.map_or(0.0, |c| c.0));
    let rim = Outline::disc(widest + 2.0 * edge_size(b.trim.edge));
    let over = over(st, id, host, &rim);
    let shape = BoreShape {
        radius: (b.dia / 2.0 - wall).max(0.0),
        tan,
        depth: if main { Some(end.depth) } else { None },
        fillet: if end.blind {
            b.trim.fillet.unwrap_or(0.0)
        } else {
            0.0
        },
        step: b
            .counterbore
            .filter(|_| step)
            .map(|(dia, d)| (dia / 2.0 - wall, d - st.stock(id, Slot::Shoulder))),
        sink: b
            .countersink
            .filter(|_| !marked)
            .map(|(dia, angle)| (dia / 2.0, angle)),
        edge: if marked { Edge::Sharp } else { b.trim.edge },
    };
    let build = |over: f64| {
        let mut body = Body::plain(
            id,
            Act::Cut,
            feature.frame,
            Shape::Lathe(shape.profile(over)),
        );
        body.trims.clone_from(&end.trims);
        body
    };
    let mouth = mouth(st, id, &rim, over);
    st.out.cut(build(over), build(0.0), vec![mouth]);
}

fn edge_size(edge: Edge) -> f64 {
    match edge {
        Edge::Sharp => 0.0,
        Edge::Round(r) | Edge::Chamfer(r) => r,
    }
}

/// A bore's section, radii and depths.
struct BoreShape {
    radius: f64,
    tan: f64,
    depth: Option<f64>,
    fillet: f64,
    step: Option<(f64, f64)>,
    sink: Option<(f64, f64)>,
    edge: Edge,
}

impl BoreShape {
    /// The profile from the axis at the floor, up the wall, over the mouth by `over`, and back to the axis.
    fn profile(&self, over: f64) -> Vec<LathePoint> {
        let mut out = Vec::new();
        let mut put = |r: f64, z: f64, bulge: f64| out.push(LathePoint { r, z, bulge });
        let mut radius = self.radius;
        match self.depth {
            Some(depth) => {
                let r = self.radius - depth * self.tan;
                put(0.0, -depth, 0.0);
                let slope = self.tan.atan();
                let quarter = std::f64::consts::FRAC_PI_2 - slope;
                let f = self.fillet.min(r);
                if f > 0.0 {
                    let t = f * (quarter / 2.0).tan();
                    if r - t > 1e-9 {
                        put(r - t, -depth, (quarter / 4.0).tan());
                    } else if let Some(last) = out.last_mut() {
                        last.bulge = (quarter / 4.0).tan();
                    }
                    out.push(LathePoint {
                        r: r + t * slope.sin(),
                        z: -depth + t * slope.cos(),
                        bulge: 0.0,
                    });
                } else {
                    put(r, -depth, 0.0);
                }
                if let Some((wide, d)) = self.step {
                    out.push(LathePoint {
                        r: self.radius - d * self.tan,
                        z: -d,
                        bulge: 0.0,
                    });
                    out.push(LathePoint {
                        r: wide,
                        z: -d,
                        bulge: 0.0,
                    });
                    radius = wide;
                }
            }
            None => {
                if let Some((wide, d)) = self.step {
                    put(0.0, -d, 0.0);
                    put(wide, -d, 0.0);
                    radius = wide;
                }
            }
        }
        let mut top = radius;
        if let Some((wide, angle)) = self.sink {
            let h = (wide - radius) / (angle / 2.0).to_radians().tan();
            out.push(LathePoint {
                r: radius,
                z: -h,
                bulge: 0.0,
            });
            top = wide;
        } else {
            let q = edge_size(self.edge);
            if q > 0.0 {
                let bulge = if matches!(self.edge, Edge::Round(_)) {
                    -(std::f64::consts::PI / 8.0).tan()
                } else {
                    0.0
                };
                out.push(LathePoint {
                    r: radius,
                    z: -q,
                    bulge,
                });
                top = radius + q;
            }
        }
        out.push(LathePoint {
            r: top,
            z: 0.0,
            bulge: 0.0,
        });
        if over > 0.0 {
            out.push(LathePoint {
                r: top,
                z: over,
                bulge: 0.0,
            });
        }
        out.push(LathePoint {
            r: 0.0,
            z: over,
            bulge: 0.0,
        });
        out
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

/// The bore of a boss, from its top down.
fn boss_bore(st: &mut Stager, id: FeatureId, r: &Raised) {
    let Some((dia, depth)) = r.bore else { return };
    let feature = &st.part.features[id];
    let wall = st.stock(id, Slot::Wall);
    if left_solid(st, id, "bore", dia - 2.0 * wall, false) {
        return;
    }
    let top = st.stock(id, Slot::Top);
    let slant_up = r.up_to.filter(|_| r.slants).map_or(0.0, |p| {
        slant(&Frame::facing(Vec3::ZERO, p.normal, None), feature.frame.z)
    });
    let over = OVERSHOOT_MM + top + slant_up * r.outline.reach();
    let floor = depth - st.stock(id, Slot::Floor);
    let build = |over: f64| {
        let radius = dia / 2.0 - wall;
        let z = r.height;
        let profile = [
            (0.0, z - floor),
            (radius, z - floor),
            (radius, z + over),
            (0.0, z + over),
        ];
        let profile = profile
            .map(|(r, z)| LathePoint { r, z, bulge: 0.0 })
            .to_vec();
        Body::plain(id, Act::Cut, feature.frame, Shape::Lathe(profile))
    };
    let free = feature.frame.raised(r.height);
    let half = Vec2::splat(dia / 2.0);
    let mouth = Mouth {
        plane: free.plane(),
        host: Some(id),
        over: footprint(&free, -half, half, 0.01, over),
    };
    st.out.cut(build(over), build(0.0), vec![mouth]);
}

/// The bolt holes of a flange, through its thickness.
fn bolt_holes(st: &mut Stager, id: FeatureId, f: &Flange) {
    if f.bolts.is_empty() {
        return;
    }
    let wall = st.stock(id, Slot::Wall);
    if left_solid(st, id, "bolt holes", f.bolt_dia - 2.0 * wall, false) {
        return;
    }
    let feature = &st.part.features[id];
    let (top, bottom) = (st.stock(id, Slot::Top), st.stock(id, Slot::Bottom));
    let front = OVERSHOOT_MM + top;
    let back = OVERSHOOT_MM + bottom + f.fillet;
    let half = Vec2::splat(f.bolt_dia / 2.0);
    for &bolt in &f.bolts {
        let frame = feature.frame.moved(bolt);
        let build = |front: f64, back: f64| {
            let radius = f.bolt_dia / 2.0 - wall;
            let profile = [
                (0.0, -f.thick - back),
                (radius, -f.thick - back),
                (radius, front),
                (0.0, front),
            ];
            let profile = profile
                .map(|(r, z)| LathePoint { r, z, bulge: 0.0 })
                .to_vec();
            Body::plain(id, Act::Cut, frame, Shape::Lathe(profile))
        };
        let rear = frame.raised(-f.thick).inward();
        let mouths = vec![
            Mouth {
                plane: frame.plane(),
                host: Some(id),
                over: footprint(&frame, -half, half, 0.01, front),
            },
            Mouth {
                plane: rear.plane(),
                host: Some(id),
                over: footprint(&rear, -half, half, 0.01, back),
            },
        ];
        st.out.cut(build(front, back), build(0.0, 0.0), mouths);
    }
}

/// The inside of a tunnel.
fn tunnel(st: &mut Stager, id: FeatureId, t: &Tunnel) {
    let wall = st.stock(id, Slot::Wall);
    if left_solid(
        st,
        id,
        "tunnel",
        t.inside.widest_disc() - 2.0 * wall,
        t.way.len() > 2,
    ) {
        return;
    }
    let Ok(section) = t.inside.grown(-wall) else {
        return;
    };
    let mut more = [0.0; 2];
    let mut clean = [0.0; 2];
    let mut trims = Vec::new();
    let mut mouths = Vec::new();
    let reach = section.reach();
    for end in 0..2 {
        let slot = if end == 0 { Slot::Start } else { Slot::End };
        let way = end_way(t, end);
        let at = if end == 0 {
            t.way[0]
        } else {
            t.way[t.way.len() - 1]
        };
        let host = t.ends[end].as_ref();
        let lean = host.map_or(0.0, |h| slant(&h.frame, way) * reach);
        let stock = st
            .stock(id, slot)
            .max(st.host_stock(host))
            .max(flush_stock(st, at, way));
        more[end] = OVERSHOOT_MM + stock + lean;
        if let Some(host) = host {
            clean[end] = lean + 1.0;
            trims.push(host.frame.plane());
        }
        let plane = host.map_or_else(|| Frame::facing(at, way, None).plane(), |h| h.frame.plane());
        let over = Bounds::of([at + way * 0.01, at + way * more[end]]).grown(reach * 0.7);
        mouths.push(Mouth {
            plane,
            host: host.and_then(|h| h.feature),
            over,
        });
    }
    let build = |more: [f64; 2], trims: &[Plane]| {
        let sweep = Sweep {
            way: t.way.clone(),
            bend: t.bend,
            section: section.clone(),
            before: more[0],
            after: more[1],
            flip_u: t.flip_u,
        };
        let mut body = Body::plain(id, Act::Cut, Frame::PART, Shape::Sweep(sweep));
        body.trims = trims.to_vec();
        body
    };
    st.out.cut(build(more, &[]), build(clean, &trims), mouths);
}

/// The most stock on any face that lies in the plane of a free mouth and looks the same way.
fn flush_stock(st: &Stager, at: Vec3, way: Vec3) -> f64 {
    let plane = Frame::facing(at, way, None).plane();
    st.stocks
        .iter()
        .filter(|_| st.casting)
        .filter(|((f, slot), _)| {
            let key = match slot {
                Slot::Top => FaceKey::Top,
                Slot::Bottom => FaceKey::Bottom,
                Slot::Side(..) => {
                    return st.out.flats[*f]
                        .iter()
                        .any(|p| p.flush_with(&plane, FLUSH_MM));
                }
                _ => return false,
            };
            st.part
                .face_of(*f, &key)
                .is_ok_and(|face| face.frame.plane().flush_with(&plane, FLUSH_MM))
        })
        .map(|(_, s)| *s)
        .fold(0.0, f64::max)
}

/// A turned opening.
fn turned(st: &mut Stager, id: FeatureId, t: &Turned) {
    let feature = &st.part.features[id];
    let radius = t.profile.iter().map(|p| p.r).fold(0.0, f64::max);
    let wall = (0..t.profile.len())
        .map(|i| st.stock(id, Slot::Run(i)))
        .fold(0.0, f64::max);
    let inner = t.profile.iter().map(|p| p.r).fold(f64::INFINITY, f64::min);
    let width = if inner < FLUSH_MM {
        2.0 * radius
    } else {
        radius - inner
    };
    if left_solid(st, id, "turned opening", width - 2.0 * wall, false) {
        return;
    }
    let rim = Outline::disc(2.0 * radius);
    let over = over(st, id, feature.host.as_ref(), &rim);
    let clean = runs_moved(st, id, t);
    let mut tall = clean.clone();
    extend_run(&mut tall, 0.0, over, true);
    let body = |points: &[crate::drawing::feature::TurnedPoint]| {
        let points = points
            .iter()
            .map(|p| LathePoint {
                r: p.r,
                z: p.z,
                bulge: p.bulge,
            })
            .collect();
        Body::plain(id, Act::Cut, feature.frame, Shape::Lathe(points))
    };
    let mouth = mouth(st, id, &rim, over);
    st.out.cut(body(&tall), body(&clean), vec![mouth]);
}

/// A hollow: the inside follows the outside.
fn hollow(st: &mut Stager, id: FeatureId, h: &Hollow) {
    let of = &st.part.features[h.of];
    let stock = st.host_stock(st.part.features[id].host.as_ref());
    let over = OVERSHOOT_MM + stock;
    let (wall, floor) = (st.stock(id, Slot::Wall), st.stock(id, Slot::Floor));
    let build: Box<dyn Fn(f64) -> Option<Body>> = match &of.form {
        Form::Raised(r) => {
            let cos = r.trim.draft_deg.to_radians().cos();
            let Ok(inner) = r.outline.grown(-(h.wall + wall) / cos) else {
                return;
            };
            let (r, h, frame) = (r.clone(), h.clone(), of.frame);
            let round = match r.trim.edge {
                Edge::Round(q) => (q - h.wall).max(h.fillet),
                _ => h.fillet,
            };
            let deep = r.height - h.floor - floor;
            Box::new(move |over| {
                let edge = if round > 0.0 {
                    Edge::Round(round)
                } else {
                    Edge::Sharp
                };
                let (frame, holds, draft_deg, edge) = if h.at_top {
                    let edge = if h.fillet > 0.0 {
                        Edge::Round(h.fillet)
                    } else {
                        Edge::Sharp
                    };
                    (
                        frame.raised(r.height).inward(),
                        0.0,
                        -r.trim.draft_deg,
                        edge,
                    )
                } else {
                    (frame, r.height, r.trim.draft_deg, edge)
                };
                let outline = inner.clone();
                let band = Band {
                    outline,
                    holds,
                    z0: 0.0,
                    z1: deep,
                    draft_deg,
                    flare: Edge::Sharp,
                    edge,
                    below: over,
                    above: 0.0,
                };
                Some(Body::plain(id, Act::Cut, frame, Shape::Band(band)))
            })
        }
        Form::Turned(t) => {
            let (t, h, frame) = (t.clone(), h.clone(), of.frame);
            Box::new(move |over| {
                let points = turned_inside(&t, &h, wall, floor, over)?;
                Some(Body::plain(id, Act::Cut, frame, Shape::Lathe(points)))
            })
        }
        _ => return,
    };
    let (Some(tall), Some(clean)) = (build(over), build(0.0)) else {
        st.fault(id, Fault::new("its wall leaves nothing to hollow"));
        return;
    };
    let frame = st.part.features[id].frame;
    let (low, high) = of_print(&of.form);
    let mouth = Mouth {
        plane: frame.plane(),
        host: Some(h.of),
        over: footprint(&frame, low, high, 0.01, over),
    };
    st.out.cut(tall, clean, vec![mouth]);
}

fn of_print(form: &Form) -> (Vec2, Vec2) {
    match form {
        Form::Raised(r) => r.outline.bounds(),
        Form::Turned(t) => {
            let r = t.profile.iter().map(|p| p.r).fold(0.0, f64::max);
            (Vec2::splat(-r), Vec2::splat(r))
        }
        _ => (Vec2::ZERO, Vec2::ZERO),
    }
}

/// The inside of a turned body: its profile shrunk by the wall, run out through the open end, kept off the floor.
fn turned_inside(
    t: &Turned,
    h: &Hollow,
    wall: f64,
    floor: f64,
    over: f64,
) -> Option<Vec<LathePoint>> {
    let profile = profile_outline(t)?;
    let (low, high) = profile.bounds();
    let reach = high.x * 2.0;
    let whole = profile.plus(&profile.mirrored_x()).ok()?;
    // Carry the open end on, so that shrinking leaves no wall there.
    let (end, sign) = if h.at_top {
        (high.y, 1.0)
    } else {
        (low.y, -1.0)
    };
    let slice = Outline::rect(2.0 * reach, 0.02).at(0.0, end - sign * 0.01);
    let end_width = whole.common(&slice).ok()?.bounds();
    let run = over + 2.0 * (h.wall + wall) + 1.0;
    let width = end_width.1.x - end_width.0.x;
    let tail = Outline::rect(width, run + 0.02).at(0.0, end + sign * (run - 0.02) / 2.0);
    let inner = whole.plus(&tail).ok()?.grown(-(h.wall + wall)).ok()?;
    let (z0, z1) = if h.at_top {
        (low.y + h.floor + floor, high.y + over)
    } else {
        (low.y - over, high.y - h.floor - floor)
    };
    let keep = Outline::rect(reach, z1 - z0).at(reach / 2.0, (z0 + z1) / 2.0);
    let half = inner.common(&keep).ok()?;
    let points = half.loops().first()?;
    Some(
        points
            .iter()
            .map(|v| LathePoint {
                r: v.at.x.max(0.0),
                z: v.at.y,
                bulge: v.bulge,
            })
            .collect(),
    )
}
