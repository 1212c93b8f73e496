//! Which scales serve a chord.

use super::{AvoidPolicy, Scale, Served};
use crate::chord::{Chord, Degree, DegreeSet, Family, Function, Seventh, Source};

/// A scale for a chord, and why.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
#[non_exhaustive]
pub struct ScaleChoice {
    /// The scale, to be taken on the chord's root.
    pub scale: Scale,
    /// Why it serves.
    pub reason: ScaleReason,
}

/// Why a scale serves a chord.
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
            Self::Holds => f.write_str("holds all notes of the chord"),
        }
    }
}

/// A row of the table of functions.
type Row = (Function, Scale, &'static [Source]);

const fn degree(semitones: u8, minor: bool) -> Function {
    Function::Degree { semitones, minor }
}

use Source::{BerkleeNotes, Haerle, Handout, Newsgroup, OpenMusicTheory, Summation, Terefenko, Wikipedia};

/// Scales by function, for each the strictest first. Unresolved dominants on other degrees have no row: no source.
/// An altered chord takes the altered scale whatever it does: that is said by its quality.
#[rustfmt::skip]
const BY_FUNCTION: [Row; 31] = [
    (degree(0, false), Scale::Ionian, &[OpenMusicTheory]),
    (degree(2, true), Scale::Dorian, &[OpenMusicTheory]),
    (degree(4, true), Scale::Phrygian, &[OpenMusicTheory]),
    (degree(5, false), Scale::Lydian, &[OpenMusicTheory]),
    (degree(9, true), Scale::Aeolian, &[OpenMusicTheory]),
    (degree(11, true), Scale::Locrian, &[OpenMusicTheory]),
    (degree(0, true), Scale::MelodicMinor, &[Haerle]),
    (Function::ToTonicMajor, Scale::Mixolydian, &[Summation, OpenMusicTheory]),
    (Function::ToTonicMinor, Scale::PhrygianDominant, &[Newsgroup, Wikipedia]),
    (Function::ToTonicMinor, Scale::PhrygianDominantSharpNine, &[Summation]),
    (Function::ToTonicMinor, Scale::Altered, &[Summation]),
    (Function::ToTwo, Scale::MixolydianFlatSix, &[Summation]),
    (Function::ToTwo, Scale::PhrygianDominantSharpNine, &[BerkleeNotes]),
    (Function::ToThree, Scale::PhrygianDominant, &[Summation, Wikipedia]),
    (Function::ToThree, Scale::PhrygianDominantSharpNine, &[Summation]),
    (Function::ToFour, Scale::Mixolydian, &[Summation]),
    (Function::ToFive, Scale::Mixolydian, &[Summation]),
    (Function::ToSix, Scale::PhrygianDominant, &[Summation, Wikipedia]),
    (Function::ToSix, Scale::PhrygianDominantSharpNine, &[Summation]),
    (Function::ToSix, Scale::MixolydianFlatSix, &[Terefenko]),
    // Dominants of major chords take 9 13, those of minor chords b9 #9 b13: the scales that hold them.
    (Function::ToMajor, Scale::Mixolydian, &[BerkleeNotes]),
    (Function::ToMinor, Scale::PhrygianDominantSharpNine, &[BerkleeNotes]),
    (Function::Extended, Scale::Mixolydian, &[Summation]),
    (Function::Substitute, Scale::LydianDominant, &[Summation, Handout]),
    (Function::FlatSeven, Scale::LydianDominant, &[Summation]),
    (Function::FlatSeven, Scale::Mixolydian, &[Summation]),
    (Function::Four, Scale::LydianDominant, &[Summation]),
    (Function::Four, Scale::Mixolydian, &[Summation]),
    (Function::FlatSix, Scale::LydianDominant, &[Summation]),
    (Function::One, Scale::Mixolydian, &[Summation]),
    (Function::Two, Scale::LydianDominant, &[Newsgroup]),
];

impl Served {
    /// Whether it speaks of this chord; a triad counts for every seventh it may take.
    fn covers(&self, chord: Chord) -> bool {
        let quality = chord.quality();
        (quality.third, quality.fifth) == (self.quality.third, self.quality.fifth)
            && (quality.seventh == self.quality.seventh || quality.seventh == Seventh::None)
    }
}

/// The scales that hold all notes of the chord, tensions included (but for the fifth of a dominant, which gives way to a
/// scale that is published for its function), the most fitting first, each with its reason: those
/// published for what the chord does, those published for its quality (the fewer tensions they add the earlier), then
/// all others that hold it and no second third or seventh (those with fewer notes to avoid earlier). Ties keep the order of [`Scale::ALL`].
///
/// The list is empty where no scale of the table holds the chord. The bass is left aside.
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
/// ```
pub fn scales_for(chord: Chord, function: Option<Function>) -> Vec<ScaleChoice> {
    let root = chord.root();
    let holds = |scale: &Scale| {
        let missing =
            chord.tones().iter().filter(|d| !scale.contains(root, d.class_over(root.pitch_class())));
        // The perfect fifth of a dominant gives way to a scale that is published for what the dominant does.
        missing.into_iter().all(|degree| {
            degree == Degree::Five
                && chord.family() == Family::Dominant
                && by_function(*scale, function).is_some()
        })
    };
    let mut ranked: Vec<((usize, u32), ScaleChoice)> = Scale::ALL
        .into_iter()
        .filter(holds)
        .filter_map(|scale| {
            let held = || {
                let avoided = scale.avoid(chord, AvoidPolicy::default()).len();
                ((BY_FUNCTION.len() + 1, avoided), ScaleReason::Holds)
            };
            let published = by_function(scale, function).or_else(|| by_quality(scale, chord));
            let unpublished = || (!contradicts(scale, chord)).then(held);
            let (rank, reason) = published.or_else(unpublished)?;
            Some((rank, ScaleChoice { scale, reason }))
        })
        .collect();
    ranked.sort_by_key(|(rank, _)| *rank);
    ranked.into_iter().map(|(_, choice)| choice).collect()
}

/// Whether the scale has a third or seventh beside the chord's own: a major third over a minor chord, both sevenths.
fn contradicts(scale: Scale, chord: Chord) -> bool {
    const RIVALS: [Degree; 3] = [Degree::Three, Degree::FlatSeven, Degree::MajorSeven];
    let guides = chord.quality().guide_tones();
    scale.notes_over(chord, AvoidPolicy::WholeStep).iter().any(|note| {
        let rival = RIVALS.contains(&note.degree) && !guides.contains(note.degree);
        rival && guides.iter().any(|guide| guide.number() == note.degree.number())
    })
}

fn by_function(scale: Scale, function: Option<Function>) -> Option<((usize, u32), ScaleReason)> {
    let mut rows = BY_FUNCTION.iter().enumerate();
    let (place, (function, _, sources)) =
        rows.find(|(_, (of, published, _))| Some(*of) == function && *published == scale)?;
    Some(((place, 0), ScaleReason::Function { function: *function, sources }))
}

fn by_quality(scale: Scale, chord: Chord) -> Option<((usize, u32), ScaleReason)> {
    let of = |served: &Served| {
        let adds = served.tensions.difference(chord.tensions());
        ((BY_FUNCTION.len(), adds.len()), ScaleReason::Quality { adds, source: served.source })
    };
    scale.serves().iter().filter(|served| served.covers(chord)).map(of).min_by_key(|(rank, _)| *rank)
}
