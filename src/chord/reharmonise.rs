//! Other chords for a chord: the identities by which dominants are reharmonised.
//!
//! | identity | for `G7` on the way to `Cmaj7` |
//! |---|---|
//! | [`two_five`] | `Dm7 G7`, and `Dm7b5 G7(b9)` on the way to a minor chord |
//! | [`tritone_substitute`] | `Db7` |
//! | [`substitute_two_five`] | `Abm7 Db7` |
//! | [`suspended_then_dominant`] | `G7sus4 G7` |
//! | [`suspended_under`] | `G7sus4`, where the melody holds the fourth |
//!
//! Published scope: a ii before any V, tritone substitutes with a ii of their own (Terefenko, *Jazz Theory*, Routledge
//! 2014, ch. 19; *Open Music Theory*, version 2, "Substitutions" and "ii-V-I", both in reading notes).

use smallvec::{SmallVec, smallvec};

use super::function::{has_minor_third, root_motion};
use super::{Chord, Degree, Family, Fifth, Quality, Seventh, Third};
use crate::error::{Error, Excerpt, Kind, Result};
use crate::pitch::{NoteName, PitchClass};

/// An identity by its name, for those who let others choose.
///
/// # Example
///
/// ```
/// use overshell::chord::{Reharmonisation, chord};
///
/// let identity: Reharmonisation = "subV".parse()?;
/// let new = identity.of(chord("G13"), Some(chord("Cmaj7")), None)?;
/// assert_eq!(new.chords[0].to_string(), "Db7(#9,b13)");
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
#[non_exhaustive]
pub enum Reharmonisation {
    /// `ii-V`: [`two_five`].
    TwoFive,
    /// `subV`: [`tritone_substitute`].
    Substitute,
    /// `ii-V of subV`: [`substitute_two_five`].
    SubstituteTwoFive,
    /// `sus-V`: [`suspended_then_dominant`].
    SuspendedThenDominant,
    /// `sus`: [`suspended_under`].
    Suspended,
}

impl Reharmonisation {
    /// All identities.
    pub const ALL: [Self; 5] = [
        Self::TwoFive,
        Self::Substitute,
        Self::SubstituteTwoFive,
        Self::SuspendedThenDominant,
        Self::Suspended,
    ];

    /// As written: `ii-V`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::TwoFive => "ii-V",
            Self::Substitute => "subV",
            Self::SubstituteTwoFive => "ii-V of subV",
            Self::SuspendedThenDominant => "sus-V",
            Self::Suspended => "sus",
        }
    }

    /// The chords that this identity puts in place of a dominant, given the chord that follows and the melody note that
    /// sounds, as far as there are any. Only [`suspended_under`] asks for the melody; whether it fights another dominant is
    /// asked by [`Progression::reharmonised`](crate::search::Progression::reharmonised).
    ///
    /// # Errors
    ///
    /// Those of the function that it stands for.
    pub fn of(self, chord: Chord, target: Option<Chord>, melody: Option<PitchClass>) -> Result<Reharmonised> {
        match (self, melody) {
            (Self::TwoFive, _) => two_five(chord, target),
            (Self::Substitute, _) => tritone_substitute(chord, target),
            (Self::SubstituteTwoFive, _) => substitute_two_five(chord, target),
            (Self::SuspendedThenDominant, _) => suspended_then_dominant(chord),
            (Self::Suspended, Some(melody)) => suspended_under(chord, melody),
            (Self::Suspended, None) => {
                dominant(chord)?;
                Err(refusal(chord, format!("no melody note sounds over `{chord}`, expected its fourth")))
            }
        }
    }
}

impl std::fmt::Display for Reharmonisation {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.as_str())
    }
}

impl std::str::FromStr for Reharmonisation {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        Self::ALL.into_iter().find(|identity| identity.as_str() == text).ok_or_else(|| {
            Error::new(Kind::Symbol, format!("`{}` is not a reharmonisation", crate::pitch::shown(text)))
                .with_excerpt(Excerpt::of_line(text, 0, usize::MAX))
                .with_help(format!(
                    "they are {}",
                    itertools::join(Self::ALL.iter().map(|identity| format!("`{identity}`")), ", ")
                ))
        })
    }
}

