//! The editor command: split into arguments once, run without a shell.

use std::fmt;
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Stands for the file.
const FILE: &str = "{file}";

/// Stands for the line.
const LINE: &str = "{line}";

/// The most editors that are open at a time through this.
const MOST_OPEN: usize = 32;

/// Why a command can't be an editor.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum EditorFault {
    /// Nothing in it.
    Empty,
    /// A quote without its other.
    OpenQuote,
    /// It never names the file.
    NoFile,
}

impl fmt::Display for EditorFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            EditorFault::Empty => "the editor command is empty",
            EditorFault::OpenQuote => "the editor command has a quote that isn't closed",
            EditorFault::NoFile => "the editor command never says {file}",
        })
    }
}

impl std::error::Error for EditorFault {}

/// An editor that opens files at a line.
#[derive(Debug, Clone)]
pub struct Editor {
    program: String,
    arguments: Vec<String>,
    open: Arc<AtomicUsize>,
}

impl Editor {
    /// Splits a command at blanks; quotes of either kind hold an argument together.
    ///
    /// # Errors
    /// [`EditorFault`].
    pub fn parse(command: &str) -> Result<Editor, EditorFault> {
        let mut words = split(command)?.into_iter();
        let program = words.next().ok_or(EditorFault::Empty)?;
        let arguments: Vec<String> = words.collect();
        if program.contains(FILE) || !arguments.iter().any(|a| a.contains(FILE)) {
            return Err(EditorFault::NoFile);
        }
        Ok(Editor {
            program,
            arguments,
            open: Arc::default(),
        })
    }

    /// The arguments for a file and line: each stays one argument, whatever is in the file's name.
    pub fn arguments(&self, file: &str, line: usize) -> Vec<String> {
        let line = line.to_string();
        let fill = |argument: &String| {
            // One pass, so that a file called `{line}` stays what it is.
            let parts: Vec<String> = argument
                .split(FILE)
                .map(|p| p.replace(LINE, &line))
                .collect();
            parts.join(file)
        };
        self.arguments.iter().map(fill).collect()
    }

    /// Opens a file at a line.
    ///
    /// # Errors
    /// The program can't be run; too many are open.
    pub fn open(&self, file: &Path, line: usize) -> std::io::Result<()> {
        if self.open.load(Ordering::Acquire) >= MOST_OPEN {
            return Err(std::io::Error::other("too many editors are open"));
        }
        let arguments = self.arguments(&file.to_string_lossy(), line);
        let open = Arc::clone(&self.open);
        open.fetch_add(1, Ordering::AcqRel);
        let ran = run(&self.program, &arguments, move || {
            open.fetch_sub(1, Ordering::AcqRel);
        });
        if ran.is_err() {
            self.open.fetch_sub(1, Ordering::AcqRel);
        }
        ran
    }
}

/// Runs a program apart from this one's terminal; `ended` is called when it has ended.
pub fn run(
    program: &str,
    arguments: &[String],
    ended: impl FnOnce() + Send + 'static,
) -> std::io::Result<()> {
    let mut child = Command::new(program)
        .args(arguments)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()?;
    std::thread::spawn(move || {
        let _ = child.wait();
        ended();
    });
    Ok(())
}

/// A command's words.
fn split(command: &str) -> Result<Vec<String>, EditorFault> {
    let mut words = Vec::new();
    let mut word: Option<String> = None;
    let mut quote = None;
    for c in command.chars() {
        match quote {
            Some(q) if c == q => quote = None,
            Some(_) => word.get_or_insert_default().push(c),
            None if c == '"' || c == '\'' => {
                word.get_or_insert_default();
                quote = Some(c);
            }
            None if c.is_whitespace() => words.extend(word.take()),
            None => word.get_or_insert_default().push(c),
        }
    }
    if quote.is_some() {
        return Err(EditorFault::OpenQuote);
    }
    words.extend(word);
    Ok(words)
}
