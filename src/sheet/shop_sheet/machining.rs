//! The machining card: what is drilled, bored and tapped, and what is faced to which height.

use crate::drawing::Part;
use crate::drawing::face::key_text;
use crate::drawing::feature::{Bore, Depth, Feature, Form};
use crate::drawing::given::{FaceKey, FeatureId};
use crate::drawing::marks::Slot;
use crate::drawing::threads::HoleFor;
use crate::measure::{FLUSH_MM, Plane, Unit, Vec3};
use crate::sheet::report::place as script_line;
use crate::sheet::shop_sheet::SheetSource;
use crate::sheet::shop_sheet::page::{BLANK, line, section, table, text, told};

/// A hole up to this is drilled and reamed, a wider one bored (mm): common practice.
const DRILLED_MM: f64 = 25.0;

/// Threads of the screw's diameter that a thread in aluminium is long, and what the drill goes on beyond it, in
/// diameters: common practice, as `bosses::tapped` drills.
const THREAD_LONG: f64 = 2.0;
const DRILL_BEYOND: f64 = 0.5;

/// Normals this near are parallel (cosine).
const PARALLEL_COS: f64 = 1.0 - 1e-9;

/// Both tables.
pub(super) fn card(source: &SheetSource) -> String {
    let faced = faces(source);
    let mut body = String::from("<h3>Faces and walls with stock</h3>\n");
    body += &if faced.is_empty() {
        line("No face carries stock.")
    } else {
        table(
            &["face", "#stock", "#finished", "from", "script", "read"],
            &faced,
        )
    };
    body += "<h3>Openings</h3>\n";
    let holes = openings(source);
    body += &if holes.is_empty() {
        line("No opening is drilled, bored, reamed or tapped.")
    } else {
        table(
            &[
                "opening",
                "work",
                "#dia",
                "#depth",
                "thread",
                "places (finished part)",
            ],
            &holes,
        )
    };
    body += &format!(
        "<p>{}</p>\n",
        told(
            "Stock on a round wall is on the radius. A hole is tapped, or clears a screw, where the script asked its diameter of \
         tap() or clear(); diameters are the drill's. Tapping drills from memory: ISO 2306:1972 (metric), Machinery's Handbook \
         (unified and pipe). A blind thread is 2 screw diameters long where its drill leaves half a diameter for the tap's end \
         (common practice in aluminium).",
        )
    );
    section("machining", "After the casting: machining card", &body)
}

/// What is done to a hole beside its diameter, and how it is said of a thread.
struct Work {
    work: String,
    thread: String,
}

/// The thread of a hole: tapped, with how long it is, or cleared.
fn thread(part: &Part, hole: &Hole) -> String {
    match hole.made_for {
        Some(made) if made.tapped => {
            let name = made.thread.name;
            match hole.deep_mm {
                None => format!("{name}, through"),
                Some(deep) => {
                    let major = made.thread.major_mm;
                    let long = (THREAD_LONG * major).min(deep - DRILL_BEYOND * major);
                    if long > made.thread.pitch_mm {
                        format!("{name}, {} long", part.unit.number(long))
                    } else {
                        name.to_string()
                    }
                }
            }
        }
        Some(made) => format!("clears {}", made.thread.name),
        None => String::new(),
    }
}

/// A depth in words, and in mm where the hole ends in the metal.
type Deep = (String, Option<f64>);

/// A hole of a feature.
struct Hole {
    what: &'static str,
    dia: f64,
    depth: String,
    /// How deep it is (mm), where it ends in the metal.
    deep_mm: Option<f64>,
    /// The thread that it is for.
    made_for: Option<HoleFor>,
    /// Its mouth in the finished part.
    at: Vec<Vec3>,
    /// Into the metal.
    axis: Vec3,
}

fn depth(depth: &Depth, part: &Part) -> Deep {
    match depth {
        Depth::Through { .. } | Depth::To { leaves: true, .. } => ("through".to_string(), None),
        // As drawn it goes a little way into that opening: how far is no size to drill to.
        Depth::Into { opening, .. } => (format!("into {}", part.features[*opening].name), None),
        blind => (part.unit.number(blind.known()), Some(blind.known())),
    }
}

