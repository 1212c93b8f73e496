//! How a chord belongs to a key, and why.

use super::pairs::TwoFive;
use crate::chord::function::{acts_as_dominant, destinations, function, root_motion};
use crate::chord::{Chord, Degree, DegreeSet, Family, Function, Key, Mode, Scale, Seventh};
use crate::pitch::PitchSet;

/// How a chord belongs to its key.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Belonging {
    /// It is built on the key's own scale; a minor key has its natural and harmonic one, and the melodic one for the
    /// tonic. An altered fifth of a dominant is colour.
    Diatonic,
    /// The `I7` or `IV7` of a blues: both occur, and neither goes elsewhere.
    Blues,
    /// It leads to a chord of the key: secondary dominants, tritone substitutes, their own ii, diminished chords.
    Applied,
    /// A dominant on I, II, IV, bVI or bVII that falls neither a fifth nor a semitone and belongs in no other way
    /// (slides of Berklee's Harmony 4 on special function name `I7 IV7 bVII7`). Such a dominant on any other degree,
    /// `bIII7` or `bV7`, is foreign.
    Special,
    /// It is built on the scale of the key with the same tonic and the other mode.
    Borrowed,
    /// Nothing of this.
    Foreign,
}

impl std::fmt::Display for Belonging {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(match self {
            Self::Diatonic => "diatonic",
            Self::Blues => "blues",
            Self::Applied => "applied",
            Self::Special => "special",
            Self::Borrowed => "borrowed",
            Self::Foreign => "foreign",
        })
    }
}

/// How a diminished chord goes to the next.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Passing {
    /// Its root, or another of its notes where it is a seventh chord, lies a semitone below the next root.
    Ascending,
    /// Its root, or another of its notes where it is a seventh chord, lies a semitone above the next root.
    Descending,
    /// The next root is its own, or another of its notes where it is a seventh chord.
    CommonTone,
}

/// Why a chord has its function. Serialised as its text.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
#[non_exhaustive]
pub enum FunctionReason {
    /// All its notes are in the scale of the key, but for an altered fifth of a dominant.
    InKey,
    /// It falls a fifth to this chord.
    FallsFifth(Chord),
    /// It falls a semitone to this chord.
    FallsSemitone(Chord),
    /// It prepares this dominant.
    TwoOf(Chord),
    /// A diminished chord that leads to this one.
    Diminished(Passing, Chord),
    /// Tonic or fourth degree of a blues.
    InBlues,
    /// Its notes are in the scale of this key.
    FromParallel(Key),
    /// A dominant that falls neither a fifth nor a semitone.
    NoResolution,
    /// No reading in this key.
    Outside,
}

impl std::fmt::Display for FunctionReason {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::InKey => f.write_str("all its notes are in the key"),
            Self::FallsFifth(to) => write!(f, "it falls a fifth to `{to}`"),
            Self::FallsSemitone(to) => write!(f, "it falls a semitone to `{to}`"),
            Self::TwoOf(five) => write!(f, "it prepares `{five}`"),
            Self::Diminished(Passing::Ascending, to) => write!(f, "it leads up a semitone to `{to}`"),
            Self::Diminished(Passing::Descending, to) => write!(f, "it leads down a semitone to `{to}`"),
            Self::Diminished(Passing::CommonTone, to) => write!(f, "it holds the root of `{to}`"),
            Self::InBlues => f.write_str("both `I7` and `IV7` occur, as in a blues"),
            Self::FromParallel(key) => write!(f, "its notes are those of {key}"),
            Self::NoResolution => f.write_str("a dominant that falls neither a fifth nor a semitone"),
            Self::Outside => f.write_str("it has no reading in this key"),
        }
    }
}

impl serde::Serialize for FunctionReason {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// What a chord is in one key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Reading {
    pub(super) function: Function,
    pub(super) belonging: Belonging,
    pub(super) reason: FunctionReason,
}

/// How strongly a chord rests as the tonic of a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Rest {
    /// A minor seventh, which may as well be a ii.
    Weak,
    Strong,
}

/// A progression with what does not depend on the key.
pub(super) struct Context<'c> {
    pub(super) chords: &'c [Option<Chord>],
    pub(super) pairs: Vec<TwoFive>,
    /// Place in `pairs` of the pair that the chord belongs to; none is in two, since no ii is a dominant.
    pub(super) pair_of: Vec<Option<usize>>,
    to: Vec<Option<(usize, Chord)>>,
    cadences: Vec<Option<Cadence>>,
    /// For each chord the next that is another one.
    others: Vec<Option<Chord>>,
    dominants: PitchSet,
}

