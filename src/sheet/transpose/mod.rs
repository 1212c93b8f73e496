//! A tune in another key: melody, chord symbols, key signatures.

mod keys;
mod order;
mod spelling;
mod symbol;
#[cfg(test)]
mod tests;

pub use order::KeyOrder;

use self::keys::Keys;
use super::lead_sheet::{Bar, LeadSheet, Note};
use crate::error::{Error, Kind, Result};
use crate::pitch::{Interval, NoteName, Pitch};

/// Which of the two keys with six accidentals is written where both serve.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq, Hash)]
pub enum Six {
    /// G flat major, E flat minor: six flats. The default (common practice where winds play along, no source).
    #[default]
    Flats,
    /// F sharp major, D sharp minor: six sharps.
    Sharps,
}

/// Where a tune is moved to.
///
/// # Example
///
/// ```
/// use overshell::pitch::note;
/// use overshell::sheet::{ReadOptions, Six, Transposition, read};
///
/// let chart = "key: C\nmetre: 4/4\n\n| Dm7 G7/B | C |\n> F4*2 D4 | E4 |\n";
/// let sheet = read(chart.as_bytes(), &ReadOptions::default())?.sheet;
/// let symbols = |how: Transposition| -> overshell::Result<Vec<String>> {
///     Ok(sheet.transposed(how)?.chords.iter().map(|c| c.symbol.as_str().to_owned()).collect())
/// };
/// assert_eq!(symbols(note("Eb").into())?, ["Fm7", "Bb7/D", "Eb"]);
/// let tritone: Transposition = Transposition::up("A4".parse()?);
/// assert_eq!(symbols(tritone)?, ["Abm7", "Db7/F", "Gb"]); // of F sharp and G flat
/// assert_eq!(symbols(tritone.with_six(Six::Sharps))?, ["G#m7", "C#7/E#", "F#"]);
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub struct Transposition {
    goal: Goal,
    octaves: i8,
    readable: bool,
    six: Six,
}

#[derive(Clone, Copy, Debug, Eq, PartialEq)]
enum Goal {
    To(NoteName),
    Up(Interval),
    Down(Interval),
}

impl Transposition {
    /// To the key on this tonic, in the mode of the tune, the nearest way: at most six semitones, and up where up and down are equally
    /// far. Where more of the melody would then lie outside F3 to E6 (three ledger lines, common practice, no source), it is
    /// moved by an octave if that is better.
    ///
    /// A tonic whose key has a signature is written as it is named, `F#` or `Gb`; `G#` major becomes A flat.
    pub const fn to(tonic: NoteName) -> Self {
        Self { goal: Goal::To(tonic), octaves: 0, readable: true, six: Six::Flats }
    }

    /// Up by exactly this interval, into the key with the fewest accidentals of those that sound alike.
    pub const fn up(by: Interval) -> Self {
        Self { goal: Goal::Up(by), octaves: 0, readable: false, six: Six::Flats }
    }

    /// Down by exactly this interval, likewise.
    pub const fn down(by: Interval) -> Self {
        Self { goal: Goal::Down(by), octaves: 0, readable: false, six: Six::Flats }
    }

    /// The same, and the melody so many octaves higher (negative: lower), whether that can be read well or not.
    #[must_use]
    pub const fn with_octaves(self, octaves: i8) -> Self {
        Self { octaves, readable: false, ..self }
    }

    /// Which key with six accidentals is written where an interval leads there.
    #[must_use]
    pub const fn with_six(self, six: Six) -> Self {
        Self { six, ..self }
    }

    /// Semitones up, octaves asked for among them.
    fn semitones(self, home: NoteName) -> i32 {
        let by = match self.goal {
            Goal::Up(by) => i32::from(by.semitones()),
            Goal::Down(by) => -i32::from(by.semitones()),
            Goal::To(tonic) => {
                let up = i32::from(home.pitch_class().semitones_up_to(tonic.pitch_class()));
                if up > 6 { up - 12 } else { up }
            }
        };
        by + 12 * i32::from(self.octaves)
    }
}

/// To a key by its tonic, as [`Transposition::to`].
impl From<NoteName> for Transposition {
    fn from(tonic: NoteName) -> Self {
        Self::to(tonic)
    }
}

/// Up by an interval, as [`Transposition::up`].
impl From<Interval> for Transposition {
    fn from(by: Interval) -> Self {
        Self::up(by)
    }
}

/// The keys that a staff shows with at most three ledger lines: F3 to E6.
const READABLE: std::ops::RangeInclusive<i32> = 53..=88;

