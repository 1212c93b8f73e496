//! `score-timewise`: bars that hold parts. They become the parts that a `score-partwise` has, in one pass.
//!
//! Parts stand in the order of the bars that hold them; one that enters later stands before the part that follows it there.
//! A bar without a part that plays again later is an empty bar of that part, with a finding. Like any bar without notes it counts
//! as a rest against the limit of notes, since a short file could name very many; and so do bars without parts against that of bars.

use std::borrow::Cow;

use std::collections::HashMap;

use super::cursor::{Cursor, Tag};
use super::finding::Log;
use super::raw::RawScore;
use super::score::{Counts, PartReader, exceeded};
use crate::error::Result;

/// What parts are told apart by: the `id`, or the place in the bar where there is none.
type Name = (Option<String>, usize);

/// The bars read so far.
#[derive(Default)]
pub(super) struct Timewise {
    bars: Vec<Head>,
    parts: Vec<Part>,
    /// Places in `parts`.
    known: HashMap<Name, usize>,
}

/// What a bar without notes needs.
struct Head {
    number: String,
    implicit: bool,
    byte: usize,
}

/// A part, in the order in which they come.
struct Part {
    reader: PartReader,
    /// The part that it stands before, for one that enters later.
    before: Option<usize>,
}

impl Timewise {
    /// Reads a bar of all parts.
    pub(super) fn read_measure(
        &mut self,
        cursor: &mut Cursor<'_>,
        measure: &Tag<'_>,
        counts: &mut Counts,
        log: &mut Log,
    ) -> Result<()> {
        let bar = self.bars.len();
        if bar >= counts.limits.bars {
            return Err(exceeded("bars", counts.limits.bars));
        }
        let parts_before = self.parts.len();
        let mut here = Vec::new();
        cursor.children(|cursor, tag| {
            if tag.name() != "part" {
                return Ok(());
            }
            let id = tag.attribute("id")?.map(|id| id.trim().to_owned());
            let place = if id.is_some() { 0 } else { here.len() };
            let part = *self.known.entry((id, place)).or_insert(self.parts.len());
            if part == self.parts.len() {
                self.parts.push(Part { reader: PartReader::new(), before: None });
            }
            here.push(part);
            log.part = Some(part);
            let Some(Part { reader, .. }) = self.parts.get_mut(part) else { return Ok(()) };
            if reader.bars() > bar {
                (log.bar, log.tick, log.byte) = (Some(bar), 0, tag.byte);
                log.once(
                    "a part stands in a bar more than once, the first counts",
                    "give each part an `id` of its own",
                );
                return Ok(());
            }
            for (at, head) in self.bars.iter().enumerate().skip(reader.bars()) {
                counts.note()?;
                (log.bar, log.tick, log.byte) = (Some(at), 0, head.byte);
                log.say("the part is missing in this bar, it rests there", "give the bar all parts");
                reader.skip(head.number.clone(), head.implicit);
            }
            reader.read(cursor, measure, counts, log)
        })?;
        let mut follower = None;
        for part in here.into_iter().rev() {
            match self.parts.get_mut(part) {
                Some(new) if part >= parts_before => new.before = follower,
                _ => follower = Some(part),
            }
        }
        self.bars.push(Head {
            number: measure.attribute("number")?.map_or_else(|| (bar + 1).to_string(), Cow::into_owned),
            implicit: measure.has("implicit", "yes")?,
            byte: measure.byte,
        });
        (log.part, log.bar) = (None, None);
        Ok(())
    }

    /// Puts the parts into the score.
    pub(super) fn end(self, score: &mut RawScore, log: &mut Log) {
        let order = order(&self.parts);
        let mut places = vec![0; order.len()];
        for (place, part) in order.iter().enumerate() {
            if let Some(found) = places.get_mut(*part) {
                *found = place;
            }
        }
        for entry in &mut log.entries {
            entry.part = entry.part.and_then(|part| places.get(part).copied());
        }
        let mut parts: Vec<_> = self.parts.into_iter().map(|part| Some(part.reader)).collect();
        for (place, part) in order.into_iter().enumerate() {
            if let Some(reader) = parts.get_mut(part).and_then(Option::take) {
                log.part = Some(place);
                reader.end(score, log);
            }
        }
    }
}

/// The parts as they stand in the score: each once, those that stand before it in front of it.
fn order(parts: &[Part]) -> Vec<usize> {
    let mut before: HashMap<Option<usize>, Vec<usize>> = HashMap::new();
    for (at, part) in parts.iter().enumerate() {
        before.entry(part.before).or_default().push(at);
    }
    let mut order = Vec::with_capacity(parts.len());
    // Parts to be put, the next one last, and whether those before them have been put.
    let mut open: Vec<(usize, bool)> = Vec::new();
    let first = before.remove(&None).unwrap_or_default();
    open.extend(first.into_iter().rev().map(|part| (part, false)));
    while let Some((part, is_next)) = open.pop() {
        match before.remove(&Some(part)) {
            Some(earlier) if !is_next => {
                open.push((part, true));
                open.extend(earlier.into_iter().rev().map(|part| (part, false)));
            }
            _ => order.push(part),
        }
    }
    order
}
