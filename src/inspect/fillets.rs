//! `fillet-big`: foot fillets that hang over their host's edge, or that round ground can't carry.

use crate::fault::{Finding, Level};
use crate::inspect::{Subject, named};

/// Fillets that were cut back or made smaller.
pub(super) fn fillet_big(subject: &Subject) -> Vec<Finding> {
    let part = subject.part;
    subject
        .finished
        .fillets_cut
        .iter()
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
