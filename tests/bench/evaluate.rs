//! How long evaluation takes: the strict sequence, local from nothing, and local after an edit. Ratios, since machines
//! differ. `cargo bench --bench evaluate -- 60 120` picks the numbers of operations.

use std::time::Instant;

use foamwright::drawing::body::{Body, Shape};
use foamwright::solid::{Memo, Ready, evaluate, evaluate_whole};

// Only some of what the tests share is used here.
#[allow(dead_code)]
#[path = "../all/plates.rs"]
mod plates;
#[allow(dead_code)]
#[path = "../all/seeded.rs"]
mod seeded;

use plates::{in_turn, plate, ready};

/// The least of a few runs (ms), and the last result.
fn least<T>(runs: usize, mut work: impl FnMut() -> T) -> (f64, T) {
    let mut timed = || {
        let clock = Instant::now();
        let done = work();
        (clock.elapsed().as_secs_f64() * 1e3, done)
    };
    let mut best = timed();
    for _ in 1..runs {
        let next = timed();
        best = (best.0.min(next.0), next.1);
    }
    best
}

fn wider(body: &Body) -> Body {
    let mut body = body.clone();
    if let Shape::Band(band) = &mut body.shape {
        band.outline = band.outline.grown(0.3).expect("grown a little");
    }
    body
}

fn measure(count: usize) {
    let bodies = plate(count, 7);
    let made = ready(&bodies);
    let steps = in_turn(made.len());
    let cold = |made: &[Ready]| {
        let mut memo = Memo::default();
        let done = evaluate(made, &steps, &mut memo).expect("a solid");
        (memo, done)
    };
    let (cold_ms, (_, done)) = least(3, || cold(&made));
    let (whole_ms, _) = least(1, || evaluate_whole(&made, &steps).expect("a solid"));
    let mut line = format!(
        "{count:>4} operations, {} triangles: one by one {whole_ms:.0} ms, local {cold_ms:.0} ms ({:.1} times faster)",
        done.solid.triangles.len(),
        whole_ms / cold_ms,
    );
    let edits = [0, 1, count / 3, count / 2, 2 * count / 3, count - 1];
    for at in edits {
        let mut edited = bodies.clone();
        edited[at] = wider(&bodies[at]);
        let edited = ready(&edited);
        let mut best = f64::INFINITY;
        for _ in 0..3 {
            let (mut memo, _) = cold(&made);
            memo.end_run();
            let run = || evaluate(&edited, &steps, &mut memo).expect("a solid");
            best = best.min(least(1, run).0);
        }
        line += &format!(
            "\n     body {at} edited: {best:.1} ms, {:.0} times faster than one by one",
            whole_ms / best
        );
    }
    println!("{line}");
}

fn main() {
    let wanted: Vec<usize> = std::env::args().filter_map(|a| a.parse().ok()).collect();
    let counts = if wanted.is_empty() {
        vec![60, 120, 250, 500]
    } else {
        wanted
    };
    counts.into_iter().for_each(measure);
}
