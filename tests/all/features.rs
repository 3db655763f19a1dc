//! Each feature word as a script says it: volume, surface and genus by closed formulas. What stands on round ground
//! or is carried along a way is in `features_carried`.

use std::f64::consts::PI;

use super::built::{built, figures, finished, near};
use super::formulas::{drafted, fillet_ring, round};
use foamwright::shop::Stage;
use foamwright::solid::Figures;

/// A plate 60 × 40 × 12 on the ground.
const PLATE: &str = "let plate = slab(\"plate\", #{ outline: rect(60, 40), height: 12 });\n";

/// Its volume (mm³).
const OF_PLATE: f64 = 60.0 * 40.0 * 12.0;

fn of(source: &str) -> Figures {
    figures(&built(source), Stage::Finished)
}

#[test]
fn a_slab_is_a_block() {
    let block = of(PLATE);
    near(block.volume_mm3, OF_PLATE, 1e-6);
    near(block.area_mm2, 2.0 * (2400.0 + 480.0 + 720.0), 1e-6);
    assert_eq!((block.bodies, block.handles), (1, 0));
    let size = block.high_mm - block.low_mm;
    near(size.x, 60.0, 1e-6);
    near(size.y, 40.0, 1e-6);
    near(size.z, 12.0, 1e-6);
}

#[test]
fn draft_adds_metal_towards_the_foot() {
    let script = "slab(\"s\", #{ outline: rect(60, 40), height: 25, draft: 4 });";
    let t = 4f64.to_radians().tan();
    // Corner rounds reach t · 25 = 1.7 at the foot.
    let want = drafted(60.0, 40.0, t, -25.0, 0.0);
    near(finished(script), want, round(3.5, 25.0));
    near(of(script).high_mm.x, 30.0 + 25.0 * t, 1e-5);
    // A drafted round boss is a frustum of a cone.
    let boss = "boss(\"b\", #{ dia: 30, height: 25, draft: 4 });";
    let foot = 15.0 + 25.0 * t;
    let cone = PI * 25.0 / 3.0 * (225.0 + 15.0 * foot + foot * foot);
    near(finished(boss), cone, round(34.0, 25.0));
}

#[test]
fn edges_are_taken_off_the_free_end() {
    // A chamfer c all round a rectangle: the section shrinks by d from 0 to c: Σ 2 (l + w) d - 4 d².
    let script = "slab(\"s\", #{ outline: rect(60, 40), height: 12, chamfer: 2 });";
    let off = 200.0 * 2.0 - 4.0 * 8.0 / 3.0;
    near(finished(script), OF_PLATE - off, 1e-3);
    // A round q: ∫ d = (1 - π/4) q², ∫ d² = (5/3 - π/2) q³.
    let script = "slab(\"s\", #{ outline: rect(60, 40), height: 12, round: 3 });";
    let off = 200.0 * (1.0 - PI / 4.0) * 9.0 - 4.0 * (5.0 / 3.0 - PI / 2.0) * 27.0;
    // Facets lie inside a quarter round of 200 mm.
    near(finished(script), OF_PLATE - off, 200.0 * PI * 1.5 * 0.02);
    // A boss whose round is its radius ends in a half ball.
    let script = "boss(\"b\", #{ dia: 30, height: 40, round: 15 });";
    let want = PI * 225.0 * 25.0 + 2.0 / 3.0 * PI * 15f64.powi(3);
    near(finished(script), want, round(30.0, 40.0));
}

