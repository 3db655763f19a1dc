//! The caliper card: what to measure on the foam as cut, with shrink and stock counted, and room for the reading.

use crate::drawing::feature::{Feature, Form, Host};
use crate::drawing::given::FeatureId;
use crate::drawing::marks::Slot;
use crate::measure::{Frame, Vec3};
use crate::pattern::Stage;
use crate::sheet::shop_sheet::SheetSource;
use crate::sheet::shop_sheet::machining::spot;
use crate::sheet::shop_sheet::page::{line, section, table, text};

/// A size to check.
#[derive(Debug, Clone, PartialEq)]
struct Check {
    /// What is measured.
    what: String,
    /// As cut (mm).
    size_mm: f64,
}

/// A table a piece, or one of the whole pattern.
pub(super) fn card(source: &SheetSource) -> String {
    let mut body = line(
        "Sizes of the foam as cut: finished size, stock and shrink counted. Places are on the piece as it lies in its own file, \
         from its lower left corner; a size that a split runs through is measured once glued.",
    );
    let mut rows = Vec::new();
    match source.pieces {
        Some(pieces) => {
            for (i, piece) in pieces.pieces.iter().enumerate() {
                let lone = |id: FeatureId| {
                    let on = pieces.pieces.iter().filter(|p| p.features.contains(&id));
                    on.count() == 1
                };
                let name = format!("{} {}", i + 1, piece.name);
                of_piece(
                    source,
                    &name,
                    piece.size_mm,
                    &piece.lay,
                    &piece.features,
                    &lone,
                    &mut rows,
                );
            }
        }
        None => {
            if let Some((f, _)) = source.stage(Stage::Pattern) {
                let all: Vec<FeatureId> = (0..source.part.features.len()).collect();
                let frame = Frame {
                    origin: f.low_mm,
                    ..Frame::PART
                };
                of_piece(
                    source,
                    "pattern",
                    f.high_mm - f.low_mm,
                    &frame,
                    &all,
                    &|_| true,
                    &mut rows,
                );
            }
        }
    }
    body += &table(&["piece", "what", "#as cut", "where", "±", "read"], &rows);
    section("caliper", "Caliper card: the foam", &body)
}

/// The rows of a piece: over all, then its features in script order, copies of one size together.
fn of_piece(
    source: &SheetSource,
    name: &str,
    size_mm: Vec3,
    lay: &Frame,
    features: &[FeatureId],
    lone: &dyn Fn(FeatureId) -> bool,
    rows: &mut Vec<Vec<String>>,
) {
    let part = source.part;
    let mut put = |what: &str, size_mm: f64, at: &str| {
        let write = "<span class=\"write\"></span>".to_string();
        let [name, what, size, at] = [name, what, &part.unit.number(size_mm), at].map(text);
        rows.push(vec![
            format!("<b>{name}</b>"),
            what,
            size,
            at,
            write.clone(),
            write,
        ]);
    };
    for (what, size) in ["length", "width", "height"].iter().zip(size_mm.to_array()) {
        put(&format!("over all, {what}"), size, "as it lies");
    }
    let mut ids = features.to_vec();
    ids.sort_unstable();
    let grow = part.metal.growth();
    let mut told: Vec<(String, Check, Vec<String>)> = Vec::new();
    for id in ids {
        let feature = &part.features[id];
        let at = if lone(id) {
            spot(lay.local(feature.frame.origin * grow), part.unit)
        } else {
            "once glued".to_string()
        };
        for check in checks(source, id) {
            let same = |t: &&mut (String, Check, Vec<String>)| t.0 == feature.group && t.1 == check;
            match told.iter_mut().find(same) {
                Some(row) if row.2.contains(&at) => {}
                Some(row) => row.2.push(at.clone()),
                None => told.push((feature.group.clone(), check, vec![at.clone()])),
            }
        }
    }
    for (group, check, at) in told {
        let count = if at.len() > 1 {
            format!(" × {}", at.len())
        } else {
            String::new()
        };
        put(
            &format!("{group}{count}, {}", check.what),
            check.size_mm,
            &at.join("; "),
        );
    }
}

