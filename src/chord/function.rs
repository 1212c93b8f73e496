//! What a chord does in a progression.

use super::{Chord, Family, Key, Mode, Seventh};
use crate::error::{Error, Excerpt, Kind, Result};

/// What a chord does in its key: which dominant it is, or on which degree it stands.
///
/// The dominant functions are those of a two-page "Chord Scale Summation" in Berklee terms, of Nettles, *Harmony 3* (2007),
/// p. 4, and of notes of a Berklee harmony course (all read second-hand). Whether a dominant resolves
/// is seen from the chord that follows; the rules then say which tensions suit it.
///
/// # Example
///
/// ```
/// use overshell::chord::{chord, functions, Function, Key};
///
/// let tune = ["Cmaj7", "A7", "Dm7", "Db7", "Cmaj7"].map(|s| Some(chord(s)));
/// let names: Vec<String> =
///     functions(&tune, Key::C_MAJOR).into_iter().flatten().map(|f| f.to_string()).collect();
/// assert_eq!(names, ["I", "V7/ii", "ii", "subV7", "I"]);
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
#[non_exhaustive]
pub enum Function {
    /// `V7/I`: a fifth down to the major tonic, or the V of a major key that moves elsewhere.
    ToTonicMajor,
    /// `V7/i`: a fifth down to the minor tonic, or the V of a minor key that moves elsewhere.
    ToTonicMinor,
    /// `V7/ii`
    ToTwo,
    /// `V7/iii`
    ToThree,
    /// `V7/IV`
    ToFour,
    /// `V7/V`
    ToFive,
    /// `V7/vi`
    ToSix,
    /// `V7/major`: a fifth down to a major chord on another degree.
    ToMajor,
    /// `V7/minor`: a fifth down to a minor chord on another degree.
    ToMinor,
    /// `extended V7`: a fifth down to a dominant that is not the key's own V.
    Extended,
    /// `subV7`: a semitone down, in place of the dominant a tritone away.
    Substitute,
    /// `bVII7`
    FlatSeven,
    /// `IV7`
    Four,
    /// `bVI7`
    FlatSix,
    /// `I7`: the tonic of a blues.
    One,
    /// `II7`: the dominant on 2 that does not go to V.
    Two,
    /// `static`: any other dominant that does not resolve.
    Static,
    /// A chord that is no dominant, by the degree it stands on: `ii`, `IV`, `bIII`.
    Degree {
        /// Semitones above the tonic, `0..=11`.
        semitones: u8,
        /// Whether its third is minor.
        minor: bool,
    },
}

impl Function {
    /// All dominant functions.
    pub const DOMINANT: [Self; 17] = [
        Self::ToTonicMajor,
        Self::ToTonicMinor,
        Self::ToTwo,
        Self::ToThree,
        Self::ToFour,
        Self::ToFive,
        Self::ToSix,
        Self::ToMajor,
        Self::ToMinor,
        Self::Extended,
        Self::Substitute,
        Self::FlatSeven,
        Self::Four,
        Self::FlatSix,
        Self::One,
        Self::Two,
        Self::Static,
    ];

    fn dominant_name(self) -> Option<&'static str> {
        Some(match self {
            Self::ToTonicMajor => "V7/I",
            Self::ToTonicMinor => "V7/i",
            Self::ToTwo => "V7/ii",
            Self::ToThree => "V7/iii",
            Self::ToFour => "V7/IV",
            Self::ToFive => "V7/V",
            Self::ToSix => "V7/vi",
            Self::ToMajor => "V7/major",
            Self::ToMinor => "V7/minor",
            Self::Extended => "extended V7",
            Self::Substitute => "subV7",
            Self::FlatSeven => "bVII7",
            Self::Four => "IV7",
            Self::FlatSix => "bVI7",
            Self::One => "I7",
            Self::Two => "II7",
            Self::Static => "static",
            Self::Degree { .. } => return None,
        })
    }
}

