//! What a cutter sees from above and below: parts whose hidden areas are closed formulas, and random parts against
//! vertical rays.

use std::f64::consts::PI;

use foamwright::measure::{LIP_MM, Vec2, Vec3};
use foamwright::shop::{Build, Stage};
use foamwright::solid::Solid;
use foamwright::solid::reach::{Gaps, Hidden};

use super::built::{built, near};
use super::random_part::RandomPart;
use super::seeded::Seeded;

/// How far a facet may stand off (mm): areas of round walls are then short by a share of about facet / radius.
const FACET: f64 = 0.02;

/// A block 100 × 80 × 40 on the ground that doesn't shrink.
const BLOCK: &str =
    "shrink(0); let b = slab(\"b\", #{ outline: rect(100, 80), height: 40, fillet: 0 });\n";

fn pattern(build: &Build) -> &Solid {
    &build
        .stage(Stage::Pattern)
        .expect("every stage is built")
        .solid
}

/// The pattern of a script, its gaps and all that is hidden.
fn seen(source: &str) -> (Solid, Gaps, Hidden) {
    let solid = pattern(&built(source)).clone();
    let gaps = Gaps::of(&solid);
    let hidden = gaps.all_hidden(LIP_MM);
    (solid, gaps, hidden)
}

/// Checks the hidden area of floors and roofs (mm²) against a formula for round walls of a least radius (mm), and
/// gives what is hidden.
#[track_caller]
fn hides(source: &str, want_mm2: f64, radius: f64) -> (Gaps, Hidden) {
    let (solid, gaps, hidden) = seen(source);
    let got: f64 = hidden.by_feature(&solid, &gaps).values().sum();
    near(got, want_mm2, want_mm2 * FACET / radius + 1e-3);
    (gaps, hidden)
}

