//! Maps of the pour on a surface against lengths and thicknesses by formula.

use super::built::built;
use super::plain_solids::{arc, ball as sphere, cuboid, oblique, raised, shared};
use foamwright::export::pour_map::{Subject, UNKNOWN, ball, heat, travel};
use foamwright::export::surface_map::MAGIC;
use foamwright::measure::Vec3;
use foamwright::pour::fields::{Contact, Fields, Kind, fields};
use foamwright::shop::{Build, Stage};
use foamwright::solid::Solid;
use serde_json::Value;

const CELL_MM: f64 = 1.5;

/// The share that a travel over cells may be long by, of design/pour.md's own measurements on nine shapes.
const TRAVEL: f64 = 0.015;

#[track_caller]
fn within(got: f64, want: f64, share: f64, at: Vec3) {
    let off = (got / want - 1.0).abs();
    assert!(
        off <= share,
        "{got} is off {want} by {:.2} % at {at}",
        100.0 * off
    );
}

/// A body as it is and turned, each with some points of its surface and the ways in there.
fn both(solid: &Solid, spots: &[(Vec3, Vec3)]) -> [(Fields, Vec<(Vec3, Vec3)>); 2] {
    let ends: Vec<Vec3> = spots.iter().flat_map(|(p, way)| [*p, *p + *way]).collect();
    let turned = oblique(&Solid {
        points: ends,
        ..Solid::default()
    });
    let turned = turned.points.chunks(2).map(|e| (e[0], e[1] - e[0]));
    [
        (fields(&shared(solid.clone()), CELL_MM), spots.to_vec()),
        (fields(&shared(oblique(solid)), CELL_MM), turned.collect()),
    ]
}

/// Along a straight bar from a gate in the middle of its end: the straight way from the gate's foot.
#[test]
fn travel_along_a_bar_is_the_distance() {
    let bar = cuboid([200.0, 20.0, 15.0]);
    let mut spots = Vec::new();
    for i in 0..=20 {
        let x = 30.0 + 8.5 * f64::from(i);
        for (y, z, way) in [
            (0.0, 7.0, Vec3::Y),
            (20.0, 4.0, Vec3::NEG_Y),
            (9.0, 0.0, Vec3::Z),
            (13.0, 15.0, Vec3::NEG_Z),
        ] {
            spots.push((Vec3::new(x, y, z), way));
        }
    }
    spots.push((Vec3::new(200.0, 11.0, 6.0), Vec3::NEG_X));
    // The gate lies as the bar does: its place and way out are among the points that are turned.
    spots.push((Vec3::new(0.0, 10.0, 7.5), Vec3::NEG_X));
    for (fields, mut spots) in both(&bar, &spots) {
        let (at, out) = spots.pop().expect("the gate's own");
        let gate = Contact::round(at, out, 10.0, Kind::Gate, 0);
        let front = fields.front(&[gate]);
        for (p, way) in spots {
            let got = fields.travel_at(&front, p, way).expect("metal");
            within(got, p.distance(gate.nearest(p)), TRAVEL, p);
        }
    }
}

/// A plate's local volume over area is half its thickness, on both sides of it, off its rim.
#[test]
fn modulus_on_a_plate_is_half_its_thickness() {
    for thick in [4.0, 6.0, 10.0, 16.0] {
        let size = 12.0 * thick;
        let plate = cuboid([size, size, thick]);
        let mut spots = Vec::new();
        for i in 0..7 {
            for j in 0..7 {
                // The rim's area is felt, less and less, over some thicknesses.
                let [x, y] = [i, j].map(|k| size / 2.0 + 0.5 * thick * f64::from(k - 3));
                spots.push((Vec3::new(x, y, 0.0), Vec3::Z));
                spots.push((Vec3::new(x + 3.3, y - 1.7, thick), Vec3::NEG_Z));
            }
        }
        for (fields, spots) in both(&plate, &spots) {
            for (p, way) in spots {
                within(
                    fields.modulus_at(p, way).expect("metal"),
                    thick / 2.0,
                    0.06,
                    p,
                );
            }
        }
    }
}

