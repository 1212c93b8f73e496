//! What speaks for and against a reading.

use super::usage::{Usage, fighting, takes_altered, thirteen_may_stand_in, usage};
use crate::chord::{Degree, DegreeSet, Family, Quality, Seventh, Third};

/// Why a reading costs what it costs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Reason {
    /// It is the written chord with what sounds above it: the first reading whatever it costs.
    AsWritten,
    /// Nothing is missing, nothing is added, and the root is the lowest key as far as that is known.
    Plain,
    /// The root is not among the keys.
    NoRoot,
    /// Where the root is not among the keys, the lowest one is neither third nor seventh.
    RootlessOver(Degree),
    /// The third or the seventh of the written chord is not among the keys.
    Unplayed(Degree),
    /// The perfect fifth is not among the keys.
    NoFifth,
    /// Nor is it here, where a thirteenth takes its finger.
    ThirteenForFifth,
    /// A second or fourth stands in for the third.
    Suspended(Degree),
    /// There is no third at all.
    NoThird,
    /// A sixth stands in for the seventh.
    Sixth,
    /// The fifth is augmented or diminished, in a chord that usually has a perfect one.
    AlteredFifth(Degree),
    /// The quality is a minor, diminished or suspended triad with a major seventh, which is seldom meant.
    Rare,
    /// The quality is not among those that are usual.
    Unusual,
    /// Nobody has a name for the quality.
    Nameless,
    /// A natural tension.
    Natural(Degree),
    /// An altered tension of a dominant.
    Altered(Degree),
    /// An altered tension of another chord.
    AlteredElsewhere(Degree),
    /// A tension, where there is no seventh.
    OverTriad(Degree),
    /// A tension over a diminished chord: most of these are another chord's notes.
    OverDiminished(Degree),
    /// A tension over a half-diminished chord.
    OverHalfDiminished(Degree),
    /// A tension that lies a semitone above a chord tone and fights it.
    Fights(Degree),
    /// A tension beside an altered fifth, which would then be a tension as well.
    BesideAlteredFifth,
    /// Another chord tone is the lowest key.
    Inversion(Degree),
    /// A tension is the lowest key.
    TensionInBass(Degree),
    /// The lowest key does not belong to the chord.
    ForeignBass,
}

impl Reason {
    /// What it costs, in points.
    ///
    /// The order that they make is common practice, no source; what must come out of it is tested: published names of
    /// upper structures, equalities of chords, slash chords, and for each pair of neighbours a case that it decides.
    pub const fn points(self) -> i32 {
        match self {
            Self::AsWritten | Self::Plain | Self::ThirteenForFifth => 0,
            Self::NoFifth | Self::Natural(_) | Self::Altered(_) | Self::OverTriad(_) => 1,
            Self::Inversion(Degree::MajorSeven) => 4,
            Self::Suspended(Degree::Second) | Self::Fights(_) | Self::Rare => 3,
            Self::AlteredFifth(_)
            | Self::AlteredElsewhere(_)
            | Self::OverHalfDiminished(_)
            | Self::BesideAlteredFifth
            | Self::Inversion(_)
            | Self::Suspended(_)
            | Self::Sixth => 2,
            Self::NoRoot
            | Self::RootlessOver(_)
            | Self::NoThird
            | Self::OverDiminished(_)
            | Self::TensionInBass(_)
            | Self::ForeignBass => 4,
            Self::Unusual | Self::Unplayed(_) => 5,
            Self::Nameless => 9,
        }
    }
}

