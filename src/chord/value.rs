//! Chords as values.

use super::{Degree, DegreeSet, Family, Fifth, Quality, Seventh, Style, Third};
use itertools::Itertools;

use crate::error::{Error, Excerpt, Kind, Result};
use crate::pitch::{NoteName, PitchClass, PitchSet};

/// A chord: root, quality, tensions, and a bass where it is not the root.
///
/// Printed canonically (`C13(b9,#11)`, `Dm7b5`, `G7sus4/D`); reading that gives the same chord.
///
/// # Example
///
/// ```
/// use overshell::chord::{Chord, Degree};
/// use overshell::pitch::note;
///
/// let chord: Chord = "G13(b9)".parse()?;
/// assert_eq!(chord.root(), note("G"));
/// assert_eq!(chord.tensions().to_string(), "b9 13");
/// assert_eq!(chord.degree_of(note("Bb").pitch_class()), Degree::SharpNine);
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub struct Chord {
    root: NoteName,
    quality: Quality,
    tensions: DegreeSet,
    bass: Option<NoteName>,
}

impl Chord {
    /// The chord of this quality on this root, without tensions.
    ///
    /// A diminished seventh over anything but a diminished triad is a sixth by another name and is stored as one.
    pub const fn new(root: NoteName, quality: Quality) -> Self {
        Self { root, quality: quality.normalized(), tensions: DegreeSet::EMPTY, bass: None }
    }

    /// Every chord on this root that can be said, bass apart: all qualities with all sets of tensions that they take.
    ///
    /// ```
    /// use overshell::chord::Chord;
    /// use overshell::pitch::note;
    /// assert_eq!(Chord::all_on(note("C")).count(), 4_704);
    /// ```
    pub fn all_on(root: NoteName) -> impl Iterator<Item = Self> + Clone {
        let tensions = Degree::ALL.into_iter().filter(|degree| degree.is_tension());
        Quality::all().flat_map(move |quality| {
            let chord = Self::new(root, quality);
            let free = tensions.clone().filter(move |d| quality.tones().keys() >> d.semitones() & 1 == 0);
            free.powerset().map(move |tensions| chord.with_checked_tensions(tensions.into_iter().collect()))
        })
    }

    /// The chord with these tensions added.
    ///
    /// # Errors
    ///
    /// [`Error::is_symbol`] where one is not a tension (`9`, not `2`), or sounds the same key as a chord tone
    /// (`#9` over a minor third) or as another tension.
    pub fn with_tensions(mut self, tensions: impl IntoIterator<Item = Degree>) -> Result<Self> {
        for tension in tensions {
            let wrong = |why: String| {
                Err(Error::new(Kind::Symbol, format!("`{tension}` cannot be added to `{self}`, {why}")))
            };
            if !tension.is_tension() {
                return wrong("it is not a tension".into());
            }
            let same_key = |d: &Degree| d.semitones() == tension.semitones() && *d != tension;
            if let Some(tone) = self.tones().iter().find(same_key) {
                return wrong(format!("it is the same key as its `{tone}`"));
            }
            self.tensions = self.tensions.with(tension);
        }
        Ok(self)
    }

    /// The chord with tensions of which none is the key of a chord tone.
    pub(super) fn with_checked_tensions(mut self, tensions: DegreeSet) -> Self {
        debug_assert!(!tensions.shares_a_key_with(self.quality.tones()));
        self.tensions = tensions;
        self
    }

    /// The chord over another bass; its own root as bass is no bass.
    #[must_use]
    pub fn with_bass(mut self, bass: NoteName) -> Self {
        self.bass = (bass != self.root).then_some(bass);
        self
    }

    /// The same chord without a bass of its own.
    #[must_use]
    pub const fn without_bass(mut self) -> Self {
        self.bass = None;
        self
    }

    /// The same chord with another quality; tensions that the new quality makes chord tones are dropped.
    #[must_use]
    pub fn with_quality(self, quality: Quality) -> Self {
        let mut changed = Self { bass: self.bass, ..Self::new(self.root, quality) };
        let tones = changed.quality.tones();
        changed.tensions = self.tensions.without_keys_of(tones);
        changed
    }

    /// The same chord on another root; the bass moves along.
    #[must_use]
    pub fn on_root(mut self, root: NoteName) -> Self {
        let by = i16::from(root.fifths()) - i16::from(self.root.fifths());
        self.bass = self.bass.map(|bass| NoteName::from_fifths_respelled(i16::from(bass.fifths()) + by));
        self.root = root;
        self
    }

