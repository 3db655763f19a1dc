//! Numbers as the shop writes them.

use crate::script::{faults, part, read_with, shown};
use foamwright::drawing::part::SettingValue;
use foamwright::measure::Unit;
use foamwright::script::NoModules;
use std::sync::Arc;

/// What an expression is worth, read through a setting.
fn worth(expression: &str) -> SettingValue {
    let part = part(&format!("part(\"p\");\nsetting(\"x\", {expression});"));
    part.settings[0].value.clone()
}

fn number(expression: &str) -> f64 {
    match worth(expression) {
        SettingValue::Number(n) => n,
        other => panic!("{expression} is {other:?}"),
    }
}

#[test]
fn quotients_and_mixed_arithmetic() {
    // The arithmetic of fractions, worked by hand.
    let table = [
        ("3/4", 0.75),
        ("6/2", 3.0),
        ("2-3/8", 1.625),
        ("2 + 3/8", 2.375),
        ("7 / 2 * 2", 7.0),
        ("1 + 0.5", 1.5),
        ("3 * 1.5 - 1", 3.5),
        ("10 / 4.0", 2.5),
        ("-3/4", -0.75),
        ("(1 + 2) / (2 + 2)", 0.75),
        ("2 ** 3", 8.0),
        ("7 % 4", 3.0),
        ("{ let x = 3; x /= 4; x }", 0.75),
        ("{ let x = 6; x /= 3; x }", 2.0),
        ("{ let x = 1.5; x /= 2; x }", 0.75),
        ("max(3, 2.5)", 3.0),
        ("abs(-2.5)", 2.5),
        ("sqrt(16.0)", 4.0),
    ];
    for (expression, value) in table {
        assert!(
            (number(expression) - value).abs() < 1e-12,
            "{expression} is {}",
            number(expression)
        );
    }
}

