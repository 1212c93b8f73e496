//! Which scales serve a chord.

use super::{AvoidPolicy, Scale, Served};
use crate::chord::{Chord, Degree, DegreeSet, Family, Function, Key, Mode, Seventh, Source};

/// A scale for a chord, and why.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash, serde::Serialize)]
#[non_exhaustive]
pub struct ScaleChoice {
    /// The scale, to be taken on the chord's root.
    pub scale: Scale,
    /// Why it serves.
    pub reason: ScaleReason,
}

/// Why a scale serves a chord. Serialised as its text.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
#[non_exhaustive]
pub enum ScaleReason {
    /// It is published for what the chord does.
    Function {
        /// What the chord does.
        function: Function,
        /// Who says so.
        sources: &'static [Source],
    },
    /// It is published for chords of this quality.
    Quality {
        /// Tensions that it is chosen for and the symbol does not ask for.
        adds: DegreeSet,
        /// Who says so.
        source: Source,
    },
    /// The chord is a triad, and it is published for the seventh or sixth chord that is built on it.
    Seventh {
        /// That chord, with the tensions that the scale is chosen for.
        chord: Chord,
        /// Who says so.
        source: Source,
    },
    /// No source of the tables says so, but it holds all notes of the chord.
    Holds,
}

impl std::fmt::Display for ScaleReason {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Function { function, sources } => {
                write!(f, "published for `{function}` ({})", itertools::join(*sources, ", "))
            }
            Self::Quality { adds, source } if adds.is_empty() => {
                write!(f, "published for this quality ({source})")
            }
            Self::Quality { adds, source } => {
                write!(f, "published for this quality with {adds} ({source})")
            }
            Self::Seventh { chord, source } => {
                write!(f, "published for `{chord}`, which has this triad ({source})")
            }
            Self::Holds => f.write_str("holds all notes of the chord"),
        }
    }
}

