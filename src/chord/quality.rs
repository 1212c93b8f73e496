//! Chord qualities: a third, a fifth and a seventh, or what stands in for them.

use super::{Degree, DegreeSet};
use crate::error::{Error, Kind, Result};

/// The third of a chord, or what stands in for it.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub enum Third {
    /// No third and nothing in its place, as in a power chord.
    None,
    /// Suspended second.
    Second,
    /// Minor third.
    Minor,
    /// Major third.
    Major,
    /// Suspended fourth.
    Fourth,
}

impl Third {
    /// All of them, from the lowest.
    pub const ALL: [Self; 5] = [Self::None, Self::Second, Self::Minor, Self::Major, Self::Fourth];
}

/// The fifth of a chord.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub enum Fifth {
    /// No fifth, as in an altered dominant.
    None,
    /// Diminished fifth.
    Flat,
    /// Perfect fifth.
    Perfect,
    /// Augmented fifth.
    Sharp,
}

impl Fifth {
    /// All of them, from the lowest.
    pub const ALL: [Self; 4] = [Self::None, Self::Flat, Self::Perfect, Self::Sharp];
}

/// The seventh of a chord, or the sixth that stands in for it.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub enum Seventh {
    /// A triad.
    None,
    /// A sixth chord.
    Sixth,
    /// Diminished seventh.
    DoubleFlat,
    /// Minor seventh.
    Flat,
    /// Major seventh.
    Major,
}

impl Seventh {
    /// All of them, from the lowest.
    pub const ALL: [Self; 5] = [Self::None, Self::Sixth, Self::DoubleFlat, Self::Flat, Self::Major];
}

/// A group of qualities that rules speak of together.
///
/// # Example
///
/// ```
/// use overshell::chord::{Chord, Family};
/// assert_eq!("C7#5".parse::<Chord>()?.family(), Family::Dominant);
/// assert_eq!("Cmaj9".parse::<Chord>()?.family(), Family::Major);
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
#[repr(u8)]
pub enum Family {
    /// Major third; no seventh, a sixth or a major seventh.
    Major,
    /// Minor third, perfect or raised fifth.
    Minor,
    /// Major third and minor seventh.
    Dominant,
    /// A second or fourth instead of the third.
    Suspended,
    /// Minor third, diminished fifth, minor seventh.
    HalfDiminished,
    /// Minor third, diminished fifth; no seventh, a diminished or a major one.
    Diminished,
    /// The augmented triad.
    Augmented,
    /// No third at all, nor anything in its place.
    Power,
}

impl Family {
    /// All families.
    pub const ALL: [Self; 8] = [
        Self::Major,
        Self::Minor,
        Self::Dominant,
        Self::Suspended,
        Self::HalfDiminished,
        Self::Diminished,
        Self::Augmented,
        Self::Power,
    ];

    /// As written in rule files.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Major => "major",
            Self::Minor => "minor",
            Self::Dominant => "dominant",
            Self::Suspended => "suspended",
            Self::HalfDiminished => "half-diminished",
            Self::Diminished => "diminished",
            Self::Augmented => "augmented",
            Self::Power => "power",
        }
    }
}

impl std::str::FromStr for Family {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        Self::ALL.into_iter().find(|family| family.as_str() == text).ok_or_else(|| {
            Error::new(Kind::Symbol, format!("`{}` is not a family of chords", crate::pitch::shown(text)))
                .with_help(format!("the families are {}", itertools::join(Self::ALL, ", ")))
        })
    }
}

impl std::fmt::Display for Family {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.as_str())
    }
}

/// What a chord is made of, tensions apart: third, fifth and seventh.
///
/// Three small choices rather than a list of names: every combination exists, the usual ones have names
/// ([`Quality::NAMED`]).
///
/// # Example
///
/// ```
/// use overshell::chord::{Chord, Quality};
/// let chord: Chord = "Dm7b5".parse()?;
/// assert_eq!(chord.quality(), Quality::HALF_DIMINISHED);
/// assert_eq!(chord.quality().tones().to_string(), "1 b3 b5 b7");
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub struct Quality {
    /// The third, or what stands in for it.
    pub third: Third,
    /// The fifth.
    pub fifth: Fifth,
    /// The seventh, or what stands in for it.
    pub seventh: Seventh,
}

