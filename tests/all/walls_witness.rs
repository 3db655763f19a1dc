//! Wall thickness held against `trimesh` of the Python registry: its largest ball at a place of the surface, and rays
//! through convex bodies. `tests/witness/check_walls.py` compares; skipped and failing as the other outside checks.

use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::Command;

use foamwright::export::stl;
use foamwright::inspect::walls::{Surface, thickness_at};
use foamwright::measure::Vec3;
use foamwright::solid::Solid;

use crate::seeded::Seeded;
use crate::walls::mesh;
use crate::witness::{NEEDS, python};

/// Places looked at on each mesh.
const PLACES: usize = 120;

/// Meshes: name, whether it is convex, script.
const PARTS: [(&str, bool, &str); 7] = [
    ("brick", true, "slab(\"a\", #{ outline: rect(50, 30), height: 12 });"),
    ("peg", true, "slab(\"a\", #{ outline: disc(14), height: 40, draft: 3 });"),
    (
        "prism",
        true,
        "slab(\"a\", #{ outline: polygon([[0, 0], [40, 0], [25, 22], [8, 18]]), height: 15 });",
    ),
    (
        "tunnelled",
        false,
        "let a = slab(\"a\", #{ outline: rect(60, 40), height: 30 });
         tunnel(\"t\", #{ from: [-30, 3, 16], to: [30, -3, 13], inside: 14, wall: 0 });
         bore(\"b\", #{ into: a.top, at: [10, 12], dia: 9, depth: 11 });",
    ),
    (
        "cup",
        false,
        "let a = slab(\"a\", #{ outline: rect(50, 50).corners(8), height: 30, draft: 2 });
         hollow(\"h\", #{ of: a, open: a.top, wall: 4, floor: 5 });",
    ),
    (
        "ribbed",
        false,
        "let a = slab(\"a\", #{ outline: rect(70, 50), height: 6 });
         rib(\"r\", #{ on: a.top, from: [-30, -10], to: [30, 10], thick: 5, height: 18, draft: 1, fillet: 3 });
         boss(\"b\", #{ on: a.top, at: [10, -14], dia: 16, height: 12, bore: 7 });",
    ),
    (
        "ring",
        false,
        "turned(\"a\", #{ on: level(0), profile: [[20, 0], #{ to: [20, 10], radius: 5 }, #{ to: [20, 0], radius: 5 }] });",
    ),
];

/// Places spread over a surface by area, inside their triangles, with their normals.
fn places(solid: &Solid, seeded: &mut Seeded) -> Vec<(Vec3, Vec3)> {
    let corners = |t: &[u32; 3]| t.map(|i| solid.points[i as usize]);
    let square = |t: &[u32; 3]| {
        let [a, b, c] = corners(t);
        (b - a).cross(c - a)
    };
    let total: f64 = solid.triangles.iter().map(|t| square(t).length()).sum();
    let mut out = Vec::new();
    while out.len() < PLACES {
        let mut left = seeded.between(0.0, total);
        let found = solid.triangles.iter().find(|t| {
            left -= square(t).length();
            left <= 0.0
        });
        let Some(t) = found else { continue };
        let [a, b, c] = corners(t);
        let (u, v) = (seeded.between(0.05, 0.9), seeded.between(0.05, 0.9));
        if u + v < 0.95 {
            out.push((a + (b - a) * u + (c - a) * v, square(t).normalize()));
        }
    }
    out
}

fn write_case(folder: &Path, name: &str, convex: bool, solid: &Solid, seeded: &mut Seeded) {
    let surface = Surface::new(&solid.points, &solid.triangles, &solid.features);
    let places = places(solid, seeded);
    let ball = |(p, _): &(Vec3, Vec3)| thickness_at(&surface, *p).map(|t| t.thickness_mm);
    let through = |(p, n): &(Vec3, Vec3)| surface.through(*p, -*n);
    let told = serde_json::json!({
        "convex": convex,
        "places": places.iter().map(|(p, _)| p.to_array()).collect::<Vec<_>>(),
        "normals": places.iter().map(|(_, n)| n.to_array()).collect::<Vec<_>>(),
        "ball_mm": places.iter().map(ball).collect::<Vec<_>>(),
        "through_mm": places.iter().map(through).collect::<Vec<_>>(),
    });
    fs::write(folder.join(format!("{name}.json")), told.to_string()).expect("it can be written");
    let mut bytes = Vec::new();
    stl::write(solid, name, &mut bytes).expect("it can be written");
    fs::write(folder.join(format!("{name}.stl")), bytes).expect("it can be written");
}

#[test]
fn walls_are_as_thick_as_another_library_says() {
    let Some(python) = python() else {
        let text = format!(
            "SKIPPED: the outside check of {} walls, for want of a Python with {NEEDS} \
             (pip install -r tests/witness/requirements.txt; FOAMWRIGHT_PYTHON names the one to use)",
            PLACES * PARTS.len()
        );
        let _ = writeln!(std::io::stderr(), "\n{text}\n");
        let ci = std::env::var("CI").is_ok_and(|v| v == "true");
        assert!(!ci, "{text}");
        return;
    };
    let folder = tempfile::tempdir().expect("a temporary folder");
    let mut seeded = Seeded(7);
    for (name, convex, script) in PARTS {
        let solid = mesh(script, 0.02);
        write_case(folder.path(), name, convex, &solid, &mut seeded);
    }
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/witness/check_walls.py");
    let done = Command::new(python)
        .arg("-B")
        .arg(script)
        .arg(folder.path())
        .output();
    let done = done.expect("Python starts");
    let said = String::from_utf8_lossy(&done.stdout);
    let _ = writeln!(
        std::io::stderr(),
        "\nwalls: {}",
        said.lines().last().unwrap_or("none")
    );
    let wrong = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{said}\n{wrong}");
}
