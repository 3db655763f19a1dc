//! `thin-wall`, `slant-wall`, `feather-edge` and `raised-thin`: walls thinner than the metal runs, by the walls' own
//! measure ([`walls`](crate::inspect::walls)).

use std::collections::BTreeMap;

use crate::drawing::Part;
use crate::drawing::given::FeatureId;
use crate::fault::{Finding, Go, Level, Span};
use crate::inspect::named;
use crate::inspect::walls::{Class, LIMIT_SLACK_MM, Surface, ThinPlace, Walls};
use crate::measure::{SINK_MM, Unit, Vec3};
use crate::solid::Solid;

/// Feather edges shorter than this together are crumbs (mm).
const FEATHER_FROM_MM: f64 = 1.0;

/// Where the foot of a feature that reaches into its host comes out at the host's rim by less than this, the lip is a
/// trifle (mm).
const LIP_FROM_MM: f64 = 0.5;

/// Two walls of one pair of features that differ by less are the same wall in both stages (mm).
const SAME_WALL_MM: f64 = 0.01;

/// One side of a wall, as findings name it.
#[derive(Debug, Clone)]
pub struct Side {
    /// The feature's name.
    pub name: String,
    /// Its place in the script.
    pub place: Span,
    /// Whether it is an opening, which can be made smaller.
    pub opening: bool,
}

/// What thin places are told with.
pub struct Telling<'a> {
    /// The unit of the text.
    pub unit: Unit,
    /// The stage, where the mesh is of one.
    pub stage: Option<&'static str>,
    /// The least wall (mm).
    pub limit_mm: f64,
    /// A feature by its number; `None` for a number that names none.
    pub side: &'a dyn Fn(usize) -> Option<Side>,
}

/// The thinnest place of one code between two features, and how many more there are.
#[derive(Debug, Clone, Copy)]
struct Told {
    place: ThinPlace,
    more: usize,
}

/// By code, then by features in ascending order.
type ByPair = BTreeMap<(&'static str, [FeatureId; 2]), Told>;

/// Thin walls of a part's casting and of its finished part. A wall of the finished part that the casting's finding
/// tells already, against the same limit or a stronger one, isn't told again.
/// `finished` is `None` where it is the same as the casting.
pub(super) fn thin_walls(
    part: &Part,
    finished: Option<&Surface>,
    casting: &Surface,
    go: Go,
) -> Vec<Finding> {
    let limits = [part.min_wall_mm(), part.min_wall_finished_mm()];
    let [cast_limit, finished_limit] = limits;
    let cast = by_pair(casting, cast_limit, part.facet_mm, go);
    let mut done = match finished {
        None if cast_limit == finished_limit => ByPair::new(),
        None => by_pair(casting, finished_limit, part.facet_mm, go),
        Some(finished) => by_pair(finished, finished_limit, part.facet_mm, go),
    };
    let mut machined = BTreeMap::new();
    done.retain(|key, told| {
        let told_already = cast_limit >= finished_limit && cast.contains_key(key);
        if told_already {
            machined.insert(*key, told.place.thickness_mm);
        }
        !told_already
    });
    let side = |id: usize| {
        let feature = part.features.get(id)?;
        let (name, place) = named(part, id);
        let opening = feature.is_opening();
        Some(Side {
            name,
            place,
            opening,
        })
    };
    let telling = |stage, limit_mm| Telling {
        unit: part.unit,
        stage: Some(stage),
        limit_mm,
        side: &side,
    };
    let mut out = Vec::new();
    for (stage, limit, found) in [
        ("casting", cast_limit, &cast),
        ("finished", finished_limit, &done),
    ] {
        let Some(limit) = limit else { continue };
        for (key, told) in found {
            let thinner = machined
                .get(key)
                .filter(|mm| stage == "casting" && **mm < told.place.thickness_mm - SAME_WALL_MM);
            out.push(finding(key, told, thinner.copied(), &telling(stage, limit)));
        }
    }
    out
}

/// Thin walls of a mesh that has no script.
pub fn thin_in_mesh(mesh: &Solid, telling: &Telling) -> Vec<Finding> {
    let surface = Surface::new(&mesh.points, &mesh.triangles, &mesh.features);
    let found = by_pair(&surface, Some(telling.limit_mm), 0.0, &|| true);
    found
        .iter()
        .map(|(key, told)| finding(key, told, None, telling))
        .collect()
}

/// The least thickness seen from each triangle of a solid (mm), infinite where it isn't under the limit.
pub fn thickness_map(solid: &Solid, limit_mm: f64) -> Vec<f32> {
    let surface = Surface::new(&solid.points, &solid.triangles, &solid.features);
    Walls::under(&surface, limit_mm, &|| true).map()
}

/// The thinnest place of each code and pair of features. Without a limit, or with none but 0, there is none.
/// Walls of curved faces count only if they are thinner by the facet, which is what the mesh may make of a right one.
fn by_pair(surface: &Surface, limit_mm: Option<f64>, facet_mm: f64, go: Go) -> ByPair {
    let mut out = ByPair::new();
    let Some(limit_mm) = limit_mm.filter(|mm| *mm > 0.0) else {
        return out;
    };
    for place in Walls::under(surface, limit_mm, go).places() {
        let crumb = match place.class {
            Class::Feather => place.extent_mm[1] < FEATHER_FROM_MM,
            _ => {
                place.thickness_mm < SINK_MM + LIMIT_SLACK_MM + facet_mm
                    && place.extent_mm[0] < LIP_FROM_MM
            }
        };
        let right = place.curved && place.thickness_mm > limit_mm - LIMIT_SLACK_MM - facet_mm;
        if crumb || right {
            continue;
        }
        let mut pair = place.features;
        pair.sort_unstable();
        // Places come thinnest first.
        out.entry((code(place.class), pair))
            .and_modify(|told: &mut Told| told.more += 1)
            .or_insert(Told { place, more: 0 });
    }
    let walls: Vec<_> = out
        .iter()
        .filter(|((code, _), _)| *code == "thin-wall")
        .map(|((_, pair), told)| (*pair, told.place.thickness_mm))
        .collect();
    for (pair, thickness) in walls {
        let slant = ("slant-wall", pair);
        if out
            .get(&slant)
            .is_some_and(|t| t.place.thickness_mm >= thickness)
        {
            out.remove(&slant);
        }
    }
    out
}

fn code(class: Class) -> &'static str {
    match class {
        Class::Wall | Class::Slanting => "thin-wall",
        Class::Oblique => "slant-wall",
        Class::Feather => "feather-edge",
        Class::Raised => "raised-thin",
    }
}

