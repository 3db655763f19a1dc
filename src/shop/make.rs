//! `make` and `prove`: a build, its report, its folder and its files.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::export::stl;
use crate::fault::Fault;
use crate::foundry::foam::DEFAULT_FOAM;
use crate::pattern::Stage;
use crate::picture::{Sheet, draw};
use crate::pieces::Pieces;
use crate::sheet::bill::bill;
use crate::sheet::report::{Report, Source, report};
use crate::shop::boards::board_files;
use crate::shop::files::{Contents, Output, Written, write_all};
use crate::shop::folder::{files_before, own_files, remove_stale};
use crate::shop::late::late_files;
use crate::shop::names::{FileNames, file_name};
use crate::shop::pipeline::Build;

/// Density of the foam that weights are given for (kg/m³).
pub fn foam_kg_m3() -> f64 {
    DEFAULT_FOAM.density_kg_m3.low
}

/// The foam that weights are given for, as the trade calls it: `XPS type IV`.
pub fn foam_name() -> String {
    format!("{} type {}", DEFAULT_FOAM.kind, DEFAULT_FOAM.number)
}

/// The report of a build; `timings` puts its seconds in.
pub fn report_of(build: &Build, script: &Path, timings: bool) -> Report {
    let stages: Vec<_> = build.stages.iter().map(|b| (b.stage, b.figures)).collect();
    let name = script
        .file_name()
        .map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    let mut told = report(&Source {
        part: &build.part,
        script: &name,
        stages: &stages,
        changes: &build.changes,
        pieces: build.pieces.as_deref(),
        pour: build.pour.as_deref(),
        outlook: build.outlook.as_deref(),
        boards: build.boards.as_deref(),
        findings: &build.findings,
        foam_kg_m3: foam_kg_m3(),
        seconds: timings.then_some([
            build.seconds.script,
            build.seconds.solids,
            build.seconds.checks,
            build.seconds.boards,
        ]),
    });
    told.files = own_files(&foam_files(build));
    told
}

/// Where a script's files go: `out/<script name>`, with `-<name>-<value>` for every setting from outside.
pub fn out_folder(script: &Path, overrides: &[(String, String)]) -> PathBuf {
    let stem = script
        .file_stem()
        .map_or_else(String::new, |s| s.to_string_lossy().into_owned());
    let mut name = stem;
    for (setting, value) in overrides {
        name.push_str(&format!("-{setting}-{}", value.replace('/', "_")));
    }
    Path::new("out").join(file_name(&name))
}

/// Folder names for a list of builds: no two alike.
pub fn folder_names(names: &[String]) -> Vec<String> {
    let mut taken = FileNames::default();
    names.iter().map(|n| taken.next(n)).collect()
}

/// Writes a build's files into a folder, and takes away those of its pieces and boards that it no longer has.
///
/// # Errors
/// The folder or a file can't be written; files already there stay whole.
pub fn write_build(build: &Build, report: &Report, folder: &Path) -> Result<Vec<Written>, Fault> {
    let before = files_before(folder);
    let mut outputs = bare(build_files(build, report));
    outputs.extend(late_files(build, report));
    let written = write_all(folder, &outputs)?;
    remove_stale(folder, &before, &report.files);
    Ok(written)
}

/// Writes the files of a build that is still to be proved: those of pieces and boards from before stay.
///
/// # Errors
/// As [`write_build`].
pub fn write_first(build: &Build, report: &Report, folder: &Path) -> Result<(), Fault> {
    let report = with_files_before(report, folder);
    write_all(folder, &bare(build_files(build, &report))).map(|_| ())
}

/// Writes all but a build's stages, which are there already. Unless it is the last time, boards are still to be laid:
/// their files from before stay, and so do those that tell of them.
///
/// # Errors
/// As [`write_build`].
pub fn write_proof(build: &Build, report: &Report, folder: &Path, last: bool) -> Result<(), Fault> {
    let before = files_before(folder);
    let report = if last {
        report
    } else {
        &with_files_before(report, folder)
    };
    let mut outputs = foam_files(build);
    outputs.push(report_file(report));
    let mut outputs = bare(outputs);
    if last {
        outputs.extend(late_files(build, report));
    }
    write_all(folder, &outputs)?;
    if last {
        remove_stale(folder, &before, &report.files);
    }
    Ok(())
}

