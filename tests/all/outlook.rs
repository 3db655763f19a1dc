//! How a casting fills and freezes, as a build tells it: for each finding a part that provokes it and one that comes
//! close and doesn't; figures against lengths and volumes by formula.

use super::built::built;
use foamwright::fault::{Finding, Level};
use foamwright::measure::Vec3;
use foamwright::pour::fields::{Corner, Fill, findings, lateness};
use foamwright::shop::{Build, Stage, report_of};
use std::path::Path;

fn of<'a>(build: &'a Build, code: &str) -> Vec<&'a Finding> {
    build.findings.iter().filter(|f| f.code == code).collect()
}

#[track_caller]
fn within(got: f64, want: f64, share: f64) {
    let off = (got / want - 1.0).abs();
    assert!(off <= share, "{got} is off {want} by {:.2} %", 100.0 * off);
}

/// A flat bar gated at its left end.
fn bar(length: f64, thick: f64) -> Build {
    built(&format!(
        "shrink(0); min_wall(2);
         let bar = slab(\"bar\", #{{ outline: rect({length}, 20), height: {thick} }});
         let g = gate(\"g\", #{{ on: bar.side(\"left\"), size: [16, {}], length: 15 }});
         sprue(\"s\", #{{ on: g, dia: 20, height: 200 }});",
        0.8 * thick
    ))
}

#[test]
fn a_thin_wall_far_from_the_gate_is_told() {
    let build = bar(300.0, 4.0);
    let found = of(&build, "misrun");
    assert_eq!(found.len(), 1, "{:?}", build.findings);
    assert_eq!(found[0].features[0].0, "bar");
    assert_eq!(found[0].level, Level::Look);
    let far = &build.outlook.as_ref().expect("it is gated").far[0];
    // The usual formula for a long bar: section over perimeter, 4 × 20 / 48; its end cools from one more side.
    let whole = 80.0 / 48.0;
    assert!(far.modulus_mm < 1.05 * whole && far.modulus_mm > 0.6 * whole);
    within(far.travel_mm, 300.0, 0.03);
    // 30 and 5 mm/s; 200 and 400 s/cm² × (V/A)².
    within(far.reached_s()[0], far.travel_mm / 30.0, 1e-9);
    within(far.reached_s()[1], far.travel_mm / 5.0, 1e-9);
    within(
        far.freezes_s()[1],
        400.0 * (far.modulus_mm / 10.0).powi(2),
        1e-9,
    );
    assert!(lateness(far.travel_mm, far.modulus_mm) > 1.0);
    // As long and three times as thick, or as thin and short: the metal gets there.
    assert!(of(&bar(300.0, 12.0), "misrun").is_empty());
    assert!(of(&bar(40.0, 4.0), "misrun").is_empty());
}

#[test]
fn lateness_is_the_ratio_of_the_middles() {
    // √(5 · 30) mm/s, √(200 · 400) s/cm².
    let travel_s = 100.0 / 150.0_f64.sqrt();
    let freezes_s = 80_000.0_f64.sqrt() * 0.25;
    within(lateness(100.0, 5.0), travel_s / freezes_s, 1e-12);
    // A wall twice as thick freezes in four times the time.
    within(lateness(100.0, 10.0), lateness(100.0, 5.0) / 4.0, 1e-12);
}

/// A box of 120 × 80 × 50 open below, walls 6.
fn housing(more: &str) -> Build {
    built(&format!(
        "shrink(0);
         let box = slab(\"box\", #{{ outline: rect(120, 80), height: 50 }});
         let inside = hollow(\"inside\", #{{ of: box, open: box.bottom, wall: 6, floor: 6 }});
         let g = gate(\"g\", #{{ on: box.side(\"left\"), size: [30, 20], length: 15 }});
         sprue(\"s\", #{{ on: g, dia: 20, height: 220 }});
         {more}"
    ))
}

#[test]
fn sand_does_not_rise_into_a_housing_that_is_open_below() {
    let build = housing("");
    let found = of(&build, "no-sand");
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].level, Level::Look);
    // All of the inside: 108 × 68 × 44.
    within(found[0].value.expect("a volume"), 108.0 * 68.0 * 44.0, 0.05);
    assert_eq!(found[0].features[0].0, "inside");
    // What it says to do does it.
    assert!(
        found[0].remedy.contains("`pour_up([0, 0, -1]);`"),
        "{}",
        found[0].remedy
    );
    let turned = housing("pour_up([0, 0, -1]);");
    assert!(of(&turned, "no-sand").is_empty(), "{:?}", turned.findings);
}

#[test]
fn what_vibration_fills_is_one_note() {
    // Two grooves of 10 × 10 under a plate: sand runs in from their ends only, 140 mm away.
    let build = built(
        "shrink(0);
         let plate = slab(\"plate\", #{ outline: rect(60, 100), height: 20 });
         for x in [-15, 15] {
             let at = face(#{ at: [x, 0, 0], facing: [0, 0, -1] });
             pocket(\"slot \" + x, #{ into: at, outline: rect(10, 100), depth: 10 });
         }
         let g = gate(\"g\", #{ on: plate.side(\"left\"), size: [30, 16], length: 15 });
         sprue(\"s\", #{ on: g, dia: 20, height: 220 });",
    );
    let found = of(&build, "no-sand");
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].level, Level::Note);
    // From each end 10 / tan 30° = 17.3 mm fill half, the rest is empty: 10 × 10 × (100 - 17.3), less what 10° leaves
    // empty still, told with it: all of it together.
    let each = 10.0 * 10.0 * (100.0 - 10.0 / 30.0_f64.to_radians().tan());
    within(found[0].value.expect("a volume"), 2.0 * each, 0.08);
}

#[test]
fn a_junction_whose_middle_is_drilled_out_is_a_note() {
    let build = built(
        "let plate = slab(\"plate\", #{ outline: rect(160, 60), height: 8 });
         let post = boss(\"post\", #{ on: plate.top, at: [50, 0], dia: 24, height: 14 });
         bore(\"hole\", #{ into: post.top, dia: 7, through: true, cored: false });
         gate(\"g\", #{ on: plate.side(\"left\"), size: [40, 7], length: 15 });",
    );
    let outlook = build.outlook.as_ref().expect("it is gated");
    let finished = &build.stage(Stage::Finished).expect("it is built").solid;
    let junction = |x: f64, ratio: f64| Corner {
        at: Vec3::new(x, 0.0, 5.0),
        ball_mm: 8.0 * ratio,
        wall_mm: 8.0,
        features: vec![1],
    };
    let told = |corner: Corner| -> (Level, String) {
        let found = findings(&Fill {
            part: &build.part,
            spots: &[],
            fed: &[],
            proposals: &[],
            at_corners: &[],
            corners: &[corner],
            finished,
            contacts: &outlook.contacts,
            names: &[],
            usual_mm: 4.0,
        });
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!(found[0].code, "hot-corner");
        (found[0].level, found[0].text.clone())
    };
    // The hole's axis is at x = 50.
    let (level, text) = told(junction(50.0, 2.5));
    assert_eq!(level, Level::Note);
    assert!(text.contains("2.50 times") && text.contains("machined away"));
    let (level, text) = told(junction(40.0, 2.5));
    assert_eq!(level, Level::Look);
    assert!(!text.contains("machined away"));
    assert_eq!(told(junction(40.0, 1.9)).0, Level::Note);
}

#[test]
fn the_report_tells_the_outlook() {
    let build = bar(100.0, 12.0);
    let report = report_of(&build, Path::new("bar.rhai"), false);
    let row = report.outlook.expect("it is gated");
    let last = row.last_filled.expect("metal comes in");
    // From the gate's rim, 16 × 9.6 on the left end, to a far corner: straight.
    let straight = (100.0_f64.powi(2) + 2.0_f64.powi(2) + 1.2_f64.powi(2)).sqrt();
    within(last.travel_mm, straight, 0.03);
    within(last.fill_s[0], last.travel_mm / 30.0, 1e-9);
    within(last.fill_s[1], last.travel_mm / 5.0, 1e-9);
    let section = &row.sections[0];
    assert_eq!(section.features[0], "bar");
    assert_eq!(section.fed_by.as_deref(), Some("g"));
    // 12 × 20 / 64.
    within(section.modulus_mm, 240.0 / 64.0, 0.1);
    within(section.ball_mm, 12.0, 0.01);
    let json: serde_json::Value = serde_json::to_value(&row.sections).expect("it is plain data");
    assert!(json[0]["freezes_s"][0].is_number());
    // A part without gates has none.
    let bare = built("slab(\"bar\", #{ outline: rect(100, 20), height: 12 });");
    assert!(
        report_of(&bare, Path::new("bar.rhai"), false)
            .outlook
            .is_none()
    );
}

/// The script line that a finding's remedy prints.
fn line_of(finding: &Finding) -> &str {
    let from = finding
        .remedy
        .find("gate(")
        .unwrap_or_else(|| panic!("{finding:?}"));
    let line = &finding.remedy[from..];
    &line[..line.find(");").expect("a whole line") + 2]
}

/// What a finding of this code prints goes into the script, and the finding is gone; nothing is wrong with the new gate
/// but that it ends in the open.
#[track_caller]
fn feeds(script: &str, code: &str) {
    let before = built(script);
    let found = of(&before, code);
    assert_eq!(found.len(), 1, "{:?}", before.findings);
    let after = built(&format!("{script}\n{}", line_of(found[0])));
    assert!(
        of(&after, code).is_empty(),
        "{}: {:?}",
        line_of(found[0]),
        after.findings
    );
    let name = format!("{}-gate", found[0].features[0].0);
    let about = after
        .findings
        .iter()
        .filter(|f| f.features.iter().any(|(n, _)| *n == name));
    let codes: Vec<&str> = about
        .map(|f| f.code)
        .filter(|c| *c != "saw-plane")
        .collect();
    assert_eq!(codes, ["no-effect"], "{:?}", after.findings);
    // It stands on the pattern, no deeper in it than a flat foot needs.
    let gates = &after.pour.as_ref().expect("it is gated").gates;
    assert_eq!(
        gates.len(),
        before.pour.as_ref().expect("it is gated").gates.len() + 1
    );
}

#[test]
fn the_line_that_heavy_prints_feeds_the_spot() {
    // Shrink and stock on the boss's top: places are the finished part's, the gate stands on the raw face.
    feeds(
        "let plate = slab(\"plate\", #{ outline: rect(140, 60), height: 8 });
         let boss = boss(\"post\", #{ on: plate.top, at: [45, 0], dia: 36, height: 30 });
         finish(boss.top, 2);
         gate(\"g\", #{ on: plate.side(\"left\"), size: [24, 7], length: 20 });",
        "heavy",
    );
    feeds(
        "units(\"in\");
         let plate = slab(\"plate\", #{ outline: rect(5.5, 2.5), height: 0.3 });
         boss(\"post\", #{ on: plate.top, at: [1.75, 0], dia: 1.4, height: 1.2 });
         gate(\"g\", #{ on: plate.side(\"left\"), size: [1, 0.25], length: 0.75 });",
        "heavy",
    );
}

#[test]
fn the_line_that_hot_corner_prints_stands_on_the_junction() {
    feeds(
        "shrink(0);
         let plate = slab(\"plate\", #{ outline: rect(160, 90), height: 8 });
         slab(\"web\", #{ on: plate.top, outline: rect(8, 90), height: 50, fillet: 12 });
         gate(\"g\", #{ on: plate.side(\"left\"), size: [40, 7], length: 15 });",
        "hot-corner",
    );
}

/// Chvorinov's rule: time goes by the square of volume over area, so a part k times as large freezes k² times as long.
/// Each size is on cells of its own, on which a modulus is known to 6 %.
#[test]
fn a_larger_part_freezes_by_the_square_of_its_size() {
    let slowest = |k: f64| {
        let build = built(&format!(
            "shrink(0);
             let block = slab(\"block\", #{{ outline: rect({0}, {0}), height: {0} }});
             let g = gate(\"g\", #{{ on: block.side(\"left\"), size: [{1}, {1}], length: 20 }});
             sprue(\"s\", #{{ on: g, dia: {0}, height: 300 }});",
            40.0 * k,
            20.0 * k
        ));
        let outlook = build.outlook.as_ref().expect("it is gated");
        outlook.freezing_s[0]
    };
    let one = slowest(1.0);
    // A cube's volume over area is a sixth of its side: 200 and 400 s/cm² × (4 / 6 cm)².
    within(one[0], 200.0 * (4.0_f64 / 6.0).powi(2), 0.12);
    for k in [1.5, 2.0, 3.0] {
        let larger = slowest(k);
        for end in 0..2 {
            within(larger[end] / one[end], k * k, 0.12);
        }
    }
}
