//! Naming: what a set of sounding keys can be called, best name first, with the reasons.
//!
//! A reading is a chord that accounts for every key that sounds. What speaks against it costs points, each for a
//! [`Reason`] that can be read out; the cheapest reading comes first. The third and the seventh of a reading sound, or it
//! is a chord without them. A perfect fifth may be understood; so may the root, where third and seventh sound with another
//! key, or are a tritone. A major or minor triad may stand over a bass of its own.
//!
//! It is not: an opinion about the octaves. Only the lowest key counts as a place; a set of keys has the same names however
//! it is spread.
//!
//! # Example
//!
//! ```
//! use overshell::chord::{NamingOptions, chord, readings};
//! use overshell::pitch::{PitchSet, note};
//!
//! let keys: PitchSet = "C E G A".parse()?;
//! let best = |options: &NamingOptions| readings(keys, options).next().unwrap().chord().to_string();
//! assert_eq!(best(&NamingOptions::default()), "Am7");
//! assert_eq!(best(&NamingOptions::over(note("C").pitch_class())), "C6");
//!
//! let rootless: PitchSet = "E A Bb D".parse()?; // the left hand of a pianist who has a bass player
//! let for_c7 = NamingOptions::played_for(chord("C7"));
//! let reading = readings(rootless, &for_c7).next().unwrap();
//! assert_eq!(reading.chord().to_string(), "C13");
//! let reasons: Vec<String> = reading.reasons().skip(1).map(|reason| reason.to_string()).collect();
//! assert_eq!(reasons, ["the root does not sound", "the 13 stands in for the fifth", "the 9 is added", "the 13 is added"]);
//! # Ok::<(), overshell::Error>(())
//! ```

mod candidate;
mod reason;
mod shape;
mod usage;

pub use reason::Reason;

use std::iter::FusedIterator;

use smallvec::SmallVec;

use self::candidate::{Candidate, candidates};
use self::reason::explain;
use super::{Chord, Degree, DegreeSet, Key, Mode};
use crate::pitch::{Accidental, Letter, NoteName, PitchClass, PitchSet};

/// What is known of the keys beside that they sound.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct NamingOptions {
    /// The root, where it is known; only readings on it are given. Default: any.
    pub root: Option<PitchClass>,
    /// The lowest key, which sounds as well. Default: not known, so that no inversion costs anything.
    pub bass: Option<PitchClass>,
    /// The chord that the keys are played for: the [chord that sounds](Chord::sounding) is then the first reading, where
    /// a symbol can say it. Default: none.
    pub written: Option<Chord>,
    /// The key, by which roots are spelled. Default: C major.
    pub key: Option<Key>,
}

impl NamingOptions {
    /// With this lowest key.
    pub const fn over(bass: PitchClass) -> Self {
        Self { root: None, bass: Some(bass), written: None, key: None }
    }

    /// With this root.
    pub const fn on(root: PitchClass) -> Self {
        Self { root: Some(root), bass: None, written: None, key: None }
    }

    /// Played for this chord, whose root they have.
    pub const fn played_for(chord: Chord) -> Self {
        Self { root: Some(chord.root().pitch_class()), bass: None, written: Some(chord), key: None }
    }
}

/// One name for what sounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    chord: Chord,
    keys: PitchSet,
    bass: Option<PitchClass>,
    as_written: bool,
    points: i32,
}

impl Reading {
    /// The chord, with its bass where that is known and not the root. A chord whose root does not sound has none.
    pub const fn chord(&self) -> Chord {
        self.chord
    }

    /// Whether the root is not among the keys.
    pub const fn is_rootless(&self) -> bool {
        !self.keys.contains(self.chord.root().pitch_class())
    }

    /// The chord tones that do not sound.
    pub fn missing(&self) -> DegreeSet {
        let root = self.chord.root().pitch_class();
        let tones = self.chord.quality().tones();
        tones.iter().filter(|degree| !self.keys.contains(degree.class_over(root))).collect()
    }

    /// Whether it is the chord that the keys are played for, with what sounds above it.
    pub const fn is_as_written(&self) -> bool {
        self.as_written
    }

    /// What speaks against it, in points; lower is better.
    pub const fn points(&self) -> i32 {
        self.points
    }

    /// The reasons for its points, which are the sum of theirs.
    pub fn reasons(&self) -> impl Iterator<Item = Reason> {
        let root = self.chord.root().pitch_class();
        let mut reasons: SmallVec<[Reason; 16]> = SmallVec::new();
        if self.as_written {
            reasons.push(Reason::AsWritten);
        }
        let keys = above(root, self.keys);
        let bass = self.bass.map(|bass| root.semitones_up_to(bass));
        explain(keys, bass, self.chord.quality(), self.chord.tensions(), &mut |reason| reasons.push(reason));
        if reasons.is_empty() {
            reasons.push(Reason::Plain);
        }
        reasons.into_iter()
    }
}

/// As a map: the chord, its points, whether the root is missing, the chord tones that are, and the reasons as texts.
impl serde::Serialize for Reading {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        use serde::ser::SerializeStruct;
        let mut map = serializer.serialize_struct("Reading", 5)?;
        map.serialize_field("chord", &self.chord)?;
        map.serialize_field("points", &self.points)?;
        map.serialize_field("rootless", &self.is_rootless())?;
        map.serialize_field("missing", &self.missing())?;
        map.serialize_field("reasons", &self.reasons().collect::<SmallVec<[Reason; 16]>>())?;
        map.end()
    }
}

