//! The machining card: what is drilled, bored and tapped, and what is faced to which height.

use std::collections::BTreeMap;

use crate::drawing::Part;
use crate::drawing::face::key_text;
use crate::drawing::feature::{Bore, Depth, Feature, Form};
use crate::drawing::given::{FaceKey, FeatureId};
use crate::drawing::marks::Slot;
use crate::drawing::threads;
use crate::measure::{FLUSH_MM, Plane, Unit, Vec3};
use crate::sheet::report::place as script_line;
use crate::sheet::shop_sheet::SheetSource;
use crate::sheet::shop_sheet::page::{BLANK, line, section, table, text};

/// A diameter of a thread table is met within this (mm).
const SAME_DIA_MM: f64 = 0.005;

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
        line("No opening is drilled, bored or tapped.")
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
    body += &line(
        "Stock on a round wall is on the radius. What a diameter is that of is told by the diameter alone, from tables of metric \
         and unified threads, which are from memory: the script knows what is meant. Check before tapping.",
    );
    section("machining", "After the casting: machining card", &body)
}

/// Threads whose tapping drill has this diameter.
fn taps(dia_mm: f64) -> Vec<&'static str> {
    named(dia_mm, |t| t.tap_mm)
}

fn named(dia_mm: f64, of: impl Fn(&threads::Thread) -> f64) -> Vec<&'static str> {
    let like = threads::ALL
        .iter()
        .filter(|t| (of(t) - dia_mm).abs() < SAME_DIA_MM);
    like.map(|t| t.name).collect()
}

fn thread(dia_mm: f64) -> String {
    let (taps, clears) = (taps(dia_mm), named(dia_mm, |t| t.clear_mm));
    let mut said = Vec::new();
    if !taps.is_empty() {
        said.push(format!("tapping drill {}", taps.join(", ")));
    }
    if !clears.is_empty() {
        said.push(format!("clearance {}", clears.join(", ")));
    }
    said.join("; ")
}

/// A hole of a feature.
struct Hole {
    what: &'static str,
    dia: f64,
    depth: String,
    /// Its mouth in the finished part.
    at: Vec<Vec3>,
    /// Into the metal.
    axis: Vec3,
}

fn depth(depth: &Depth, unit: Unit) -> String {
    match depth {
        Depth::Through { .. } => "through".to_string(),
        other => unit.number(other.known()),
    }
}

fn holes(feature: &Feature, unit: Unit) -> Vec<Hole> {
    let frame = &feature.frame;
    let hole = |what, dia, depth, at| Hole {
        what,
        dia,
        depth,
        at,
        axis: -frame.z,
    };
    match &feature.form {
        Form::Bore(b) => of_bore(b, unit)
            .into_iter()
            .map(|(what, dia, depth)| hole(what, dia, depth, vec![frame.origin]))
            .collect(),
        Form::Raised(r) => r
            .bore
            .iter()
            .map(|(dia, d)| {
                let top = frame.raised(r.height).origin;
                hole("bore", *dia, unit.number(*d), vec![top])
            })
            .collect(),
        Form::Flange(f) if !f.bolts.is_empty() => {
            let at = f.bolts.iter().map(|b| frame.point(b.extend(0.0)));
            vec![hole(
                "bolt holes",
                f.bolt_dia,
                unit.number(f.thick),
                at.collect(),
            )]
        }
        _ => Vec::new(),
    }
}

fn of_bore(b: &Bore, unit: Unit) -> Vec<(&'static str, f64, String)> {
    let mut out = vec![("bore", b.dia, depth(&b.depth, unit))];
    if let Some((dia, deep)) = b.counterbore {
        out.push(("counterbore", dia, unit.number(deep)));
    }
    if let Some((dia, angle)) = b.countersink {
        out.push(("countersink", dia, format!("{}°", Unit::Mm.number(angle))));
    }
    out
}

/// A row's key: the feature's group, and what is done.
type Row = (usize, [String; 5]);

/// Rows of openings; copies with the same size share one.
fn openings(source: &SheetSource) -> Vec<Vec<String>> {
    let part = source.part;
    let mut rows: Vec<(Row, Vec<String>)> = Vec::new();
    let mut first: BTreeMap<&str, usize> = BTreeMap::new();
    for (id, feature) in part.features.iter().enumerate() {
        let group = *first.entry(&feature.group).or_insert(id);
        let mut told = false;
        for hole in holes(feature, part.unit) {
            told = true;
            let Some(work) = work(source, id, &hole) else {
                continue;
            };
            let at = hole.at.iter().map(|p| spot(*p, part.unit));
            let at: Vec<String> = at.collect();
            let what = format!("{}, {}", feature.group, hole.what);
            let way = format!("{} from", axis(hole.axis));
            let dia = part.unit.number(hole.dia);
            let said = [
                what,
                work,
                dia,
                hole.depth.clone(),
                format!("{}|{way}", thread(hole.dia)),
            ];
            match rows
                .iter_mut()
                .find(|(row, _)| *row == (group, said.clone()))
            {
                Some((_, places)) => places.extend(at),
                None => rows.push(((group, said), at)),
            }
        }
        let left = source.left_solid.iter().find(|l| l.feature == id);
        if let Some(left) = left.filter(|_| !told) {
            let sizes = crate::sheet::sizes::sizes(feature, part.unit);
            let sizes: Vec<String> = sizes.iter().map(|s| s.join(" ")).collect();
            let work = format!("cut from the solid: {}", sizes.join(", "));
            let way = format!("|{} from", axis(-feature.frame.z));
            let what = format!("{}, {}", feature.group, left.what);
            let said = [what, work, String::new(), String::new(), way];
            rows.push(((group, said), vec![spot(feature.frame.origin, part.unit)]));
        }
    }
    rows.into_iter()
        .map(|((_, [what, work, dia, depth, thread]), at)| {
            let (thread, way) = thread.split_once('|').unwrap_or((&thread, ""));
            let count = if at.len() > 1 {
                format!(" × {}", at.len())
            } else {
                String::new()
            };
            let places = format!("{way} {}", at.join("; "));
            [
                format!("{what}{count}"),
                work,
                dia,
                depth,
                thread.to_string(),
                places,
            ]
            .iter()
            .map(|cell| text(cell))
            .collect()
        })
        .collect()
}

/// What is done to a hole; nothing where it stays as cast.
fn work(source: &SheetSource, id: FeatureId, hole: &Hole) -> Option<String> {
    let solid = |l: &&crate::pattern::LeftSolid| l.feature == id && l.what == hole.what;
    if source.left_solid.iter().any(|l| solid(&l)) {
        return Some("drill from the solid".to_string());
    }
    let unit = source.part.unit;
    if let Some(stock) = source
        .stocks
        .get(&(id, Slot::Wall))
        .filter(|_| hole.what == "bore")
    {
        return Some(format!(
            "bore out from {}",
            unit.number(hole.dia - 2.0 * stock)
        ));
    }
    if hole.what == "countersink" {
        let bore = source.left_solid.iter().any(|l| l.feature == id);
        return bore.then(|| "countersink".to_string());
    }
    (!taps(hole.dia).is_empty()).then(|| "as cast: clean up, tap".to_string())
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
    out
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
