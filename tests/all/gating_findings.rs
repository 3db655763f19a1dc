//! What is found on a pour: for each code a script that provokes it, and one that comes close and doesn't; weights,
//! flask and saw against sums worked out beside them.

use std::f64::consts::PI;

use super::built::{built, near, tried};
use foamwright::fault::{Finding, Level};
use foamwright::shop::{Build, report_of, sheet_of};

/// A block 100 × 60 × 20 of A356 that doesn't shrink, with a stub on the left and a sprue beside its end; the sprue stands
/// 180 mm over the stub's upper side at z = 14.
const BLOCK: &str = "shrink(0);
let block = slab(\"block\", #{ outline: rect(100, 60), height: 20 });
let g = gate(\"g\", #{ on: block.side(\"left\"), size: [12, 8], length: 20 });
sprue(\"s\", #{ on: g, dia: 20, height: 180 });
";

/// Findings of a code.
fn of<'a>(build: &'a Build, code: &str) -> Vec<&'a Finding> {
    build.findings.iter().filter(|f| f.code == code).collect()
}

#[track_caller]
fn one<'a>(build: &'a Build, code: &str, level: Level) -> &'a Finding {
    let found = of(build, code);
    assert_eq!(found.len(), 1, "{code}: {:?}", build.findings);
    assert_eq!(found[0].level, level, "{}", found[0].text);
    found[0]
}

#[test]
fn weights_are_volumes_times_density() {
    let build = built(&format!(
        "{BLOCK}feeder(\"f\", #{{ on: block.top, dia: 24, height: 30 }});"
    ));
    let w = &build.pour.as_ref().unwrap().weights;
    let kg = |mm3: f64| mm3 * 2685e-9;
    near(w.casting_kg, kg(100.0 * 60.0 * 20.0), 1e-6);
    // The sprue's foot is at the stub's underside, 8 mm under the level that its height counts from; the stub's end fills
    // the corners beside the sprue: w r less the area under the circle, ½ [y √(r² - y²) + r² asin(y / r)] on both sides.
    let corners = 12.0 * 10.0 - (6.0 * 8.0 + 100.0 * 0.6f64.asin());
    near(
        w.gating_kg,
        kg(12.0 * 8.0 * 20.0 + 8.0 * corners + PI * 100.0 * 188.0),
        2e-3 * w.gating_kg,
    );
    near(w.feeders_kg, kg(PI * 144.0 * 30.0), 2e-3 * w.feeders_kg);
    near(
        w.poured_kg,
        w.casting_kg + w.gating_kg + w.feeders_kg,
        1e-12,
    );
    near(w.yield_share, w.casting_kg / w.poured_kg, 1e-12);
    // Charge: from memory, foundry practice: spare 10 to 15 %, loss 1 to 5 %, heel 5 to 10 %.
    let m = &build.pour.as_ref().unwrap().melt;
    near(m.charge_kg[0], w.poured_kg * 1.1 / 0.99 * 1.05, 1e-9);
    near(m.charge_kg[1], w.poured_kg * 1.15 / 0.95 * 1.1, 1e-9);
    // From memory: ASM Handbook 15: A356 melts at 2400 kg/m³.
    near(m.litres[1], m.charge_kg[1] / 2.4, 1e-9);
}

#[test]
fn a_cup_is_weighed_and_sets_the_taper() {
    let script = BLOCK.replace(
        "dia: 20, height: 180",
        "dia: 30, height: 150, cup: [60, 50]",
    );
    let build = built(&script);
    let pour = build.pour.as_ref().unwrap();
    near(pour.weights.cup_kg, PI * 900.0 * 50.0 * 2400e-9, 1e-9);
    // Worked out: heads 50 and 200 halve the section, so the diameter is the root of a half of it.
    near(
        pour.sprue.as_ref().unwrap().foot_mm.unwrap(),
        30.0 * 0.5f64.sqrt(),
        1e-9,
    );
}

#[test]
fn shrink_makes_the_same_casting_of_more_foam() {
    let plain = built(BLOCK);
    let grown = built(&BLOCK.replace("shrink(0)", "shrink(2)"));
    let [a, b] = [&plain, &grown].map(|b| &b.pour.as_ref().unwrap().weights);
    near(a.casting_kg, b.casting_kg, 1e-6);
    // Sizes of the gating are as cut, so as metal it is smaller by 1.02³.
    near(
        b.gating_kg * 1.02f64.powi(3),
        a.gating_kg,
        1e-4 * a.gating_kg,
    );
}

