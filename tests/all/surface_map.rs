//! The map of walls against closed formulas: plates, tubes, steps.

use foamwright::export::surface_map::{MAGIC, write};
use foamwright::inspect::walls::Surface;
use foamwright::solid::Solid;

use crate::built::built;

/// A vertex of the map: its place and the thickness behind it (mm).
struct Spot {
    at: [f64; 3],
    wall: f64,
}

struct Map {
    spots: Vec<Spot>,
    triangles: Vec<[usize; 3]>,
}

fn map(solid: &Solid) -> Map {
    let surface = Surface::new(&solid.points, &solid.triangles, &solid.features);
    let mut bytes = Vec::new();
    write(
        solid,
        &|p, way| [surface.through(p, way)],
        "legend",
        &mut bytes,
    )
    .unwrap();
    let word = |i: usize| u32::from_le_bytes(bytes[4 * i..4 * i + 4].try_into().unwrap());
    let float = |i: usize| f64::from(f32::from_bits(word(i)));
    assert_eq!(word(0), MAGIC);
    let (nv, nt) = (word(1) as usize, word(2) as usize);
    assert_eq!(word(3), 1);
    assert_eq!(&bytes[16 + 16 * nv + 12 * nt..], b"legend");
    let spots = (0..nv)
        .map(|v| Spot {
            at: [0, 1, 2].map(|k| float(4 + 4 * v + k)),
            wall: float(4 + 4 * v + 3),
        })
        .collect();
    let corner = |t: usize, k: usize| word(4 + 4 * nv + 3 * t + k) as usize;
    let triangles = (0..nt).map(|t| [0, 1, 2].map(|k| corner(t, k))).collect();
    Map { spots, triangles }
}

fn of(script: &str) -> (Solid, Map) {
    let build = built(script);
    let solid = build.stages[0].solid.as_ref().clone();
    let map = map(&solid);
    (solid, map)
}

/// Volume by the divergence theorem and the longest edge: the finer mesh has the same surface.
#[test]
fn the_finer_mesh_is_the_same_surface() {
    let (solid, map) = of(
        "let p = slab(\"p\", #{ outline: rect(90, 40).corners(8), height: 6 });\n\
         boss(\"b\", #{ on: p.top, at: [20, 5], dia: 14, height: 20, fillet: 3 });\n\
         bore(\"o\", #{ into: p.top, at: [-20, 0], dia: 20, through: true });",
    );
    let mut six = 0.0;
    let mut longest: f64 = 0.0;
    for t in &map.triangles {
        let [a, b, c] = t.map(|v| glam::DVec3::from_array(map.spots[v].at));
        six += a.dot(b.cross(c));
        longest = longest
            .max(a.distance(b))
            .max(b.distance(c))
            .max(c.distance(a));
    }
    assert!((six / 6.0 - solid.volume_mm3()).abs() < 1e-3 * solid.volume_mm3());
    let diagonal = solid.bounds().size().length();
    assert!(longest <= diagonal * 0.01 + 1e-3, "{longest} of {diagonal}");
    assert!(map.triangles.len() > 2 * solid.triangles.len());
}

/// A plate: its height on top and below, its length and width from its ends.
#[test]
fn a_plate_is_as_thick_as_it_is() {
    let (_, map) = of("slab(\"p\", #{ outline: rect(60, 40), height: 6 });");
    for spot in &map.spots {
        let [x, y, z] = spot.at;
        // On a corner three ways are right.
        let right = [
            (x.abs() - 30.0, 60.0),
            (y.abs() - 20.0, 40.0),
            (z, 6.0),
            (z - 6.0, 6.0),
        ];
        let fits = right
            .iter()
            .any(|(off, wall)| off.abs() < 1e-4 && (spot.wall - wall).abs() < 1e-3);
        assert!(fits, "{:?}: {}", spot.at, spot.wall);
    }
}

/// An eccentric tube: from its bore towards where the axes part, R + e - r, and R - e - r on the other side; straight
/// through by the law of sines in between.
#[test]
fn an_eccentric_tube_is_thinner_on_one_side() {
    let (outer, bore, off) = (20.0_f64, 12.0_f64, 3.0_f64);
    let (_, map) = of("let b = slab(\"b\", #{ outline: disc(40), height: 30 });\n\
         bore(\"o\", #{ into: b.top, at: [3, 0], dia: 24, through: true });");
    let mut seen = 0;
    for spot in &map.spots {
        let [x, y, z] = spot.at;
        let from = ((x - off).powi(2) + y * y).sqrt();
        if (from - bore).abs() > 0.03 || !(1.0..29.0).contains(&z) {
            continue;
        }
        seen += 1;
        // The distance along a ray from the bore's axis to the outer circle.
        let (cos, sin) = ((x - off) / from, y / from);
        let reach = -off * cos + (outer * outer - (off * sin).powi(2)).sqrt();
        // Facets stand off by 0.02 on each side; a normal of facets is off by their turn.
        assert!(
            (spot.wall - (reach - bore)).abs() < 0.1,
            "{:?}: {}",
            spot.at,
            spot.wall
        );
    }
    assert!(seen > 200, "{seen}");
}

/// Which places of a block with a bore in its side and one from above are seen from above or below: all but the side
/// bore's own. Its last facets, at its rim, lie half in the open.
#[test]
fn what_is_hidden_from_above_and_below() {
    let build = built(
        "let b = slab(\"b\", #{ outline: rect(80, 60), height: 30 });
         bore(\"side\", #{ into: b.side(\"front\"), dia: 16, depth: 20, cored: true });
         bore(\"hole\", #{ into: b.top, at: [-25, 0], dia: 20, through: true });
         pocket(\"p\", #{ into: b.bottom, at: [25, 0], outline: rect(20, 20), depth: 8 });",
    );
    let solid = &build.stages[0].solid;
    let surface = Surface::new(&solid.points, &solid.triangles, &solid.features);
    let seen = |at: [f64; 3], inward: [f64; 3]| {
        surface.seen_upright(at.into(), glam::DVec3::from_array(inward).normalize(), 0.05)
    };
    assert!(seen([0.0, 10.0, 30.0], [0.0, 0.0, -1.0]), "the top");
    assert!(seen([0.0, 10.0, 0.0], [0.0, 0.0, 1.0]), "the bottom");
    assert!(seen([40.0, 0.0, 15.0], [-1.0, 0.0, 0.0]), "a side");
    assert!(
        seen([-35.0, 0.0, 15.0], [-1.0, 0.0, 0.0]),
        "a bore from above"
    );
    assert!(
        seen([25.0, 0.0, 8.0], [0.0, 0.0, 1.0]),
        "a pocket's floor, from below"
    );
    assert!(
        seen([35.0, 0.0, 4.0], [1.0, 0.0, 0.0]),
        "a pocket's wall, from below"
    );
    for (angle, what) in [
        (-90.0_f64, "floor"),
        (90.0, "roof"),
        (0.0, "side"),
        (200.0, "side"),
    ] {
        let (s, c) = angle.to_radians().sin_cos();
        let r = 8.0 * (1.0 - 1e-3);
        let at = [r * c, -20.0, 15.0 + r * s];
        assert!(!seen(at, [c, 0.0, s]), "the side bore's {what}");
    }
    assert!(
        !seen([0.0, -10.0, 15.0], [0.0, 1.0, 0.0]),
        "the side bore's end"
    );
}
