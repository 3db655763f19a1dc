//! Freezing, gating, melt and flasks, value by value, against the worked examples of textbooks.

use std::f64::consts::PI;

use foamwright::foundry::flasks::{CONTAINERS, container, round_litres, sand_kg};
use foamwright::foundry::freezing::{
    bar_modulus_mm, cylinder_modulus_mm, equal_cylinder_dia_mm, feeder_modulus_mm, freezing_s,
    modulus_mm, mould_s_cm2,
};
use foamwright::foundry::gating::{
    choke_m2, fall_m_s, flow_m3_s, front_s, head_m, mean_head_mm, taper,
};
use foamwright::foundry::melt::{charge_kg, hold_down_kg, litres, melt_loss};

/// Holds a value against another within a share of it: what the digits printed there leave.
#[track_caller]
fn near(got: f64, want: f64, share: f64) {
    assert!(
        (got - want).abs() <= share * want.abs(),
        "{got} is not {want} within {share} of it"
    );
}

#[test]
fn a_steel_plate_and_its_riser() {
    // From memory: Groover, Fundamentals of Modern Manufacturing, riser design: 7.5 × 12.5 × 2 cm in 1.6 min.
    let (l, w, t) = (75.0, 125.0, 20.0);
    let modulus = modulus_mm(l * w * t, 2.0 * (l * w + l * t + w * t));
    near(modulus, 7.0093, 1e-5);
    let b = mould_s_cm2(1.6 * 60.0, modulus);
    near(b / 60.0, 3.2566, 1e-4);
    // The riser as high as wide that freezes in 2.0 min.
    near(equal_cylinder_dia_mm(2.0 * 60.0, b), 47.02, 1e-4);
    near(freezing_s(b, modulus), 96.0, 1e-12);
}

#[test]
fn sphere_cylinder_and_cube_of_one_width_freeze_alike() {
    // Worked out: V/A of a sphere, cylinder and cube of 10 cm is D/6; B 3.5 min/cm² gives 9.7222 min.
    let d = 100.0;
    let sphere = modulus_mm(PI * d * d * d / 6.0, PI * d * d);
    let cube = modulus_mm(d * d * d, 6.0 * d * d);
    for modulus in [sphere, cube, cylinder_modulus_mm(d, d)] {
        near(modulus, 16.66667, 1e-6);
        near(freezing_s(3.5 * 60.0, modulus) / 60.0, 9.7222, 1e-5);
    }
    // With its base joined D/5; on all surfaces D/6 (worked out).
    near(feeder_modulus_mm(d, d), d / 5.0, 1e-12);
    near(cylinder_modulus_mm(d, d), d / 6.0, 1e-12);
    // A long square bar: side over 4.
    near(bar_modulus_mm(20.0 * 20.0, 80.0), 5.0, 1e-12);
}

#[test]
fn a_cube_of_30_mm_and_its_riser() {
    // Worked out: M = 5 mm in 4 min is 0.16 min/mm²; a cylinder as high as wide for 25 % longer is 33.541 mm.
    let b = mould_s_cm2(240.0, 5.0);
    near(b / 60.0 / 100.0, 0.16, 1e-9);
    near(equal_cylinder_dia_mm(300.0, b), 33.541, 1e-5);
}

#[test]
fn bodies_of_one_volume_by_their_shape() {
    // From memory: Kalpakjian, Manufacturing Engineering and Technology: t/C .043, .028, .033 for sphere, cube and
    // cylinder h = d of volume 1.
    let r = (3.0 / (4.0 * PI)).cbrt();
    let d = (4.0 / PI).cbrt();
    let squared = |m: f64| m * m;
    near(squared(modulus_mm(1.0, 4.0 * PI * r * r)), 0.04276, 1e-3);
    near(squared(modulus_mm(1.0, 6.0)), 0.02778, 1e-3);
    near(squared(cylinder_modulus_mm(d, d)), 0.03263, 1e-3);
}

#[test]
fn twice_the_size_freezes_four_times_as_long() {
    let one = freezing_s(300.0, cylinder_modulus_mm(40.0, 60.0));
    let two = freezing_s(300.0, cylinder_modulus_mm(80.0, 120.0));
    near(two / one, 4.0, 1e-12);
}

