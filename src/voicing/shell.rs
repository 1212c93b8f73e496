//! Shells: root, third and seventh for the left hand.

use super::Hand;
use crate::chord::{Chord, Degree, DegreeSet, Spelling};
use crate::error::{Error, Excerpt, Kind, Result};
use crate::pitch::Pitch;

/// Which of root, third, seventh and fifth the left hand plays, from the bottom up.
///
/// "Third" and "seventh" are roles: a suspended chord has its fourth for the third, a sixth chord its sixth for the
/// seventh (a textbook's chapter on left-hand positions, read second-hand). Written by roles: `1 3 7`; a chord's own degrees
/// (`1 b3 b7`) are read with [`Shell::for_chord`].
///
/// # Example
///
/// ```
/// use overshell::chord::chord;
/// use overshell::voicing::Shell;
///
/// let shell: Shell = "1 3 7".parse()?;
/// assert_eq!(itertools::join(shell.degrees(chord("Dm7b5")).unwrap(), " "), "1 b3 b7");
/// assert_eq!(shell.hand_from(chord("Dm7b5"), 48).unwrap().to_string(), "D3 F3 C4");
/// assert_eq!(shell.degrees(chord("D")), None); // a triad has no seventh
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub enum Shell {
    /// `1 3 7`, the full shell.
    RootThirdSeventh,
    /// `1 7 3`, the open one: the third a tenth above the root.
    RootSeventhThird,
    /// `1 3`
    RootThird,
    /// `1 7`
    RootSeventh,
    /// `3 7`, rootless.
    ThirdSeventh,
    /// `7 3`, rootless.
    SeventhThird,
    /// `3`
    Third,
    /// `7`
    Seventh,
    /// `1 5`, for chords without a seventh.
    RootFifth,
    /// `1`
    Root,
}

/// A role in a shell.
#[derive(Clone, Copy, Eq, PartialEq)]
enum Role {
    Root,
    Third,
    Fifth,
    Seventh,
}

impl Shell {
    /// All shells, the fullest first.
    pub const ALL: [Self; 10] = [
        Self::RootThirdSeventh,
        Self::RootSeventhThird,
        Self::RootThird,
        Self::RootSeventh,
        Self::ThirdSeventh,
        Self::SeventhThird,
        Self::Third,
        Self::Seventh,
        Self::RootFifth,
        Self::Root,
    ];

    const fn roles(self) -> &'static [Role] {
        use Role::{Fifth, Root, Seventh, Third};
        match self {
            Self::RootThirdSeventh => &[Root, Third, Seventh],
            Self::RootSeventhThird => &[Root, Seventh, Third],
            Self::RootThird => &[Root, Third],
            Self::RootSeventh => &[Root, Seventh],
            Self::ThirdSeventh => &[Third, Seventh],
            Self::SeventhThird => &[Seventh, Third],
            Self::Third => &[Third],
            Self::Seventh => &[Seventh],
            Self::RootFifth => &[Root, Fifth],
            Self::Root => &[Root],
        }
    }

    /// The shell's degrees over this chord, from the bottom up; `None` where the chord lacks one.
    pub fn degrees(self, chord: Chord) -> Option<Vec<Degree>> {
        let quality = chord.quality();
        self.roles()
            .iter()
            .map(|role| match role {
                Role::Root => Some(Degree::Root),
                Role::Third => quality.third_degree(),
                Role::Fifth => quality.fifth_degree(),
                Role::Seventh => quality.seventh_degree(),
            })
            .collect()
    }

    /// Whether this shell and a right hand with these degrees together hold the chord's third and seventh, as far as
    /// it has them: a smaller shell serves where the right hand has the rest (common practice, no source).
    pub fn serves(self, chord: Chord, right: DegreeSet) -> bool {
        let Some(mine) = self.degrees(chord) else { return false };
        chord.quality().guide_tones().difference(right.union(mine.into_iter().collect())).is_empty()
    }

    /// The left hand that plays this shell over the chord with its lowest note at or just above the MIDI number
    /// `lowest`, spelled by degree; `None` where the chord lacks a member or MIDI ends.
    pub fn hand_from(self, chord: Chord, lowest: u8) -> Option<Hand> {
        let mut floor = i32::from(lowest);
        let mut pitches = Vec::with_capacity(3);
        for degree in self.degrees(chord)? {
            let class = degree.class_over(chord.root().pitch_class());
            let midi = floor + (i32::from(class.get()) - floor).rem_euclid(12);
            let name = Spelling::default().name(chord, class);
            pitches.push(Pitch::from_midi(u8::try_from(midi).ok()?, name)?);
            floor = midi + 1;
        }
        Some(Hand::from_sorted(&pitches))
    }

    /// Reads a shell written by roles (`1 3 7`) or in the degrees that this chord has (`1 b3 b7`).
    ///
    /// # Errors
    ///
    /// [`Error::is_pitch`] where the text is neither, or the chord lacks a member.
    pub fn for_chord(text: &str, chord: Chord) -> Result<Self> {
        let words: Vec<&str> = text.split([' ', ',', '-']).filter(|w| !w.is_empty()).collect();
        let by_degrees = Self::ALL.into_iter().find(|shell| {
            shell
                .degrees(chord)
                .is_some_and(|degrees| degrees.iter().map(|d| d.as_str()).eq(words.iter().copied()))
        });
        if let Some(shell) = by_degrees {
            return Ok(shell);
        }
        let here = || {
            let forms = Self::ALL.iter().filter_map(|shell| shell.degrees(chord));
            let forms = forms.map(|degrees| format!("`{}`", itertools::join(degrees, " ")));
            format!("over `{chord}` the shells are {}", itertools::join(forms, ", "))
        };
        let shell: Self = text.parse().map_err(|e: Error| e.with_help(here()))?;
        match shell.degrees(chord) {
            Some(_) => Ok(shell),
            None => {
                Err(Error::new(Kind::Pitch, format!("`{chord}` has no shell `{shell}`")).with_help(here()))
            }
        }
    }
}