/// What stands in place of a chord, and why it may.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
#[non_exhaustive]
pub struct Reharmonised {
    /// The chords, which share the time of the one they replace equally.
    pub chords: SmallVec<[Chord; 2]>,
    /// Why they may stand there.
    pub reason: ReharmonisationReason,
}

/// Why chords may stand in place of a dominant. Serialised as its text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum ReharmonisationReason {
    /// The first is the ii of the dominant, which goes to a major chord or is not known to go to a minor one.
    Two(Chord),
    /// The first is the half-diminished ii of the dominant, which goes to this minor chord.
    TwoOfMinor(Chord),
    /// Both dominants have the same third and seventh, the other way round.
    SharedTritone(Chord),
    /// The first is the ii of the tritone substitute, which shares the tritone of this dominant.
    TwoOfSubstitute(Chord),
    /// The fourth delays the third of this dominant.
    DelayedThird(Chord),
    /// The melody holds the fourth of this dominant, which would fight the third.
    FourthInMelody(Chord),
}

impl std::fmt::Display for ReharmonisationReason {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Two(five) => write!(f, "the ii prepares `{five}`"),
            Self::TwoOfMinor(target) => {
                write!(f, "a half-diminished ii prepares the way to the minor `{target}`")
            }
            Self::SharedTritone(five) => {
                write!(f, "it has the third and seventh of `{five}` the other way round")
            }
            Self::TwoOfSubstitute(five) => write!(f, "the ii prepares the tritone substitute of `{five}`"),
            Self::DelayedThird(five) => write!(f, "the fourth delays the third of `{five}`"),
            Self::FourthInMelody(five) => write!(f, "the melody holds the fourth of `{five}`"),
        }
    }
}