/// The sizes of a feature that a caliper reaches.
fn checks(source: &SheetSource, id: FeatureId) -> Vec<Check> {
    let feature = &source.part.features[id];
    let stock = |slot: Slot| source.stocks.get(&(id, slot)).copied().unwrap_or(0.0);
    let grow = Growth { source, feature };
    let mut out = Vec::new();
    let mut put = |what: &str, size_mm: f64| {
        out.push(Check {
            what: what.to_string(),
            size_mm,
        });
    };
    let cast = |what: &str| {
        let left = |l: &crate::pattern::LeftSolid| l.feature == id && l.what == what;
        !source.left_solid.iter().any(left)
    };
    match &feature.form {
        Form::Raised(r) => {
            if let Some((_, radius)) = r.outline.as_disc() {
                let what = if r.trim.draft_deg == 0.0 {
                    "dia"
                } else {
                    "dia at the finished top"
                };
                put(what, grow.across(2.0 * (radius + stock(Slot::Outside))));
            }
            if r.up_to.is_none() {
                let foot = feature
                    .host
                    .as_ref()
                    .map_or(-stock(Slot::Bottom), |h| host_stock(source, h));
                put("height", grow.along(r.height + stock(Slot::Top) - foot));
            }
            if let Some((dia, _)) = r.bore.filter(|_| cast("bore")) {
                put("bore", grow.across(dia - 2.0 * stock(Slot::Wall)));
            }
        }
        Form::Flange(f) => {
            put("thickness", grow.along(f.thick + stock(Slot::Top)));
            if !f.bolts.is_empty() && cast("bolt holes") {
                put(
                    "bolt holes",
                    grow.across(f.bolt_dia - 2.0 * stock(Slot::Wall)),
                );
            }
        }
        Form::Rib(r) => put("thickness at the free edge", grow.across(r.thick)),
        Form::Tunnel(t) if cast("tunnel") => {
            if let Some((_, radius)) = t.inside.as_disc() {
                put("inside", grow.across(2.0 * radius));
                if t.wall > 0.0 {
                    put("outside", grow.across(2.0 * (radius + t.wall)));
                }
            }
            if t.wall > 0.0 {
                put("wall", grow.across(t.wall));
            }
        }
        Form::Bore(b) => {
            if cast("bore") {
                put("bore", grow.across(b.dia - 2.0 * stock(Slot::Wall)));
            }
            if let Some((dia, _)) = b.counterbore.filter(|_| cast("counterbore")) {
                put("counterbore", grow.across(dia - 2.0 * stock(Slot::Wall)));
            }
        }
        Form::Pocket(p) if cast("pocket") => {
            if let Some((_, radius)) = p.outline.as_disc() {
                put(
                    "dia at the mouth",
                    grow.across(2.0 * (radius - stock(Slot::Wall))),
                );
            }
        }
        Form::Hollow(h) => put("wall", grow.across(h.wall)),
        _ => {}
    }
    out
}

/// What shrink makes of lengths along and across a feature's axis.
struct Growth<'a> {
    source: &'a SheetSource<'a>,
    feature: &'a Feature,
}

impl Growth<'_> {
    fn by(&self, way: Vec3) -> f64 {
        (way * self.source.part.metal.growth()).length()
    }

    /// Along the axis of the feature's frame.
    fn along(&self, mm: f64) -> f64 {
        mm * self.by(self.feature.frame.z)
    }

    /// Across it: along the frame's x, which matters only where shrink differs by direction.
    fn across(&self, mm: f64) -> f64 {
        mm * self.by(self.feature.frame.x)
    }
}

/// Stock on the face that a feature stands on (mm).
fn host_stock(source: &SheetSource, host: &Host) -> f64 {
    let slot = |id| source.part.slot(id, &host.key).ok().map(|slot| (id, slot));
    let found = host.feature.and_then(slot);
    found
        .and_then(|key| source.stocks.get(&key).copied())
        .unwrap_or(0.0)
}
