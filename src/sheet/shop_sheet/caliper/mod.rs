//! The caliper card: what to measure on each piece of foam as cut, with shrink and stock counted, where, and room for the
//! reading.
//!
//! A size stands under every piece on which it can be measured: where both of its ends show on the piece's own mesh. What
//! no single piece shows whole stands last, to be measured once glued.

mod checks;
mod joints;
mod shown;

use crate::drawing::given::FeatureId;
use crate::measure::{Frame, Unit, Vec3};
use crate::pattern::Stage;
use crate::sheet::shop_sheet::SheetSource;
use crate::sheet::shop_sheet::caliper::checks::{Check, checks};
use crate::sheet::shop_sheet::caliper::shown::{Bench, Where};
use crate::sheet::shop_sheet::page::{BLANK, line, section, table, text};

/// Pieces one after another, or the whole pattern; then what no piece shows whole.
pub(super) fn card(source: &SheetSource) -> String {
    let part = source.part;
    let mut body = line(
        "Sizes of the foam as cut: finished size, stock and shrink counted. A piece lies as in its own file and is seen from \
         above: \"30 / 20\" is 30 from its left side and 20 from its front side to the middle of what is measured, \"up\" is \
         over the table. Write your limits under ±, and the reading.",
    );
    let all: Vec<(FeatureId, Vec<Check>)> = (0..part.features.len())
        .map(|id| (id, checks(source, id)))
        .collect();
    let benches = benches(source);
    let mut rows = Vec::new();
    let mut seen: Vec<Vec<bool>> = all.iter().map(|(_, c)| vec![false; c.len()]).collect();
    for (number, (name, bench)) in benches.iter().enumerate() {
        over_all(part.unit, name, bench.size_mm, &mut rows);
        let mut told = Told::default();
        for (id, checks) in &all {
            for (k, check) in checks.iter().enumerate() {
                for at in bench.places(*id, check, &benches) {
                    seen[*id][k] = true;
                    told.put(source, *id, check, at.text(bench.size_mm, part.unit));
                }
            }
        }
        told.rows(part.unit, &mut rows);
        if let Some(pieces) = source.pieces {
            joints::rows(part.unit, pieces, number, &mut rows);
        }
    }
    let mut late = Told::default();
    for (id, checks) in &all {
        let told = |check: &Check| {
            let mut each = checks.iter().zip(&seen[*id]);
            each.any(|(other, seen)| *seen && other.same(check))
        };
        for check in checks.iter().filter(|c| !told(c)) {
            let on = benches.iter().filter(|(_, b)| b.has(*id, check));
            let on: Vec<&str> = on.map(|(name, _)| name.as_str()).collect();
            if !on.is_empty() {
                late.put(source, *id, check, format!("over {}", on.join(", ")));
            }
        }
    }
    if !late.0.is_empty() {
        rows.push(vec![text("Once glued: no piece alone shows both ends")]);
        late.rows(part.unit, &mut rows);
    }
    body += &table(&["what", "#as cut", "where", "±", "read"], &rows);
    section("caliper", "Caliper card: the foam", &body)
}

/// The pieces by name, or the whole pattern.
fn benches(source: &SheetSource) -> Vec<(String, Bench)> {
    match (source.pieces, source.stage(Stage::Pattern)) {
        (Some(pieces), _) => {
            let named = pieces.pieces.iter().enumerate().map(|(i, piece)| {
                let bench = Bench::new(source.part, &piece.placed(), piece.lay, piece.size_mm);
                (format!("{} {}", i + 1, piece.name), bench)
            });
            named.collect()
        }
        (None, Some((f, solid))) => {
            let lay = Frame {
                origin: f.low_mm,
                ..Frame::PART
            };
            let bench = Bench::new(source.part, solid, lay, f.high_mm - f.low_mm);
            vec![("pattern".to_string(), bench)]
        }
        (None, None) => Vec::new(),
    }
}

/// A piece's band and its sizes over all.
fn over_all(unit: Unit, name: &str, size_mm: Vec3, rows: &mut Vec<Vec<String>>) {
    rows.push(vec![text(name)]);
    for (what, size) in ["length", "width", "height"].iter().zip(size_mm.to_array()) {
        let cells = [
            &format!("over all, {what}"),
            &size_text(unit, size),
            "as it lies",
        ];
        rows.push(written(&cells));
    }
}

