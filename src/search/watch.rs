//! Long work says how far it is, and can be stopped.

use std::ops::ControlFlow;

use crate::error::{Error, Kind, Result};

/// How far a search is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Chords (or tunes) done.
    pub done: usize,
    /// Of how many.
    pub of: usize,
}

/// Whoever is told how far a search is, before each chord and so with what is done by then, and may stop it with
/// `ControlFlow::Break(())`.
pub type Watch<'w> = &'w mut dyn FnMut(Progress) -> ControlFlow<()>;

/// The error of whoever was stopped.
pub(super) fn stopped(progress: Progress) -> Error {
    let Progress { done, of } = progress;
    Error::new(Kind::Stopped, format!("stopped after {done} of {of}"))
        .with_help("start it again to have an answer")
}

/// Tells, and goes on unless stopped.
pub(super) fn tell(watch: Watch<'_>, done: usize, of: usize) -> Result<()> {
    let progress = Progress { done, of };
    match watch(progress) {
        ControlFlow::Continue(()) => Ok(()),
        ControlFlow::Break(()) => Err(stopped(progress)),
    }
}
