//! `no-effect` and `loose-lump`: from what the booleans gave.

use crate::fault::{Finding, Level};
use crate::inspect::{Subject, named};
use crate::measure::CRUMB_MM3;

/// Features that neither add nor remove metal.
pub(super) fn no_effect(subject: &Subject) -> Vec<Finding> {
    let part = subject.part;
    subject
        .changes
        .iter()
        .enumerate()
        .filter(|(_, c)| c.added_mm3 < CRUMB_MM3 && c.removed_mm3 < CRUMB_MM3)
        .map(|(id, _)| {
            let feature = named(part, id);
            let how = if part.features[id].is_opening() {
                "removes no metal"
            } else {
                "adds no metal"
            };
            let mut finding = Finding::new(
                "no-effect",
                Level::Look,
                format!("{} {how}", feature.0),
                "it lies wholly in what is metal (or air) already: move it, or leave it out",
            );
            finding.features = vec![feature];
            finding.stage = Some("finished");
            finding
        })
        .collect()
}

/// Stages in more than one body, by how many bodies each is in.
pub fn loose_lump(lumps: &[(&'static str, usize)]) -> Vec<Finding> {
    lumps
        .iter()
        .filter(|(_, bodies)| *bodies > 1)
        .map(|(stage, bodies)| {
            let mut finding = Finding::new(
                "loose-lump",
                Level::Stop,
                format!("the {stage} part is in {bodies} bodies that don't touch"),
                "join them: let features overlap, or stand one on the other",
            );
            finding.stage = Some(stage);
            finding.value = Some(*bodies as f64);
            finding.limit = Some(1.0);
            finding
        })
        .collect()
}