fn holes(feature: &Feature, part: &Part) -> Vec<Hole> {
    let unit = part.unit;
    let frame = &feature.frame;
    let hole = |what, dia, (depth, deep_mm): Deep, at| Hole {
        what,
        dia,
        depth,
        deep_mm,
        made_for: feature
            .hole
            .filter(|_| matches!(what, "bore" | "bolt holes")),
        at,
        axis: -frame.z,
    };
    match &feature.form {
        Form::Bore(b) => of_bore(b, part)
            .into_iter()
            .map(|(what, dia, depth)| hole(what, dia, depth, vec![frame.origin]))
            .collect(),
        Form::Raised(r) => r
            .bore
            .iter()
            .map(|(dia, d)| {
                let top = frame.raised(r.height).origin;
                hole("bore", *dia, (unit.number(*d), Some(*d)), vec![top])
            })
            .collect(),
        Form::Flange(f) if !f.bolts.is_empty() => {
            let at = f.bolts.iter().map(|b| frame.point(b.extend(0.0)));
            let deep = (unit.number(f.thick), None);
            vec![hole("bolt holes", f.bolt_dia, deep, at.collect())]
        }
        _ => Vec::new(),
    }
}

/// The name, diameter and depth of each step of a bore.
fn of_bore(b: &Bore, part: &Part) -> Vec<(&'static str, f64, Deep)> {
    let unit = part.unit;
    let mut out = vec![("bore", b.dia, depth(&b.depth, part))];
    if let Some((dia, deep)) = b.counterbore {
        out.push(("counterbore", dia, (unit.number(deep), None)));
    }
    if let Some((dia, angle)) = b.countersink {
        let angle = format!("{}°", Unit::Mm.number(angle));
        out.push(("countersink", dia, (angle, None)));
    }
    out
}

/// A row of openings: what is the same for all of its holes, their names, and their places.
struct Row {
    /// The name without its numbers, what it is, work, diameter, depth, thread, way.
    same: [String; 7],
    names: Vec<String>,
    places: Vec<String>,
}

/// Rows of openings; holes whose names differ by numbers only share one where all but their place is the same.
fn openings(source: &SheetSource) -> Vec<Vec<String>> {
    let part = source.part;
    let mut rows: Vec<Row> = Vec::new();
    let mut put = |id: FeatureId, what: &str, said: [String; 5], at: Vec<String>| {
        let name = &part.features[id].group;
        let [work, dia, depth, thread, way] = said;
        let same = [
            numberless(name),
            what.to_string(),
            work,
            dia,
            depth,
            thread,
            way,
        ];
        match rows.iter_mut().find(|row| row.same == same) {
            Some(row) => {
                if row.names.last() != Some(name) {
                    row.names.push(name.clone());
                }
                row.places.extend(at);
            }
            None => rows.push(Row {
                same,
                names: vec![name.clone()],
                places: at,
            }),
        }
    };
    for (id, feature) in part.features.iter().enumerate() {
        let holes = holes(feature, part);
        for hole in &holes {
            let Some(done) = work(source, id, hole) else {
                continue;
            };
            let at = hole.at.iter().map(|p| spot(*p, part.unit)).collect();
            let dia = part.unit.number(hole.dia);
            let said = [
                done.work,
                dia,
                hole.depth.clone(),
                done.thread,
                axis(hole.axis),
            ];
            put(id, hole.what, said, at);
        }
        let left = source.left_solid.iter().find(|l| l.feature == id);
        if let Some(left) = left.filter(|_| holes.is_empty()) {
            let sizes = crate::sheet::sizes::sizes(feature, part.unit);
            let sizes: Vec<String> = sizes.iter().map(|s| s.join(" ")).collect();
            let work = format!("cut from the solid: {}", sizes.join(", "));
            let none = String::new;
            let said = [work, none(), none(), none(), axis(-feature.frame.z)];
            put(
                id,
                left.what,
                said,
                vec![spot(feature.frame.origin, part.unit)],
            );
        }
    }
    let cells = |row: Row| {
        let [_, what, work, dia, depth, thread, way] = row.same;
        let name = several(&row.names);
        let count = times(row.places.len());
        let places = format!("{way} from {}", row.places.join("; "));
        let cells = [
            format!("{name}, {what}{count}"),
            work,
            dia,
            depth,
            thread,
            places,
        ];
        cells.iter().map(|cell| text(cell)).collect()
    };
    rows.into_iter().map(cells).collect()
}

/// A name without its numbers: those of one row of copies have the same.
fn numberless(name: &str) -> String {
    name.chars().filter(|c| !c.is_ascii_digit()).collect()
}

/// One name, or the first and the last of several.
fn several(names: &[String]) -> String {
    match names {
        [first, .., last] => format!("{first} … {last}"),
        [one] => one.clone(),
        [] => String::new(),
    }
}

fn times(count: usize) -> String {
    if count > 1 {
        format!(" × {count}")
    } else {
        String::new()
    }
}

