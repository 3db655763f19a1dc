//! Whether a point lies in an opening of the finished part, from the drawing alone.

use crate::drawing::feature::{Feature, FlatRun, Form, Groove, Turned};
use crate::drawing::given::FeatureId;
use crate::drawing::outline::{Outline, Vertex};
use crate::drawing::part::Part;
use crate::drawing::way::Way;
use crate::measure::{Vec2, Vec3};

impl Part {
    /// Whether `p` lies inside what this feature opens.
    pub fn opening_holds(&self, id: FeatureId, p: Vec3) -> bool {
        let feature = &self.features[id];
        let local = feature.frame.local(p);
        let (flat, depth) = (Vec2::new(local.x, local.y), -local.z);
        let deep = |d: &crate::drawing::feature::Depth| match d {
            crate::drawing::feature::Depth::Through { .. } => f64::INFINITY,
            d => d.known(),
        };
        match &feature.form {
            Form::Bore(b) => {
                let main = depth >= 0.0 && depth <= deep(&b.depth) && flat.length() <= b.dia / 2.0;
                let step = b.counterbore.is_some_and(|(dia, d)| {
                    (0.0..=d).contains(&depth) && flat.length() <= dia / 2.0
                });
                main || step
            }
            Form::Pocket(p) => {
                let shrink = depth * p.trim.draft_deg.to_radians().tan();
                depth >= 0.0 && depth <= deep(&p.depth) && p.outline.distance(flat) <= -shrink
            }
            Form::Raised(r) => r.bore.is_some_and(|(dia, d)| {
                (r.height - d..=r.height).contains(&local.z) && flat.length() <= dia / 2.0
            }),
            Form::Flange(f) => {
                (0.0..=f.thick).contains(&depth)
                    && f.bolts.iter().any(|b| b.distance(flat) <= f.bolt_dia / 2.0)
            }
            Form::Tunnel(t) => Way::new(&t.way, t.bend, t.flip_u, 0.0, 0.0)
                .sections_at(p)
                .any(|s| t.inside.contains(s)),
            Form::Turned(t) => {
                !t.adds
                    && profile_outline(t)
                        .is_some_and(|o| o.contains(Vec2::new(flat.length(), local.z)))
            }
            Form::Hollow(h) => hollow_holds(&self.features[h.of], h, p),
            Form::Groove(Groove::Flat { run, section }) => {
                let half = section.mouth_width() / 2.0;
                let near = match run {
                    FlatRun::Along(path) => {
                        Outline::stroke(path, 2.0 * half).is_ok_and(|o| o.contains(flat))
                    }
                    FlatRun::Round(o) => o.distance(flat).abs() <= half,
                };
                near && (0.0..=section.depth()).contains(&depth)
            }
            Form::Groove(_) | Form::Rib(_) => false,
        }
    }
}

/// A turned profile as an outline in (r, z).
pub fn profile_outline(turned: &Turned) -> Option<Outline> {
    let loop_ = turned
        .profile
        .iter()
        .map(|p| Vertex {
            at: Vec2::new(p.r, p.z),
            bulge: p.bulge,
        })
        .collect();
    Outline::from_loops(vec![loop_]).ok()
}

fn hollow_holds(of: &Feature, h: &crate::drawing::feature::Hollow, p: Vec3) -> bool {
    let local = of.frame.local(p);
    let flat = Vec2::new(local.x, local.y);
    match &of.form {
        Form::Raised(r) => {
            let draft = r.trim.draft_deg.to_radians();
            let (low, high) = if h.at_top {
                (h.floor, r.height)
            } else {
                (0.0, r.height - h.floor)
            };
            let inset = h.wall / draft.cos() - (r.height - local.z) * draft.tan();
            (low..=high).contains(&local.z) && r.outline.distance(flat) <= -inset
        }
        Form::Turned(t) => {
            let low = t.profile.iter().map(|p| p.z).fold(f64::INFINITY, f64::min);
            let high = t
                .profile
                .iter()
                .map(|p| p.z)
                .fold(f64::NEG_INFINITY, f64::max);
            let span = if h.at_top {
                low + h.floor..=high
            } else {
                low..=high - h.floor
            };
            span.contains(&local.z)
                && profile_outline(t)
                    .is_some_and(|o| o.distance(Vec2::new(flat.length(), local.z)) <= -h.wall)
        }
        _ => false,
    }
}