#[test]
fn sprues_by_the_textbook() {
    // From memory: Groover: sprue 20 cm, foot 2.5 cm², cavity 1560 cm³: 198.1 cm/s, 495 cm³/s, 3.2 s (3.150 unrounded).
    near(fall_m_s(0.2) * 100.0, 198.09, 1e-5);
    let flow = flow_m3_s(2.5e-4, 0.2);
    near(flow * 1e6, 495.2, 1e-4);
    near(1560e-6 / flow, 3.150, 1e-4);
    // Worked out: 175 mm, 444 mm², 1376 cm³.
    near(fall_m_s(0.175) * 100.0, 185.30, 2e-5);
    let flow = flow_m3_s(444e-6, 0.175);
    near(flow * 1e6, 822.7, 1e-4);
    near(1376e-6 / flow, 1.6725, 1e-4);
    // Worked out: 500 cm³/s at 15 cm.
    near(fall_m_s(0.15) * 100.0, 171.55, 1e-4);
    near(500.0 / (fall_m_s(0.15) * 100.0), 2.9146, 1e-4);
    // Worked out: Ø10, 250 mm, a cube of 100 mm.
    let flow = flow_m3_s(PI * 25e-6, 0.25);
    near(flow * 1e9, 173_944.0, 1e-5);
    near(1e-3 / flow, 5.749, 1e-4);
}

#[test]
fn choke_taper_heads_and_front() {
    // Worked out: 5 kg, 2385 kg/m³, 8 s, 0.8, 0.2 m.
    near(choke_m2(5.0, 2385.0, 8.0, 0.8, 0.2) * 1e6, 165.36, 1e-4);
    near(taper(50.0, 200.0), 0.5, 1e-12);
    for (over, head) in [(0.0, 200.0), (50.0, 187.5), (100.0, 150.0)] {
        near(mean_head_mm(200.0, 100.0, over), head, 1e-12);
    }
    // From memory: Campbell, Castings: 0.5 m/s at the gate, which 12.74 mm of head give.
    near(head_m(0.5) * 1000.0, 12.74, 5e-4);
    // From memory: lost-foam studies: 5 to 30 mm/s.
    assert_eq!(front_s(300.0), [10.0, 60.0]);
}

#[test]
fn archimedes_charge_and_litres() {
    // A litre of foam of 25 kg/m³ in water: 1 kg less its weight.
    near(hold_down_kg(1000.0, 1e6, 0.025), 0.975, 1e-12);
    // 10 kg, 10 % spare, 2 % lost, 5 % heel of what is melted: 10 × 1.1 / 0.98 × 1.05.
    near(charge_kg(10.0, 0.1, 0.02, 0.05), 11.785_714, 1e-6);
    near(litres(2.4, 2400.0), 1.0, 1e-12);
    // From memory: foundry practice: bronze 1 to 3 %, brass 3 to 6 %, aluminium 1 to 5 % by what is charged.
    let loss = |name: &str| [melt_loss(name).low, melt_loss(name).high];
    assert_eq!(loss("yellow brass"), [0.03, 0.06]);
    assert_eq!(loss("C905"), [0.01, 0.03]);
    assert_eq!(loss("A356"), [0.01, 0.05]);
}

#[test]
fn containers_hold_what_they_are_said_to() {
    // Nominal sizes against nominal litres: a US gallon is 231 in³ (from memory: NIST Handbook 44). The nominal content
    // leaves headroom under the brim.
    for (name, gallons) in [
        ("5 gal pail", 5.0),
        ("30 gal drum", 30.0),
        ("55 gal drum", 55.0),
    ] {
        let c = container(name).unwrap();
        let litres = round_litres(c.dia_mm, c.height_mm);
        near(litres, c.litres.low, 0.005);
        let nominal = gallons * 231.0 * 25.4f64.powi(3) * 1e-6;
        assert!(
            litres > nominal && litres < 1.2 * nominal,
            "{name}: {litres} of {nominal}"
        );
    }
    assert!(CONTAINERS.windows(2).all(|w| w[0].dia_mm < w[1].dia_mm));
    assert_eq!(
        container("30 Gallon drum").map(|c| c.name),
        Some("30 gal drum")
    );
    assert!(container("bucket").is_none());
    near(sand_kg(100.0, 1e6, 1600.0), 0.099 * 1600.0, 1e-12);
}
