//! Points, profiles, faces and marks as the drawing gets them.

use crate::script::{faults, part};
use foamwright::drawing::Part;
use foamwright::drawing::feature::Form;
use foamwright::drawing::part::StockRule;
use foamwright::measure::Vec3;

/// Where the instances of the last word stand.
fn origins(part: &Part) -> Vec<Vec3> {
    part.features.iter().map(|f| f.frame.origin).collect()
}

fn placed(points: &str) -> Vec<Vec3> {
    let part = part(&format!(
        "part(\"p\"); let list = {points}; boss(\"b\", #{{ dia: 2, height: 3, at: list }});"
    ));
    origins(&part)
}

fn close(got: &[Vec3], wanted: &[(f64, f64)]) {
    assert_eq!(got.len(), wanted.len());
    for (g, w) in got.iter().zip(wanted) {
        assert!(
            (g.x - w.0).abs() < 1e-9 && (g.y - w.1).abs() < 1e-9,
            "{got:?} is not {wanted:?}"
        );
    }
}

#[test]
fn lists_of_points() {
    close(
        &placed("bolt_circle(4, 20)"),
        &[(10.0, 0.0), (0.0, 10.0), (-10.0, 0.0), (0.0, -10.0)],
    );
    // x = r cos, y = r sin, at 30° and 210°.
    let (x, y) = (10.0 * 0.75f64.sqrt(), 5.0);
    close(&placed("bolt_circle(2, 20, 30)"), &[(x, y), (-x, -y)]);
    close(
        &placed("grid(3, 2, 10, 4)"),
        &[
            (-10.0, -2.0),
            (0.0, -2.0),
            (10.0, -2.0),
            (-10.0, 2.0),
            (0.0, 2.0),
            (10.0, 2.0),
        ],
    );
    close(
        &placed("rect_corners(8, 6)"),
        &[(-4.0, -3.0), (4.0, -3.0), (4.0, 3.0), (-4.0, 3.0)],
    );
    close(
        &placed("rect_corners(8, 6).moved(1, \"1 in\")")[..1],
        &[(-3.0, 22.4)],
    );
    close(
        &placed("[[1, 2], [\"3/4\", 0]]"),
        &[(1.0, 2.0), (0.75, 0.0)],
    );
}

