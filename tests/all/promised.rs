//! `wall-cut` and `sharp-inside` against dimensions worked out by hand.

use foamwright::fault::{Finding, Level};

use super::built::{built, built_whole, near, said};

/// A slab 40 high with a tunnel along x at height 15, 12 inside, its wall 5: the wall reaches up to 26. A pocket from above
/// leaves `left` over the inside.
fn pocket_over_tunnel(left: f64, more: &str) -> String {
    let depth = 40.0 - (15.0 + 6.0 + left);
    format!(
        "min_wall(4);
         let s = slab(\"s\", #{{ outline: rect(120, 60), height: 40 }});
         let t = tunnel(\"t\", #{{ from: [-60, 0, 15], to: [60, 0, 15], inside: 12, wall: 5 }});
         pocket(\"p\", #{{ into: s.top, outline: rect(30, 24), depth: {depth}{more} }});"
    )
}

fn of_code(source: &str, code: &str) -> Vec<Finding> {
    let build = built_whole(source);
    let found = build.findings.into_iter();
    found.filter(|f| f.code == code).collect()
}

/// The costly mistake: a pocket milled down over a tunnel. A facet of 0.02 each way.
#[test]
fn a_pocket_over_a_tunnel_is_told_with_what_is_left() {
    for left in [3.0, 2.0, 0.3] {
        let found = of_code(&pocket_over_tunnel(left, ""), "wall-cut");
        let [one] = &found[..] else {
            panic!("{left}: {found:?}");
        };
        assert_eq!(one.level, Level::Stop);
        near(one.value.expect("what is left"), left, 0.04);
        near(one.limit.expect("what was promised"), 5.0, 1e-9);
        let names: Vec<&str> = one.features.iter().map(|(n, _)| n.as_str()).collect();
        assert_eq!(names, ["t", "p"]);
        let lines: Vec<usize> = one.features.iter().map(|(_, s)| s.line).collect();
        assert_eq!(lines, [3, 4], "the lines of both");
        // The pocket's floor is 24 wide; the wall is 11 round, at 15 - and cut at 21 + left.
        let half = (11.0_f64.powi(2) - (6.0 + left).powi(2)).sqrt();
        let at = one.at_mm.expect("a place");
        near(at[0], 0.0, 0.05);
        near(at[1], 0.0, 0.05);
        near(at[2], 15.0 + (6.0 + left + 11.0) / 2.0, 0.05);
        assert!(one.text.contains("over 30 mm x"), "{} of {half}", one.text);
    }
}

#[test]
fn a_wall_that_is_left_whole_is_not_told() {
    for left in [5.0, 6.0] {
        assert_eq!(of_code(&pocket_over_tunnel(left, ""), "wall-cut"), []);
    }
}

/// Under the least wall it stops, over it it is worth a look.
#[test]
fn what_is_still_thick_enough_is_worth_a_look() {
    let found = of_code(&pocket_over_tunnel(4.5, ""), "wall-cut");
    let levels: Vec<Level> = found.iter().map(|f| f.level).collect();
    assert_eq!(levels, [Level::Look]);
}

/// Broken through, `breaks-into` says it, once; announced, nobody does.
#[test]
fn what_breaks_through_is_told_once() {
    let source = pocket_over_tunnel(-2.0, "");
    assert_eq!(of_code(&source, "wall-cut"), []);
    assert_eq!(of_code(&source, "breaks-into").len(), 1);
    let meant = pocket_over_tunnel(-2.0, ", meets: t");
    assert_eq!(of_code(&meant, "wall-cut"), []);
    assert_eq!(of_code(&meant, "breaks-into"), []);
    // Just touching: nothing is left, and nothing is shared.
    let touching = of_code(&pocket_over_tunnel(0.0, ""), "wall-cut");
    let [one] = &touching[..] else {
        panic!("{touching:?}");
    };
    near(one.value.expect("what is left"), 0.0, 0.04);
}

/// A hollow's wall of 6 and its floor of 8: bores from outside, 4 and 3 deep, leave 2 and 5.
#[test]
fn a_hollow_has_a_wall_and_a_floor() {
    let source = "min_wall(1.5);
         let b = slab(\"b\", #{ outline: rect(80, 60), height: 40 });
         hollow(\"h\", #{ of: b, open: b.bottom, wall: 6, floor: 8 });
         bore(\"side\", #{ into: b.side(\"front\"), dia: 8, depth: 4 });
         bore(\"lid\", #{ into: b.top, dia: 8, depth: 3 });";
    let found = of_code(source, "wall-cut");
    let said: Vec<(&str, f64, f64)> = found
        .iter()
        .map(|f| (f.features[1].0.as_str(), f.value.unwrap(), f.limit.unwrap()))
        .collect();
    assert_eq!(said.len(), 2, "{said:?}");
    for (name, left, promised) in said {
        let (want_left, want_promised) = if name == "side" {
            (2.0, 6.0)
        } else {
            (5.0, 8.0)
        };
        near(left, want_left, 0.03);
        near(promised, want_promised, 1e-9);
    }
}

/// A boss 30 across with a bore of 14 has a wall of 8 round it: a slot 24 wide that ends 11 off its axis leaves 4. A bolt
/// hole that is made into the boss itself is the script's own choice.
#[test]
fn a_boss_has_a_wall_round_its_bore() {
    let source = "min_wall(3);
         let s = slab(\"s\", #{ outline: rect(100, 60), height: 10 });
         let b = boss(\"b\", #{ on: s.top, dia: 30, height: 20, bore: 14, fillet: 0 });
         bore(\"own\", #{ into: b.top, at: [0, 11], dia: 3, depth: 8 });
         pocket(\"slot\", #{ into: face(#{ at: [0, 0, 30], facing: [0, 0, 1] }), at: [31, 0], outline: rect(40, 24), depth: 15, meets: s });";
    let found = of_code(source, "wall-cut");
    let names: Vec<&str> = found.iter().map(|f| f.features[1].0.as_str()).collect();
    assert_eq!(names, ["slot"]);
    near(found[0].value.expect("what is left"), 4.0, 0.04);
}

/// A rib across a chamber stands in it by the script's word; a tunnel with a wall through a hollow that it names keeps it.
#[test]
fn what_is_filled_is_not_missing() {
    let source = "let b = slab(\"b\", #{ outline: rect(80, 60), height: 40 });
         let h = hollow(\"h\", #{ of: b, open: b.top, wall: 6, floor: 8 });
         tunnel(\"t\", #{ from: [-40, 0, 20], to: [40, 0, 20], inside: 8, wall: 4, fills: h });";
    assert_eq!(of_code(source, "wall-cut"), []);
}

/// A boss's foot without a fillet: once round it; with one, nothing. The facets of a circle are shorter by less than 1e-3.
#[test]
fn a_sharp_foot_is_told_with_its_length() {
    let foot = |fillet: f64| {
        format!(
            "let s = slab(\"s\", #{{ outline: rect(80, 60), height: 10 }});
             boss(\"b\", #{{ on: s.top, dia: 20, height: 15, fillet: {fillet} }});"
        )
    };
    let found = of_code(&foot(0.0), "sharp-inside");
    let [one] = &found[..] else {
        panic!("{found:?}");
    };
    assert_eq!(one.level, Level::Note);
    near(
        one.value.expect("a length"),
        std::f64::consts::PI * 20.0,
        0.1,
    );
    let names: Vec<&str> = one.features.iter().map(|(n, _)| n.as_str()).collect();
    assert_eq!(names, ["b", "s"]);
    assert_eq!(of_code(&foot(3.0), "sharp-inside"), []);
}

/// A part of many sharp corners has five lines: the four longest, and one for the rest.
#[test]
fn many_sharp_corners_share_a_line() {
    let bosses: String = (0..9)
        .map(|i| {
            let (x, dia) = (f64::from(i) * 30.0, 10 + i);
            format!("boss(\"b{i}\", #{{ on: s.top, at: [{x}, 0], dia: {dia}, height: 8 }});")
        })
        .collect();
    let source = format!(
        "let s = slab(\"s\", #{{ outline: rect(280, 40).at(120, 0), height: 10 }});{bosses}"
    );
    let found = of_code(&source, "sharp-inside");
    assert_eq!(found.len(), 5);
    let all: f64 = found.iter().filter_map(|f| f.value).sum();
    let want: f64 = (10..19).map(|d| std::f64::consts::PI * f64::from(d)).sum();
    near(all, want, 0.5);
    // An outside edge is no inside corner.
    let build = built("slab(\"s\", #{ outline: rect(80, 60), height: 10 });");
    assert!(said(&build).is_empty());
}
