//! Lays the pieces of the gating on the pattern, one after the other: stubs and ties, runners, sprues; then the stubs'
//! free ends.

use std::sync::Arc;

use crate::drawing::Part;
use crate::drawing::body::{Act, Band, Body, Shape, Sweep};
use crate::drawing::gating::{GateReach, GatingForm, RunnerWay, Seat, Section, TieEnd, TreeLay};
use crate::drawing::given::Edge;
use crate::fault::{Fault, Faults};
use crate::measure::{Frame, Plane, Vec3};
use crate::pattern::Stocks;
use crate::pattern::gated::foot::{NoFooting, column, reach_in, sink};
use crate::pattern::gated::joined::{joined, stretch_under};
use crate::pattern::gated::piece::{Laid, LaidPlace, Rigid};
use crate::pattern::gated::rays::Near;
use crate::pattern::gated::run::{Base, SprueSize, Stub, along, bar, sprue, straightened};
use crate::pattern::gated::{at, body_fault};
use crate::solid::{Shell, ShellStore, Solid};

/// Where each pattern of the tree goes; one that stays where there is none.
pub(super) fn copies(part: &Part) -> Vec<Rigid> {
    let Some(tree) = &part.gating.tree else {
        return vec![Rigid::shift(Vec3::ZERO)];
    };
    let count = tree.copies;
    (0..count)
        .map(|k| match tree.lay {
            TreeLay::Step(step) => Rigid::shift(step * k as f64),
            TreeLay::About(about) => {
                let grow = part.metal.growth();
                let about = about * grow.truncate();
                Rigid::turn(360.0 * k as f64 / count as f64, about)
            }
        })
        .collect()
}

/// A seat's frame in the pattern: with stock, scaled, square to the scaled face.
fn seated(part: &Part, stocks: &Stocks, seat: &Seat) -> Frame {
    let stock = seat.host.as_ref().map_or(0.0, |(id, key)| {
        part.slot(*id, key)
            .ok()
            .and_then(|slot| stocks.get(&(*id, slot)).copied())
            .unwrap_or(0.0)
    });
    let raw = seat.frame.raised(stock);
    let grow = part.metal.growth();
    let z = (raw.z / grow).normalize();
    let x = (raw.x * grow - z * (raw.x * grow).dot(z)).normalize();
    let y = if raw.right_handed() {
        z.cross(x)
    } else {
        x.cross(z)
    };
    Frame {
        origin: raw.origin * grow,
        x,
        y,
        z,
    }
}

/// A plane of the finished part in the pattern.
fn grown_plane(part: &Part, plane: &Plane) -> Plane {
    let normal = plane.normal / part.metal.growth();
    let length = normal.length();
    Plane {
        normal: normal / length,
        offset: plane.offset / length,
    }
}

/// A stub before its free end is known.
#[derive(Debug, Clone, Copy)]
struct Rough {
    stub: Stub,
    copy: usize,
    sink: f64,
    trim: Option<Plane>,
    gate: bool,
}

/// Every piece as it lies, stubs first, then ties, runners, sprues.
pub(super) fn lay(
    part: &Part,
    stocks: &Stocks,
    pattern: &Solid,
    store: &mut ShellStore,
) -> Result<Vec<Laid>, Faults> {
    let copies = copies(part);
    let mut faults = Vec::new();
    let mut stubs: Vec<Rough> = Vec::new();
    let mut ties: Vec<Laid> = Vec::new();
    for (number, piece) in part.gating.pieces.iter().enumerate() {
        match &piece.form {
            GatingForm::Gate { .. } | GatingForm::Feeder { .. } => {
                match stub(part, stocks, pattern, number) {
                    Ok(rough) => {
                        stubs.extend(copies.iter().enumerate().map(|(copy, rigid)| Rough {
                            stub: Stub {
                                frame: rigid.frame(&rough.stub.frame),
                                ..rough.stub
                            },
                            copy,
                            trim: rough.trim.map(|plane| moved_plane(rigid, &plane)),
                            ..rough
                        }))
                    }
                    Err(fault) => faults.push(fault),
                }
            }
            GatingForm::Tie { ends, section } => {
                match tie(part, stocks, pattern, number, ends, *section) {
                    Ok(laid) => ties.extend(
                        copies
                            .iter()
                            .enumerate()
                            .map(|(copy, rigid)| moved_tie(&laid, rigid, copy)),
                    ),
                    Err(fault) => faults.push(fault),
                }
            }
            _ => {}
        }
    }
    if !faults.is_empty() {
        return Err(Faults(faults));
    }
    let (runners, sprues) = bars(part, &stubs)?;
    let meeting: Vec<(usize, Arc<Shell>)> = {
        let all: Vec<&Laid> = runners.iter().chain(&sprues).collect();
        let bodies: Vec<_> = all.iter().map(|l| &l.body).collect();
        let shells = store.shells(&bodies, part.facet_mm);
        let made = shells.into_iter().zip(&all);
        made.map(|(shell, one)| match shell {
            Ok(shell) => Ok((one.piece, shell)),
            Err(fault) => Err(body_fault(part, one.piece, &fault)),
        })
        .collect::<Result<_, Fault>>()?
    };
    let mut out: Vec<Laid> = stubs
        .iter()
        .map(|rough| ended(part, rough, &meeting))
        .collect();
    out.extend(ties);
    out.extend(runners);
    out.extend(sprues);
    Ok(out)
}