fn finding(
    key: &(&'static str, [FeatureId; 2]),
    told: &Told,
    machined_mm: Option<f64>,
    telling: &Telling,
) -> Finding {
    let (code, pair) = key;
    let level = match *code {
        "thin-wall" => Level::Stop,
        "raised-thin" => Level::Note,
        _ => Level::Look,
    };
    let mut sides: Vec<Side> = pair.iter().filter_map(|id| (telling.side)(*id)).collect();
    sides.dedup_by(|a, b| a.name == b.name);
    let feather = told.place.class == Class::Feather;
    let mut text = sentence(told, &sides, telling);
    if let Some(mm) = machined_mm {
        text.push_str(&format!("; {} once machined", telling.unit.show(mm)));
    }
    match told.more {
        0 => {}
        1 => text.push_str("; one more place like it"),
        more => text.push_str(&format!("; {more} more places like it")),
    }
    let mut finding = Finding::new(code, level, text, remedy(told, &sides, telling));
    finding.stage = telling.stage;
    finding.features = sides.into_iter().map(|s| (s.name, s.place)).collect();
    finding.at_mm = Some(told.place.at.to_array());
    finding.value = Some(if feather {
        told.place.angle_deg
    } else {
        told.place.thickness_mm
    });
    finding.limit = (!feather).then_some(telling.limit_mm);
    finding
}

/// What, where, how far from the limit.
fn sentence(told: &Told, sides: &[Side], telling: &Telling) -> String {
    let place = &told.place;
    let show = |mm: f64| telling.unit.show(mm);
    let at = shown_point(place.at, telling.unit);
    let wall = match sides {
        [one] => format!("of {}", one.name),
        [a, b, ..] => format!("between {} and {}", a.name, b.name),
        [] => "of the part".to_string(),
    };
    let limit = show(telling.limit_mm);
    let short = show(telling.limit_mm - place.thickness_mm);
    let thick = show(place.thickness_mm);
    let [narrow, long] = place.extent_mm;
    let size = match telling.unit.number(long).as_str() {
        "0" => String::new(),
        _ => format!(
            ", over {} x {}",
            telling.unit.number(narrow),
            telling.unit.show(long)
        ),
    };
    match place.class {
        Class::Wall => {
            format!("the wall {wall} is {thick} at {at}, {short} under the least of {limit}{size}")
        }
        Class::Slanting => format!(
            "the wall {wall}, whose faces close at {:.0}°, is {thick} at its thin end {at}, {short} under the least of {limit}{size}",
            place.angle_deg
        ),
        Class::Oblique => format!(
            "the faces {wall} close at {:.0}° and leave {thick} at {at}, {short} under the least of {limit}{size}",
            place.angle_deg
        ),
        Class::Raised => format!(
            "the raised bar {wall} is {thick} wide at {at}, {short} under the least of {limit}, and {} high",
            show(narrow)
        ),
        Class::Feather => format!(
            "the metal {wall} runs out to an edge of {:.0}° at {at}, {} long",
            place.angle_deg,
            show(long)
        ),
    }
}

/// What to change.
fn remedy(told: &Told, sides: &[Side], telling: &Telling) -> String {
    let short = telling
        .unit
        .show(telling.limit_mm - told.place.thickness_mm);
    let line = |s: &Side| match s.place.line {
        0 => s.name.clone(),
        line => format!("{} (line {line})", s.name),
    };
    let change = match (told.place.class, sides) {
        (Class::Feather, [a, b, ..]) => format!(
            "let {} and {} meet more squarely, or give them more metal between",
            line(a),
            line(b)
        ),
        (Class::Feather, [a]) => format!("blunt the edge of {}", line(a)),
        (Class::Raised, [a, ..]) => format!("make {} wider, or cut it after casting", line(a)),
        (_, [a]) => format!("make {} thicker by {short}", line(a)),
        (_, [a, b, ..]) => match (a.opening, b.opening) {
            (false, false) => {
                format!("put {short} more metal between {} and {}", line(a), line(b))
            }
            (true, true) => format!(
                "move {} and {} apart by {short}, or make one of them smaller",
                line(a),
                line(b)
            ),
            (first, _) => {
                let (cut, host) = if first { (a, b) } else { (b, a) };
                format!(
                    "make {} shallower, smaller or farther in by {short}, or give {} that much more metal",
                    line(cut),
                    line(host)
                )
            }
        },
        (_, []) => format!("put {short} more metal there"),
    };
    format!("{change}; `allow` it with the reason where it is meant")
}

fn shown_point(p: Vec3, unit: Unit) -> String {
    let [x, y, z] = p.to_array().map(|c| unit.number(c));
    format!("[{x}, {y}, {z}]")
}
