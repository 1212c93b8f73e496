//! Triads for the right hand.

use super::{Hand, Inversion, Label, Spacing};
use crate::chord::{Chord, DegreeSet, Spelling};
use crate::error::{Error, Excerpt, Kind, Result};
use crate::pitch::{NoteName, Pitch, PitchClass, PitchSet};

/// The kinds of triad that the catalogue knows.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TriadKind {
    /// `D`
    Major,
    /// `Dm`
    Minor,
    /// `Ddim`
    Diminished,
    /// `D+`: the same three keys on three roots.
    Augmented,
    /// `Dsus4`: the same keys as the sus2 a fifth below its fifth.
    Suspended,
}

impl TriadKind {
    /// All kinds.
    pub const ALL: [Self; 5] = [Self::Major, Self::Minor, Self::Diminished, Self::Augmented, Self::Suspended];

    /// Places on the line of fifths of root, third (or fourth) and fifth.
    const fn fifths(self) -> [i8; 3] {
        match self {
            Self::Major => [0, 4, 1],
            Self::Minor => [0, -3, 1],
            Self::Diminished => [0, -3, -6],
            Self::Augmented => [0, 4, 8],
            Self::Suspended => [0, -1, 1],
        }
    }

    /// Semitones of root, third (or fourth) and fifth.
    pub const fn semitones(self) -> [u8; 3] {
        match self {
            Self::Major => [0, 4, 7],
            Self::Minor => [0, 3, 7],
            Self::Diminished => [0, 3, 6],
            Self::Augmented => [0, 4, 8],
            Self::Suspended => [0, 5, 7],
        }
    }

    /// Semitones of the three voices above the lowest, from the bottom.
    pub(crate) const fn offsets(self, inversion: Inversion, spacing: Spacing) -> [u8; 3] {
        let [_, third, fifth] = self.semitones();
        let [middle, high] = match inversion {
            Inversion::Root => [third, fifth],
            Inversion::First => [fifth - third, 12 - third],
            Inversion::Second => [12 - fifth, 12 - fifth + third],
        };
        match spacing {
            Spacing::Close => [0, middle, high],
            // The middle voice an octave lower becomes the lowest.
            Spacing::Open => [0, 12 - middle, 12 - middle + high],
        }
    }

    /// In words: `major`, `minor`, `diminished`, `augmented`, `suspended`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Major => "major",
            Self::Minor => "minor",
            Self::Diminished => "diminished",
            Self::Augmented => "augmented",
            Self::Suspended => "suspended",
        }
    }

    /// The suffix of its symbol.
    pub const fn suffix(self) -> &'static str {
        match self {
            Self::Major => "",
            Self::Minor => "m",
            Self::Diminished => "dim",
            Self::Augmented => "+",
            Self::Suspended => "sus4",
        }
    }
}

/// A triad on a spelled root.
///
/// # Example
///
/// ```
/// use overshell::voicing::Triad;
///
/// let triad: Triad = "F#m".parse()?;
/// assert_eq!(itertools::join(triad.names(), " "), "F# A C#");
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub struct Triad {
    root: NoteName,
    kind: TriadKind,
}

impl Triad {
    /// The triad of this kind on this root.
    pub const fn new(root: NoteName, kind: TriadKind) -> Self {
        Self { root, kind }
    }

    /// The 52 different triads over a chord, on roots ascending from the chord's own, kind by kind: twelve major,
    /// minor, diminished and suspended ones and four augmented ones. Spelled as triads, without double accidentals.
    pub fn all_over(chord: Chord) -> impl Iterator<Item = Self> {
        TriadKind::ALL.into_iter().flat_map(move |kind| {
            let roots = if kind == TriadKind::Augmented { 4 } else { 12 };
            (0..roots).map(move |semitones| Self::over(chord, semitones, kind))
        })
    }

