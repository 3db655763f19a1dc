//! Finish marks: `part-marked`, `in-stock`, `drill-later`.

use crate::drawing::feature::Form;
use crate::drawing::given::FeatureId;
use crate::drawing::marks::Slot;
use crate::fault::{Finding, Level};
use crate::inspect::{Subject, named};
use crate::measure::{Bounds, FLUSH_MM};

/// Flush faces that touch, of which one has no mark.
pub(super) fn part_marked(subject: &Subject) -> Vec<Finding> {
    let part = subject.part;
    let flats = part.flat_slots();
    let mut out = Vec::new();
    for (a, slot_a, plane_a) in flats
        .iter()
        .filter(|(id, slot, _)| subject.stocks.contains_key(&(*id, *slot)))
    {
        for (b, slot_b, plane_b) in &flats {
            let other = a != b
                && !subject.stocks.contains_key(&(*b, *slot_b))
                && !ends_in(&part.features[*b].form, *slot_b, *a);
            if !other || !plane_a.flush_with(plane_b, FLUSH_MM) || !both_outside(subject, *a, *b) {
                continue;
            }
            if !touch(subject, *a, *b) {
                continue;
            }
            let (fa, fb) = (named(part, *a), named(part, *b));
            let mut finding = Finding::new(
                "part-marked",
                Level::Look,
                format!(
                    "{} of {} has a finish mark, {} of {}, flush with it, has none",
                    word(*slot_a),
                    fa.0,
                    word(*slot_b),
                    fb.0
                ),
                format!("mark {} too, or mark the level", fb.0),
            );
            finding.features = vec![fb, fa];
            out.push(finding);
        }
    }
    out
}

/// Whether this end of a tunnel is no face of its own: it has no wall, or its wall ends in a face of `host` and takes
/// that face's stock.
fn ends_in(form: &Form, slot: Slot, host: FeatureId) -> bool {
    let (Form::Tunnel(t), Slot::Start | Slot::End) = (form, slot) else {
        return false;
    };
    let end = usize::from(slot == Slot::End);
    t.wall == 0.0
        || t.ends[end]
            .as_ref()
            .is_some_and(|h| h.feature == Some(host))
}

/// Whether both are surfaces that metal lies behind, not floors against ends.
fn both_outside(subject: &Subject, a: usize, b: usize) -> bool {
    subject.part.features[a].is_opening() == subject.part.features[b].is_opening()
}

fn touch(subject: &Subject, a: usize, b: usize) -> bool {
    let bounds = |id: usize| -> Bounds {
        subject
            .finished
            .members
            .iter()
            .zip(subject.shells)
            .filter(|(m, _)| m.body.feature == id)
            .fold(Bounds::EMPTY, |all, (_, shell)| all.joined(shell.bounds()))
    };
    bounds(a).grown(FLUSH_MM).meets(&bounds(b))
}

fn word(slot: Slot) -> &'static str {
    match slot {
        Slot::Top => "the top",
        Slot::Bottom => "the bottom",
        Slot::Outside => "the outside",
        Slot::Side(..) => "a side",
        Slot::Wall => "the wall",
        Slot::Floor => "the floor",
        Slot::Shoulder => "the shoulder",
        Slot::Start => "the start",
        Slot::End => "the end",
        Slot::Run(_) => "a turned face",
    }
}

/// Bosses, ribs and slabs no higher than the stock of the face they stand on.
pub(super) fn in_stock(subject: &Subject) -> Vec<Finding> {
    let part = subject.part;
    let mut out = Vec::new();
    for (id, feature) in part.features.iter().enumerate() {
        let (height, fillet) = match &feature.form {
            Form::Raised(r) => (r.height, r.trim.fillet.unwrap_or(0.0)),
            Form::Rib(r) => (
                r.heights.iter().copied().fold(0.0, f64::max),
                r.trim.fillet.unwrap_or(0.0),
            ),
            _ => continue,
        };
        let Some(host) = &feature.host else { continue };
        let Some(on) = host.feature else { continue };
        let Ok(slot) = part.slot(on, &host.key) else {
            continue;
        };
        let stock = subject.stocks.get(&(on, slot)).copied().unwrap_or(0.0);
        if stock <= 0.0 || (height > stock && fillet <= height - stock + FLUSH_MM) {
            continue;
        }
        let what = if height <= stock { "it" } else { "its fillet" };
        let show = |mm: f64| part.unit.show(mm);
        let mut finding = Finding::new(
            "in-stock",
            Level::Look,
            format!(
                "{} stands {} high on {}, whose stock is {}: {what} is buried in the casting",
                feature.name,
                show(height),
                part.features[on].name,
                show(stock)
            ),
            format!(
                "make {} higher, give that mark less stock, or mill it from the stock",
                feature.name
            ),
        );
        finding.features = vec![named(part, id), named(part, on)];
        finding.stage = Some("casting");
        finding.value = Some(height);
        finding.limit = Some(stock);
        out.push(finding);
    }
    out
}

/// Openings that the casting leaves solid.
pub(super) fn drill_later(subject: &Subject) -> Vec<Finding> {
    let part = subject.part;
    subject
        .casting
        .left_solid
        .iter()
        .map(|left| {
            let feature = named(part, left.feature);
            let level = if left.bent { Level::Look } else { Level::Note };
            let (how, remedy) = if left.bent {
                (
                    "no drill follows its bends",
                    "make it wider, say `cored: true`, or run it straight",
                )
            } else {
                (
                    "to be drilled or milled",
                    "say `cored: true` to cast it open",
                )
            };
            let mut finding = Finding::new(
                "drill-later",
                level,
                format!(
                    "the {} of {} is left solid in the casting: {how}",
                    left.what, feature.0
                ),
                remedy,
            );
            finding.features = vec![feature];
            finding.stage = Some("casting");
            finding.value = Some(left.width_mm);
            finding.limit = Some(part.min_cored_mm);
            finding
        })
        .collect()
}
