//! Who says so: the published sources that the tables of scales cite.

/// A published source of a statement about chords and scales. Sources disagree; a table names who says what.
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
    /// Common practice, no source.
    CommonPractice,
}

/// A row of the table: short name, citation.
type Row = (&'static str, &'static str);

impl Source {
    /// All sources.
    pub const ALL: [Self; 11] = [
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
            Self::Newsgroup => ("newsgroup", "a guitar newsgroup citing Berklee"),
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
