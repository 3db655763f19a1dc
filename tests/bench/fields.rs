//! How long the fields of the richest example take on cells of 1.5 mm. `cargo bench --bench fields`.

use std::path::Path;
use std::time::Instant;

use foamwright::measure::Vec3;
use foamwright::pour::fields::{Contact, Kind, fields, unfilled};
use foamwright::shop::{Bench, Stage, Wish};

const CELL_MM: f64 = 1.5;

fn main() {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("scripts/gearbox-cover.rhai");
    let built = Bench::new().build(&script, &Wish::default(), &|_| {});
    let build = built.expect("the example builds");
    let solid = &build.stage(Stage::Casting).expect("it is built").solid;
    for _ in 0..3 {
        let mut clock = Instant::now();
        let mut lap = |what: &str| {
            println!("{what}: {:.0} ms", clock.elapsed().as_secs_f64() * 1e3);
            clock = Instant::now();
        };
        let fields = fields(solid, CELL_MM);
        println!(
            "{} triangles, {} metal cells",
            solid.triangles.len(),
            fields.metal.len()
        );
        lap("grid, nearest surface, volume over area");
        let spots = fields.hot_spots();
        let corners = fields.corners(1.5).len();
        lap("hot spots and junctions");
        let spot = &spots[0];
        let gate = Contact::round(spot.at, Vec3::Z, spot.ball_mm, Kind::Gate, 0);
        let reached = fields.feeding(&spots, &[gate]);
        lap("feeding");
        let front = fields.front(&[gate]);
        let last = front.last(&fields).map_or(0.0, |l| l.travel_mm);
        let seams = fields.meetings(&front, 20.0).len();
        lap("front");
        let hollows = unfilled(solid, Vec3::Z, CELL_MM).len();
        lap("sand");
        println!(
            "{} hot spots, {} of them reached, {corners} junctions, last place {last:.0} mm away, {seams} seams, {hollows} hollows\n",
            spots.len(),
            reached.iter().filter(|f| f.reached()).count()
        );
    }
}
