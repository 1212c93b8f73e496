//! What is in force while a tune is read, and how notes take their places.

use super::bars::Bars;
use super::fields::{MetreField, usual_unit};
use super::key::Signature;
use crate::chord::Key;
use crate::error::Result;
use crate::pitch::{Accidental, Letter, NoteName, Pitch};
use crate::sheet::draft::{Draft, Head, LONGEST_BAR, Ratio};
use crate::sheet::read::chords::Understood;
use crate::sheet::read::raw::RawNote;
use crate::sheet::{Metre, NoteValue, ReadOptions};

/// How far an accidental reaches up to the end of its bar (ABC 2.1, section 11.3: `propagate-accidentals`).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Scope {
    /// Its own note only.
    Not,
    /// Notes of that letter in the same octave.
    Octave,
    /// Notes of that letter in all octaves: the default of the standard.
    #[default]
    Pitch,
}

/// A note name as written: letter, octave, its own accidental.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Written {
    pub(super) letter: Letter,
    pub(super) octave: i8,
    pub(super) accidental: Option<Accidental>,
}

/// A note or rest that has been read, whose length may still change by what stands behind it.
struct Held {
    byte: usize,
    /// As written, without the tuplet.
    plain: Ratio,
    tuplet: (u8, u8),
    pitch: Option<(Pitch, Written)>,
    is_tied: bool,
    symbols: Vec<(usize, Understood)>,
}

impl Held {
    fn length(&self) -> Option<Ratio> {
        self.plain.times(Ratio::new(u64::from(self.tuplet.1), u64::from(self.tuplet.0))?)
    }
}

/// A tuplet: so many notes in the time of so many, and how many are still to come.
#[derive(Clone, Copy)]
pub(super) struct Tuplet {
    pub(super) notes: u8,
    pub(super) time: u8,
    pub(super) left: u32,
}

/// A tune being read.
pub(super) struct State<'a> {
    pub(super) draft: Draft<'a>,
    pub(super) head: Head,
    pub(super) metre: MetreField,
    /// Whether the metre was free anywhere.
    pub(super) was_free: bool,
    /// From an `L:`.
    pub(super) unit: Option<Ratio>,
    pub(super) key: Key,
    pub(super) signature: Signature,
    /// Octaves by which the clef moves what is written.
    pub(super) clef_octaves: i8,
    pub(super) voice_octaves: Option<i8>,
    pub(super) scope: Scope,
    pub(super) tuplet: Option<Tuplet>,
    /// Accidentals since the last barline.
    accidentals: Vec<(Letter, i8, Accidental)>,
    clock: Ratio,
    held: Option<Held>,
    waiting: Vec<(usize, Understood)>,
    next_factor: Ratio,
    /// The note before, where it is tied to the next one.
    tied: Option<(Pitch, Written)>,
}

impl<'a> State<'a> {
    pub(super) fn new(text: &'a str, options: &'a ReadOptions) -> Self {
        Self {
            draft: Draft::new(text, options),
            head: Head::default(),
            metre: MetreField::Free,
            was_free: false,
            unit: None,
            key: Key::C_MAJOR,
            signature: Signature::default(),
            clef_octaves: 0,
            voice_octaves: None,
            scope: Scope::default(),
            tuplet: None,
            accidentals: Vec::new(),
            clock: Ratio::ZERO,
            held: None,
            waiting: Vec::new(),
            next_factor: Ratio::ONE,
            tied: None,
        }
    }

    /// The metre of bars: 4/4 where it is free.
    pub(super) fn metre(&self) -> Metre {
        match self.metre {
            MetreField::Is(metre) => metre,
            MetreField::Free => Metre::COMMON,
        }
    }

    pub(super) fn unit(&self) -> Ratio {
        self.unit.unwrap_or_else(|| usual_unit(self.metre))
    }

    /// The present tick of the bar, behind what has been read.
    pub(super) fn tick(&self) -> u32 {
        let held = self.held.as_ref().and_then(Held::length).unwrap_or(Ratio::ZERO);
        let (ticks, _) = self.clock.plus(held).unwrap_or(self.clock).ticks();
        u32::try_from(ticks).unwrap_or(u32::MAX)
    }

    pub(super) fn say(&mut self, byte: usize, message: impl Into<String>, help: impl Into<String>) {
        let tick = self.tick();
        self.draft.say(byte, tick, message, help);
    }

    pub(super) fn once(&mut self, byte: usize, message: &'static str, help: &'static str) {
        let tick = self.tick();
        self.draft.once(byte, tick, message, help);
    }

