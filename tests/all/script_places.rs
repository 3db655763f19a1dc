//! Where features and faults stand: lines, call chains, order.

use std::sync::Arc;

use crate::script::{Folder, faults, part, read_with, shown};
use foamwright::fault::Site;

fn chain(site: &Site) -> Vec<String> {
    std::iter::once(&site.span)
        .chain(&site.calls)
        .map(ToString::to_string)
        .collect()
}

#[test]
fn a_feature_remembers_its_line() {
    let part = part("part(\"p\");\n\n  let a = slab(\"a\", #{\n outline: disc(5), height: 3 });");
    assert_eq!(chain(&part.features[0].site), ["part.rhai:3:11"]);
    assert_eq!(part.features[0].site.span.length, 4);
}

#[test]
fn a_feature_made_in_a_function_remembers_who_called() {
    let part = part(
        "part(\"p\");\nfn post(n) { put(n); }\nfn put(n) { slab(n, #{ outline: disc(5), height: 3 }) }\n  post(\"a\");\nfor i in 0..2 { put(\"b\" + i); }",
    );
    assert_eq!(
        chain(&part.features[0].site),
        ["part.rhai:3:13", "part.rhai:2:14", "part.rhai:4:3"]
    );
    assert_eq!(
        chain(&part.features[1].site),
        ["part.rhai:3:13", "part.rhai:5:17"]
    );
    assert_eq!(part.features[0].site.script().line, 4);
}

#[test]
fn a_feature_made_in_a_module_remembers_the_script_line() {
    let library = [(
        "bosses",
        "// Bosses.\nimport \"pads\" as pads;\nfn tapped(n) { pads::put(n) }\nslab(\"own\", #{ outline: disc(5), height: 3 });",
    )];
    let folder = Folder(
        [(
            "pads.rhai",
            "fn put(n) {\n slab(n, #{ outline: disc(5), height: 3 }) }",
        )]
        .into(),
    );
    let script = "part(\"p\");\nimport \"bosses\" as bosses;\nfn two() { bosses::tapped(\"b\") }\nbosses::tapped(\"a\");\ntwo();";
    let read = read_with(script, Arc::new(folder), &library, &[])
        .unwrap_or_else(|u| panic!("{}", shown(&u)));
    let sites: Vec<Vec<String>> = read.part.features.iter().map(|f| chain(&f.site)).collect();
    assert_eq!(sites[0], ["library bosses:4:1", "part.rhai:2:8"]);
    assert_eq!(
        sites[1],
        ["pads.rhai:2:2", "library bosses:3:22", "part.rhai:4:9"]
    );
    assert_eq!(
        sites[2],
        [
            "pads.rhai:2:2",
            "library bosses:3:22",
            "part.rhai:3:20",
            "part.rhai:5:1"
        ]
    );
}

#[test]
fn an_import_inside_a_function_keeps_the_chain() {
    let library = [("own", "slab(\"own\", #{ outline: disc(5), height: 0 });")];
    let script = "part(\"p\");\nfn get() { import \"own\" as own; }\nget();";
    let unread = read_with(
        script,
        Arc::new(foamwright::script::NoModules),
        &library,
        &[],
    )
    .expect_err("height 0");
    let fault = &unread.faults.0[0];
    let calls: Vec<String> = fault.calls.iter().map(ToString::to_string).collect();
    assert_eq!(
        fault.span.as_ref().map(ToString::to_string),
        Some("library own:1:42".into())
    );
    assert_eq!(calls, ["part.rhai:2:19", "part.rhai:3:1"]);
    assert!(
        shown(&unread).contains("1 | slab(\"own\""),
        "{}",
        shown(&unread)
    );
}

#[test]
fn an_engine_error_in_a_module_keeps_the_chain() {
    let library = [("own", "fn f(x) {\n  x.y.z }")];
    let script = "part(\"p\");\nimport \"own\" as own;\nown::f(3);";
    let unread = read_with(
        script,
        Arc::new(foamwright::script::NoModules),
        &library,
        &[],
    )
    .expect_err("no such value");
    let fault = &unread.faults.0[0];
    assert_eq!(fault.span.as_ref().map(|s| s.line), Some(2));
    assert_eq!(
        fault.span.as_ref().map(|s| s.file.to_string()),
        Some("library own".into())
    );
    assert_eq!(
        fault
            .calls
            .iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>(),
        ["part.rhai:3:6"]
    );
}

