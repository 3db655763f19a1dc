//! Grooves.

use crate::drawing::body::{Act, Band, Body, LathePoint, Shape};
use crate::drawing::feature::{FlatRun, Groove};
use crate::drawing::given::{Edge, FeatureId, GrooveSection};
use crate::drawing::marks::Slot;
use crate::drawing::outline::Outline;
use crate::fault::Fault;
use crate::measure::{Bounds, FLUSH_MM, OVERSHOOT_MM, Vec2};
use crate::pattern::cuts::{footprint, left_solid, mouth, over};
use crate::pattern::member::Mouth;
use crate::pattern::stage::Stager;

/// A groove of any kind.
pub(super) fn groove(st: &mut Stager, id: FeatureId, g: &Groove) {
    match g {
        Groove::Flat { run, section } => flat(st, id, run, section),
        Groove::Ring {
            radius,
            distance,
            outward,
            section,
        } => ring(st, id, *radius, *distance, *outward, section),
        Groove::Keyway {
            radius,
            deg,
            length,
            outward,
            width_depth,
        } => {
            keyway(st, id, *radius, *deg, *length, *outward, *width_depth);
        }
    }
}

fn flat(st: &mut Stager, id: FeatureId, run: &FlatRun, section: &GrooveSection) {
    if left_solid(st, id, "groove", section.mouth_width(), false) {
        return;
    }
    let feature = &st.part.features[id];
    let floor = st.stock(id, Slot::Floor);
    let strip = |left: f64, right: f64| match run {
        FlatRun::Along(points) => Outline::stroke(points, right - left),
        FlatRun::Round(o) => o
            .grown(right)
            .and_then(|outer| outer.minus(&o.grown(left)?)),
    };
    let half = section.mouth_width() / 2.0;
    let levels = section_levels(section, floor)
        .into_iter()
        .map(|(z, left, right)| strip(left, right).map(|o| (z, o)))
        .collect::<Result<Vec<_>, _>>();
    let (levels, rim) = match (levels, strip(-half, half)) {
        (Ok(levels), Ok(rim)) => (levels, rim),
        (Err(e), _) | (_, Err(e)) => {
            let text = format!("its section doesn't fit its way: {}", e.text(st.part.unit));
            return st.fault(id, Fault::new(text));
        }
    };
    let over = over(st, id, feature.host.as_ref(), &rim);
    let build = |over: f64| {
        let mut levels = levels.clone();
        if over > 0.0 {
            levels.insert(0, (-over, levels[0].1.clone()));
        }
        Body::plain(id, Act::Cut, feature.frame.inward(), Shape::Stack(levels))
    };
    let mouth = mouth(st, id, &rim, over);
    st.out.cut(build(over), build(0.0), vec![mouth]);
}

/// A section as levels (down, left, right), from the surface to the floor; ledges give two levels of one height.
fn section_levels(section: &GrooveSection, floor_stock: f64) -> Vec<(f64, f64, f64)> {
    match section {
        GrooveSection::Plain { width, depth } => {
            let half = width / 2.0;
            vec![(0.0, -half, half), (depth - floor_stock, -half, half)]
        }
        GrooveSection::Points(points) => {
            let deepest = points.iter().map(|p| p.y).fold(0.0, f64::max);
            let turn = points
                .iter()
                .position(|p| p.y >= deepest - FLUSH_MM)
                .unwrap_or(0);
            let back = points
                .iter()
                .rposition(|p| p.y >= deepest - FLUSH_MM)
                .unwrap_or(turn);
            let (mut a, mut b): (Vec<Vec2>, Vec<Vec2>) = (
                points[..=turn].to_vec(),
                points[back..].iter().rev().copied().collect(),
            );
            if a[0].x > b[0].x {
                std::mem::swap(&mut a, &mut b);
            }
            let mut heights: Vec<f64> = a.iter().chain(&b).map(|p| p.y).collect();
            heights.sort_by(f64::total_cmp);
            heights.dedup_by(|x, y| (*x - *y).abs() < FLUSH_MM);
            let mut out = Vec::new();
            for z in heights {
                let (l, r) = (across(&a, z), across(&b, z));
                out.push((z, l.0, r.0));
                if (l.1 - l.0).abs() > FLUSH_MM || (r.1 - r.0).abs() > FLUSH_MM {
                    out.push((z, l.1, r.1));
                }
            }
            out
        }
    }
}