    /// The root.
    pub const fn root(self) -> NoteName {
        self.root
    }

    /// Third, fifth and seventh.
    pub const fn quality(self) -> Quality {
        self.quality
    }

    /// The family that rules know it by.
    pub const fn family(self) -> Family {
        self.quality.family()
    }

    /// The tensions that the symbol asks for.
    pub const fn tensions(self) -> DegreeSet {
        self.tensions
    }

    /// The bass, where it is not the root.
    pub const fn bass(self) -> Option<NoteName> {
        self.bass
    }

    /// Chord tones and tensions.
    pub fn tones(self) -> DegreeSet {
        self.quality.tones().union(self.tensions)
    }

    /// The tensions of `alt`.
    pub(super) const ALTERED: DegreeSet = DegreeSet::EMPTY
        .with(Degree::FlatNine)
        .with(Degree::SharpNine)
        .with(Degree::SharpEleven)
        .with(Degree::FlatThirteen);

    /// Whether it is an altered dominant: `7alt`, with all four altered tensions and no fifth.
    pub fn is_altered(self) -> bool {
        let Quality { third, fifth, seventh } = self.quality;
        (third, fifth, seventh) == (Third::Major, Fifth::None, Seventh::Flat)
            && self.tensions == Self::ALTERED
    }

    /// The keys of chord tones and tensions, bass apart.
    pub fn pitch_set(self) -> PitchSet {
        self.tones().iter().map(|d| d.class_over(self.root.pitch_class())).collect()
    }

    /// What each key means over this chord, by semitones above the root: its own tones and tensions first, the
    /// twelve functions over a dominant ([`Degree::DEFAULTS`]) for the rest.
    pub fn degree_map(self) -> [Degree; 12] {
        let mut map = Degree::DEFAULTS;
        for degree in self.tensions.iter().chain(self.quality.tones().iter()) {
            if let Some(cell) = map.get_mut(usize::from(degree.semitones())) {
                *cell = degree;
            }
        }
        map
    }

    /// What this key means over this chord.
    pub fn degree_of(self, class: PitchClass) -> Degree {
        let semitones = self.root.pitch_class().semitones_up_to(class);
        self.degree_map().get(usize::from(semitones)).copied().unwrap_or(Degree::Root)
    }

    /// The chord that a player makes of an eleventh chord with a major third: the suspension, since the natural
    /// eleventh fights the third (Nettles, *Harmony 3*, 1987, pp. 15-17, read second-hand).
    ///
    /// ```
    /// use overshell::chord::Chord;
    /// let c11: Chord = "C11".parse()?;
    /// assert_eq!(c11.as_played().to_string(), "C9sus4");
    /// # Ok::<(), overshell::Error>(())
    /// ```
    #[must_use]
    pub fn as_played(self) -> Self {
        if self.quality.third == Third::Major && self.tensions.contains(Degree::Eleven) {
            self.with_quality(Quality { third: Third::Fourth, ..self.quality })
        } else {
            self
        }
    }

    /// The chord that a player makes of a dominant while the melody holds its natural fourth: the suspension
    /// (common practice, no source). Other chords stay as [`Chord::as_played`] has them.
    ///
    /// ```
    /// use overshell::chord::chord;
    /// use overshell::pitch::note;
    /// assert_eq!(chord("G7").as_played_under(note("C").pitch_class()).to_string(), "G7sus4");
    /// assert_eq!(chord("G7").as_played_under(note("D").pitch_class()).to_string(), "G7");
    /// ```
    #[must_use]
    pub fn as_played_under(self, melody: PitchClass) -> Self {
        let played = self.as_played();
        if played.family() == Family::Dominant && played.degree_of(melody) == Degree::Eleven {
            played.with_quality(Quality { third: Third::Fourth, ..played.quality })
        } else {
            played
        }
    }

    /// The tensions that the number of a symbol brings with it: `13` brings `9` (and `11` where the third is minor).
    pub(super) fn implied(quality: Quality, number: u8) -> DegreeSet {
        let with_eleventh = match quality.third {
            Third::Minor => number >= 11,
            Third::Fourth => false,
            Third::None | Third::Second | Third::Major => number == 11,
        };
        [
            (number >= 9 && quality.third != Third::Second, Degree::Nine),
            (with_eleventh, Degree::Eleven),
            (number >= 13, Degree::Thirteen),
        ]
        .into_iter()
        .filter_map(|(implied, degree)| implied.then_some(degree))
        .collect()
    }