impl serde::Serialize for ScaleReason {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// A row of the table of functions.
type Row = (Function, Scale, &'static [Source], Where);

/// In which keys a row holds. Where no key is given it holds if it may.
#[derive(Clone, Copy)]
enum Where {
    All,
    In(Mode),
    /// With its root so many semitones above the tonic, which must be known.
    On(&'static [u8]),
}

impl Where {
    fn holds(self, chord: Chord, key: Option<Key>) -> bool {
        match self {
            Self::All => true,
            Self::In(mode) => key.is_none_or(|key| key.mode() == mode),
            Self::On(degrees) => key.is_some_and(|key| degrees.contains(&key.semitones_to(chord.root()))),
        }
    }
}

const fn degree(semitones: u8, minor: bool) -> Function {
    Function::Degree { semitones, minor }
}

use Source::{
    BerkleeNotes, CommonPractice, Haerle, Handout, Newsgroup, NewsgroupCitingBerklee, OpenMusicTheory,
    Summation, Terefenko, Wikipedia,
};
use Where::{All, In, On};

const MAJOR: Where = In(Mode::Major);
const MINOR: Where = In(Mode::Minor);

/// Scales by function, for each the strictest first. Unresolved dominants on III, VI and VII have no row: no source.
/// An altered chord takes the altered scale whatever it does: that is said by its quality.
#[rustfmt::skip]
const BY_FUNCTION: [Row; 35] = [
    // Open Music Theory pairs degrees and modes for major keys.
    (degree(0, false), Scale::Ionian, &[OpenMusicTheory], MAJOR),
    (degree(2, true), Scale::Dorian, &[OpenMusicTheory], MAJOR),
    (degree(4, true), Scale::Phrygian, &[OpenMusicTheory], MAJOR),
    (degree(5, false), Scale::Lydian, &[OpenMusicTheory], MAJOR),
    (degree(9, true), Scale::Aeolian, &[OpenMusicTheory], MAJOR),
    (degree(11, true), Scale::Locrian, &[OpenMusicTheory], MAJOR),
    (degree(0, true), Scale::MelodicMinor, &[Haerle], All),
    (degree(1, false), Scale::Lydian, &[CommonPractice], All),
    (degree(8, false), Scale::Lydian, &[CommonPractice], All),
    (Function::ToTonicMajor, Scale::Mixolydian, &[Summation, OpenMusicTheory], All),
    (Function::ToTonicMinor, Scale::PhrygianDominant, &[NewsgroupCitingBerklee, Wikipedia], All),
    (Function::ToTonicMinor, Scale::PhrygianDominantSharpNine, &[Summation], All),
    (Function::ToTonicMinor, Scale::Altered, &[Summation], All),
    (Function::ToTwo, Scale::MixolydianFlatSix, &[Summation], All),
    (Function::ToTwo, Scale::PhrygianDominantSharpNine, &[BerkleeNotes], All),
    (Function::ToThree, Scale::PhrygianDominant, &[Summation, Wikipedia], All),
    (Function::ToThree, Scale::PhrygianDominantSharpNine, &[Summation], All),
    (Function::ToFour, Scale::Mixolydian, &[Summation], All),
    (Function::ToFive, Scale::Mixolydian, &[Summation], All),
    (Function::ToSix, Scale::PhrygianDominant, &[Summation, Wikipedia], All),
    (Function::ToSix, Scale::PhrygianDominantSharpNine, &[Summation], All),
    (Function::ToSix, Scale::MixolydianFlatSix, &[Terefenko], All),
    // Dominants of major chords take 9 13, those of minor chords b9 #9 b13: the scales that hold them.
    (Function::ToMajor, Scale::Mixolydian, &[BerkleeNotes], All),
    (Function::ToMinor, Scale::PhrygianDominantSharpNine, &[BerkleeNotes], All),
    (Function::Extended, Scale::Mixolydian, &[Summation], All),
    (Function::Substitute, Scale::LydianDominant, &[Summation, Handout], All),
    // The newsgroup: 13(#11) suits unresolved bII7 II7 bIII7 IV7 bV7 bVI7 bVII7.
    (Function::FlatSeven, Scale::LydianDominant, &[Summation, Newsgroup], MAJOR),
    (Function::FlatSeven, Scale::Mixolydian, &[Summation], MINOR),
    (Function::FlatSeven, Scale::LydianDominant, &[Newsgroup], MINOR),
    (Function::Four, Scale::LydianDominant, &[Summation, Newsgroup], All),
    (Function::Four, Scale::Mixolydian, &[Summation], All),
    (Function::FlatSix, Scale::LydianDominant, &[Summation, Newsgroup], All),
    (Function::One, Scale::Mixolydian, &[Summation], All),
    (Function::Two, Scale::LydianDominant, &[Newsgroup], All),
    (Function::Static, Scale::LydianDominant, &[Newsgroup], On(&[1, 3, 6])),
];

impl Served {
    /// Whether it speaks of a seventh or sixth chord on this triad.
    fn is_over(&self, chord: Chord) -> bool {
        let quality = chord.quality();
        (quality.third, quality.fifth) == (self.quality.third, self.quality.fifth)
            && quality.seventh == Seventh::None
    }
}

/// The scales that hold all notes of the chord, tensions included (but for the fifth of a dominant, which gives way to a
/// scale that is published for its function), the most fitting first, each with its reason: those published for what the
/// chord does, those published for its quality, for a triad those published for a seventh chord on it (in both the fewer
/// tensions they add the earlier), then all others that hold it and no second third or seventh (those with fewer notes to
/// avoid earlier). Ties keep the order of [`Scale::ALL`].
///
/// The list is empty where no scale of the table holds the chord. The bass is left aside. Some sources speak of one mode
/// or degree only: where the key is known, [`scales_in`] tells them apart.
///
/// # Example
///
/// ```
/// use overshell::chord::{Function, Scale, chord, scales_for};
///
/// let choices = scales_for(chord("Db7"), Some(Function::Substitute));
/// assert_eq!(choices[0].scale, Scale::LydianDominant);
/// assert_eq!(choices[0].reason.to_string(), "published for `subV7` (Chord Scale Summation, handout)");
///
/// let named: Vec<String> = scales_for(chord("G7alt"), None).iter().map(|c| c.scale.to_string()).collect();
/// assert_eq!(named, ["altered"]);
///
/// let triad = scales_for(chord("C"), None);
/// assert_eq!(triad[0].reason.to_string(), "published for `Cmaj7`, which has this triad (Open Music Theory)");
/// ```
pub fn scales_for(chord: Chord, function: Option<Function>) -> Vec<ScaleChoice> {
    ranked(chord, function, None)
}

/// As [`scales_for`], in this key: what is published for one mode only is not offered in the other, and an unresolved
/// dominant is known by its degree.
///
/// # Example
///
/// ```
/// use overshell::chord::scale::scales_in;
/// use overshell::chord::{Function, Key, Scale, chord};
///
/// let first = |symbol, function, key: &str| {
///     scales_in(chord(symbol), Some(function), key.parse().unwrap())[0].scale
/// };
/// assert_eq!(first("Bb7", Function::FlatSeven, "C"), Scale::LydianDominant);
/// assert_eq!(first("Bb7", Function::FlatSeven, "Cm"), Scale::Mixolydian);
/// assert_eq!(first("Eb7", Function::Static, "C"), Scale::LydianDominant);
/// ```
pub fn scales_in(chord: Chord, function: Option<Function>, key: Key) -> Vec<ScaleChoice> {
    ranked(chord, function, Some(key))
}

/// Place among the choices, lowest first: where the reason stands, then tensions added or notes to avoid.
type Rank = (usize, u32);

const BY_QUALITY: usize = BY_FUNCTION.len();
const BY_SEVENTH: usize = BY_QUALITY + 1;
const BY_NOTES: usize = BY_SEVENTH + 1;

fn ranked(chord: Chord, function: Option<Function>, key: Option<Key>) -> Vec<ScaleChoice> {
    let root = chord.root();
    let rate = |scale: Scale| -> Option<(Rank, ScaleReason)> {
        let by_function = by_function(scale, chord, function, key);
        let mut missing =
            chord.tones().iter().filter(|d| !scale.contains(root, d.class_over(root.pitch_class())));
        // The perfect fifth of a dominant gives way to a scale that is published for what the dominant does.
        let gives_way = |degree: Degree| {
            degree == Degree::Five && chord.family() == Family::Dominant && by_function.is_some()
        };
        if !missing.all(gives_way) {
            return None;
        }
        let held = || {
            let avoided = scale.avoid(chord, AvoidPolicy::default()).len();
            (!contradicts(scale, chord)).then_some(((BY_NOTES, avoided), ScaleReason::Holds))
        };
        by_function.or_else(|| by_quality(scale, chord)).or_else(|| by_seventh(scale, chord)).or_else(held)
    };
    let mut ranked: Vec<(Rank, ScaleChoice)> = Scale::ALL
        .into_iter()
        .filter_map(|scale| rate(scale).map(|(rank, reason)| (rank, ScaleChoice { scale, reason })))
        .collect();
    ranked.sort_by_key(|(rank, _)| *rank);
    ranked.into_iter().map(|(_, choice)| choice).collect()
}

/// Whether the scale has a third or seventh beside the chord's own: a major third over a minor chord, both sevenths.
fn contradicts(scale: Scale, chord: Chord) -> bool {
    let degrees = scale.notes_over(chord, AvoidPolicy::WholeStep);
    degrees.iter().any(|note| rival_of(note.degree, chord).is_some())
}

/// The chord's own third or seventh, where this degree would be a second one beside it.
pub(super) fn rival_of(degree: Degree, chord: Chord) -> Option<Degree> {
    /// A second one, and the chord's own. A diminished seventh takes a major seventh besides: Terefenko, ch. 5.
    const RIVALS: [(Degree, Degree); 4] = [
        (Degree::Three, Degree::FlatThree),
        (Degree::FlatSeven, Degree::MajorSeven),
        (Degree::FlatSeven, Degree::DoubleFlatSeven),
        (Degree::MajorSeven, Degree::FlatSeven),
    ];
    let guides = chord.quality().guide_tones();
    RIVALS.into_iter().find(|(second, own)| *second == degree && guides.contains(*own)).map(|(_, own)| own)
}

fn by_function(
    scale: Scale,
    chord: Chord,
    function: Option<Function>,
    key: Option<Key>,
) -> Option<(Rank, ScaleReason)> {
    let mut rows = BY_FUNCTION.iter().enumerate();
    let (place, (function, _, sources, _)) = rows.find(|(_, (of, published, _, only))| {
        Some(*of) == function && *published == scale && only.holds(chord, key)
    })?;
    Some(((place, 0), ScaleReason::Function { function: *function, sources }))
}

fn by_quality(scale: Scale, chord: Chord) -> Option<(Rank, ScaleReason)> {
    let of = |served: &Served| {
        let adds = served.tensions.difference(chord.tensions());
        ((BY_QUALITY, adds.len()), ScaleReason::Quality { adds, source: served.source })
    };
    let exact = |served: &&Served| served.quality == chord.quality();
    scale.serves().iter().filter(exact).map(of).min_by_key(|(rank, _)| *rank)
}

fn by_seventh(scale: Scale, chord: Chord) -> Option<(Rank, ScaleReason)> {
    let of = |served: &Served| {
        let adds = served.tensions.difference(chord.tensions());
        let chord = Chord::new(chord.root(), served.quality).with_checked_tensions(served.tensions);
        ((BY_SEVENTH, adds.len()), ScaleReason::Seventh { chord, source: served.source })
    };
    let over = |served: &&Served| served.is_over(chord);
    scale.serves().iter().filter(over).map(of).min_by_key(|(rank, _)| *rank)
}
