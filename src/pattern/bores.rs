//! Bores with their steps, the bores of bosses, the bolt holes of flanges.

use crate::drawing::body::{Act, Body, LathePoint, Shape};
use crate::drawing::feature::{Bore, Depth, Flange, Raised};
use crate::drawing::given::{Edge, FeatureId};
use crate::drawing::marks::Slot;
use crate::drawing::outline::Outline;
use crate::measure::{Frame, OVERSHOOT_MM, Vec2, Vec3};
use crate::pattern::adds::slant;
use crate::pattern::cuts::{deep, footprint, left_solid, mouth, over};
use crate::pattern::member::Mouth;
use crate::pattern::stage::Stager;

/// A bore with its steps, one lathe body.
pub(super) fn bore(st: &mut Stager, id: FeatureId, b: &Bore) {
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

pub(super) fn edge_size(edge: Edge) -> f64 {
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

/// The bore of a boss, from its top down.
pub(super) fn boss_bore(st: &mut Stager, id: FeatureId, r: &Raised) {
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
pub(super) fn bolt_holes(st: &mut Stager, id: FeatureId, f: &Flange) {
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
