//! Where runners run and sprues stand.

use crate::drawing::Part;
use crate::drawing::body::{Act, Body, LathePoint, Shape, Sweep};
use crate::drawing::face::section_axes;
use crate::drawing::gating::Section;
use crate::measure::{Frame, SINK_MM, Vec2, Vec3};
use crate::pattern::gated::piece::{Laid, LaidPlace};

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
pub(super) fn half_along(section: &Section, dir: Vec3, up: Vec3) -> f64 {
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

/// How far a stub's section reaches along a direction.
pub(super) fn half_on(stub: &Stub, along: Vec3) -> f64 {
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