fn moved_plane(rigid: &Rigid, plane: &Plane) -> Plane {
    let frame = rigid.frame(&Frame::facing(
        plane.normal * plane.offset,
        plane.normal,
        None,
    ));
    frame.plane()
}

/// A gate or feeder on the first pattern: where it stands, how long it is, how deep its foot goes.
fn stub(part: &Part, stocks: &Stocks, pattern: &Solid, number: usize) -> Result<Rough, Fault> {
    let piece = &part.gating.pieces[number];
    let (seat, section, reach, gate) = match &piece.form {
        GatingForm::Gate {
            seat,
            section,
            reach,
        } => (seat, *section, *reach, true),
        GatingForm::Feeder { seat, dia, height } => (
            seat,
            Section::Round { dia: *dia },
            GateReach::Length(*height),
            false,
        ),
        _ => return Err(at(part, number, "it is no stub")),
    };
    let frame = seated(part, stocks, seat);
    let (length, trim) = match reach {
        GateReach::Length(length) => (length, None),
        GateReach::UpTo(plane) => {
            let plane = grown_plane(part, &plane);
            let toward = plane.normal.dot(frame.z);
            let length = -plane.distance(frame.origin) / toward;
            if length <= 0.0 {
                let text = "with stock on its face nothing is left of it up to that plane";
                return Err(at(part, number, text));
            }
            let square = toward.abs() > 1.0 - 1e-9;
            let out = if toward > 0.0 {
                plane
            } else {
                Plane {
                    normal: -plane.normal,
                    offset: -plane.offset,
                }
            };
            (length, (!square).then_some(out))
        }
    };
    let reach = section.reach();
    let region = column(&frame, &section, -3.0 * reach - 10.0, reach + 20.0);
    let near = Near::of(&pattern.points, pattern.triangles.iter(), &region);
    let sink = sink(&near, &frame, &section).map_err(|none| no_footing(part, number, none))?;
    Ok(Rough {
        stub: Stub {
            piece: number,
            frame,
            section,
            length,
        },
        copy: 0,
        sink,
        trim,
        gate,
    })
}

fn no_footing(part: &Part, number: usize, none: NoFooting) -> Fault {
    let place = |p: Vec3| {
        let p = p / part.metal.growth();
        let [x, y, z] = p.to_array().map(|c| part.unit.number(c));
        format!("[{x}, {y}, {z}]")
    };
    match none {
        NoFooting::Beside(p) => at(
            part,
            number,
            format!("there is no metal under it at {}", place(p)),
        )
        .hint("make it smaller, or move it so that its whole section stands on the part"),
        NoFooting::Through(p, left) => at(
            part,
            number,
            format!(
                "it would come out of the other side at {}: the metal there ends {} under its face",
                place(p),
                part.unit.show(left.max(0.0))
            ),
        )
        .hint("make it smaller, or move it to where the wall is thicker"),
    }
}

/// A stub with its free end: it goes on into the runner or sprue that it meets.
fn ended(part: &Part, rough: &Rough, meeting: &[(usize, Arc<Shell>)]) -> Laid {
    let Stub {
        piece,
        frame,
        section,
        length,
    } = rough.stub;
    let end = frame.raised(length);
    let mut further = None;
    if rough.gate && rough.trim.is_none() {
        let region = column(&end, &section, -1.0, 2.0 * section.reach() + 2.0);
        for (met, shell) in meeting {
            if !shell.bounds().meets(&region) {
                continue;
            }
            let near = Near::of(&shell.points, shell.triangles.iter(), &region);
            if let Some(more) = reach_in(&near, &end, &section) {
                let nearest = further.is_none_or(|(_, least)| more < least);
                if nearest {
                    further = Some((*met, more));
                }
            }
        }
    }
    let above = further.map_or(0.0, |(_, more)| more);
    // A slanting end is cut from a longer stub.
    let beyond = if rough.trim.is_some() {
        2.0 * section.reach()
    } else {
        above
    };
    let mut body = Body::plain(
        part.features.len() + piece,
        Act::Add,
        frame,
        Shape::Band(Band {
            outline: section.outline(),
            holds: length,
            z0: 0.0,
            z1: length,
            draft_deg: 0.0,
            flare: Edge::Sharp,
            edge: Edge::Sharp,
            below: rough.sink,
            above: beyond,
        }),
    );
    body.trims.extend(rough.trim);
    Laid {
        piece,
        copy: rough.copy,
        body,
        place: LaidPlace::Stub {
            frame,
            section,
            length,
            sink: rough.sink,
            meets: further.map(|(met, _)| met),
        },
    }
}

