//! Openings along their axis: `many-walls` and `comes-through`, from the drawing's own definition of metal.

use crate::drawing::feature::{Depth, Feature, Form};
use crate::drawing::outline::Outline;
use crate::fault::{Finding, Level};
use crate::inspect::metal::Metal;
use crate::inspect::{Subject, named};
use crate::measure::{Vec2, Vec3};

/// Step along an axis (mm): finer than the thinnest wall worth counting.
const STEP_MM: f64 = 0.4;

/// Walls nearer to each other than this are one (mm).
const GAP_MM: f64 = 1.0;

/// The section of a straight opening, its reach and its depth.
fn straight(feature: &Feature) -> Option<(Outline, &Depth)> {
    match &feature.form {
        Form::Bore(b) => Some((Outline::disc(b.dia), &b.depth)),
        Form::Pocket(p) => Some((p.outline.clone(), &p.depth)),
        _ => None,
    }
}

/// Points of a section: its middle (where that is inside) and places near its rim.
fn probes(section: &Outline) -> Vec<Vec2> {
    let (low, high) = section.bounds();
    let middle = (low + high) * 0.5;
    let mut points: Vec<Vec2> = Vec::new();
    for i in 0..8 {
        let (s, c) = (f64::from(i) * std::f64::consts::FRAC_PI_4).sin_cos();
        let half = (high - low) * 0.5 * 0.9;
        points.push(middle + Vec2::new(c * half.x, s * half.y));
    }
    points.push(middle);
    points.retain(|p| section.contains(*p));
    points
}

/// `through: true` that goes through more than one wall.
pub(super) fn many_walls(subject: &Subject) -> Vec<Finding> {
    let part = subject.part;
    let mut out = Vec::new();
    for (id, feature) in part.features.iter().enumerate() {
        let Some((section, Depth::Through { all: false })) = straight(feature) else {
            continue;
        };
        let bounds = subject
            .boxes
            .iter()
            .fold(crate::measure::Bounds::EMPTY, |b, s| b.joined(*s));
        let far = bounds.size().length() + feature.frame.origin.distance(bounds.middle());
        let end = feature.frame.origin - feature.frame.z * far;
        let metal = Metal::without(subject, id, feature.frame.origin, end, section.reach());
        let most = probes(&section)
            .iter()
            .map(|&p| walls(&metal, feature, p, far))
            .max_by_key(Vec::len)
            .unwrap_or_default();
        if most.len() < 2 {
            continue;
        }
        let show = |mm: f64| part.unit.show(mm);
        let places: Vec<String> = most
            .iter()
            .map(|(a, b)| format!("{} to {}", show(*a), show(*b)))
            .collect();
        let mut finding = Finding::new(
            "many-walls",
            Level::Look,
            format!(
                "{} goes through {} walls, at depths {}",
                feature.name,
                most.len(),
                places.join(", ")
            ),
            "say `through: \"all\"` if that is meant, or `to:` the face where it should end"
                .to_string(),
        );
        finding.features = vec![named(part, id)];
        finding.stage = Some("finished");
        finding.value = Some(most.len() as f64);
        finding.limit = Some(1.0);
        out.push(finding);
    }
    out
}

/// The spans of metal along one line of an opening, as depths (mm).
fn walls(metal: &Metal, feature: &Feature, at: Vec2, far: f64) -> Vec<(f64, f64)> {
    let mut spans: Vec<(f64, f64)> = Vec::new();
    let (first, last) = metal.depths(&feature.frame);
    let step = |depth: f64| (depth.clamp(0.0, far) / STEP_MM) as usize;
    for i in step(first)..=step(last) {
        let depth = (i as f64 + 0.5) * STEP_MM;
        if !metal.at(feature.frame.point(Vec3::new(at.x, at.y, -depth))) {
            continue;
        }
        match spans.last_mut() {
            Some(span) if depth - span.1 < GAP_MM => span.1 = depth + STEP_MM / 2.0,
            _ => spans.push((depth - STEP_MM / 2.0, depth + STEP_MM / 2.0)),
        }
    }
    spans
}

/// Whether an opening takes metal along one of its lines: where it takes none it can't come out of any.
fn cuts(metal: &Metal, feature: &Feature, at: Vec2, depth: f64) -> bool {
    let steps = (depth / STEP_MM).ceil();
    (0..steps as usize)
        .map(|i| depth * (i as f64 + 0.5) / steps)
        .any(|d| metal.at(feature.frame.point(Vec3::new(at.x, at.y, -d))))
}

/// An opening with a depth that comes out on the other side.
pub(super) fn comes_through(subject: &Subject) -> Vec<Finding> {
    let part = subject.part;
    let mut out = Vec::new();
    for (id, feature) in part.features.iter().enumerate() {
        let Some((section, Depth::By(depth))) = straight(feature) else {
            continue;
        };
        let below = |p: Vec2| feature.frame.point(Vec3::new(p.x, p.y, -(depth + 0.05)));
        let middle = below(Vec2::ZERO);
        let mouth = feature.frame.origin;
        let metal = Metal::without(subject, id, mouth, middle, section.reach() + 1.0);
        let probes = probes(&section);
        let open: Vec<Vec2> = probes
            .iter()
            .copied()
            .filter(|&p| !metal.at(below(p)) && cuts(&metal, feature, p, *depth))
            .collect();
        // Where another opening lies under it, that is for `breaks-into` to say.
        let outside = open.iter().find(|&&p| {
            let at = below(p);
            !(0..part.features.len()).any(|other| {
                other != id && part.features[other].opens() && part.opening_holds(other, at)
            })
        });
        let Some(&place) = outside else { continue };
        let mut finding = Finding::new(
            "comes-through",
            Level::Look,
            format!(
                "{} is {} deep and comes out on the other side",
                feature.name,
                part.unit.show(*depth)
            ),
            "make it shallower, or say `through: true` if it is meant to come out".to_string(),
        );
        finding.features = vec![named(part, id)];
        finding.stage = Some("finished");
        finding.at_mm = Some(below(place).to_array());
        finding.value = Some(*depth);
        out.push(finding);
    }
    out
}