impl std::fmt::Display for Reason {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::AsWritten => f.write_str("it is the written chord with what sounds above it"),
            Self::Plain => f.write_str("nothing is missing or added"),
            Self::NoRoot => f.write_str("the root does not sound"),
            Self::RootlessOver(degree) => write!(f, "the {degree} is in the bass, not third or seventh"),
            Self::Unplayed(degree) => write!(f, "the {degree} does not sound"),
            Self::NoFifth => f.write_str("the fifth does not sound"),
            Self::ThirteenForFifth => f.write_str("the 13 stands in for the fifth"),
            Self::Suspended(degree) => write!(f, "the {degree} stands in for the third"),
            Self::NoThird => f.write_str("there is no third"),
            Self::Sixth => f.write_str("a sixth stands in for the seventh"),
            Self::AlteredFifth(degree) => write!(f, "the fifth is a {degree}"),
            Self::Rare => f.write_str("the quality is rare"),
            Self::Unusual => f.write_str("the quality is not usual"),
            Self::Nameless => f.write_str("the quality has no name"),
            Self::Natural(degree) | Self::Altered(degree) => write!(f, "the {degree} is added"),
            Self::AlteredElsewhere(degree) => {
                write!(f, "the {degree} is added to a chord that is no dominant")
            }
            Self::OverTriad(degree) => write!(f, "no seventh stands below the {degree}"),
            Self::OverDiminished(degree) | Self::OverHalfDiminished(degree) => {
                write!(f, "the {degree} stands over a diminished fifth")
            }
            Self::Fights(degree) => write!(f, "the {degree} lies a semitone above a chord tone"),
            Self::BesideAlteredFifth => f.write_str("a tension stands beside the altered fifth"),
            Self::Inversion(degree) => write!(f, "the {degree} is in the bass"),
            Self::TensionInBass(degree) => write!(f, "the {degree} is in the bass, a tension"),
            Self::ForeignBass => f.write_str("the bass does not belong to the chord"),
        }
    }
}

impl serde::Serialize for Reason {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// Says every reason that speaks for or against a reading, in the order in which a musician would say them.
pub(super) fn explain(
    keys: u16,
    bass: Option<u8>,
    quality: Quality,
    tensions: DegreeSet,
    say: &mut impl FnMut(Reason),
) {
    let sounds = |degree: Degree| keys >> degree.semitones() & 1 == 1;
    let rootless = !sounds(Degree::Root);
    let lowest = |degree: &Degree| bass.is_some_and(|bass| degree.semitones() == bass);
    let in_bass = quality.tones().iter().chain(tensions.iter()).find(lowest);
    match in_bass {
        Some(degree) if rootless && !quality.guide_tones().contains(degree) => {
            say(Reason::NoRoot);
            say(Reason::RootlessOver(degree));
        }
        _ if rootless => say(Reason::NoRoot),
        _ => {}
    }
    match quality.third {
        Third::None => say(Reason::NoThird),
        Third::Second => say(Reason::Suspended(Degree::Second)),
        Third::Fourth => say(Reason::Suspended(Degree::Fourth)),
        Third::Minor | Third::Major => {}
    }
    for guide in [quality.third_degree(), quality.seventh_degree()].into_iter().flatten() {
        if !sounds(guide) {
            say(Reason::Unplayed(guide));
        }
    }
    if quality.seventh == Seventh::Sixth {
        say(Reason::Sixth);
    }
    let usage = usage(quality);
    match (usage, quality.fifth_degree()) {
        (Usage::AlteredFifth, Some(fifth)) => say(Reason::AlteredFifth(fifth)),
        (Usage::Rare, _) => say(Reason::Rare),
        (Usage::Unusual, _) => say(Reason::Unusual),
        (Usage::Nameless, _) => say(Reason::Nameless),
        _ => {}
    }
    match quality.fifth_degree() {
        Some(fifth) if sounds(fifth) => {}
        Some(_) if thirteen_may_stand_in(quality) && tensions.contains(Degree::Thirteen) => {
            say(Reason::ThirteenForFifth);
        }
        Some(_) => say(Reason::NoFifth),
        None => {}
    }
    let fighting = fighting(quality, quality.tones().keys());
    for tension in tensions.iter() {
        say(match (tension.alteration() == 0, takes_altered(quality)) {
            (true, _) => Reason::Natural(tension),
            (false, true) => Reason::Altered(tension),
            (false, false) => Reason::AlteredElsewhere(tension),
        });
        if quality.seventh == Seventh::None {
            say(Reason::OverTriad(tension));
        }
        match quality.family() {
            Family::Diminished => say(Reason::OverDiminished(tension)),
            Family::HalfDiminished => say(Reason::OverHalfDiminished(tension)),
            _ => {}
        }
        if fighting >> tension.semitones() & 1 == 1 {
            say(Reason::Fights(tension));
        }
    }
    if usage == Usage::AlteredFifth && !tensions.is_empty() {
        say(Reason::BesideAlteredFifth);
    }
    match (bass, in_bass) {
        _ if rootless => {}
        (None | Some(0), _) => {}
        (Some(_), Some(degree)) if degree.is_tension() => say(Reason::TensionInBass(degree)),
        (Some(_), Some(degree)) => say(Reason::Inversion(degree)),
        (Some(_), None) => say(Reason::ForeignBass),
    }
}
