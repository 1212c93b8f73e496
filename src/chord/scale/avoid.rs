//! Available tensions and notes to avoid, derived from the chord, with the exceptions that sources make.

use smallvec::SmallVec;

use super::Scale;
use crate::chord::{Chord, Degree, DegreeSet, Family, Quality, Source};
use crate::pitch::PitchClass;

/// By whose word a note is avoided.
///
/// All start from one rule (Nettles, *Harmony 3*, Berklee 1987, p. 15): an available tension lies a whole step above a
/// chord tone; a semitone above one it is avoided. They differ in the exceptions.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq, Hash)]
#[non_exhaustive]
pub enum AvoidPolicy {
    /// The rule alone. Haerle's table of melodic minor is this.
    WholeStep,
    /// The rule; the sixth of a minor seventh in Dorian, which is a ii, is avoided (Nettles, pp. 15-17); dominants take
    /// their altered tensions.
    #[default]
    Nettles,
    /// The rule; nothing is avoided in Dorian, Phrygian, Aeolian and the modes of melodic minor, and a suspension may
    /// have its third (Levine, *The Jazz Theory Book*, in readers' notes); dominants take their altered tensions.
    Levine,
}

impl AvoidPolicy {
    /// All policies.
    pub const ALL: [Self; 3] = [Self::WholeStep, Self::Nettles, Self::Levine];
}

/// What a note of a scale is over a chord.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
pub enum Role {
    /// It belongs to the chord: a chord tone, or a tension that the symbol asks for.
    OfChord,
    /// A tension that colours the chord.
    Available,
    /// Neither avoided nor a tension by the rule.
    Passing,
    /// It fights the chord when it is held.
    Avoid,
}

/// Why a note has its role.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
#[non_exhaustive]
pub enum NoteReason {
    /// It is a chord tone.
    ChordTone,
    /// The symbol asks for it.
    Written,
    /// It lies a whole step above this chord tone.
    WholeStepAbove(Degree),
    /// It lies a semitone above this chord tone.
    SemitoneAbove(Degree),
    /// It lies neither a whole step nor a semitone above a chord tone.
    Neither,
    /// An exception from the rule, and who makes it.
    Exception(Source),
}

impl std::fmt::Display for NoteReason {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::ChordTone => f.write_str("a chord tone"),
            Self::Written => f.write_str("the symbol asks for it"),
            Self::WholeStepAbove(tone) => write!(f, "a whole step above the chord's `{tone}`"),
            Self::SemitoneAbove(tone) => write!(f, "a semitone above the chord's `{tone}`"),
            Self::Neither => f.write_str("neither a whole step nor a semitone above a chord tone"),
            Self::Exception(source) => write!(f, "an exception of {source}"),
        }
    }
}

/// A note of a scale over a chord.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
#[non_exhaustive]
pub struct ScaleNote {
    /// What it is over the chord's root.
    pub degree: Degree,
    /// What it is good for.
    pub role: Role,
    /// Why.
    pub reason: NoteReason,
}

/// An exception from the rule.
struct Exception {
    policies: &'static [AvoidPolicy],
    /// In these scales; in any where there is none.
    scales: &'static [Scale],
    /// Over these chords.
    over: Over,
    /// These degrees; all where there is none.
    degrees: &'static [Degree],
    role: Role,
    source: Source,
}

enum Over {
    Any,
    Quality(Quality),
    Family(Family),
}

use AvoidPolicy::{Levine, Nettles};

/// The first that fits holds.
const EXCEPTIONS: [Exception; 5] = [
    // With the third it makes the tritone of the dominant that follows.
    Exception {
        policies: &[Nettles],
        scales: &[Scale::Dorian],
        over: Over::Quality(Quality::MINOR_SEVENTH),
        degrees: &[Degree::Thirteen],
        role: Role::Avoid,
        source: Source::Nettles,
    },
    // Dominants take b9 #9 #11 b13, though the rule knows only #11: ch. 5.
    Exception {
        policies: &[Nettles, Levine],
        scales: &[],
        over: Over::Family(Family::Dominant),
        degrees: &[Degree::FlatNine, Degree::SharpNine, Degree::FlatThirteen],
        role: Role::Available,
        source: Source::Terefenko,
    },
    // No avoid note listed in these modes.
    Exception {
        policies: &[Levine],
        scales: &[Scale::Dorian, Scale::Phrygian, Scale::Aeolian],
        over: Over::Any,
        degrees: &[],
        role: Role::Available,
        source: Source::Levine,
    },
    // No avoid note anywhere in the harmony of melodic minor.
    Exception {
        policies: &[Levine],
        scales: &[
            Scale::MelodicMinor,
            Scale::DorianFlatTwo,
            Scale::LydianAugmented,
            Scale::LydianDominant,
            Scale::MixolydianFlatSix,
            Scale::LocrianNaturalTwo,
            Scale::Altered,
        ],
        over: Over::Any,
        degrees: &[],
        role: Role::Available,
        source: Source::Levine,
    },
    // P. 46: players use the third and the fourth together.
    Exception {
        policies: &[Levine],
        scales: &[],
        over: Over::Family(Family::Suspended),
        degrees: &[Degree::Three],
        role: Role::Available,
        source: Source::Levine,
    },
];

