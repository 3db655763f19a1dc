//! A loose tunnel: it is taken out of the pattern with what lies straight above it, or straight below, so that what is left
//! keeps a trough that a cutter reaches, and parted along the tunnel's own plane into two halves, each laid flat on it.

use crate::drawing::Part;
use crate::drawing::body::{Act, Band, Body, Shape};
use crate::drawing::feature::{Form, Tunnel};
use crate::drawing::given::{Edge, FeatureId};
use crate::drawing::outline::Outline;
use crate::measure::{Bounds, Frame, Plane, Vec2, Vec3};
use crate::pieces::Parting;
use crate::pieces::cut::{cut_out, sides};
use crate::pieces::loose::{Loosened, goes_with};
use crate::pieces::region::{Bodies, Take, over, swollen, together};
use crate::pieces::snap::{PAST_MM, snapped};
use crate::solid::{Memo, Shell, Solid, SolidFault, Workpiece, shell_of};

/// What a block is wider than its tunnel on each side (mm), so that no cut lies along a wall.
const MARGIN_MM: f64 = 0.5;
/// How far a block goes out over the pattern (mm).
const BEYOND_MM: f64 = 10.0;
/// Points of a way may lie off its plane by so much (mm).
const FLAT_MM: f64 = 0.05;
/// Legs of a bend's arc.
const ARC_LEGS: usize = 8;
/// A leg shorter than this in plan runs upright (mm).
const UPRIGHT_MM: f64 = 0.5;

/// Cuts a tunnel's halves out of the rest; `splits` gets a row for them.
pub(super) fn cut(
    part: &Part,
    bodies: &Bodies,
    splits: &mut Vec<Parting>,
    out: &mut Loosened,
    id: FeatureId,
    memo: &mut Memo,
) -> Result<(), String> {
    let feature = &part.features[id];
    let Form::Tunnel(tunnel) = &feature.form else {
        return Ok(());
    };
    let path = path(part, tunnel);
    let plane = plane(&path).ok_or("its way doesn't lie in one plane")?;
    let own = |f: FeatureId| f == id || goes_with(part, f, id);
    let shells: Vec<Shell> = bodies.of(part, |f| own(f).then_some(Take::All)).collect();
    let Some(around) = shells.iter().map(Shell::bounds).reduce(Bounds::joined) else {
        return Err("it has no wall to cut".to_string());
    };
    let plan = plan(part, tunnel, &path, bodies, id)?;
    let whole = out.rest.bounds();
    let tall = [
        whole.low.z.min(around.low.z) - BEYOND_MM,
        whole.high.z + BEYOND_MM,
    ];
    let block = block(part, id, &plan, tall, &path, &shells, memo)?;
    let said = |fault: SolidFault| fault.text();
    let tube = together(shells.iter().map(swollen), memo).map_err(said)?;
    let tube = tube.ok_or("it has no wall to cut")?;
    let number = part.features.len() + splits.len();
    let mut best: Option<(Solid, Workpiece)> = None;
    // A little off the halves' own plane: two cuts in one plane would leave a skin.
    let [up, down] = [PAST_MM, -PAST_MM].map(|off| Plane {
        offset: plane.offset + off,
        ..plane
    });
    // Open upward or downward, so that what is left has no floor under a roof there: whichever takes less foam.
    for half in [over(&block, &up, memo), memo.trimmed(&block, &down)] {
        let region = memo.joined(&tube, &half.map_err(said)?).map_err(said)?;
        let mut rest = out.rest.clone();
        let taken = cut_out(&mut rest, region, number, 0.0, memo)?;
        let less = |b: &(Solid, Workpiece)| taken.volume_mm3() < b.0.volume_mm3();
        if best.as_ref().is_none_or(less) {
            best = Some((taken, rest));
        }
    }
    let (insert, rest) = best.ok_or("nothing of it is left")?;
    let plane = snapped(&insert, plane);
    let (under, above) = sides(&insert, &plane, number)?;
    let halves = under.into_iter().chain(above).collect();
    let why = format!("{} is loose: halves along its own plane", feature.name);
    out.rest = rest;
    splits.push(out.set_aside(part, id, halves, plane, 0.0, why));
    Ok(())
}