impl<'c> Context<'c> {
    pub(super) fn new(chords: &'c [Option<Chord>]) -> Self {
        let to = destinations(chords);
        let pairs = TwoFive::all(chords, &to);
        let mut pair_of = vec![None; chords.len()];
        for (index, pair) in pairs.iter().enumerate() {
            for at in [pair.two, pair.five] {
                if let Some(cell) = pair_of.get_mut(at) {
                    *cell = Some(index);
                }
            }
        }
        let dominants = chords.iter().flatten().filter(|c| c.family() == Family::Dominant);
        let dominants = dominants.map(|c| c.root().pitch_class()).collect();
        let cadences = cadences(chords, &to, &pairs);
        Self { chords, pairs, pair_of, to, cadences, others: others(chords), dominants }
    }

    pub(super) fn chord(&self, at: usize) -> Option<Chord> {
        self.chords.get(at).copied().flatten()
    }

    fn destination(&self, at: usize) -> Option<Chord> {
        self.to.get(at).copied().flatten().map(|(_, to)| to)
    }

    fn is_blues(&self, key: Key) -> bool {
        let tonic = key.tonic().pitch_class();
        key.mode() == Mode::Major && self.dominants.contains(tonic) && self.dominants.contains(tonic.up(5))
    }

    /// What the chord at this place is in this key; `None` where there is none.
    pub(super) fn reading(&self, at: usize, key: Key) -> Option<Reading> {
        let chord = self.chord(at)?;
        let to = self.destination(at);
        let function = function(chord, to, key);
        let (belonging, reason) = if acts_as_dominant(chord) {
            self.dominant(chord, to, function, key)
        } else {
            self.other(at, chord, to, key)
        };
        Some(Reading { function, belonging, reason })
    }

    fn dominant(
        &self,
        chord: Chord,
        to: Option<Chord>,
        function: Function,
        key: Key,
    ) -> (Belonging, FunctionReason) {
        let falls = match to.map(|to| (root_motion(chord, to), to)) {
            Some((5, to)) => FunctionReason::FallsFifth(to),
            Some((11, to)) => FunctionReason::FallsSemitone(to),
            _ => FunctionReason::NoResolution,
        };
        if matches!(function, Function::One | Function::Four) && self.is_blues(key) {
            return (Belonging::Blues, FunctionReason::InBlues);
        }
        if is_in(chord, key) {
            let falls_fifth = matches!(falls, FunctionReason::FallsFifth(_));
            return (Belonging::Diatonic, if falls_fifth { falls } else { FunctionReason::InKey });
        }
        let leads_into_key = match function {
            Function::ToMajor | Function::ToMinor => {
                to.is_some_and(|to| is_in(to, key) || is_in(to, parallel(key)))
            }
            Function::Extended => key.is_diatonic(chord.root()),
            Function::Substitute => to.is_some_and(|to| key.is_diatonic(to.root())),
            _ => matches!(falls, FunctionReason::FallsFifth(_)),
        };
        match function {
            _ if leads_into_key => (Belonging::Applied, falls),
            _ if is_in(chord, parallel(key)) => {
                (Belonging::Borrowed, FunctionReason::FromParallel(parallel(key)))
            }
            Function::One | Function::Two | Function::Four | Function::FlatSix | Function::FlatSeven => {
                (Belonging::Special, falls)
            }
            _ => (Belonging::Foreign, falls),
        }
    }

    fn other(&self, at: usize, chord: Chord, to: Option<Chord>, key: Key) -> (Belonging, FunctionReason) {
        let inside = is_in(chord, key);
        if let Some((passing, next)) = self.passing(at) {
            let reason = FunctionReason::Diminished(passing, next);
            match (inside, key.is_diatonic(next.root())) {
                (true, _) => return (Belonging::Diatonic, reason),
                (false, true) => return (Belonging::Applied, reason),
                (false, false) => {}
            }
        }
        if inside {
            return (Belonging::Diatonic, FunctionReason::InKey);
        }
        // A triad in the place of a secondary dominant.
        let triad = matches!(chord.family(), Family::Major | Family::Augmented)
            && chord.quality().seventh == Seventh::None;
        if let Some(to) = to.filter(|to| triad && root_motion(chord, *to) == 5 && is_in(*to, key)) {
            return (Belonging::Applied, FunctionReason::FallsFifth(to));
        }
        if let Some(five) = self.five_of(at) {
            let reading = self.reading(five, key);
            if let Some(five) = self.chord(five)
                && reading.is_some_and(|r| {
                    matches!(r.belonging, Belonging::Diatonic | Belonging::Blues | Belonging::Applied)
                })
            {
                return (Belonging::Applied, FunctionReason::TwoOf(five));
            }
        }
        if is_in(chord, parallel(key)) {
            return (Belonging::Borrowed, FunctionReason::FromParallel(parallel(key)));
        }
        (Belonging::Foreign, FunctionReason::Outside)
    }

    /// The V of the pair whose ii stands at this place.
    fn five_of(&self, at: usize) -> Option<usize> {
        let pair = self.pairs.get((*self.pair_of.get(at)?)?)?;
        (pair.two == at).then_some(pair.five)
    }