/// The largest ball inside a plate is its thickness, where one of that size touches its faces: half of it off the rim and
/// farther in. That of a sphere is its diameter.
#[test]
fn a_plates_ball_is_its_thickness_and_a_spheres_itself() {
    for thick in [4.0, 6.0, 10.0, 16.0] {
        let plate = cuboid([80.0, 70.0, thick]);
        let mut spots = Vec::new();
        for i in 0..9 {
            let [x, y] = [(80.0, i), (70.0, i * 5 % 9)].map(|(size, k)| {
                let off = thick / 2.0 + 2.0;
                off + (size - 2.0 * off) * f64::from(k) / 8.0
            });
            spots.push((Vec3::new(x, y, 0.0), Vec3::Z));
            spots.push((Vec3::new(80.0 - x, y, thick), Vec3::NEG_Z));
        }
        for (fields, spots) in both(&plate, &spots) {
            for (p, way) in spots {
                within(fields.ball_at(p, way).expect("metal"), thick, 0.01, p);
            }
        }
    }
    let round = sphere(40.0);
    let out = [Vec3::X, Vec3::NEG_Y, Vec3::Z, Vec3::ONE.normalize()];
    // The facets of 96 round it lie inside by at most 1 - cos(π / 96).
    let spots = out.map(|way| (way * 20.0 * (std::f64::consts::PI / 96.0).cos(), -way));
    for (fields, spots) in both(&round, &spots) {
        for (p, way) in spots {
            within(fields.ball_at(p, way).expect("metal"), 40.0, 0.005, p);
        }
    }
}

/// A T of walls of 12 with rounds of radius r: under the junction the inscribed circle of foundry-facts §4 (derived there,
/// D = [(t/2 + r)² + (t + r)² - r²] / (t + 2 r)), away from it the wall.
#[test]
fn a_junctions_ball_is_the_inscribed_circle() {
    let t = 12.0;
    for (share, ratio) in [(0.0, 1.25), (1.0 / 3.0, 1.41667), (0.5, 1.5), (1.0, 1.75)] {
        let r = share * t;
        let mut outline = vec![[-60.0, 0.0], [60.0, 0.0], [60.0, t]];
        outline.extend(arc([t / 2.0 + r, t + r], r, 270.0, 180.0));
        outline.extend([[t / 2.0, 70.0], [-t / 2.0, 70.0]]);
        outline.extend(arc([-t / 2.0 - r, t + r], r, 0.0, -90.0));
        outline.push([-60.0, t]);
        let tee = raised(&outline, 60.0);
        let mut spots = Vec::new();
        for z in [14.0, 23.0, 30.0, 39.5, 46.0] {
            // Opposite the web, where the circle touches; on the flange and on the web, two walls away.
            spots.push((Vec3::new(0.0, 0.0, z), Vec3::Y));
            spots.push((Vec3::new(45.0, 0.0, z), Vec3::Y));
            spots.push((Vec3::new(t / 2.0, 60.0, z), Vec3::NEG_X));
        }
        for (fields, spots) in both(&tee, &spots) {
            for (i, (p, way)) in spots.into_iter().enumerate() {
                let got = fields.ball_at(p, way).expect("metal");
                let [want, slack] = match i % 3 {
                    0 => [ratio * t, 0.005],
                    _ => [t, 0.01],
                };
                within(got, want, slack, p);
            }
        }
    }
}