impl Exception {
    fn holds(&self, policy: AvoidPolicy, scale: Scale, chord: Chord, degree: Degree) -> bool {
        self.policies.contains(&policy)
            && (self.scales.is_empty() || self.scales.contains(&scale))
            && (self.degrees.is_empty() || self.degrees.contains(&degree))
            && match self.over {
                Over::Any => true,
                Over::Quality(quality) => chord.quality() == quality,
                Over::Family(family) => chord.family() == family,
            }
    }
}

impl Scale {
    /// What each note of the scale on the chord's root is over the chord, ascending from the root, with the reason.
    ///
    /// The scale need not hold the whole chord; chord tones outside it still count as what its notes are heard against.
    ///
    /// ```
    /// use overshell::chord::{AvoidPolicy, Scale, chord};
    /// use overshell::chord::scale::Role;
    ///
    /// let notes = Scale::Ionian.notes_over(chord("Cmaj7"), AvoidPolicy::Nettles);
    /// let avoid = notes.iter().find(|note| note.role == Role::Avoid).unwrap();
    /// assert_eq!(avoid.degree.to_string(), "11");
    /// assert_eq!(avoid.reason.to_string(), "a semitone above the chord's `3`");
    /// ```
    pub fn notes_over(self, chord: Chord, policy: AvoidPolicy) -> SmallVec<[ScaleNote; 8]> {
        let tones = chord.quality().tones();
        let map = chord.degree_map();
        let note = |class: PitchClass| {
            let degree = *map.get(usize::from(class.get()))?;
            let tone_below = |by: i32| {
                tones.iter().find(|tone| PitchClass::wrapping(i32::from(tone.semitones()) + by) == class)
            };
            let exception = || EXCEPTIONS.iter().find(|e| e.holds(policy, self, chord, degree));
            let (role, reason) = if tones.contains(degree) {
                (Role::OfChord, NoteReason::ChordTone)
            } else if chord.tensions().contains(degree) {
                (Role::OfChord, NoteReason::Written)
            } else if let Some(exception) = exception() {
                (exception.role, NoteReason::Exception(exception.source))
            } else if let Some(tone) = tone_below(1) {
                (Role::Avoid, NoteReason::SemitoneAbove(tone))
            } else if let Some(tone) = tone_below(2) {
                (Role::Available, NoteReason::WholeStepAbove(tone))
            } else {
                (Role::Passing, NoteReason::Neither)
            };
            Some(ScaleNote { degree, role, reason })
        };
        self.semitones().iter().filter_map(note).collect()
    }

    fn with_role(self, chord: Chord, policy: AvoidPolicy, role: Role) -> DegreeSet {
        self.notes_over(chord, policy)
            .iter()
            .filter(|note| note.role == role)
            .map(|note| note.degree)
            .collect()
    }

    /// The notes of the scale to avoid over the chord; a tension that the symbol asks for is none.
    ///
    /// ```
    /// use overshell::chord::{AvoidPolicy, Scale, chord};
    /// let avoid = |policy| Scale::Dorian.avoid(chord("Dm7"), policy).to_string();
    /// assert_eq!(avoid(AvoidPolicy::Nettles), "13"); // a ii: the note belongs to the dominant behind it
    /// assert_eq!(avoid(AvoidPolicy::Levine), "");
    /// ```
    pub fn avoid(self, chord: Chord, policy: AvoidPolicy) -> DegreeSet {
        self.with_role(chord, policy, Role::Avoid)
    }

    /// The notes of the scale that colour the chord, those apart that its symbol asks for.
    ///
    /// ```
    /// use overshell::chord::{AvoidPolicy, Scale, chord};
    /// let tensions = Scale::Locrian.available(chord("Bm7b5"), AvoidPolicy::default());
    /// assert_eq!(tensions.to_string(), "11 b13");
    /// ```
    pub fn available(self, chord: Chord, policy: AvoidPolicy) -> DegreeSet {
        self.with_role(chord, policy, Role::Available)
    }
}
