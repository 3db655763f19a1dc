//! Feet and handles of foam: blocks glued to a face of the pattern, cut off before the pour and in no stage.

use crate::drawing::Part;
use crate::drawing::foam::Aid;
use crate::fault::{Fault, Faults};
use crate::measure::{Bounds, Frame, Vec3};
use crate::pattern::Stocks;
use crate::pieces::Kind;
use crate::pieces::cut::{NO_JOINT, Rough, raw_plane, shrunk};
use crate::solid::{BOX, Solid};

/// A place this far under a face lies in what the face belongs to (mm).
const UNDER_MM: f64 = 0.5;

/// The blocks of all feet and handles, and the piece that each is glued to.
pub(super) fn blocks(
    part: &Part,
    stocks: &Stocks,
    rough: &[Rough],
) -> Result<Vec<(Rough, usize)>, Faults> {
    let block = |aid: &Aid| {
        let frame = frame(part, stocks, aid)?;
        let foot = frame.point(Vec3::new(0.0, 0.0, -UNDER_MM));
        let carrier = rough.iter().position(|r| r.solid.holds(foot))?;
        Some((cut(aid, &frame), carrier))
    };
    let mut out = Vec::new();
    for aid in &part.aids {
        let Some(block) = block(aid) else {
            let text = format!(
                "there is no foam under the middle of \"{}\" to glue it to",
                aid.name
            );
            return Err(Fault::new(text)
                .from_site(&aid.site)
                .hint("move it with `at`, which counts from the middle of the face")
                .into());
        };
        out.push(block);
    }
    Ok(out)
}

/// Where it stands in the pattern: its origin in the face, z out of the foam.
fn frame(part: &Part, stocks: &Stocks, aid: &Aid) -> Option<Frame> {
    let face = part.face(&aid.on).ok()?;
    let plane = shrunk(part, raw_plane(part, stocks, &aid.on)?);
    let by = part.metal.growth();
    let at = face.frame.point(aid.at.extend(0.0)) * by;
    let mut frame = Frame::facing(
        at - plane.normal * plane.distance(at),
        plane.normal,
        Some(face.frame.y),
    );
    if !frame.right_handed() {
        frame.y = -frame.y;
    }
    Some(frame)
}

fn cut(aid: &Aid, frame: &Frame) -> Rough {
    let half = aid.size_mm / 2.0;
    let local = Bounds {
        low: Vec3::new(-half.x, -half.y, 0.0),
        high: Vec3::new(half.x, half.y, aid.size_mm.z),
    };
    Rough {
        name: Some(aid.name.clone()),
        site: Some(aid.site.clone()),
        kind: if aid.grip { Kind::Grip } else { Kind::Prop },
        down: None,
        solid: Solid {
            points: local.corners().map(|c| frame.point(c)).to_vec(),
            triangles: BOX.to_vec(),
            features: vec![NO_JOINT; BOX.len()],
        },
    }
}
