//! Foot fillets made apart from their core: where an opening's mouth lies under the fillet, where it hangs over the
//! edge of its host, and where the ground isn't flat.

use std::f64::consts::FRAC_PI_2;

use crate::drawing::body::{Act, Band, Body, Drape, Shape};
use crate::drawing::draw::seen_from;
use crate::drawing::feature::{Ground, Host};
use crate::drawing::given::{Edge, FeatureId};
use crate::drawing::outline::Outline;
use crate::measure::{Bounds, FLUSH_MM, Frame, SINK_MM, Vec2, Vec3};
use crate::pattern::adds::outer_extent;
use crate::pattern::member::Role;
use crate::pattern::stage::Stager;
use crate::solid::flare_share;

/// What a foot fillet needs to know of its body.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Foot<'a> {
    /// The section at the free end.
    pub outline: &'a Outline,
    /// Height of the foot in the feature's frame.
    pub z0: f64,
    /// Height where the outline holds.
    pub height: f64,
    /// Draft.
    pub draft_deg: f64,
    /// Radius, 0 for none.
    pub fillet: f64,
}

impl Foot<'_> {
    /// The section at the foot with its fillet.
    fn print(&self) -> Option<Outline> {
        let growth = (self.height - self.z0) * self.draft_deg.to_radians().tan();
        self.outline.grown(growth + self.fillet).ok()
    }
}

/// Whether the fillet must be made apart.
pub(crate) fn made_apart(st: &Stager, id: FeatureId, foot: &Foot) -> bool {
    let feature = &st.part.features[id];
    let Some(host) = &feature.host else {
        return false;
    };
    // The fillet of a loose piece is wax.
    if feature.loose || host.ground != Ground::Flat {
        return true;
    }
    let Some(print) = foot.print() else {
        return true;
    };
    if let Some(extent) = outer_extent(st.part, host)
        && !seen_from(&host.frame, &feature.frame, &extent).holds(&print, FLUSH_MM)
    {
        return true;
    }
    let (low, high) = print.bounds();
    let plane = host.frame.plane();
    let covers = Bounds::of(
        [
            (low.x, low.y),
            (high.x, low.y),
            (low.x, high.y),
            (high.x, high.y),
        ]
        .into_iter()
        .flat_map(|(x, y)| [-0.1, 0.1].map(|z| feature.frame.point(Vec3::new(x, y, z)))),
    );
    st.out.cuts.iter().any(|cut| {
        cut.feature != id
            && cut
                .mouths
                .iter()
                .any(|m| m.plane.flush_with(&plane, FLUSH_MM) && m.over.grown(0.1).meets(&covers))
    })
}

/// Adds the fillet as a body of its own, laid over the ground and cut back to its host's face.
pub(crate) fn add(st: &mut Stager, id: FeatureId, foot: &Foot) {
    let feature = &st.part.features[id];
    let Some(host) = feature.host.clone() else {
        return;
    };
    let drape = drape(&host, &feature.frame);
    let mut fillet = foot.fillet;
    if let Ground::Round { radius, .. } = host.ground {
        // Beyond this the round falls away too steeply to carry a fillet.
        let room = 0.9 * radius - foot.outline.reach();
        fillet = fillet.min(room.max(0.0));
    }
    if fillet < foot.fillet - FLUSH_MM {
        st.out.fillets_cut.push((id, foot.fillet, fillet));
    }
    if fillet <= 0.05 {
        return;
    }
    let foot = Foot { fillet, ..*foot };
    let Some(levels) = levels(&foot, st.part.facet_mm) else {
        return;
    };
    let mut body = Body::plain(id, Act::Add, feature.frame, Shape::Stack(levels));
    body.drape = drape;
    if let (Some(extent), Some(print)) = (outer_extent(st.part, &host), foot.print()) {
        let extent = seen_from(&host.frame, &feature.frame, &extent);
        // Laid over a slope, the fillet's rim lies higher or lower by less than its own reach.
        let tall = fillet + 2.0 + body.drape.map_or(0.0, |_| print.reach());
        if !extent.holds(&print, FLUSH_MM) {
            body.within
                .push(column(id, &feature.frame, extent, foot.z0, tall));
            if !st.casting {
                st.out.fillets_cut.push((id, fillet, fillet));
            }
        }
    }
    st.out.add(body, Role::Skirt);
}

