//! Turned openings and hollows.

use crate::drawing::body::{Act, Band, Body, LathePoint, Shape};
use crate::drawing::feature::{Form, Hollow, Turned};
use crate::drawing::given::{Edge, FeatureId};
use crate::drawing::inside::profile_outline;
use crate::drawing::marks::Slot;
use crate::drawing::outline::Outline;
use crate::fault::Fault;
use crate::measure::{FLUSH_MM, OVERSHOOT_MM, Vec2};
use crate::pattern::adds::{extend_run, runs_moved};
use crate::pattern::cuts::{footprint, left_solid, mouth, over};
use crate::pattern::member::Mouth;
use crate::pattern::stage::Stager;

/// A turned opening.
pub(super) fn turned(st: &mut Stager, id: FeatureId, t: &Turned) {
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
pub(super) fn hollow(st: &mut Stager, id: FeatureId, h: &Hollow) {
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