    /// Those of `implied` that no altered tension of the same number replaces.
    pub(super) fn unreplaced(implied: DegreeSet, explicit: DegreeSet) -> DegreeSet {
        implied
            .iter()
            .filter(|natural| {
                !explicit.iter().any(|d| d.is_altered_tension() && d.number() == natural.number())
            })
            .collect()
    }
}

impl std::fmt::Display for Chord {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        std::fmt::Display::fmt(&self.in_style(Style::Ascii), f)
    }
}

impl std::fmt::Debug for Chord {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        std::fmt::Display::fmt(self, f)
    }
}

impl std::str::FromStr for Chord {
    type Err = Error;

    /// Reads a chord symbol; `N.C.` is not a chord.
    fn from_str(text: &str) -> Result<Self> {
        super::symbol::chord_of(text)?.ok_or_else(|| {
            Error::new(Kind::Symbol, format!("`{text}` means that no chord sounds"))
                .with_excerpt(Excerpt::of_line(text, 0, usize::MAX))
                .with_help("give a chord symbol such as `C7`")
        })
    }
}

/// The chord written so: a short door for tests and literals.
///
/// # Panics
///
/// Panics when parsing the text would return an error.
#[expect(clippy::unwrap_used, reason = "a short door for literals, documented to panic")]
pub fn chord(text: &str) -> Chord {
    text.parse().unwrap()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::ChordSymbol;
    use crate::pitch::note;

    /// Every chord in every style: reading what is printed gives the same chord.
    #[test]
    fn all_chords_roundtrip_in_every_style() {
        let (widest, widest_bass) = (note("C##"), note("B##"));
        for chord in Chord::all_on(NoteName::C) {
            let long = chord.on_root(widest).with_bass(widest_bass).in_style(Style::Ascii).to_string();
            assert!(long.ends_with("/B##") && long.len() <= ChordSymbol::LONGEST, "{long}");
            for style in Style::ALL {
                let text = chord.in_style(style).to_string();
                let read: Chord = text.parse().unwrap_or_else(|e| panic!("{e:?}"));
                assert_eq!(read, chord, "{text}");
            }
            assert_eq!(
                chord,
                Chord::new(NoteName::C, chord.quality()).with_tensions(chord.tensions().iter()).unwrap()
            );
        }
    }

    #[test]
    fn all_roots_and_basses_roundtrip_in_every_style() {
        for (root, bass) in itertools::iproduct!(NoteName::all(), NoteName::all()) {
            let chord = Chord::new(root, Quality::HALF_DIMINISHED).with_bass(bass);
            for style in Style::ALL {
                let text = chord.in_style(style).to_string();
                assert_eq!(text.parse::<Chord>().unwrap(), chord, "{text}");
            }
        }
    }

    #[test]
    fn all_named_qualities_print_their_suffix_on_every_root() {
        for root in NoteName::all() {
            for (suffix, quality) in Quality::NAMED {
                let chord = Chord::new(root, *quality);
                assert_eq!(chord.to_string(), format!("{root}{suffix}"));
                assert_eq!(chord.to_string().parse::<Chord>().unwrap(), chord, "{root}{suffix}");
            }
        }
    }

    /// Symbols worked out in Open Music Theory v2, "Chord symbols".
    #[test]
    fn ok_published_symbols() {
        for (text, names) in [
            ("C13", "C E G Bb D A"), // with the eleventh left out: it fights the major third
            ("C7(#11)", "C E G Bb F#"),
            ("C9", "C E G Bb D"),
            ("Cadd9", "C E G D"),
            ("Cadd2", "C E G D"),
            ("C6", "C E G A"),
            ("Csus", "C F G"),
            ("Csus2", "C D G"),
            ("C7sus", "C F G Bb"),
        ] {
            let expected: PitchSet = names.split(' ').map(|n| note(n).pitch_class()).collect();
            assert_eq!(chord(text).pitch_set(), expected, "{text}");
        }
        assert_eq!(chord("C/F#").bass(), Some(note("F#")));
        assert_eq!(chord("C/C").bass(), None);
    }

    #[test]
    fn err_tensions_that_are_chord_tones() {
        assert!(Chord::new(NoteName::C, Quality::MINOR_SEVENTH).with_tensions([Degree::SharpNine]).is_err());
        assert!(Chord::new(NoteName::C, Quality::MAJOR).with_tensions([Degree::Five]).is_err());
    }
}