/// Sizes with their places, copies of one size together, in script order: the group, the check, its places.
#[derive(Default)]
struct Told(Vec<(String, Check, Vec<String>)>);

impl Told {
    fn put(&mut self, source: &SheetSource, id: FeatureId, check: &Check, at: String) {
        let group = &source.part.features[id].group;
        let same = |t: &&mut (String, Check, Vec<String>)| t.0 == *group && t.1.same(check);
        match self.0.iter_mut().find(same) {
            Some(row) => row.2.push(at),
            None => self.0.push((group.clone(), check.clone(), vec![at])),
        }
    }

    fn rows(self, unit: Unit, rows: &mut Vec<Vec<String>>) {
        let mut before: Option<(String, Vec<String>)> = None;
        for (group, check, at) in self.0 {
            let what = format!("{group}{}, {}", count_text(at.len()), check.what);
            let again = at.len() > 1 && before.as_ref().is_some_and(|b| b.0 == group && b.1 == at);
            let places = if again {
                "the same places".to_string()
            } else {
                at.join("; ")
            };
            rows.push(written(&[&what, &size_text(unit, check.size_mm), &places]));
            before = Some((group, at));
        }
    }
}

/// How many, where that is more than one.
fn count_text(count: usize) -> String {
    if count > 1 {
        format!(" × {count}")
    } else {
        String::new()
    }
}

/// A row with room to write limits and reading.
fn written(cells: &[&str; 3]) -> Vec<String> {
    let mut row = cells.map(text).to_vec();
    row.extend([BLANK.to_string(), BLANK.to_string()]);
    row
}

/// A size as a caliper shows it.
fn size_text(unit: Unit, mm: f64) -> String {
    match unit {
        Unit::Mm => unit.number(mm),
        Unit::Inch => format!("{:.3}", mm / unit.mm()),
    }
}

/// A distance as a rule shows it; what is under half of its last place off an edge lies on it.
fn rule_text(unit: Unit, mm: f64) -> String {
    match unit {
        Unit::Mm => Unit::Mm.number((mm * 10.0).round() / 10.0),
        Unit::Inch => Unit::Mm.number((mm / unit.mm() * 100.0).round() / 100.0),
    }
}

impl Where {
    /// In words: distances from two sides of the piece, never from outside of it.
    fn text(&self, size_mm: Vec3, unit: Unit) -> String {
        let (at, way) = match self {
            Where::Said(words) => return (*words).to_string(),
            Where::At { at, way, .. } => (at.clamp(Vec3::ZERO, size_mm), way),
        };
        let [x, y, z] = at.to_array().map(|mm| rule_text(unit, mm));
        let mut said = match way {
            w if w.z > LEVEL_COS => format!("{x} / {y}"),
            w if w.z < -LEVEL_COS => format!("{x} / {y}, underneath"),
            w if w.x.abs() > LEVEL_COS => {
                let side = if w.x < 0.0 { "left" } else { "right" };
                format!("{side} side: {y} from front, {z} up")
            }
            w if w.y.abs() > LEVEL_COS => {
                let side = if w.y < 0.0 { "front" } else { "back" };
                format!("{side} side: {x} from left, {z} up")
            }
            _ => format!("{x} / {y}, {z} up"),
        };
        if let Where::At {
            across: Some(d), ..
        } = self
        {
            said += ", across ";
            said += &direction(*d);
        }
        said
    }
}

/// A direction nearer to an axis than this has that axis's name (cosine).
const LEVEL_COS: f64 = 0.999;

/// The way that a caliper's jaws are set, on a piece as it lies.
fn direction(d: Vec3) -> String {
    match d.abs() {
        a if a.x > LEVEL_COS => "left to right".to_string(),
        a if a.y > LEVEL_COS => "front to back".to_string(),
        a if a.z > LEVEL_COS => "its height".to_string(),
        _ => {
            let deg = d.y.atan2(d.x).to_degrees().rem_euclid(180.0);
            format!("at {deg:.0}°")
        }
    }
}