#[test]
fn one_point_in_a_list_is_a_list() {
    let names = |at: &str| {
        let part = part(&format!(
            "part(\"p\"); boss(\"b\", #{{ dia: 2, height: 3, at: {at} }});"
        ));
        part.features
            .iter()
            .map(|f| f.name.clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(names("[1, 2]"), ["b"]);
    assert_eq!(names("[[1, 2]]"), ["b.1"]);
    assert_eq!(names("[[1, 2], [3, 4]]"), ["b.1", "b.2"]);
}

/// The bulges of a profile given as a list.
fn bulges(profile: &str) -> Vec<(f64, f64, f64)> {
    let part = part(&format!(
        "part(\"p\"); turned(\"t\", #{{ profile: {profile} }});"
    ));
    let Form::Turned(turned) = &part.features[0].form else {
        panic!("no turned body")
    };
    turned.profile.iter().map(|p| (p.r, p.z, p.bulge)).collect()
}

#[test]
fn arcs_of_a_profile() {
    // A quarter circle's bulge is tan(90°/4); a half circle's is 1.
    let quarter = (std::f64::consts::PI / 8.0).tan();
    let got = bulges("[[0, 0], [10, 0], #{ to: [0, 10], radius: 10 }]");
    assert!((got[1].2 - quarter).abs() < 1e-12, "{got:?}");
    // Through the middle of the same arc.
    let m = 10.0 * 0.5f64.sqrt();
    let got = bulges(&format!(
        "[[0, 0], [10, 0], #{{ to: [0, 10], through: [{m}, {m}] }}]"
    ));
    assert!((got[1].2 - quarter).abs() < 1e-12, "{got:?}");
    // The other way round: a hollow corner.
    let got = bulges("[[0, 0], [10, 0], #{ to: [0, 10], radius: -10 }]");
    assert!((got[1].2 + quarter).abs() < 1e-12, "{got:?}");
    let got = bulges("[[0, -5], #{ to: [0, 5], radius: 5 }]");
    assert!((got[0].2 - 1.0).abs() < 1e-12, "{got:?}");
    // Three quarters of a circle about (20, 0), split at its middle: two arcs of 135°, tan(135°/4).
    let got = bulges("[[25, 0], #{ to: [20, -5], through: [15, 0] }]");
    assert_eq!(got.len(), 3);
    let eighth = (135.0f64 / 4.0).to_radians().tan();
    assert!(
        (got[0].2 - eighth).abs() < 1e-9 && (got[1].2 - eighth).abs() < 1e-9,
        "{got:?}"
    );
    assert!(
        ((got[1].0 - 20.0).hypot(got[1].1) - 5.0).abs() < 1e-9,
        "{got:?}"
    );
}

#[test]
fn faulty_profiles() {
    let told = |profile: &str| {
        faults(&format!(
            "part(\"p\"); turned(\"t\", #{{ profile: {profile} }});"
        ))
        .0[0]
            .text
            .clone()
    };
    assert!(told("[[0, 0], [-3, 0], [0, 5]]").contains("must not be negative"));
    assert!(told("[[0, 0], [9, 0], #{ to: [0, 9] }]").contains("needs `radius` or `through`"));
    assert!(told("[[0, 0], [9, 0], #{ to: [0, 9], radius: 3 }]").contains("too small"));
    assert!(told("[[0, 0], [9, 0], #{ to: [0, 9], through: [4.5, 4.5] }]").contains("in a line"));
    assert!(told("[[0, 0], [9, 0, \"a\"], [9, 3, \"a\"], [0, 5]]").contains("named \"a\""));
    assert!(told("[#{ to: [0, 9], radius: 9 }, [0, 0]]").contains("takes a list"));
}

#[test]
fn what_the_part_is_told() {
    let part = part(
        "part(\"valve chest\"); units(\"in\"); metal(\"grey iron\"); shrink([1, 1.1, 1.2]); stock_grade(\"H\", \"CT12\");
         min_cored(1/4); fillets(1/8); facet(0.05); note(\"one\"); note(\"two\");
         let p = slab(\"p\", #{ outline: disc(3), height: 1, at: [[0, 0], [5, 0]] });
         allow(\"capped\", [p, \"p.2\"], \"why\"); finish(p.top); finish([p.each[0].bottom, level(1)], 1/16);",
    );
    assert_eq!(part.name, "valve chest");
    assert_eq!(part.metal.name, "grey iron");
    assert_eq!(part.metal.shrink_percent, [1.0, 1.1, 1.2]);
    assert_eq!(part.stock, StockRule::Grade { rma: 'H', ct: 12 });
    assert!((part.min_cored_mm - 6.35).abs() < 1e-12 && (part.fillets_mm - 3.175).abs() < 1e-12);
    assert_eq!(part.facet_mm, 0.05);
    assert_eq!(part.notes, ["one", "two"]);
    assert_eq!(part.allows[0].features, ["p", "p.2"]);
    assert_eq!(part.marks.len(), 4);
    assert_eq!(part.marks[0].stock_mm, None);
    assert!(
        part.marks[3]
            .stock_mm
            .is_some_and(|s| (s - 1.5875).abs() < 1e-12)
    );
}

#[test]
fn shrink_from_a_test_bar() {
    // pattern = casting × (1 + shrink/100): 250 / 246.8 - 1 = 1.2966 %.
    let part = part(
        "part(\"p\"); shrink_measured(#{ pattern: 250, casting: 246.8 }); slab(\"s\", #{ outline: disc(3), height: 1 });",
    );
    let shrink = part.metal.shrink_percent;
    assert!(
        (246.8 * (1.0 + shrink[0] / 100.0) - 250.0).abs() < 1e-9,
        "{shrink:?}"
    );
}

#[test]
fn values_of_a_feature() {
    let part = part(
        "part(\"p\"); units(\"in\"); let a = slab(\"a\", #{ outline: rect(4, 2).at(2, 1), height: 1 });
         setting(\"x\", a.center[0]); setting(\"z\", a.center[2]); setting(\"y\", a.xy[1]); setting(\"n\", a.name);
         setting(\"c\", a.each.len());",
    );
    let value = |n: usize| format!("{:?}", part.settings[n].value);
    assert_eq!(value(0), "Number(2.0)");
    assert_eq!(value(1), "Number(0.5)");
    assert_eq!(value(2), "Number(1.0)");
    assert_eq!(value(3), "Text(\"a\")");
    assert_eq!(value(4), "Number(1.0)");
}
