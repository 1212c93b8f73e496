//! What the writers of lines have in common: what a text does not hold is said, and what its reader derives is known.

use std::collections::HashMap;

use crate::chord::Key;
use crate::error::{Error, Kind, Result};
use crate::pitch::shown;
use crate::sheet::draft::{LONGEST_BAR, derive, divides, turns};
use crate::sheet::read::raw::RawBar;
use crate::sheet::{Bar, Barline, EndingEdge, LeadSheet, Note, NoteValue, Repeat, SheetFinding};

/// A lead sheet as a text of lines, and what the text does not hold of it.
///
/// # Example
///
/// ```
/// use overshell::sheet::{ReadOptions, read_chart, write_abc};
///
/// let sheet = read_chart(b"| C7 | Fmaj7 |", &ReadOptions::default())?.sheet;
/// let abc = write_abc(&sheet)?;
/// assert!(abc.is_exact());
/// assert!(abc.text.ends_with("K:C\n\"C7\" z8 | \"Fmaj7\" z8 |\n"));
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct LeadText {
    /// The text, UTF-8 with `\n` at the end of every line.
    pub text: String,
    /// What was left out or changed, with bar and beat; empty where reading the text gives the same sheet.
    pub lost: Vec<SheetFinding>,
}

impl LeadText {
    /// Whether reading the text gives the same sheet.
    pub fn is_exact(&self) -> bool {
        self.lost.is_empty()
    }
}

/// How a format writes one edge of a bar.
pub(in crate::sheet) type Edge = (Option<&'static str>, Option<Repeat>, &'static str);

/// How a format writes barlines: what stands behind a bar and in front of one, the plain one first.
pub(in crate::sheet) struct Edges {
    pub(in crate::sheet) right: &'static [Edge],
    pub(in crate::sheet) left: &'static [Edge],
    /// A repeat that ends and one that begins, in one.
    pub(in crate::sheet) both: &'static str,
}

/// A sheet on its way into a text: what the text says, and what it loses.
pub(in crate::sheet) struct Out<'a> {
    pub(in crate::sheet) sheet: &'a LeadSheet,
    pub(in crate::sheet) lost: Vec<SheetFinding>,
    /// What the text says stands at the edges of each bar.
    bars: Vec<RawBar>,
}

impl<'a> Out<'a> {
    pub(in crate::sheet) fn new(sheet: &'a LeadSheet, edges: &Edges) -> Result<Self> {
        if sheet.bars.iter().any(|bar| bar.length >= LONGEST_BAR) {
            let message = format!("a bar is as long as {LONGEST_BAR} ticks, the limit of a bar in a text");
            return Err(Error::new(Kind::Limit, message).with_help("a quarter has 10 080 ticks"));
        }
        let bars = sheet.bars.iter().map(|bar| raw(bar, edges)).collect();
        let mut out = Self { sheet, lost: Vec::new(), bars };
        derive(&mut out.bars);
        for index in 0..sheet.bars.len() {
            out.compare(index);
        }
        Ok(out)
    }

    /// Says what is lost at a tick of a bar.
    pub(in crate::sheet) fn lose(&mut self, bar: usize, tick: u32, message: impl Into<String>, help: &str) {
        let number = self.sheet.bars.get(bar).map(|bar| bar.number.clone()).unwrap_or_default();
        self.lost.push(SheetFinding {
            bar: number,
            beat: self.sheet.beat_of(bar, tick),
            byte: None,
            line: None,
            column: None,
            message: message.into(),
            help: help.into(),
            chord: None,
        });
    }

