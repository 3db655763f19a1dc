//! A wall of a known thickness between two random features, in a random frame, is told if and only if it is under the
//! limit, with its thickness.

use foamwright::inspect::walls::Class;
use foamwright::measure::{Frame, Vec3};

use super::seeded::Seeded;
use super::walls::{SLACK_MM, mesh, placed, places};

/// A block 80 × 60 × 50 with two features that leave a wall of `t` mm and nothing else under 8 mm; which features.
fn pair(kind: usize, t: f64, more: f64) -> (String, [usize; 2]) {
    let block = "let a = slab(\"a\", #{ outline: rect(80, 60), height: 50 });";
    let tunnel = |z: f64| {
        format!("tunnel(\"t\", #{{ from: [-40, 0, {z}], to: [40, 0, {z}], inside: 14, wall: 0 }});")
    };
    let dia = 10.0 + more;
    match kind {
        // A rib's own two sides.
        0 => (
            format!(
                "{block} rib(\"r\", #{{ on: a.top, from: [-30, 0], to: [30, 0], thick: {t}, height: {} }});",
                12.0 + more
            ),
            [1, 1],
        ),
        // A bore beside the block's side: 30 less its radius, less t.
        1 => (
            format!(
                "{block} bore(\"b\", #{{ into: a.top, at: [0, {}], dia: {dia}, through: true }});",
                30.0 - dia / 2.0 - t
            ),
            [0, 1],
        ),
        // A blind floor.
        2 => (
            format!(
                "{block} bore(\"b\", #{{ into: a.top, dia: {dia}, depth: {} }});",
                50.0 - t
            ),
            [0, 1],
        ),
        // Two bores side by side.
        3 => (
            format!(
                "{block} bore(\"b\", #{{ into: a.top, at: [-10, 0], dia: {dia}, through: true }});
                 bore(\"c\", #{{ into: a.bottom, at: [{}, 0], dia: 12, through: true }});",
                -10.0 + dia / 2.0 + t + 6.0
            ),
            [1, 2],
        ),
        // A tunnel under the top.
        4 => (format!("{block}{}", tunnel(43.0 - t)), [0, 1]),
        // A pocket over a tunnel.
        5 => (
            format!(
                "{block}{} pocket(\"p\", #{{ into: a.top, outline: rect({}, 18), depth: {} }});",
                tunnel(20.0),
                14.0 + more,
                50.0 - 27.0 - t
            ),
            [1, 2],
        ),
        // A boss round its bore.
        _ => (
            format!(
                "{block} let b = boss(\"b\", #{{ on: a.top, dia: {}, height: 20 }});
                 bore(\"c\", #{{ into: b.top, dia: {dia}, depth: 30 }});",
                dia + 2.0 * t
            ),
            [1, 2],
        ),
    }
}

#[test]
fn a_wall_is_told_if_and_only_if_it_is_under_the_limit() {
    let mut seeded = Seeded(0x5eed);
    for round in 0..35 {
        let t = seeded.between(0.8, 6.0);
        let (script, wanted) = pair(round % 7, t, seeded.between(0.0, 6.0));
        let facing = Vec3::new(
            seeded.between(-1.0, 1.0),
            seeded.between(-1.0, 1.0),
            seeded.between(-1.0, 1.0),
        );
        let origin = Vec3::new(
            seeded.between(-50.0, 50.0),
            7.0,
            seeded.between(-50.0, 50.0),
        );
        let frame = Frame::facing(origin, facing, None).turned(seeded.between(0.0, 360.0));
        let solid = placed(&mesh(&script, 0.01), &frame);
        let over = t + seeded.between(2.0 * SLACK_MM, 1.2);
        let found = places(&solid, over);
        let wall = found
            .first()
            .unwrap_or_else(|| panic!("{t} is not told under {over}: {script}"));
        assert!(
            (wall.thickness_mm - t).abs() <= SLACK_MM && wall.class == Class::Wall,
            "{t}: {found:#?} {script}"
        );
        let mut features = wall.features;
        features.sort_unstable();
        assert_eq!(features, wanted, "{script}");
        let under = t - SLACK_MM;
        let found = places(&solid, under);
        assert!(found.is_empty(), "{t} under {under}: {found:#?} {script}");
    }
}
