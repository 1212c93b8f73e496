//! The kinds of chord that MusicXML has words for.

use crate::chord::vocabulary::entry::Entry;
use crate::chord::{Degree, Quality};
use crate::error::{Error, Excerpt, Kind as ErrorKind, Result, nearest};

macro_rules! kinds {
    ($($name:ident $text:literal $(= $quality:ident $tensions:expr)?;)+) => {
        /// A kind of chord: one of the 33 values of `kind-value` (MusicXML 4.0 schema, `musicxml.xsd`, lines
        /// 1037 to 1121).
        ///
        /// # Example
        ///
        /// ```
        /// use overshell::chord::vocabulary::musicxml::Kind;
        ///
        /// let kind: Kind = "half-diminished".parse()?;
        /// assert_eq!(kind, Kind::HalfDiminished);
        /// assert!(kind.is_defined());
        /// assert!(!Kind::Tristan.is_defined()); // the schema does not say what it holds
        /// assert_eq!("minor7th".parse::<Kind>().unwrap_err().to_string(), "`minor7th` is no kind of chord");
        /// # Ok::<(), overshell::Error>(())
        /// ```
        #[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
        #[non_exhaustive]
        pub enum Kind {
            $(#[doc = concat!("`", $text, "`")] $name,)+
        }

        impl Kind {
            /// All 33: those with defined content first, simpler ones before richer ones; then those without, and
            /// `none`.
            pub const ALL: [Self; 33] = [$(Self::$name),+];

            /// As written.
            pub const fn as_str(self) -> &'static str {
                match self {
                    $(Self::$name => $text,)+
                }
            }

            /// Quality and tensions, where the schema defines them.
            pub(super) const fn entry(self) -> Option<Entry> {
                use Degree::{Eleven, Nine, Thirteen};
                match self {
                    $($(Self::$name => Some(Entry::new($text, Quality::$quality, &$tensions)),)?)+
                    _ => None,
                }
            }
        }
    };
}

kinds! {
    Major "major" = MAJOR [];
    Minor "minor" = MINOR [];
    Augmented "augmented" = AUGMENTED [];
    Diminished "diminished" = DIMINISHED [];
    Dominant "dominant" = DOMINANT_SEVENTH [];
    MajorSeventh "major-seventh" = MAJOR_SEVENTH [];
    MinorSeventh "minor-seventh" = MINOR_SEVENTH [];
    DiminishedSeventh "diminished-seventh" = DIMINISHED_SEVENTH [];
    AugmentedSeventh "augmented-seventh" = AUGMENTED_SEVENTH [];
    HalfDiminished "half-diminished" = HALF_DIMINISHED [];
    MajorMinor "major-minor" = MINOR_MAJOR_SEVENTH [];
    MajorSixth "major-sixth" = SIXTH [];
    MinorSixth "minor-sixth" = MINOR_SIXTH [];
    DominantNinth "dominant-ninth" = DOMINANT_SEVENTH [Nine];
    MajorNinth "major-ninth" = MAJOR_SEVENTH [Nine];
    MinorNinth "minor-ninth" = MINOR_SEVENTH [Nine];
    DominantEleventh "dominant-11th" = DOMINANT_SEVENTH [Nine, Eleven];
    MajorEleventh "major-11th" = MAJOR_SEVENTH [Nine, Eleven];
    MinorEleventh "minor-11th" = MINOR_SEVENTH [Nine, Eleven];
    DominantThirteenth "dominant-13th" = DOMINANT_SEVENTH [Nine, Thirteen];
    MajorThirteenth "major-13th" = MAJOR_SEVENTH [Nine, Thirteen];
    MinorThirteenth "minor-13th" = MINOR_SEVENTH [Nine, Eleven, Thirteen];
    SuspendedSecond "suspended-second" = SUSPENDED_SECOND [];
    SuspendedFourth "suspended-fourth" = SUSPENDED_FOURTH [];
    Power "power" = POWER [];
    Neapolitan "Neapolitan";
    Italian "Italian";
    French "French";
    German "German";
    Pedal "pedal";
    Tristan "Tristan";
    Other "other";
    NoChord "none";
}

impl Kind {
    /// Whether the schema says what it holds. It does not for the pre-dominant chords `Neapolitan`, `Italian`,
    /// `French` and `German`, for `pedal`, `Tristan`, `other` (whose degrees say it) and `none` (which is no chord).
    pub const fn is_defined(self) -> bool {
        self.entry().is_some()
    }