#[test]
fn independent_faults_come_in_the_script_s_order() {
    let script = "part(\"p\");
fn bad(n) { slab(n, #{ outline: disc(5), height: -1 }) }
let a = slab(\"a\", #{ outline: disc(5), heihgt: 3 });
boss(\"on a\", #{ on: a.top, dia: 3, height: 2 });
bad(\"b\");
let c = boss(\"c\", #{ dia: 3, height: 2, on: a.side(\"left\"), tilt: 3 });
bad(\"d\");
finish(c.top);
colour(\"red\");
slab(\"e\", #{ outline: disc(\"five\"), height: 3 });
nothing_here;
slab(\"f\", #{ outline: disc(-1), height: 3 });";
    let faults = faults(script);
    let lines: Vec<(usize, &str)> = faults
        .0
        .iter()
        .map(|f| {
            (
                f.calls.last().or(f.span.as_ref()).map_or(0, |s| s.line),
                f.text.as_str(),
            )
        })
        .collect();
    // Line 4 and 8 only use what is broken; line 12 stands after the fault that ends the script. The
    // function of line 2 is told for each of its calls.
    assert_eq!(
        lines.iter().map(|l| l.0).collect::<Vec<_>>(),
        [3, 5, 6, 7, 9, 10, 11],
        "{lines:?}"
    );
}

#[test]
fn broken_values_pass_through_everything_in_silence() {
    let script = "part(\"p\");
let a = slab(\"a\", #{ outline: disc(5), height: 0 });
let o = rect(tap(\"M1000\"), 5).corners(2).plus(disc(4));
let n = tap(\"M1000\") / 2 + 1;
let p = a.center;
slab(\"b\", #{ outline: o, height: n, xyz: p });
slab(\"c\", #{ outline: disc(n * 2), height: p[2] });
for e in a.each { boss(e.name, #{ on: e.top, dia: 3, height: 3 }); }
mirrored(\"m\", [a], \"x\");
finish([a.top, a.bottom], 2);
bore(\"h\", #{ into: a.top, at: [n, 3], dia: 3, through: true, meets: [a] });
allow(\"capped\", [a], \"why\");";
    let faults = faults(script);
    let texts: Vec<&str> = faults.0.iter().map(|f| f.text.as_str()).collect();
    assert_eq!(texts.len(), 3, "{texts:?}");
    assert!(texts[0].contains("`height` must be over 0"));
    assert!(texts[1..].iter().all(|t| t.contains("M1000")), "{texts:?}");
}

#[test]
fn carets_find_keys_past_strings_comments_and_nested_maps() {
    let script = "part(\"p\");
let top = slab(\"a }, #{ dia: 1\", #{ /* dia: 2, */ outline: rect(4, 5), height: 3 });
bore(\"b\", #{ into: top.top, // dia: 9
    at: [[1, 1], [1, \"x\"]], 'q': 1, through: true, counterbore: #{ depth: 1, dia: 9 }, dia: -4 });";
    // A map literal takes names and texts as keys, and 'q' is neither: the engine says so.
    let faults = faults(script);
    assert_eq!(faults.0[0].span.as_ref().map(|s| s.line), Some(4));
    let script = script.replace("'q': 1, ", "\"q\": 1, ");
    let found = crate::script::faults(&script);
    let places: Vec<(usize, usize, usize)> = found
        .0
        .iter()
        .filter_map(|f| f.span.as_ref())
        .map(|s| (s.line, s.column, s.length))
        .collect();
    assert_eq!(places, [(4, 22, 3), (4, 29, 3), (4, 93, 2)], "{found:?}");
}

#[test]
fn keys_kept_under_a_name_are_found_there() {
    let script = "part(\"p\");
let post = #{ dia: 20, height: 12 };
let post = #{ dia: 20, height: -12 };
boss(\"a\", post);";
    let faults = faults(script);
    assert_eq!(
        faults.0[0].span.as_ref().map(ToString::to_string),
        Some("part.rhai:3:32".into())
    );
}

#[test]
fn marks_raw_texts_and_tabs_don_t_shift_the_caret() {
    let script = "\u{feff}part(\"p\");\r\n\tslab(#\"a \" \\ \"#, #{ /* /* } */ */ outline: disc(`5 in`), height: 0 });\r\n";
    let faults = faults(script);
    let places: Vec<String> = faults
        .0
        .iter()
        .filter_map(|f| f.span.as_ref())
        .map(ToString::to_string)
        .collect();
    let line = script.lines().nth(1).unwrap_or_default();
    let column = line.chars().position(|c| c == '0').map_or(0, |n| n + 1);
    assert_eq!(places, [format!("part.rhai:2:{column}")], "{faults:?}");
}
