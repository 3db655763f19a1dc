//! How long the wall check takes: on both stages of the richest example, and on thin fins beside a plain block of as
//! many triangles, as a ratio. `cargo bench --bench walls`.

use std::collections::HashMap;
use std::path::Path;
use std::time::Instant;

use foamwright::inspect::walls::{Surface, Walls};
use foamwright::measure::Vec3;
use foamwright::shop::{Bench, Stage, Wish};
use foamwright::solid::Solid;

/// The limit of every check (mm).
const LIMIT_MM: f64 = 5.0;

/// The least of a few runs (ms), and how many places were found.
fn least(solid: &Solid) -> (f64, usize) {
    let once = || {
        let clock = Instant::now();
        let surface = Surface::new(&solid.points, &solid.triangles, &solid.features);
        let found = Walls::under(&surface, LIMIT_MM, &|| true).places().len();
        (clock.elapsed().as_secs_f64() * 1e3, found)
    };
    let runs: Vec<(f64, usize)> = (0..5).map(|_| once()).collect();
    let ms = runs.iter().map(|r| r.0).fold(f64::MAX, f64::min);
    (ms, runs[0].1)
}

/// Adds a box from `low` (mm), each side cut into cells: how many along x, y and z, and how large (mm).
fn add_box(solid: &mut Solid, low: Vec3, cells: [u32; 3], cell: Vec3, feature: usize) {
    let mut known: HashMap<[u32; 3], u32> = HashMap::new();
    let mut at = |p: [u32; 3], points: &mut Vec<Vec3>| {
        *known.entry(p).or_insert_with(|| {
            points.push(low + cell * Vec3::from_array(p.map(f64::from)));
            (points.len() - 1) as u32
        })
    };
    for axis in 0..3 {
        let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
        for (end, out) in [(0, false), (cells[axis], true)] {
            for i in 0..cells[u] {
                for j in 0..cells[v] {
                    let corner = |di: u32, dj: u32| {
                        let mut p = [0; 3];
                        (p[axis], p[u], p[v]) = (end, i + di, j + dj);
                        p
                    };
                    let mut quad = [corner(0, 0), corner(1, 0), corner(1, 1), corner(0, 1)]
                        .map(|p| at(p, &mut solid.points));
                    if !out {
                        quad.reverse();
                    }
                    let [a, b, c, d] = quad;
                    solid.triangles.extend([[a, b, c], [a, c, d]]);
                    solid.features.extend([feature; 2]);
                }
            }
        }
    }
}

/// 41 fins of 1.2 mm, 1.3 mm apart, and a block of about as many triangles.
fn fins_and_block() -> [Solid; 2] {
    let (mut fins, mut block) = (Solid::default(), Solid::default());
    for i in 0..41 {
        let low = Vec3::new(0.0, 2.5 * f64::from(i), 0.0);
        add_box(
            &mut fins,
            low,
            [30, 1, 20],
            Vec3::new(2.0, 1.2, 2.0),
            i as usize,
        );
    }
    let count = f64::sqrt(fins.triangles.len() as f64 / 12.0).round();
    let cell = Vec3::splat(60.0 / count);
    add_box(&mut block, Vec3::ZERO, [count as u32; 3], cell, 0);
    [fins, block]
}

fn main() {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("scripts/gearbox-cover.rhai");
    let built = Bench::new().build(&script, &Wish::default(), &|_| {});
    let build = built.expect("the example builds");
    for stage in [Stage::Finished, Stage::Casting] {
        let solid = &build.stage(stage).expect("it is built").solid;
        let (ms, places) = least(solid);
        println!(
            "{} of the gearbox cover, {} triangles: {ms:.0} ms, {places} places under {LIMIT_MM} mm",
            stage.name(),
            solid.triangles.len()
        );
    }
    let [fins, block] = fins_and_block();
    let (fins_ms, places) = least(&fins);
    let (block_ms, _) = least(&block);
    println!(
        "{} triangles of thin fins: {fins_ms:.0} ms, {places} places; {} of a plain block: {block_ms:.0} ms; {:.2} times",
        fins.triangles.len(),
        block.triangles.len(),
        fins_ms / block_ms
    );
}