/// The names of a set of keys, best first: an iterator that makes each [`Reading`] when it is asked for.
#[derive(Clone, Debug)]
pub struct Readings {
    keys: PitchSet,
    bass: Option<PitchClass>,
    key: Key,
    written: Option<Chord>,
    /// Best first.
    found: SmallVec<[Candidate; 64]>,
    /// How many of them are given out.
    given: usize,
}

impl Iterator for Readings {
    type Item = Reading;

    fn next(&mut self) -> Option<Reading> {
        let Self { keys, bass, key, .. } = *self;
        if let Some(written) = self.written.take() {
            let chord = over(written, keys, bass, key);
            let mut reading = Reading { chord, keys, bass, as_written: true, points: 0 };
            reading.points = reading.reasons().map(Reason::points).sum();
            return Some(reading);
        }
        let candidate = self.found.get(self.given)?;
        self.given += 1;
        let root = name_in(candidate.root(), key);
        let chord = Chord::new(root, candidate.quality()).with_checked_tensions(candidate.tensions());
        Some(Reading {
            chord: over(chord, keys, bass, key),
            keys,
            bass,
            as_written: false,
            points: candidate.points(),
        })
    }

    fn size_hint(&self) -> (usize, Option<usize>) {
        let left = self.found.len() - self.given + usize::from(self.written.is_some());
        (left, Some(left))
    }
}

impl ExactSizeIterator for Readings {}
impl FusedIterator for Readings {}

/// What these keys can be called, best name first; nothing where no chord accounts for all of them.
///
/// # Complexity
///
/// A look into a table for each of twelve roots, and a sort of what it gives: some thirty integers for five keys. The table
/// (61 shapes of chord on 4,096 sets) is made at the first question, in less than a millisecond.
pub fn readings(keys: PitchSet, options: &NamingOptions) -> Readings {
    let key = options.key.unwrap_or(Key::C_MAJOR);
    let bass = options.bass;
    let keys = bass.map_or(keys, |bass| keys.with(bass));
    let written = options.written.and_then(|written| written.sounding(keys));
    let mut found = SmallVec::new();
    for root in PitchClass::ALL {
        if options.root.is_none_or(|only| only == root) {
            let way = match bass {
                Some(bass) => bass.semitones_up_to(root),
                None => rank_in(key, root),
            };
            let bass = bass.map(|bass| root.semitones_up_to(bass));
            candidates(root, way, above(root, keys), bass, &mut found);
        }
    }
    if let Some(written) = written {
        found.retain(|candidate| !candidate.is(written)); // it comes first, once
    }
    found.sort_unstable();
    Readings { keys, bass, key, written, found, given: 0 }
}

/// The keys as semitones above a root.
const fn above(root: PitchClass, keys: PitchSet) -> u16 {
    keys.transpose(-(root.get() as i32)).bits()
}

/// The chord over the lowest key, where its root sounds at all. Third, seventh and perfect fifth keep the name of their
/// degree in the bass, other notes the plainer one.
fn over(chord: Chord, keys: PitchSet, bass: Option<PitchClass>, key: Key) -> Chord {
    let root = chord.root().pitch_class();
    let Some(bass) = bass.filter(|bass| *bass != root && keys.contains(root)) else {
        return chord.without_bass();
    };
    let kept = chord.quality().guide_tones().with(Degree::Five);
    let semitones = root.semitones_up_to(bass);
    let degree = chord.tones().iter().find(|degree| degree.semitones() == semitones);
    let name = match degree {
        Some(degree) if kept.contains(degree) => degree.name_over(chord.root()).simplest(),
        Some(degree) => plain(degree.name_over(chord.root()).simplest()),
        None => name_in(bass, key),
    };
    chord.with_bass(name)
}

/// A white key by its own name: `E` for `Fb`.
fn plain(name: NoteName) -> NoteName {
    let fifths = i16::from(name.fifths());
    match (name.letter(), name.accidental()) {
        (Letter::C | Letter::F, Accidental::Flat) => NoteName::from_fifths_respelled(fifths + 12),
        (Letter::B | Letter::E, Accidental::Sharp) => NoteName::from_fifths_respelled(fifths - 12),
        _ => name,
    }
}

/// How near a root lies to the tonic, from 0: the order in which roots are expected where no bass is known (common
/// practice, no source).
fn rank_in(key: Key, root: PitchClass) -> u8 {
    // By semitones above the tonic.
    const MAJOR: [u8; 12] = [0, 10, 3, 8, 5, 2, 11, 1, 9, 4, 7, 6];
    const MINOR: [u8; 12] = [0, 10, 4, 3, 8, 2, 11, 1, 5, 9, 6, 7];
    let ranks = if key.mode() == Mode::Major { MAJOR } else { MINOR };
    let up = key.tonic().pitch_class().semitones_up_to(root);
    ranks.get(usize::from(up)).copied().unwrap_or(up)
}

/// The name of a root in a key: the one from five fifths below the tonic to six above it.
fn name_in(root: PitchClass, key: Key) -> NoteName {
    let tonic = i16::from(key.tonic().fifths());
    let up = 7 * i16::from(key.tonic().pitch_class().semitones_up_to(root)) % 12;
    NoteName::from_fifths_respelled(tonic + if up > 6 { up - 12 } else { up })
}
