//! Long work says how far it is, and can be stopped.

use std::ops::ControlFlow;

use crate::error::{Error, Kind, Result};

/// How far a search is. While one operation runs, `of` stays the same and `done` never falls (but where several threads tell, one
/// may overtake another); where the operation succeeds, all is done at last.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Chords (or tunes) done, each as often as the operation goes through them.
    pub done: usize,
    /// Of how many.
    pub of: usize,
}

/// Whoever is told how far a search is, before each chord and so with what is done by then, and once more when all is done; may
/// stop it with `ControlFlow::Break(())`, every time. Where a chord takes long, the same is told several times, so that the search
/// can be stopped.
pub type Watch<'w> = &'w mut dyn FnMut(Progress) -> ControlFlow<()>;

/// A watch that lets everything go on.
pub(super) fn unwatched() -> impl FnMut(Progress) -> ControlFlow<()> {
    |_| ControlFlow::Continue(())
}

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

/// One operation out of several parts, each of which counts from 0, as it is told to whoever watches.
pub(super) struct Told<'w> {
    watch: Watch<'w>,
    /// What the parts before have done.
    before: usize,
    last: Progress,
}

impl<'w> Told<'w> {
    /// An operation of so many steps in all.
    pub(super) fn new(watch: Watch<'w>, of: usize) -> Self {
        Self { watch, before: 0, last: Progress { done: 0, of } }
    }

    /// The part behind so many steps begins.
    pub(super) fn part(&mut self, before: usize) -> &mut Self {
        self.before = before;
        self
    }

    /// Tells how much of the part is done.
    pub(super) fn tell(&mut self, done: usize) -> ControlFlow<()> {
        self.last.done = self.before.saturating_add(done).min(self.last.of);
        (self.watch)(self.last)
    }

    /// Tells that all is done.
    ///
    /// # Errors
    ///
    /// Where it is stopped even so.
    pub(super) fn end(mut self) -> Result<()> {
        self.last.done = self.last.of;
        if (self.watch)(self.last).is_break() { Err(self.stopped()) } else { Ok(()) }
    }

    /// The error of whoever was stopped when something was told last.
    pub(super) fn stopped(&self) -> Error {
        stopped(self.last)
    }
}
