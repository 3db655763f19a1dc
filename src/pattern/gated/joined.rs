//! A runner from stub to stub: straight, mitred where it turns, of one section or with a step past a stub.
//!
//! Stretches of one section are one bar. Where the section changes, the larger one goes on past the stub, so that every
//! stub stands wholly on one section; the smaller one begins in its end.

use crate::drawing::Part;
use crate::drawing::gating::Section;
use crate::fault::Fault;
use crate::measure::{FLUSH_MM, SINK_MM, Vec2, Vec3};
use crate::pattern::gated::at;
use crate::pattern::gated::piece::Laid;
use crate::pattern::gated::run::{Stub, bar, half_along, half_on, on_way, straightened};

/// A runner goes this far past the last stub that it joins, and a section past the one before its step (mm).
const PAST_MM: f64 = 1.0;
/// Ends of joined gates within this of the runner's level need no riser (mm).
const LEVEL_MM: f64 = 0.5;
/// Two stretches run on straight where their directions' product is more.
const STRAIGHT: f64 = 1.0 - 1e-6;

/// Stretches of one section.
struct Run {
    /// The first and the last stub, by their places in the order.
    stubs: [usize; 2],
    section: Section,
    /// Its middle line, without points that it runs straight through.
    way: Vec<Vec3>,
}

impl Run {
    /// Which way it leaves its first stub.
    fn sets_out(&self) -> Vec3 {
        (self.way[1] - self.way[0]).normalize()
    }

    /// Which way it comes to its last stub.
    fn comes_in(&self) -> Vec3 {
        let n = self.way.len();
        (self.way[n - 1] - self.way[n - 2]).normalize()
    }
}

/// How a runner runs on the level of its stubs.
struct Levels<'a> {
    part: &'a Part,
    stubs: &'a [Stub],
}

impl Levels<'_> {
    /// The middle of a section that meets a stub's end.
    fn through(&self, stub: &Stub, section: &Section) -> Vec3 {
        let end = stub.frame.raised(stub.length).origin;
        end + stub.frame.z * half_along(section, stub.frame.z, self.part.gating.up())
    }

    /// How far over that point the runner's own level is.
    fn off(&self, stub: &Stub, section: &Section) -> f64 {
        let up = self.part.gating.up();
        let heights = self.stubs.iter().map(|s| up.dot(self.through(s, section)));
        // Stubs that look up are met from above, those that look down from below.
        let looks = self.stubs[0].frame.z.dot(up);
        let level = if looks > 0.5 {
            heights.fold(f64::NEG_INFINITY, f64::max)
        } else if looks < -0.5 {
            heights.fold(f64::INFINITY, f64::min)
        } else {
            up.dot(self.through(&self.stubs[0], section))
        };
        level - up.dot(self.through(stub, section))
    }

    /// The middle line's point at a stub.
    fn on_level(&self, stub: &Stub, section: &Section) -> Vec3 {
        self.through(stub, section) + self.part.gating.up() * self.off(stub, section)
    }

    fn way(&self, stubs: [usize; 2], section: &Section) -> Vec<Vec3> {
        let mut way: Vec<Vec3> = Vec::new();
        for stub in &self.stubs[stubs[0]..=stubs[1]] {
            let p = self.on_level(stub, section);
            if way.last().is_none_or(|last| last.distance(p) > FLUSH_MM) {
                way.push(p);
            }
        }
        way
    }
}

/// A runner through the ends of gates, with a riser for each that lies off its level: its bars, then the risers.
/// `sections` are one, or one a stretch.
pub(super) fn joined(
    part: &Part,
    piece: usize,
    sections: &[Section],
    stubs: &[Stub],
) -> Result<Vec<Laid>, Fault> {
    let of = |stretch: usize| sections[stretch.min(sections.len() - 1)];
    let levels = Levels { part, stubs };
    let last = stubs.len() - 1;
    let whole = levels.way([0, last], &of(0));
    if whole.len() < 2 {
        let text = "the gates that it joins all end at one place";
        return Err(at(part, piece, text).hint("a sprue can stand on a gate itself"));
    }
    for (i, w) in whole.windows(3).enumerate() {
        if (w[1] - w[0]).angle_between(w[2] - w[1]) > 2.2 {
            let name = &part.gating.pieces[stubs[(i + 1).min(last)].piece].name;
            let text = format!("it goes back on itself at {name}");
            let hint = "name the gates in the order in which the runner passes them";
            return Err(at(part, piece, text).hint(hint));
        }
    }
    let mut runs: Vec<Run> = Vec::new();
    for stretch in 0..last {
        match runs.last_mut() {
            Some(run) if run.section == of(stretch) => run.stubs[1] = stretch + 1,
            _ => runs.push(Run {
                stubs: [stretch, stretch + 1],
                section: of(stretch),
                way: Vec::new(),
            }),
        }
    }
    for run in &mut runs {
        run.way = straightened(levels.way(run.stubs, &run.section));
        if run.way.len() < 2 {
            let name = &part.gating.pieces[stubs[run.stubs[1]].piece].name;
            let text = format!("it has no length before {name}, where its section changes");
            return Err(at(part, piece, text).hint("give both stretches one section"));
        }
    }
    let mut out = bars(part, piece, stubs, &runs)?;
    let up = part.gating.up();
    for (k, stub) in stubs.iter().enumerate() {
        let beside = [k.saturating_sub(1), k.min(last - 1)].map(of);
        let section = larger(beside);
        let off = levels.off(stub, &section);
        if off.abs() > LEVEL_MM {
            let beyond = if stub.frame.z.dot(up).abs() > 0.5 {
                half_along(&section, stub.frame.z, up)
            } else {
                half_on(stub, up)
            };
            let p = levels.through(stub, &section);
            let way = vec![p, p + up * off];
            out.push(bar(part, piece, way, section, [beyond, 0.0], true));
        }
    }
    Ok(out)
}