    /// Whether no music has been read.
    pub(super) fn is_start(&self) -> bool {
        self.draft.is_start() && self.held.is_none() && self.waiting.is_empty()
    }

    /// Whether the bar being filled has nothing in it yet.
    pub(super) fn is_bar_empty(&self) -> bool {
        self.draft.is_empty() && self.held.is_none() && self.waiting.is_empty()
    }

    /// A chord symbol, which waits for its note.
    pub(super) fn symbol(&mut self, byte: usize, understood: Understood) -> Result<()> {
        self.draft.count(byte)?;
        self.waiting.push((byte, understood));
        Ok(())
    }

    /// The pitch of a note as written, with the accidentals in force; `None` where no keyboard has it.
    pub(super) fn pitch(&mut self, written: Written) -> Option<Pitch> {
        let Written { letter, octave, accidental } = written;
        if let Some(accidental) = accidental.filter(|_| self.scope != Scope::Not) {
            self.accidentals.retain(|(own, at, _)| !self.scope.reaches((*own, *at), (letter, octave)));
            self.accidentals.push((letter, octave, accidental));
        }
        let before = self.accidentals.iter().rev();
        let in_bar = before.clone().find(|(own, at, _)| self.scope.reaches((*own, *at), (letter, octave)));
        // A note held over from the bar before keeps its accidental (common practice, no source).
        let is_first = self.draft.length() == 0 && self.held.as_ref().is_none_or(|held| held.is_tied);
        let open = self.held.as_ref().filter(|held| held.is_tied).and_then(|held| held.pitch);
        let tied = open.or(self.tied.filter(|_| is_first));
        let tied = tied.filter(|(_, own)| (own.letter, own.octave) == (letter, octave));
        let of_key = self.signature.get(usize::from(letter.steps())).copied().unwrap_or(0);
        let accidental = accidental
            .or(in_bar.map(|(.., accidental)| *accidental))
            .or(tied.map(|(pitch, _)| pitch.accidental()))
            .or(Accidental::from_semitones(of_key))?;
        let octaves = self.voice_octaves.unwrap_or(self.clef_octaves);
        Pitch::new(NoteName::new(letter, accidental), octave.checked_add(octaves)?).ok()
    }

    /// A note or rest of so many units, behind those before it.
    pub(super) fn hold(&mut self, byte: usize, units: Ratio, pitch: Option<(Pitch, Written)>) -> Result<()> {
        let unit = self.unit();
        let plain = unit.times(units).and_then(|plain| plain.times(self.next_factor));
        let tuplet = match &mut self.tuplet {
            Some(tuplet) => {
                let own = (tuplet.notes, tuplet.time);
                tuplet.left = tuplet.left.saturating_sub(1);
                if tuplet.left == 0 {
                    self.tuplet = None;
                }
                own
            }
            None => (1, 1),
        };
        self.hold_exactly(byte, plain, tuplet, pitch)
    }

    /// A rest for as long as a bar.
    pub(super) fn hold_bar(&mut self, byte: usize) -> Result<()> {
        let plain = Ratio::of_ticks(self.metre().bar_ticks());
        self.hold_exactly(byte, plain, (1, 1), None)
    }

    fn hold_exactly(
        &mut self,
        byte: usize,
        plain: Option<Ratio>,
        tuplet: (u8, u8),
        pitch: Option<(Pitch, Written)>,
    ) -> Result<()> {
        self.flush()?;
        self.next_factor = Ratio::ONE;
        let symbols = std::mem::take(&mut self.waiting);
        let held = plain.map(|plain| Held { byte, plain, tuplet, pitch, is_tied: false, symbols });
        match held.filter(|held| held.length().is_some_and(|length| length != Ratio::ZERO)) {
            Some(held) => self.held = Some(held),
            None => self.say(
                byte,
                "a note whose length makes no sense is left out",
                "write lengths such as `A2`, `A/2` or `A3/2`",
            ),
        }
        Ok(())
    }

    /// Ties the note just read to the next one; says whether there is one.
    pub(super) fn tie(&mut self) -> bool {
        match &mut self.held {
            Some(held) if held.pitch.is_some() => {
                held.is_tied = true;
                true
            }
            _ => false,
        }
    }