#[test]
fn a_part_without_undercuts_leaves_no_gap() {
    for source in [
        "slab(\"b\", #{ outline: rect(100, 80), height: 40 });".to_string(),
        // Drafts, fillets, rounds, a hollow from below, a drafted pocket and an upright bore.
        "let b = slab(\"b\", #{ outline: rect(100, 80).corners(10), height: 40, draft: 2, round: 4 });
         hollow(\"h\", #{ of: b, open: b.bottom, wall: 6, floor: 8, fillet: 3 });
         boss(\"k\", #{ on: b.top, dia: 30, height: 20, fillet: 4, chamfer: 1 });
         bore(\"u\", #{ into: b.top, at: [30, 20], dia: 12, through: true });
         rib(\"r\", #{ on: b.top, from: [-40, -30], to: [40, -30], thick: 5, height: 8, fillet: 2 });"
            .to_string(),
        // Turned by an odd angle, so that no wall is parallel to an axis.
        "let b = slab(\"b\", #{ outline: belt([[0, 0, 60], [90, 17, 30]]).turn(13.7), height: 30 });
         pocket(\"p\", #{ into: b.top, outline: rect(31, 17).corners(3).turn(29), depth: 17, draft: 1 });"
            .to_string(),
    ] {
        let (_, gaps, _) = seen(&source);
        assert!(gaps.none(), "{source}: {} gaps", gaps.list.len());
    }
}

#[test]
fn a_side_bore_is_hidden_all_round() {
    let source =
        format!("{BLOCK}bore(\"s\", #{{ into: b.side(\"left\"), dia: 20, through: true }});");
    let (gaps, hidden) = hides(&source, PI * 20.0 * 100.0, 10.0);
    near(hidden.plan_mm2(), 20.0 * 100.0, 2.0);
    // A split at its axis opens it, within the lip; sqrt(2 r lip) = 1 mm off it does too, 2 mm don't.
    let left = |z: f64| {
        let below = gaps.hidden(f64::NEG_INFINITY, z, LIP_MM, &|_| true);
        let above = gaps.hidden(z, f64::INFINITY, LIP_MM, &|_| true);
        below.is_empty() && above.is_empty()
    };
    let (floor, roof) = hidden.window();
    near((floor + roof) / 2.0, 20.0, FACET);
    assert!(left(20.0) && left(20.6) && left(19.4));
    // On each side of 22 a strip of 10 - sqrt(100 - 4) = 0.2 mm is hidden.
    assert!(!left(22.0) && !left(18.0));
}

#[test]
fn an_undercut_groove_hides_its_flats() {
    let source = format!(
        "{BLOCK}let u = bore(\"u\", #{{ into: b.top, dia: 40, through: true }});
         groove(\"g\", #{{ into: u.wall, ring: 20, width: 6, depth: 10 }});"
    );
    let (_, hidden) = hides(&source, 2.0 * PI / 4.0 * (3600.0 - 1600.0), 20.0);
    near(hidden.window().0, 17.0, 1e-5);
    near(hidden.window().1, 23.0, 1e-5);
}

#[test]
fn a_tee_slot_hides_what_lies_under_its_lips() {
    let source = format!(
        "{BLOCK}groove(\"t\", #{{ into: b.top, along: [[-60, 0], [60, 0]],
           section: [[-5, 0], [-5, 8], [-11, 8], [-11, 15], [11, 15], [11, 8], [5, 8], [5, 0]] }});"
    );
    // Floor and roof under two lips of 6 mm; the slot runs out at both ends.
    hides(&source, 2.0 * 2.0 * 6.0 * 100.0, f64::INFINITY);
}

#[test]
fn a_tilted_tunnel_is_hidden_between_its_mouths() {
    let source = format!(
        "{BLOCK}tunnel(\"t\", #{{ from: [-60, 0, 14], to: [60, 0, 26], inside: 12, wall: 0 }});"
    );
    // A cylinder between two upright planes 100 mm apart, along an axis that rises by 1 in 10.
    let (solid, gaps, hidden) = seen(&source);
    let got: f64 = hidden.by_feature(&solid, &gaps).values().sum();
    let want = PI * 12.0 * 100.0 * 1.01f64.sqrt();
    // Near its mouths a crescent is open to the sky: on each side less than its rise across the bore, 12 × 0.1.
    assert!(
        got <= want && got > want - PI * 12.0 * 2.0 * 1.2,
        "{got} of {want}"
    );
    let (floor, roof) = hidden.window();
    assert!(
        floor > roof + 8.0,
        "no one level opens it: {floor} over {roof}"
    );
}

#[test]
fn crossing_bores_lose_what_they_share() {
    let bores = |z: f64| {
        format!(
            "{BLOCK}bore(\"s\", #{{ into: b.side(\"left\"), at: [0, -6], dia: 12, through: true }});
             bore(\"t\", #{{ into: b.side(\"front\"), at: [0, {z}], dia: 12, through: true, meets: \"s\" }});"
        )
    };
    let apart = PI * 12.0 * (100.0 + 80.0);
    // Equal cylinders that cross squarely: each loses half of the surface 16 r² of what they share.
    hides(&bores(-6.0), apart - 16.0 * 36.0, 6.0);
    // One over the other with 4 mm between: two voids.
    let (_, hidden) = hides(&bores(10.0), apart, 6.0);
    near(hidden.plan_mm2(), 12.0 * 180.0, 2.0);
}

#[test]
fn a_strip_of_lip_counts_as_reached() {
    // A roof that stands out by less than the lip, and by more.
    let ledge = |out: f64| {
        format!(
            "shrink(0); let b = slab(\"b\", #{{ outline: rect(60, 40), height: 10, fillet: 0 }});
             let k = slab(\"k\", #{{ on: b.top, outline: rect(30, 20), height: 10, fillet: 0 }});
             slab(\"l\", #{{ on: k.top, outline: rect({}, 20), height: 5, fillet: 0 }});",
            30.0 + 2.0 * out
        )
    };
    let (_, gaps, hidden) = seen(&ledge(0.04));
    assert!(!gaps.none() && hidden.is_empty());
    // The pointed tails of its pieces are narrower than the lip: where they stand alone they aren't counted.
    let (solid, gaps, hidden) = seen(&ledge(0.06));
    let got: f64 = hidden.by_feature(&solid, &gaps).values().sum();
    near(got, 2.0 * 2.0 * 0.06 * 20.0, 0.4);
}

#[test]
fn walls_of_a_void_are_marked() {
    let source = format!(
        "{BLOCK}groove(\"t\", #{{ into: b.top, along: [[-60, 0], [60, 0]],
           section: [[-5, 0], [-5, 8], [-11, 8], [-11, 15], [11, 15], [11, 8], [5, 8], [5, 0]] }});"
    );
    let (solid, gaps, hidden) = seen(&source);
    let shares = hidden.shares(&solid, &gaps);
    let mut area = 0.0;
    for (t, share) in shares.iter().enumerate() {
        let [a, b, c] = corners(&solid, t);
        let across = (b - a).cross(c - a);
        if across.z.abs() < 1e-6 * across.length() {
            area += across.length() / 2.0 * f64::from(*share);
        }
    }
    // The two walls at the back, 7 mm high; those under the mouth look at each other in the open.
    near(area, 2.0 * 7.0 * 100.0, 1.0);
}

fn corners(solid: &Solid, t: usize) -> [Vec3; 3] {
    solid.triangles[t].map(|v| solid.points[v as usize])
}

/// Whether a point has any triangle straight above and any straight below it, looked up one by one.
fn blocked_both_ways(solid: &Solid, p: Vec3) -> bool {
    let (mut above, mut below) = (false, false);
    for t in 0..solid.triangles.len() {
        let [a, b, c] = corners(solid, t).map(|q| q - p);
        let turn = |u: Vec3, v: Vec3| u.truncate().perp_dot(v.truncate());
        let (x, y, z) = (turn(b, c), turn(c, a), turn(a, b));
        let all = x + y + z;
        let inside = (x > 0.0 && y > 0.0 && z > 0.0) || (x < 0.0 && y < 0.0 && z < 0.0);
        if inside {
            let height = (x * a.z + y * b.z + z * c.z) / all;
            above |= height > 1e-4;
            below |= height < -1e-4;
        }
    }
    above && below
}

/// How far a point lies inside a counter-clockwise convex rim (mm), negative outside.
fn depth_in(rim: &[Vec2], p: Vec2) -> f64 {
    (0..rim.len())
        .map(|i| {
            let (a, b) = (rim[i], rim[(i + 1) % rim.len()]);
            (b - a).perp_dot(p - a) / (b - a).length().max(1e-12)
        })
        .fold(f64::INFINITY, f64::min)
}

#[test]
fn random_parts_agree_with_vertical_rays() {
    let (mut tried, mut hidden_ones) = (0, 0);
    for seed in 0..12 {
        let script = format!("facet(0.2);\n{}", RandomPart::new(900 + seed).script());
        let solid = pattern(&built(&script)).clone();
        let gaps = Gaps::of(&solid);
        let mut of: Vec<Vec<usize>> = vec![Vec::new(); solid.triangles.len()];
        for (i, gap) in gaps.list.iter().enumerate() {
            of[gap.floor as usize].push(i);
            of[gap.roof as usize].push(i);
        }
        let mut g = Seeded(77 + seed);
        for _ in 0..500 {
            let t = g.below(solid.triangles.len());
            let [a, b, c] = corners(&solid, t);
            let across = (b - a).cross(c - a);
            if across.z.abs() < 0.02 * across.length() || across.z.abs() < 0.01 {
                continue;
            }
            let (mut u, mut v) = (g.between(0.0, 1.0), g.between(0.0, 1.0));
            if u + v > 1.0 {
                (u, v) = (1.0 - u, 1.0 - v);
            }
            let on = a + (b - a) * u + (c - a) * v;
            // How far inside the nearest gap of this facet, or outside all of them.
            let deepest = of[t]
                .iter()
                .map(|&i| {
                    let rim: Vec<Vec2> = gaps.list[i].corners.iter().map(|c| c.at).collect();
                    depth_in(&rim, on.truncate())
                })
                .fold(f64::NEG_INFINITY, f64::max);
            if deepest.abs() < 1e-3 {
                continue;
            }
            // A hair in front of the surface, in the air.
            let p = on + across.normalize() * 1e-3;
            let blocked = blocked_both_ways(&solid, p);
            assert_eq!(
                deepest > 0.0,
                blocked,
                "seed {seed}, triangle {t} at {on}: {deepest}"
            );
            tried += 1;
            hidden_ones += usize::from(blocked);
        }
    }
    assert!(
        tried > 1000 && hidden_ones > 100,
        "{tried} places, {hidden_ones} hidden"
    );
}
