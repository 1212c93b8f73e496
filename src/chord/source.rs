//! Who says so: the published sources that the tables of scales cite.

use crate::error::{Error, Excerpt, Kind, Result};

/// A published source of a statement about chords and scales. Sources disagree; a table names who says what.
///
/// Read and written by its short name (`Nettles`).
///
/// # Example
///
/// ```
/// use overshell::chord::Source;
/// assert_eq!(Source::Nettles.to_string(), "Nettles");
/// assert!(Source::Nettles.citation().starts_with("Nettles, Harmony 3"));
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
#[non_exhaustive]
pub enum Source {
    /// Nettles, *Harmony 3*.
    Nettles,
    /// Haerle, *The Jazz Language*.
    Haerle,
    /// Levine, *The Jazz Theory Book*.
    Levine,
    /// Terefenko, *Jazz Theory*.
    Terefenko,
    /// *Open Music Theory*.
    OpenMusicTheory,
    /// "Chord Scale Summation", two pages in Berklee terms.
    Summation,
    /// Notes of a Berklee first-year harmony course.
    BerkleeNotes,
    /// Wikipedia.
    Wikipedia,
    /// "Jazz Harmony for Improvisation", an unsigned handout.
    Handout,
    /// A guitar newsgroup.
    Newsgroup,
    /// A guitar newsgroup that cites Berklee.
    NewsgroupCitingBerklee,
    /// Common practice, no source.
    CommonPractice,
}

/// A row of the table: short name, citation.
type Row = (&'static str, &'static str);

impl Source {
    /// All sources.
    pub const ALL: [Self; 12] = [
        Self::Nettles,
        Self::Haerle,
        Self::Levine,
        Self::Terefenko,
        Self::OpenMusicTheory,
        Self::Summation,
        Self::BerkleeNotes,
        Self::Wikipedia,
        Self::Handout,
        Self::Newsgroup,
        Self::NewsgroupCitingBerklee,
        Self::CommonPractice,
    ];

    const fn row(self) -> Row {
        match self {
            Self::Nettles => ("Nettles", "Nettles, Harmony 3, Berklee 1987/1993, pp. 15-17, in quotations"),
            Self::Haerle => ("Haerle", "Haerle, The Jazz Language, 1980, via Wikipedia, \"Avoid note\""),
            Self::Levine => ("Levine", "Levine, The Jazz Theory Book, Sher 1995, in readers' notes"),
            Self::Terefenko => (
                "Terefenko",
                "Terefenko, Jazz Theory, Routledge 2014, abstracts and reading notes of chs 5, 8, 18",
            ),
            Self::OpenMusicTheory => {
                ("Open Music Theory", "Open Music Theory, version 2, \"Chord-scale theory\" (Kocur)")
            }
            Self::Summation => {
                ("Chord Scale Summation", "\"Chord Scale Summation\", two unsigned pages in Berklee terms")
            }
            Self::BerkleeNotes => ("Berklee notes", "notes of a Berklee first-year harmony course, 2008"),
            Self::Wikipedia => ("Wikipedia", "Wikipedia, on the Phrygian dominant and on upper structures"),
            Self::Handout => ("handout", "\"Jazz Harmony for Improvisation\", an unsigned handout"),
            Self::Newsgroup => ("newsgroup", "a guitar newsgroup, on dominants that do not resolve"),
            Self::NewsgroupCitingBerklee => {
                ("newsgroup citing Berklee", "a guitar newsgroup citing Berklee, on Mixolydian b9 b13")
            }
            Self::CommonPractice => ("common practice", "common practice, no source"),
        }
    }

    /// The short name.
    pub const fn as_str(self) -> &'static str {
        self.row().0
    }

    /// Author, title, place, and how it was read where that was not the book itself.
    pub const fn citation(self) -> &'static str {
        self.row().1
    }
}

impl std::fmt::Display for Source {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.as_str())
    }
}

impl std::str::FromStr for Source {
    type Err = Error;

    /// Reads a short name.
    fn from_str(text: &str) -> Result<Self> {
        Self::ALL.into_iter().find(|source| source.as_str() == text).ok_or_else(|| {
            Error::new(Kind::Pitch, format!("`{}` is not a source", crate::pitch::shown(text)))
                .with_excerpt(Excerpt::of_line(text, 0, usize::MAX))
                .with_help(format!("the sources are {}", itertools::join(Self::ALL, ", ")))
        })
    }
}

crate::pitch::serde_as_text!(Source);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_sources_roundtrip() {
        for source in Source::ALL {
            assert_eq!(source.to_string().parse::<Source>().unwrap(), source);
        }
        assert!("hearsay".parse::<Source>().unwrap_err().help().unwrap().contains("Nettles"));
    }
}
