//! How long the fields of the richest example take on cells of 1.5 mm, and what its gating adds to the stages, beside
//! their limits. `cargo bench --bench fields`.

use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use foamwright::measure::Vec3;
use foamwright::pour::fields::{Contact, Kind, fields, unfilled};
use foamwright::script::NoModules;
use foamwright::shop::{Bench, Stage, Wish};

const CELL_MM: f64 = 1.5;

fn main() {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("scripts/gearbox-cover.rhai");
    let built = Bench::new().build(&script, &Wish::default(), &|_| {});
    let build = built.expect("the example builds");
    let solid = &build.stage(Stage::Casting).expect("it is built").solid;
    gating(&script);
    for _ in 0..3 {
        let mut clock = Instant::now();
        let mut lap = |what: &str| {
            let ms = clock.elapsed().as_secs_f64() * 1e3;
            println!("{what}: {ms:.0} ms");
            clock = Instant::now();
            ms
        };
        let fields = fields(solid, CELL_MM);
        println!(
            "{} triangles, {} metal cells",
            solid.triangles.len(),
            fields.metal.len()
        );
        let mut heavy_ms = lap("grid, nearest surface, volume over area");
        let spots = fields.hot_spots();
        let corners = fields.corners(1.5).len();
        heavy_ms += lap("hot spots and junctions");
        let spot = &spots[0];
        let gate = Contact::round(spot.at, Vec3::Z, spot.ball_mm, Kind::Gate, 0);
        let reached = fields.feeding(&spots, &[gate]);
        heavy_ms += lap("feeding");
        let front = fields.front(&[gate]);
        let last = front.last(&fields).map_or(0.0, |l| l.travel_mm);
        let seams = fields.meetings(&front, 20.0).len();
        let front_ms = lap("front and seams");
        let hollows = unfilled(solid, Vec3::Z, CELL_MM).len();
        lap("sand");
        println!(
            "heavy sections and feeding: {heavy_ms:.0} ms, limit 600; front: {front_ms:.0} ms, limit 300"
        );
        println!(
            "{} hot spots, {} of them reached, {corners} junctions, last place {last:.0} mm away, {seams} seams, {hollows} hollows\n",
            spots.len(),
            reached.iter().filter(|f| f.reached()).count()
        );
    }
}

/// What the gated stage, weights, saw, melt and flask add: the script with its last lines on the pour, and without.
fn gating(script: &Path) {
    let whole = std::fs::read_to_string(script).expect("the example is there");
    let (part, _) = whole.split_once("// --- the pour").expect("it says where");
    let least = |source: &str| {
        let once = || {
            let clock = Instant::now();
            let file = "gearbox-cover.rhai";
            let modules = Arc::new(NoModules);
            let built = Bench::new().shape_text(source, file, modules, &Wish::default(), &|_| {});
            assert!(built.is_ok(), "the example builds");
            clock.elapsed().as_secs_f64() * 1e3
        };
        (0..5).map(|_| once()).fold(f64::INFINITY, f64::min)
    };
    let added = least(&whole) - least(part);
    println!("gated stage, weights, saw, melt and flask add {added:.0} ms, limit 300\n");
}
