//! `out-of-reach`, `tight-corner`, `too-deep`: for each a script that provokes it and nothing else, and one that comes
//! close and doesn't. Nothing shrinks here but where that is the matter.

use foamwright::fault::{Finding, Level};

use foamwright::shop::Build;

use super::built::{built_whole, near, said};

/// A cutter 6 wide with a reach of 25, in a holder of 20.
const CUTTERS: &str = "cutter(#{ dia: 6, reach: 25, holder_dia: 20 });\n";

/// A script built; its sharp corners are another check's matter.
fn built(source: &str) -> Build {
    let mut build = built_whole(source);
    build.findings.retain(|f| f.code != "sharp-inside");
    build
}

fn block(more: &str) -> String {
    format!(
        "shrink(0); {CUTTERS}
         let b = slab(\"b\", #{{ outline: rect(100, 80), height: 40 }});\n{more}"
    )
}

/// The one finding of a script, held against code and names.
#[track_caller]
fn only(source: &str, code: &str, names: &[&str]) -> Finding {
    let build = built(source);
    let said = said(&build);
    assert_eq!(said.len(), 1, "{:#?}", build.findings);
    assert_eq!(
        (said[0].0, said[0].1, &said[0].2[..]),
        (code, Level::Look, names)
    );
    build.findings[0].clone()
}

#[track_caller]
fn silent(source: &str) {
    let build = built(source);
    assert!(build.findings.is_empty(), "{:#?}", build.findings);
}

#[test]
fn out_of_reach_names_the_level_that_opens_a_side_bore() {
    let side = "bore(\"s\", #{ into: b.side(\"left\"), at: [0, 3], dia: 20, depth: 60 });";
    let found = only(&block(side), "out-of-reach", &["s"]);
    assert!(
        found.remedy.contains("at the height 23 mm"),
        "{}",
        found.remedy
    );
    assert!(found.remedy.contains("cored: false"), "{}", found.remedy);
    silent(&block("bore(\"s\", #{ into: b.top, dia: 20, depth: 20 });"));
}

#[test]
fn out_of_reach_gives_levels_of_the_drawing() {
    // Pattern and drawing differ by 2 percent: the level is the drawing's.
    let source = "shrink(2); let b = slab(\"b\", #{ outline: rect(100, 80), height: 40 });
         bore(\"s\", #{ into: b.side(\"left\"), at: [0, 3], dia: 20, depth: 60 });";
    let found = only(source, "out-of-reach", &["s"]);
    assert!(
        found.remedy.contains("at the height 23 mm"),
        "{}",
        found.remedy
    );
}

#[test]
fn out_of_reach_counts_a_boss_that_stands_out_over_a_plate() {
    let boss = |length: f64| {
        format!(
            "shrink(0); let b = slab(\"b\", #{{ outline: rect(100, 80), height: 10 }});
             let t = slab(\"t\", #{{ on: b.top, outline: rect(40, 40), height: 40 }});
             boss(\"k\", #{{ on: t.side(\"right\"), at: [0, 5], dia: 16, height: {length} }});"
        )
    };
    let found = only(&boss(20.0), "out-of-reach", &["k", "b"]);
    assert!(
        found.remedy.contains("a piece of its own"),
        "{}",
        found.remedy
    );
    // Its lower half over the plate, and the plate under it: a half cylinder and its plan.
    near(
        found.value.unwrap(),
        std::f64::consts::PI * 8.0 * 20.0 + 16.0 * 20.0,
        3.0,
    );
    // As long as the plate is wide it still lies over it; with no plate under it all is seen from below.
    silent(
        "shrink(0); let t = slab(\"t\", #{ outline: rect(40, 40), height: 40 });
         boss(\"k\", #{ on: t.side(\"right\"), dia: 16, height: 20 });",
    );
}

#[test]
fn out_of_reach_leaves_drilled_bores_alone() {
    let bore = |cored: bool| {
        format!(
            "let b = slab(\"b\", #{{ outline: rect(100, 80), height: 40 }});
             bore(\"s\", #{{ into: b.side(\"left\"), dia: 10, depth: 60, cored: {cored} }});"
        )
    };
    let codes =
        |source: &str| -> Vec<&str> { built(source).findings.iter().map(|f| f.code).collect() };
    assert_eq!(codes(&bore(false)), ["drill-later"]);
    assert_eq!(codes(&bore(true)), ["out-of-reach"]);
}

#[test]
fn tight_corner_of_a_pocket() {
    let pocket = |r: f64| {
        block(&format!(
            "pocket(\"p\", #{{ into: b.top, outline: rect(40, 30).corners({r}), depth: 10 }});"
        ))
    };
    let found = only(&pocket(1.0), "tight-corner", &["p"]);
    assert_eq!(found.limit, Some(6.0));
    // A cutter of radius 1 fills a corner of 1; one of r leaves (r - 1)(sqrt 2 - 1): 0.2 mm at r = 1.48.
    let widest = found.value.unwrap();
    assert!((1.95..=3.0).contains(&widest), "{widest}");
    silent(&pocket(3.0));
    let sharp = block("pocket(\"p\", #{ into: b.top, outline: rect(40, 30), depth: 10 });");
    let found = only(&sharp, "tight-corner", &["p"]);
    assert!(found.text.contains("sharp inside corner"), "{}", found.text);
}

#[test]
fn tight_corner_of_a_slot_and_between_features() {
    let slot = |width: f64| {
        block(&format!(
            "pocket(\"p\", #{{ into: b.top, outline: obround(40, {width}), depth: 10 }});"
        ))
    };
    let found = only(&slot(5.0), "tight-corner", &["p"]);
    near(found.value.unwrap(), 5.0, 0.1);
    assert!(found.text.contains("wide"), "{}", found.text);
    silent(&slot(6.1));
    let hole = block("bore(\"h\", #{ into: b.top, dia: 5.5, depth: 10 });");
    near(only(&hole, "tight-corner", &["h"]).value.unwrap(), 5.5, 0.1);
    let posts = |gap: f64| {
        block(&format!(
            "boss(\"k\", #{{ on: b.top, at: [-15, 0], dia: 20, height: 12 }});
             boss(\"m\", #{{ on: b.top, at: [{}, 0], dia: 20, height: 12 }});",
            5.0 + gap
        ))
    };
    let found = only(&posts(4.0), "tight-corner", &["m", "k"]);
    near(found.value.unwrap(), 4.0, 0.1);
    silent(&posts(6.2));
}

/// An upright cutter of diameter d leaves r - sqrt(r² - d²/4) at the bottom of a lying round of radius r, for its rim touches
/// first: 0.42 mm in one of 11, and 0.045 mm in one of 100, less than what always counts as reached.
#[test]
fn the_bottom_of_a_lying_round_is_not_called_narrow() {
    let trough = |radius: f64| {
        let (z, inside) = (35.0 + radius, 2.0 * radius);
        block(&format!(
            "tunnel(\"t\", #{{ from: [-60, 0, {z}], to: [60, 0, {z}], inside: {inside}, wall: 0 }});"
        ))
    };
    let found = only(&trough(11.0), "tight-corner", &["t"]);
    assert!(found.text.contains("lying round of t"), "{}", found.text);
    silent(&trough(100.0));
}

#[test]
fn too_deep_counts_the_holder() {
    let pocket = |depth: f64| {
        block(&format!(
            "pocket(\"p\", #{{ into: b.top, outline: rect(60, 50).corners(5), depth: {depth} }});"
        ))
    };
    let found = only(&pocket(30.0), "too-deep", &["p"]);
    near(found.value.unwrap(), 30.0, 0.5);
    assert_eq!(found.limit, Some(25.0));
    silent(&pocket(24.5));
}

#[test]
fn a_longer_cutter_that_fits_helps_and_a_wider_does_not() {
    let script = |more: &str| {
        block(&format!(
            "{more} pocket(\"p\", #{{ into: b.top, outline: obround(60, 8), depth: 30 }});"
        ))
    };
    only(
        &script("cutter(#{ dia: 12, reach: 60 });"),
        "too-deep",
        &["p"],
    );
    silent(&script("cutter(#{ dia: 7, reach: 60 });"));
}

#[test]
fn without_cutters_nothing_is_tight_or_deep() {
    silent(
        &block("pocket(\"p\", #{ into: b.top, outline: rect(40, 3), depth: 30 });")
            .replace(CUTTERS, ""),
    );
}

/// A part without fillets has a sharp corner at every junction: a few are told each on its own line, the rest on one.
#[test]
fn many_sharp_corners_share_a_line() {
    let pockets = |count: usize| -> String {
        let one = |k: usize| {
            format!(
                "pocket(\"p{k}\", #{{ into: b.top, at: [{}, 0], outline: rect(8, 30), depth: 10 }});\n",
                -40 + 14 * k as i32
            )
        };
        block(&(0..count).map(one).collect::<String>())
    };
    let lines = |count: usize| built(&pockets(count)).findings;
    let few = lines(4);
    assert_eq!(few.len(), 4);
    assert!(few.iter().all(|f| f.features.len() == 1));
    let many = lines(6);
    assert_eq!(many.len(), 4, "{many:#?}");
    let shared = many.iter().find(|f| f.features.len() == 3).unwrap();
    assert!(shared.text.contains("at 3 more places"), "{}", shared.text);
    assert_eq!(shared.limit, Some(6.0));
    // What is allowed keeps its own line and its reason.
    let allowed = format!(
        "{}allow(\"tight-corner\", [p5], \"filed\");",
        pockets(6).replace("pocket(\"p5\"", "let p5 = pocket(\"p5\"")
    );
    let found = built(&allowed).findings;
    let reason = |f: &&Finding| f.allowed.as_deref() == Some("filed");
    assert_eq!(found.iter().filter(reason).count(), 1);
    assert!(found.iter().any(|f| f.text.contains("at 2 more places")));
}
