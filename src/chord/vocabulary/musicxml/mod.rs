//! Chords as MusicXML says them: a kind, and degrees that change it.
//!
//! Source: MusicXML 4.0 schema, `musicxml.xsd`, `kind-value`, `degree-value`, `degree-alter` and `degree-type-value`
//! (repository w3c/musicxml at 830fb18, lines 1037 to 1121 and 3411 to 3460).
//!
//! | kind | with | read as |
//! |---|---|---|
//! | a defined one | any degrees that fit | its content, changed |
//! | `dominant-13th`, `major-13th` | | without the natural eleventh that the schema puts into them: it fights the major third |
//! | `other` | at least one degree | the root and what is added to it |
//! | `none` | | no chord |
//! | `other` alone, `pedal`, `Neapolitan`, `Italian`, `French`, `German`, `Tristan` | | an error: nobody says what they hold |
//!
//! Every [`Chord`] can be written. What remains is an assumption: other programs may hear an eleventh in a thirteenth.
//!
//! # Example
//!
//! ```
//! use overshell::chord::chord;
//! use overshell::chord::vocabulary::musicxml::{self, Kind};
//!
//! let harmony = musicxml::write(chord("C9sus4")).value;
//! assert_eq!(harmony.kind, Kind::SuspendedFourth);
//! assert_eq!(itertools::join(&harmony.degrees, " "), "add7 add9");
//! assert_eq!(musicxml::read(&harmony)?.value, Some(chord("C9sus4")));
//! # Ok::<(), overshell::Error>(())
//! ```

mod content;
mod degree_change;
mod kind;

use content::{Content, describe};
pub use degree_change::{DegreeChange, DegreeChangeType};
pub use kind::Kind;

use super::{Loss, Translation, Word};
use crate::chord::Chord;
use crate::error::{Error, Kind as ErrorKind, Result};
use crate::pitch::NoteName;

/// What a `harmony` element says of a chord.
#[derive(Clone, Debug, Eq, PartialEq, Hash, serde::Serialize, serde::Deserialize)]
#[non_exhaustive]
pub struct Harmony {
    /// `root-change` and `root-alter`.
    pub root: NoteName,
    /// `kind`.
    pub kind: Kind,
    /// `bass-change` and `bass-alter`, where there is a bass.
    pub bass: Option<NoteName>,
    /// The `degree` elements, in order.
    pub degrees: Vec<DegreeChange>,
}

impl Harmony {
    /// A root and a kind, without bass and degrees.
    pub const fn new(root: NoteName, kind: Kind) -> Self {
        Self { root, kind, bass: None, degrees: Vec::new() }
    }

    /// The same over a bass.
    #[must_use]
    pub fn with_bass(self, bass: NoteName) -> Self {
        Self { bass: Some(bass), ..self }
    }

    /// The same with these degrees behind those it has.
    #[must_use]
    pub fn with_degrees(mut self, degrees: impl IntoIterator<Item = DegreeChange>) -> Self {
        self.degrees.extend(degrees);
        self
    }
}

/// Says a chord as MusicXML does, with as few degrees as possible.
///
/// Nothing of the chord is lost: reading gives it back. A thirteenth over a major third comes with the note that other
/// programs may hear an eleventh in it.
///
/// # Example
///
/// ```
/// use overshell::chord::chord;
/// use overshell::chord::vocabulary::Loss;
/// use overshell::chord::vocabulary::musicxml::{self, Kind};
///
/// assert!(musicxml::write(chord("Cm13")).is_exact());
/// let thirteenth = musicxml::write(chord("C13"));
/// assert_eq!(thirteenth.value.kind, Kind::DominantThirteenth);
/// assert_eq!(thirteenth.losses, [Loss::EleventhHeard { kind: Kind::DominantThirteenth }]);
/// ```
pub fn write(chord: Chord) -> Translation<Harmony> {
    let (kind, degrees) = describe(Content::of_chord(chord));
    let losses = if kind.hides_eleventh() && !speaks_of_eleventh(&degrees) {
        vec![Loss::EleventhHeard { kind }]
    } else {
        Vec::new()
    };
    Translation { value: Harmony { root: chord.root(), kind, bass: chord.bass(), degrees }, losses }
}

