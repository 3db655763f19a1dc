//! Whether the gated pattern fits its flask with sand all round and over it, and how much sand that takes.
//!
//! In plan a round flask is held against the least circle round the pattern's outline, a straight-sided one against its
//! extents at each whole degree of turn. Both are exact but for that degree.

use crate::drawing::gating::FlaskForm;
use crate::fault::{Fault, Faults};
use crate::foundry::Sourced;
use crate::foundry::flasks::{
    CONTAINERS, SAND_OVER_MM, SAND_PACKED_KG_M3, SAND_ROUND_MM, container, round_litres, sand_kg,
};
use crate::measure::{Frame, Vec2, Vec3};
use crate::pour::Subject;

/// Turns tried in a straight-sided flask (degrees).
const TURNS: usize = 180;

/// A gated pattern in its flask (mm).
#[derive(Debug, Clone, PartialEq)]
pub struct FlaskFit {
    /// The least circle round the gated pattern in plan: its diameter.
    pub round_mm: f64,
    /// Its extents in plan as drawn, and its height, in the position of the pour.
    pub size_mm: [f64; 3],
    /// Diameter inside of a round flask that it needs, with sand, and the height that any flask needs.
    pub need_mm: [f64; 2],
    /// Sand at the sides and below, at least, and over the castings.
    pub sand_mm: [f64; 2],
    /// The flask's name, where it is one of the table; `None` where none is declared, or a size was given.
    pub name: Option<String>,
    /// Size inside of the declared flask: diameter and height, or length, width and height; empty where none is.
    pub flask_mm: Vec<f64>,
    /// How much the declared flask is too small in plan and in height; 0 or less fits.
    pub short_mm: [f64; 2],
    /// How far the pattern is turned about the upright, where it fits a straight-sided flask (degrees).
    pub turn_deg: Option<f64>,
    /// Another way up in which the declared flask takes the castings with sand round and over them, where it is too small
    /// as they lie: gates and sprue would have to be laid anew.
    pub other_up: Option<Vec3>,
    /// The smallest container of the table that takes it.
    pub smallest: Option<&'static str>,
    /// Sand that fills the declared flask, or else that container, vibrated: least and most (kg).
    pub sand_kg: Option<[f64; 2]>,
    /// Density of vibrated sand (kg/m³).
    pub sand_kg_m3: Sourced,
}

/// The names of the containers of the table.
pub fn container_names() -> Vec<&'static str> {
    CONTAINERS.iter().map(|c| c.name).collect()
}

pub(super) fn fit(subject: &Subject) -> Result<FlaskFit, Faults> {
    let part = subject.part;
    let frame = Frame::facing(Vec3::ZERO, part.gating.up(), None);
    let seen: Vec<Vec3> = subject
        .whole
        .points
        .iter()
        .map(|p| frame.local(*p))
        .collect();
    let hull = hull(seen.iter().map(|p| p.truncate()).collect());
    let height = |points: &mut dyn Iterator<Item = f64>| {
        points.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], z| {
            [low.min(z), high.max(z)]
        })
    };
    let [low, high] = height(&mut seen.iter().map(|p| p.z));
    let [_, cast_high] = height(&mut cast(subject, &frame).into_iter().map(|p| p.z));
    let (sides, over) = (SAND_ROUND_MM.low, SAND_OVER_MM.low);
    let round_mm = least_circle(&hull).1 * 2.0;
    // The sprue's top comes out of the sand; the castings stay covered.
    let need_height = sides + (high - low).max(cast_high - low + over);
    let need_mm = [round_mm + 2.0 * sides, need_height];
    let extents = extents(&hull, 0.0);
    let smallest = CONTAINERS
        .iter()
        .find(|c| c.dia_mm >= need_mm[0] && c.height_mm >= need_mm[1]);
    let mut fit = FlaskFit {
        round_mm,
        size_mm: [extents.x, extents.y, high - low],
        need_mm,
        sand_mm: [sides, over],
        name: None,
        flask_mm: Vec::new(),
        short_mm: [0.0; 2],
        turn_deg: None,
        other_up: None,
        smallest: smallest.map(|c| c.name),
        sand_kg: None,
        sand_kg_m3: SAND_PACKED_KG_M3,
    };
    let mut litres = smallest.map(|c| round_litres(c.dia_mm, c.height_mm));
    if let Some(flask) = &part.gating.flask {
        let form = match &flask.form {
            FlaskForm::Named(name) => {
                let Some(known) = container(name) else {
                    let fault = Fault::new(format!("no container is called \"{name}\""))
                        .hint(format!("the table has {}", container_names().join(", ")))
                        .hint("or give its size inside: flask(#{ dia, height })")
                        .from_site(&flask.site);
                    return Err(fault.into());
                };
                fit.name = Some(known.name.to_string());
                FlaskForm::Round {
                    dia: known.dia_mm,
                    height: known.height_mm,
                }
            }
            own => own.clone(),
        };
        litres = Some(declared(&mut fit, &form, &hull));
        if fit.short_mm.iter().any(|mm| *mm > 0.0) {
            fit.other_up = other_up(subject, &form);
        }
    }
    fit.sand_kg = litres.map(|litres| {
        let body = subject.whole_figures.volume_mm3;
        [SAND_PACKED_KG_M3.low, SAND_PACKED_KG_M3.high].map(|d| sand_kg(litres, body, d))
    });
    Ok(fit)
}

