//! How deep a stub's foot goes until it lies wholly in metal, and how far its free end goes on into what it meets.

use crate::drawing::gating::Section;
use crate::measure::{Bounds, Frame, SINK_MM, Vec2, Vec3};
use crate::pattern::gated::rays::Near;

/// Lines stand this far inside the section's rim (mm), so that they don't run along an edge that it is flush with.
const INSIDE_MM: f64 = 0.03;

/// A gap up to this between a gate's end and its runner is closed (mm): what rounding in a script comes to.
pub(super) const GAP_MM: f64 = 0.5;

/// Why a foot finds no metal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum NoFooting {
    /// There is none under a part of it.
    Beside(Vec3),
    /// It would come out of the other side; so much metal there is (mm).
    Through(Vec3, f64),
}

/// Points of a section's rim, and its middle.
fn samples(section: &Section) -> Vec<Vec2> {
    let mut out = vec![Vec2::new(0.0007, 0.0011)];
    match *section {
        Section::Rect { width, height } => {
            let (a, b) = (width / 2.0 - INSIDE_MM, height / 2.0 - INSIDE_MM);
            const STEPS: [f64; 5] = [-1.0, -0.503, 0.0013, 0.497, 1.0];
            for t in STEPS {
                out.push(Vec2::new(a * t, -b));
                out.push(Vec2::new(a * t, b));
            }
            for t in &STEPS[1..4] {
                out.push(Vec2::new(-a, b * t));
                out.push(Vec2::new(a, b * t));
            }
        }
        Section::Round { dia } => {
            let r = dia / 2.0 - INSIDE_MM;
            // Not a whole part of a turn, so that no line hits the seams of facets.
            let turn =
                |i: i32| Vec2::from_angle(0.0131 + f64::from(i) * std::f64::consts::TAU / 24.0);
            out.extend((0..24).map(|i| turn(i) * r));
        }
    }
    out
}

/// The box that holds a section's column between two heights of a frame.
pub(super) fn column(frame: &Frame, section: &Section, low: f64, high: f64) -> Bounds {
    let r = section.reach();
    let corners = [-r, r].into_iter().flat_map(|x| {
        [-r, r]
            .into_iter()
            .flat_map(move |y| [low, high].map(|z| frame.point(Vec3::new(x, y, z))))
    });
    Bounds::of(corners)
}

/// How far under the frame's plane a stub's foot lies wholly in metal (mm).
pub(super) fn sink(near: &Near, frame: &Frame, section: &Section) -> Result<f64, NoFooting> {
    let window = section.reach();
    let mut need: f64 = SINK_MM;
    let mut leaves = Vec::new();
    for p in samples(section) {
        let from = frame.point(p.extend(0.0));
        let runs = near.runs(from, -frame.z);
        // The surface that lies nearest to the plane; metal that begins higher up covers the place.
        let run = runs
            .iter()
            .filter(|r| r.enters <= window && r.leaves > r.enters.max(0.0))
            .min_by(|a, b| a.enters.abs().total_cmp(&b.enters.abs()));
        let Some(run) = run else {
            return Err(NoFooting::Beside(from));
        };
        need = need.max(run.enters + SINK_MM);
        leaves.push((from, run.leaves));
    }
    match leaves.iter().find(|(_, leaves)| *leaves <= need) {
        Some((from, leaves)) => Err(NoFooting::Through(*from, *leaves)),
        None => Ok(need),
    }
}

/// How far a stub's free end has to go on until it lies in what it meets (mm); `end` lies in the end's plane, z going
/// on. `None` where it doesn't meet it.
pub(super) fn reach_in(near: &Near, end: &Frame, section: &Section) -> Option<f64> {
    let window = 2.0 * section.reach() + GAP_MM;
    let gap = |p: Vec2| -> Option<f64> {
        let runs = near.runs(end.point(p.extend(0.0)), end.z);
        runs.iter()
            .find(|r| r.leaves > 0.0 && r.enters <= window)
            .map(|r| r.enters.max(0.0))
    };
    let all = samples(section);
    let middle = gap(all[0])?;
    if middle > GAP_MM {
        return None;
    }
    let farthest = all.iter().filter_map(|p| gap(*p)).fold(middle, f64::max);
    Some(farthest + SINK_MM)
}