impl serde::Serialize for ReharmonisationReason {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// A ii and the dominant, in place of the dominant: `Dm7 G7`; `Dm7b5` and a `b9` where the target is minor and the symbol
/// asks for no ninth of its own.
///
/// Sources disagree where the minor target is itself a ii, as in `A7 Dm7` in C: notes of a Berklee first-year harmony
/// course and the "Chord Scale Summation" then give the dominant its `9`, which is in the key, and not the `b9`; the same
/// notes say that many players take `b9 #9 b13` there too. Two chords have no key, so a minor target has its `b9` here
/// whatever it does; a `9` in the symbol stays.
///
/// # Errors
///
/// [`Error::is_no_answer`] where the chord is no dominant with its third.
///
/// # Example
///
/// ```
/// use overshell::chord::chord;
/// use overshell::chord::reharmonise::two_five;
///
/// let new = two_five(chord("E7"), Some(chord("Am6")))?;
/// assert_eq!(new.chords[..], [chord("Bm7b5"), chord("E7(b9)")]);
/// assert_eq!(new.reason.to_string(), "a half-diminished ii prepares the way to the minor `Am6`");
/// assert!(two_five(chord("Fmaj7"), None).unwrap_err().is_no_answer());
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn two_five(chord: Chord, target: Option<Chord>) -> Result<Reharmonised> {
    let five = dominant(chord)?;
    let Some(target) = target.filter(|target| has_minor_third(*target)) else {
        let two = two_of(five, Quality::MINOR_SEVENTH);
        return Ok(Reharmonised { chords: smallvec![two, five], reason: ReharmonisationReason::Two(five) });
    };
    let ninth = five.tensions().iter().any(|degree| degree.number() == Degree::Nine.number());
    let five = if ninth { five } else { five.with_tensions([Degree::FlatNine])? };
    let two = two_of(five, Quality::HALF_DIMINISHED);
    Ok(Reharmonised { chords: smallvec![two, five], reason: ReharmonisationReason::TwoOfMinor(target) })
}

/// The dominant a tritone away: same third and seventh, the other way round. It is spelled a minor second above the
/// target, a fifth below the dominant where none is given, without double accidentals.
///
/// Tensions keep their keys: `9` becomes `b13`, `#9` becomes `13`, and back; `b9` and `#11` become the new fifth and root
/// and need no sign, a `#5` becomes the `9`, a `b5` stays one. (Arithmetic; *A Jazz Improvisation Almanac* states 1-#11,
/// 5-b9, 3-b7.)
///
/// # Errors
///
/// [`Error::is_no_answer`] where the chord is no dominant with its third.
///
/// # Example
///
/// ```
/// use overshell::chord::chord;
/// use overshell::chord::reharmonise::tritone_substitute;
///
/// let substitute = |symbol| tritone_substitute(chord(symbol), None).unwrap().chords[0].to_string();
/// assert_eq!(substitute("G7"), "Db7");
/// assert_eq!(substitute("G13"), "Db7(#9,b13)"); // the 13, and the 9 that it brings
/// assert_eq!(substitute("G9"), "Db7(b13)");
/// assert_eq!(substitute("Db7(#9,b13)"), "G13");
/// ```
pub fn tritone_substitute(chord: Chord, target: Option<Chord>) -> Result<Reharmonised> {
    let five = dominant(chord)?;
    let reason = ReharmonisationReason::SharedTritone(five);
    Ok(Reharmonised { chords: smallvec![substitute(five, target)], reason })
}

/// The tritone substitute with a ii of its own: `Abm7 Db7` in place of `G7`. Over the old root that ii holds the major
/// seventh: it does not go with a bass that stays.
///
/// # Errors
///
/// [`Error::is_no_answer`] where the chord is no dominant with its third.
///
/// # Example
///
/// ```
/// use overshell::chord::chord;
/// use overshell::chord::reharmonise::substitute_two_five;
/// let new = substitute_two_five(chord("G7"), Some(chord("Cmaj7")))?;
/// assert_eq!(new.chords[..], [chord("Abm7"), chord("Db7")]);
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn substitute_two_five(chord: Chord, target: Option<Chord>) -> Result<Reharmonised> {
    let five = dominant(chord)?;
    let substitute = substitute(five, target);
    let two = two_of(substitute, Quality::MINOR_SEVENTH);
    Ok(Reharmonised {
        chords: smallvec![two, substitute],
        reason: ReharmonisationReason::TwoOfSubstitute(five),
    })
}

/// The suspension and then the dominant, in place of the dominant: `G7sus4 G7`. A `#11` waits for the dominant: it would
/// fight the fourth.
///
/// # Errors
///
/// [`Error::is_no_answer`] where the chord is no dominant with its third.
///
/// # Example
///
/// ```
/// use overshell::chord::chord;
/// use overshell::chord::reharmonise::suspended_then_dominant;
/// let new = suspended_then_dominant(chord("G9"))?;
/// assert_eq!(new.chords[..], [chord("G9sus4"), chord("G9")]);
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn suspended_then_dominant(chord: Chord) -> Result<Reharmonised> {
    let five = dominant(chord)?;
    let suspended = Chord::new(five.root(), Quality { third: Third::Fourth, ..five.quality() })
        .with_tensions(five.tensions().without(Degree::SharpEleven).iter())?;
    Ok(Reharmonised { chords: smallvec![suspended, five], reason: ReharmonisationReason::DelayedThird(five) })
}

/// The suspension in place of a dominant whose natural fourth the melody holds, as
/// [`Chord::as_played_under`] has it.
///
/// # Errors
///
/// [`Error::is_no_answer`] where the chord is no dominant with its third, or the melody holds another note.
///
/// # Example
///
/// ```
/// use overshell::chord::chord;
/// use overshell::chord::reharmonise::suspended_under;
/// use overshell::pitch::note;
/// let new = suspended_under(chord("G7"), note("C").pitch_class())?;
/// assert_eq!(new.chords[..], [chord("G7sus4")]);
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn suspended_under(chord: Chord, melody: PitchClass) -> Result<Reharmonised> {
    let five = dominant(chord)?;
    let held = five.degree_of(melody);
    if held != Degree::Eleven {
        return Err(refusal(
            chord,
            format!("the melody holds the `{held}` of `{chord}`, expected its fourth"),
        ));
    }
    Ok(Reharmonised {
        chords: smallvec![five.as_played_under(melody)],
        reason: ReharmonisationReason::FourthInMelody(five),
    })
}

/// The chord itself without its bass, where it is a dominant with its third.
fn dominant(chord: Chord) -> Result<Chord> {
    if chord.as_played().family() == Family::Dominant {
        Ok(chord.without_bass())
    } else {
        Err(refusal(chord, format!("`{chord}` is no dominant, expected a major third and a minor seventh")))
    }
}

pub(crate) fn refusal(chord: Chord, message: String) -> Error {
    Error::new(Kind::NoAnswer, message)
        .with_excerpt(Excerpt::of_line(&chord.to_string(), 0, usize::MAX))
        .with_help("leave the chord as it is, or choose another reharmonisation")
}

/// The chord of this quality a fifth above.
fn two_of(five: Chord, quality: Quality) -> Chord {
    let root = NoteName::from_fifths_respelled(i16::from(five.root().fifths()) + 1);
    Chord::new(root.simplest(), quality)
}

fn substitute(five: Chord, target: Option<Chord>) -> Chord {
    const MINOR_SECOND: i16 = -5; // on the line of fifths
    let target = target.filter(|target| root_motion(five, *target) == 5);
    let target =
        target.map_or(i16::from(five.root().fifths()) - 1, |target| i16::from(target.root().fifths()));
    let root = NoteName::from_fifths_respelled(target + MINOR_SECOND).simplest();
    let fifth = if five.quality().fifth == Fifth::Flat { Fifth::Flat } else { Fifth::Perfect };
    let plain = Chord::new(root, Quality { third: Third::Major, fifth, seventh: Seventh::Flat });
    let kept = five
        .tones()
        .difference(Quality::DOMINANT_SEVENTH.tones())
        .iter()
        .map(|degree| plain.degree_of(degree.class_over(five.root().pitch_class())))
        .filter(|degree| degree.is_tension());
    // Each key has one meaning over a dominant, so nothing can stand in the way of another.
    plain.with_tensions(kept).unwrap_or(plain)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;

    #[test]
    fn all_reharmonisations_roundtrip() {
        for identity in Reharmonisation::ALL {
            assert_eq!(identity.to_string().parse::<Reharmonisation>().unwrap(), identity);
        }
        assert!("subX".parse::<Reharmonisation>().unwrap_err().help().unwrap().contains("`subV`"));
    }

    #[test]
    fn ok_spelled_a_minor_second_above_the_target() {
        for (five, target, expected) in [
            ("G7", "Cmaj7", "Db7"),
            ("F7", "Bbmaj7", "Cb7"),
            ("B7", "Em7", "F7"),
            ("F#7", "Bmaj7", "C7"),
            ("Gb7", "Bmaj7", "C7"),
            ("Ab7", "Dbmaj7", "D7"), // for Ebb7
            ("C#7", "F#m7", "G7"),
            ("Db7", "F#m7", "G7"),
            ("G7", "Am7", "Db7"), // not the target of a dominant
        ] {
            let new = tritone_substitute(chord(five), Some(chord(target))).unwrap();
            assert_eq!(new.chords[..], [chord(expected)], "{five} {target}");
        }
    }

    #[test]
    fn err_no_dominants() {
        for symbol in ["Cmaj7", "Dm7", "G7sus4", "G11", "C", "Bdim7", "G5", "C+"] {
            for identity in Reharmonisation::ALL {
                let error = identity.of(chord(symbol), None, Some(PitchClass::constant(0))).unwrap_err();
                assert!(error.is_no_answer(), "{identity} of {symbol}");
                assert_eq!(error.excerpt().unwrap().marked(), chord(symbol).to_string());
            }
        }
        let error = suspended_under(chord("G7"), PitchClass::constant(9)).unwrap_err();
        assert_eq!(error.to_string(), "the melody holds the `9` of `G7`, expected its fourth");
        let error = Reharmonisation::Suspended.of(chord("G7"), None, None).unwrap_err();
        assert_eq!(error.to_string(), "no melody note sounds over `G7`, expected its fourth");
    }

    #[test]
    fn ok_written_ninths_stay() {
        let new = two_five(chord("G7(#9)"), Some(chord("Cm7"))).unwrap();
        assert_eq!(new.chords[..], [chord("Dm7b5"), chord("G7(#9)")]);
        // Sources differ on a dominant of a ii; what is written stays.
        for (symbol, dominant) in [("A7", "A7(b9)"), ("A9", "A9")] {
            let new = two_five(chord(symbol), Some(chord("Dm7"))).unwrap();
            assert_eq!(new.chords[..], [chord("Em7b5"), chord(dominant)]);
        }
        let new = two_five(chord("G7/B"), None).unwrap();
        assert_eq!(new.chords[..], [chord("Dm7"), chord("G7")]);
        let new = suspended_then_dominant(chord("G7(b9,#11)")).unwrap();
        assert_eq!(new.chords[..], [chord("G7sus4(b9)"), chord("G7(b9,#11)")]);
    }
}