/// Where a falling chain crosses a height: first and last (they differ on a ledge).
fn across(chain: &[Vec2], z: f64) -> (f64, f64) {
    let mut found: Vec<f64> = chain
        .iter()
        .filter(|p| (p.y - z).abs() < FLUSH_MM)
        .map(|p| p.x)
        .collect();
    if found.is_empty() {
        let leg = chain.windows(2).find(|w| w[0].y < z && w[1].y > z);
        let x = leg.map_or_else(
            || chain[chain.len() - 1].x,
            |w| w[0].x + (w[1].x - w[0].x) * (z - w[0].y) / (w[1].y - w[0].y),
        );
        found.push(x);
    }
    (found[0], found[found.len() - 1])
}

/// A groove round a round wall: its section revolved.
fn ring(
    st: &mut Stager,
    id: FeatureId,
    radius: f64,
    distance: f64,
    outward: bool,
    section: &GrooveSection,
) {
    if left_solid(st, id, "groove", section.mouth_width(), false) {
        return;
    }
    let feature = &st.part.features[id];
    let sign = if outward { 1.0 } else { -1.0 };
    let points: Vec<Vec2> = match section {
        GrooveSection::Plain { width, depth } => {
            let half = width / 2.0;
            vec![
                Vec2::new(-half, 0.0),
                Vec2::new(-half, *depth),
                Vec2::new(half, *depth),
                Vec2::new(half, 0.0),
            ]
        }
        GrooveSection::Points(points) => points.clone(),
    };
    let build = |past: f64| {
        let at = |p: &Vec2, down: f64| LathePoint {
            r: radius + sign * down,
            z: -distance - p.x,
            bulge: 0.0,
        };
        let mut profile: Vec<LathePoint> = points.iter().map(|p| at(p, p.y)).collect();
        if past > 0.0 {
            profile.insert(0, at(&points[0], -past));
            profile.push(at(&points[points.len() - 1], -past));
        }
        if twice_area(&profile) < 0.0 {
            profile.reverse();
        }
        Body::plain(id, Act::Cut, feature.frame, Shape::Lathe(profile))
    };
    // Out of the wall's stock too.
    let past = (OVERSHOOT_MM + st.host_stock(feature.host.as_ref())).min(radius * 0.95);
    // Its mouth is a round wall: it lies in no plane, and only what the wall belongs to is overshot.
    st.out.cut(build(past), build(past), Vec::new());
}

fn twice_area(profile: &[LathePoint]) -> f64 {
    (0..profile.len())
        .map(|i| {
            let (a, b) = (&profile[i], &profile[(i + 1) % profile.len()]);
            a.r * b.z - b.r * a.z
        })
        .sum()
}

/// A keyway along a round wall.
fn keyway(
    st: &mut Stager,
    id: FeatureId,
    radius: f64,
    deg: f64,
    length: f64,
    outward: bool,
    (width, depth): (f64, f64),
) {
    if left_solid(st, id, "keyway", width, false) {
        return;
    }
    let feature = &st.part.features[id];
    // It starts at the mouth of the wall's own feature, and runs out through the stock of both.
    let wall = st.host_stock(feature.host.as_ref());
    let body = feature.host_feature().map(|id| &st.part.features[id]);
    let end = body.map_or(0.0, |body| st.host_stock(body.host.as_ref()));
    let over = OVERSHOOT_MM + end.max(wall);
    let (inner, outer) = if outward {
        let raw = radius - wall;
        let lip = (raw * raw - width * width / 4.0).max(0.0).sqrt();
        ((lip - OVERSHOOT_MM).max(lip * 0.5), radius + depth)
    } else {
        (radius - depth, radius + OVERSHOOT_MM + wall)
    };
    let outline = Outline::rect(outer - inner, width)
        .at((outer + inner) / 2.0, 0.0)
        .turn(deg);
    let build = |over: f64| {
        let band = Band {
            outline: outline.clone(),
            holds: 0.0,
            z0: 0.0,
            z1: length,
            draft_deg: 0.0,
            flare: Edge::Sharp,
            edge: Edge::Sharp,
            below: over,
            above: 0.0,
        };
        Body::plain(id, Act::Cut, feature.frame.inward(), Shape::Band(band))
    };
    let (low, high) = outline.bounds();
    let bounds: Bounds = footprint(&feature.frame, low, high, 0.01, over);
    let mouth = Mouth {
        plane: feature.frame.plane(),
        host: feature.host_feature(),
        over: bounds,
    };
    st.out.cut(build(over), build(0.0), vec![mouth]);
}