/// The castings' points in the flask.
fn cast(subject: &Subject, frame: &Frame) -> Vec<Vec3> {
    let own = subject.part.features.len();
    let whole = subject.whole;
    let of_part = whole.triangles.iter().zip(&whole.features);
    of_part
        .filter(|(_, feature)| **feature < own)
        .flat_map(|(t, _)| t.map(|i| frame.local(whole.points[i as usize])))
        .collect()
}

/// The way up along an axis, other than the script's, in which a flask takes the castings alone, with the most height left.
fn other_up(subject: &Subject, form: &FlaskForm) -> Option<Vec3> {
    let now = subject.part.gating.up();
    let axes = [Vec3::X, Vec3::Y, Vec3::Z];
    let ways = axes.into_iter().flat_map(|a| [a, -a]);
    let left = |up: Vec3| {
        let points = cast(subject, &Frame::facing(Vec3::ZERO, up, None));
        let heights = points.iter().map(|p| p.z);
        let tall = heights.clone().fold(f64::NEG_INFINITY, f64::max)
            - heights.fold(f64::INFINITY, f64::min);
        let hull = hull(points.iter().map(|p| p.truncate()).collect());
        let (plan, _) = short_in_plan(form, &hull);
        let spare = inner_height(form) - (SAND_ROUND_MM.low + tall + SAND_OVER_MM.low);
        (plan <= 0.0 && spare >= 0.0).then_some((up, spare))
    };
    let fitting = ways.filter(|up| up.dot(now) < 0.999).filter_map(left);
    // The first of several alike.
    let best = fitting.reduce(|best, next| if next.1 > best.1 { next } else { best });
    best.map(|(up, _)| up)
}

fn inner_height(form: &FlaskForm) -> f64 {
    match *form {
        FlaskForm::Round { height, .. } | FlaskForm::Box { height, .. } => height,
        FlaskForm::Named(_) => 0.0,
    }
}

/// How much a flask is too small in plan, and the turn about the upright that this is for (degrees): as drawn where that
/// fits, else the one that leaves most room.
fn short_in_plan(form: &FlaskForm, hull: &[Vec2]) -> (f64, Option<usize>) {
    let round = 2.0 * SAND_ROUND_MM.low;
    match *form {
        FlaskForm::Round { dia, .. } => (2.0 * least_circle(hull).1 + round - dia, None),
        FlaskForm::Box { length, width, .. } => {
            let short = |turn: usize| {
                let size = extents(hull, turn as f64);
                (size.x + round - length).max(size.y + round - width)
            };
            if short(0) <= 0.0 {
                return (short(0), Some(0));
            }
            let all = (0..TURNS).map(|turn| (short(turn), Some(turn)));
            all.min_by(|a, b| a.0.total_cmp(&b.0))
                .unwrap_or((0.0, Some(0)))
        }
        FlaskForm::Named(_) => (0.0, None),
    }
}

