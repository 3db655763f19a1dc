//! Writing a build's files: every one is written whole beside its place, and only then are all moved there, so that
//! a build that fails or is killed leaves the last good files whole. Nothing waits for the disk itself: after a power
//! cut the build is made again.

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use crate::fault::Fault;

/// The ending of a file that is still being written.
const UNFINISHED: &str = ".unfinished";

/// How one file's bytes are made.
pub type Contents<'a> = Box<dyn Fn(&mut dyn Write) -> io::Result<()> + Send + Sync + 'a>;

/// A file to be written.
pub struct Output<'a> {
    /// Its name in the folder; `/` parts off a folder within it.
    pub name: String,
    /// Its bytes.
    pub contents: Contents<'a>,
}

/// A file that was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// Where it lies.
    pub path: PathBuf,
    /// Its size in bytes.
    pub bytes: u64,
}

/// Writes all files into a folder, which is made where it isn't there.
///
/// # Errors
/// The folder can't be made or written to, or a file can't be written; files already in place are untouched.
pub fn write_all(folder: &Path, outputs: &[Output]) -> Result<Vec<Written>, Fault> {
    fs::create_dir_all(folder).map_err(|e| trouble(folder, &e))?;
    let inner = |output: &Output| {
        let path = folder.join(&output.name);
        path.parent().map(Path::to_path_buf)
    };
    for within in outputs.iter().filter_map(inner) {
        fs::create_dir_all(&within).map_err(|e| trouble(&within, &e))?;
    }
    let beside = |output: &Output| folder.join(format!("{}{UNFINISHED}", output.name));
    let done: Vec<io::Result<u64>> = std::thread::scope(|scope| {
        let writers: Vec<_> = outputs
            .iter()
            .map(|output| scope.spawn(|| write_one(&beside(output), &output.contents)))
            .collect();
        let join = |writer: std::thread::ScopedJoinHandle<_>| {
            writer
                .join()
                .unwrap_or_else(|panic| std::panic::resume_unwind(panic))
        };
        writers.into_iter().map(join).collect()
    });
    let mut waiting = Vec::new();
    let mut failed = None;
    for (output, done) in outputs.iter().zip(done) {
        let beside = beside(output);
        match done {
            Ok(bytes) => waiting.push((
                beside,
                Written {
                    path: folder.join(&output.name),
                    bytes,
                },
            )),
            Err(error) => {
                let _ = fs::remove_file(&beside);
                failed.get_or_insert_with(|| trouble(&folder.join(&output.name), &error));
            }
        }
    }
    if let Some(fault) = failed {
        remove(&waiting);
        return Err(fault);
    }
    for (beside, written) in &waiting {
        if let Err(error) = fs::rename(beside, &written.path) {
            remove(&waiting);
            return Err(trouble(&written.path, &error));
        }
    }
    Ok(waiting.into_iter().map(|(_, written)| written).collect())
}

fn write_one(path: &Path, contents: &Contents) -> io::Result<u64> {
    let mut file = BufWriter::new(File::create(path)?);
    contents(&mut file)?;
    let file = file.into_inner().map_err(io::IntoInnerError::into_error)?;
    Ok(file.metadata()?.len())
}

fn remove(waiting: &[(PathBuf, Written)]) {
    for (beside, _) in waiting {
        let _ = fs::remove_file(beside);
    }
}

fn trouble(path: &Path, error: &io::Error) -> Fault {
    let why = match error.kind() {
        io::ErrorKind::PermissionDenied => "it may not be written".to_string(),
        io::ErrorKind::NotADirectory | io::ErrorKind::AlreadyExists => {
            "a file stands where a folder is needed".to_string()
        }
        io::ErrorKind::StorageFull => "the disk is full".to_string(),
        _ => error.to_string(),
    };
    Fault::new(format!("{}: {why}", path.display())).hint("give another folder with --out")
}
