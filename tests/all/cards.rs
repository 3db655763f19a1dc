//! What the page shows of features, settings and findings.

use std::path::Path;

use foamwright::sheet::card::{feature_cards, finding_cards, setting_cards};
use foamwright::shop::Build;
use foamwright::shop::report_of;

use crate::built::built;

fn sizes(build: &Build, name: &str) -> String {
    let cards = feature_cards(&build.part, &build.changes, &|f| f.to_string());
    let card = cards.iter().find(|c| c.name == name).unwrap();
    let sizes: Vec<String> = card.sizes.iter().map(|s| s.join(" ")).collect();
    sizes.join(", ")
}

/// The sizes are those of the script, under the names of its keys.
#[test]
fn features_say_their_sizes_in_the_scripts_unit() {
    let build = built(
        "let p = slab(\"p\", #{ outline: rect(120, 80).corners(8), height: 12, round: 2 });\
         let b = boss(\"b\", #{ on: p.top, dia: 30, height: 20, draft: 1.5, fillet: 3 });\
         bore(\"c\", #{ into: b.top, dia: 8, depth: 15, counterbore: #{ dia: 14, depth: 5 } });\
         bore(\"k\", #{ into: p.top, at: [50, 0], dia: 6, through: true, countersink: #{ dia: 12, angle: 90 } });\
         pocket(\"q\", #{ into: p.top, at: [-45, 0], outline: rect(20, 10), depth: 4 });\
         groove(\"g\", #{ into: p.top, along: [[20, 30], [50, 30]], width: 3, depth: 2 });\
         rib(\"r\", #{ on: p.top, from: [-50, -30], to: [-20, -30], thick: 4, height: [10, 2] });",
    );
    for (name, said) in [
        ("p", "outline 120 x 80 mm, height 12 mm, round 2 mm"),
        ("b", "dia 30 mm, height 20 mm, draft 1.5°, fillet 3 mm"),
        ("c", "dia 8 mm, depth 15 mm, counterbore 14 x 5 mm"),
        ("k", "dia 6 mm, depth through, countersink 12 mm x 90°"),
        ("q", "outline 20 x 10 mm, depth 4 mm"),
        ("g", "width 3 mm, depth 2 mm, length 30 mm"),
        ("r", "thick 4 mm, length 30 mm, height 10 to 2 mm"),
    ] {
        assert_eq!(sizes(&build, name), said, "{name}");
    }
    let build = built("units(\"in\"); slab(\"p\", #{ outline: disc(\"2-3/8\"), height: 1/2 });");
    assert_eq!(sizes(&build, "p"), "dia 2.375 in, height 0.5 in");
}

/// The line that keeps a value differs from the script's own in that value alone.
#[test]
fn settings_say_the_line_to_write() {
    let lines = [
        "let a = setting(\"a\", 5); // wall, of (the) rim",
        "let b = setting( \"b, (x)\" ,  [1, 2].len() + max(3, 4) ) * 2;",
        "let c = setting(\"c\", \"M8\");",
        "let d = setting(\"d\",true); let e = setting(\"e\", 7);",
        "let f = setting(\"f\",",
        "    9);",
    ];
    let text = format!(
        "part(\"t\");\n{}\nslab(\"p\", #{{ outline: rect(9, 9), height: a }});",
        lines.join("\n")
    );
    let set = |n: &str, v: &str| (n.to_string(), v.to_string());
    let wish = foamwright::shop::Wish {
        overrides: vec![
            set("a", "2-1/2"),
            set("b, (x)", "8"),
            set("c", "say \"x\\y\""),
            set("d", "false"),
            set("f", "1"),
        ],
        facet_mm: None,
        ..Default::default()
    };
    let mut bench = foamwright::shop::Bench::new();
    let modules = std::sync::Arc::new(foamwright::script::NoModules);
    let build = bench
        .build_text(&text, "t.rhai", modules, &wish, &|_| {})
        .unwrap();
    let cards = setting_cards(&build.part, &|f| f.to_string(), &|span| {
        text.lines().nth(span.line - 1).map(str::to_string)
    });
    let wanted = [
        (
            "number",
            "2.5",
            "5",
            Some("let a = setting(\"a\", 2.5); // wall, of (the) rim"),
        ),
        (
            "number",
            "8",
            "6",
            Some("let b = setting( \"b, (x)\" ,  8) * 2;"),
        ),
        (
            "text",
            "say \"x\\y\"",
            "M8",
            Some("let c = setting(\"c\", \"say \\\"x\\\\y\\\"\");"),
        ),
        (
            "flag",
            "false",
            "true",
            Some("let d = setting(\"d\",false); let e = setting(\"e\", 7);"),
        ),
        ("number", "7", "7", Some(lines[3])),
        ("number", "1", "9", None),
    ];
    assert_eq!(cards.len(), wanted.len());
    for (card, (kind, value, default, write)) in cards.iter().zip(wanted) {
        let got = (
            card.kind,
            card.value.as_str(),
            card.default.as_str(),
            card.write.as_deref(),
        );
        assert_eq!(got, (kind, value, default, write));
    }
    // Written so, the script means what was wished: the value comes back without any wish.
    let kept = cards[2].write.clone().unwrap();
    let again = text.replace(lines[2], &kept);
    let modules = std::sync::Arc::new(foamwright::script::NoModules);
    let build = bench
        .build_text(
            &again,
            "t.rhai",
            modules,
            &foamwright::shop::Wish::default(),
            &|_| {},
        )
        .unwrap();
    assert_eq!(build.part.settings[2].value, build.part.settings[2].default);
    let cards = setting_cards(&build.part, &|f| f.to_string(), &|_| None);
    assert_eq!(cards[2].value, "say \"x\\y\"");
}

/// A finding keeps its key when lines move and texts change; two alike are told apart.
#[test]
fn findings_keep_their_keys() {
    let part = |lead: &str, dia: u32| {
        built(&format!(
            "{lead} let p = slab(\"p\", #{{ outline: rect(60, 40), height: 20 }});\
             bore(\"a\", #{{ into: p.top, dia: {dia}, depth: 12 }});\
             bore(\"b\", #{{ into: p.side(\"front\"), dia: 6, depth: 22 }});"
        ))
    };
    let keys = |build: &Build| -> Vec<String> {
        let cards = finding_cards(&build.part, &build.findings, &|f| f.to_string());
        cards.into_iter().map(|c| c.key).collect()
    };
    let (was, now) = (part("", 8), part("\n\n\n", 9));
    assert!(!was.findings.is_empty());
    assert_ne!(was.findings, now.findings);
    assert_eq!(keys(&was), keys(&now));
    let mut twice = was.clone();
    twice.findings.push(was.findings[0].clone());
    let mut all = keys(&twice);
    all.sort();
    all.dedup();
    assert_eq!(all.len(), twice.findings.len());
    let cards = finding_cards(&was.part, &was.findings, &|f| f.to_string());
    assert_eq!(cards[0].features.len(), was.findings[0].features.len());
    // The report gives the same.
    let report: serde_json::Value =
        serde_json::from_str(&report_of(&was, Path::new("t.rhai"), false).json()).unwrap();
    let rows = report["findings"].as_array().unwrap();
    let told: Vec<_> = rows
        .iter()
        .map(|r| r["key"].as_str().unwrap().to_string())
        .collect();
    assert_eq!(told, keys(&was));
}
