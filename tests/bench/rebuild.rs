//! How long an edit takes from the save's text to STL files on disk and the page's mesh of the pattern, and on to the foam
//! pieces and what is expected of the pour: the gearbox cover, an edit in the last third of its script, one in its first
//! feature, and a cold build. Medians and ratios, since machines differ; `cargo bench --bench rebuild`.

use std::fs;
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use foamwright::export::view;
use foamwright::script::NoModules;
use foamwright::shop::{Bench, Stage, Wish, expect, prove, report_of, write_first};

/// Runs of each kind.
const RUNS: usize = 9;

/// Milliseconds from the save's text on, as `watch` goes: until the stages' files are written and the pattern's mesh is
/// there for a page; until the pieces are, with the findings about walls and reach; until it is known how the pour goes.
/// Of the first, what script and solids take, and the checks beside the solids.
type Times = [f64; 6];

const NAMES: [&str; 6] = [
    "script",
    "solids",
    "their checks",
    "shown",
    "pieces",
    "pour",
];

fn timed(bench: &mut Bench, text: &str, out: &Path) -> Times {
    let clock = Instant::now();
    let wish = Wish::default();
    let made = bench.shape_text(text, "cover.rhai", Arc::new(NoModules), &wish, &|_| {});
    let (build, unproved) = made.unwrap_or_else(|failure| panic!("{:?}", failure.faults));
    let solid = &build.stage(Stage::Pattern).expect("a pattern").solid;
    // As in the watch: files and view side by side.
    std::thread::scope(|scope| {
        scope.spawn(|| {
            let mut bytes = Vec::new();
            view::write(solid, &mut bytes).expect("a view");
        });
        let report = report_of(&build, Path::new("cover.rhai"), false);
        write_first(&build, &report, out).expect("files");
    });
    let so_far = || clock.elapsed().as_secs_f64();
    let shown = so_far();
    let s = build.seconds;
    let build = prove(build, &unproved, &|| true).expect("it is wanted");
    let pieces = so_far();
    let build = expect(build, &|| true).expect("it is wanted");
    assert!(
        build.pieces.is_some() && build.outlook.is_some(),
        "both are asked for"
    );
    [s.script, s.solids, s.checks, shown, pieces, so_far()].map(|x| x * 1e3)
}

fn median(mut of: Vec<f64>) -> f64 {
    of.sort_by(f64::total_cmp);
    of[of.len() / 2]
}

fn medians(runs: &[Times]) -> Times {
    std::array::from_fn(|k| median(runs.iter().map(|r| r[k]).collect()))
}

/// A number of the script that a person changes.
struct Edit {
    what: &'static str,
    from: &'static str,
    /// What the run with this number writes instead: each run another value.
    to: fn(usize) -> String,
}

const EDITS: [Edit; 2] = [
    Edit {
        what: "last third",
        from: "at: [3.4, -2.05], dia: 1,",
        to: |run| format!("at: [3.4, -2.05], dia: {},", 1.0 + run as f64 / 1000.0),
    },
    Edit {
        what: "first feature",
        from: "mouth.grown(1/16)",
        to: |run| format!("mouth.grown({})", 0.0625 + run as f64 / 1000.0),
    },
];

fn edited(text: &str, from: &str, to: &str) -> String {
    assert!(text.contains(from), "{from} isn't in the script");
    text.replacen(from, to, 1)
}

fn main() {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("scripts/gearbox-cover.rhai");
    let text = fs::read_to_string(script).expect("the script");
    let out = tempfile::tempdir().expect("a folder");
    let cold: Vec<Times> = (0..RUNS.min(5))
        .map(|_| timed(&mut Bench::new(), &text, out.path()))
        .collect();
    let all = medians(&cold);
    print_row("cold", &all, &all);
    for Edit { what, from, to } in EDITS {
        let mut bench = Bench::new();
        timed(&mut bench, &text, out.path());
        let runs: Vec<Times> = (1..=RUNS)
            .map(|run| timed(&mut bench, &edited(&text, from, &to(run)), out.path()))
            .collect();
        print_row(what, &medians(&runs), &all);
    }
}

fn print_row(what: &str, times: &Times, cold: &Times) {
    let parts: Vec<String> = NAMES
        .iter()
        .zip(times)
        .map(|(n, ms)| format!("{n} {ms:.1}"))
        .collect();
    println!(
        "{what:<14} {} ms; cold / this, shown {:.1}, pieces {:.1}",
        parts.join(", "),
        cold[3] / times[3],
        cold[4] / times[4]
    );
}