/// The middle line in the pattern, bends as short legs.
fn path(part: &Part, tunnel: &Tunnel) -> Vec<Vec3> {
    let by = part.metal.growth();
    let way: Vec<Vec3> = tunnel.way.iter().map(|p| *p * by).collect();
    let mut out = vec![way[0]];
    for at in way.windows(3) {
        let (back, on) = ((at[0] - at[1]).normalize(), (at[2] - at[1]).normalize());
        let radius = tunnel.bend.unwrap_or(0.0) * by.max_element();
        let half = back.angle_between(on) / 2.0;
        let reach = radius / half.tan();
        if radius <= 0.0 || !reach.is_finite() {
            out.push(at[1]);
            continue;
        }
        let centre = at[1] + (back + on).normalize() * (radius / half.sin());
        let (from, to) = (at[1] + back * reach - centre, at[1] + on * reach - centre);
        for k in 0..=ARC_LEGS {
            let spoke = from.lerp(to, k as f64 / ARC_LEGS as f64).normalize();
            out.push(centre + spoke * radius);
        }
    }
    out.push(way[way.len() - 1]);
    out
}

/// The plane that a way lies in, its normal up: of a straight one that which is as near level as it goes.
fn plane(path: &[Vec3]) -> Option<Plane> {
    let along = (path[path.len() - 1] - path[0]).normalize();
    let turned = path.windows(3).map(|w| (w[1] - w[0]).cross(w[2] - w[1]));
    let bend: Vec3 = turned.sum();
    let normal = if bend.length() > 1e-6 {
        bend.normalize()
    } else {
        let level = Vec3::Z.cross(along).normalize_or(Vec3::X);
        along.cross(level).normalize()
    };
    let normal = if normal.z < -1e-9 { -normal } else { normal };
    let plane = Plane {
        normal,
        offset: normal.dot(path[0]),
    };
    let flat = path.iter().all(|p| plane.distance(*p).abs() < FLAT_MM);
    flat.then_some(plane)
}

/// The plan of the block: a bar along the way, and the boxes round what goes with the tunnel.
fn plan(
    part: &Part,
    tunnel: &Tunnel,
    path: &[Vec3],
    bodies: &Bodies,
    id: FeatureId,
) -> Result<Outline, String> {
    let said = |e: crate::drawing::outline::OutlineError| e.text(part.unit);
    let mut points: Vec<Vec2> = Vec::new();
    for p in path.iter().map(|p| p.truncate()) {
        if points.last().is_none_or(|q| q.distance(p) > UPRIGHT_MM) {
            points.push(p);
        }
    }
    if points.len() < 2 {
        return Err("it runs straight up, where a cutter reaches it as it is".to_string());
    }
    let by = part.metal.growth().max_element();
    let width = 2.0 * ((tunnel.inside.reach() + tunnel.wall) * by + MARGIN_MM);
    let mut plan = Outline::stroke(&points, width).map_err(said)?;
    let others = bodies.of(part, |f| goes_with(part, f, id).then_some(Take::All));
    for shell in others {
        let bounds = shell.bounds().grown(MARGIN_MM);
        let (size, middle) = (bounds.size(), bounds.middle());
        let around = Outline::rect(size.x, size.y).at(middle.x, middle.y);
        plan = plan.plus(&around).map_err(said)?;
    }
    Ok(plan)
}

/// The block between two heights, cut off square at the ends of the way.
fn block(
    part: &Part,
    id: FeatureId,
    plan: &Outline,
    [low, high]: [f64; 2],
    path: &[Vec3],
    own: &[Shell],
    memo: &mut Memo,
) -> Result<Shell, String> {
    let band = Band {
        outline: plan.clone(),
        holds: low,
        z0: low,
        z1: high,
        draft_deg: 0.0,
        flare: Edge::Sharp,
        edge: Edge::Sharp,
        below: 0.0,
        above: 0.0,
    };
    let body = Body::plain(id, Act::Add, Frame::PART, Shape::Band(band));
    let mut shell = shell_of(&body, part.facet_mm).map_err(|fault| fault.text(part.unit))?;
    let n = path.len();
    for (end, before) in [(path[0], path[1]), (path[n - 1], path[n - 2])] {
        let out = (end - before).truncate();
        if out.length() < UPRIGHT_MM {
            continue;
        }
        let normal = out.normalize().extend(0.0);
        // Past a slanting mouth, its stock and its flange.
        let far = own.iter().flat_map(|s| &s.points).map(|p| normal.dot(*p));
        let offset = far.fold(normal.dot(end), f64::max) + MARGIN_MM;
        shell = memo
            .trimmed(&shell, &Plane { normal, offset })
            .map_err(|fault| fault.text())?;
    }
    Ok(shell)
}
