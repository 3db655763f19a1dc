//! `fillet-big`: foot fillets that hang over their host's edge, or that round ground can't carry.

use crate::drawing::body::Shape;
use crate::drawing::outline::sample_levels;
use crate::fault::{Finding, Level};
use crate::inspect::metal::Metal;
use crate::inspect::{Subject, named};
use crate::measure::{Vec2, Vec3};
use crate::pattern::Role;

/// How finely a fillet's rim is looked at: the sag of the chords between its points (mm).
const RIM_SAG_MM: f64 = 0.2;

/// Fillets that were cut back or made smaller.
pub(super) fn fillet_big(subject: &Subject) -> Vec<Finding> {
    let part = subject.part;
    subject
        .finished
        .fillets_cut
        .iter()
        .filter(|(id, wanted, made)| made < wanted || hangs(subject, *id))
        .map(|&(id, wanted, made)| {
            let feature = named(part, id);
            let show = |mm: f64| part.unit.show(mm);
            let text = if made < wanted {
                format!(
                    "the fillet of {} doesn't fit its round host: {} asked, {} made",
                    feature.0,
                    show(wanted),
                    show(made)
                )
            } else {
                format!(
                    "the fillet of {}, {}, hangs over the edge of its host and is cut off there",
                    feature.0,
                    show(wanted)
                )
            };
            let mut finding = Finding::new(
                "fillet-big",
                Level::Look,
                text,
                "make the fillet smaller, or move the feature inwards",
            );
            finding.features = vec![feature];
            finding.stage = Some("finished");
            finding.value = Some(wanted);
            finding.limit = (made < wanted).then_some(made);
            finding
        })
        .collect()
}

/// Whether a foot fillet that was cut back really hung in the air: some of its rim has neither metal under it nor
/// metal where it would stand (another feature's wall or fillet).
fn hangs(subject: &Subject, id: usize) -> bool {
    subject
        .finished
        .members
        .iter()
        .filter(|m| m.body.feature == id && m.role == Role::Skirt)
        .any(|member| {
            let Shape::Stack(levels) = &member.body.shape else {
                return false;
            };
            let Some((z, rim)) = levels.get(2) else {
                return false;
            };
            let at = |p: Vec2, up: f64| member.body.frame.point(Vec3::new(p.x, p.y, z + up));
            let (low, high) = rim.bounds();
            let metal = Metal::without(subject, usize::MAX, at(low, 0.0), at(high, 0.0), 1.0);
            sample_levels(std::slice::from_ref(rim), RIM_SAG_MM, false)
                .iter()
                .flatten()
                .flatten()
                .any(|&p| !metal.at(at(p, -0.1)) && !metal.at(at(p, 0.05)))
        })
}
