//! Why nothing came of it.

use std::fmt::Display;
use std::path::Path;

use crate::shared::Report;

/// What went wrong and what would help, as the library's errors say it.
#[derive(Debug)]
pub(crate) struct Failure {
    report: String,
}

pub(crate) type Result<T> = std::result::Result<T, Failure>;

impl Failure {
    pub(crate) fn new(message: impl Display, help: impl Display) -> Self {
        Self { report: format!("error: {message}\nhelp: {help}") }
    }

    /// The operating system refused to read or write.
    pub(crate) fn io(path: &Path, error: impl Display) -> Self {
        Self::unwritten(format!("{}: {error}", path.display()))
    }

    /// The same, where the message says the place.
    pub(crate) fn unwritten(message: impl Display) -> Self {
        let help = "see that the disk has room and the folder can be written; what is complete is kept, --resume goes on from there";
        Self::new(message, help)
    }
}

impl Report for Failure {
    fn report(&self) -> String {
        self.report.clone()
    }
}

impl From<overshell::Error> for Failure {
    fn from(error: overshell::Error) -> Self {
        Self { report: error.report() }
    }
}
