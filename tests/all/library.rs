//! The built-in library: every function is explained and can be called; what it makes has the volume that its
//! sizes say, in a script in mm and in one in inches alike.

use std::f64::consts::PI;
use std::sync::Arc;

use foamwright::fault::{Level, render_all};
use foamwright::script::NoModules;
use foamwright::shop::{Bench, Build, LIBRARY, Stage, Wish, library_page};

use crate::built::figures;

/// Scripts that between them call every function; every length says its unit, so that `UNIT` can be any.
pub const PARTS: &[(&str, &str)] = &[
    (
        "box",
        r#"part("library box"); units("UNIT"); stock(mm(2)); fillets(mm(3));
import "bosses" as bosses; import "seals" as seals; import "bearings" as bearings;
import "spigots" as spigots; import "ribs" as ribs;
let box = slab("box", #{ outline: rect(mm(220), mm(140)).corners(mm(15)), height: mm(60) });
let chamber = hollow("chamber", #{ of: box, open: box.bottom, wall: mm(8), floor: mm(10), fillet: mm(5) });
finish(box.bottom);
bosses::tapped("posts", box.top, [[mm(-90), mm(-50)], [mm(-90), mm(50)]], 8, mm(22));
bosses::tapped("inch post", box.top, [mm(20), mm(50)], "1/4-20", mm(20));
bosses::drain("drain", box.side("front"), [mm(60), mm(-10)], "M16x1.5", mm(8), chamber);
bosses::lifting("eye", box.top, [mm(-60), 0], "M12", mm(32), mm(6));
bosses::pipe("gauge", box.top, [mm(60), mm(40)], "G1/4", mm(14), chamber);
bosses::pipe("vent", box.top, [mm(90), mm(40)], "NPT1/8", mm(12), chamber);
let pad = boss("pad", #{ on: box.top, dia: mm(60), height: mm(8) });
seals::pocket("seal", pad.top, [0, 0], 25, chamber);
let high = boss("bearing pad", #{ on: box.top, at: [mm(62), mm(-25)], dia: seals::seal(40)[0] + bearings::bearing(6202)[0], height: mm(16) });
bearings::pocket("bearing", high.top, [0, 0], 6204, chamber);
spigots::hose("spigot", box.side("right"), [0, 0], mm(25), mm(36), mm(4), chamber);
ribs::gusset("brace", box.top, [mm(-55), mm(40)], [mm(-20), mm(40)], mm(6), mm(20), mm(5), mm(3));"#,
    ),
    (
        "arm",
        r#"part("library arm"); units("UNIT"); stock(mm(2)); fillets(mm(3));
import "flanges" as flanges; import "clamps" as clamps; import "bearings" as bearings; import "ribs" as ribs;
let arm = slab("arm", #{ outline: belt([[0, 0, mm(80)], [mm(120), 0, mm(90)]]), height: mm(10) });
clamps::split("clamp", arm.top, [0, 0], 180, mm(20), mm(26), "M6", 1);
let hub = boss("hub", #{ on: arm.top, at: [mm(120), 0], dia: mm(44), height: mm(30) });
bearings::blind("end", hub.top, [0, 0], 6201, mm(4));
ribs::round("brace", arm.top, [mm(120), 0], mm(44), 3, 60, mm(36), mm(5), mm(16), mm(4));
let pipe = tunnel("pipe", #{ from: [mm(60), mm(-80), mm(5)], to: [mm(60), mm(80), mm(5)], inside: mm(20), wall: mm(5) });
flanges::bolt_circle("in flange", pipe.start, mm(70), mm(9), 4, mm(52), "M6", 45);
flanges::oval("out flange", pipe.end, mm(40), mm(9), mm(52), "M8", 0);"#,
    ),
    (
        "two screws",
        r#"part("library clamp"); units("UNIT"); stock(mm(1));
import "clamps" as clamps;
let base = slab("base", #{ outline: rect(mm(140), mm(80)), height: mm(10) });
clamps::split("clamp", base.top, [mm(-20), 0], 0, mm(30), mm(60), "M8", 2);"#,
    ),
];

/// A script built in a unit.
pub fn built_in(source: &str, unit: &str) -> Build {
    let source = source.replace("UNIT", unit);
    let built = Bench::new().build_text(
        &source,
        "library-part.rhai",
        Arc::new(NoModules),
        &Wish::default(),
        &|_| {},
    );
    built.unwrap_or_else(|failure| {
        let shown = render_all(&failure.faults, &|f| failure.texts.get(f).cloned());
        panic!("in {unit}: {shown}\n{source}")
    })
}

/// What the feature of this name added and removed (mm³).
fn change(build: &Build, name: &str) -> (f64, f64) {
    let at = build.part.features.iter().position(|f| f.name == name);
    let change = build.changes[at.unwrap_or_else(|| panic!("no feature {name}"))];
    (change.added_mm3, change.removed_mm3)
}

/// A cylinder's volume.
fn round(dia: f64, long: f64) -> f64 {
    PI / 4.0 * dia * dia * long
}

/// Round bodies are faceted: at most the facet off over their curved area, here generously 0.02 mm × π d l.
#[track_caller]
fn near(got: f64, want: f64, curved_mm2: f64) {
    let slack = 0.02 * curved_mm2 + 0.01;
    assert!((got - want).abs() < slack, "{got} is not {want} ± {slack}");
}

#[test]
fn every_function_is_explained() {
    for (module, source) in LIBRARY {
        let page = library_page(module, LIBRARY).expect("a module has a page");
        assert!(source.starts_with("// "), "{module} says what it is for");
        let heads: Vec<&str> = page
            .lines()
            .filter(|l| l.starts_with(&format!("{module}::")))
            .collect();
        assert!(!heads.is_empty());
        for head in heads {
            let (name, rest) = head.split_once('(').expect("a call");
            let page = library_page(name, LIBRARY).expect("a function has a page");
            assert!(
                page.contains(&format!("Example: {name}(")) || page.contains(&format!("{name}(")),
                "{name} shows how it is called"
            );
            let first = page.lines().nth(1).expect("what it makes").trim();
            assert!(
                first.starts_with("A ")
                    || first.starts_with("An ")
                    || first.ends_with('.')
                    || first.ends_with(','),
                "{name} begins with what it makes: {first}"
            );
            for parameter in rest.trim_end_matches(')').split(", ") {
                let told = page.lines().skip(1).any(|l| {
                    let l = l.trim_start();
                    l.starts_with(&format!("{parameter} "))
                        || l.contains(&format!("{parameter},"))
                        || l.contains(&format!(", {parameter} "))
                });
                assert!(told, "{name} doesn't tell of {parameter}");
            }
        }
    }
}

#[test]
fn every_function_is_called_here() {
    for (module, _) in LIBRARY {
        let page = library_page(module, LIBRARY).expect("a module has a page");
        for head in page
            .lines()
            .filter(|l| l.starts_with(&format!("{module}::")))
        {
            let call = head.split_inclusive('(').next().expect("a name");
            assert!(
                PARTS.iter().any(|(_, source)| source.contains(call)),
                "{call}…) is built by no test"
            );
        }
    }
}

#[test]
fn parts_are_the_same_in_either_unit_and_raise_nothing() {
    for (name, source) in PARTS {
        let (mm, inch) = (built_in(source, "mm"), built_in(source, "in"));
        for stage in [Stage::Finished, Stage::Casting] {
            let (a, b) = (figures(&mm, stage), figures(&inch, stage));
            assert!((a.volume_mm3 / b.volume_mm3 - 1.0).abs() < 1e-6, "{name}");
            assert_eq!((a.bodies, a.handles), (b.bodies, b.handles), "{name}");
            assert_eq!(a.bodies, 1, "{name}");
        }
        let wrong: Vec<&str> = mm
            .findings
            .iter()
            // What goes in from a side is out of reach by its nature.
            .filter(|f| f.level != Level::Note && f.code != "out-of-reach")
            .map(|f| f.text.as_str())
            .collect();
        assert!(wrong.is_empty(), "{name}: {wrong:#?}");
    }
}

#[test]
fn seal_pockets_fit_their_seals() {
    // Shaft 25: seal 40 × 7 (from memory: ISO 6194-1), a pocket 8 deep; 2 mm more for the shaft; 1 mm chamfer.
    let build = built_in(
        r#"part("t"); stock(mm(1)); import "seals" as seals;
let block = slab("block", #{ outline: rect(80, 80), height: 20 });
seals::pocket("seal", block.top, [0, 0], 25, block.bottom);"#,
        "mm",
    );
    let chamfer = PI / 3.0 * (21.0f64.powi(3) - 20.0f64.powi(3)) - PI * 400.0;
    let want = round(40.0, 8.0) + round(27.0, 12.0) + chamfer;
    near(
        change(&build, "seal").1,
        want,
        PI * (40.0 * 8.0 + 27.0 * 12.0 + 42.0 * 1.5),
    );
}

#[test]
fn bearing_pockets_fit_their_bearings() {
    // 6204: 20 × 47 × 14, 6308: 40 × 90 × 23 (from memory: ISO 15); the hole behind leaves 0.15 (D - d) a side.
    for (code, d, dia, wide) in [(6204, 20.0, 47.0, 14.0), (6308, 40.0, 90.0, 23.0)] {
        let build = built_in(
            &format!(
                r#"part("t"); stock(mm(1)); import "bearings" as bearings;
let block = slab("block", #{{ outline: rect(120, 120), height: 40 }});
bearings::pocket("bearing", block.top, [0, 0], {code}, block.bottom);"#
            ),
            "mm",
        );
        let hole = dia - 0.3 * (dia - d);
        let r: f64 = dia / 2.0;
        let chamfer = PI / 3.0 * ((r + 0.5).powi(3) - r.powi(3)) - PI * r * r * 0.5;
        let want = round(dia, wide) + round(hole, 40.0 - wide) + chamfer;
        near(
            change(&build, "bearing").1,
            want,
            PI * (dia * wide + hole * 40.0),
        );
    }
}

#[test]
fn tapped_bosses_are_drilled_for_their_taps() {
    // M8: drill 6.8 (from memory: ISO 2306), 2.5 × 8 deep. A low boss is drilled down to its foot.
    let build = built_in(
        r#"part("t"); stock(mm(1)); import "bosses" as bosses;
let plate = slab("plate", #{ outline: rect(80, 80), height: 10 });
bosses::tapped("high", plate.top, [-20, 0], 8, 30);
bosses::tapped("low", plate.top, [20, 0], "M8", 12);"#,
        "mm",
    );
    for (name, high, deep) in [("high", 30.0, 20.0), ("low", 12.0, 12.0)] {
        let (added, removed) = change(&build, name);
        near(added, round(18.0, high), PI * 18.0 * high);
        near(removed, round(6.8, deep), PI * 6.8 * deep);
    }
}

#[test]
fn a_hose_spigot_has_the_volume_of_its_profile() {
    // Pappus: a tail of radius 10 and 30 long, a collar, two beads that are circle segments, a chamfered end.
    let build = built_in(
        r#"part("t"); import "spigots" as spigots;
let plate = slab("plate", #{ outline: rect(80, 80), height: 10 });
spigots::hose("tail", plate.top, [0, 0], 20, 30, 3, plate.bottom);"#,
        "mm",
    );
    let (r, long, bead) = (10.0, 30.0, 20.0 / 16.0);
    let half: f64 = 1.5 * bead;
    let radius = (half * half + bead * bead) / (2.0 * bead);
    let angle = 2.0 * (half / radius).asin();
    let segment = radius * radius * (angle - angle.sin()) / 2.0;
    // Centroid of the segment over its chord.
    let over = (2.0 * half).powi(3) / (12.0 * segment) - (radius - bead);
    let beads = 2.0 * 2.0 * PI * (r + over) * segment;
    let collar = round(2.0 * (r + 1.5 * bead), long / 8.0) - round(2.0 * r, long / 8.0);
    let cut = half / 2.0;
    let chamfer = PI * r * r * cut - PI * cut / 3.0 * (r * r + r * (r - cut) + (r - cut).powi(2));
    let (added, removed) = (change(&build, "tail").0, change(&build, "tail bore").1);
    near(
        added,
        round(2.0 * r, long) + beads + collar - chamfer,
        PI * 26.0 * long,
    );
    near(removed, round(14.0, long + 10.0), PI * 14.0 * 40.0);
}

#[test]
fn an_unknown_size_is_told_with_those_that_are_known() {
    for (call, words) in [
        (
            r#"import "seals" as seals; seals::pocket("s", block.top, [0, 0], 26, block.bottom);"#,
            ["25", "28", "26"],
        ),
        (
            r#"import "bearings" as bearings; bearings::blind("b", block.top, [0, 0], 6299, 3);"#,
            ["6200", "6212", "6299"],
        ),
        (
            r#"import "bosses" as bosses; bosses::pipe("p", block.top, [0, 0], "G2", 9, block.bottom);"#,
            ["G1/8", "NPT", "G2"],
        ),
    ] {
        let source = format!(
            "part(\"t\"); stock(1);\nlet block = slab(\"block\", #{{ outline: rect(60, 60), height: 30 }});\n{call}"
        );
        let tried = Bench::new().build_text(
            &source,
            "t.rhai",
            Arc::new(NoModules),
            &Wish::default(),
            &|_| {},
        );
        let failure = tried.expect_err("an unknown size");
        let shown = render_all(&failure.faults, &|f| failure.texts.get(f).cloned());
        for word in words {
            assert!(shown.contains(word), "{word} in {shown}");
        }
        assert!(
            shown.contains("t.rhai:3:"),
            "the script's own line in {shown}"
        );
    }
}
