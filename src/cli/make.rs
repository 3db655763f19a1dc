//! `make`.

use std::path::{Path, PathBuf};

use crate::cli::End;
use crate::cli::arguments::MakeWish;
use crate::cli::show::{Progress, failed, fault, say, summary};
use crate::fault::Fault;
use crate::shop::{
    Bench, Build, Wish, folder_names, keep_as_cut, out_folder, report_of, write_build,
};

/// What a finished build ends with.
pub(super) fn end(build: &Build) -> End {
    if build.stops() { End::Stops } else { End::Good }
}

/// `foamwright make`.
pub fn make(wish: &MakeWish) -> End {
    if let Some(table) = &wish.each {
        return make_each(wish, table);
    }
    let folder = wish
        .out
        .clone()
        .unwrap_or_else(|| out_folder(&wish.common.script, &wish.common.set));
    make_one(&mut Bench::new(), wish, wish.common.set.clone(), &folder)
}

fn make_one(
    bench: &mut Bench,
    wish: &MakeWish,
    overrides: Vec<(String, String)>,
    folder: &Path,
) -> End {
    let progress = Progress::new();
    let asked = Wish {
        overrides,
        facet_mm: wish.common.facet,
        effort: Some(wish.effort.into()),
        ..Wish::default()
    };
    let build = match bench.build(&wish.common.script, &asked, &|what| progress.step(what)) {
        Ok(build) => build,
        Err(failure) => return failed(&failure),
    };
    let report = report_of(&build, &wish.common.script, wish.timings);
    progress.step("writing files");
    let mut written = match write_build(&build, &report, folder) {
        Ok(written) => written,
        Err(trouble) => return fault(trouble),
    };
    if wish.as_cut {
        match keep_as_cut(&build, folder) {
            Ok(kept) => written.extend(kept),
            Err(trouble) => return fault(trouble),
        }
    }
    if wish.json {
        say(&report.json())
    } else {
        say(&summary(&build, &written, wish.timings))
    }
    end(&build)
}

/// One build a row of a table.
fn make_each(wish: &MakeWish, table: &Path) -> End {
    let rows = match read_rows(table) {
        Ok(rows) => rows,
        Err(trouble) => return fault(trouble),
    };
    let plain = out_folder(&wish.common.script, &[]);
    let names: Vec<String> = rows
        .iter()
        .map(|row| {
            let folder = out_folder(&wish.common.script, row);
            folder
                .file_name()
                .map_or_else(String::new, |n| n.to_string_lossy().into_owned())
        })
        .collect();
    let parent: PathBuf = match &wish.out {
        Some(out) => out.clone(),
        None => plain.parent().map_or_else(PathBuf::new, Path::to_path_buf),
    };
    let mut bench = Bench::new();
    let mut worst = End::Good;
    for (row, name) in rows.into_iter().zip(folder_names(&names)) {
        let mut overrides = wish.common.set.clone();
        overrides.extend(row);
        worst = worst.max(make_one(&mut bench, wish, overrides, &parent.join(name)));
    }
    worst
}

/// The rows of a sizes table as settings.
fn read_rows(table: &Path) -> Result<Vec<Vec<(String, String)>>, Fault> {
    let trouble = |e: csv::Error| Fault::new(format!("{}: {e}", table.display()));
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .from_path(table)
        .map_err(trouble)?;
    let head = reader.headers().map_err(trouble)?.clone();
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(trouble)?;
        let row = head.iter().zip(&record).filter(|(_, v)| !v.is_empty());
        rows.push(
            row.map(|(n, v)| (n.trim_start_matches('\u{feff}').to_string(), v.to_string()))
                .collect(),
        );
    }
    if rows.is_empty() {
        return Err(
            Fault::new(format!("{}: it holds no row to build", table.display()))
                .hint("its first line names settings, each further line gives their values"),
        );
    }
    Ok(rows)
}