#[test]
fn fillets_add_what_the_closed_values_say() {
    // Radius of the boss, of the fillet, volume outside and inside: facts, fillet volumes.
    let table = [
        (10.0, 3.0, 129.48649, 113.22246),
        (12.5, 5.0, 459.01792, 383.72152),
        (25.0, 6.0, 1278.60088, 1148.48872),
    ];
    for (radius, r, outside, inside) in table {
        near(fillet_ring(r, radius, false), outside, 1e-5);
        near(fillet_ring(r, radius, true), inside, 1e-5);
        let dia = 2.0 * radius;
        let plate =
            "facet(0.005); let plate = slab(\"plate\", #{ outline: rect(90, 90), height: 20 });";
        let boss = |fillet: f64| {
            finished(&format!(
                "{plate} boss(\"b\", #{{ on: plate.top, dia: {dia}, height: 15, fillet: {fillet} }});"
            ))
        };
        // Facets of 0.005 hide at most that over the fillet's own surface, and what they hide of the wall it covers.
        let slack = 0.005 * 2.0 * PI * (radius + r) * r * (PI / 2.0 + 1.0);
        near(boss(r) - boss(0.0), outside, slack);
        let bore = |fillet: f64| {
            finished(&format!(
                "{plate} bore(\"h\", #{{ into: plate.top, dia: {dia}, depth: 15, fillet: {fillet} }});"
            ))
        };
        near(bore(r) - bore(0.0), inside, slack);
    }
    // Straight: 536.50459 for r 5 over 100 mm (facts); the corners are quarters of a ring of radius 0.
    let block = |fillet: f64| {
        finished(&format!(
            "facet(0.005); let plate = slab(\"plate\", #{{ outline: rect(160, 120), height: 20 }});
             slab(\"b\", #{{ on: plate.top, outline: rect(100, 50), height: 15, fillet: {fillet} }});"
        ))
    };
    let want = 3.0 * 536.50459 + fillet_ring(5.0, 0.0, false);
    near(
        block(5.0) - block(0.0),
        want,
        0.005 * (300.0 + 10.0 * PI) * 5.0 * PI / 2.0,
    );
}

#[test]
fn bores_with_steps() {
    let bored = |keys: &str| {
        finished(&format!(
            "{PLATE}bore(\"h\", #{{ into: plate.top, {keys} }});"
        ))
    };
    let through = PI * 9.0 * 12.0;
    near(
        bored("dia: 6, through: true"),
        OF_PLATE - through,
        round(6.0, 12.0),
    );
    let want = through + PI * (49.0 - 9.0) * 5.0;
    near(
        bored("dia: 6, through: true, counterbore: #{ dia: 14, depth: 5 }"),
        OF_PLATE - want,
        round(6.0, 7.0) + round(14.0, 5.0),
    );
    // A countersink of 90° from 6 to 12 is a frustum 3 deep.
    let want = through + PI * 3.0 / 3.0 * (36.0 + 18.0 + 9.0) - PI * 9.0 * 3.0;
    near(
        bored("dia: 6, through: true, countersink: #{ dia: 12, angle: 90 }"),
        OF_PLATE - want,
        round(6.0, 9.0) + round(12.0, 3.0),
    );
    near(
        bored("dia: 10, depth: 7"),
        OF_PLATE - PI * 25.0 * 7.0,
        round(10.0, 7.0),
    );
    // A drafted bore narrows to its floor: a frustum.
    let foot = 5.0 - 7.0 * 3f64.to_radians().tan();
    let want = PI * 7.0 / 3.0 * (25.0 + 5.0 * foot + foot * foot);
    near(
        bored("dia: 10, depth: 7, draft: 3"),
        OF_PLATE - want,
        round(10.0, 7.0),
    );
    assert_eq!(
        of(&format!("{PLATE}bore(\"h\", #{{ into: plate.top, at: rect_corners(40, 20), dia: 6, through: true }});")).handles,
        4
    );
}

#[test]
fn a_bore_to_a_drafted_side_comes_out_of_it() {
    // At the foot the side stands 30 tan 4° = 2.1 out of its plane.
    let bored = of(
        "let block = slab(\"block\", #{ outline: rect(40, 40), height: 30, draft: 4 });
         bore(\"pin\", #{ into: block.side(\"right\"), at: [0, -9], dia: 8, to: block.side(\"left\") });",
    );
    assert_eq!(bored.handles, 1);
}

#[test]
fn a_bosss_bore_ends_at_its_foot() {
    let script = |keys: &str| {
        format!("{PLATE}boss(\"b\", #{{ on: plate.top, dia: 30, height: 20, bore: 16{keys} }});")
    };
    let slack = round(30.0, 20.0) + round(16.0, 20.0);
    let whole = OF_PLATE + PI * 225.0 * 20.0;
    near(finished(&script("")), whole - PI * 64.0 * 20.0, slack);
    assert_eq!(of(&script("")).handles, 0, "the plate closes it");
    near(
        finished(&script(", bore_depth: 12")),
        whole - PI * 64.0 * 12.0,
        slack,
    );
    assert_eq!(
        of("boss(\"b\", #{ dia: 30, height: 20, bore: 16 });").handles,
        1
    );
}

#[test]
fn hollows_leave_wall_and_floor() {
    let script = |keys: &str, open: &str| {
        format!(
            "let box = slab(\"box\", #{{ outline: rect(90, 60), height: 40{keys} }});
             hollow(\"in\", #{{ of: box, open: box.{open}, wall: 6, floor: 8 }});"
        )
    };
    let want = 90.0 * 60.0 * 40.0 - 78.0 * 48.0 * 32.0;
    near(finished(&script("", "top")), want, 1e-3);
    near(finished(&script("", "bottom")), want, 1e-3);
    // Drafted: the inside follows, its wall measured square to the side, its corners rounding as the outside's do.
    let a = 3f64.to_radians();
    let (t, wall) = (a.tan(), 6.0 / a.cos());
    let outside = drafted(90.0, 60.0, t, -40.0, 0.0);
    let inside = drafted(90.0 - 2.0 * wall, 60.0 - 2.0 * wall, t, -32.0, 0.0);
    near(
        finished(&script(", draft: 3", "top")),
        outside - inside,
        round(4.2, 40.0),
    );
    let round_box = "let b = boss(\"b\", #{ dia: 60, height: 40 });
        hollow(\"in\", #{ of: b, open: b.top, wall: 5, floor: 6 });";
    near(
        finished(round_box),
        PI * (900.0 * 40.0 - 625.0 * 34.0),
        round(60.0, 74.0),
    );
    let turned = "let c = turned(\"c\", #{ profile: [[0, 0], [40, 0], [40, 30], [0, 30]] });
        hollow(\"in\", #{ of: c, open: c.top, wall: 5, floor: 6 });";
    near(
        finished(turned),
        PI * (1600.0 * 30.0 - 1225.0 * 24.0),
        round(80.0, 54.0),
    );
}

#[test]
fn a_belts_area() {
    // Two circles: the big arc, the small arc, two trapezoids between radii and tangents.
    let (r1, r2, d) = (25.0f64, 15.0f64, 100.0f64);
    let a = ((r1 - r2) / d).acos();
    let area = r1 * r1 * (PI - a) + r2 * r2 * a + (r1 + r2) * d * a.sin();
    let script = "slab(\"link\", #{ outline: belt([[0, 0, 50], [100, 0, 30]]), height: 12 });";
    near(finished(script), area * 12.0, round(80.0, 12.0));
    // Three equal ones: triangle + perimeter × r + π r².
    let script =
        "slab(\"link\", #{ outline: belt([[0, 0, 20], [80, 0, 20], [0, 60, 20]]), height: 10 });";
    let area = 2400.0 + 240.0 * 10.0 + PI * 100.0;
    near(finished(script), area * 10.0, round(20.0, 10.0));
}

#[test]
fn turned_bodies_follow_pappus() {
    let ball = of("turned(\"ball\", #{ profile: [[0, -20], #{ to: [0, 20], radius: 20 }] });");
    near(
        ball.volume_mm3,
        4.0 / 3.0 * PI * 8000.0,
        4.0 * PI * 400.0 * 0.02,
    );
    near(
        ball.area_mm2,
        4.0 * PI * 400.0,
        4.0 * PI * 20.0 * 0.02 * 4.0,
    );
    assert_eq!(ball.handles, 0);
    let ring = of(
        "turned(\"ring\", #{ profile: [[30, 0], #{ to: [50, 0], radius: 10 }, #{ to: [30, 0], radius: 10 }] });",
    );
    near(
        ring.volume_mm3,
        2.0 * PI * PI * 40.0 * 100.0,
        4.0 * PI * PI * 400.0 * 0.02 * 1.5,
    );
    assert_eq!(ring.handles, 1);
    // Into the plate: a cone 8 deep.
    let cone = format!(
        "{PLATE}turned(\"cone\", #{{ into: plate.top, profile: [[0, 0], [12, 0], [0, -8]] }});"
    );
    near(
        finished(&cone),
        OF_PLATE - PI * 144.0 * 8.0 / 3.0,
        round(24.0, 8.0),
    );
    // On the plate: a washer stands on it.
    let washer = format!(
        "{PLATE}turned(\"washer\", #{{ on: plate.top, profile: [[8, 0], [16, 0], [16, 9], [8, 9]] }});"
    );
    near(
        finished(&washer),
        OF_PLATE + PI * (256.0 - 64.0) * 9.0,
        round(48.0, 9.0),
    );
}

#[test]
fn grooves_on_flat_faces() {
    let grooved = |keys: &str| {
        let block = "let block = slab(\"block\", #{ outline: rect(80, 80), height: 20 });";
        128_000.0
            - finished(&format!(
                "{block} groove(\"g\", #{{ into: block.top, {keys} }});"
            ))
    };
    let ring = PI * (32f64.powi(2) - 28f64.powi(2)) * 3.0;
    near(
        grooved("along: disc(60), width: 4, depth: 3"),
        ring,
        round(120.0, 3.0),
    );
    let straight = (50.0 * 6.0 + PI * 9.0) * 4.0;
    near(
        grooved("along: [[-25, 0], [25, 0]], width: 6, depth: 4"),
        straight,
        round(6.0, 4.0),
    );
    // A dovetail right through the block: 6 at the mouth, 10 at its floor, 4 deep.
    near(
        grooved("along: [[-60, 0], [60, 0]], section: [[-3, 0], [-5, 4], [5, 4], [3, 0]]"),
        8.0 * 4.0 * 80.0,
        0.05,
    );
}

#[test]
fn grooves_in_round_walls() {
    let hub = "let hub = slab(\"hub\", #{ outline: disc(90), height: 30 });
        let eye = bore(\"eye\", #{ into: hub.top, dia: 30, through: true });";
    let plain = finished(hub);
    let taken = |groove: &str| plain - finished(&format!("{hub} groove(\"g\", #{{ {groove} }});"));
    let ring = PI * (17f64.powi(2) - 225.0) * 4.0;
    near(
        taken("into: eye.wall, ring: 10, width: 4, depth: 2"),
        ring,
        round(64.0, 4.0),
    );
    let outer = PI * (45f64.powi(2) - 43f64.powi(2)) * 4.0;
    near(
        taken("into: hub.outside, ring: 10, width: 4, depth: 2"),
        outer,
        round(176.0, 4.0),
    );
    // A keyway 8 wide, 3.3 deep from the wall, all along: a strip less what the bore holds of it.
    let held = 4.0 * (225f64 - 16.0).sqrt() + 225.0 * (4f64 / 15.0).asin();
    let key = (8.0 * 18.3 - held) * 30.0;
    near(
        taken("into: eye.wall, lengthwise: 90, length: 30, width: 8, depth: 3.3, meets: eye"),
        key,
        8.0 * 0.02 * 30.0,
    );
}

#[test]
fn ribs_and_gussets() {
    let plate = "let plate = slab(\"plate\", #{ outline: rect(100, 60), height: 10 });";
    let rib = |keys: &str| {
        finished(&format!(
            "{plate} rib(\"r\", #{{ on: plate.top, from: [-20, 0], to: [20, 0], thick: 6, {keys} }});"
        )) - 60_000.0
    };
    near(
        rib("height: 12"),
        (40.0 * 6.0 + PI * 9.0) * 12.0,
        round(6.0, 12.0),
    );
    // Falling evenly: its mean height over the way, its round ends each at their own.
    near(
        rib("height: [20, 6]"),
        240.0 * 13.0 + PI * 4.5 * 26.0,
        round(6.0, 20.0),
    );
}

#[test]
fn a_mirrored_group_has_twice_the_volume() {
    let ear = "let ear = slab(\"ear\", #{ outline: rect(30, 20).at(40, 0), height: 12 });
        let post = boss(\"post\", #{ on: ear.top, at: [40, 0], dia: 16, height: 20, draft: 2, fillet: 1.5 });
        let hole = bore(\"hole\", #{ into: post.top, dia: 6, through: true });";
    let one = of(ear);
    let two = of(&format!(
        "{ear} mirrored(\"left\", [ear, post, hole], \"x\");"
    ));
    near(two.volume_mm3, 2.0 * one.volume_mm3, 1e-6 * one.volume_mm3);
    near(two.area_mm2, 2.0 * one.area_mm2, 1e-6 * one.area_mm2);
    assert_eq!((two.bodies, two.handles), (2 * one.bodies, 2 * one.handles));
    near(two.low_mm.x, -one.high_mm.x, 1e-6);
}