/// Holds a declared flask against the pattern; gives its litres.
fn declared(fit: &mut FlaskFit, form: &FlaskForm, hull: &[Vec2]) -> f64 {
    let (plan, turn) = short_in_plan(form, hull);
    fit.short_mm = [plan, fit.need_mm[1] - inner_height(form)];
    fit.turn_deg = turn.filter(|_| plan <= 0.0).map(|turn| turn as f64);
    match *form {
        FlaskForm::Round { dia, height } => {
            fit.flask_mm = vec![dia, height];
            round_litres(dia, height)
        }
        FlaskForm::Box {
            length,
            width,
            height,
        } => {
            fit.flask_mm = vec![length, width, height];
            length * width * height * 1e-6
        }
        FlaskForm::Named(_) => 0.0,
    }
}

/// Extents of a hull turned by so many degrees.
fn extents(hull: &[Vec2], deg: f64) -> Vec2 {
    let turn = Vec2::from_angle(deg.to_radians());
    let none = (Vec2::INFINITY, Vec2::NEG_INFINITY);
    let (low, high) = hull.iter().fold(none, |(low, high), p| {
        let p = turn.rotate(*p);
        (low.min(p), high.max(p))
    });
    high - low
}

/// The convex hull, counter-clockwise (the monotone chain, from memory: Andrew, Information Processing Letters 9, 1979).
fn hull(mut points: Vec<Vec2>) -> Vec<Vec2> {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    points.dedup();
    if points.len() < 3 {
        return points;
    }
    let chain = |points: &mut dyn Iterator<Item = Vec2>| {
        let mut out: Vec<Vec2> = Vec::new();
        for p in points {
            while out.len() > 1 {
                let (a, b) = (out[out.len() - 2], out[out.len() - 1]);
                if (b - a).perp_dot(p - a) > 0.0 {
                    break;
                }
                out.pop();
            }
            out.push(p);
        }
        out.pop();
        out
    };
    let mut lower = chain(&mut points.iter().copied());
    lower.extend(chain(&mut points.iter().rev().copied()));
    lower
}

/// The least circle round some points: centre and radius. It grows by the points that lie outside (from memory: Welzl,
/// New Results and New Trends in Computer Science, 1991), here in their own order.
fn least_circle(points: &[Vec2]) -> (Vec2, f64) {
    let slack = |r: f64| r * (1.0 + 1e-12) + 1e-9;
    let outside = |c: &(Vec2, f64), p: Vec2| c.0.distance(p) > slack(c.1);
    let two = |a: Vec2, b: Vec2| ((a + b) / 2.0, a.distance(b) / 2.0);
    let mut circle = (points.first().copied().unwrap_or_default(), 0.0);
    for (i, &p) in points.iter().enumerate() {
        if !outside(&circle, p) {
            continue;
        }
        circle = (p, 0.0);
        for (j, &q) in points[..i].iter().enumerate() {
            if !outside(&circle, q) {
                continue;
            }
            circle = two(p, q);
            for &r in &points[..j] {
                if outside(&circle, r) {
                    circle = through(p, q, r).unwrap_or(circle);
                }
            }
        }
    }
    circle
}

/// The circle through three points; `None` where they lie in line.
fn through(a: Vec2, b: Vec2, c: Vec2) -> Option<(Vec2, f64)> {
    let (ab, ac) = (b - a, c - a);
    let twice = 2.0 * ab.perp_dot(ac);
    if twice.abs() < 1e-12 {
        return None;
    }
    let (d, e) = (ab.length_squared(), ac.length_squared());
    let from_a = Vec2::new(ac.y * d - ab.y * e, ab.x * e - ac.x * d) / twice;
    Some((a + from_a, from_a.length()))
}