/// The fillet round what comes out at a flange's back; `frame` lies in that back, z away from the flange.
pub(crate) fn round_neck(
    st: &mut Stager,
    id: FeatureId,
    frame: &Frame,
    neck: &Outline,
    fillet: f64,
    flange: &Outline,
) {
    let foot = Foot {
        outline: neck,
        z0: 0.0,
        height: fillet * 2.0,
        draft_deg: 0.0,
        fillet,
    };
    let Some(levels) = levels(&foot, st.part.facet_mm) else {
        return;
    };
    let mut body = Body::plain(id, Act::Add, *frame, Shape::Stack(levels));
    if foot
        .print()
        .is_some_and(|print| !flange.holds(&print, FLUSH_MM))
    {
        body.within
            .push(column(id, frame, flange.clone(), 0.0, fillet + 2.0));
    }
    st.out.add(body, Role::Skirt);
}

/// An upright column over an outline, a little inside its rim, from under the foot to over a fillet.
fn column(id: FeatureId, frame: &Frame, outline: Outline, z0: f64, tall: f64) -> Body {
    let outline = outline.grown(-0.01).unwrap_or(outline);
    let band = Band {
        outline,
        holds: 0.0,
        z0: z0 - tall,
        z1: z0 + tall,
        draft_deg: 0.0,
        flare: Edge::Sharp,
        edge: Edge::Sharp,
        below: 0.0,
        above: 0.0,
    };
    Body::plain(id, Act::Add, *frame, Shape::Band(band))
}

/// Sections of the fillet from under the foot to just short of where it meets the wall: the last step is a ledge
/// of less than a facet, so that it crosses the wall squarely instead of grazing it.
fn levels(foot: &Foot, facet_mm: f64) -> Option<Vec<(f64, Outline)>> {
    let a = foot.draft_deg.to_radians();
    let r = foot.fillet;
    let wall = |z: f64| (foot.height - z) * a.tan();
    let centre = wall(foot.z0 + r) + r / a.cos();
    let sweep = FRAC_PI_2 - a;
    let share = flare_share(foot.outline);
    let step = 2.0 * (1.0 - (share * facet_mm / r).min(0.3)).acos();
    let n = (sweep / step).ceil().max(2.0) as usize;
    let at = |i: usize| {
        let t = FRAC_PI_2 - sweep * i as f64 / n as f64;
        (foot.z0 + r - r * t.sin(), centre - r * t.cos())
    };
    let outer = foot.outline.grown(centre).ok()?;
    let mut out = vec![
        (foot.z0 - SINK_MM, outer.clone()),
        (foot.z0 - 0.5 * SINK_MM, outer.clone()),
    ];
    out.push((foot.z0, outer));
    for i in 1..n {
        let (z, d) = at(i);
        out.push((z, foot.outline.grown(d).ok()?));
    }
    Some(out)
}

/// How the ground under a feature's plan bends.
fn drape(host: &Host, frame: &Frame) -> Option<Drape> {
    let at = frame.local(host.frame.origin);
    match host.ground {
        Ground::Flat => None,
        Ground::Slope { slope, top } => {
            // On the face the metal stands out by (top - v) * slope.
            let v = frame.local_vector(host.frame.y);
            let v = Vec2::new(v.x, v.y);
            let centre_v = -v.dot(Vec2::new(at.x, at.y));
            Some(Drape::Slope {
                per_mm: -v * slope,
                offset: (top - centre_v) * slope,
            })
        }
        Ground::Round { radius, axis } => {
            let axis = frame.local_vector(host.frame.vector(axis.extend(0.0)));
            Some(Drape::Round {
                radius,
                at: Vec2::new(at.x, at.y),
                axis: Vec2::new(axis.x, axis.y),
            })
        }
    }
}