/// Two arms with a narrow gap between them, joined at one end: what is told of an arm never comes from the other one.
#[test]
fn nothing_comes_from_beyond_a_gap() {
    // An arm of 6, a gap of 3, an arm of 24; a web of 10 at the right.
    let fork = raised(
        &[
            [0.0, 0.0],
            [150.0, 0.0],
            [150.0, 33.0],
            [0.0, 33.0],
            [0.0, 9.0],
            [140.0, 9.0],
            [140.0, 6.0],
            [0.0, 6.0],
        ],
        80.0,
    );
    let thin: Vec<(Vec3, Vec3)> = (0..8)
        .map(|i| {
            (
                Vec3::new(30.0 + 10.0 * f64::from(i), 6.0, 40.0),
                Vec3::NEG_Y,
            )
        })
        .collect();
    let mut spots = thin.clone();
    spots.extend(thin.iter().map(|(p, way)| (*p + Vec3::Y * 3.0, -*way)));
    spots.push((Vec3::new(0.0, 3.0, 40.0), Vec3::NEG_X));
    spots.push((Vec3::new(140.0, 7.5, 40.0), Vec3::X));
    for (fields, mut spots) in both(&fork, &spots) {
        let (root, _) = spots.pop().expect("the gap's end");
        let (at, out) = spots.pop().expect("the gate's own");
        let front = fields.front(&[Contact::round(at, out, 4.0, Kind::Gate, 0)]);
        let (here, beyond) = spots.split_at(thin.len());
        for ((p, way), (q, back)) in here.iter().zip(beyond) {
            // Half of 6, and more than twice that.
            within(fields.modulus_at(*p, *way).expect("metal"), 3.0, 0.08, *p);
            assert!(fields.modulus_at(*q, *back).expect("metal") > 7.0);
            let near = fields.travel_at(&front, *p, *way).expect("metal");
            let far = fields.travel_at(&front, *q, *back).expect("metal");
            // Out to the gap's end and back again, give or take the cells at its end.
            let more = 2.0 * p.distance(root);
            assert!((far - near - more).abs() < 8.0, "{near} {far} {more}");
        }
    }
}

/// A map as the page gets it.
struct Map {
    /// Place, values.
    spots: Vec<(Vec3, Vec<f64>)>,
    legend: Value,
}

fn read(bytes: &[u8]) -> Map {
    let word = |i: usize| u32::from_le_bytes(bytes[4 * i..4 * i + 4].try_into().unwrap());
    assert_eq!(word(0), MAGIC);
    let [nv, nt, values] = [1, 2, 3].map(|i| word(i) as usize);
    let float = |v: usize, k: usize| f64::from(f32::from_bits(word(4 + (3 + values) * v + k)));
    let spots = (0..nv)
        .map(|v| {
            let at = Vec3::new(float(v, 0), float(v, 1), float(v, 2));
            (at, (0..values).map(|k| float(v, 3 + k)).collect())
        })
        .collect();
    let legend = &bytes[16 + 4 * (3 + values) * nv + 12 * nt..];
    Map {
        spots,
        legend: serde_json::from_slice(legend).expect("a legend"),
    }
}

type Write = fn(&Subject, &Solid, &mut dyn std::io::Write) -> std::io::Result<()>;

fn map(build: &Build, stage: Stage, write: Write) -> Map {
    let mut bytes = Vec::new();
    let subject = Subject {
        part: &build.part,
        outlook: build.outlook.as_ref().expect("it is gated"),
        gated: build.gated.as_ref().expect("it is gated"),
        stage,
    };
    let solid = &build.stage(stage).expect("it is built").solid;
    write(&subject, solid, &mut bytes).unwrap();
    read(&bytes)
}