macro_rules! named_qualities {
    ($($(#[$doc:meta])* $name:ident = $suffix:literal $third:ident $fifth:ident $seventh:ident;)+) => {
        impl Quality {
            $($(#[$doc])*
            pub const $name: Self =
                Self { third: Third::$third, fifth: Fifth::$fifth, seventh: Seventh::$seventh };)+

            /// The usual qualities with the canonical suffix of their symbol.
            pub const NAMED: &'static [(&'static str, Self)] = &[$(($suffix, Self::$name)),+];
        }
    };
}

named_qualities! {
    /// `C`
    MAJOR = "" Major Perfect None;
    /// `Cm`
    MINOR = "m" Minor Perfect None;
    /// `Cdim`
    DIMINISHED = "dim" Minor Flat None;
    /// `C+`
    AUGMENTED = "+" Major Sharp None;
    /// `Csus4`
    SUSPENDED_FOURTH = "sus4" Fourth Perfect None;
    /// `Csus2`
    SUSPENDED_SECOND = "sus2" Second Perfect None;
    /// `C5`
    POWER = "5" None Perfect None;
    /// `C6`
    SIXTH = "6" Major Perfect Sixth;
    /// `Cm6`
    MINOR_SIXTH = "m6" Minor Perfect Sixth;
    /// `C7`
    DOMINANT_SEVENTH = "7" Major Perfect Flat;
    /// `Cmaj7`
    MAJOR_SEVENTH = "maj7" Major Perfect Major;
    /// `Cm7`
    MINOR_SEVENTH = "m7" Minor Perfect Flat;
    /// `Cm(maj7)`
    MINOR_MAJOR_SEVENTH = "m(maj7)" Minor Perfect Major;
    /// `Cm7b5`
    HALF_DIMINISHED = "m7b5" Minor Flat Flat;
    /// `Cdim7`
    DIMINISHED_SEVENTH = "dim7" Minor Flat DoubleFlat;
    /// `Cdim(maj7)`
    DIMINISHED_MAJOR_SEVENTH = "dim(maj7)" Minor Flat Major;
    /// `C7sus4`
    SEVENTH_SUSPENDED_FOURTH = "7sus4" Fourth Perfect Flat;
    /// `C7sus2`
    SEVENTH_SUSPENDED_SECOND = "7sus2" Second Perfect Flat;
    /// `Cmaj7sus4`
    MAJOR_SEVENTH_SUSPENDED_FOURTH = "maj7sus4" Fourth Perfect Major;
    /// `C6sus4`
    SIXTH_SUSPENDED_FOURTH = "6sus4" Fourth Perfect Sixth;
    /// `C7#5`
    AUGMENTED_SEVENTH = "7#5" Major Sharp Flat;
    /// `C7b5`
    SEVENTH_FLAT_FIVE = "7b5" Major Flat Flat;
    /// `Cmaj7#5`
    MAJOR_SEVENTH_SHARP_FIVE = "maj7#5" Major Sharp Major;
    /// `Cmaj7b5`
    MAJOR_SEVENTH_FLAT_FIVE = "maj7b5" Major Flat Major;
    /// `Cm7#5`
    MINOR_SEVENTH_SHARP_FIVE = "m7#5" Minor Sharp Flat;
    /// `C(b5)`
    MAJOR_FLAT_FIVE = "(b5)" Major Flat None;
    /// `Cm(#5)`
    MINOR_SHARP_FIVE = "m(#5)" Minor Sharp None;
}

impl Quality {
    /// Every quality there is, named or not: 80 of them, since a sixth over a diminished triad is a diminished seventh
    /// and a diminished seventh over any other is a sixth.
    ///
    /// ```
    /// use overshell::chord::Quality;
    /// assert_eq!(Quality::all().count(), 80);
    /// assert!(Quality::NAMED.iter().all(|(_, named)| Quality::all().any(|quality| quality == *named)));
    /// ```
    pub fn all() -> impl Iterator<Item = Self> + Clone {
        itertools::iproduct!(Third::ALL, Fifth::ALL, Seventh::ALL)
            .map(|(third, fifth, seventh)| Self { third, fifth, seventh })
            .filter(|quality| *quality == quality.normalized())
    }

    /// The same quality as chords hold it: a diminished seventh over anything but a diminished triad is a sixth by
    /// another name, and the other way round.
    pub(super) const fn normalized(mut self) -> Self {
        let diminished = matches!((self.third, self.fifth), (Third::Minor, Fifth::Flat));
        self.seventh = match self.seventh {
            Seventh::DoubleFlat if !diminished => Seventh::Sixth,
            Seventh::Sixth if diminished => Seventh::DoubleFlat,
            as_it_is => as_it_is,
        };
        self
    }

    /// The degree of the third, or of what stands in for it.
    pub const fn third_degree(self) -> Option<Degree> {
        Some(match self.third {
            Third::None => return None,
            Third::Second => Degree::Second,
            Third::Minor => Degree::FlatThree,
            Third::Major => Degree::Three,
            Third::Fourth => Degree::Fourth,
        })
    }

    /// The degree of the fifth.
    pub const fn fifth_degree(self) -> Option<Degree> {
        Some(match self.fifth {
            Fifth::None => return None,
            Fifth::Flat => Degree::FlatFive,
            Fifth::Perfect => Degree::Five,
            Fifth::Sharp => Degree::SharpFive,
        })
    }

    /// The degree of the seventh, or of the sixth that stands in for it.
    pub const fn seventh_degree(self) -> Option<Degree> {
        Some(match self.seventh {
            Seventh::None => return None,
            Seventh::Sixth => Degree::Six,
            Seventh::DoubleFlat => Degree::DoubleFlatSeven,
            Seventh::Flat => Degree::FlatSeven,
            Seventh::Major => Degree::MajorSeven,
        })
    }

    /// The chord tones, root included.
    pub fn tones(self) -> DegreeSet {
        [Some(Degree::Root), self.third_degree(), self.fifth_degree(), self.seventh_degree()]
            .into_iter()
            .flatten()
            .collect()
    }

    /// Third and seventh, or what stands in for them, as far as there are any: the guide tones.
    pub fn guide_tones(self) -> DegreeSet {
        [self.third_degree(), self.seventh_degree()].into_iter().flatten().collect()
    }

    /// The group that rules know it by.
    pub const fn family(self) -> Family {
        match (self.third, self.fifth, self.seventh) {
            (Third::None, _, _) => Family::Power,
            (Third::Second | Third::Fourth, _, _) => Family::Suspended,
            (Third::Minor, Fifth::Flat, Seventh::Flat) => Family::HalfDiminished,
            (Third::Minor, Fifth::Flat, _) => Family::Diminished,
            (Third::Minor, _, _) => Family::Minor,
            (Third::Major, _, Seventh::Flat) => Family::Dominant,
            (Third::Major, Fifth::Sharp, Seventh::None) => Family::Augmented,
            (Third::Major, _, _) => Family::Major,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_named_qualities_differ_in_name_and_content() {
        for (i, (suffix, quality)) in Quality::NAMED.iter().enumerate() {
            for (other_suffix, other) in &Quality::NAMED[..i] {
                assert_ne!(suffix, other_suffix);
                assert_ne!(quality, other);
            }
            assert!(quality.tones().contains(Degree::Root));
        }
    }

    /// Semitones of the named qualities: MusicXML 4.0 schema, `kind-value`.
    #[test]
    fn ok_published_contents() {
        for (quality, semitones) in [
            (Quality::MAJOR, vec![0, 4, 7]),
            (Quality::MINOR, vec![0, 3, 7]),
            (Quality::AUGMENTED, vec![0, 4, 8]),
            (Quality::DIMINISHED, vec![0, 3, 6]),
            (Quality::DOMINANT_SEVENTH, vec![0, 4, 7, 10]),
            (Quality::MAJOR_SEVENTH, vec![0, 4, 7, 11]),
            (Quality::MINOR_SEVENTH, vec![0, 3, 7, 10]),
            (Quality::DIMINISHED_SEVENTH, vec![0, 3, 6, 9]),
            (Quality::AUGMENTED_SEVENTH, vec![0, 4, 8, 10]),
            (Quality::HALF_DIMINISHED, vec![0, 3, 6, 10]),
            (Quality::MINOR_MAJOR_SEVENTH, vec![0, 3, 7, 11]),
            (Quality::SIXTH, vec![0, 4, 7, 9]),
            (Quality::MINOR_SIXTH, vec![0, 3, 7, 9]),
            (Quality::SUSPENDED_SECOND, vec![0, 2, 7]),
            (Quality::SUSPENDED_FOURTH, vec![0, 5, 7]),
            (Quality::POWER, vec![0, 7]),
        ] {
            let found: Vec<u8> = quality.tones().iter().map(Degree::semitones).collect();
            assert_eq!(found, semitones);
        }
    }
}