    /// The first of [`Triad::all_over`] that has these keys; `None` where none has.
    pub(crate) fn of_keys(chord: Chord, set: PitchSet) -> Option<Self> {
        let root = chord.root().pitch_class();
        let sounds = |semitones: u8, kind: TriadKind| -> PitchSet {
            kind.semitones().into_iter().map(|by| root.up(i32::from(semitones + by))).collect()
        };
        let all = TriadKind::ALL.into_iter().flat_map(|kind| (0..12).map(move |semitones| (semitones, kind)));
        let (semitones, kind) = all.into_iter().find(|(semitones, kind)| sounds(*semitones, *kind) == set)?;
        Some(Self::over(chord, semitones, kind))
    }

    /// Those of [`Triad::all_over`] that hold this pitch class, in the same order.
    pub(crate) fn all_with(chord: Chord, class: PitchClass) -> impl Iterator<Item = Self> {
        let above = chord.root().pitch_class().semitones_up_to(class);
        TriadKind::ALL.into_iter().flat_map(move |kind| {
            let roots = if kind == TriadKind::Augmented { 4u8 } else { 12 };
            let holds = move |root: &u8| kind.semitones().iter().any(|by| (root + by) % 12 == above);
            (0..roots).filter(holds).map(move |semitones| Self::over(chord, semitones, kind))
        })
    }

    /// The triad whose root lies so many semitones above the chord's, spelled to be read: on the degree that its
    /// [`Label`] names, unless that takes a double accidental and the enharmonic triad does not.
    pub fn over(chord: Chord, semitones: u8, kind: TriadKind) -> Self {
        let by_label = Label::new(semitones, kind).root_over(chord.root());
        let candidates = [0, 12, -12, 24, -24].map(|by| i16::from(by_label.fifths()) + by);
        let mut spelled = candidates
            .into_iter()
            .filter_map(|fifths| NoteName::from_fifths(i8::try_from(fifths).ok()?))
            .map(|root| Self { root, kind });
        let doubles = |triad: &Self| {
            triad.names().iter().filter(|name| name.accidental().semitones().abs() > 1).count()
        };
        let best = spelled.clone().min_by_key(doubles); // the first of the best
        best.or_else(|| spelled.next()).unwrap_or(Self { root: by_label.simplest(), kind })
    }

    /// The root.
    pub const fn root(self) -> NoteName {
        self.root
    }

    /// The kind.
    pub const fn kind(self) -> TriadKind {
        self.kind
    }

    /// Root, third (or fourth) and fifth, spelled as a triad.
    pub fn names(self) -> [NoteName; 3] {
        self.kind
            .fifths()
            .map(|by| NoteName::from_fifths_respelled(i16::from(self.root.fifths()) + i16::from(by)))
    }

    /// The keys of root, third (or fourth) and fifth.
    pub fn classes(self) -> [PitchClass; 3] {
        self.kind.semitones().map(|by| self.root.pitch_class().up(i32::from(by)))
    }

    /// The keys as a set.
    pub fn pitch_set(self) -> PitchSet {
        self.classes().into_iter().collect()
    }

    /// What its notes mean over a chord, as a set.
    pub fn degrees_over(self, chord: Chord) -> DegreeSet {
        self.classes().into_iter().map(|class| chord.degree_of(class)).collect()
    }

    /// Its label over a chord: the degree on which it stands.
    pub fn label_over(self, chord: Chord) -> Label {
        let semitones = chord.root().pitch_class().semitones_up_to(self.root.pitch_class());
        Label::new(semitones, self.kind)
    }

    /// The right hand that plays it with its top note on this MIDI number; `None` where no member of the triad is
    /// there, or MIDI ends.
    pub fn hand_below(self, top: u8, spacing: Spacing) -> Option<Hand> {
        self.hand_on(self.keys_below(top, spacing)?)
    }

    /// The right hand that plays it in this inversion with its lowest note just above the MIDI number `above`;
    /// `None` where MIDI ends.
    pub fn hand_above(self, inversion: Inversion, spacing: Spacing, above: u8) -> Option<Hand> {
        self.hand_on(self.keys_above(inversion, spacing, above)?)
    }

