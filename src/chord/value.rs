//! Chords as values.

use super::{ChordSymbol, Degree, DegreeSet, Family, Fifth, Quality, Seventh, Third};
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
    pub const fn new(root: NoteName, mut quality: Quality) -> Self {
        let diminished = matches!((quality.third, quality.fifth), (Third::Minor, Fifth::Flat));
        quality.seventh = match quality.seventh {
            Seventh::DoubleFlat if !diminished => Seventh::Sixth,
            Seventh::Sixth if diminished => Seventh::DoubleFlat,
            as_it_is => as_it_is,
        };
        Self { root, quality, tensions: DegreeSet::EMPTY, bass: None }
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
        changed.tensions = self
            .tensions
            .iter()
            .filter(|tension| !tones.iter().any(|tone| tone.semitones() == tension.semitones()))
            .collect();
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
    /// eleventh fights the third (handbook of check values, part 1, section 2; common practice).
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

    /// The chord that a player makes of a dominant while the melody holds its natural fourth: the suspension (handbook
    /// of check values, part 2, section 5). Other chords stay as [`Chord::as_played`] has them.
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

    /// The number to print (13, 11, 9 or 7) and the tensions it does not say.
    fn number_and_rest(self) -> (u8, DegreeSet) {
        for number in [13, 11, 9] {
            let implied = Self::unreplaced(Self::implied(self.quality, number), self.tensions);
            let named = Degree::from_number(number, 0).is_some_and(|d| implied.contains(d));
            if named && implied.difference(self.tensions).is_empty() {
                return (number, self.tensions.difference(implied));
            }
        }
        (7, self.tensions)
    }

    fn write_suffix(self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        const ALTERED: [Degree; 4] =
            [Degree::FlatNine, Degree::SharpNine, Degree::SharpEleven, Degree::FlatThirteen];
        let Quality { third, fifth, seventh } = self.quality;
        let is_alt = (third, fifth, seventh) == (Third::Major, Fifth::None, Seventh::Flat)
            && self.tensions == ALTERED.into_iter().collect();
        if is_alt {
            return f.write_str("7alt");
        }
        let (number, rest) = self.number_and_rest();
        let mut listed = rest.by_number();
        let minor = if third == Third::Minor { "m" } else { "" };
        let fifth_sign = match fifth {
            Fifth::None | Fifth::Perfect => "",
            Fifth::Flat => "b5",
            Fifth::Sharp => "#5",
        };
        match (third, fifth, seventh) {
            (Third::Minor, Fifth::Flat, Seventh::None) => f.write_str("dim")?,
            (Third::Minor, Fifth::Flat, Seventh::DoubleFlat) => {
                listed = self.tensions.by_number();
                f.write_str("dim7")?;
            }
            (Third::Minor, Fifth::Flat, Seventh::Major) => write!(f, "dim(maj{number})")?,
            (Third::Major, Fifth::Sharp, Seventh::None) => f.write_str("+")?,
            (Third::None, Fifth::Perfect, Seventh::None) => f.write_str("5")?,
            (_, _, Seventh::None) if !fifth_sign.is_empty() => write!(f, "{minor}({fifth_sign})")?,
            (_, _, Seventh::None) => f.write_str(minor)?,
            (_, _, Seventh::Sixth | Seventh::DoubleFlat) => {
                listed = self.tensions.by_number();
                let nine = listed.first() == Some(&Degree::Nine) && third != Third::Second;
                if nine {
                    listed.remove(0);
                }
                write!(f, "{minor}6{}{fifth_sign}", if nine { "/9" } else { "" })?;
            }
            (_, _, Seventh::Flat) => write!(f, "{minor}{number}{fifth_sign}")?,
            (Third::Minor, _, Seventh::Major) => write!(f, "m(maj{number}){fifth_sign}")?,
            (_, _, Seventh::Major) => write!(f, "maj{number}{fifth_sign}")?,
        }
        match third {
            Third::Second => f.write_str("sus2")?,
            Third::Fourth => f.write_str("sus4")?,
            _ => {}
        }
        if seventh == Seventh::None {
            listed = self.tensions.by_number();
        }
        let add = if seventh == Seventh::None { "add" } else { "" };
        let power = (third, fifth, seventh) == (Third::None, Fifth::Perfect, Seventh::None);
        let items = itertools::chain!(
            listed.iter().map(|tension| format!("{add}{tension}")),
            (third == Third::None && !power).then(|| "no3".to_owned()),
            (fifth == Fifth::None).then(|| "no5".to_owned()),
        );
        let items = itertools::join(items, ",");
        if items.is_empty() { Ok(()) } else { write!(f, "({items})") }
    }
}

impl std::fmt::Display for Chord {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.root)?;
        self.write_suffix(f)?;
        match self.bass {
            Some(bass) => write!(f, "/{bass}"),
            None => Ok(()),
        }
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
        text.parse::<ChordSymbol>()?.chord().ok_or_else(|| {
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
    use crate::pitch::note;

    fn all_qualities() -> Vec<Quality> {
        let mut all = Vec::new();
        for third in [Third::None, Third::Second, Third::Minor, Third::Major, Third::Fourth] {
            for fifth in [Fifth::None, Fifth::Flat, Fifth::Perfect, Fifth::Sharp] {
                for seventh in
                    [Seventh::None, Seventh::Sixth, Seventh::DoubleFlat, Seventh::Flat, Seventh::Major]
                {
                    all.push(Chord::new(NoteName::C, Quality { third, fifth, seventh }).quality());
                }
            }
        }
        all
    }

    /// Every quality with every set of tensions it can take: reading what is printed gives the same chord.
    #[test]
    fn all_chords_roundtrip() {
        let tensions: Vec<Degree> = Degree::ALL.into_iter().filter(|d| d.is_tension()).collect();
        let mut count = 0;
        for quality in all_qualities() {
            for bits in 0..1u32 << tensions.len() {
                let chosen = tensions.iter().enumerate().filter(|(i, _)| bits >> i & 1 == 1).map(|(_, d)| *d);
                let Ok(chord) = Chord::new(NoteName::C, quality).with_tensions(chosen) else { continue };
                let text = chord.to_string();
                assert_eq!(text.parse::<Chord>().unwrap_or_else(|e| panic!("{text}: {e}")), chord, "{text}");
                count += 1;
            }
        }
        assert!(count > 4_000, "{count}");
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

    /// Symbols worked out in Open Music Theory v2, "Chord symbols" (handbook of check values, part 1, section 8).
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
