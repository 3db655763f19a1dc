//! The command line: arguments, what each command prints, and the exit status.

mod arguments;
mod list;
mod make;
mod mend;
mod picture;
mod prove;
mod show;
mod watch;

use std::process::ExitCode;

use clap::Parser;

use crate::shop::{Bench, Build, Wish};
use arguments::{Arguments, Command, Common};
use show::{Progress, failed};

/// What a command ends with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum End {
    /// No finding at level stop.
    Good,
    /// Built, with findings at level stop.
    Stops,
    /// The script, or an argument, can't be built.
    Failed,
}

impl From<End> for ExitCode {
    fn from(end: End) -> ExitCode {
        ExitCode::from(match end {
            End::Good => 0,
            End::Stops => 1,
            End::Failed => 2,
        })
    }
}

/// Runs the command that the arguments ask for.
pub fn run() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => {
            let _ = error.print();
            return if error.use_stderr() {
                End::Failed.into()
            } else {
                End::Good.into()
            };
        }
    };
    let end = match arguments.command {
        Command::Make(wish) => make::make(&wish),
        Command::Mend(wish) => mend::mend(&wish),
        Command::Prove(wish) => prove::prove(&wish),
        Command::Watch(wish) => watch::watch(&wish),
        Command::Words { word } => list::words(word.as_deref()),
        Command::Metals { name } => list::metals(name.as_deref()),
        Command::Picture(wish) => picture::picture(&wish),
        Command::Start { name } => list::start(&name),
    };
    end.into()
}

/// The stages of a script, without its checks; a script that can't be built is told.
fn shaped(common: &Common, progress: &Progress) -> Result<Build, End> {
    let asked = Wish {
        overrides: common.set.clone(),
        facet_mm: common.facet,
        ..Wish::default()
    };
    let built = Bench::new().shape(&common.script, &asked, &|what| progress.step(what));
    built.map_err(|failure| failed(&failure))
}