    /// Dots the note just read and cuts the next one, or the other way round: `steps` times; says whether it could.
    pub(super) fn broken(&mut self, steps: usize, dots_first: bool) -> bool {
        let Some(held) = self.held.as_mut().filter(|_| (1..=3).contains(&steps)) else { return false };
        let whole = 1u64 << steps;
        let (Some(long), Some(short)) = (Ratio::new(2 * whole - 1, whole), Ratio::new(1, whole)) else {
            return false;
        };
        let (own, next) = if dots_first { (long, short) } else { (short, long) };
        match (held.plain.times(own), self.next_factor.times(next)) {
            (Some(plain), Some(factor)) => {
                held.plain = plain;
                self.next_factor = factor;
                true
            }
            _ => false,
        }
    }

    /// A barline, with what is in force behind it.
    pub(super) fn barline(&mut self, bars: Bars, byte: usize) -> Result<()> {
        self.flush()?;
        self.place_waiting();
        if bars.more_than_twice {
            self.once(
                byte,
                "the number of times of a repeat is left out",
                "write endings with numbers such as `1-3`",
            );
        }
        let (key, metre) = (self.key, self.metre());
        self.draft.barline(bars.sign, byte, key, metre)?;
        self.accidentals.clear();
        self.clock = Ratio::ZERO;
        Ok(())
    }

    /// An ending: divides a bar that has begun.
    pub(super) fn ending(&mut self, numbers: String, byte: usize) -> Result<()> {
        self.flush()?;
        if !self.draft.is_empty() {
            self.say(byte, "an ending inside a bar divides the bar", "put a bar line in front of the ending");
            self.barline(Bars::default(), byte)?;
        }
        self.draft.ending(numbers);
        Ok(())
    }

    /// Everything that is read takes its place.
    pub(super) fn end(&mut self, byte: usize) -> Result<()> {
        self.flush()?;
        self.place_waiting();
        if self.next_factor != Ratio::ONE {
            self.say(
                byte,
                "a broken rhythm at the end has no second note",
                "write the note behind `>` or `<`",
            );
        }
        Ok(())
    }

    /// The note read last takes its place, in front of a change of key or metre.
    pub(super) fn settle(&mut self) -> Result<()> {
        self.flush()
    }

    /// Symbols with no note behind them in their bar.
    fn place_waiting(&mut self) {
        let tick = self.tick();
        for (byte, understood) in std::mem::take(&mut self.waiting) {
            self.draft.symbol(tick, byte, understood);
        }
    }

    /// The note read last takes its place.
    fn flush(&mut self) -> Result<()> {
        let Some(held) = self.held.take() else { return Ok(()) };
        let ticks = |ratio: Ratio| {
            let (ticks, exact) = ratio.ticks();
            Some((u32::try_from(ticks).ok().filter(|ticks| *ticks < LONGEST_BAR)?, exact))
        };
        let start = ticks(self.clock);
        let end =
            held.length().and_then(|length| self.clock.plus(length)).and_then(|end| Some((end, ticks(end)?)));
        let (Some((start, _)), Some((clock, (end, exact)))) = (start, end) else {
            self.say(
                held.byte,
                "a note is left out, its bar would be too long or its lengths too fine",
                "put a bar line in front of it, or write simpler lengths",
            );
            self.waiting.splice(..0, held.symbols);
            return Ok(());
        };
        if !exact {
            self.draft.once(
                held.byte,
                start,
                "a time is no whole number of ticks and was rounded",
                "a quarter has 10 080 ticks; usual tuplets are exact",
            );
        }
        self.clock = clock;
        for (byte, understood) in held.symbols {
            self.draft.symbol(start, byte, understood);
        }
        if end <= start {
            self.draft.say(
                held.byte,
                start,
                "a note shorter than a tick is left out",
                "a quarter has 10 080 ticks",
            );
            return Ok(());
        }
        let pitch = held.pitch.map(|(pitch, _)| pitch);
        self.tied = held.pitch.filter(|_| held.is_tied);
        let duration = end - start;
        let value = held.plain.ticks();
        let value = u32::try_from(value.0).ok().filter(|_| value.1).and_then(NoteValue::of_ticks);
        let value = value
            .filter(|value| value.tuplet == (1, 1))
            .map(|value| NoteValue { tuplet: held.tuplet, ..value })
            .filter(|value| value.ticks() == Some(duration));
        self.draft.note(RawNote {
            start,
            duration,
            pitch,
            tied_from: false,
            tied_to: self.tied.is_some(),
            value,
            voice: Default::default(),
            staff: 1,
            byte: held.byte,
        })
    }
}

impl Scope {
    /// Whether an accidental at one letter and octave holds for another.
    fn reaches(self, from: (Letter, i8), to: (Letter, i8)) -> bool {
        from.0 == to.0 && (self == Self::Pitch || from.1 == to.1)
    }
}
