//! Bars put one behind the other, with what crosses the seams: chords and ties.

use std::ops::Range;

use crate::error::{Error, Kind, Result};
use crate::sheet::{LeadSheet, Note, PlacedChord};

/// Puts the bars of a valid page into an order. Returns the sheet, and for each of its symbols the one of the page.
///
/// # Errors
///
/// [`Error::is_limit`] where it would be longer than a time can say.
pub(super) fn join(page: &LeadSheet, order: &[usize]) -> Result<(LeadSheet, Vec<usize>)> {
    let mut seams = Seams {
        page,
        played: LeadSheet {
            title: page.title.clone(),
            key: page.key,
            tempo: page.tempo,
            bars: Vec::with_capacity(order.len()),
            notes: Vec::new(),
            chords: Vec::new(),
        },
        symbols: Vec::new(),
        first_time: vec![None; page.bars.len()],
    };
    let mut previous = None;
    for index in order.iter().copied() {
        seams.add(index, previous)?;
        previous = Some(index);
    }
    if let Some(note) = seams.played.notes.last_mut() {
        note.tied_to = false;
    }
    Ok((seams.played, seams.symbols))
}

struct Seams<'a> {
    page: &'a LeadSheet,
    played: LeadSheet,
    /// For each symbol played, the one of the page; the last one is in force.
    symbols: Vec<usize>,
    /// For each bar of the page that was played, the symbol that was in force when it was entered the first time.
    first_time: Vec<Option<Option<usize>>>,
}

impl Seams<'_> {
    /// Adds a bar of the page behind the one of index `previous`.
    fn add(&mut self, index: usize, previous: Option<usize>) -> Result<()> {
        let Some(bar) = self.page.bars.get(index) else { return Ok(()) };
        let start = self.played.end();
        if start.checked_add(bar.length).is_none() {
            return Err(Error::new(
                Kind::Limit,
                format!("the sheet as played is longer than {} ticks, the limit of a time", u32::MAX),
            )
            .with_help("take the sheet as written, or give its endings fewer numbers"));
        }
        self.add_symbols(index, start, previous.is_some_and(|previous| previous >= index));
        let notes = notes_of(self.page, index);
        let seam = self.played.notes.len();
        for note in self.page.notes.get(notes).unwrap_or_default() {
            self.played.notes.push(Note { start: start + (note.start - bar.start), ..note.clone() });
        }
        let holds = previous.is_some_and(|previous| is_held(self.page, previous, index));
        if let Some(note) = seam.checked_sub(1).and_then(|last| self.played.notes.get_mut(last)) {
            note.tied_to = holds;
        }
        if let Some(note) = self.played.notes.get_mut(seam) {
            note.tied_from = holds;
        }
        let mut bar = bar.clone();
        bar.start = start;
        self.played.bars.push(bar);
        Ok(())
    }

    /// Adds the symbols of a bar; where it is gone back to without one at its start, the one of the first time.
    fn add_symbols(&mut self, index: usize, start: u32, goes_back: bool) {
        let Some(bar) = self.page.bars.get(index) else { return };
        let from = self.page.chords.partition_point(|chord| chord.bar < index);
        let to = self.page.chords.partition_point(|chord| chord.bar <= index);
        let has_own = self.page.chords.get(from).is_some_and(|chord| chord.start == bar.start);
        let sounding = self.symbols.last().copied();
        let Some(first_time) = self.first_time.get_mut(index) else { return };
        let then = *first_time.get_or_insert(sounding);
        if goes_back
            && !has_own
            && let Some(then) = then
        {
            let symbol = |index: usize| self.page.chords.get(index).map(|chord| &chord.symbol);
            if sounding.and_then(symbol) != symbol(then) {
                self.add_symbol(then, start);
            }
        }
        for chord in from..to {
            let into = self.page.chords.get(chord).map_or(0, |chord| chord.start - bar.start);
            self.add_symbol(chord, start + into);
        }
    }

    fn add_symbol(&mut self, chord: usize, start: u32) {
        if let Some(of_page) = self.page.chords.get(chord) {
            let symbol = of_page.symbol.clone();
            self.played.chords.push(PlacedChord { start, bar: self.played.bars.len(), symbol });
            self.symbols.push(chord);
        }
    }
}

/// The notes of a bar of a valid page.
fn notes_of(page: &LeadSheet, bar: usize) -> Range<usize> {
    let Some(bar) = page.bars.get(bar) else { return 0..0 };
    let first = |tick: u32| page.notes.partition_point(|note| note.start < tick);
    first(bar.start)..first(bar.end())
}

/// Whether the last note of a bar is held into the first of the bar that is played behind it. Over a seam a tie needs one side
/// only, where it has no partner on the page.
fn is_held(page: &LeadSheet, bar: usize, behind: usize) -> bool {
    let [last, first] = [notes_of(page, bar).end.checked_sub(1), Some(notes_of(page, behind).start)];
    let note = |index: Option<usize>| page.notes.get(index?);
    let are_tied = |one: Option<&Note>, next: Option<&Note>| {
        one.zip(next).is_some_and(|(one, next)| one.tied_to && next.tied_from && one.pitch == next.pitch)
    };
    let (Some(one), Some(next)) = (note(last), note(first)) else { return false };
    if one.pitch.is_none() || one.pitch != next.pitch {
        return false;
    }
    let leads_out = one.tied_to && !are_tied(Some(one), note(last.map(|last| last + 1)));
    let leads_in =
        next.tied_from && !are_tied(note(first.and_then(|first| first.checked_sub(1))), Some(next));
    let is_seam = bar + 1 != behind;
    (one.tied_to && next.tied_from) || (is_seam && (leads_out || leads_in))
}
