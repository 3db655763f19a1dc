//! The caliper card: what to measure on the foam as cut, with shrink and stock counted, and room for the reading.

use crate::drawing::feature::{Feature, Form, Host};
use crate::drawing::given::FeatureId;
use crate::drawing::marks::Slot;
use crate::measure::{Frame, Vec3};
use crate::pattern::Stage;
use crate::pieces::{Kind, Pieces};
use crate::sheet::shop_sheet::SheetSource;
use crate::sheet::shop_sheet::machining::spot;
use crate::sheet::shop_sheet::page::{BLANK, line, section, table, text};

/// A size to check.
#[derive(Debug, Clone, PartialEq)]
struct Check {
    /// What is measured.
    what: String,
    /// As cut (mm).
    size_mm: f64,
}

/// A feature's surface lies on one piece where at least this share of it does.
const MOST: f64 = 0.95;

/// Pieces one after another, or the whole pattern; then what splits run through.
pub(super) fn card(source: &SheetSource) -> String {
    let part = source.part;
    let mut body = line(
        "Sizes of the foam as cut: finished size, stock and shrink counted. Places are on the piece as it lies in its own file, \
         from its lower left corner. Write your limits under ±, and the reading.",
    );
    let mut rows = Vec::new();
    let all: Vec<FeatureId> = (0..part.features.len()).collect();
    match (source.pieces, source.stage(Stage::Pattern)) {
        (Some(pieces), _) => {
            let homes = homes(pieces, part.features.len());
            for (i, piece) in pieces.pieces.iter().enumerate() {
                over_all(
                    source,
                    &format!("{} {}", i + 1, piece.name),
                    piece.size_mm,
                    &mut rows,
                );
                let own = all.iter().copied().filter(|&id| homes[id] == Some(i));
                features(source, own, Some(&piece.lay), &mut rows);
            }
            let glued = all.iter().copied().filter(|&id| homes[id].is_none());
            let mut late = Vec::new();
            features(source, glued, None, &mut late);
            if !late.is_empty() {
                rows.push(vec![text(
                    "On several pieces: measure where they show, or once glued",
                )]);
                rows.extend(late);
            }
        }
        (None, Some((f, _))) => {
            let lay = Frame {
                origin: f.low_mm,
                ..Frame::PART
            };
            over_all(source, "pattern", f.high_mm - f.low_mm, &mut rows);
            features(source, all.into_iter(), Some(&lay), &mut rows);
        }
        (None, None) => {}
    }
    body += &table(&["what", "#as cut", "where", "±", "read"], &rows);
    section("caliper", "Caliper card: the foam", &body)
}

/// The piece on which nearly all of each feature's surface lies, where there is one; a loose feature is its own piece's.
fn homes(pieces: &Pieces, features: usize) -> Vec<Option<usize>> {
    let mut areas = vec![vec![0.0; pieces.pieces.len()]; features];
    for (i, piece) in pieces.pieces.iter().enumerate() {
        for ([a, b, c], &id) in piece.solid.corners().zip(&piece.solid.features) {
            if let Some(of) = areas.get_mut(id) {
                of[i] += (b - a).cross(c - a).length();
            }
        }
    }
    let loose = |id: FeatureId| {
        let mut own =
            (0..pieces.pieces.len()).filter(|&i| pieces.pieces[i].kind == Kind::Loose(id));
        own.next().filter(|_| own.next().is_none())
    };
    let home = |(id, of): (FeatureId, &Vec<f64>)| {
        let sum = of.iter().fold(0.0, |s, a| s + a);
        loose(id).or_else(|| of.iter().position(|a| *a >= MOST * sum && sum > 0.0))
    };
    areas.iter().enumerate().map(home).collect()
}

/// A piece's band and its sizes over all.
fn over_all(source: &SheetSource, name: &str, size_mm: Vec3, rows: &mut Vec<Vec<String>>) {
    let unit = source.part.unit;
    rows.push(vec![text(name)]);
    for (what, size) in ["length", "width", "height"].iter().zip(size_mm.to_array()) {
        let cells = [
            &format!("over all, {what}"),
            &unit.number(size),
            "as it lies",
        ];
        rows.push(written(&cells));
    }
}

/// The rows of features in script order, copies of one size together; places on `lay`, where they have one.
fn features(
    source: &SheetSource,
    ids: impl Iterator<Item = FeatureId>,
    lay: Option<&Frame>,
    rows: &mut Vec<Vec<String>>,
) {
    let part = source.part;
    let grow = part.metal.growth();
    let mut told: Vec<(String, Check, Vec<String>)> = Vec::new();
    for id in ids {
        let feature = &part.features[id];
        let place = |lay: &Frame| spot(lay.local(feature.frame.origin * grow), part.unit);
        let at = lay.map_or_else(String::new, place);
        for check in checks(source, id) {
            let same = |t: &&mut (String, Check, Vec<String>)| t.0 == feature.group && t.1 == check;
            match told.iter_mut().find(same) {
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
        let what = format!("{group}{count}, {}", check.what);
        let places = if lay.is_some() {
            at.join("; ")
        } else {
            String::new()
        };
        rows.push(written(&[&what, &part.unit.number(check.size_mm), &places]));
    }
}

/// A row with room to write limits and reading.
fn written(cells: &[&str; 3]) -> Vec<String> {
    let mut row = cells.map(text).to_vec();
    row.extend([BLANK.to_string(), BLANK.to_string()]);
    row
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
            // A loose one ends where its piece does, which is its height over all.
            if r.up_to.is_none() && !feature.loose {
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