    /// The keys of [`Triad::hand_below`], ascending.
    pub(crate) fn keys_below(self, top: u8, spacing: Spacing) -> Option<[u8; 3]> {
        let classes = self.classes();
        let member = classes.iter().position(|class| class.get() == top % 12)?;
        if top > Pitch::HIGHEST_MIDI {
            return None;
        }
        let [low, middle, _] = Inversion::with_on_top(member).members();
        let middle = below(top, *classes.get(middle)?)?;
        let low = below(middle, *classes.get(low)?)?;
        match spacing {
            Spacing::Close => Some([low, middle, top]),
            Spacing::Open => Some([middle.checked_sub(12)?, low, top]),
        }
    }

    /// The keys of [`Triad::hand_above`], ascending.
    pub(crate) fn keys_above(self, inversion: Inversion, spacing: Spacing, above: u8) -> Option<[u8; 3]> {
        let [class, second, third] = self.keys_from(inversion, spacing);
        let floor = above.checked_add(1)?;
        let up = floor.checked_add((class + 12 - floor % 12) % 12)? - class;
        let high = third.checked_add(up).filter(|high| *high <= Pitch::HIGHEST_MIDI)?;
        Some([class + up, second + up, high])
    }

    /// Its keys with the lowest in the lowest octave of MIDI, ascending.
    pub(crate) fn keys_from(self, inversion: Inversion, spacing: Spacing) -> [u8; 3] {
        let [_, second, third] = self.kind.offsets(inversion, spacing);
        let [first_member, second_member, _] = inversion.members();
        let lowest = match spacing {
            Spacing::Close => first_member,
            Spacing::Open => second_member,
        };
        let class = self.classes().get(lowest).map_or(0, |class| class.get());
        [class, class + second, class + third]
    }

    /// The hand that holds these keys of the triad, spelled as the triad.
    pub(crate) fn hand_on(self, keys: [u8; 3]) -> Option<Hand> {
        Self::named(keys, self.names())
    }

    /// The same over a chord, with [`Triad::names_over`].
    pub(crate) fn hand_over(self, chord: Chord, keys: [u8; 3]) -> Option<Hand> {
        Self::named(keys, self.names_over(chord))
    }

    /// Root, third (or fourth) and fifth as they are called over a chord. An augmented triad has three roots and so three
    /// spellings; it takes the one in which its notes are the chord's degrees (`B D# G` over `A7`, not `Cb Eb G`).
    pub(crate) fn names_over(self, chord: Chord) -> [NoteName; 3] {
        match self.is_named_by_quality() {
            true => self.classes().map(|class| Spelling::default().name(chord, class)),
            false => self.names(),
        }
    }

    /// Whether its names over a chord depend on more than the chord's root.
    pub(crate) fn is_named_by_quality(self) -> bool {
        self.kind == TriadKind::Augmented
    }

    /// The hand that holds these keys, ascending, under these names; `None` where one has none.
    pub(crate) fn named(keys: [u8; 3], names: [NoteName; 3]) -> Option<Hand> {
        let mut pitches = [Pitch::MIDDLE_C; 3];
        for (pitch, key) in pitches.iter_mut().zip(keys) {
            *pitch = names.into_iter().find_map(|name| Pitch::from_midi(key, name))?;
        }
        Some(Hand::from_sorted(&pitches))
    }
}

/// The nearest key of this class strictly below.
fn below(midi: u8, class: PitchClass) -> Option<u8> {
    let down = match (midi % 12 + 12 - class.get()) % 12 {
        0 => 12,
        down => down,
    };
    midi.checked_sub(down)
}

impl std::fmt::Display for Triad {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(&format!("{}{}", self.root, self.kind.suffix()))
    }
}

impl std::fmt::Debug for Triad {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        std::fmt::Display::fmt(self, f)
    }
}