    /// The strokes in front of the first bar.
    pub(in crate::sheet) fn first_stroke(&self, edges: &Edges) -> &'static str {
        self.bars.first().map_or("", |bar| found(&bar.left, edges.left).map_or("", |(.., text)| text))
    }

    /// The strokes between a bar and the next one.
    pub(in crate::sheet) fn stroke(&self, bar: usize, edges: &Edges) -> String {
        let plain = edges.right.first().map_or("", |(.., text)| text);
        let right = self.bars.get(bar).and_then(|bar| found(&bar.right, edges.right));
        let left = self.bars.get(bar + 1).and_then(|bar| found(&bar.left, edges.left));
        let (right_text, left_text) =
            (right.map_or(plain, |(.., text)| text), left.map_or("", |(.., text)| text));
        let repeats = (right.and_then(|edge| edge.1), left.and_then(|edge| edge.1));
        match repeats {
            (Some(_), Some(_)) => edges.both.to_owned(),
            (None, Some(_)) if right_text == plain => left_text.to_owned(),
            _ if left_text.is_empty() => right_text.to_owned(),
            _ => format!("{right_text} {left_text}"),
        }
    }

    /// The numbers of an ending that starts with a bar.
    pub(in crate::sheet) fn ending(&self, bar: usize) -> Option<&str> {
        self.bars.get(bar)?.left.ending.as_ref().map(|ending| ending.numbers.as_str())
    }

    /// Whether the page is divided in front of a bar, or the music may turn there.
    pub(in crate::sheet) fn is_divided_before(&self, bar: usize) -> bool {
        let before = bar.checked_sub(1).and_then(|before| self.bars.get(before));
        divides(before, self.bars.get(bar)) || turns(before, self.bars.get(bar))
    }

    fn compare(&mut self, index: usize) {
        let sheet = self.sheet;
        let (Some(bar), Some(said)) = (sheet.bars.get(index), self.bars.get(index)) else { return };
        let (left, right, number, implicit) =
            (said.left.clone(), said.right.clone(), said.number.clone(), said.implicit);
        if (&bar.number, bar.implicit) != (&number, implicit) {
            let message = format!("the bar `{}` is called `{}`", shown(&bar.number), shown(&number));
            self.lose(index, bar.start, message, "the text has no numbers of bars");
        }
        for (own, said, tick) in [(&bar.left, &left, bar.start), (&bar.right, &right, bar.end())] {
            if (&own.style, own.repeat) != (&said.style, said.repeat) {
                let message = format!("a barline `{}` is written as `{}`", shown_line(own), shown_line(said));
                self.lose(index, tick, message, "use plain, double and final barlines, and repeats");
            }
            if own.after_jump {
                let message = "that a repeat is taken again after a jump is left out";
                self.lose(index, tick, message, "let the jump say that repeats are taken");
            }
            if own.ending != said.ending {
                let message = "the bracket of an ending starts or stops otherwise";
                self.lose(
                    index,
                    tick,
                    message,
                    "let endings start with a bar and stop at a double bar or repeat",
                );
            }
        }
    }
}

fn shown_line(line: &Barline) -> String {
    let repeat = match line.repeat {
        Some(Repeat::Forward) => " forward",
        Some(Repeat::Backward) => " backward",
        None => "",
    };
    format!("{}{repeat}", line.style.as_deref().unwrap_or("plain"))
}

/// How a format writes this edge, where it can.
fn found(line: &Barline, edges: &[Edge]) -> Option<Edge> {
    edges.iter().copied().find(|(style, repeat, _)| line.style.as_deref() == *style && line.repeat == *repeat)
}

/// A bar with the edges that the text says.
fn raw(bar: &Bar, edges: &Edges) -> RawBar {
    let said = |line: &Barline, edges: &[Edge]| {
        let repeat = |(_, repeat, _): &&Edge| repeat.is_some() && *repeat == line.repeat;
        let found = found(line, edges).or_else(|| edges.iter().find(repeat).copied());
        let (style, repeat, _) = found.unwrap_or((None, None, ""));
        Barline { style: style.map(str::to_owned), repeat, ..Barline::default() }
    };
    let mut left = said(&bar.left, edges.left);
    let starts = bar.left.ending.as_ref().filter(|ending| ending.edge == EndingEdge::Start);
    left.ending = starts.filter(|ending| is_plain_numbers(&ending.numbers)).cloned();
    RawBar {
        number: String::new(),
        implicit: false,
        key: bar.key,
        metre: bar.metre,
        left,
        right: said(&bar.right, edges.right),
        road: bar.road.clone(),
        coda_sign: None,
        length: bar.length,
        notes: Vec::new(),
        symbols: Vec::new(),
    }
}

/// Whether both formats read these numbers as they are.
fn is_plain_numbers(text: &str) -> bool {
    text.len() < 100
        && text
            .split(',')
            .all(|part| part.parse::<u8>().is_ok_and(|n| (1..=99).contains(&n) && part == n.to_string()))
}

