//! report.json: keys, order and units as its documentation gives them; figures against closed formulas.

use std::sync::Arc;

use foamwright::script::NoModules;
use foamwright::shop::{Bench, Build, Wish, foam_kg_m3, report_of};
use serde_json::Value;

/// A block with a slot milled into it, a lump beside it, and a hole too small to core.
const SCRIPT: &str = r#"
part("test block");
units("mm");
metal(#{ name: "testium", shrink: 2, density: 8000 });
min_cored(8);
let length = setting("length", 50);
let screw = setting("thread", "M6");
let plate = slab("plate", #{ outline: rect(length, 40), height: 10 });
pocket("slot", #{ into: plate.top, outline: rect(20, 10), depth: 4 });
bore("pin", #{ into: plate.top, at: [20, 15], dia: clear(screw), through: true });
slab("lump", #{ outline: rect(10, 10).at(60, 0), height: 10 });
allow("drill-later", ["pin"], "reamed anyway");
"#;

fn build() -> Build {
    Bench::new()
        .build_text(
            SCRIPT,
            "some/folder/block.rhai",
            Arc::new(NoModules),
            &Wish::default(),
            &|_| {},
        )
        .unwrap_or_else(|f| panic!("{:?}", f.faults))
}

fn json(timings: bool) -> Value {
    let text = report_of(&build(), "some/folder/block.rhai".as_ref(), timings).json();
    serde_json::from_str(&text).unwrap()
}

fn keys(value: &Value) -> Vec<&str> {
    value
        .as_object()
        .unwrap()
        .keys()
        .map(String::as_str)
        .collect()
}

#[test]
fn keys_and_their_order() {
    let report = json(false);
    let wanted = [
        "foamwright",
        "script",
        "part",
        "script_unit",
        "settings",
        "metal",
        "stages",
        "weights_kg",
        "features",
        "findings",
    ];
    assert_eq!(keys(&report), wanted);
    assert_eq!(
        keys(&report["metal"]),
        ["name", "shrink_percent", "density_kg_m3"]
    );
    assert_eq!(keys(&report["stages"]), ["finished", "casting", "pattern"]);
    assert_eq!(
        keys(&report["weights_kg"]),
        ["finished", "casting", "pattern"]
    );
    let figures = [
        "volume_mm3",
        "area_mm2",
        "low_mm",
        "high_mm",
        "bodies",
        "handles",
        "triangles",
    ];
    assert_eq!(keys(&report["stages"]["pattern"]), figures);
    assert_eq!(
        keys(&report["features"][0]),
        ["name", "word", "at", "added_mm3", "removed_mm3"]
    );
}

/// Times differ from run to run, so that they would change the file's bytes.
#[test]
fn seconds_come_only_when_asked_for() {
    assert!(json(false).get("seconds").is_none());
    let timed = json(true);
    assert_eq!(
        keys(&timed["seconds"]),
        ["script", "solids", "checks", "boards"]
    );
    let build = build();
    let text = |b: &Build| report_of(b, "block.rhai".as_ref(), false).json();
    assert_eq!(text(&build), text(&self::build()));
}

#[test]
fn what_the_script_says_is_there() {
    let report = json(false);
    assert_eq!(report["script"], "block.rhai");
    assert_eq!(report["part"], "test block");
    assert_eq!(report["script_unit"], "mm");
    assert_eq!(report["settings"]["length"].as_f64(), Some(50.0));
    assert_eq!(report["settings"]["thread"], "M6");
    assert_eq!(keys(&report["settings"]), ["length", "thread"]);
    assert_eq!(report["metal"]["name"], "testium");
    assert_eq!(report["features"][0]["name"], "plate");
    assert_eq!(report["features"][0]["at"], "block.rhai:8:13");
}

/// Prisms only, so that there is no facet in it: the casting leaves the hole solid, and the pattern is it × 1.02³.
#[test]
fn figures_are_those_of_the_formulas() {
    let report = json(false);
    let casting = 50.0 * 40.0 * 10.0 - 20.0 * 10.0 * 4.0 + 1000.0;
    let close = |value: &Value, wanted: f64| {
        let got = value.as_f64().unwrap();
        // Points are rounded to f32: 2^-24 of 70 mm, over some 7000 mm².
        assert!((got - wanted).abs() < 0.03, "{got} for {wanted}");
    };
    close(&report["stages"]["casting"]["volume_mm3"], casting);
    close(
        &report["stages"]["pattern"]["volume_mm3"],
        casting * 1.02f64.powi(3),
    );
    close(&report["features"][0]["added_mm3"], 20000.0);
    close(&report["features"][1]["removed_mm3"], 800.0);
    assert_eq!(report["stages"]["casting"]["bodies"], 2);
    assert_eq!(report["stages"]["casting"]["handles"], 0);
    assert_eq!(report["stages"]["finished"]["handles"], 1);
    let kg = |stage: &str| report["weights_kg"][stage].as_f64().unwrap();
    assert!((kg("casting") - casting * 1e-9 * 8000.0).abs() < 1e-6);
    assert!((kg("pattern") - casting * 1.02f64.powi(3) * 1e-9 * foam_kg_m3()).abs() < 1e-9);
}

#[test]
fn findings_carry_their_unit_and_leave_out_what_they_lack() {
    let report = json(false);
    let findings = report["findings"].as_array().unwrap();
    let of = |code: &str| {
        findings
            .iter()
            .find(|f| f["code"] == code)
            .unwrap_or_else(|| panic!("{code}: {report}"))
    };
    // A count has no unit, and says so by having none in its key.
    let lump = of("loose-lump");
    assert_eq!(
        (lump["level"].as_str(), lump["value"].as_f64()),
        (Some("stop"), Some(2.0))
    );
    let drill = of("drill-later");
    assert_eq!(
        (drill["level"].as_str(), drill["allowed"].as_str()),
        (Some("note"), Some("reamed anyway"))
    );
    assert!(
        drill.get("value").is_none(),
        "a length is value_mm: {drill}"
    );
    assert_eq!(drill["features"][0]["at"], "block.rhai:10:1");
    // From memory: ISO 273, medium fit of M6 is 6.6 mm.
    assert!(
        (drill["value_mm"].as_f64().unwrap() - 6.6).abs() < 0.05,
        "{drill}"
    );
    assert!(drill["limit_mm"].as_f64() == Some(8.0), "{drill}");
}

/// What isn't computed is absent, not null.
#[test]
fn nothing_is_null() {
    fn walk(value: &Value, path: &str) {
        match value {
            Value::Null => panic!("{path} is null"),
            Value::Array(all) => all.iter().for_each(|v| walk(v, path)),
            Value::Object(all) => all
                .iter()
                .for_each(|(k, v)| walk(v, &format!("{path}.{k}"))),
            _ => {}
        }
    }
    walk(&json(true), "");
}