    /// How the diminished chord at this place goes to the next chord that is another one.
    fn passing(&self, at: usize) -> Option<(Passing, Chord)> {
        let chord = self.chord(at)?;
        let seventh = chord.quality().seventh;
        if chord.family() != Family::Diminished || seventh == Seventh::Major {
            return None;
        }
        let next = self.others.get(at).copied().flatten()?;
        // A diminished seventh has four roots, three semitones apart.
        let up = root_motion(chord, next);
        let passing = match if seventh == Seventh::None { up } else { up % 3 } {
            0 => Passing::CommonTone,
            1 => Passing::Ascending,
            2 if seventh == Seventh::DoubleFlat => Passing::Descending,
            11 => Passing::Descending,
            _ => return None,
        };
        Some((passing, next))
    }

    /// Whether and how strongly the chord at this place rests as the tonic of the key.
    pub(super) fn rest(&self, at: usize, key: Key) -> Option<Rest> {
        let chord = self.chord(at).filter(|chord| key.semitones_to(chord.root()) == 0)?;
        let quality = chord.quality();
        match (key.mode(), chord.family()) {
            (Mode::Major, Family::Major) => Some(Rest::Strong),
            (Mode::Major, Family::Dominant) if self.is_blues(key) => Some(Rest::Weak),
            (Mode::Minor, Family::Minor) if quality.seventh == Seventh::Flat => Some(Rest::Weak),
            (Mode::Minor, Family::Minor) => Some(Rest::Strong),
            _ => None,
        }
    }

    /// Whether and how the chord at this place is reached as a tonic.
    pub(super) fn cadence(&self, at: usize) -> Option<Cadence> {
        self.cadences.get(at).copied().flatten()
    }
}

/// How a tonic is reached.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Cadence {
    Five,
    TwoFive,
}

/// For each chord the next that is another one.
fn others(chords: &[Option<Chord>]) -> Vec<Option<Chord>> {
    let mut others = vec![None; chords.len()];
    // The next chord, and the next behind it that is another one.
    let (mut next, mut behind) = (None, None);
    for (cell, chord) in others.iter_mut().zip(chords).rev() {
        if chord.is_none() {
            continue;
        }
        if next != *chord {
            behind = next;
            next = *chord;
        }
        *cell = behind;
    }
    others
}

/// For each chord how it is reached as a tonic: by the dominant a fifth above, or by the substitute a semitone above.
fn cadences(
    chords: &[Option<Chord>],
    to: &[Option<(usize, Chord)>],
    pairs: &[TwoFive],
) -> Vec<Option<Cadence>> {
    let mut cadences = vec![None; chords.len()];
    for (dominant, to) in chords.iter().zip(to) {
        let (Some(dominant), Some((at, tonic))) = (dominant, to) else { continue };
        let triad = dominant.family() == Family::Major && dominant.quality().seventh == Seventh::None;
        let arrives = match root_motion(*dominant, *tonic) {
            5 => acts_as_dominant(*dominant) || triad,
            11 => dominant.family() == Family::Dominant,
            _ => false,
        };
        if let Some(cell) = cadences.get_mut(*at).filter(|_| arrives) {
            *cell = Some(Cadence::Five);
        }
    }
    for at in pairs.iter().filter_map(|pair| pair.resolves_to) {
        if let Some(cell) = cadences.get_mut(at) {
            *cell = Some(Cadence::TwoFive);
        }
    }
    cadences
}

/// The key with the same tonic and the other mode.
fn parallel(key: Key) -> Key {
    let mode = match key.mode() {
        Mode::Major => Mode::Minor,
        Mode::Minor => Mode::Major,
    };
    Key::new(key.tonic(), mode)
}

/// Whether the chord is built on a scale of the key.
fn is_in(chord: Chord, key: Key) -> bool {
    const MINOR: [Scale; 2] = [Scale::Aeolian, Scale::HarmonicMinor];
    const MINOR_TONIC: [Scale; 3] = [Scale::Aeolian, Scale::HarmonicMinor, Scale::MelodicMinor];
    let scales: &[Scale] = match key.mode() {
        Mode::Major => &[Scale::Ionian],
        Mode::Minor if key.semitones_to(chord.root()) == 0 => &MINOR_TONIC,
        Mode::Minor => &MINOR,
    };
    let colour = if chord.family() == Family::Dominant {
        [Degree::FlatFive, Degree::SharpFive].into_iter().collect()
    } else {
        DegreeSet::EMPTY
    };
    let root = chord.root().pitch_class();
    let tones: PitchSet =
        chord.quality().tones().difference(colour).iter().map(|degree| degree.class_over(root)).collect();
    scales.iter().any(|scale| tones.is_subset(scale.on(key.tonic())))
}
