//! Building scripts in tests by the way that the command takes: text to stages and findings.

use std::path::Path;
use std::sync::Arc;

use foamwright::fault::{Finding, Level, render_all};
use foamwright::script::NoModules;
use foamwright::shop::{Bench, Build, Failure, Stage, Wish};
use foamwright::solid::Figures;

/// Findings that nearly every part has: openings from a side are out of reach, and few corners have fillets.
const USUAL: [&str; 2] = ["out-of-reach", "sharp-inside"];

/// What a script gives, built or not; without the usual findings.
pub fn tried(source: &str) -> Result<Build, Box<Failure>> {
    let mut build = tried_whole(source)?;
    build.findings.retain(|f| !USUAL.contains(&f.code));
    Ok(build)
}

/// What a script gives, built or not.
fn tried_whole(source: &str) -> Result<Build, Box<Failure>> {
    Bench::new().build_text(
        source,
        "t.rhai",
        Arc::new(NoModules),
        &Wish::default(),
        &|_| {},
    )
}

/// A script that must build; `part` is said for it. Without the usual findings.
pub fn built(source: &str) -> Build {
    must_build(tried(&format!("part(\"t\"); {source}")))
}

/// The same with all its findings.
pub fn built_whole(source: &str) -> Build {
    must_build(tried_whole(&format!("part(\"t\"); {source}")))
}

fn must_build(built: Result<Build, Box<Failure>>) -> Build {
    built.unwrap_or_else(|failure| {
        let shown = render_all(&failure.faults, &|f| failure.texts.get(f).cloned());
        panic!("{shown}")
    })
}

/// A script on disk that must build.
pub fn built_file(path: &Path, wish: &Wish) -> Build {
    let built = Bench::new().build(path, wish, &|_| {});
    built.unwrap_or_else(|failure| {
        let shown = render_all(&failure.faults, &|f| failure.texts.get(f).cloned());
        panic!("{}: {shown}", path.display())
    })
}

/// What a stage measures.
pub fn figures(build: &Build, stage: Stage) -> Figures {
    build.stage(stage).expect("every stage is built").figures
}

/// Volume of the finished part of a script (mm³).
pub fn finished(source: &str) -> f64 {
    figures(&built(source), Stage::Finished).volume_mm3
}

/// Volumes of the finished part and the casting of a script (mm³).
pub fn finished_and_casting(source: &str) -> (f64, f64) {
    let build = built(source);
    (
        figures(&build, Stage::Finished).volume_mm3,
        figures(&build, Stage::Casting).volume_mm3,
    )
}

/// Fails unless `got` is `want` within `slack`.
#[track_caller]
pub fn near(got: f64, want: f64, slack: f64) {
    assert!(
        (got - want).abs() <= slack,
        "{got} is not {want} within {slack}: off by {}",
        got - want
    );
}

/// The findings as code, level, names of features, value: what tests compare.
pub fn said(build: &Build) -> Vec<(&'static str, Level, Vec<&str>, Option<f64>)> {
    build.findings.iter().map(told).collect()
}

/// One finding as [`said`] tells it.
pub fn told(f: &Finding) -> (&'static str, Level, Vec<&str>, Option<f64>) {
    let names = f.features.iter().map(|(n, _)| n.as_str()).collect();
    (f.code, f.level, names, f.value)
}