/// The larger of two neighbours; the first of two alike.
fn larger([a, b]: [Section; 2]) -> Section {
    if a.area_mm2() >= b.area_mm2() { a } else { b }
}

/// A bar for each run.
fn bars(part: &Part, piece: usize, stubs: &[Stub], runs: &[Run]) -> Result<Vec<Laid>, Fault> {
    let mut out = Vec::new();
    for (i, run) in runs.iter().enumerate() {
        let [first, last] = run.stubs.map(|k| &stubs[k]);
        let (sets_out, comes_in) = (run.sets_out(), run.comes_in());
        let past = |stub: &Stub, along: Vec3| {
            half_on(stub, along).max(run.section.half(Vec2::X)) + PAST_MM
        };
        let before = i.checked_sub(1).map(|k| &runs[k]);
        let after = runs.get(i + 1);
        let start = match before {
            None => past(first, sets_out),
            Some(other) => step(run, other, first, [-sets_out, -other.comes_in()], true),
        };
        let end = match after {
            None => past(last, comes_in),
            Some(other) => step(run, other, last, [comes_in, other.sets_out()], false),
        };
        // What begins in its neighbour's end begins later.
        let mut way = run.way.clone();
        let n = way.len();
        let (first_leg, last_leg) = (way[1].distance(way[0]), way[n - 1].distance(way[n - 2]));
        let short = if n == 2 {
            first_leg + start.min(0.0) + end.min(0.0)
        } else {
            (first_leg + start.min(0.0)).min(last_leg + end.min(0.0))
        };
        if short < PAST_MM {
            let name = |k: usize| &part.gating.pieces[stubs[k].piece].name;
            let text = format!(
                "from {} to {} too little is left of its section past the step",
                name(run.stubs[0]),
                name(run.stubs[1])
            );
            return Err(at(part, piece, text).hint("give it the section of the next stretch"));
        }
        way[0] -= sets_out * start.min(0.0);
        way[n - 1] += comes_in * end.min(0.0);
        let ends = [start.max(0.0), end.max(0.0)];
        out.push(bar(part, piece, way, run.section, ends, false));
    }
    Ok(out)
}

/// How far a run goes on past the stub at which its section changes (mm): the larger beyond the stub, and round the
/// corner where it turns; the smaller ends short of it, just inside the larger. `onward` are both runs' directions across
/// the stub, out of this run; `later` says that this run is the later one.
fn step(run: &Run, other: &Run, stub: &Stub, onward: [Vec3; 2], later: bool) -> f64 {
    let pair = if later {
        [other.section, run.section]
    } else {
        [run.section, other.section]
    };
    let own = larger(pair) == run.section;
    let straight = onward[0].dot(onward[1]) > STRAIGHT;
    let beyond = half_on(stub, onward[0]) + PAST_MM;
    match (own, straight) {
        (true, true) => beyond,
        (true, false) => beyond.max(other.section.half(Vec2::X) + PAST_MM),
        (false, true) => SINK_MM - beyond,
        (false, false) => 0.0,
    }
}

/// The bar of a runner that a sprue stands on, and where on it: the one nearest to a place of the plan, or at the middle
/// of the whole.
pub(super) fn stretch_under<'a>(
    bars: &[(&'a [Vec3], Section)],
    xy: Option<Vec2>,
) -> Option<(&'a [Vec3], Section, Option<Vec2>)> {
    let length = |way: &[Vec3]| way.windows(2).map(|w| w[0].distance(w[1])).sum::<f64>();
    if let (Some(xy), true) = (xy, bars.len() > 1) {
        let off = |way: &[Vec3]| on_way(way, Some(xy)).truncate().distance(xy);
        let (way, section) = bars.iter().min_by(|a, b| off(a.0).total_cmp(&off(b.0)))?;
        return Some((way, *section, Some(xy)));
    }
    let [(way, section)] = bars else {
        let mut left = bars.iter().map(|b| length(b.0)).sum::<f64>() / 2.0;
        for (way, section) in bars {
            for leg in way.windows(2) {
                let long = leg[0].distance(leg[1]);
                if left <= long {
                    let p = leg[0] + (leg[1] - leg[0]) * (left / long);
                    return Some((way, *section, Some(p.truncate())));
                }
                left -= long;
            }
        }
        return None;
    };
    Some((way, *section, xy))
}
