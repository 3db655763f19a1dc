//! The whole way from a script to its files, and its booleans against another library on the same bodies in one run.
//!
//! `cargo bench --bench make`. FOAMWRIGHT_PYTHON names a Python with numpy and manifold3d; without one that part is
//! left out, and said to be.

use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use std::time::Instant;

use foamwright::pattern::{Stage, Stocks};
use foamwright::script::NoModules;
use foamwright::shop::{Bench, Build, Wish, report_of, write_build};
use foamwright::solid::{Memo, evaluate, evaluate_levels, evaluate_whole};

// Only some of what the tests share is used here.
#[allow(dead_code)]
#[path = "../all/body_files.rs"]
mod body_files;

use body_files::{bodies_of, told_steps, write_bodies};

/// The least of a few runs (ms).
fn least(runs: usize, mut work: impl FnMut()) -> f64 {
    let mut timed = || {
        let clock = Instant::now();
        work();
        clock.elapsed().as_secs_f64() * 1e3
    };
    (0..runs).map(|_| timed()).fold(f64::INFINITY, f64::min)
}

fn write(build: &Build, folder: &Path) {
    let report = report_of(build, Path::new("part.rhai"), false);
    write_build(build, &report, folder).expect("the files can be written");
}

fn main() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    example(folder.path());
    let few = plate(250, folder.path());
    let many = plate(500, folder.path());
    println!("twice the features take {:.2} times as long", many / few);
}

/// The gearbox cover: the whole way, and the booleans of its finished stage.
fn example(folder: &Path) {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("scripts/gearbox-cover.rhai");
    let build = || {
        Bench::new()
            .build(&script, &Wish::default(), &|_| {})
            .expect("the example builds")
    };
    let whole_way = least(5, || write(&build(), folder));
    println!("gearbox cover, script to files: {whole_way:.0} ms");

    let part = build().part;
    let (ready, steps) = bodies_of(&part, Stage::Finished, &Stocks::new());
    let triangles: usize = ready.iter().map(|b| b.shell.triangles.len()).sum();
    let local = least(5, || {
        evaluate(&ready, &steps, &mut Memo::default()).expect("a solid");
    });
    let one_by_one = least(2, || {
        evaluate_whole(&ready, &steps).expect("a solid");
    });
    let levels = least(3, || {
        evaluate_levels(&ready, &steps).expect("a solid");
    });
    println!(
        "its finished stage, {} bodies of {triangles} triangles: local {local:.0} ms, one by one {one_by_one:.0} ms, by levels {levels:.0} ms",
        steps.len()
    );
    let bodies = folder.join("finished.bodies");
    write_bodies(&bodies, &ready);
    let told = folder.join("steps.json");
    std::fs::write(&told, told_steps(&ready, &steps).to_string()).expect("a file");
    let python = std::env::var("FOAMWRIGHT_PYTHON").unwrap_or_else(|_| "python3".into());
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bench/combine.py");
    let done = Command::new(python)
        .arg(script)
        .args([&bodies, &told])
        .output();
    match done {
        Ok(done) if done.status.success() => {
            let said = String::from_utf8_lossy(&done.stdout);
            let times: Vec<f64> = said
                .split_whitespace()
                .filter_map(|t| t.parse().ok())
                .collect();
            let [theirs, their_levels] = times[..] else {
                panic!("two times expected: {said}");
            };
            println!(
                "manifold3d on the same bodies: one by one {theirs:.0} ms, local takes {:.2} of it; by levels {their_levels:.0} ms, local takes {:.2} of it",
                local / theirs,
                local / their_levels
            );
        }
        _ => println!("LEFT OUT: manifold3d, for want of a Python with numpy and manifold3d"),
    }
}

/// A plate with bosses and a bore through each, the whole way (ms).
fn plate(features: usize, folder: &Path) -> f64 {
    let stations = features / 2;
    let across = 20;
    let source = format!(
        "part(\"plate\"); metal(\"A356\"); stock(2); fillets(2);
         let plate = slab(\"plate\", #{{ outline: rect({across} * 24 + 10, {down} * 24 + 10), height: 10 }});
         for i in 0..{stations} {{
             let at = [(i % {across} - {across} / 2) * 24 + 12, (i / {across} - {down} / 2) * 24 + 12];
             let pad = boss(\"pad\" + i, #{{ on: plate.top, at: at, dia: 16, height: 8 + i % 5 }});
             bore(\"hole\" + i, #{{ into: pad.top, dia: 9, through: true }});
         }}
         finish(plate.bottom);",
        down = stations.div_ceil(across)
    );
    let ms = least(2, || {
        let built = Bench::new().build_text(
            &source,
            "plate.rhai",
            Arc::new(NoModules),
            &Wish::default(),
            &|_| {},
        );
        write(&built.expect("the plate builds"), folder);
    });
    println!("{} features, script to files: {ms:.0} ms", 2 * stations + 1);
    ms
}