/// A report that tells also of the files of pieces and boards that are there from before.
fn with_files_before(report: &Report, folder: &Path) -> Report {
    let mut report = report.clone();
    report.files.extend(files_before(folder));
    report.files.sort();
    report.files.dedup();
    report
}

/// The files without their sizes.
pub(super) fn bare(outputs: Vec<(Output, u64)>) -> Vec<Output> {
    outputs.into_iter().map(|(output, _)| output).collect()
}

/// A build's files, each with its size in bytes.
pub fn build_files<'a>(build: &'a Build, report: &Report) -> Vec<(Output<'a>, u64)> {
    let mut outputs: Vec<(Output, u64)> = Vec::new();
    for stage in Stage::ALL {
        let Some(built) = build.stage(stage) else {
            continue;
        };
        let title = format!("{} {}", build.part.name, stage.name());
        let output = Output {
            name: format!("{}.stl", stage.name()),
            contents: Box::new(move |to| stl::write(&built.solid, &title, to)),
        };
        outputs.push((output, stl::bytes(&built.solid)));
    }
    outputs.extend(foam_files(build));
    outputs.push(report_file(report));
    outputs
}

/// The files of pieces and boards, with their bill, each with its size in bytes.
fn foam_files(build: &Build) -> Vec<(Output<'_>, u64)> {
    let mut outputs = Vec::new();
    if let Some(pieces) = &build.pieces {
        piece_files(build, pieces, &mut outputs);
    }
    outputs.extend(board_files(build));
    outputs
}

/// The report as a file, with its size in bytes.
fn report_file<'a>(report: &Report) -> (Output<'a>, u64) {
    text_file("report.json", report.json())
}

/// The pieces as they are cut, and their bill.
fn piece_files<'a>(build: &Build, pieces: &'a Pieces, outputs: &mut Vec<(Output<'a>, u64)>) {
    let mut names = FileNames::default();
    for piece in &pieces.pieces {
        let title = format!("{} {}", build.part.name, piece.name);
        let name = names.next(&piece.name);
        if let Some(blank) = &piece.blank {
            let title = title.clone();
            let output = Output {
                name: format!("frames/{name}.stl"),
                contents: Box::new(move |to| stl::write(blank, &title, to)),
            };
            outputs.push((output, stl::bytes(blank)));
        }
        let output = Output {
            name: format!("pieces/{name}.stl"),
            contents: Box::new(move |to| stl::write(&piece.solid, &title, to)),
        };
        outputs.push((output, stl::bytes(&piece.solid)));
    }
    let mut bill = bill(&build.part, pieces, foam_kg_m3());
    if let Some(boards) = &build.boards {
        bill = bill.with_boards(&build.part, pieces, boards);
    }
    outputs.push(text_file("bill.csv", bill.csv()));
    outputs.push(text_file("bill.json", bill.json()));
}

/// A file of text, with its size in bytes.
fn text_file<'a>(name: &str, text: String) -> (Output<'a>, u64) {
    let bytes = text.len() as u64;
    let output = Output {
        name: name.to_string(),
        contents: Box::new(move |to: &mut dyn Write| to.write_all(text.as_bytes())),
    };
    (output, bytes)
}

/// Draws a stage of a build into a PNG file.
///
/// # Errors
/// The build has no such stage; the file can't be written.
pub fn write_picture(
    build: &Build,
    stage: Stage,
    sheet: &Sheet,
    path: &Path,
) -> Result<Written, Fault> {
    let Some(built) = build.stage(stage) else {
        return Err(Fault::new(format!("there is no {} stage", stage.name())));
    };
    let picture = draw(&built.solid, sheet);
    let folder = path
        .parent()
        .filter(|p| !p.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    let name = path.file_name().map_or_else(
        || "picture.png".into(),
        |n| n.to_string_lossy().into_owned(),
    );
    let contents: Contents =
        Box::new(move |to| picture.write_png(to).map_err(std::io::Error::other));
    let mut written = write_all(folder, &[Output { name, contents }])?;
    written
        .pop()
        .ok_or_else(|| Fault::new("no picture was written"))
}