#[test]
fn a_whole_quotient_still_counts() {
    let part = part(
        "part(\"p\"); let p = slab(\"s\", #{ outline: disc(50), height: 5 });
         for i in 0..6/2 { boss(\"b\" + i, #{ on: p.top, dia: 4, height: 3 }); }
         bore(\"h\", #{ into: p.bottom, at: bolt_circle(8/2, 30), dia: 3, through: true });",
    );
    assert_eq!(part.features.len(), 1 + 3 + 4);
}

#[test]
fn angles_are_degrees() {
    // Values of the trigonometric functions at the angles that a school table gives.
    let root = |n: f64| n.sqrt();
    let table = [
        ("sin(30)", 0.5),
        ("sin(90)", 1.0),
        ("cos(60.0)", 0.5),
        ("cos(90)", 0.0),
        ("sin(45)", root(2.0) / 2.0),
        ("tan(60)", root(3.0)),
        ("tan(45)", 1.0),
        ("asin(0.5)", 30.0),
        ("asin(1)", 90.0),
        ("acos(0.5)", 60.0),
        ("acos(-1)", 180.0),
        ("atan(1)", 45.0),
        ("atan(1.0, -1.0)", 135.0),
        ("atan(3, 0)", 90.0),
        ("sin(atan(3, 4))", 0.6),
    ];
    for (expression, value) in table {
        assert!(
            (number(expression) - value).abs() < 1e-12,
            "{expression} is {}",
            number(expression)
        );
    }
    // At quarter turns exactly, so that bolt circles lie on their axes.
    assert_eq!(number("sin(180)"), 0.0);
    assert_eq!(number("cos(270)"), 0.0);
}

/// The height of a slab, in mm, as its free end shows it.
fn height(unit: &str, height: &str) -> f64 {
    let source = format!(
        "part(\"p\");\nunits(\"{unit}\");\nlet s = slab(\"s\", #{{ outline: disc(1), height: {height} }});
         setting(\"up\", s.center[2] * 2);"
    );
    let part = part(&source);
    let SettingValue::Number(up) = part.settings[0].value else {
        panic!("no number")
    };
    assert_eq!(part.unit, if unit == "in" { Unit::Inch } else { Unit::Mm });
    up * part.unit.mm()
}

#[test]
fn lengths_in_both_units() {
    // 1 in = 25.4 mm exactly (the international inch, 1959).
    let table = [
        ("mm", "12", 12.0),
        ("mm", "\"3/4\"", 0.75),
        ("mm", "\"2-3/8\"", 2.375),
        ("mm", "\"1 in\"", 25.4),
        ("mm", "\"20 mm\"", 20.0),
        ("mm", "inch(3/4)", 19.05),
        ("mm", "inch(\"2-3/8\")", 60.325),
        ("mm", "mm(20)", 20.0),
        ("in", "2", 50.8),
        ("in", "3/4", 19.05),
        ("in", "\"2-3/8\"", 60.325),
        ("in", "\"20 mm\"", 20.0),
        ("in", "mm(20)", 20.0),
        ("in", "inch(2)", 50.8),
        ("in", "0.5 + 1/4", 19.05),
    ];
    for (unit, text, mm) in table {
        assert!(
            (height(unit, text) - mm).abs() < 1e-9,
            "{text} in {unit} is {} mm",
            height(unit, text)
        );
    }
}

#[test]
fn dash_fractions_are_found_where_a_shop_writes_them() {
    let found = |line: &str| {
        let part = part(&format!("part(\"p\"); let n2 = 5; let n = 7;\n{line}"));
        part.findings
            .iter()
            .filter(|f| f.code == "dash-fraction")
            .count()
    };
    for line in [
        "let a = 2-3/8;",
        "let a = [1-1/2, 3-15/16];",
        "let a = 4*(2-1/64);",
    ] {
        assert!(found(line) > 0, "{line}");
    }
    for line in [
        "let a = \"2-3/8\";",
        "// a note of 2-3/8",
        "/* 2-3/8 */",
        "let a = 2 - 3/8;",
        "let a = 2-8/8;",
        "let a = 2-9/8;",
        "let a = 2-3/7;",
        "let a = n2-3/8;",
        "let a = 1.2-3/8;",
        "let a = 2-3/8.5;",
        "let a = 2-3/n;",
    ] {
        assert_eq!(found(line), 0, "{line}");
    }
    let part = part("part(\"p\");\nslab(\"s\", #{ outline: rect(9, 2-3/8), height: 1 });");
    let finding = &part.findings[0];
    assert_eq!(finding.features[0].1.to_string(), "part.rhai:2:31");
    assert_eq!(finding.features[0].1.length, 5);
    assert_eq!(finding.value, Some(1.625));
}

#[test]
fn settings_are_overridden_in_kind() {
    let read =
        |script: &str, over: &[(&str, &str)]| read_with(script, Arc::new(NoModules), &[], over);
    let value = |script: &str, name: &str, text: &str| {
        let read = read(script, &[(name, text)]).unwrap_or_else(|u| panic!("{}", shown(&u)));
        read.part.settings[0].value.clone()
    };
    let script = "part(\"p\"); setting(\"bore\", 5);";
    assert_eq!(value(script, "bore", "3/4"), SettingValue::Number(0.75));
    assert_eq!(value(script, "bore", "2-3/8"), SettingValue::Number(2.375));
    assert_eq!(value(script, "bore", "7"), SettingValue::Number(7.0));
    assert_eq!(value(script, "bore", "1 in"), SettingValue::Number(25.4));
    assert_eq!(
        value("part(\"p\"); setting(\"t\", \"M8\");", "t", "M10"),
        SettingValue::Text("M10".into())
    );
    assert_eq!(
        value("part(\"p\"); setting(\"f\", true);", "f", "false"),
        SettingValue::Flag(false)
    );
    let wrong = read(script, &[("bore", "wide")]).expect_err("no number");
    assert!(shown(&wrong).contains("part.rhai:1:"), "{}", shown(&wrong));
    let unknown = read(script, &[("boer", "3")]).expect_err("no such setting");
    assert!(
        shown(&unknown).contains("did you mean `bore`?"),
        "{}",
        shown(&unknown)
    );
}

#[test]
fn a_count_stays_a_count_when_overridden() {
    let script = "part(\"p\"); let n = setting(\"n\", 4);
        let p = slab(\"p\", #{ outline: disc(90), height: 5 });
        bore(\"h\", #{ into: p.top, at: bolt_circle(n, 60), dia: 5, through: true });";
    let read = read_with(script, Arc::new(NoModules), &[], &[("n", "6")]);
    assert_eq!(read.map(|r| r.part.features.len()).unwrap_or_default(), 7);
}

#[test]
fn zero_is_none_only_where_it_says_so() {
    part(
        "part(\"p\"); stock(0); min_cored(0); shrink(0); fillets(0);
         slab(\"s\", #{ outline: disc(20).corners(0).grown(0), height: 5, fillet: 0, draft: 0, round: 0 });
         tunnel(\"t\", #{ from: [0, 0, 0], to: [0, 0, 5], inside: 3, wall: 0 });",
    );
    for bad in ["disc(0)", "rect(0, 5)", "disc(-1)"] {
        let faults = faults(&format!(
            "part(\"p\"); slab(\"s\", #{{ outline: {bad}, height: 5 }});"
        ));
        assert!(
            faults.0[0].text.contains("must be over 0"),
            "{:?}",
            faults.0
        );
    }
}
