//! `mend`: patches for foam that was cut from an earlier version, and the pattern that is kept as the one cut.

use std::path::{Path, PathBuf};

use crate::export::stl;
use crate::fault::Fault;
use crate::pattern::Stage;
use crate::pieces::{Mending, Patch, mending};
use crate::sheet::mend_bill::{MendRow, mend_csv, mend_rows};
use crate::shop::files::{Output, Written, write_all};
use crate::shop::mesh_file::read_mesh;
use crate::shop::pipeline::{Build, Built};

/// The pattern that foam was cut from, in a build's folder; `make` without `--as-cut` leaves it as it is.
const AS_CUT: &str = "as-cut.stl";

/// Where the patches go, in a build's folder.
const FOLDER: &str = "mend";

/// Where the pattern that was cut lies, in a build's folder.
pub fn as_cut_file(folder: &Path) -> PathBuf {
    folder.join(AS_CUT)
}

/// Keeps a build's pattern as the one that foam is cut from.
///
/// # Errors
/// The build has no pattern; the file can't be written.
pub fn keep_as_cut(build: &Build, folder: &Path) -> Result<Vec<Written>, Fault> {
    let pattern = pattern_of(build)?;
    let title = format!("{} as cut", build.part.name);
    let output = Output {
        name: AS_CUT.to_string(),
        contents: Box::new(move |to| stl::write(&pattern.solid, &title, to)),
    };
    write_all(folder, &[output])
}

/// What foam cut from a mesh file needs to become a build's pattern, with its bill.
///
/// # Errors
/// The build has no pattern; the file can't be read as a closed mesh, or lies elsewhere; the kernel fails.
pub fn mend(build: &Build, cut: &Path) -> Result<(Mending, Vec<MendRow>), Fault> {
    let pattern = pattern_of(build)?;
    let foam = read_mesh(cut)?;
    if !foam.bounds().meets(&pattern.solid.bounds()) {
        return Err(Fault::new(format!(
            "{} doesn't lie where the pattern of this script does",
            cut.display()
        ))
        .hint("give the `pattern.stl` that the foam was cut from, in mm and not moved"));
    }
    let found = mending(&pattern.solid, &foam).map_err(|fault| Fault::new(fault.text()))?;
    let rows = mend_rows(&build.part, &found);
    Ok((found, rows))
}

/// Writes the patches and their bill into the folder `mend` of a build's folder; patches of before are taken away.
///
/// # Errors
/// A file can't be written, or one of before not be taken away.
pub fn write_mending(
    build: &Build,
    (found, rows): &(Mending, Vec<MendRow>),
    folder: &Path,
) -> Result<Vec<Written>, Fault> {
    let folder = folder.join(FOLDER);
    clear(&folder)?;
    let patches = found.glue_in.iter().chain(&found.carve);
    let mesh = |(row, patch): (&MendRow, &'_ Patch)| {
        let title = format!("{} {}", build.part.name, row.name);
        let solid = patch.solid.clone();
        Output {
            name: format!("{}.stl", row.name),
            contents: Box::new(move |to| stl::write(&solid, &title, to)),
        }
    };
    let mut outputs: Vec<Output> = rows.iter().zip(patches).map(mesh).collect();
    let table = mend_csv(&build.part, rows);
    outputs.push(Output {
        name: "mend.csv".to_string(),
        contents: Box::new(move |to| to.write_all(table.as_bytes())),
    });
    write_all(&folder, &outputs)
}

/// Takes away the patches of before: `glue-in-N.stl` and `carve-N.stl`, no other file.
fn clear(folder: &Path) -> Result<(), Fault> {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return Ok(());
    };
    for entry in entries.flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        let number = |kind: &str| {
            let rest = name.strip_prefix(kind)?.strip_suffix(".stl")?;
            rest.parse::<usize>().ok()
        };
        if number("glue-in-").or_else(|| number("carve-")).is_some() {
            std::fs::remove_file(entry.path())
                .map_err(|e| Fault::new(format!("{}: {e}", entry.path().display())))?;
        }
    }
    Ok(())
}

fn pattern_of(build: &Build) -> Result<&Built, Fault> {
    build
        .stage(Stage::Pattern)
        .ok_or_else(|| Fault::new("there is no pattern"))
}
