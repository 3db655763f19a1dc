//! `wall-cut`: a wall that the script promises, and another feature's opening takes away.
//!
//! Promised are a tunnel's wall, a hollow's wall and floor, and a boss's wall round its bore: what the outside holds
//! and the inside doesn't. What of it lies in another opening that may take it, and in no metal that the opening
//! spares, is missing (exactly, by booleans on the pair and what stands near). How much wall is left there is the
//! distance of the two openings' surfaces.

use crate::drawing::Part;
use crate::drawing::body::Act;
use crate::drawing::feature::{Feature, Form};
use crate::drawing::given::FeatureId;
use crate::fault::{Finding, Go, Level};
use crate::inspect::walls::least_distance;
use crate::inspect::{Bodies, named};
use crate::measure::{Bounds, TRIFLE_MM3, Vec3};
use crate::pattern::{Role, may_meet};
use crate::solid::{Claim, Shell, apart, common, minus, shell_volume};

/// A wall counts as cut only if what is left is thinner than promised by this much (mm): dimensions meet promises
/// exactly, and meshes round. As for thin walls.
const SLACK_MM: f64 = crate::inspect::walls::LIMIT_SLACK_MM;

/// A promised wall.
struct Promise {
    /// Whose it is.
    feature: FeatureId,
    /// The feature whose metal it is.
    outside: FeatureId,
}

/// A stage as this check sees it.
struct Look<'a> {
    name: &'static str,
    bodies: &'a Bodies,
    least_wall_mm: Option<f64>,
}

/// What is missing of one promise for one opening.
#[derive(Clone, Copy)]
struct Missing {
    of: FeatureId,
    by: FeatureId,
    /// The box of what is missing.
    extent: Bounds,
    left_mm: f64,
    promised_mm: f64,
    least_wall_mm: Option<f64>,
    stage: &'static str,
}

/// Promised walls that are cut away, in the casting, and where only machining does it, in the finished part. What
/// breaks into each other is told already among the findings, and not again here.
pub fn wall_cut(
    part: &Part,
    finished: &Bodies,
    casting: &Bodies,
    findings: &[Finding],
    go: Go,
) -> Vec<Finding> {
    let finished = Look {
        name: "finished",
        bodies: finished,
        least_wall_mm: part.min_wall_finished_mm(),
    };
    let casting = Look {
        name: "casting",
        bodies: casting,
        least_wall_mm: part.min_wall_mm(),
    };
    let meetings = findings.iter().filter(|f| f.code == "breaks-into");
    let meet: Vec<Vec<FeatureId>> = meetings
        .map(|f| {
            f.features
                .iter()
                .filter_map(|(n, _)| part.find(n))
                .collect()
        })
        .collect();
    let told = |a: FeatureId, b: FeatureId| meet.iter().any(|m| m.contains(&a) && m.contains(&b));
    let mut out = Vec::new();
    for promise in promises(part) {
        for by in 0..part.features.len() {
            if !may_cut(part, &promise, by) || told(promise.feature, by) {
                continue;
            }
            if !go() {
                return out;
            }
            let found = missing(part, &casting, &promise, by)
                .or_else(|| missing(part, &finished, &promise, by));
            out.extend(found.map(|found| finding(part, &found)));
        }
    }
    out
}

fn promises(part: &Part) -> Vec<Promise> {
    let promise = |(id, feature): (FeatureId, &Feature)| {
        let outside = match &feature.form {
            Form::Tunnel(t) if t.wall > 0.0 => id,
            Form::Raised(r) if r.bore.is_some() => id,
            Form::Hollow(h) => h.of,
            _ => return None,
        };
        Some(Promise {
            feature: id,
            outside,
        })
    };
    part.features
        .iter()
        .enumerate()
        .filter_map(promise)
        .collect()
}

/// Whether an opening isn't meant to cut a promised wall: it is of another feature, doesn't meet the inside by the
/// script's word, and isn't made into the boss itself, whose wall is then the script's own choice.
fn may_cut(part: &Part, promise: &Promise, by: FeatureId) -> bool {
    let into = |of: FeatureId| part.features[by].host.as_ref().and_then(|h| h.feature) == Some(of);
    let boss = matches!(part.features[promise.feature].form, Form::Raised(_));
    by != promise.feature
        && part.features[by].opens()
        && !may_meet(part, promise.feature, by)
        && !(boss && into(promise.feature))
}

