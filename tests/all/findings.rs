//! The findings: for each code a script that provokes it and nothing else, and one that comes close and doesn't.
//!
//! Volumes and shares are closed formulas, worked out beside each check.

use std::f64::consts::PI;

use super::built::{built, near, said, told};
use super::formulas::lens;
use foamwright::fault::{Finding, Level};

/// A plate 60 × 40 × 12 on the ground.
const PLATE: &str = "let plate = slab(\"plate\", #{ outline: rect(60, 40), height: 12 });\n";

/// The one finding of a script, held against code, level and names.
#[track_caller]
fn only(source: &str, code: &str, level: Level, names: &[&str]) -> Finding {
    let build = built(&format!("{source}\nmin_wall(0);"));
    let said = said(&build);
    assert_eq!(said.len(), 1, "{said:?}");
    assert_eq!((said[0].0, said[0].1, &said[0].2[..]), (code, level, names));
    assert!(!build.findings[0].text.is_empty() && !build.findings[0].remedy.is_empty());
    build.findings[0].clone()
}

/// Fails if a script has any finding.
#[track_caller]
fn silent(source: &str) {
    let build = built(&format!("{source}\nmin_wall(0);"));
    assert!(build.findings.is_empty(), "{:?}", said(&build));
}

fn value(finding: &Finding) -> f64 {
    finding.value.expect("this finding has a value")
}

#[test]
fn kept_open_counts_what_an_opening_keeps_from_later_metal() {
    let pocket = "let p = pocket(\"p\", #{ into: plate.top, outline: rect(20, 20), depth: 8 });\n";
    let block = |length: f64, more: &str| {
        // Its left end at x = 40 - length; the pocket reaches to x = 10, from z = 4 up; the block is 10 high.
        let at = 40.0 - length / 2.0;
        format!(
            "{PLATE}{pocket}slab(\"block\", #{{ outline: rect({length}, 10), at: [{at}, 0], height: 10{more} }});"
        )
    };
    let found = only(&block(40.0, ""), "kept-open", Level::Note, &["block", "p"]);
    near(value(&found), 10.0 * 10.0 * 6.0, 1e-6);
    // 0.01 deep is 0.6 mm³, under a trifle.
    silent(&block(30.01, ""));
    silent(&block(40.0, ", fills: p"));
}

