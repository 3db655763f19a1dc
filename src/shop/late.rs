//! Files that are made once a build is proved, and again when its boards are laid: the shop sheet and the 3MF package.
//! They are made only as they are written: pictures take longer than all other files.

use std::path::Path;

use crate::export::package::{self, Member};
use crate::measure::Frame;
use crate::pattern::Stage;
use crate::sheet::report::Report;
use crate::sheet::shop_sheet::{SheetSource, shop_sheet};
use crate::shop::files::Output;
use crate::shop::make::{foam_kg_m3, foam_name};
use crate::shop::pipeline::Build;

/// The name of the shop sheet.
pub const SHEET: &str = "sheet.html";
/// The name of the 3MF package.
pub const PACKAGE: &str = "pattern.3mf";

/// The shop sheet of a build; `script` is its file.
pub fn sheet_of(build: &Build, script: &Path) -> String {
    let name = script
        .file_name()
        .map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    sheet_named(build, &name)
}

fn sheet_named(build: &Build, script: &str) -> String {
    let stages = build.stages.iter();
    shop_sheet(&SheetSource {
        part: &build.part,
        script,
        stages: stages.map(|b| (b.stage, b.figures, &*b.solid)).collect(),
        stocks: &build.stocks,
        left_solid: &build.left_solid,
        pieces: build.pieces.as_deref(),
        boards: build.boards.as_deref(),
        pour: build.pour.as_deref(),
        outlook: build.outlook.as_deref(),
        findings: &build.findings,
        foam_kg_m3: foam_kg_m3(),
        foam_name: &foam_name(),
    })
}

/// Both files of a build.
pub(super) fn late_files<'a>(build: &'a Build, report: &Report) -> Vec<Output<'a>> {
    let script = report.script.clone();
    let sheet = Output {
        name: SHEET.to_string(),
        contents: Box::new(move |to| to.write_all(sheet_named(build, &script).as_bytes())),
    };
    let package = Output {
        name: PACKAGE.to_string(),
        contents: Box::new(move |to| package::write(&members(build), &build.part.name, to)),
    };
    vec![sheet, package]
}

/// The pieces in their places, or the whole pattern.
fn members(build: &Build) -> Vec<Member<'_>> {
    match &build.pieces {
        // Gating is no part of the pattern.
        Some(pieces) if !pieces.pieces.is_empty() => pieces.pieces[..pieces.of_pattern()]
            .iter()
            .map(|p| Member {
                name: &p.name,
                solid: &p.solid,
                lay: p.lay,
            })
            .collect(),
        _ => build
            .stage(Stage::Pattern)
            .map(|b| Member {
                name: Stage::Pattern.name(),
                solid: &b.solid,
                lay: Frame::PART,
            })
            .into_iter()
            .collect(),
    }
}