/// What an opening takes of a promised wall in a stage; nothing where what is left is as thick as promised.
fn missing(part: &Part, look: &Look, promise: &Promise, by: FeatureId) -> Option<Missing> {
    let staged = &look.bodies.staged;
    let members = |of: FeatureId, act: Act| {
        let all = staged.members.iter().enumerate();
        all.filter(move |(_, m)| m.body.feature == of && m.body.act == act)
            .map(|(i, _)| i)
    };
    let insides: Vec<usize> = members(promise.feature, Act::Cut)
        .filter(|&i| matches!(staged.members[i].role, Role::Tall(_)))
        .collect();
    let mut taken: Option<Bounds> = None;
    let mut left_mm = f64::INFINITY;
    let mut deepest = Vec3::ZERO;
    for outside in members(promise.outside, Act::Add) {
        if staged.members[outside].role != Role::Core {
            continue;
        }
        for cut in members(by, Act::Cut) {
            let near = look.bodies.boxes[cut].meets(&look.bodies.boxes[outside])
                && staged.claim(cut, outside) == Claim::Takes
                && !apart(&look.bodies.shells[cut], &look.bodies.shells[outside]);
            let Some(piece) = near.then(|| lost(look, outside, cut, &insides)).flatten() else {
                continue;
            };
            if shell_volume(&piece) < TRIFLE_MM3 {
                continue;
            }
            let (far, at) = insides
                .iter()
                .map(|&inside| least_distance(&look.bodies.shells[inside], &piece))
                .min_by(|a, b| a.0.total_cmp(&b.0))?;
            if far < left_mm {
                (left_mm, deepest) = (far, at);
            }
            let so_far = taken.get_or_insert(Bounds::EMPTY);
            *so_far = so_far.joined(piece.bounds());
        }
    }
    let extent = taken?;
    let promised_mm = promised(part, promise, deepest);
    (left_mm < promised_mm - SLACK_MM - part.facet_mm).then_some(Missing {
        of: promise.feature,
        by,
        extent,
        left_mm,
        promised_mm,
        least_wall_mm: look.least_wall_mm,
        stage: look.name,
    })
}

/// What an opening takes of the outside that isn't the inside's own and that no other metal fills.
fn lost(look: &Look, outside: usize, cut: usize, insides: &[usize]) -> Option<Shell> {
    let mut piece = common(&look.bodies.shells[cut], &look.bodies.shells[outside]).ok()?;
    let less = |piece: Shell, other: usize| -> Option<Shell> {
        if piece.triangles.is_empty() || !look.bodies.boxes[other].meets(&piece.bounds()) {
            return Some(piece);
        }
        minus(&piece, &look.bodies.shells[other]).ok()
    };
    for &inside in insides {
        piece = less(piece, inside)?;
    }
    let adds = look.bodies.staged.members.iter().enumerate();
    for (other, _) in adds.filter(|(_, m)| m.body.act == Act::Add) {
        if other != outside && look.bodies.staged.claim(cut, other) == Claim::Spares {
            piece = less(piece, other)?;
        }
    }
    Some(piece)
}

/// The promised wall at a place (mm): a hollow's floor below its inside, its wall elsewhere.
fn promised(part: &Part, promise: &Promise, at: Vec3) -> f64 {
    match &part.features[promise.feature].form {
        Form::Tunnel(t) => t.wall,
        Form::Raised(r) => {
            let bore = r.bore.map_or(0.0, |(dia, _)| dia);
            (r.outline.widest_disc() - bore) / 2.0
        }
        Form::Hollow(h) => {
            let host = &part.features[h.of];
            let height = match &host.form {
                Form::Raised(r) => r.height,
                _ => return h.wall.max(h.floor),
            };
            let z = host.frame.local(at).z;
            let in_floor = if h.at_top {
                z <= h.floor
            } else {
                z >= height - h.floor
            };
            if in_floor { h.floor } else { h.wall }
        }
        _ => 0.0,
    }
}

fn finding(part: &Part, found: &Missing) -> Finding {
    let (of, by) = (named(part, found.of), named(part, found.by));
    let show = |mm: f64| part.unit.show(mm);
    let mut sizes = found.extent.size().to_array();
    sizes.sort_by(f64::total_cmp);
    let least = found.least_wall_mm.unwrap_or(f64::INFINITY);
    let level = if found.left_mm < least {
        Level::Stop
    } else {
        Level::Look
    };
    let left = if found.left_mm < SLACK_MM {
        "nothing".to_string()
    } else {
        show(found.left_mm)
    };
    let mut finding = Finding::new(
        "wall-cut",
        level,
        format!(
            "{} cuts into the wall of {}: {left} is left of {}, over {} x {}",
            by.0,
            of.0,
            show(found.promised_mm),
            show(sizes[2]),
            show(sizes[1]),
        ),
        format!(
            "make {} shallower or move it by {}, or say `meets: {}` in {} if they are meant to meet",
            by.0,
            show(found.promised_mm - found.left_mm),
            of.0,
            by.0
        ),
    );
    finding.features = vec![of, by];
    finding.stage = Some(found.stage);
    finding.at_mm = Some(found.extent.middle().to_array());
    finding.value = Some(found.left_mm);
    finding.limit = Some(found.promised_mm);
    finding
}
