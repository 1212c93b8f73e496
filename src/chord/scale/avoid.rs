//! Available tensions and notes to avoid, derived from the chord, with the exceptions that sources make.

use smallvec::SmallVec;

use super::Scale;
use super::serve::rival_of;
use crate::chord::{Chord, Degree, DegreeSet, Family, Quality, Source};
use crate::error::{Error, Excerpt, Kind, Result};
use crate::pitch::PitchClass;

/// By whose word a note is avoided.
///
/// All start from one rule (Nettles, *Harmony 3*, Berklee 1987, p. 15): an available tension lies a whole step above a
/// chord tone; a semitone above one it is avoided, and so is a second third or seventh. They differ in the exceptions,
/// each of which holds over the chords that its source speaks of. Read and written by its name (`whole step`, `Nettles`,
/// `Levine`).
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq, Hash)]
#[non_exhaustive]
pub enum AvoidPolicy {
    /// The rule alone. Haerle's table of melodic minor is this.
    WholeStep,
    /// The rule; the sixth of a minor triad or seventh in Dorian, which is a ii, is avoided (Nettles, pp. 15-17); dominants
    /// take their altered tensions.
    #[default]
    Nettles,
    /// The rule; nothing is avoided in Dorian, Phrygian, Aeolian and the modes of melodic minor over the chords of these
    /// modes, and a suspension may have its third (Levine, *The Jazz Theory Book*, in readers' notes); dominants take
    /// their altered tensions.
    Levine,
}

impl AvoidPolicy {
    /// All policies.
    pub const ALL: [Self; 3] = [Self::WholeStep, Self::Nettles, Self::Levine];

    /// The name: `Nettles`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::WholeStep => "whole step",
            Self::Nettles => "Nettles",
            Self::Levine => "Levine",
        }
    }
}

impl std::fmt::Display for AvoidPolicy {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.as_str())
    }
}

impl std::str::FromStr for AvoidPolicy {
    type Err = Error;

    /// Reads a name in any case.
    fn from_str(text: &str) -> Result<Self> {
        Self::ALL.into_iter().find(|policy| policy.as_str().eq_ignore_ascii_case(text)).ok_or_else(|| {
            Error::new(
                Kind::Pitch,
                format!("`{}` is not a policy for avoid notes", crate::pitch::shown(text)),
            )
            .with_excerpt(Excerpt::of_line(text, 0, usize::MAX))
            .with_help(format!(
                "they are {}",
                itertools::join(Self::ALL.iter().map(|policy| format!("`{policy}`")), ", ")
            ))
        })
    }
}

crate::pitch::serde_as_text!(AvoidPolicy);

/// What a note of a scale is over a chord.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
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

/// Why a note has its role. Serialised as its text.
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
    /// It would be a second third or seventh beside this one of the chord.
    Beside(Degree),
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
            Self::Beside(tone) => write!(f, "it would stand beside the chord's `{tone}`"),
            Self::Neither => f.write_str("neither a whole step nor a semitone above a chord tone"),
            Self::Exception(source) => write!(f, "an exception of {source}"),
        }
    }
}

impl serde::Serialize for NoteReason {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// A note of a scale over a chord.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash, serde::Serialize)]
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
    over: Over,
    /// These degrees; all where there is none.
    degrees: &'static [Degree],
    role: Role,
    source: Source,
}

enum Over {
    /// Any scale over chords of this family.
    Family(Family),
    /// Each scale over chords of this quality: those that the source speaks of.
    Each(&'static [(Scale, Quality)]),
}

use AvoidPolicy::{Levine, Nettles};

/// The first that fits holds. Where the rule avoids nothing, as in Levine's Dorian or Lydian b7, there is none.
const EXCEPTIONS: [Exception; 5] = [
    // With the third it makes the tritone of the dominant that follows.
    Exception {
        policies: &[Nettles],
        over: Over::Each(&[(Scale::Dorian, Quality::MINOR_SEVENTH), (Scale::Dorian, Quality::MINOR)]),
        degrees: &[Degree::Thirteen],
        role: Role::Avoid,
        source: Source::Nettles,
    },
    // Dominants take b9 #9 #11 b13, though the rule knows only #11: ch. 5.
    Exception {
        policies: &[Nettles, Levine],
        over: Over::Family(Family::Dominant),
        degrees: &[Degree::FlatNine, Degree::SharpNine, Degree::FlatThirteen],
        role: Role::Available,
        source: Source::Terefenko,
    },
    // No avoid note listed in these modes; Phrygian is also that of the suspension with b9.
    Exception {
        policies: &[Levine],
        over: Over::Each(&[
            (Scale::Phrygian, Quality::MINOR_SEVENTH),
            (Scale::Phrygian, Quality::MINOR),
            (Scale::Phrygian, Quality::SEVENTH_SUSPENDED_FOURTH),
            (Scale::Aeolian, Quality::MINOR_SEVENTH),
            (Scale::Aeolian, Quality::MINOR),
        ]),
        degrees: &[Degree::FlatNine, Degree::SharpNine, Degree::FlatThirteen],
        role: Role::Available,
        source: Source::Levine,
    },
    // No avoid note anywhere in the harmony of melodic minor.
    Exception {
        policies: &[Levine],
        over: Over::Each(&[
            (Scale::DorianFlatTwo, Quality::MINOR_SEVENTH),
            (Scale::DorianFlatTwo, Quality::SEVENTH_SUSPENDED_FOURTH),
            (Scale::LydianAugmented, Quality::MAJOR_SEVENTH_SHARP_FIVE),
            (Scale::MixolydianFlatSix, Quality::DOMINANT_SEVENTH),
            (Scale::MixolydianFlatSix, Quality::SEVENTH_SUSPENDED_FOURTH),
        ]),
        degrees: &[],
        role: Role::Available,
        source: Source::Levine,
    },
    // P. 46: players use the third and the fourth together.
    Exception {
        policies: &[Levine],
        over: Over::Family(Family::Suspended),
        degrees: &[Degree::Three],
        role: Role::Available,
        source: Source::Levine,
    },
];

impl Exception {
    fn holds(&self, policy: AvoidPolicy, scale: Scale, chord: Chord, degree: Degree) -> bool {
        self.policies.contains(&policy)
            && (self.degrees.is_empty() || self.degrees.contains(&degree))
            && match self.over {
                Over::Family(family) => chord.family() == family,
                Over::Each(pairs) => pairs.contains(&(scale, chord.quality())),
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
            let by_rule = || {
                let avoided = tone_below(1).map(NoteReason::SemitoneAbove);
                let avoided = avoided.or_else(|| rival_of(degree, chord).map(NoteReason::Beside));
                let available =
                    || tone_below(2).map(|tone| (Role::Available, NoteReason::WholeStepAbove(tone)));
                let avoided = avoided.map(|reason| (Role::Avoid, reason));
                avoided.or_else(available).unwrap_or((Role::Passing, NoteReason::Neither))
            };
            let exception = || EXCEPTIONS.iter().find(|e| e.holds(policy, self, chord, degree));
            let (role, reason) = if tones.contains(degree) {
                (Role::OfChord, NoteReason::ChordTone)
            } else if chord.tensions().contains(degree) {
                (Role::OfChord, NoteReason::Written)
            } else {
                let (role, reason) = by_rule();
                // An exception is one only where the rule says something else.
                match exception().filter(|exception| exception.role != role) {
                    Some(exception) => (exception.role, NoteReason::Exception(exception.source)),
                    None => (role, reason),
                }
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