/// What is done to a hole; nothing where it stays as cast.
fn work(source: &SheetSource, id: FeatureId, hole: &Hole) -> Option<Work> {
    let unit = source.part.unit;
    let tap = hole.made_for.is_some_and(|made| made.tapped);
    let then_tap = if tap { ", tap" } else { "" };
    let done = |work: String| {
        Some(Work {
            work,
            thread: thread(source.part, hole),
        })
    };
    let solid = |l: &crate::pattern::LeftSolid| l.feature == id && l.what == hole.what;
    let left = source.left_solid.iter().any(solid);
    let wall = matches!(hole.what, "bore" | "counterbore");
    let stock = source.stocks.get(&(id, Slot::Wall)).filter(|_| wall);
    let wide = hole.dia > DRILLED_MM;
    match (left, hole.what, stock) {
        (true, "counterbore", _) => done("counterbore".to_string()),
        // A marked wall is finished to size, not left as the drill leaves it.
        (true, _, Some(_)) if !tap => done(
            if wide {
                "bore from the solid, to size"
            } else {
                "drill under size, ream"
            }
            .to_string(),
        ),
        (true, ..) if wide => done(format!("bore from the solid{then_tap}")),
        (true, ..) => done(format!("drill{then_tap}")),
        (false, _, Some(stock)) => {
            let cast = unit.number(hole.dia - 2.0 * stock);
            done(format!("bore out from {cast}{then_tap}"))
        }
        (false, "countersink", _) => {
            let bore = source.left_solid.iter().any(|l| l.feature == id);
            bore.then(|| done("countersink".to_string())).flatten()
        }
        _ if tap => done("as cast: clean up to size, tap".to_string()),
        _ => None,
    }
}

/// A place in the script's unit.
fn spot(p: Vec3, unit: Unit) -> String {
    let said = p.to_array().map(|c| unit.number(c));
    format!("[{}]", said.join(", "))
}

/// A direction in a word, or in numbers.
fn axis(way: Vec3) -> String {
    let words = [
        (Vec3::Z, "up"),
        (-Vec3::Z, "down"),
        (Vec3::X, "to +x"),
        (-Vec3::X, "to -x"),
        (Vec3::Y, "to +y"),
        (-Vec3::Y, "to -y"),
    ];
    let found = words.iter().find(|(d, _)| way.dot(*d) > PARALLEL_COS);
    found.map_or_else(
        || {
            let said = way.to_array().map(|c| format!("{:.3}", c + 0.0));
            format!("along [{}]", said.join(", "))
        },
        |(_, word)| (*word).to_string(),
    )
}

/// A surface as the script would name it.
fn surface(part: &Part, id: FeatureId, slot: Slot) -> String {
    let mut keys = vec![
        FaceKey::Top,
        FaceKey::Bottom,
        FaceKey::Outside,
        FaceKey::Wall,
        FaceKey::Floor,
        FaceKey::Shoulder,
        FaceKey::Start,
        FaceKey::End,
    ];
    if let Form::Turned(t) = &part.features[id].form {
        let names = t.profile.iter().filter_map(|p| p.face.clone());
        keys.splice(0..0, names.map(FaceKey::Named));
    }
    keys.extend((0..24).map(|i| FaceKey::Side(15.0 * f64::from(i))));
    let key = keys.iter().find(|k| part.slot(id, k) == Ok(slot));
    let name = &part.features[id].name;
    match key {
        Some(key) => format!("{name}{}", key_text(key)),
        None => format!("{name}, a side"),
    }
}

/// A flat face with stock.
struct Faced {
    id: FeatureId,
    name: String,
    plane: Plane,
    stock: f64,
}