/// The chord that a harmony means; `None` for the kind `none`.
///
/// # Errors
///
/// [`Error::is_symbol`] where the schema does not say what the kind holds, where a degree asks for what no [`Chord`]
/// has (`alter` of a ninth by two semitones, a second seventh), and where two degrees are one key (`add 9 alter 1` over
/// a minor third).
///
/// # Example
///
/// ```
/// use overshell::chord::chord;
/// use overshell::chord::vocabulary::musicxml::{self, Harmony, Kind, DegreeChange, DegreeChangeType};
/// use overshell::pitch::note;
///
/// // An example of the schema's documentation: an A minor seventh chord with a flat thirteenth.
/// let flat_thirteenth = DegreeChange::new(DegreeChangeType::Add, 13, -1);
/// let mut harmony = Harmony::new(note("A"), Kind::MinorSeventh).with_degrees([flat_thirteenth]);
/// assert_eq!(musicxml::read(&harmony)?.value, Some(chord("Am7(b13)")));
///
/// harmony.kind = Kind::Tristan;
/// let error = musicxml::read(&harmony).unwrap_err();
/// assert_eq!(error.to_string(), "the kind `Tristan` has no fixed notes");
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn read(harmony: &Harmony) -> Result<Translation<Option<Chord>>> {
    let Harmony { root, kind, bass, degrees } = harmony;
    if *kind == Kind::NoChord {
        let ignored = degrees.iter().map(|change| Loss::NothingSounds { change: *change });
        return Ok(Translation { value: None, losses: ignored.collect() });
    }
    let wrong = |message: String, help: &str| Error::new(ErrorKind::Symbol, message).with_help(help);
    let start = match Content::of_kind(*kind) {
        Some(content) => content,
        None if *kind == Kind::Other && !degrees.is_empty() => Content::BARE,
        None => {
            let help = "give it a kind with fixed notes, or the kind `other` and its notes as degrees";
            return Err(wrong(format!("the kind `{kind}` has no fixed notes"), help));
        }
    };
    let mut losses = Vec::new();
    if kind.hides_eleventh() && !speaks_of_eleventh(degrees) {
        losses.push(Loss::EleventhLeftOut { of: Word::Kind(*kind) });
    }
    let mut content = start;
    for change in degrees {
        let there = content.has(change.number) || (kind.hides_eleventh() && is_eleventh(change));
        match change.kind {
            DegreeChangeType::Subtract if !there => {
                losses.push(Loss::NothingTakenAway { written: change.to_string() });
            }
            DegreeChangeType::Alter if !there => losses.push(Loss::AlterationAdded { change: *change }),
            DegreeChangeType::Add | DegreeChangeType::Alter | DegreeChangeType::Subtract => {}
        }
        content = content.apply(*change).ok_or_else(|| {
            let help = "degrees add, alter or leave out one note; the alterations are b5 #5 b9 #9 #11 b13";
            wrong(format!("the degree `{change}` does not fit its kind"), help)
        })?;
    }
    if *kind == Kind::Other && content.quality == Content::BARE.quality {
        return Err(wrong("its degrees make no chord".into(), "add a third, a fifth or a seventh"));
    }
    let chord = Chord::new(*root, content.quality).with_tensions(content.tensions.iter())?;
    losses.extend(degrees.iter().filter_map(|change| renamed(chord, *change)));
    Ok(Translation { value: Some(bass.map_or(chord, |bass| chord.with_bass(bass))), losses })
}

const fn is_eleventh(change: &DegreeChange) -> bool {
    matches!(change.number, 4 | 11)
}

/// Whether degrees say what becomes of the natural eleventh: not where one stands beside it.
fn speaks_of_eleventh(degrees: &[DegreeChange]) -> bool {
    degrees
        .iter()
        .any(|change| is_eleventh(change) && (change.kind != DegreeChangeType::Add || change.alter == 0))
}

