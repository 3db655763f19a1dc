//! Skins that a build once left: where stock narrows an opening that another one runs into, under feet that stand on
//! nothing, round fillets that just fit. Volumes and sizes are closed formulas.

use std::f64::consts::PI;

use foamwright::shop::Stage;

use crate::built::built;

/// Facets stand off a round of this length (mm) by 0.02 at most: what a volume or size may be off.
fn slack_mm3(round_mm: f64, height: f64) -> f64 {
    0.02 * round_mm * height
}

fn volume(script: &str, stage: Stage) -> f64 {
    let build = built(script);
    let walls = build.findings.iter().filter(|f| f.code == "thin-wall");
    assert_eq!(walls.count(), 0, "{:#?}", build.findings);
    build.stage(stage).expect("it is built").figures.volume_mm3
}

fn length(script: &str) -> [f64; 3] {
    let figures = built(script).stage(Stage::Finished).expect("built").figures;
    (figures.high_mm - figures.low_mm).to_array()
}

/// Area under a circle of radius `r` between -w and w (mm²).
fn under_circle(r: f64, w: f64) -> f64 {
    w * (r * r - w * w).sqrt() + r * r * (w / r).asin()
}

#[test]
fn a_keyway_runs_out_through_its_bores_stock() {
    for stock in [1.0, 2.0, 3.0] {
        let script = format!(
            "let a = slab(\"a\", #{{ outline: disc(50), height: 30 }});
             let eye = bore(\"eye\", #{{ into: a.top, dia: 22, through: true }});
             groove(\"key\", #{{ into: eye.wall, lengthwise: 180, length: 31, width: 6, depth: 2.8, meets: eye }});
             finish(eye.wall, {stock});"
        );
        let raw = 11.0 - stock;
        let key = 6.0 * 13.8 - under_circle(raw, 3.0);
        let want = 30.0 * (PI * 625.0 - PI * raw * raw - key);
        let got = volume(&script, Stage::Casting);
        assert!(
            (got - want).abs() < slack_mm3(PI * 72.0, 30.0),
            "{got} {want}"
        );
    }
    // On a shaft: the key's seat is cut through the shaft's stock.
    let shaft = "let a = boss(\"a\", #{ dia: 30, height: 40 });
         groove(\"key\", #{ into: a.outside, lengthwise: 0, length: 40.5, width: 8, depth: 4 });
         finish(a.outside, 2);";
    let seat = under_circle(17.0, 4.0) - 8.0 * 11.0;
    let want = 40.0 * (PI * 289.0 - seat);
    let got = volume(shaft, Stage::Casting);
    assert!(
        (got - want).abs() < slack_mm3(PI * 34.0, 41.0),
        "{got} {want}"
    );
}

#[test]
fn a_ring_groove_runs_out_through_its_bores_stock() {
    for stock in [0.4, 2.0] {
        let script = format!(
            "let a = slab(\"a\", #{{ outline: disc(50), height: 30 }});
             let eye = bore(\"eye\", #{{ into: a.top, dia: 22, through: true }});
             groove(\"ring\", #{{ into: eye.wall, ring: 15, width: 6, depth: 2 }});
             finish(eye.wall, {stock});"
        );
        let raw = 11.0 - stock;
        let want = PI * (625.0 * 30.0 - raw * raw * 24.0 - 169.0 * 6.0);
        let got = volume(&script, Stage::Casting);
        assert!(
            (got - want).abs() < slack_mm3(PI * 72.0, 30.0),
            "{got} {want}"
        );
    }
}

#[test]
fn a_bore_into_an_opening_gets_through_that_ones_stock() {
    for (dia, stock) in [(6.0, 1.0), (12.0, 1.0), (6.0, 3.0)] {
        let script = format!(
            "let a = slab(\"a\", #{{ outline: rect(60, 60), height: 40 }});
             let b = bore(\"main\", #{{ into: a.side(\"front\"), dia: 20, through: true }});
             finish(b.wall, {stock});
             bore(\"oil\", #{{ into: a.top, dia: {dia}, to: b, cored: true }});"
        );
        let raw = 10.0 - stock;
        // Slices of the oil bore, each down to the round wall.
        let slices = 20_000;
        let w = dia / 2.0;
        let way: f64 = (0..slices)
            .map(|i| {
                let x = w * (2.0 * (f64::from(i) + 0.5) / f64::from(slices) - 1.0);
                let across = 2.0 * (w * w - x * x).sqrt();
                across * (20.0 - (raw * raw - x * x).sqrt()) * 2.0 * w / f64::from(slices)
            })
            .sum();
        let want = 60.0 * 60.0 * 40.0 - PI * raw * raw * 60.0 - way;
        let got = volume(&script, Stage::Casting);
        assert!(
            (got - want).abs() < slack_mm3(PI * 20.0, 60.0),
            "{got} {want}"
        );
    }
}

#[test]
fn what_stands_on_nothing_starts_at_its_level() {
    for body in [
        "turned(\"a\", #{ on: level(0), profile: [[0, 0], [30, 0], [30, 20], [0, 20]] })",
        "boss(\"a\", #{ on: level(0), dia: 60, height: 20 })",
        "slab(\"a\", #{ on: level(0), outline: rect(60, 60), height: 20 })",
    ] {
        let script =
            format!("let a = {body}; bore(\"b\", #{{ into: level(20), dia: 6, to: level(0) }});");
        let [x, _, z] = length(&script);
        assert!(
            (x - 60.0).abs() < 0.05 && (z - 20.0).abs() < 1e-4,
            "{x} {z}"
        );
        volume(&script, Stage::Finished);
    }
    // On metal that carries no name for the face, its foot is joined to it.
    let script = "let a = slab(\"a\", #{ outline: rect(60, 60), height: 20 });
        boss(\"b\", #{ on: face(#{ at: [0, 0, 20], facing: [0, 0, 1] }), dia: 20, height: 10 });";
    let figures = built(script).stage(Stage::Finished).expect("built").figures;
    assert_eq!(figures.bodies, 1);
}

#[test]
fn a_fillet_that_just_fits_stays_within_its_host() {
    for fillet in [1.0, 4.0, 12.0] {
        let dia = 60.0 - 2.0 * fillet;
        let script = format!(
            "let a = slab(\"a\", #{{ outline: rect(60, 60), height: 10 }});
             boss(\"b\", #{{ on: a.top, dia: {dia}, height: 15, fillet: {fillet} }});"
        );
        let [x, y, z] = length(&script);
        assert!(
            (x - 60.0).abs() < 0.01 && (y - 60.0).abs() < 0.01,
            "{x} {y}"
        );
        assert!((z - 25.0).abs() < 1e-4);
        volume(&script, Stage::Finished);
    }
}
