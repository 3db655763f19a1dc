//! What `prove` asks beside the findings of a build: the wall at a place, and the walls of a mesh without a script.

use std::path::Path;

use crate::drawing::Part;
use crate::drawing::part::Cutter;
use crate::fault::{Fault, Finding, Span};
use crate::inspect::walls::{Surface, Thickness, smooth_regions, thickness_at};
use crate::inspect::{Side, Telling, reach_of_mesh, thin_in_mesh};
use crate::measure::{Unit, Vec3, parse_length};
use crate::pattern::Stage;
use crate::shop::mesh_file::read_mesh;
use crate::shop::pipeline::Build;
use crate::solid::Solid;

/// The coarsest facet that `prove` checks on (mm): a cavity reads thicker by its sag, which is the unsafe way.
pub const PROVE_FACET_MM: f64 = 0.01;

/// The walls at a place given as `x,y,z` in the script's unit, in the finished part and in the casting: one line each.
///
/// # Errors
/// The text is no place.
pub fn walls_at(build: &Build, place: &str) -> Result<String, Fault> {
    let unit = build.part.unit;
    let p = point(place, unit)?;
    let mut out = String::new();
    for stage in [Stage::Finished, Stage::Casting] {
        let Some(built) = build.stage(stage) else {
            continue;
        };
        let solid = &built.solid;
        let surface = Surface::new(&solid.points, &solid.triangles, &solid.features);
        let said = match thickness_at(&surface, p) {
            Some(wall) => told(&build.part, &wall),
            None => "no wall there".to_string(),
        };
        out.push_str(&format!("{:<9} {said}\n", stage.name()));
    }
    Ok(out)
}

/// One wall as a line: how thick, between what, from where to where.
fn told(part: &Part, wall: &Thickness) -> String {
    let side = |id: usize| {
        part.features.get(id).map_or("the part".to_string(), |f| {
            format!("{} ({})", f.name, f.site.script())
        })
    };
    let at = |p: Vec3| {
        let [x, y, z] = p.to_array().map(|c| part.unit.number(c));
        format!("[{x}, {y}, {z}]")
    };
    let [a, b] = wall.features.map(side);
    let sides = if wall.features[0] == wall.features[1] {
        format!("of {a}")
    } else {
        format!("between {a} and {b}")
    };
    let [p, q] = wall.ends.map(at);
    format!(
        "{} {sides}, from {p} to {q}",
        part.unit.show(wall.thickness_mm)
    )
}

fn point(text: &str, unit: Unit) -> Result<Vec3, Fault> {
    let wrong = || {
        Fault::new(format!("\"{text}\" is no place"))
            .hint("write --at x,y,z in the script's unit, such as --at 12,0,8.5")
    };
    let numbers: Vec<f64> = text
        .split(',')
        .map(|n| parse_length(n, unit))
        .collect::<Result<_, _>>()
        .map_err(|_| wrong())?;
    match numbers[..] {
        [x, y, z] => Ok(Vec3::new(x, y, z)),
        _ => Err(wrong()),
    }
}

/// What is wrong with a mesh file (mm): its walls against a least wall, where one is given, and what cutters don't get to
/// of it from above and below, where there are any. Its smooth faces, split where they meet at an angle, stand for
/// features: `face 1`, `face 2`, in the order of the file.
///
/// # Errors
/// The file can't be read, is no mesh, or isn't closed: with the place.
pub fn prove_mesh(
    path: &Path,
    least_wall_mm: Option<f64>,
    cutters: &[Cutter],
) -> Result<Vec<Finding>, Fault> {
    let mesh = read_mesh(path)?;
    let mut found = least_wall_mm.map_or(Vec::new(), |least| thin(&mesh, path, least));
    if !cutters.is_empty() {
        found.extend(reach_of_mesh(&mesh, cutters));
    }
    found.sort_by(Finding::order);
    Ok(found)
}

fn thin(mesh: &Solid, path: &Path, limit_mm: f64) -> Vec<Finding> {
    let mesh = Solid {
        features: smooth_regions(&mesh.points, &mesh.triangles),
        ..mesh.clone()
    };
    let file = path.display().to_string();
    let side = |id: usize| {
        Some(Side {
            name: format!("face {}", id + 1),
            place: Span {
                file: file.as_str().into(),
                line: 0,
                column: 0,
                length: 1,
            },
            opening: false,
        })
    };
    let telling = Telling {
        unit: Unit::Mm,
        stage: None,
        limit_mm,
        side: &side,
    };
    thin_in_mesh(&mesh, &telling)
}