impl std::fmt::Display for Function {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match (self, self.dominant_name()) {
            (_, Some(name)) => f.pad(name),
            (Self::Degree { semitones, minor }, None) => f.pad(&Key::numeral(*semitones, *minor)),
            (_, None) => Ok(()),
        }
    }
}

impl std::str::FromStr for Function {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        let degrees =
            (0..12).flat_map(|semitones| [false, true].map(|minor| Self::Degree { semitones, minor }));
        Self::DOMINANT.into_iter().chain(degrees).find(|f| f.to_string() == text).ok_or_else(|| {
            Error::new(Kind::Pitch, format!("`{}` is not a function", crate::pitch::shown(text)))
                .with_excerpt(Excerpt::of_line(text, 0, usize::MAX))
                .with_help(format!(
                    "the dominant functions are {}; other chords have a Roman numeral, such as `ii`",
                    itertools::join(Self::DOMINANT.iter().map(|f| format!("`{f}`")), ", ")
                ))
        })
    }
}

/// The function of every chord of a progression in its key; `None` where there is no chord.
///
/// Chords on the same root, and gaps, are looked through to find where a dominant goes; so is a minor chord a fifth
/// above that only delays it (`D7 Am7 D7 G`).
///
/// # Complexity
///
/// Linear in the number of chords.
pub fn functions(chords: &[Option<Chord>], key: Key) -> Vec<Option<Function>> {
    let function = |(chord, to): (&Option<Chord>, Option<(usize, Chord)>)| {
        chord.map(|chord| function(chord, to.map(|(_, to)| to), key))
    };
    chords.iter().zip(destinations(chords)).map(function).collect()
}

/// Whether the chord can be a dominant: a dominant seventh, or its suspension.
pub(super) fn acts_as_dominant(chord: Chord) -> bool {
    chord.family() == Family::Dominant
        || (chord.family() == Family::Suspended && chord.quality().seventh == Seventh::Flat)
}

pub(super) fn has_minor_third(chord: Chord) -> bool {
    matches!(chord.family(), Family::Minor | Family::HalfDiminished | Family::Diminished)
}

/// Semitones up from the root of one chord to that of the other, `0..=11`.
pub(super) fn root_motion(from: Chord, to: Chord) -> u8 {
    from.root().pitch_class().semitones_up_to(to.root().pitch_class())
}

/// For each chord the one that it goes to, with its place: the next on another root, or the one behind it where it is a
/// minor chord a fifth above that only delays a dominant. One pass from the end.
pub(super) fn destinations(chords: &[Option<Chord>]) -> Vec<Option<(usize, Chord)>> {
    /// A chord with what follows it.
    #[derive(Clone, Copy)]
    struct Place {
        at: usize,
        chord: Chord,
        /// The chord right behind it.
        behind: Option<(usize, Chord)>,
    }
    let mut destinations = vec![None; chords.len()];
    // For each chord the next on another root: for those on one root in a row the same.
    let mut turns: Vec<Option<Place>> = vec![None; chords.len()];
    let mut next: Option<Place> = None;
    for (at, chord) in chords.iter().enumerate().rev() {
        let Some(chord) = *chord else { continue };
        let turn = match next {
            Some(next) if root_motion(chord, next.chord) == 0 => turns.get(next.at).copied().flatten(),
            next => next,
        };
        // The delay is a delay only where the dominant itself comes back right behind it.
        let delayed = turn.filter(|turn| root_motion(chord, turn.chord) == 7 && has_minor_third(turn.chord));
        let back = delayed.and_then(|turn| turn.behind).filter(|(_, back)| root_motion(chord, *back) == 0);
        let behind_it = back.and_then(|(back, _)| turns.get(back).copied().flatten());
        if let (Some(turns), Some(to)) = (turns.get_mut(at), destinations.get_mut(at)) {
            *turns = turn;
            *to = behind_it.or(turn).map(|to| (to.at, to.chord));
        }
        next = Some(Place { at, chord, behind: next.map(|next| (next.at, next.chord)) });
    }
    destinations
}