    /// Whether the schema puts a natural eleventh into it that we leave out, as our `C13` does: over a major third
    /// (common practice, no source).
    pub fn hides_eleventh(self) -> bool {
        self.entry().is_some_and(|entry| entry.hides_eleventh())
    }
}

impl std::fmt::Display for Kind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.as_str())
    }
}

impl std::str::FromStr for Kind {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        Self::ALL.into_iter().find(|kind| kind.as_str() == text).ok_or_else(|| {
            let all = format!("the kinds are {}", itertools::join(Self::ALL, ", "));
            let help = match nearest(text, Self::ALL.iter().map(|kind| kind.as_str())) {
                Some(kind) => format!("did you mean `{kind}`? {all}"),
                None => all,
            };
            Error::new(ErrorKind::Symbol, format!("`{}` is no kind of chord", crate::pitch::shown(text)))
                .with_excerpt(Excerpt::of_line(text, 0, usize::MAX))
                .with_help(help)
        })
    }
}

crate::pitch::serde_as_text!(Kind);

#[cfg(test)]
mod tests {
    use super::*;

    /// The 33 values of the schema, each once; seven of them, and `none`, without defined content.
    #[test]
    fn all_kinds_roundtrip() {
        let names: std::collections::BTreeSet<_> = Kind::ALL.iter().map(|kind| kind.as_str()).collect();
        assert_eq!(names.len(), 33);
        for kind in Kind::ALL {
            assert_eq!(kind.as_str().parse::<Kind>().unwrap(), kind);
        }
        let undefined = Kind::ALL.into_iter().filter(|kind| !kind.is_defined());
        assert_eq!(
            itertools::join(undefined, " "),
            "Neapolitan Italian French German pedal Tristan other none"
        );
    }

    /// Semitones from the wording of the schema, 11ths being the ninth and 17, 13ths the 11th and 21.
    #[test]
    fn all_defined_kinds_hold_what_the_schema_says() {
        let mut defined = Kind::ALL.into_iter().filter(|kind| kind.is_defined());
        for (text, content) in [
            ("major", "0 4 7"),
            ("minor", "0 3 7"),
            ("augmented", "0 4 8"),
            ("diminished", "0 3 6"),
            ("dominant", "0 4 7 10"),
            ("major-seventh", "0 4 7 11"),
            ("minor-seventh", "0 3 7 10"),
            ("diminished-seventh", "0 3 6 9"),
            ("augmented-seventh", "0 4 8 10"),
            ("half-diminished", "0 3 6 10"),
            ("major-minor", "0 3 7 11"),
            ("major-sixth", "0 4 7 9"),
            ("minor-sixth", "0 3 7 9"),
            ("dominant-ninth", "0 2 4 7 10"),
            ("major-ninth", "0 2 4 7 11"),
            ("minor-ninth", "0 2 3 7 10"),
            ("dominant-11th", "0 2 4 5 7 10"),
            ("major-11th", "0 2 4 5 7 11"),
            ("minor-11th", "0 2 3 5 7 10"),
            ("dominant-13th", "0 2 4 5 7 9 10"),
            ("major-13th", "0 2 4 5 7 9 11"),
            ("minor-13th", "0 2 3 5 7 9 10"),
            ("suspended-second", "0 2 7"),
            ("suspended-fourth", "0 5 7"),
            ("power", "0 7"),
        ] {
            let kind = defined.next().unwrap();
            assert_eq!(kind.as_str(), text);
            let hidden = if kind.hides_eleventh() { Some(Degree::Eleven) } else { None };
            let degrees = hidden.into_iter().fold(kind.entry().unwrap().degrees(), |all, d| all.with(d));
            assert_eq!(itertools::join(degrees.iter().map(Degree::semitones), " "), content, "{kind}");
        }
        assert_eq!(defined.next(), None);
    }

    #[test]
    fn err_kinds_name_the_nearest() {
        let error = "minor-seven".parse::<Kind>().unwrap_err();
        assert!(error.is_symbol());
        assert!(
            error.help().unwrap().starts_with("did you mean `minor-seventh`? the kinds are major,"),
            "{error:?}"
        );
        let error = "sevenish".parse::<Kind>().unwrap_err();
        assert!(error.help().unwrap().starts_with("the kinds are major, minor,"), "{error:?}");
    }
}
