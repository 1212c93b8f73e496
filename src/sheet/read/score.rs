//! A score: title, and its parts bar by bar or its bars part by part.

use super::attributes::PartState;
use super::bar::{empty_bar, read_bar};
use super::cursor::{Cursor, Tag};
use super::finding::Log;
use super::options::Limits;
use super::raw::{RawPart, RawScore};
use super::timewise::Timewise;
use crate::error::{Error, Kind, Result};

/// What has been read so far, against the limits.
pub(in crate::sheet) struct Counts {
    pub(in crate::sheet) limits: Limits,
    pub(in crate::sheet) notes: usize,
}

impl Counts {
    /// Counts a note, rest or chord symbol, or what counts as a rest.
    pub(in crate::sheet) fn note(&mut self) -> Result<()> {
        self.notes += 1;
        if self.notes > self.limits.notes {
            return Err(exceeded("notes", self.limits.notes));
        }
        Ok(())
    }
}

pub(in crate::sheet) fn exceeded(what: &str, limit: usize) -> Error {
    Error::new(Kind::Limit, format!("the score has more than {limit} {what}, the limit `{what}`"))
        .with_help(format!("raise `limits.{what}` if the file is meant to be so large"))
}

/// Reads a whole score.
pub(in crate::sheet) fn read_score(text: &str, limits: Limits, log: &mut Log) -> Result<RawScore> {
    let mut cursor = Cursor::new(text, limits.depth);
    let root = cursor.root()?;
    let mut timewise = match root.name() {
        "score-partwise" => None,
        "score-timewise" => Some(Timewise::default()),
        other => {
            let found = crate::pitch::shown(other);
            return Err(root
                .error(format_args!("found `<{found}>`, expected `<score-partwise>` or `<score-timewise>`"))
                .with_help("give a MusicXML file, plain or compressed"));
        }
    };
    let mut counts = Counts { limits, notes: 0 };
    let mut score = RawScore::default();
    cursor.children(|cursor, tag| {
        match (tag.name(), &mut timewise) {
            ("work", _) => cursor.children(|cursor, tag| {
                if tag.name() == "work-title" {
                    score.work_title = cursor.text()?;
                }
                Ok(())
            })?,
            ("movement-title", _) => score.movement_title = cursor.text()?,
            ("part", None) => {
                log.part = Some(score.parts.len());
                let part = read_part(cursor, &mut counts, log)?;
                if part.bars() == 0 {
                    counts.note()?;
                }
                part.end(&mut score, log);
            }
            ("measure", Some(timewise)) => timewise.read_measure(cursor, tag, &mut counts, log)?,
            _ => {}
        }
        Ok(())
    })?;
    cursor.finish()?;
    let expected = match timewise {
        None => "a `part` with at least one `measure`",
        Some(timewise) => {
            timewise.end(&mut score, log);
            "a `measure` with at least one `part`"
        }
    };
    if score.parts.iter().all(|part| part.bars.is_empty()) {
        return Err(root.error(format_args!("the score has no bars, expected {expected}")).with_help(
            "export the whole tune again, with its notes and not only its title and list of parts",
        ));
    }
    Ok(score)
}

fn read_part(cursor: &mut Cursor<'_>, counts: &mut Counts, log: &mut Log) -> Result<PartReader> {
    let mut part = PartReader::new();
    cursor.children(
        |cursor, tag| if tag.name() == "measure" { part.read(cursor, tag, counts, log) } else { Ok(()) },
    )?;
    Ok(part)
}

/// A part on its way in, bar by bar. Who calls it says in the log which part it is.
pub(super) struct PartReader {
    part: RawPart,
    state: PartState,
    /// Tick and byte at which the last bar was left.
    left_at: (u32, usize),
}

impl PartReader {
    pub(super) fn new() -> Self {
        Self { part: RawPart::default(), state: PartState::new(), left_at: (0, 0) }
    }

    /// How many bars have been read.
    pub(super) fn bars(&self) -> usize {
        self.part.bars.len()
    }

    /// Reads the next bar, from inside the element that holds its notes; `tag` is the one with its number.
    pub(super) fn read(
        &mut self,
        cursor: &mut Cursor<'_>,
        tag: &Tag<'_>,
        counts: &mut Counts,
        log: &mut Log,
    ) -> Result<()> {
        if self.bars() >= counts.limits.bars {
            return Err(exceeded("bars", counts.limits.bars));
        }
        (log.bar, log.tick, log.byte) = (Some(self.bars()), 0, tag.byte);
        let notes = counts.notes;
        let bar = read_bar(cursor, tag, &mut self.state, counts, log)?;
        if counts.notes == notes {
            // It takes room all the same, and a short file could hold very many.
            counts.note()?;
        }
        if self.part.bars.is_empty() {
            // Not room for four, in a score of very many parts.
            self.part.bars.reserve_exact(1);
        }
        self.part.bars.push(bar);
        self.left_at = (log.tick, log.byte);
        Ok(())
    }

    /// Takes the next bar to be empty.
    pub(super) fn skip(&mut self, number: String, implicit: bool) {
        self.part.bars.push(empty_bar(number, implicit, &mut self.state));
    }

    /// Puts the part behind the others of the score.
    pub(super) fn end(self, score: &mut RawScore, log: &mut Log) {
        if !self.state.behind.is_empty() {
            (log.bar, (log.tick, log.byte)) = (self.bars().checked_sub(1), self.left_at);
            log.say("a mark behind the last bar is left out", "put it in front of a bar");
        }
        (log.part, log.bar) = (None, None);
        score.tempo = score.tempo.or(self.state.tempo);
        score.parts.push(self.part);
    }
}