/// The chord that this one goes to, among those that follow it; as [`destinations`] says it, for one chord and without
/// memory of its own. Looks as far as the second chord on another root.
pub(crate) fn destination_among(
    chord: Chord,
    following: impl Iterator<Item = Chord> + Clone,
) -> Option<Chord> {
    let on_another_root = |other: &Chord| root_motion(chord, *other) != 0;
    let mut rest = following;
    let next = rest.find(on_another_root)?;
    let behind = rest.clone().next();
    let delays = root_motion(chord, next) == 7
        && has_minor_third(next)
        && behind.is_some_and(|behind| !on_another_root(&behind));
    Some(rest.find(on_another_root).filter(|_| delays).unwrap_or(next))
}

/// What a chord does in the key when this is the chord it goes to.
pub(crate) fn function(chord: Chord, to: Option<Chord>, key: Key) -> Function {
    let on = key.semitones_to(chord.root());
    if !acts_as_dominant(chord) {
        return Function::Degree { semitones: on, minor: has_minor_third(chord) };
    }
    match to.map(|to| (root_motion(chord, to), to)) {
        Some((5, target)) => down_a_fifth(on, target, key),
        Some((11, _)) => Function::Substitute,
        _ => unresolved(on, key),
    }
}

fn down_a_fifth(on: u8, target: Chord, key: Key) -> Function {
    let minor = has_minor_third(target);
    let to = key.semitones_to(target.root());
    // The key's own V is that V, also on its way to the tonic of a blues.
    let home = to == 0 && key.mode() == Mode::Major;
    if acts_as_dominant(target) && to != 7 && !home {
        return if on == 0 { Function::One } else { Function::Extended };
    }
    match (to, minor, key.mode()) {
        // A diminished chord on the tonic only delays it.
        (0, true, Mode::Major) if target.family() == Family::Diminished => Function::ToTonicMajor,
        (0, false, _) => Function::ToTonicMajor,
        (0, true, _) => Function::ToTonicMinor,
        (7, _, _) => Function::ToFive,
        (2, true, Mode::Major) => Function::ToTwo,
        (4, true, Mode::Major) => Function::ToThree,
        (5, false, Mode::Major) => Function::ToFour,
        (9, true, Mode::Major) => Function::ToSix,
        (_, false, _) => Function::ToMajor,
        (_, true, _) => Function::ToMinor,
    }
}

