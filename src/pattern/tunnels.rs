//! The insides of tunnels.

use crate::drawing::body::{Act, Body, Shape, Sweep};
use crate::drawing::feature::Tunnel;
use crate::drawing::given::{FaceKey, FeatureId};
use crate::drawing::marks::Slot;
use crate::measure::{Bounds, FLUSH_MM, Frame, OVERSHOOT_MM, Plane, Vec3};
use crate::pattern::adds::{end_way, slant};
use crate::pattern::cuts::left_solid;
use crate::pattern::member::Mouth;
use crate::pattern::stage::Stager;

/// The inside of a tunnel.
pub(super) fn tunnel(st: &mut Stager, id: FeatureId, t: &Tunnel) {
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
