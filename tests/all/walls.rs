//! Wall thickness against closed formulas, on meshes of three facets and in odd frames; and silence where a wall is as
//! thick as the limit.

use std::sync::Arc;

use foamwright::fault::render_all;
use foamwright::inspect::walls::{Class, Surface, ThinPlace, Walls, thickness_at};
use foamwright::measure::{Frame, Vec3};
use foamwright::script::NoModules;
use foamwright::shop::{Bench, Stage, Wish};
use foamwright::solid::Solid;

/// What a wall may be off (mm), whatever the facet.
pub const SLACK_MM: f64 = 0.02;

/// The finished part of a script on a mesh of this facet.
pub fn mesh(script: &str, facet_mm: f64) -> Solid {
    let wish = Wish {
        facet_mm: Some(facet_mm),
        ..Wish::default()
    };
    let source = format!("part(\"t\"); min_wall(0); {script}");
    let built = Bench::new().build_text(&source, "t.rhai", Arc::new(NoModules), &wish, &|_| {});
    let build = built.unwrap_or_else(|failure| {
        let shown = render_all(&failure.faults, &|f| failure.texts.get(f).cloned());
        panic!("{shown}")
    });
    let stage = build.stage(Stage::Finished).expect("it is built");
    (*stage.solid).clone()
}

/// The same mesh in another frame.
pub fn placed(solid: &Solid, frame: &Frame) -> Solid {
    Solid {
        points: solid.points.iter().map(|p| frame.point(*p)).collect(),
        ..solid.clone()
    }
}

/// A frame square to nothing.
fn odd() -> Frame {
    Frame::facing(
        Vec3::new(13.1, -7.7, 3.3),
        Vec3::new(0.31, 0.83, -0.47),
        None,
    )
    .turned(37.0)
}

/// The thin places of a mesh.
pub fn places(solid: &Solid, limit_mm: f64) -> Vec<ThinPlace> {
    let surface = Surface::new(&solid.points, &solid.triangles, &solid.features);
    Walls::under(&surface, limit_mm, &|| true).places()
}

/// Fails unless the thinnest wall of a script, under the limit, is `want` mm; each facet, each frame.
#[track_caller]
fn thinnest(want: f64, limit: f64, script: &str) -> ThinPlace {
    let mut first = None;
    for facet in [0.01, 0.005, 0.0025] {
        let solid = mesh(script, facet);
        for solid in [placed(&solid, &odd()), solid] {
            let found = places(&solid, limit);
            let wall = found.iter().find(|p| p.class != Class::Feather);
            let wall = wall.unwrap_or_else(|| panic!("nothing at facet {facet}, {want} wanted"));
            assert!(
                (wall.thickness_mm - want).abs() <= SLACK_MM,
                "{} is not {want} at facet {facet}: {found:#?}",
                wall.thickness_mm
            );
            first = Some(*wall);
        }
    }
    first.expect("looked at")
}

/// Fails if a script has a thin place or a knife edge under the limit.
#[track_caller]
fn silent(limit: f64, script: &str) {
    let solid = mesh(script, 0.01);
    for solid in [placed(&solid, &odd()), solid] {
        let found = places(&solid, limit);
        assert!(found.is_empty(), "{found:#?}");
    }
}

const BLOCK: &str = "let a = slab(\"a\", #{ outline: rect(80, 60), height: 40 });";

/// A block with a tunnel along x, its middle `z` high.
fn tunnelled(z: f64, inside: f64) -> String {
    format!(
        "{BLOCK} tunnel(\"t\", #{{ from: [-40, 0, {z}], to: [40, 0, {z}], inside: {inside}, wall: 0 }});"
    )
}

