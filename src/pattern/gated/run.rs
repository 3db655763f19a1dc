//! Where runners run and sprues stand.

use crate::drawing::Part;
use crate::drawing::body::{Act, Body, LathePoint, Shape, Sweep};
use crate::drawing::face::section_axes;
use crate::drawing::gating::Section;
use crate::fault::Fault;
use crate::measure::{FLUSH_MM, Frame, SINK_MM, Vec2, Vec3};
use crate::pattern::gated::at;
use crate::pattern::gated::piece::{Laid, LaidPlace};

/// A runner goes this far past the last stub that it joins (mm).
const PAST_MM: f64 = 1.0;
/// Ends of joined gates within this of the runner's level need no riser (mm).
const LEVEL_MM: f64 = 0.5;

/// The end of a joined gate.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stub {
    /// The gate's number.
    pub piece: usize,
    /// The frame of the gate, in the pattern.
    pub frame: Frame,
    pub section: Section,
    pub length: f64,
}

/// The frame whose z is up in the flask.
pub(super) fn upright(part: &Part) -> Frame {
    Frame::facing(Vec3::ZERO, part.gating.up(), None)
}

/// How far a runner's section reaches along a direction, for a runner that lies level.
fn half_along(section: &Section, dir: Vec3, up: Vec3) -> f64 {
    if dir.dot(up).abs() > 0.5 {
        section.half(Vec2::Y)
    } else {
        section.half(Vec2::X)
    }
}

/// A bar along a way.
pub(super) fn bar(
    part: &Part,
    piece: usize,
    way: Vec<Vec3>,
    section: Section,
    ends: [f64; 2],
    riser: bool,
) -> Laid {
    let frame = upright(part);
    let shape = Shape::Sweep(Sweep {
        way: way.iter().map(|p| frame.local(*p)).collect(),
        bend: None,
        section: section.outline(),
        before: ends[0],
        after: ends[1],
        flip_u: false,
    });
    Laid {
        piece,
        copy: 0,
        body: Body::plain(part.features.len() + piece, Act::Add, frame, shape),
        place: LaidPlace::Bar {
            way,
            section,
            riser,
        },
    }
}

/// A runner through the ends of gates, with a riser for each that lies off its level.
pub(super) fn joined(
    part: &Part,
    piece: usize,
    section: Section,
    stubs: &[Stub],
) -> Result<Vec<Laid>, Fault> {
    let up = part.gating.up();
    let through = |stub: &Stub| {
        let end = stub.frame.raised(stub.length).origin;
        end + stub.frame.z * half_along(&section, stub.frame.z, up)
    };
    // Stubs that look up are met from above, those that look down from below.
    let heights = stubs.iter().map(|stub| up.dot(through(stub)));
    let looks = stubs[0].frame.z.dot(up);
    let level = if looks > 0.5 {
        heights.fold(f64::NEG_INFINITY, f64::max)
    } else if looks < -0.5 {
        heights.fold(f64::INFINITY, f64::min)
    } else {
        up.dot(through(&stubs[0]))
    };
    let mut out = Vec::new();
    let mut way: Vec<Vec3> = Vec::new();
    for stub in stubs {
        let p = through(stub);
        let off = level - up.dot(p);
        let on_level = if off.abs() > LEVEL_MM {
            let q = p + up * off;
            let beyond = if stub.frame.z.dot(up).abs() > 0.5 {
                half_along(&section, stub.frame.z, up)
            } else {
                half_on(stub, up)
            };
            out.push(bar(part, piece, vec![p, q], section, [beyond, 0.0], true));
            q
        } else {
            p + up * off
        };
        if way
            .last()
            .is_none_or(|last| last.distance(on_level) > FLUSH_MM)
        {
            way.push(on_level);
        }
    }
    if way.len() < 2 {
        let text = "the gates that it joins all end at one place";
        return Err(at(part, piece, text).hint("a sprue can stand on a gate itself"));
    }
    for (i, w) in way.windows(3).enumerate() {
        if (w[1] - w[0]).angle_between(w[2] - w[1]) > 2.2 {
            let name = &part.gating.pieces[stubs[(i + 1).min(stubs.len() - 1)].piece].name;
            let text = format!("it goes back on itself at {name}");
            let hint = "name the gates in the order in which the runner passes them";
            return Err(at(part, piece, text).hint(hint));
        }
    }
    let way = straightened(way);
    let n = way.len();
    let past = |stub: &Stub, along: Vec3| half_on(stub, along).max(section.half(Vec2::X)) + PAST_MM;
    let (first, last) = (
        (way[1] - way[0]).normalize(),
        (way[n - 1] - way[n - 2]).normalize(),
    );
    let ends = [past(&stubs[0], first), past(&stubs[stubs.len() - 1], last)];
    out.insert(0, bar(part, piece, way, section, ends, false));
    Ok(out)
}