/// A tie between two places, each end going in until it lies in metal.
fn tie(
    part: &Part,
    stocks: &Stocks,
    pattern: &Solid,
    number: usize,
    ends: &[TieEnd; 2],
    section: Section,
) -> Result<Laid, Fault> {
    let point = |end: &TieEnd| match end {
        TieEnd::Point(p) => *p * part.metal.growth(),
        TieEnd::Seat(seat) => seated(part, stocks, seat).origin,
    };
    let [from, to] = [point(&ends[0]), point(&ends[1])];
    let dir = (to - from).normalize();
    let at_start = along(from, dir);
    let at_end = Frame {
        origin: to,
        z: -dir,
        ..at_start
    };
    let footing = |frame: &Frame| {
        let reach = section.reach();
        let region = column(frame, &section, -3.0 * reach - 10.0, reach + 20.0);
        let near = Near::of(&pattern.points, pattern.triangles.iter(), &region);
        sink(&near, frame, &section).map_err(|none| no_footing(part, number, none))
    };
    let (before, after) = (footing(&at_start)?, footing(&at_end)?);
    let body = Body::plain(
        part.features.len() + number,
        Act::Add,
        Frame::PART,
        Shape::Sweep(Sweep {
            way: vec![from, to],
            bend: None,
            section: section.outline(),
            before,
            after,
            flip_u: false,
        }),
    );
    Ok(Laid {
        piece: number,
        copy: 0,
        body,
        place: LaidPlace::Tie {
            ends: [from, to],
            section,
        },
    })
}

fn moved_tie(laid: &Laid, rigid: &Rigid, copy: usize) -> Laid {
    let mut moved = laid.clone();
    moved.copy = copy;
    moved.body.frame = rigid.frame(&laid.body.frame);
    if let LaidPlace::Tie { ends, .. } = &mut moved.place {
        *ends = ends.map(|p| rigid.point(p));
    }
    moved
}

/// Runners with their risers, and sprues.
fn bars(part: &Part, stubs: &[Rough]) -> Result<(Vec<Laid>, Vec<Laid>), Faults> {
    let mut runners: Vec<Laid> = Vec::new();
    let mut sprues = Vec::new();
    for (number, piece) in part.gating.pieces.iter().enumerate() {
        match &piece.form {
            GatingForm::Runner { sections, way } => match way {
                RunnerWay::Path(points) => {
                    let way: Vec<Vec3> = points.iter().map(|p| *p * part.metal.growth()).collect();
                    let way = straightened(way);
                    runners.push(bar(part, number, way, sections[0], [0.0; 2], false));
                }
                RunnerWay::Joins(names) => {
                    let order = passed(part, stubs, names);
                    runners.extend(joined(part, number, sections, &order)?);
                }
            },
            GatingForm::Sprue {
                on,
                xy,
                height,
                top,
                foot,
                ..
            } => {
                let size = SprueSize {
                    height: *height,
                    top: *top,
                    foot: *foot,
                };
                let xy = xy.map(|p| p * part.metal.growth().truncate());
                sprues.push(standing(part, number, on, stubs, &runners, xy, &size)?);
            }
            _ => {}
        }
    }
    Ok((runners, sprues))
}

/// The stubs that a runner passes: pattern by pattern, in the order of the names.
fn passed(part: &Part, stubs: &[Rough], names: &[String]) -> Vec<Stub> {
    let count = stubs.iter().map(|s| s.copy + 1).max().unwrap_or(0);
    (0..count)
        .flat_map(|copy| names.iter().map(move |name| (copy, name)))
        .filter_map(|(copy, name)| {
            stubs
                .iter()
                .find(|s| s.copy == copy && part.gating.pieces[s.stub.piece].name == *name)
        })
        .map(|s| s.stub)
        .collect()
}

/// A sprue on what it names.
fn standing(
    part: &Part,
    number: usize,
    on: &str,
    stubs: &[Rough],
    runners: &[Laid],
    xy: Option<crate::measure::Vec2>,
    size: &SprueSize,
) -> Result<Laid, Fault> {
    let base = part.gating.named(on).first().copied();
    let own = runners.iter().filter(|r| Some(r.piece) == base);
    let stretches: Vec<(&[Vec3], Section)> = own
        .filter_map(|r| match &r.place {
            LaidPlace::Bar {
                way,
                section,
                riser: false,
            } => Some((way.as_slice(), *section)),
            _ => None,
        })
        .collect();
    if let Some((way, section, xy)) = stretch_under(&stretches, xy) {
        return Ok(sprue(part, number, Base::Bar(way, section), xy, size));
    }
    let gate = stubs.iter().find(|s| Some(s.stub.piece) == base);
    if gate.is_some_and(|s| s.stub.frame.z.dot(part.gating.up()) < -0.5) {
        return Err(at(part, number, format!("{on} looks down, and a sprue goes up"))
            .hint("lead a runner's `path` from the gate's end to beside the part, and stand the sprue on that"));
    }
    match gate {
        Some(rough) => Ok(sprue(part, number, Base::Gate(&rough.stub), None, size)),
        None => Err(at(part, number, "it stands on nothing")),
    }
}