#[test]
fn kept_open_is_worth_a_look_once_half_is_gone() {
    let script = format!(
        "{PLATE}let p = pocket(\"p\", #{{ into: plate.top, outline: rect(50, 20), depth: 11 }});
         slab(\"block\", #{{ outline: rect(52, 10), at: [6, 0], height: 11.5 }});"
    );
    let found = only(&script, "kept-open", Level::Look, &["block", "p"]);
    // x from -20 to 25, z from 1 to 11.5.
    near(value(&found), 45.0 * 10.0 * 10.5, 1e-6);
}

#[test]
fn capped_tells_how_much_of_a_mouth_is_covered() {
    let script = |x: f64| {
        format!(
            "{PLATE}bore(\"hole\", #{{ into: plate.top, dia: 10, depth: 8 }});
             boss(\"post\", #{{ on: plate.top, at: [{x}, 0], dia: 30, height: 20 }});"
        )
    };
    let found = only(&script(0.0), "capped", Level::Stop, &["post", "hole"]);
    near(value(&found), 100.0, 1e-6);
    let found = only(&script(14.0), "capped", Level::Look, &["post", "hole"]);
    let share = 100.0 * lens(5.0, 15.0, 14.0) / (PI * 25.0);
    near(value(&found), share, 0.5);
    silent(&script(20.02));
}

#[test]
fn a_bore_in_the_boss_over_a_mouth_leaves_it_open() {
    silent(&format!(
        "{PLATE}bore(\"hole\", #{{ into: plate.top, dia: 10, depth: 8 }});
         boss(\"post\", #{{ on: plate.top, dia: 30, height: 20, bore: 10 }});"
    ));
}

#[test]
fn breaks_into_measures_the_shared_volume() {
    let script = |y: f64, more: &str| {
        format!(
            "let block = slab(\"block\", #{{ outline: rect(60, 60), height: 60 }});
             bore(\"down\", #{{ into: block.top, dia: 10, depth: 40 }});
             bore(\"across\", #{{ into: block.side(\"right\"), at: [{y}, 0], dia: 10, depth: 50{more} }});"
        )
    };
    let found = only(
        &script(0.0, ""),
        "breaks-into",
        Level::Stop,
        &["across", "down"],
    );
    // Two round bars crossing squarely share 16 r³/3 (Archimedes). A chord sags by at most 0.02 on a radius of 5.
    let shared = 16.0 * 125.0 / 3.0;
    near(value(&found), shared, shared * 3.0 * 0.02 / 5.0);
    let at = found.at_mm.expect("a place");
    assert!(
        at.iter()
            .zip([0.0, 0.0, 30.0])
            .all(|(a, b)| (a - b).abs() <= 5.0 * 2f64.sqrt()),
        "{at:?} lies in both"
    );
    silent(&script(10.02, ""));
    silent(&script(0.0, ", meets: \"down\""));
}

#[test]
fn many_walls_counts_the_walls_in_line() {
    let script = |end: &str| {
        format!(
            "let base = slab(\"base\", #{{ outline: rect(60, 40), height: 10 }});
             let left = slab(\"left\", #{{ on: base.top, at: [-25, 0], outline: rect(10, 40), height: 30 }});
             slab(\"right\", #{{ on: base.top, at: [25, 0], outline: rect(10, 40), height: 30 }});
             bore(\"pin\", #{{ into: left.side(\"left\"), dia: 8, {end} }});"
        )
    };
    let found = only(
        &script("through: true"),
        "many-walls",
        Level::Look,
        &["pin"],
    );
    assert_eq!((found.value, found.limit), (Some(2.0), Some(1.0)));
    silent(&script("through: \"all\""));
    silent(&script("to: left.side(\"right\")"));
    let one = format!("{PLATE}bore(\"pin\", #{{ into: plate.top, dia: 8, through: true }});");
    silent(&one);
}

#[test]
fn part_marked_names_the_flush_face_without_a_mark() {
    let script = |x: f64, height: f64, marked: &str| {
        format!(
            "stock(2); let a = slab(\"a\", #{{ outline: rect(60, 40), height: 12 }});
             let b = slab(\"b\", #{{ outline: rect(40, 40), at: [{x}, 0], height: {height} }});
             finish({marked});"
        )
    };
    let found = only(
        &script(40.0, 12.0, "a.top"),
        "part-marked",
        Level::Look,
        &["b", "a"],
    );
    assert_eq!(found.value, None);
    silent(&script(40.0, 12.01, "a.top"));
    silent(&script(40.0, 12.0, "[a.top, b.top]"));
    silent(&script(40.0, 12.0, "level(12)"));
}

#[test]
fn flush_faces_apart_from_each_other_need_no_second_mark() {
    silent(&format!(
        "stock(2);{PLATE}
         let a = boss(\"a\", #{{ on: plate.top, at: [-15, 0], dia: 20, height: 10 }});
         boss(\"b\", #{{ on: plate.top, at: [15, 0], dia: 20, height: 10 }});
         finish(a.top);"
    ));
}

#[test]
fn a_tunnels_end_in_a_marked_face_is_no_face_of_its_own() {
    for wall in [0, 3] {
        silent(&format!(
            "stock(2); let block = slab(\"block\", #{{ outline: rect(60, 60), height: 40 }});
             tunnel(\"way\", #{{ from: #{{ on: block.side(\"left\") }}, to: [0, 0, 60], inside: 10, wall: {wall} }});
             finish(block.side(\"left\"));"
        ));
    }
}

#[test]
fn in_stock_compares_height_and_stock() {
    let script = |height: f64, fillet: f64| {
        format!(
            "{PLATE}boss(\"pad\", #{{ on: plate.top, dia: 20, height: {height}, fillet: {fillet} }});
             finish(plate.top, 3);"
        )
    };
    let found = only(
        &script(2.5, 0.0),
        "in-stock",
        Level::Look,
        &["pad", "plate"],
    );
    assert_eq!((found.value, found.limit), (Some(2.5), Some(3.0)));
    silent(&script(3.01, 0.0));
    // The height is enough, but 1 mm over the stock leaves no room for a fillet of 2.
    let found = only(
        &script(4.0, 2.0),
        "in-stock",
        Level::Look,
        &["pad", "plate"],
    );
    assert_eq!((found.value, found.limit), (Some(4.0), Some(3.0)));
    silent(&script(4.0, 1.0));
}

#[test]
fn dash_fraction_reads_the_text() {
    let script = |height: &str| {
        format!("units(\"in\"); slab(\"plate\", #{{ outline: rect(6, 4), height: {height} }});")
    };
    let found = only(&script("2-3/8"), "dash-fraction", Level::Look, &["2-3/8"]);
    assert_eq!(found.value, Some(1.625));
    silent(&script("\"2-3/8\""));
    silent(&script("2 - 3/8"));
}

#[test]
fn comes_through_looks_past_the_floor() {
    let script = |depth: f64| {
        format!("{PLATE}bore(\"hole\", #{{ into: plate.top, dia: 10, depth: {depth} }});")
    };
    let found = only(&script(12.5), "comes-through", Level::Look, &["hole"]);
    assert_eq!(found.value, Some(12.5));
    silent(&script(11.9));
}

#[test]
fn a_pocket_that_comes_out_of_a_side_is_no_surprise() {
    // Its floor is in metal, though a side of it is open: nothing comes out on the other side.
    silent(&format!(
        "{PLATE}pocket(\"step\", #{{ into: plate.top, at: [30, 0], outline: rect(20, 60), depth: 5 }});"
    ));
}

#[test]
fn no_effect_is_for_features_that_change_nothing() {
    let inner = |height: f64| {
        format!("{PLATE}slab(\"inner\", #{{ outline: rect(20, 20), height: {height} }});")
    };
    let found = only(&inner(5.0), "no-effect", Level::Look, &["inner"]);
    assert_eq!(found.value, None);
    silent(&inner(12.05));
    let air = |z: f64| {
        format!(
            "{PLATE}bore(\"air\", #{{ into: face(#{{ at: [0, 0, {z}], facing: [0, 0, 1] }}), dia: 10, depth: 20 }});"
        )
    };
    only(&air(40.0), "no-effect", Level::Look, &["air"]);
    silent(&air(30.0));
}

#[test]
fn loose_lumps_are_told_for_each_stage() {
    let script = |x: f64| {
        format!("{PLATE}slab(\"other\", #{{ outline: rect(20, 20), at: [{x}, 0], height: 8 }});")
    };
    let build = built(&script(40.05));
    assert_eq!(
        said(&build),
        [
            ("loose-lump", Level::Stop, vec![], Some(2.0)),
            ("loose-lump", Level::Stop, vec![], Some(2.0))
        ]
    );
    let mut stages: Vec<_> = build.findings.iter().filter_map(|f| f.stage).collect();
    stages.sort_unstable();
    assert_eq!(stages, ["casting", "finished"]);
    assert!(build.stops());
    silent(&script(39.95));
}

#[test]
fn stock_may_join_what_is_apart_in_the_finished_part() {
    let build = built(&format!(
        "{PLATE}let other = slab(\"other\", #{{ outline: rect(20, 20), at: [41, 0], height: 8 }});
         finish(other.side(\"left\"), 2);"
    ));
    assert_eq!(
        said(&build),
        [("loose-lump", Level::Stop, vec![], Some(2.0))]
    );
    assert_eq!(build.findings[0].stage, Some("finished"));
}

#[test]
fn drill_later_lists_what_is_left_solid() {
    let script = |dia: f64, more: &str| {
        format!(
            "min_cored(8);{PLATE}bore(\"hole\", #{{ into: plate.top, dia: {dia}, depth: 10{more} }});"
        )
    };
    let found = only(&script(7.95, ""), "drill-later", Level::Note, &["hole"]);
    assert_eq!((found.value, found.limit), (Some(7.95), Some(8.0)));
    silent(&script(8.0, ""));
    silent(&script(7.95, ", cored: true"));
    // Draft narrows it towards the floor: 9 - 2 · 10 tan 3°.
    let found = only(
        &script(9.0, ", draft: 3"),
        "drill-later",
        Level::Note,
        &["hole"],
    );
    near(value(&found), 9.0 - 20.0 * 3f64.to_radians().tan(), 1e-9);
    let found = only(
        &script(12.0, ", cored: false"),
        "drill-later",
        Level::Note,
        &["hole"],
    );
    assert_eq!(found.value, Some(12.0));
}

#[test]
fn a_bent_tunnel_left_solid_is_worth_a_look() {
    let script = |inside: f64, path: &str| {
        format!(
            "min_cored(8); slab(\"block\", #{{ outline: rect(60, 60), height: 60 }});
             tunnel(\"way\", #{{ path: {path}, bend: 12, inside: {inside}, wall: 0 }});"
        )
    };
    let bent = "[[0, 0, 61], [0, 0, 30], [31, 0, 30]]";
    let found = only(&script(6.0, bent), "drill-later", Level::Look, &["way"]);
    near(value(&found), 6.0, 2e-3);
    silent(&script(8.5, bent));
}

#[test]
fn fillet_big_hangs_over_an_edge() {
    let script = |x: f64| {
        format!(
            "{PLATE}boss(\"post\", #{{ on: plate.top, at: [{x}, 0], dia: 20, height: 15, fillet: 4 }});"
        )
    };
    // The plate ends at x = 30: 10 + 4 fit as far as x = 16.
    let found = only(&script(17.0), "fillet-big", Level::Look, &["post"]);
    assert_eq!((found.value, found.limit), (Some(4.0), None));
    silent(&script(15.98));
}

#[test]
fn fillet_big_is_made_smaller_on_a_round() {
    let script = |fillet: f64| {
        format!(
            "let drum = boss(\"drum\", #{{ dia: 60, height: 80 }});
             boss(\"branch\", #{{ on: drum.around(0, 40), dia: 20, height: 20, fillet: {fillet} }});"
        )
    };
    let found = only(&script(20.0), "fillet-big", Level::Look, &["branch"]);
    let made = found.limit.expect("what was made");
    assert_eq!(found.value, Some(20.0));
    assert!(made > 4.0 && made < 20.0, "{made} was made");
    silent(&script(4.0));
}

/// Five findings of three levels, out of order in the script.
const MIXED: &str = "min_cored(8);
let block = slab(\"block\", #{ outline: rect(90, 60), height: 60 });
bore(\"small\", #{ into: block.top, at: [-38, 22], dia: 6, depth: 20 });
bore(\"deep\", #{ into: block.top, at: [-30, 0], dia: 10, depth: 61 });
bore(\"down\", #{ into: block.top, dia: 10, depth: 40 });
bore(\"deeper\", #{ into: block.top, at: [32, 20], dia: 10, depth: 62 });
bore(\"across\", #{ into: block.side(\"right\"), dia: 10, depth: 60 });
";

#[test]
fn findings_come_by_level_and_then_by_line() {
    let build = built(MIXED);
    let order: Vec<_> = build
        .findings
        .iter()
        .map(|f| (f.level, f.code, f.features[0].0.as_str()))
        .collect();
    assert_eq!(
        order,
        [
            (Level::Stop, "breaks-into", "across"),
            (Level::Look, "comes-through", "deep"),
            (Level::Look, "comes-through", "deeper"),
            (Level::Note, "drill-later", "small"),
        ]
    );
    let lines: Vec<usize> = build
        .findings
        .iter()
        .map(|f| f.features[0].1.line)
        .collect();
    assert_eq!(lines, [7, 4, 6, 3]);
}

#[test]
fn allow_turns_a_finding_to_a_note_with_its_reason() {
    let script = format!("{MIXED}allow(\"comes-through\", [\"deep\"], \"a drain\");");
    let build = built(&script);
    let allowed: Vec<_> = build
        .findings
        .iter()
        .filter(|f| f.allowed.is_some())
        .collect();
    assert_eq!(allowed.len(), 1);
    assert_eq!(
        told(allowed[0]),
        ("comes-through", Level::Note, vec!["deep"], Some(61.0))
    );
    assert_eq!(allowed[0].allowed.as_deref(), Some("a drain"));
    // It is sorted among the notes now, by its line: after `small`, which stands before it.
    let notes: Vec<_> = build
        .findings
        .iter()
        .filter(|f| f.level == Level::Note)
        .map(|f| f.features[0].0.as_str())
        .collect();
    assert_eq!(notes, ["small", "deep"]);
    assert!(build.stops(), "the other findings stand");
}

#[test]
fn allow_a_stop_by_either_feature_or_a_list() {
    let one = format!("{MIXED}allow(\"breaks-into\", [\"down\"], \"an oil way\");");
    assert!(!built(&one).stops());
    let wrong = format!("{MIXED}allow(\"breaks-into\", [\"deep\"], \"not this one\");");
    assert!(built(&wrong).stops());
    let list = format!(
        "{PLATE}let holes = bore(\"holes\", #{{ into: plate.top, at: [[-15, 0], [15, 0]], dia: 8, depth: 13 }});
         allow(\"comes-through\", [holes], \"meant\");"
    );
    let build = built(&list);
    assert_eq!(build.findings.len(), 2);
    assert!(build.findings.iter().all(|f| f.level == Level::Note));
}