/// An added note that the chord has under another name: a second that is a ninth.
fn renamed(chord: Chord, change: DegreeChange) -> Option<Loss> {
    if change.kind != DegreeChangeType::Add {
        return None;
    }
    // The seventh of a dominant is minor, all else major or perfect.
    let alteration = if change.number == 7 { change.alter.checked_sub(1)? } else { change.alter };
    Loss::renamed(chord, change, change.number, alteration)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;
    use crate::chord::vocabulary::sweep::{all_basses, all_contents};
    use crate::pitch::note;

    fn harmony(root: &str, kind: &str, degrees: &[(DegreeChangeType, u8, i8)]) -> Harmony {
        let change = |(kind, number, alter): &(DegreeChangeType, u8, i8)| DegreeChange {
            kind: *kind,
            number: *number,
            alter: *alter,
        };
        Harmony {
            root: note(root),
            kind: kind.parse().unwrap(),
            bass: None,
            degrees: degrees.iter().map(change).collect(),
        }
    }

    fn losses(harmony: &Harmony) -> String {
        itertools::join(read(harmony).unwrap().losses, "; ")
    }

    /// Every chord there is, on every root, over every bass: what is written reads back the same.
    #[test]
    fn all_chords_roundtrip() {
        let mut count = 0;
        for bare in all_contents() {
            let written = write(bare).value;
            for root in NoteName::all() {
                for bass in [None, Some(note("Fbb")), Some(note("G"))] {
                    let chord = bass.map_or(bare.on_root(root), |bass| bare.on_root(root).with_bass(bass));
                    let harmony = Harmony { root, bass: chord.bass(), ..written.clone() };
                    assert_eq!(read(&harmony).unwrap().value, Some(chord), "{chord} as {harmony:?}");
                    count += 1;
                }
            }
        }
        assert!(count > 400_000, "{count}");
        for chord in all_basses(chord("C7")) {
            let written = write(chord);
            assert!(written.is_exact());
            assert_eq!(read(&written.value).unwrap().value, Some(chord));
        }
    }

    /// What is assumed of a chord that we write ourselves is the eleventh of a thirteenth, on both ways alike.
    #[test]
    fn all_assumptions_are_elevenths_of_thirteenths() {
        let mut assumed = 0;
        for chord in all_contents() {
            let written = write(chord);
            let read = read(&written.value).unwrap();
            assert_eq!(written.losses.len(), read.losses.len(), "{chord}: {:?} {:?}", written, read.losses);
            for loss in written.losses {
                assert!(matches!(loss, Loss::EleventhHeard { .. }), "{chord}: {loss}");
                assumed += 1;
            }
        }
        assert!(assumed > 0);
    }

    /// Examples of the schema's documentation: an A minor seventh with a flat thirteenth is A C E G F; an A dominant
    /// with the fifth lowered and the third taken away is A E♭ G; a C major over G♯.
    #[test]
    fn ok_examples_of_the_schema() {
        use DegreeChangeType::{Add, Alter, Subtract};
        let keys = |names: &str| names.split(' ').map(|name| note(name).pitch_class()).collect();
        for (harmony, symbol, names) in [
            (harmony("A", "minor-seventh", &[(Add, 13, -1)]), "Am7(b13)", "A C E G F"),
            (harmony("A", "dominant", &[(Alter, 5, -1), (Subtract, 3, 0)]), "A7b5(no3)", "A Eb G"),
        ] {
            let found = read(&harmony).unwrap();
            assert!(found.is_exact(), "{:?}", found.losses);
            assert_eq!(found.value, Some(chord(symbol)));
            assert_eq!(chord(symbol).pitch_set(), keys(names));
        }
        let over = Harmony { bass: Some(note("G#")), ..harmony("C", "major", &[]) };
        assert_eq!(read(&over).unwrap().value, Some(chord("C/G#")));
    }

    /// Added degrees count from a dominant: semitones 10, 11, 13, 15, 18 and 20, from the schema's `degree-alter`.
    #[test]
    fn all_additions_count_from_a_dominant() {
        for (number, alter, semitones) in
            [(7, 0, 10), (7, 1, 11), (9, -1, 13), (9, 1, 15), (11, 1, 18), (13, -1, 20)]
        {
            let before = chord("C").pitch_set();
            let after = read(&harmony("C", "major", &[(DegreeChangeType::Add, number, alter)]))
                .unwrap()
                .value
                .unwrap();
            let added: Vec<u8> = after
                .pitch_set()
                .difference(before)
                .iter()
                .map(|class| NoteName::C.pitch_class().semitones_up_to(class))
                .collect();
            assert_eq!(added, [semitones % 12], "{number} {alter}");
        }
    }

    #[test]
    fn ok_losses_are_said() {
        use DegreeChangeType::{Add, Alter, Subtract};
        for (kind, degrees, expected) in [
            (
                "dominant-13th",
                &[][..],
                "the `11` of the kind `dominant-13th` is left out: it fights the major third",
            ),
            ("dominant-13th", &[(Alter, 11, 1)], ""),
            ("dominant-13th", &[(Subtract, 11, 0)], ""),
            ("dominant-13th", &[(Add, 11, 0)], ""),
            ("minor-13th", &[], ""),
            ("major", &[(Add, 2, 0)], "`add2` is read as `9`: a chord has one name for a key"),
            ("major", &[(Add, 5, -1)], "`b5` is read as `#11`: a chord has one name for a key"),
            ("major", &[(Add, 9, 0), (Add, 7, 0)], ""),
            ("major-sixth", &[(Add, 7, 0)], ""),
            ("dominant", &[(Alter, 9, -1)], "`b9` is added: the chord has no such degree"),
            ("dominant", &[(Subtract, 9, 0)], "`no9` takes nothing away: the chord has no such degree"),
            ("none", &[(Add, 9, 0)], "`add9` is left out: no chord sounds"),
        ] {
            assert_eq!(losses(&harmony("C", kind, degrees)), expected, "{kind} {degrees:?}");
        }
    }

    #[test]
    fn err_what_no_schema_defines() {
        for kind in Kind::ALL.into_iter().filter(|kind| !kind.is_defined() && *kind != Kind::NoChord) {
            let error = read(&harmony("C", kind.as_str(), &[])).unwrap_err();
            assert!(error.is_symbol() && error.help().is_some());
            assert_eq!(error.to_string(), format!("the kind `{kind}` has no fixed notes"));
        }
        let adds = |number| [(DegreeChangeType::Add, number, 0)];
        assert!(read(&harmony("C", "other", &adds(5))).is_ok());
        let error = read(&harmony("C", "other", &adds(9))).unwrap_err();
        assert_eq!(error.to_string(), "its degrees make no chord");
        let error = read(&harmony("C", "major", &adds(8))).unwrap_err();
        assert_eq!(error.to_string(), "the degree `add8` does not fit its kind");
        let error = read(&harmony("C", "minor", &[(DegreeChangeType::Add, 9, 1)])).unwrap_err();
        assert!(error.to_string().contains("same key"), "{error}");
    }

    proptest::proptest! {
        #[test]
        fn prop_any_harmony_gives_a_chord_or_an_error(
            kind in 0..33usize,
            degrees in proptest::collection::vec((0..3usize, proptest::num::u8::ANY, proptest::num::i8::ANY), 0..4),
        ) {
            let degrees: Vec<_> = degrees.into_iter().map(|(k, n, a)| (DegreeChangeType::ALL[k], n % 16, a % 4)).collect();
            if let Ok(found) = read(&harmony("C", Kind::ALL[kind].as_str(), &degrees)) && let Some(chord) = found.value {
                assert_eq!(read(&write(chord).value).unwrap().value, Some(chord));
            }
        }
    }
}
