//! The `foamwright` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    foamwright::cli::run()
}
