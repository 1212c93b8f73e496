//! What does not come over from one vocabulary into another.

use std::fmt::{Display, Formatter};

use super::musicxml::{DegreeChange, Kind};
use crate::chord::{Chord, Degree};
use crate::pitch::NoteName;

/// Something that did not come over, or that had to be assumed.
///
/// Prints as `what: why`. Serialised as a record whose `loss` is the variant.
///
/// # Example
///
/// ```
/// use overshell::chord::vocabulary::{Loss, abc};
/// use overshell::chord::{Degree, chord};
///
/// let losses = abc::write(chord("C7b5")).losses;
/// assert_eq!(losses, [Loss::NoWord { degree: Degree::FlatFive }, Loss::Unwanted { degree: Degree::Five }]);
/// assert_eq!(losses[1].to_string(), "`5` is added: the types of ABC cannot leave it out");
/// assert_eq!(losses[1].degree(), Some(Degree::Five));
/// ```
#[derive(Clone, Debug, Eq, PartialEq, Hash, serde::Serialize)]
#[serde(tag = "loss", rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Loss {
    /// Written without a degree that the chord has: there is no word for it.
    NoWord {
        /// The degree.
        degree: Degree,
    },
    /// Written with a degree that the chord has not: the vocabulary cannot leave it out.
    Unwanted {
        /// The degree.
        degree: Degree,
    },
    /// A degree is written as another on its key: there is no word for the one of the chord.
    DegreeWrittenAs {
        /// The degree of the chord.
        degree: Degree,
        /// The degree that is written.
        written: Degree,
    },
    /// A degree is read as another on its key: the chord has one name for a key.
    DegreeReadAs {
        /// As it was written.
        written: String,
        /// The degree of the chord.
        degree: Degree,
    },
    /// A note name is written as another for its key: it has more accidentals than the vocabulary.
    NameWrittenAs {
        /// What it names.
        part: Part,
        /// The name in the chord.
        name: NoteName,
        /// The name that is written.
        written: NoteName,
    },
    /// A note name is read as another for its key: it has more accidentals than a [`NoteName`].
    NameReadAs {
        /// What it names.
        part: Part,
        /// As it was written.
        written: String,
        /// The name in the chord.
        name: NoteName,
    },
    /// Read without the natural eleventh that the word holds for others: it fights the major third.
    EleventhLeftOut {
        /// The word.
        of: Word,
    },
    /// Written with a kind in which others may hear a natural eleventh.
    EleventhHeard {
        /// The kind.
        kind: Kind,
    },
    /// The root was to be left out, which is not carried out.
    RootKept {
        /// As it was written.
        written: String,
    },
    /// A degree was to be taken away that the chord has not.
    NothingTakenAway {
        /// As it was written.
        written: String,
    },
    /// A degree was to be altered that the chord has not; it is added.
    AlterationAdded {
        /// As it was written.
        change: DegreeChange,
    },
    /// A degree changes a chord where none sounds.
    NothingSounds {
        /// As it was written.
        change: DegreeChange,
    },
    /// A chord in print beside the one that sounds is none.
    AlternateUnread {
        /// As it was written.
        written: String,
    },
}

/// What a note name is in a chord.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Part {
    /// The root.
    Root,
    /// The bass.
    Bass,
}

impl Part {
    /// As printed.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Root => "root",
            Self::Bass => "bass",
        }
    }
}

impl Display for Part {
    fn fmt(&self, f: &mut Formatter<'_>) -> std::fmt::Result {
        f.pad(self.as_str())
    }
}

/// A word for a list of degrees.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Word {
    /// A kind of [`musicxml`](super::musicxml).
    Kind(Kind),
    /// A shorthand of [`harte`](super::harte).
    Shorthand(&'static str),
}

impl Display for Word {
    fn fmt(&self, f: &mut Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Kind(kind) => write!(f, "the kind `{kind}`"),
            Self::Shorthand(shorthand) => write!(f, "`{shorthand}`"),
        }
    }
}

impl Loss {
    /// The degree that was lost, added or renamed, as far as the chord or its translation has it; what was written and
    /// means none is text in the variant.
    pub const fn degree(&self) -> Option<Degree> {
        match self {
            Self::NoWord { degree }
            | Self::Unwanted { degree }
            | Self::DegreeWrittenAs { degree, .. }
            | Self::DegreeReadAs { degree, .. } => Some(*degree),
            Self::EleventhLeftOut { .. } | Self::EleventhHeard { .. } => Some(Degree::Eleven),
            Self::RootKept { .. } => Some(Degree::Root),
            Self::NameWrittenAs { .. }
            | Self::NameReadAs { .. }
            | Self::NothingTakenAway { .. }
            | Self::AlterationAdded { .. }
            | Self::NothingSounds { .. }
            | Self::AlternateUnread { .. } => None,
        }
    }