/// The notes, cut where a chord symbol starts inside one, and with ties as a text can hold them; what that changes is said.
pub(in crate::sheet) fn notes(out: &mut Out<'_>, cuts: bool) -> Vec<Note> {
    let sheet = out.sheet;
    let starts: HashMap<u32, usize> = sheet.chords.iter().map(|chord| (chord.start, chord.bar)).collect();
    let mut ticks: Vec<u32> = starts.keys().copied().filter(|_| cuts).collect();
    ticks.sort_unstable();
    let mut notes: Vec<Note> = Vec::with_capacity(sheet.notes.len());
    for note in &sheet.notes {
        let first = ticks.partition_point(|tick| *tick <= note.start);
        let mut rest = note.clone();
        for tick in ticks.iter().skip(first).take_while(|tick| **tick < note.end()) {
            let bar = starts.get(tick).copied().unwrap_or(0);
            out.lose(
                bar,
                *tick,
                "a note is cut where a chord symbol starts",
                "let the symbol start with a note",
            );
            let mut before = rest.clone();
            before.duration = tick - rest.start;
            before.tied_to = note.pitch.is_some();
            rest =
                Note { start: *tick, duration: note.end() - tick, tied_from: note.pitch.is_some(), ..rest };
            for part in [&mut before, &mut rest] {
                part.value = NoteValue::of_ticks(part.duration);
            }
            notes.push(before);
        }
        notes.push(rest);
    }
    ties(out, &mut notes);
    notes
}

/// Takes away the ties that a reader would not give back.
fn ties(out: &mut Out<'_>, notes: &mut [Note]) {
    let sheet = out.sheet;
    for index in 0..notes.len() {
        let before = index.checked_sub(1).and_then(|before| notes.get(before));
        let is_held = before
            .is_some_and(|before| before.tied_to && before.pitch == notes.get(index).and_then(|n| n.pitch));
        let next = notes.get(index + 1).cloned();
        let Some(note) = notes.get_mut(index) else { return };
        let bar = sheet.bars.partition_point(|bar| bar.start <= note.start).saturating_sub(1);
        let end = sheet.bars.get(bar).map_or(0, Bar::end);
        let leads = next.is_some_and(|next| next.pitch == note.pitch)
            || (note.end() == end && out.is_divided_before(bar + 1));
        let (from, to) = (is_held && note.pitch.is_some(), note.tied_to && note.pitch.is_some() && leads);
        if (from, to) != (note.tied_from, note.tied_to) {
            out.lose(
                bar,
                note.start,
                "a tie without a partner is left out",
                "tie notes of one pitch that follow each other",
            );
            (note.tied_from, note.tied_to) = (from, to);
        }
    }
}

/// The title in one line without blanks around it; the tempo in its range; and the key of the page: what that changes is said.
pub(in crate::sheet) fn head(out: &mut Out<'_>) -> (String, Option<u16>) {
    let sheet = out.sheet;
    let line: String = sheet.title.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let title = line.trim().to_owned();
    if title != sheet.title {
        out.lose(
            usize::MAX,
            0,
            "the title is written in one line",
            "take line breaks and blanks around it out",
        );
    }
    let tempo = sheet.tempo.filter(|tempo| (1..=1000).contains(tempo));
    if tempo != sheet.tempo {
        out.lose(usize::MAX, 0, "the tempo is left out", "give 1 to 1000 quarters a minute");
    }
    if sheet.bars.first().is_some_and(|bar| bar.key != sheet.key) {
        out.lose(0, 0, "the key of the sheet is written as that of its first bar", "give both the same key");
    }
    (title, tempo)
}

/// The key as it is written: one of seven sharps or flats at most.
pub(in crate::sheet) fn key(out: &mut Out<'_>, bar: usize, key: Key) -> Key {
    let sharps = key.signature();
    if (-7..=7).contains(&sharps) {
        return key;
    }
    let fewer = if sharps > 0 { sharps - 12 } else { sharps + 12 };
    let written = Key::from_signature(fewer, key.mode()).filter(|key| (-7..=7).contains(&key.signature()));
    let written = written.unwrap_or(Key::C_MAJOR);
    let tick = out.sheet.bars.get(bar).map_or(0, |bar| bar.start);
    let message = format!("the key `{key}` is written as `{written}`");
    out.lose(bar, tick, message, "give a key of seven sharps or flats at most");
    written
}