fn unresolved(on: u8, key: Key) -> Function {
    match (on, key.mode()) {
        (7, Mode::Major) => Function::ToTonicMajor,
        (7, Mode::Minor) => Function::ToTonicMinor,
        (10, _) => Function::FlatSeven,
        (5, _) => Function::Four,
        (8, _) => Function::FlatSix,
        (0, _) => Function::One,
        (2, _) => Function::Two,
        _ => Function::Static,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;

    fn names(key: &str, symbols: &str) -> String {
        let chords: Vec<Option<Chord>> = symbols.split(' ').map(|s| (s != "-").then(|| chord(s))).collect();
        let found = functions(&chords, key.parse().unwrap());
        itertools::join(found.iter().map(|f| f.map_or("-".to_owned(), |f| f.to_string())), " | ")
    }

    /// Dominants by function: a two-page "Chord Scale Summation" and Nettles, *Harmony 3*, p. 4, each in C.
    #[test]
    fn ok_each_dominant_function() {
        for (key, symbols, expected) in [
            ("C", "Dm7 G7 Cmaj7", "ii | V7/I | I"),
            ("Cm", "Dm7b5 G7 Cm6", "ii | V7/i | i"),
            ("C", "A7 Dm7", "V7/ii | ii"),
            ("C", "B7 Em7", "V7/iii | iii"),
            ("C", "C7 Fmaj7", "V7/IV | IV"),
            ("C", "D7 G7 C", "V7/V | V7/I | I"),
            ("C", "E7 Am7", "V7/vi | vi"),
            ("C", "E7 A7 D7 G7 C", "extended V7 | extended V7 | V7/V | V7/I | I"),
            ("C", "Db7 Cmaj7", "subV7 | I"),
            ("C", "Fm7 Bb7 Cmaj7", "iv | bVII7 | I"),
            ("C", "F7 C", "IV7 | I"),
            ("C", "Ab7 G7 C", "subV7 | V7/I | I"),
            ("C", "Ab7 C", "bVI7 | I"),
            ("C", "C7 F7 C7", "I7 | IV7 | I7"),
            ("C", "G7 C7", "V7/I | I7"),
            ("Cm", "G7 C7 Fm7", "extended V7 | V7/minor | iv"),
            ("C", "G7 Cdim7 Cmaj7", "V7/I | i | I"),
            ("C", "D7 Fm6 C", "II7 | iv | I"),
            ("C", "B7 C", "static | I"),
            ("C", "G7 Am7", "V7/I | vi"),
            ("C", "Eb7 Abmaj7", "V7/major | bVI"),
            ("C", "G7sus4 G7 C", "V7/I | V7/I | I"),
            ("C", "D7 Am7 D7 G7 C", "V7/V | vi | V7/V | V7/I | I"),
            ("C", "A7 - A7(b9) Dm7", "V7/ii | - | V7/ii | ii"),
        ] {
            assert_eq!(names(key, symbols), expected, "{symbols} in {key}");
        }
    }

    /// The slow twin of [`destinations`]: looks ahead from each chord.
    fn destination(chords: &[Option<Chord>], at: usize) -> Option<(usize, Chord)> {
        let chord = chords[at]?;
        let rest = || chords.iter().enumerate().skip(at + 1).filter_map(|(at, chord)| Some((at, (*chord)?)));
        let mut following = rest().filter(|(_, other)| root_motion(chord, *other) != 0);
        let next = following.next()?;
        let behind = rest().find(|(at, _)| *at > next.0);
        let delays = root_motion(chord, next.1) == 7
            && has_minor_third(next.1)
            && behind.is_some_and(|(_, other)| root_motion(chord, other) == 0);
        if delays { following.next().or(Some(next)) } else { Some(next) }
    }

    /// All progressions of up to seven places from a dominant, its delay, two more roots and a gap.
    #[test]
    fn all_destinations_are_those_of_the_slow_twin() {
        let choices = [None, Some("D7"), Some("Am7"), Some("G7"), Some("Gm7")].map(|c| c.map(chord));
        let mut delayed = 0;
        for len in 0..=7u32 {
            for choice in 0..choices.len().pow(len) {
                let chords: Vec<Option<Chord>> =
                    (0..len).map(|at| choices[choice / choices.len().pow(at) % choices.len()]).collect();
                let found = destinations(&chords);
                let slow: Vec<_> = (0..chords.len()).map(|at| destination(&chords, at)).collect();
                assert_eq!(found, slow, "{chords:?}");
                for (at, chord) in chords.iter().enumerate() {
                    let among = chord.and_then(|chord| {
                        destination_among(chord, chords[at + 1..].iter().copied().flatten())
                    });
                    assert_eq!(among, slow[at].map(|(_, to)| to), "{chords:?} at {at}");
                }
                delayed += found
                    .iter()
                    .zip(&chords)
                    .filter(|(to, c)| **c == choices[1] && to.is_some_and(|(_, to)| Some(to) != choices[2]))
                    .count();
            }
        }
        assert!(delayed > 0);
    }

    /// A long run on one root takes no longer than other chords: quadratic, this would be ten thousand million steps.
    #[test]
    fn ok_long_runs_on_one_root() {
        let mut chords = vec![Some(chord("G7")); 100_000];
        chords.push(Some(chord("C")));
        assert!(destinations(&chords)[..100_000].iter().all(|to| *to == Some((100_000, chord("C")))));
    }

    #[test]
    fn all_functions_roundtrip() {
        for function in Function::DOMINANT {
            assert_eq!(function.to_string().parse::<Function>().unwrap(), function);
        }
        assert!("V8".parse::<Function>().unwrap_err().help().unwrap().contains("V7/ii"));
    }
}