#[test]
fn plates_tubes_and_bores() {
    let place = thinnest(
        3.0,
        4.0,
        "slab(\"a\", #{ outline: rect(40, 30), height: 3 });",
    );
    assert_eq!(place.class, Class::Wall);
    // The whole plate, less what the edges' own corners take.
    assert!((place.extent_mm[0] - 30.0).abs() < 1e-3 && (place.extent_mm[1] - 40.0).abs() < 1e-3);
    let tube = |off: f64| {
        format!(
            "let a = slab(\"a\", #{{ outline: disc(40), height: 30 }});
             bore(\"b\", #{{ into: a.top, at: [{off}, 0], dia: 32, through: true }});"
        )
    };
    // R - r - e.
    thinnest(4.0, 5.0, &tube(0.0));
    thinnest(2.5, 5.0, &tube(1.5));
    silent(4.0 - SLACK_MM, &tube(0.0));
    // Half the width, less the way of the axis, less r: 30 - 22 - 5.
    thinnest(
        3.0,
        5.0,
        &format!("{BLOCK} bore(\"b\", #{{ into: a.top, at: [0, 22], dia: 10, through: true }});"),
    );
    // 40 - 37 under a blind floor.
    thinnest(
        3.0,
        5.0,
        &format!("{BLOCK} bore(\"b\", #{{ into: a.top, dia: 10, depth: 37 }});"),
    );
    // Apart by 12, each 5 in radius.
    thinnest(
        2.0,
        5.0,
        &format!(
            "{BLOCK} bore(\"b\", #{{ into: a.top, at: [[-6, 0], [6, 0]], dia: 10, through: true }});"
        ),
    );
    // A boss of 24 round a bore of 16, off by 1: 12 - 8 - 1.
    thinnest(
        3.0,
        4.0,
        "let a = slab(\"a\", #{ outline: rect(60, 60), height: 10 });
         let b = boss(\"b\", #{ on: a.top, dia: 24, height: 20 });
         bore(\"c\", #{ into: b.top, at: [1, 0], dia: 16, through: true });",
    );
}

#[test]
fn tunnels_pockets_and_cavities() {
    // 40 - 30 - 7.
    thinnest(3.0, 5.0, &tunnelled(30.0, 14.0));
    // Two ways over each other: 14 apart, 7 and 5 in radius.
    let over = "tunnel(\"u\", #{ from: [0, -30, 29], to: [0, 30, 29], inside: 10, wall: 0 });";
    thinnest(2.0, 5.0, &format!("{}{over}", tunnelled(15.0, 14.0)));
    // A pocket milled down towards a tunnel whose top is at 22: its floor at 22 + wall.
    let pocket = |wall: f64| {
        let depth = 18.0 - wall;
        format!(
            "{}pocket(\"p\", #{{ into: a.top, outline: rect(20, 20), depth: {depth}, meets: \"t\" }});",
            tunnelled(15.0, 14.0)
        )
    };
    for wall in [5.0, 2.0, 0.3] {
        thinnest(wall, 6.0, &pocket(wall));
    }
    // Broken through by 1 mm: what is left runs out to an edge where floor and tunnel cross, at the angle of the
    // circle there: acos(6/7).
    let found = places(&mesh(&pocket(-1.0), 0.01), 6.0);
    let edge = found.iter().find(|p| p.class == Class::Feather);
    let angle = edge.expect("a knife edge").angle_deg;
    assert!(
        (angle - (6.0_f64 / 7.0).acos().to_degrees()).abs() < 3.0,
        "{angle}"
    );
    // A ball of 16 in a cube of 24: 12 - 8.
    thinnest(
        4.0,
        5.0,
        "let a = slab(\"a\", #{ outline: rect(24, 24), height: 24 });
         turned(\"b\", #{ into: level(20), profile: [[0, 0], #{ to: [8, -8], radius: -8 }, #{ to: [0, -16], radius: -8 }] });",
    );
    // A cone in a cone, 3.1 apart level, whose sides lean 8 in 30: 3.1 cos(atan(8/30)).
    thinnest(
        3.1 * (8.0_f64 / 30.0).atan().cos(),
        4.0,
        "let a = turned(\"a\", #{ profile: [[0, 0], [20, 0], [12, 30], [0, 30]] });
         turned(\"b\", #{ into: level(30), profile: [[0, 0], [8.9, 0], [15.3, -24], [0, -24]] });",
    );
}

#[test]
fn pegs_bars_and_ribs() {
    let on = |what: &str| {
        format!("let a = slab(\"a\", #{{ outline: rect(80, 60), height: 10 }}); {what}")
    };
    let peg = on("boss(\"b\", #{ on: a.top, dia: 4, height: 20 });");
    thinnest(4.0, 5.0, &peg);
    silent(4.0 - SLACK_MM, &peg);
    let rib = on("rib(\"r\", #{ on: a.top, from: [-30, 0], to: [30, 0], thick: 3, height: 20 });");
    thinnest(3.0, 5.0, &rib);
    silent(2.99, &rib);
    // Drafted: 3 holds at the free end, and there it is thinnest.
    let drafted = on(
        "rib(\"r\", #{ on: a.top, from: [-30, 0], to: [30, 0], thick: 3, height: 20, draft: 2 });",
    );
    thinnest(3.0, 5.0, &drafted);
    silent(2.98, &drafted);
    // Across the flats: 2 · 2.3094 cos 30°.
    let hexagon = "slab(\"h\", #{ outline: polygon([[2.3094, 0], [1.1547, 2], [-1.1547, 2], [-2.3094, 0], [-1.1547, -2], [1.1547, -2]]), height: 30 });";
    thinnest(4.0, 5.0, hexagon);
    silent(3.99, hexagon);
    // A ball of 5 is thinnest across itself.
    thinnest(
        5.0,
        5.5,
        "turned(\"b\", #{ on: level(0), profile: [[0, 0], #{ to: [2.5, 2.5], radius: 2.5 }, #{ to: [0, 5], radius: 2.5 }] });",
    );
}

/// A rib like a V, its sides leaning 9° each way, 2 wide where it stands. The ball that touches both sides, one of them
/// where the rib is w wide, has its centre in the middle plane, at the end of the side's normal: its diameter is
/// w / cos 9°, least at the foot.
#[test]
fn a_v_rib_is_thinnest_at_its_narrow_end() {
    let script = "slab(\"v\", #{ outline: polygon([[-1, 0], [1, 0], [1 + 20 * tan(9), 20], [-1 - 20 * tan(9), 20]]), height: 30 });";
    let (sine, cosine) = 9.0_f64.to_radians().sin_cos();
    let wall = |width: f64| width / cosine;
    assert_eq!(thinnest(wall(2.0), 4.0, script).class, Class::Slanting);
    silent(wall(2.0) - SLACK_MM, script);
    // Higher up it is as thick as it gets there.
    let solid = mesh(script, 0.01);
    let surface = Surface::new(&solid.points, &solid.triangles, &solid.features);
    for y in [6.0, 10.0, 14.0] {
        let half = 1.0 + y * sine / cosine;
        let found = thickness_at(&surface, Vec3::new(half, y, 15.0)).expect("a wall");
        assert!(
            (found.thickness_mm - wall(2.0 * half)).abs() <= SLACK_MM,
            "{found:?}"
        );
    }
}

/// A lens of two equal caps of radius R, 2 h thick at its middle: there is no wall thinner, and its rim is a knife edge
/// of the angle 2 acos((R - h) / R).
#[test]
fn a_lens_runs_out_to_a_knife_edge() {
    let (r, h) = (40.0_f64, 2.0_f64);
    let rim = (r * r - (r - h) * (r - h)).sqrt();
    let script = format!(
        "turned(\"l\", #{{ on: level(0), profile: [[0, 0], #{{ to: [{rim}, {h}], radius: {r} }}, #{{ to: [0, {}], radius: {r} }}] }});",
        2.0 * h
    );
    let found = places(&mesh(&script, 0.0025), 3.9);
    let edge = found.iter().find(|p| p.class == Class::Feather);
    let angle = edge.expect("a knife edge").angle_deg;
    let want = 2.0 * ((r - h) / r).acos().to_degrees();
    // The rim's last facets are chords of the caps: they lean less than the caps by half of what each spans.
    let chord = 2.0 * (0.0025_f64 * 2.0 / r).sqrt().to_degrees();
    assert!((angle - want).abs() <= 2.0 * chord, "{angle}, {want}");
    // In its middle it is 2 h thick.
    let solid = mesh(&script, 0.0025);
    let surface = Surface::new(&solid.points, &solid.triangles, &solid.features);
    let wall = thickness_at(&surface, Vec3::new(0.0, 0.0, h)).expect("a wall");
    assert!((wall.thickness_mm - 2.0 * h).abs() <= SLACK_MM, "{wall:?}");
}

/// A pocket whose floor just touches the tunnel beneath it: no wall is left along a line.
#[test]
fn a_pocket_that_just_touches_a_tunnel_leaves_nothing() {
    let script = format!(
        "{}pocket(\"p\", #{{ into: a.top, outline: rect(20, 20), depth: 18, meets: \"t\" }});",
        tunnelled(15.0, 14.0)
    );
    for facet in [0.01, 0.005, 0.0025] {
        let solid = mesh(&script, facet);
        for solid in [placed(&solid, &odd()), solid] {
            let found = places(&solid, 5.0);
            let least = found
                .iter()
                .map(|p| p.thickness_mm)
                .fold(f64::INFINITY, f64::min);
            assert!(least <= SLACK_MM, "{least} at facet {facet}: {found:#?}");
        }
    }
}

/// An ellipse bar is thinnest across its short axis (its vertices lie on the true ellipse).
#[test]
fn an_ellipse_bar_is_as_thick_as_its_short_axis() {
    let points: Vec<String> = (0..240)
        .map(|i| {
            let (s, c) = (f64::from(i) * std::f64::consts::TAU / 240.0).sin_cos();
            format!("[{}, {}]", 12.0 * c, 2.0 * s)
        })
        .collect();
    let bar = format!(
        "slab(\"e\", #{{ outline: polygon([{}]), height: 30 }});",
        points.join(", ")
    );
    thinnest(4.0, 5.0, &bar);
}

#[test]
fn junctions_are_as_thick_as_their_walls() {
    // The ball between two faces of a wall is the wall's own; at the junction it grows (facts §4), so that the walls
    // stay the thinnest.
    let ell = "slab(\"a\", #{ outline: polygon([[0, 0], [40, 0], [40, 6], [6, 6], [6, 40], [0, 40]]), height: 20 });";
    let tee = |fillet: f64| {
        format!(
            "let a = slab(\"a\", #{{ outline: rect(80, 60), height: 6 }});
             rib(\"r\", #{{ on: a.top, from: [-40, 0], to: [40, 0], thick: 6, height: 20, fillet: {fillet} }});"
        )
    };
    let cross = "let x = rect(60, 6).plus(rect(6, 60)); slab(\"a\", #{ outline: x, height: 20 });";
    for script in [ell.to_string(), tee(0.0), tee(3.0), cross.to_string()] {
        thinnest(6.0, 7.0, &script);
        silent(5.98, &script);
    }
}

#[test]
fn no_false_alarm() {
    for shape in ["", ", chamfer: 2", ", round: 3"] {
        silent(
            9.9,
            &format!("slab(\"a\", #{{ outline: rect(40, 30), height: 10{shape} }});"),
        );
    }
    silent(
        9.9,
        "let a = slab(\"a\", #{ outline: rect(40, 30), height: 10 });
         slab(\"b\", #{ on: a.top, outline: rect(20, 30), height: 10 });",
    );
    silent(
        9.9,
        "let a = slab(\"a\", #{ outline: rect(60, 60), height: 10 });
         boss(\"b\", #{ on: a.top, dia: 24, height: 20, fillet: 4 });",
    );
    silent(
        6.0,
        "let a = slab(\"a\", #{ outline: rect(60, 60), height: 20 });
         bore(\"b\", #{ into: a.top, dia: 8, through: true, countersink: #{ dia: 16, angle: 90 } });",
    );
    // Sides that lean 20° leave corners of 70°: neither wall nor knife.
    silent(
        9.9,
        "slab(\"a\", #{ outline: polygon([[0, 0], [60, 0], [60 - 20 * tan(20), 20], [20 * tan(20), 20]]), height: 12 });",
    );
    // A ring of round section 10.
    silent(
        9.98,
        "turned(\"a\", #{ on: level(0), profile: [[20, 0], #{ to: [20, 10], radius: 5 }, #{ to: [20, 0], radius: 5 }] });",
    );
}

#[test]
fn wedges_are_knives_and_no_walls() {
    for angle in [30.0_f64, 45.0, 60.0] {
        let script = format!(
            "slab(\"a\", #{{ outline: polygon([[0, 0], [40, 0], [40, 40 * tan({angle})]]), height: 12 }});"
        );
        let found = places(&mesh(&script, 0.01), 9.0);
        assert!(
            found.iter().all(|p| p.class == Class::Feather),
            "{found:#?}"
        );
        assert!(
            (found[0].angle_deg - angle.min(90.0 - angle)).abs() < 1e-4,
            "{found:#?}"
        );
    }
}

#[test]
fn raised_bars_by_their_height() {
    let bar = |height: f64| {
        format!(
            "let a = slab(\"a\", #{{ outline: rect(60, 60), height: 10 }});
             slab(\"b\", #{{ on: a.top, outline: rect(30, 2), height: {height} }});"
        )
    };
    assert_eq!(thinnest(2.0, 4.0, &bar(1.0)).class, Class::Raised);
    assert_eq!(thinnest(2.0, 4.0, &bar(6.0)).class, Class::Wall);
}

#[test]
fn the_thickness_at_a_place() {
    let solid = mesh(&tunnelled(30.0, 14.0), 0.01);
    let surface = Surface::new(&solid.points, &solid.triangles, &solid.features);
    // On the roof, over it, and inside the wall: the same wall of 40 - 30 - 7.
    for z in [40.0, 41.0, 39.0, 37.2] {
        let wall = thickness_at(&surface, Vec3::new(3.0, 0.0, z)).expect("a wall");
        assert!((wall.thickness_mm - 3.0).abs() <= SLACK_MM, "{wall:?}");
        let mut features = wall.features;
        features.sort_unstable();
        assert_eq!(features, [0, 1]);
    }
}

#[test]
fn the_map_tells_thin_triangles_from_thick_ones() {
    let solid = mesh(&tunnelled(30.0, 14.0), 0.01);
    let surface = Surface::new(&solid.points, &solid.triangles, &solid.features);
    let map = Walls::under(&surface, 5.0, &|| true).map();
    assert_eq!(map.len(), solid.triangles.len());
    let least = map.iter().copied().fold(f32::INFINITY, f32::min);
    assert!((f64::from(least) - 3.0).abs() <= SLACK_MM, "{least}");
    for (t, mm) in solid.triangles.iter().zip(&map) {
        let corners = t.map(|i| solid.points[i as usize]);
        // Nothing below the tunnel's middle is near anything.
        if corners.iter().all(|p| p.z < 29.0) {
            assert!(mm.is_infinite(), "{mm} at {corners:?}");
        }
    }
}

#[test]
fn the_same_on_every_run() {
    let solid = mesh(&tunnelled(30.0, 14.0), 0.005);
    let first = places(&solid, 6.0);
    for _ in 0..4 {
        assert!(places(&solid, 6.0) == first);
    }
}
