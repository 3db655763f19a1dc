//! What stands in what: the exceptions to "openings stay open".

use crate::drawing::Part;
use crate::drawing::feature::{Feature, Form};
use crate::drawing::given::{FaceKey, FeatureId};

/// The features whose openings must leave this one's metal alone: those it stands in, directly or on something
/// that does, and those it fills.
pub fn spared_by(part: &Part, id: FeatureId) -> Vec<FeatureId> {
    let mut out = Vec::new();
    let mut at = Some(id);
    let mut steps = 0;
    while let Some(here) = at {
        let feature = &part.features[here];
        for name in &feature.fills {
            out.extend(part.named(name).into_iter().filter(|&f| f != id));
        }
        if let Some(host) = &feature.host
            && let Some(on) = host.feature
            && inside_key(&part.features[on], &host.key)
        {
            out.push(on);
        }
        at = feature.host_feature();
        steps += 1;
        if steps > part.features.len() {
            break;
        }
    }
    // What a hollow is made in is not inside that hollow.
    out.retain(|&f| !matches!(&part.features[f].form, Form::Hollow(h) if h.of == id));
    out.sort_unstable();
    out.dedup();
    out
}

/// Whether this face of a feature lies inside what it opens.
fn inside_key(feature: &Feature, key: &FaceKey) -> bool {
    match &feature.form {
        Form::Raised(_) => matches!(key, FaceKey::Floor),
        Form::Bore(_) | Form::Pocket(_) | Form::Hollow(_) | Form::Groove(_) => {
            !matches!(key, FaceKey::Mouth)
        }
        Form::Turned(t) => !t.adds && !matches!(key, FaceKey::Mouth),
        _ => false,
    }
}

/// Whether two openings are allowed to meet: one is named by the other, one is made into the other, or both lie on one axis.
pub fn may_meet(part: &Part, a: FeatureId, b: FeatureId) -> bool {
    let (fa, fb) = (&part.features[a], &part.features[b]);
    let names = |f: &Feature, other: &Feature| {
        f.meets
            .iter()
            .chain(&f.fills)
            .any(|n| *n == other.name || *n == other.group)
    };
    let goes_to = |f: &Feature, other: FeatureId| {
        use crate::drawing::feature::Depth;
        let depth = match &f.form {
            Form::Bore(b) => &b.depth,
            Form::Pocket(p) => &p.depth,
            _ => return false,
        };
        match depth {
            Depth::Into { opening, .. } => *opening == other,
            Depth::To {
                face: Some((id, _)),
                ..
            } => *id == other,
            _ => false,
        }
    };
    a == b
        || names(fa, fb)
        || names(fb, fa)
        || goes_to(fa, b)
        || goes_to(fb, a)
        || into_opening(part, a, b)
        || into_opening(part, b, a)
        || coaxial(fa, fb)
}

/// Whether `a` is made into the opening `b`, or into something that stands in it.
fn into_opening(part: &Part, a: FeatureId, b: FeatureId) -> bool {
    let ends = match &part.features[a].form {
        Form::Tunnel(t) => t.ends.iter().flatten().filter_map(|h| h.feature).collect(),
        _ => Vec::new(),
    };
    ends.contains(&b)
        || (part.features[a].is_opening()
            && part.features[a].host_feature() == Some(b)
            && part.features[b].opens())
        || spared_by(part, a).contains(&b)
}

/// Whether both are made about one axis.
fn coaxial(a: &Feature, b: &Feature) -> bool {
    let round = |f: &Feature| match &f.form {
        Form::Bore(_) | Form::Turned(_) => true,
        Form::Raised(r) => r.outline.as_disc().is_some_and(|(c, _)| c.length() < 1e-9),
        Form::Pocket(p) => p.outline.as_disc().is_some_and(|(c, _)| c.length() < 1e-9),
        _ => false,
    };
    let between = b.frame.origin - a.frame.origin;
    round(a)
        && round(b)
        && a.frame.z.cross(b.frame.z).length() < 1e-9
        && (between - a.frame.z * between.dot(a.frame.z)).length() < 1e-6
}