/// Rows of marked surfaces: flat ones from a datum for each direction, then round walls by their diameter.
fn faces(source: &SheetSource) -> Vec<Vec<String>> {
    let (part, unit) = (source.part, source.part.unit);
    let flats = part.flat_slots();
    let plane_of = |id, slot| flats.iter().find(|f| (f.0, f.1) == (id, slot)).map(|f| f.2);
    let row = |id: FeatureId, name: &str, stock: f64, finished: String, from: String| {
        let at = script_line(part.features[id].site.script());
        let cells = [name, &unit.number(stock), &finished, &from, &at].map(text);
        let mut cells = cells.to_vec();
        cells.push(BLANK.to_string());
        cells
    };
    let (mut flat, mut out, mut rest) = (Vec::<Faced>::new(), Vec::new(), Vec::new());
    for (&(id, slot), &stock) in source.stocks {
        let name = surface(part, id, slot);
        let Some(plane) = plane_of(id, slot) else {
            // Of a hole that isn't cast nothing is taken off: it is drilled.
            if slot == Slot::Wall && source.left_solid.iter().any(|l| l.feature == id) {
                continue;
            }
            let dia = dia_of(part, id, slot);
            let said = dia.map_or_else(
                || "as drawn".to_string(),
                |d| format!("dia {}", unit.number(d)),
            );
            rest.push(row(id, &name, stock, said, "its own axis".to_string()));
            continue;
        };
        // A flange lies at its tunnel's mouth: one face, marked on both.
        let twin = matches!(part.features[id].form, Form::Tunnel(_))
            && part
                .features
                .iter()
                .any(|f| matches!(f.form, Form::Flange(_)) && f.host_feature() == Some(id));
        if !twin {
            flat.push(Faced {
                id,
                name,
                plane,
                stock,
            });
        }
    }
    let mut letter = b'A';
    while !flat.is_empty() {
        let normal = flat[0].plane.normal;
        let same = |f: &Faced| f.plane.normal.dot(normal).abs() > PARALLEL_COS;
        let (group, others): (Vec<Faced>, Vec<Faced>) = flat.into_iter().partition(same);
        flat = others;
        let datum = &group[0];
        let sign = char::from(letter.min(b'Z'));
        letter += 1;
        let (finished, from) = raw_datum(source, datum, &flats);
        out.push(row(
            datum.id,
            &format!("{} (datum {sign}, first)", datum.name),
            datum.stock,
            finished,
            from,
        ));
        for f in &group[1..] {
            let off = f.plane.offset * f.plane.normal.dot(normal) - datum.plane.offset;
            let from = format!("datum {sign}, {}", datum.name);
            out.push(row(f.id, &f.name, f.stock, unit.number(off.abs()), from));
        }
    }
    out.extend(rest);
    shared(out)
}

/// One row for copies whose names differ by numbers only and whose other cells are the same.
fn shared(rows: Vec<Vec<String>>) -> Vec<Vec<String>> {
    let mut out: Vec<(Vec<String>, Vec<Vec<String>>)> = Vec::new();
    for row in rows {
        let mut key = row.clone();
        key[0] = numberless(&row[0]);
        match out.iter_mut().find(|(k, _)| *k == key) {
            Some((_, list)) => list.push(row),
            None => out.push((key, vec![row])),
        }
    }
    let one = |(_, list): (Vec<String>, Vec<Vec<String>>)| {
        let names: Vec<String> = list.iter().map(|row| row[0].clone()).collect();
        let mut row = list.into_iter().next().unwrap_or_default();
        if let Some(cell) = row.first_mut() {
            *cell = format!("{}{}", several(&names), times(names.len()));
        }
        row
    };
    out.into_iter().map(one).collect()
}

/// What the first face of a direction is cut from: the farthest raw face of its own feature that is parallel to it.
fn raw_datum(
    source: &SheetSource,
    datum: &Faced,
    flats: &[(FeatureId, Slot, Plane)],
) -> (String, String) {
    let (part, unit) = (source.part, source.part.unit);
    let off = |plane: &Plane| {
        (plane.offset * plane.normal.dot(datum.plane.normal) - datum.plane.offset).abs()
    };
    let raw = flats.iter().filter(|(id, slot, plane)| {
        *id == datum.id
            && !source.stocks.contains_key(&(*id, *slot))
            && plane.normal.dot(datum.plane.normal).abs() > PARALLEL_COS
            && off(plane) > FLUSH_MM
    });
    match raw.max_by(|a, b| off(&a.2).total_cmp(&off(&b.2))) {
        Some((id, slot, plane)) => (
            unit.number(off(plane)),
            format!("{}, as cast", surface(part, *id, *slot)),
        ),
        None => ("–".to_string(), "take off the stock".to_string()),
    }
}

/// The finished diameter of a round wall (mm).
fn dia_of(part: &Part, id: FeatureId, slot: Slot) -> Option<f64> {
    match (&part.features[id].form, slot) {
        (Form::Bore(b), Slot::Wall) => Some(b.dia),
        (Form::Raised(r), Slot::Wall) => r.bore.map(|b| b.0),
        (Form::Flange(f), Slot::Wall) => Some(f.bolt_dia),
        (Form::Raised(r), Slot::Outside) => r.outline.as_disc().map(|d| 2.0 * d.1),
        (Form::Pocket(p), Slot::Wall) => p.outline.as_disc().map(|d| 2.0 * d.1),
        (Form::Turned(t), Slot::Run(i)) => t.profile.get(i).map(|p| 2.0 * p.r),
        _ => None,
    }
}