    /// Says that a degree is in the chord under another name: a second that is a ninth. `None` where it is there under
    /// its own, or not at all.
    pub(super) fn renamed(chord: Chord, written: impl Display, number: u8, alteration: i8) -> Option<Self> {
        let natural = Degree::from_number(number.checked_sub(1)? % 7 + 1, 0)?;
        let semitones = (i16::from(natural.semitones()) + i16::from(alteration)).rem_euclid(12);
        let mut same_key = chord.tones().iter().filter(|degree| i16::from(degree.semitones()) == semitones);
        let degree = same_key.next()?;
        let same_name = (degree.number(), degree.alteration()) == (number, alteration);
        (!same_name).then(|| Self::DegreeReadAs { written: written.to_string(), degree })
    }
}

impl Display for Loss {
    fn fmt(&self, f: &mut Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoWord { degree } => {
                write!(f, "`{degree}` is left out: the types of ABC have no word for it")
            }
            Self::Unwanted { degree } => {
                write!(f, "`{degree}` is added: the types of ABC cannot leave it out")
            }
            Self::DegreeWrittenAs { degree, written } => {
                write!(f, "`{degree}` is written as `{written}`: the types of ABC have no word for it")
            }
            Self::DegreeReadAs { written, degree } => {
                write!(f, "`{written}` is read as `{degree}`: a chord has one name for a key")
            }
            Self::NameWrittenAs { part, name, written } => {
                write!(
                    f,
                    "the {part} `{name}` is written `{written}`: a note of ABC has one accidental at most"
                )
            }
            Self::NameReadAs { part, written, name } => {
                write!(
                    f,
                    "the {part} `{written}` is read as `{name}`: a note name has at most two accidentals"
                )
            }
            Self::EleventhLeftOut { of } => {
                write!(f, "the `11` of {of} is left out: it fights the major third")
            }
            Self::EleventhHeard { kind } => write!(
                f,
                "others may hear an `11` in the kind `{kind}`: the schema puts it there, we leave it out over a major \
                 third"
            ),
            Self::RootKept { written } => {
                write!(f, "`{written}` is not carried out: a chord always has its root")
            }
            Self::NothingTakenAway { written } => {
                write!(f, "`{written}` takes nothing away: the chord has no such degree")
            }
            Self::AlterationAdded { change } => {
                write!(f, "`{change}` is added: the chord has no such degree")
            }
            Self::NothingSounds { change } => write!(f, "`{change}` is left out: no chord sounds"),
            Self::AlternateUnread { written } => {
                write!(f, "the alternate `{written}` is left out: it is no chord")
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;
    use crate::chord::vocabulary::{abc, harte, musicxml};

    /// What a program gets to see of each: the variant, and what it is about.
    #[test]
    fn ok_losses_as_records() {
        let json = |losses: &[Loss]| serde_json::to_string(losses).unwrap();
        assert_eq!(
            json(&abc::write(chord("Cbb7sus2")).losses),
            r#"[{"loss":"unwanted","degree":"4"},{"loss":"degree-written-as","degree":"2","written":"9"},"#
                .to_owned()
                + r#"{"loss":"name-written-as","part":"root","name":"Cbb","written":"Bb"}]"#
        );
        assert_eq!(
            json(&harte::read("C:13(*1)").unwrap().losses),
            r#"[{"loss":"eleventh-left-out","of":{"shorthand":"13"}},{"loss":"root-kept","written":"*1"}]"#
        );
        assert_eq!(
            json(&musicxml::write(chord("Cmaj13")).losses),
            r#"[{"loss":"eleventh-heard","kind":"major-13th"}]"#
        );
        assert_eq!(
            serde_json::to_string(&abc::write(chord("C5"))).unwrap(),
            r#"{"value":"C","losses":[{"loss":"unwanted","degree":"3"}]}"#
        );
    }

    #[test]
    fn ok_degrees_of_losses() {
        let degrees = |losses: &[Loss]| itertools::join(losses.iter().filter_map(Loss::degree), " ");
        assert_eq!(degrees(&abc::write(chord("C7b5(b9)")).losses), "b9 b5 5");
        assert_eq!(degrees(&harte::read("C:maj13(2,*1)").unwrap().losses), "11 1 9");
        assert_eq!(degrees(&harte::read("Cbbb:maj(*b7)").unwrap().losses), "");
    }
}
