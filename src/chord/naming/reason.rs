//! What speaks for and against a reading.

use super::usage::{Usage, fighting, usage};
use crate::chord::{Degree, DegreeSet, Quality, Seventh, Third};

/// Why a reading costs what it costs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Reason {
    /// It is the written chord with what sounds above it: the first reading whatever it costs.
    AsWritten,
    /// The root is not among the keys.
    NoRoot,
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
    /// The fifth is diminished or augmented, in a chord that usually has a perfect one.
    AlteredFifth(Degree),
    /// The quality is a minor or diminished triad with a major seventh, which is seldom meant.
    Rare,
    /// The quality is not among those that are usual.
    Unusual,
    /// Nobody has a name for the quality.
    Nameless,
    /// A natural tension.
    Natural(Degree),
    /// An altered tension.
    Altered(Degree),
    /// A tension, where there is no seventh.
    OverTriad(Degree),
    /// A tension that lies a semitone above a chord tone and fights it.
    Fights(Degree),
    /// A tension beside an altered fifth, which would then be a tension as well.
    BesideAlteredFifth,
    /// Another chord tone is the lowest key.
    Inversion(Degree),
    /// A tension is the lowest key.
    TensionInBass(Degree),
}

impl Reason {
    /// What it costs, in points.
    ///
    /// The order that they make is common practice, no source; what must come out of it is tested: published names of
    /// upper structures, equalities of chords, symbols of slash chords.
    pub const fn points(self) -> i32 {
        match self {
            Self::AsWritten | Self::ThirteenForFifth => 0,
            Self::NoFifth | Self::Sixth | Self::Natural(_) | Self::OverTriad(_) | Self::Rare => 1,
            Self::AlteredFifth(_) | Self::Altered(_) | Self::BesideAlteredFifth | Self::Inversion(_) => 2,
            Self::Suspended(Degree::Second) | Self::Fights(_) => 3,
            Self::Suspended(_) => 2,
            Self::NoRoot | Self::NoThird | Self::TensionInBass(_) => 4,
            Self::Unusual | Self::Unplayed(_) => 5,
            Self::Nameless => 9,
        }
    }
}

impl std::fmt::Display for Reason {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::AsWritten => f.write_str("it is the written chord with what sounds above it"),
            Self::NoRoot => f.write_str("the root does not sound"),
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
            Self::OverTriad(degree) => write!(f, "the {degree} stands over a triad"),
            Self::Fights(degree) => write!(f, "the {degree} lies a semitone above a chord tone"),
            Self::BesideAlteredFifth => f.write_str("a tension stands beside the altered fifth"),
            Self::Inversion(degree) => write!(f, "the {degree} is in the bass"),
            Self::TensionInBass(degree) => write!(f, "the {degree} is in the bass, a tension"),
        }
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
    if !sounds(Degree::Root) {
        say(Reason::NoRoot);
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
    let altered_fifth = match (usage(quality), quality.fifth_degree()) {
        (Usage::Usual, _) => None,
        (Usage::AlteredFifth, fifth) => fifth,
        (Usage::Rare, _) => {
            say(Reason::Rare);
            None
        }
        (Usage::Unusual, _) => {
            say(Reason::Unusual);
            None
        }
        (Usage::Nameless, _) => {
            say(Reason::Nameless);
            None
        }
    };
    if let Some(fifth) = altered_fifth {
        say(Reason::AlteredFifth(fifth));
    }
    match quality.fifth_degree() {
        Some(fifth) if sounds(fifth) => {}
        Some(_) if tensions.contains(Degree::Thirteen) => say(Reason::ThirteenForFifth),
        Some(_) => say(Reason::NoFifth),
        None => {}
    }
    let fighting = fighting(quality, quality.tones().keys());
    for tension in tensions.iter() {
        say(if tension.alteration() == 0 { Reason::Natural(tension) } else { Reason::Altered(tension) });
        if quality.seventh == Seventh::None {
            say(Reason::OverTriad(tension));
        }
        if fighting >> tension.semitones() & 1 == 1 {
            say(Reason::Fights(tension));
        }
    }
    if altered_fifth.is_some() && !tensions.is_empty() {
        say(Reason::BesideAlteredFifth);
    }
    if let Some(bass) = bass.filter(|bass| *bass != 0 && sounds(Degree::Root)) {
        let is_bass = |degree: &Degree| degree.semitones() == bass;
        match (quality.tones().iter().find(is_bass), tensions.iter().find(is_bass)) {
            (Some(tone), _) => say(Reason::Inversion(tone)),
            (None, Some(tension)) => say(Reason::TensionInBass(tension)),
            (None, None) => {}
        }
    }
}
