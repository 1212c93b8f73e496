//! What the examples have in common: how they speak and how they end.

use std::io::{ErrorKind, Write};
use std::process::{ExitCode, Termination};

/// Prints a line.
macro_rules! say {
    () => { $crate::shared::say(format_args!("")) };
    ($($text:tt)+) => { $crate::shared::say(format_args!($($text)+)) };
}

/// Prints a line; whoever reads along may stop reading.
pub(crate) fn say(line: std::fmt::Arguments<'_>) {
    match writeln!(std::io::stdout(), "{line}") {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            complain(&format!("error: cannot print: {error}"));
            std::process::exit(2);
        }
        _ => {}
    }
}

/// Says what is wrong; where nobody can hear it, the exit status still does.
pub(crate) fn complain(text: &str) {
    let _ = writeln!(std::io::stderr(), "{text}");
}

/// What says why nothing came of it, with what would help.
pub(crate) trait Report {
    fn report(&self) -> String;
}

impl Report for overshell::Error {
    fn report(&self) -> String {
        self.report()
    }
}

/// Runs an example: an error is printed with its place and its help, and the exit status is 2.
pub(crate) fn run<T: Termination, E: Report>(example: impl FnOnce() -> Result<T, E>) -> ExitCode {
    match example() {
        Ok(ended) => ended.report(),
        Err(error) => {
            complain(&error.report());
            ExitCode::from(2)
        }
    }
}
