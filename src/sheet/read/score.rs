//! `score-partwise`: title, parts, bars.

use super::attributes::PartState;
use super::bar::read_bar;
use super::cursor::Cursor;
use super::finding::Log;
use super::options::Limits;
use super::raw::{RawPart, RawScore};
use crate::error::{Error, Kind, Result};

/// What has been read so far, against the limits.
pub(in crate::sheet) struct Counts {
    pub(in crate::sheet) limits: Limits,
    pub(in crate::sheet) notes: usize,
}

impl Counts {
    /// Counts a note, rest or chord symbol.
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
    match root.name() {
        "score-partwise" => {}
        "score-timewise" => {
            return Err(root
                .error("found a score ordered by bars (`score-timewise`), expected `score-partwise`")
                .with_help("export the tune again as partwise MusicXML, as nearly every program does"));
        }
        other => {
            let found = crate::pitch::shown(other);
            return Err(root
                .error(format_args!("found `<{found}>`, expected `<score-partwise>`"))
                .with_help("give a MusicXML file, plain or compressed"));
        }
    }
    let mut counts = Counts { limits, notes: 0 };
    let mut score = RawScore::default();
    cursor.children(|cursor, tag| {
        match tag.name() {
            "work" => cursor.children(|cursor, tag| {
                if tag.name() == "work-title" {
                    score.work_title = cursor.text()?;
                }
                Ok(())
            })?,
            "movement-title" => score.movement_title = cursor.text()?,
            "part" => {
                log.part = Some(score.parts.len());
                let part = read_part(cursor, &mut counts, log, &mut score)?;
                score.parts.push(part);
                log.part = None;
            }
            _ => {}
        }
        Ok(())
    })?;
    cursor.finish()?;
    if score.parts.iter().all(|part| part.bars.is_empty()) {
        return Err(root.error("the score has no bars, expected a `part` with at least one `measure`"));
    }
    Ok(score)
}

fn read_part(
    cursor: &mut Cursor<'_>,
    counts: &mut Counts,
    log: &mut Log,
    score: &mut RawScore,
) -> Result<RawPart> {
    let mut part = RawPart::default();
    let mut state = PartState::new();
    cursor.children(|cursor, tag| {
        if tag.name() == "measure" {
            if part.bars.len() >= counts.limits.bars {
                return Err(exceeded("bars", counts.limits.bars));
            }
            log.bar = Some(part.bars.len());
            log.tick = 0;
            log.byte = tag.byte;
            part.bars.push(read_bar(cursor, tag, &mut state, counts, log, score)?);
        }
        Ok(())
    })?;
    if !state.behind.is_empty() {
        log.say("a mark behind the last bar is left out", "put it in front of a bar");
    }
    log.bar = None;
    Ok(part)
}