impl std::fmt::Display for Shell {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let roles = self.roles().iter().map(|role| match role {
            Role::Root => "1",
            Role::Third => "3",
            Role::Fifth => "5",
            Role::Seventh => "7",
        });
        write!(f, "{}", itertools::join(roles, " "))
    }
}

impl std::str::FromStr for Shell {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        let plain = itertools::join(text.split([' ', ',', '-']).filter(|w| !w.is_empty()), " ");
        Self::ALL.into_iter().find(|shell| shell.to_string() == plain).ok_or_else(|| {
            Error::new(Kind::Pitch, format!("`{}` is not a shell", crate::pitch::shown(text)))
                .with_excerpt(Excerpt::of_line(text, 0, usize::MAX))
                .with_help(format!(
                    "the shells are {}",
                    itertools::join(Self::ALL.iter().map(|s| format!("`{s}`")), ", ")
                ))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;

    #[test]
    fn all_shells_roundtrip() {
        for shell in Shell::ALL {
            assert_eq!(shell.to_string().parse::<Shell>().unwrap(), shell);
            for symbol in ["C7", "Fm7", "Bm7b5", "Ebmaj7", "A6", "D7sus4", "Gbdim7", "F"] {
                let chord = chord(symbol);
                let Some(degrees) = shell.degrees(chord) else { continue };
                let text = itertools::join(&degrees, " ");
                assert_eq!(Shell::for_chord(&text, chord).unwrap(), shell);
                let hand = shell.hand_from(chord, 40).unwrap();
                assert_eq!(hand.len(), degrees.len());
                assert!((40..52).contains(&hand.lowest().unwrap().midi()));
                for (pitch, degree) in hand.pitches().iter().zip(degrees) {
                    assert_eq!(chord.degree_of(pitch.pitch_class()), degree);
                }
            }
        }
    }

    #[test]
    fn ok_smaller_shells_serve_where_the_triad_has_the_rest() {
        let c7 = chord("C7");
        let right = |text: &str| text.parse::<DegreeSet>().unwrap();
        assert!(Shell::RootThird.serves(c7, right("#9 5 b7"))); // Eb major holds the seventh
        assert!(!Shell::RootThird.serves(c7, right("9 #11 13"))); // D major holds neither
        assert!(Shell::Seventh.serves(c7, right("13 b9 3"))); // A major holds the third
    }

    #[test]
    fn err_shells() {
        let error = Shell::for_chord("1 b3 b7", chord("C7")).unwrap_err();
        assert!(error.is_pitch() && error.help().unwrap().contains("`1 3 b7`"), "{error:?}");
        assert!(Shell::for_chord("1 3 7", chord("C")).unwrap_err().to_string().contains("has no shell"));
    }
}