/// A bar of 200 × 24 × 18, grown by 2 %, that a gate joins at the left; two of them on one tree.
fn bars() -> Build {
    built(
        "units(\"mm\"); shrink(2); tree(#{ copies: 2, step: [0, 60, 0] });
         let bar = slab(\"bar\", #{ outline: rect(200, 24), height: 18 });
         let g = gate(\"g\", #{ on: bar.side(\"left\"), size: [16, 10], length: 15 });
         let r = runner(\"r\", #{ size: 14, joins: g });
         sprue(\"s\", #{ on: r, dia: 12, height: 200 });",
    )
}

/// The map of every stage has the casting's values, in the stage's own coordinates; the gating has none.
#[test]
fn every_stage_has_the_castings_travel() {
    let build = bars();
    let far = |at: Vec3| at.x + 100.0;
    for (stage, grow) in [
        (Stage::Finished, 1.0),
        (Stage::Casting, 1.0),
        (Stage::Pattern, 1.02),
        (Stage::Gated, 1.02),
    ] {
        let map = map(&build, stage, travel);
        let (mut seen, mut unknown) = ([0, 0], 0);
        for (at, values) in &map.spots {
            assert_eq!(values.len(), 2);
            let at = *at / grow;
            if at.x > -60.0 && at.z <= 18.0 + 1e-3 {
                // Off the gate's axis by no more than half the section: longer by under 2 % from 60 mm on.
                let copy = usize::from(at.y > 30.0);
                seen[copy] += 1;
                if far(at) > 60.0 {
                    within(values[0], far(at), TRAVEL + 0.02, at);
                }
            } else if at.x < -104.0 {
                assert_eq!(values[0], UNKNOWN, "{at}");
                unknown += 1;
            }
        }
        let gated = stage == Stage::Gated;
        assert!(seen[0] > 500 && (seen[1] > 500) == gated, "{seen:?}");
        assert!((unknown > 100) == gated, "{unknown}");
        let legend = &map.legend;
        within(legend["most_mm"].as_f64().unwrap(), 200.0, 0.02, Vec3::ZERO);
        let last = &legend["marks"][0];
        assert_eq!(last["text"], "last to fill");
        within(
            last["at_mm"][0].as_f64().unwrap(),
            100.0 * grow,
            0.02,
            Vec3::ZERO,
        );
        let about = legend["about"].as_str().unwrap();
        assert!(
            about.starts_with("Estimate") && about.contains("5 to 30"),
            "{about}"
        );
        // 200 mm at 30 and at 5 mm/s.
        let end = legend["ends"][3].as_str().unwrap();
        assert!(
            end.contains(" mm\n6.") && end.contains("–4") && end.ends_with(" s"),
            "{end}"
        );
    }
}

/// Where two fronts meet, between gates at both ends of a bar: half way, and nowhere else.
#[test]
fn fronts_meet_half_way() {
    let build = built(
        "units(\"mm\"); shrink(0);
         let bar = slab(\"bar\", #{ outline: rect(200, 24), height: 18 });
         let a = gate(\"a\", #{ on: bar.side(\"left\"), size: [16, 10], length: 15 });
         let b = gate(\"b\", #{ on: bar.side(\"right\"), size: [16, 10], length: 15 });
         let r = runner(\"r\", #{ size: 14, path: [[-121, 0, 9], [-121, 60, 9], [121, 60, 9], [121, 0, 9]] });
         sprue(\"s\", #{ on: r, dia: 22, height: 200 });",
    );
    let map = map(&build, Stage::Casting, travel);
    let mut there = 0;
    for (at, values) in &map.spots {
        if values[1] > 0.5 {
            assert!(at.x.abs() < 5.0, "{at}");
            there += 1;
        } else {
            assert!(at.x.abs() > 0.8, "{at}");
        }
    }
    assert!(there > 100, "{there}");
    assert!(
        map.legend["about"]
            .as_str()
            .unwrap()
            .contains("Striped: fronts meet")
    );
    let one = &self::map(&bars(), Stage::Casting, travel).legend["about"];
    assert!(one.as_str().unwrap().contains("Nowhere do fronts meet"));
}

/// A plate with a square block on it, in inches: the plate as a wall of its own thickness, the block hotter and marked
/// first, and the legend in the script's unit.
#[test]
fn heat_is_told_as_a_walls_thickness() {
    let build = built(
        "units(\"in\"); shrink(1);
         let plate = slab(\"plate\", #{ outline: rect(8, 6), height: 0.4 });
         boss(\"post\", #{ on: plate.top, at: [2, 0], dia: 1.5, height: 1.5 });
         let g = gate(\"g\", #{ on: plate.side(\"left\"), size: [1, 0.3], length: 0.6 });
         sprue(\"s\", #{ on: g, dia: 1, height: 8 });",
    );
    let map = map(&build, Stage::Pattern, heat);
    let (mut on_plate, mut hottest) = (0, (0.0, Vec3::ZERO));
    for (at, values) in &map.spots {
        assert_eq!(values.len(), 1);
        let inch = *at / 1.01 / 25.4;
        if inch.z.abs() < 1e-4 && inch.x < -0.4 && inch.x > -2.4 && inch.y.abs() < 1.4 {
            within(values[0], 0.4 * 25.4, 0.06, inch);
            on_plate += 1;
        }
        if values[0] > hottest.0 {
            hottest = (values[0], inch);
        }
    }
    assert!(on_plate > 100, "{on_plate}");
    assert!(
        hottest.1.truncate().distance([2.0, 0.0].into()) < 0.8,
        "{hottest:?}"
    );
    let spot = &build.outlook.as_ref().unwrap().spots[0];
    let most = map.legend["most_mm"].as_f64().unwrap();
    within(most, 2.0 * spot.modulus_mm, 1e-9, Vec3::ZERO);
    let mark = &map.legend["marks"][0];
    assert_eq!(mark["text"], "1 post");
    let at = mark["at_mm"][0].as_f64().unwrap();
    within(at, 2.0 * 25.4 * 1.01, 0.05, Vec3::ZERO);
    // 200 and 400 s/cm² × (V/A)², three places.
    let seconds = [200.0, 400.0].map(|b| b * (spot.modulus_mm / 10.0).powi(2));
    let end = map.legend["ends"][3].as_str().unwrap();
    let times: Vec<f64> = end
        .split('\n')
        .nth(1)
        .and_then(|t| t.strip_suffix(" s"))
        .map(|t| t.split('–').map(|x| x.parse().unwrap()).collect())
        .expect("times");
    for (got, want) in times.iter().zip(seconds) {
        within(*got, want, 0.05, Vec3::ZERO);
    }
    assert!(end.contains(" in\n"), "{end}");
    assert!(
        map.legend["about"]
            .as_str()
            .unwrap()
            .starts_with("Estimate")
    );
}

/// A plate with a square block on it, in inches: the plate's ball is as thick as the plate, the block's as wide as the
/// block, which is the end of the colours; junctions are marked with their ratio; the legend is in the script's unit.
#[test]
fn balls_are_told_in_the_scripts_unit() {
    let build = built(
        "units(\"in\"); shrink(1);
         let plate = slab(\"plate\", #{ outline: rect(8, 6), height: 0.4 });
         slab(\"block\", #{ on: plate.top, at: [2, 0], outline: rect(1.5, 1.5), height: 2, fillet: 0 });
         let g = gate(\"g\", #{ on: plate.side(\"left\"), size: [1, 0.3], length: 0.6 });
         sprue(\"s\", #{ on: g, dia: 1, height: 8 });",
    );
    for (stage, grow) in [(Stage::Casting, 1.0), (Stage::Pattern, 1.01)] {
        let map = map(&build, stage, ball);
        let (mut on_plate, mut on_block) = (0, 0);
        for (at, values) in &map.spots {
            assert_eq!(values.len(), 1);
            let inch = *at / grow / 25.4;
            if inch.z.abs() < 1e-4 && inch.x < 0.5 && inch.x > -3.7 && inch.y.abs() < 2.7 {
                within(values[0], 0.4 * 25.4, 0.01, inch);
                on_plate += 1;
            }
            let side = (inch.x - 2.0).abs() > 0.749 && inch.y.abs() < 0.1;
            if (inch.z - 1.4).abs() < 0.15 && side {
                // Off the middle, some of the cells beside it lie past the ball's rim.
                within(values[0], 1.5 * 25.4, 0.03, inch);
                on_block += 1;
            }
        }
        assert!(on_plate > 100 && on_block > 3, "{on_plate} {on_block}");
        let legend = &map.legend;
        let most = legend["most_mm"].as_f64().unwrap();
        within(most, 1.5 * 25.4, 0.01, Vec3::ZERO);
        let ends: Vec<&str> = (0..4)
            .map(|k| legend["ends"][k].as_str().unwrap())
            .collect();
        assert_eq!(ends[0], "0 in");
        assert!(
            ends[3].starts_with("1.5") && ends[3].ends_with(" in"),
            "{ends:?}"
        );
        let about = legend["about"].as_str().unwrap();
        assert!(
            about.starts_with("Estimate") && about.contains("ball"),
            "{about}"
        );
        let mark = legend["marks"][0]["text"].as_str().unwrap();
        assert!(mark.contains("× wall block"), "{mark}");
    }
}