/// How far a stub's section reaches along a direction.
fn half_on(stub: &Stub, along: Vec3) -> f64 {
    let local = stub.frame.local_vector(along);
    stub.section.half(Vec2::new(local.x, local.y))
}

/// A way without points that it runs straight through.
pub(super) fn straightened(way: Vec<Vec3>) -> Vec<Vec3> {
    let mut out: Vec<Vec3> = Vec::with_capacity(way.len());
    for (i, p) in way.iter().enumerate() {
        let straight = match (out.last(), way.get(i + 1)) {
            (Some(last), Some(next)) => {
                (*p - *last).normalize().dot((*next - *p).normalize()) > 1.0 - 1e-12
            }
            _ => false,
        };
        if !straight {
            out.push(*p);
        }
    }
    out
}

/// The place of a way that lies nearest to a place of the plan; its middle where none is given.
pub(super) fn on_way(way: &[Vec3], xy: Option<Vec2>) -> Vec3 {
    let plan = |p: Vec3| Vec2::new(p.x, p.y);
    match xy {
        Some(xy) => way
            .windows(2)
            .map(|w| {
                let run = plan(w[1]) - plan(w[0]);
                let t = if run.length_squared() > 0.0 {
                    ((xy - plan(w[0])).dot(run) / run.length_squared()).clamp(0.0, 1.0)
                } else {
                    0.5
                };
                w[0] + (w[1] - w[0]) * t
            })
            .min_by(|a, b| plan(*a).distance(xy).total_cmp(&plan(*b).distance(xy)))
            .unwrap_or(way[0]),
        None => {
            let length: f64 = way.windows(2).map(|w| w[0].distance(w[1])).sum();
            let mut left = length / 2.0;
            for w in way.windows(2) {
                let leg = w[0].distance(w[1]);
                if left <= leg {
                    return w[0] + (w[1] - w[0]) * (left / leg);
                }
                left -= leg;
            }
            way[way.len() - 1]
        }
    }
}

/// What a sprue stands on.
pub(super) enum Base<'a> {
    /// A runner: its middle line and section.
    Bar(&'a [Vec3], Section),
    /// A gate's end.
    Gate(&'a Stub),
}

/// A sprue's measures (mm).
pub(super) struct SprueSize {
    pub height: f64,
    pub top: f64,
    pub foot: f64,
}

/// A sprue on a runner's middle line, or on a gate's end: on it where the gate looks up, beside it where it doesn't.
pub(super) fn sprue(
    part: &Part,
    piece: usize,
    base: Base,
    xy: Option<Vec2>,
    size: &SprueSize,
) -> Laid {
    let up = part.gating.up();
    // The foot goes down by `below` under the level that the height counts from.
    let (foot, below) = match base {
        Base::Bar(way, section) => {
            let half = section.half(Vec2::Y);
            (on_way(way, xy) + up * half, half)
        }
        Base::Gate(stub) => {
            let end = stub.frame.raised(stub.length).origin;
            if stub.frame.z.dot(up) > 0.5 {
                (end, SINK_MM)
            } else {
                let half = half_on(stub, up);
                let beside = end + stub.frame.z * (size.foot / 2.0);
                (beside + up * half, 2.0 * half)
            }
        }
    };
    let point = |r: f64, z: f64| LathePoint { r, z, bulge: 0.0 };
    let profile = vec![
        point(0.0, -below),
        point(size.foot / 2.0, -below),
        point(size.foot / 2.0, 0.0),
        point(size.top / 2.0, size.height),
        point(0.0, size.height),
    ];
    let frame = Frame::facing(foot, up, None);
    Laid {
        piece,
        copy: 0,
        body: Body::plain(
            part.features.len() + piece,
            Act::Add,
            frame,
            Shape::Lathe(profile),
        ),
        place: LaidPlace::Sprue {
            foot,
            top: foot + up * size.height,
            dia: [size.top, size.foot],
        },
    }
}

/// The section's axes of a straight bar, as a frame that looks along it.
pub(super) fn along(from: Vec3, dir: Vec3) -> Frame {
    let (x, y) = section_axes(dir);
    Frame {
        origin: from,
        x,
        y,
        z: dir,
    }
}