impl LeadSheet {
    /// The tune in another key: melody, chord symbols and signatures.
    ///
    /// Names move along the line of fifths as far as the key does. Every key has the fewest accidentals of those that sound alike,
    /// so that a key inside the tune may be respelled where the first is not; what stands in its bars moves with it. Names that
    /// would get two accidentals become the simpler name of the same key of the keyboard, except the raised sixth and seventh of a
    /// minor key. Symbols keep the way in which they are written, as far as that still means the same chord; of a symbol that
    /// could not be read, the root is moved, and the rest stays.
    ///
    /// What is moved by whole octaves keeps its names.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`] where a note of the melody would leave MIDI; the message names bar and beat.
    ///
    /// # Complexity
    ///
    /// Linear in bars, notes and chords.
    ///
    /// # Example
    ///
    /// ```
    /// use overshell::pitch::{note, pitch};
    /// use overshell::sheet::{ReadOptions, read};
    ///
    /// let chart = "key: C\nmetre: 4/4\n\n| C7(#9) |\n> Eb5 |\n";
    /// let sheet = read(chart.as_bytes(), &ReadOptions::default())?.sheet;
    /// let moved = sheet.transposed(note("Gb"))?;
    /// assert_eq!(moved.key.signature(), -6);
    /// assert_eq!(moved.notes[0].pitch, Some(pitch("A5"))); // and not B double flat
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn transposed(&self, how: impl Into<Transposition>) -> Result<Self> {
        let how = how.into();
        let keys = Keys::new(self.key, how);
        let semitones = how.semitones(self.key.tonic());
        let semitones = if how.readable { semitones + 12 * self.octave(semitones) } else { semitones };
        let bars: Vec<Bar> =
            self.bars.iter().map(|bar| Bar { key: keys.of(bar.key), ..bar.clone() }).collect();
        let chords = self.chords.iter().map(|placed| {
            let old = self.bars.get(placed.bar).map_or(self.key, |bar| bar.key);
            let symbol = symbol::moved(&placed.symbol, keys.shift(old), keys.of(old));
            super::PlacedChord { symbol, ..placed.clone() }
        });
        Ok(Self {
            title: self.title.clone(),
            key: keys.of(self.key),
            tempo: self.tempo,
            bars,
            notes: self.notes_moved(&keys, semitones)?,
            chords: chords.collect(),
        })
    }

    fn notes_moved(&self, keys: &Keys, semitones: i32) -> Result<Vec<Note>> {
        let mut notes: Vec<Note> = Vec::with_capacity(self.notes.len());
        let mut before: Option<Pitch> = None;
        for note in &self.notes {
            let bar = self.bars.partition_point(|bar| bar.start <= note.start).saturating_sub(1);
            let old = self.bars.get(bar).map_or(self.key, |bar| bar.key);
            let pitch = match note.pitch {
                None => None,
                Some(pitch) => {
                    let spelled = spelling::note(pitch.name(), keys.shift(old), keys.of(old));
                    // A tie is no place to change the name.
                    let held = notes.last().and_then(|note| note.pitch).map(Pitch::name);
                    let name = held.filter(|_| note.tied_from && before == Some(pitch)).unwrap_or(spelled);
                    let midi = u8::try_from(i32::from(pitch.midi()) + semitones).ok();
                    let moved = midi.and_then(|midi| Pitch::from_midi(midi, name));
                    Some(moved.ok_or_else(|| self.out_of_range(bar, note.start, pitch, semitones))?)
                }
            };
            before = note.pitch;
            notes.push(Note { pitch, ..note.clone() });
        }
        Ok(notes)
    }

    fn out_of_range(&self, bar: usize, tick: u32, pitch: Pitch, semitones: i32) -> Error {
        let number = self.bars.get(bar).map_or("", |bar| bar.number.as_str());
        let message = format!(
            "the melody note `{pitch}` moved by {semitones} semitones is out of range, expected MIDI number 0 to 127"
        );
        Error::new(Kind::Range, message)
            .with_help("move the tune the other way, or by an octave less")
            .context(format!("bar {number}, beat {}", self.beat_of(bar, tick)))
    }

    /// By how many octaves, -1 to 1, a melody moved so far can be read better.
    fn octave(&self, semitones: i32) -> i32 {
        let pitches = || self.notes.iter().filter_map(|note| note.pitch).map(|p| i32::from(p.midi()));
        let outside = |by: i32| -> i64 {
            let of = |key: i32| (READABLE.start() - key).max(key - READABLE.end()).max(0);
            pitches().map(|key| i64::from(of(key + by))).sum()
        };
        if outside(semitones) <= outside(0) {
            return 0;
        }
        [0, -1, 1].into_iter().min_by_key(|octaves| outside(semitones + 12 * octaves)).unwrap_or(0)
    }
}