#[test]
fn twice_the_size_is_eight_times_the_mass() {
    let script = |k: f64| {
        format!(
            "shrink(0);
             let block = slab(\"block\", #{{ outline: rect({}, {}), height: {} }});
             let g = gate(\"g\", #{{ on: block.side(\"left\"), size: [{}, {}], length: {} }});",
            100.0 * k,
            60.0 * k,
            20.0 * k,
            30.0 * k,
            8.0 * k,
            20.0 * k
        )
    };
    let [one, two] = [1.0, 2.0].map(|k| built(&script(k)));
    let [a, b] = [&one, &two].map(|b| b.pour.as_ref().unwrap());
    near(b.weights.poured_kg / a.weights.poured_kg, 8.0, 1e-5);
    near(b.melt.charge_kg[1] / a.melt.charge_kg[1], 8.0, 1e-5);
}

#[test]
fn a_heavier_metal_never_needs_less_charge() {
    let charge = |density: f64| {
        let metal = format!("metal(#{{ name: \"own\", shrink: 1.3, density: {density} }});\n");
        let build = built(&format!("{metal}{}", BLOCK.replace("shrink(0);", "")));
        build.pour.as_ref().unwrap().melt.charge_kg
    };
    let all: Vec<[f64; 2]> = [1800.0, 2700.0, 7000.0, 8700.0].map(charge).to_vec();
    assert!(
        all.windows(2)
            .all(|w| w[0][0] < w[1][0] && w[0][1] < w[1][1]),
        "{all:?}"
    );
}

#[test]
fn the_dip_is_held_down_by_archimedes() {
    let build = built(BLOCK);
    let pour = build.pour.as_ref().unwrap();
    let litres: f64 = 100.0 * 60.0 * 20.0 * 1e-6;
    // Foam of 25 kg/m³ (ASTM C578 type IV) in coatings of 1300 and 1700 kg/m³.
    near(pour.lift.hold_down_kg[0], litres * (1.3 - 0.025), 1e-6);
    near(pour.lift.hold_down_kg[1], litres * (1.7 - 0.025), 1e-6);
    // The metal lifts with its head over the plan: the block's top under 174 mm, the stub's under 180 mm; nothing lies
    // over the sprue.
    let lift = (100.0 * 60.0 * 174.0 + 12.0 * 20.0 * 180.0) * 2400e-9;
    near(pour.lift.metal_lifts_kg, lift, 0.02 * lift);
    assert!(pour.lift.weigh_down_kg > 0.0 && pour.lift.weigh_down_kg < lift);
}

#[test]
fn a_flask_fits_by_its_sand() {
    // In plan from x = -90 (the sprue's outer side, 20 + 20 past the block) to 50, and y ± 30: the least circle goes through
    // the block's right corners and the sprue's outer side.
    let build = built(&format!(
        "{BLOCK}flask(#{{ length: 241, width: 161, height: 250 }});"
    ));
    let fit = &build.pour.as_ref().unwrap().flask;
    near(fit.size_mm[0], 140.0, 1e-3);
    near(fit.size_mm[1], 60.0, 1e-3);
    near(fit.size_mm[2], 194.0, 1e-3);
    near(fit.need_mm[1], 244.0, 1e-3);
    assert_eq!(fit.turn_deg, Some(0.0));
    assert!(of(&build, "flask-small").is_empty());
    // Sand: the box less the pattern, 1600 to 1700 kg/m³ (from memory: bulk densities of silica sand).
    let body = 100.0 * 60.0 * 20.0 + 12.0 * 8.0 * 20.0 + PI * 100.0 * 188.0;
    let litres = 241.0 * 161.0 * 250.0 * 1e-6 - body * 1e-6;
    near(fit.sand_kg.unwrap()[0], litres * 1.6, 0.05);
    // Turned by a right angle it fits as well.
    let build = built(&format!(
        "{BLOCK}flask(#{{ length: 161, width: 241, height: 250 }});"
    ));
    assert_eq!(build.pour.as_ref().unwrap().flask.turn_deg, Some(90.0));
    // Short by 9 in height.
    let build = built(&format!(
        "{BLOCK}flask(#{{ length: 241, width: 161, height: 235 }});"
    ));
    let found = one(&build, "flask-small", Level::Stop);
    near(found.value.unwrap(), -9.0, 1e-2);
    assert!(found.text.contains("9 mm in height"), "{}", found.text);
}

/// A block of 100 × 60 × 20 that lies flat is 140 long with its gating, and with 50 of sand round it too long for a box of
/// 205 × 125. On its edge the block alone is 100 × 20 in plan, and 50 + 60 + 75 high with sand under and over it.
#[test]
fn a_flask_too_small_as_it_lies_names_the_way_up_that_fits() {
    let build = built(&format!(
        "{BLOCK}flask(#{{ length: 205, width: 125, height: 265 }});"
    ));
    let found = one(&build, "flask-small", Level::Stop);
    assert!(
        found.remedy.contains("pour_up([0, 1, 0])") && found.remedy.contains("gates to suit"),
        "{}",
        found.remedy
    );
    // Not high enough for that either.
    let build = built(&format!(
        "{BLOCK}flask(#{{ length: 205, width: 125, height: 160 }});"
    ));
    let found = one(&build, "flask-small", Level::Stop);
    assert!(!found.remedy.contains("pour_up(["), "{}", found.remedy);
}

/// A thin bar longer than a square box fits on its diagonal: (L + w) / √2 and the sand at both sides.
#[test]
fn a_long_bar_fits_on_the_diagonal() {
    let bar = |side: f64| {
        format!(
            "shrink(0);
             let bar = slab(\"bar\", #{{ outline: rect(300, 20), height: 20 }});
             let g = gate(\"g\", #{{ on: bar.top, size: [12, 8], length: 20 }});
             sprue(\"s\", #{{ on: g, dia: 18, height: 180 }});
             flask(#{{ length: {side}, width: {side}, height: 400 }});"
        )
    };
    let need = (300.0 + 20.0) / 2.0_f64.sqrt() + 2.0 * 50.0;
    let build = built(&bar(need + 0.5));
    let turn = build.pour.as_ref().unwrap().flask.turn_deg.unwrap();
    assert!(turn == 45.0 || turn == 135.0, "{turn}");
    assert!(of(&build, "flask-small").is_empty());
    let build = built(&bar(need - 0.5));
    near(
        one(&build, "flask-small", Level::Stop).value.unwrap(),
        -0.5,
        1e-2,
    );
}

#[test]
fn the_smallest_container_is_named() {
    // The circle round the block's right corners and the sprue's outer side: centre c on the axis of symmetry with
    // (50 - c)² + 30² = (c + 90)², so c = -230/14.
    let build = built(&format!("{BLOCK}flask(\"5 gal pail\");"));
    let fit = &build.pour.as_ref().unwrap().flask;
    let c = (2500.0 + 900.0 - 8100.0) / (2.0 * 140.0);
    near(fit.round_mm, 2.0 * (c + 90.0), 0.05);
    assert!(of(&build, "flask-small").is_empty(), "{:?}", build.findings);
    let build = built(&format!(
        "{}flask(\"5 gal pail\");",
        BLOCK.replace("height: 180", "height: 300")
    ));
    let found = one(&build, "flask-small", Level::Stop);
    assert!(found.remedy.contains("30 gal drum"), "{}", found.remedy);
    assert_eq!(found.features[0].1.line, 5);
}

#[test]
fn a_crucible_is_held_against_the_charge() {
    let charge = built(BLOCK).pour.as_ref().unwrap().melt.charge_kg;
    let with = |kg: f64| built(&format!("{BLOCK}crucible(#{{ kg: {kg} }});"));
    one(&with(charge[0] - 0.01), "crucible-small", Level::Stop);
    one(
        &with((charge[0] + charge[1]) / 2.0),
        "crucible-small",
        Level::Look,
    );
    assert!(of(&with(charge[1] + 0.01), "crucible-small").is_empty());
    // A litre to the brim takes 0.75 to 0.85 of it at 2400 kg/m³.
    let build = built(&format!("{BLOCK}crucible(#{{ litres: 1 }});"));
    let fit = build.pour.as_ref().unwrap().melt.crucible.unwrap();
    near(fit.takes_kg[0], 1.8, 1e-9);
    near(fit.takes_kg[1], 2.04, 1e-9);
}

#[test]
fn a_low_sprue_is_worth_a_look() {
    // Its top is 14 + h high, the block's 20: 150 are wanted.
    let with = |h: f64| built(&BLOCK.replace("height: 180", &format!("height: {h}")));
    let build = with(120.0);
    near(
        one(&build, "sprue-low", Level::Look).value.unwrap(),
        114.0,
        1e-3,
    );
    assert!(of(&with(156.1), "sprue-low").is_empty());
    let allowed = format!(
        "{}allow(\"sprue-low\", [\"s\"], \"a bench top pour\");",
        BLOCK.replace("height: 180", "height: 120")
    );
    one(&built(&allowed), "sprue-low", Level::Note);
}

#[test]
fn a_cool_metal_is_worth_a_look() {
    let with = |metal: &str| {
        built(&format!(
            "metal(\"{metal}\");\n{}",
            BLOCK.replace("shrink(0);", "")
        ))
    };
    // From memory: ASM: ZA-12 is poured at 460 to 540 °C; foam needs 538 °C (a foam maker's advice).
    one(&with("ZA-12"), "cool-metal", Level::Look);
    assert!(of(&with("A356"), "cool-metal").is_empty());
}

#[test]
fn a_gate_that_nothing_feeds_is_found() {
    let alone = "let block = slab(\"block\", #{ outline: rect(100, 60), height: 20 });
                 gate(\"g\", #{ on: block.side(\"left\"), size: [30, 8], length: 20 });";
    let build = built(alone);
    assert_eq!(one(&build, "no-effect", Level::Look).features[0].0, "g");
    assert!(of(&built(BLOCK), "no-effect").is_empty());
}

#[test]
fn the_open_channel_is_reckoned_by_the_textbook() {
    let build = built(BLOCK);
    let s = build.pour.as_ref().unwrap().sprue.clone().unwrap();
    // The gate's middle lies 184 mm under the sprue's top; its 96 mm² are less than the foot's 314 mm².
    near(s.head_mm, 184.0, 1e-3);
    near(s.choke_mm2, 96.0, 1e-9);
    near(s.choke_m_s, (2.0 * 9.81 * 0.184f64).sqrt(), 1e-6);
    near(s.flow_cm3_s, 0.96 * s.choke_m_s * 100.0, 1e-6);
    near(s.gate_m_s.unwrap(), s.choke_m_s, 1e-9);
}

/// A plate with pads of two heights on its top.
fn pads(low: f64, high: f64, length: f64) -> Build {
    built(&format!(
        "shrink(0);
         let plate = slab(\"plate\", #{{ outline: rect(120, 60), height: 12 }});
         let a = boss(\"a\", #{{ on: plate.top, at: [-40, 0], dia: 24, height: {low} }});
         let b = boss(\"b\", #{{ on: plate.top, at: [40, 0], dia: 24, height: {high} }});
         gate(\"on a\", #{{ on: a.top, dia: 12, length: {length} }});
         gate(\"on b\", #{{ on: b.top, dia: 12, length: {length} }});
         gate(\"aside\", #{{ on: plate.side(\"left\"), size: [20, 8], length: 15 }});"
    ))
}

#[test]
fn stubs_of_one_height_come_off_in_one_pass() {
    let build = pads(10.0, 10.0, 15.0);
    let passes = &build.pour.as_ref().unwrap().passes;
    assert_eq!(passes.len(), 2, "{passes:?}");
    assert_eq!(passes[0].pieces, [0, 1]);
    // It rides on the plate's bottom: 22 mm, and 1 mm to grind.
    let ride = passes[0].ride.unwrap();
    assert_eq!(build.part.features[ride.feature].name, "plate");
    near(ride.distance_mm, 23.0, 1e-3);
    near(passes[0].grind_mm, 1.0, 1e-6);
    near(passes[0].room_mm, 15.0 - 1.0 - 1.5, 1e-6);
    assert!(passes[0].clashes.is_empty());
    // The one on the side rides on the right side, 121 mm away.
    assert_eq!(passes[1].pieces, [2]);
    near(passes[1].ride.unwrap().distance_mm, 121.0, 1e-3);
    assert_eq!(of(&build, "saw-plane").len(), 2);
}

#[test]
fn stubs_of_two_heights_share_a_pass_while_the_blade_goes_between() {
    // 4 apart: the pass at 26 + 1 leaves 5 to grind on the lower one and has 10 - 1 - 1.5 - 0 to spare there.
    let build = pads(10.0, 14.0, 15.0);
    let passes = &build.pour.as_ref().unwrap().passes;
    assert_eq!(passes[0].pieces, [0, 1]);
    near(passes[0].grind_mm, 5.0, 1e-4);
    // 13 apart no blade goes between the higher pad and the lower stub's end; the lower pass runs into the higher pad.
    let build = pads(10.0, 23.0, 15.0);
    let passes = &build.pour.as_ref().unwrap().passes;
    assert_eq!(passes[0].pieces, [0]);
    assert_eq!(passes[1].pieces, [1]);
    let (feature, past) = passes[0].clashes[0];
    assert_eq!(build.part.features[feature].name, "b");
    near(past, 35.0 - 23.0, 1e-3);
    let told = of(&build, "saw-plane");
    assert!(
        told.iter()
            .any(|f| f.text.contains("b stands 12 mm past the cut")),
        "{told:?}"
    );
}

#[test]
fn an_oblique_stub_has_nothing_to_ride_on() {
    let build = built(
        "let drum = slab(\"drum\", #{ outline: disc(80), height: 30 });
         gate(\"g\", #{ on: drum.around(30, 15), size: [16, 10], length: 15 });",
    );
    let found = one(&build, "saw-plane", Level::Note);
    assert!(found.text.contains("lies oblique"), "{}", found.text);
    assert!(build.pour.as_ref().unwrap().passes[0].ride.is_none());
}

#[test]
fn the_report_has_the_pour() {
    let build = built(&format!("{BLOCK}crucible(#{{ kg: 5 }});"));
    let report = report_of(&build, std::path::Path::new("t.rhai"), false);
    let json: serde_json::Value = serde_json::from_str(&report.json()).unwrap();
    let pour = &json["pour"];
    for key in [
        "casting_kg",
        "gating_kg",
        "poured_kg",
        "charge_kg",
        "yield",
        "melt_litres",
        "hold_down_kg",
    ] {
        assert!(pour[key].as_f64().is_some_and(|x| x > 0.0), "{key}: {pour}");
    }
    assert_eq!(pour["flask"]["smallest"], "5 gal pail");
    assert_eq!(pour["pieces"][0]["name"], "g");
    assert_eq!(pour["crucible"]["fits"], true);
    assert!(json["stages"]["gated"]["volume_mm3"].as_f64().unwrap() > 0.0);
    let plain = built("slab(\"s\", #{ outline: rect(10, 10), height: 5 });");
    let report = report_of(&plain, std::path::Path::new("t.rhai"), false).json();
    assert!(!report.contains("\"pour\"") && !report.contains("\"gated\""));
}

#[test]
fn the_card_tells_this_pour_in_order() {
    let build = built(BLOCK);
    let pour = build.pour.as_ref().unwrap();
    let card =
        foamwright::sheet::pour_card::pour_card(&build.part, pour, build.outlook.as_deref(), 3.0);
    let at = |word: &str| {
        let found = card.steps.iter().position(|s| s.contains(word));
        found.unwrap_or_else(|| panic!("{word}: {:#?}", card.steps))
    };
    let order = [
        "Coat",
        "constant weight",
        "Glue on",
        "Lay",
        "vibrate",
        "Weigh down",
        "without a stop",
        "Wait",
        "Shake out",
        "Saw off",
    ];
    assert!(order.windows(2).all(|w| at(w[0]) < at(w[1])));
    assert!(card.steps[at("Glue on")].contains("g, s"));
    for word in [
        "silica",
        "HBCD",
        "carbon monoxide",
        "Z87.1",
        "Water",
        "blows back",
    ] {
        assert!(
            card.cautions.iter().any(|c| c.text.contains(word)),
            "{word}"
        );
    }
    assert!(card.close.contains("Local codes and licensed practice"));
    assert!(
        card.figures
            .iter()
            .all(|f| !f.value.is_empty() && !f.how.is_empty())
    );
}

#[test]
fn a_small_flask_or_crucible_can_be_allowed_with_a_reason() {
    let why = "the sprue stands out of the sand, in a sleeve";
    let small = "flask(#{ length: 241, width: 161, height: 235 });";
    let build = built(&format!(
        "{BLOCK}{small} allow(\"flask-small\", [\"flask\"], \"{why}\");"
    ));
    let found = one(&build, "flask-small", Level::Note);
    assert_eq!(found.allowed.as_deref(), Some(why));
    let report = report_of(&build, std::path::Path::new("t.rhai"), false).json();
    assert!(report.contains(why), "{report}");
    let sheet = sheet_of(&build, std::path::Path::new("t.rhai"));
    assert!(sheet.contains(why));
    let build = built(&format!(
        "{BLOCK}crucible(#{{ kg: 0.3 }}); allow(\"crucible-small\", [\"crucible\"], \"topped up while it melts\");"
    ));
    one(&build, "crucible-small", Level::Note);
    // The one's reason is not the other's, and what isn't there can't be named.
    let build = built(&format!(
        "{BLOCK}{small} crucible(#{{ kg: 0.3 }}); allow(\"crucible-small\", [\"crucible\"], \"topped up\");"
    ));
    one(&build, "flask-small", Level::Stop);
    let wrong = |allow: &str| {
        let failure = tried(&format!("part(\"t\"); {BLOCK}{small} {allow}")).unwrap_err();
        failure.faults.0[0].text.clone()
    };
    for allow in [
        "allow(\"flask-small\", [\"crucible\"], \"why\");",
        "allow(\"crucible-small\", [\"crucible\"], \"why\");",
        "allow(\"thin-wall\", [\"flask\"], \"why\");",
    ] {
        assert!(
            wrong(allow).contains("which no feature is called"),
            "{allow}"
        );
    }
}
