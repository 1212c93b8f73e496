//! What the examples have in common: how they end.

use std::process::ExitCode;

/// Runs an example: an error is printed with its place and its help, and the exit status is 2.
pub(crate) fn run(example: impl FnOnce() -> overshell::Result<()>) -> ExitCode {
    match example() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{}", error.report());
            ExitCode::from(2)
        }
    }
}