impl std::str::FromStr for Triad {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        let read = NoteName::read_prefix(text).and_then(|(root, taken)| {
            let suffix = text.get(taken..)?;
            let kind = TriadKind::ALL.into_iter().find(|kind| kind.suffix() == suffix)?;
            Some(Self { root, kind })
        });
        read.ok_or_else(|| {
            Error::new(Kind::Pitch, format!("`{}` is not a triad", crate::pitch::shown(text)))
                .with_excerpt(Excerpt::of_line(text, 0, usize::MAX))
                .with_help("write a root and a kind, such as `D`, `Dm`, `Ddim`, `D+` or `Dsus4`")
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::{Quality, chord};

    /// Found by their keys and by one key, as by looking through all.
    #[test]
    fn all_triads_are_found_by_keys() {
        for text in ["C7", "Gb7", "F#m7b5", "Ebmaj7"] {
            let chord = crate::chord::chord(text);
            for bits in 0..4_096u16 {
                let set: PitchSet =
                    PitchClass::ALL.into_iter().filter(|class| bits >> class.get() & 1 == 1).collect();
                assert_eq!(
                    Triad::of_keys(chord, set),
                    Triad::all_over(chord).find(|triad| triad.pitch_set() == set)
                );
            }
            for class in PitchClass::ALL {
                let expected = Triad::all_over(chord).filter(|triad| triad.pitch_set().contains(class));
                assert!(Triad::all_with(chord, class).eq(expected));
            }
        }
    }

    #[test]
    fn all_triads_over_all_roots_are_52_and_spelled_right() {
        for root in NoteName::all() {
            let over = Chord::new(root, Quality::DOMINANT_SEVENTH);
            let triads: Vec<Triad> = Triad::all_over(over).collect();
            assert_eq!(triads.len(), 52);
            for (index, triad) in triads.iter().enumerate() {
                assert!(triads[..index].iter().all(|other| other.pitch_set() != triad.pitch_set()));
                assert_eq!(triad.names().map(NoteName::pitch_class), triad.classes());
                assert_eq!(triad.to_string().parse::<Triad>().unwrap(), *triad);
                assert!(
                    triad.names().iter().all(|n| n.accidental().semitones().abs() < 2),
                    "{triad} over {over}"
                );
            }
        }
    }

    #[test]
    fn ok_augmented_triads_are_spelled_by_degree_over_a_chord() {
        for (symbol, keys, spelled) in [
            ("A7", [59, 63, 67], "B3 D#4 G4"),
            ("Em7b5", [62, 66, 70], "D4 F#4 Bb4"),
            ("Fm7b5", [63, 67, 71], "Eb4 G4 Cb5"),
            ("C7", [62, 66, 70], "D4 F#4 Bb4"),
        ] {
            let over = chord(symbol);
            let set: PitchSet = keys.iter().map(|k| PitchClass::wrapping(i32::from(*k))).collect();
            let triad = Triad::all_over(over).find(|triad| triad.pitch_set() == set).unwrap();
            assert_eq!(triad.hand_over(over, keys).unwrap().to_string(), spelled, "{symbol}");
        }
    }

    #[test]
    fn all_hands_hold_the_triad_in_close_and_open_position() {
        for triad in Triad::all_over(chord("C7")) {
            for spacing in Spacing::ALL {
                for inversion in Inversion::ALL {
                    let hand = triad.hand_above(inversion, spacing, 59).unwrap();
                    assert!(hand.lowest().unwrap().midi() > 59);
                    let classes: PitchSet = hand.pitches().iter().map(|p| p.pitch_class()).collect();
                    assert_eq!(classes, triad.pitch_set());
                    assert_eq!(hand.span() < 12, spacing == Spacing::Close, "{triad} {hand}");
                    // Lowest possible: an octave lower it would touch the left hand.
                    assert!(hand.lowest().unwrap().midi() <= 59 + 12 + 12);
                }
                for top in 60..84 {
                    let hand = triad.hand_below(top, spacing);
                    let has = triad.pitch_set().contains(PitchClass::wrapping(i32::from(top)));
                    assert_eq!(hand.is_some(), has);
                    assert!(hand.is_none_or(|h| h.highest().unwrap().midi() == top));
                }
            }
        }
    }
}
