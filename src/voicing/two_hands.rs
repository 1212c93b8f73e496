//! Two hands together.

use super::Hand;
use crate::chord::naming::Readings;
use crate::chord::{NamingOptions, readings};
use crate::error::{Error, Kind, Result};
use crate::pitch::{Pitch, PitchSet};

/// Two hands, the left wholly below the right. Either may be empty.
///
/// Written with a bar between the hands: `C3 E3 Bb3 | F#4 A4 D5`.
///
/// # Example
///
/// ```
/// use overshell::voicing::Voicing;
///
/// let voicing: Voicing = "C3 E3 Bb3 | F#4 A4 D5".parse()?;
/// assert_eq!(voicing.top().unwrap().to_string(), "D5");
/// assert!("C4 | C3".parse::<Voicing>().unwrap_err().is_crossing());
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub struct Voicing {
    left: Hand,
    right: Hand,
}

impl Voicing {
    /// The voicing of these two hands.
    ///
    /// # Errors
    ///
    /// [`Error::is_crossing`] where the left hand's highest key is not below the right hand's lowest.
    pub fn new(left: Hand, right: Hand) -> Result<Self> {
        match (left.highest(), right.lowest()) {
            (Some(l), Some(r)) if l.midi() >= r.midi() => {
                let how = if l.midi() == r.midi() { "on the same key as" } else { "above" };
                Err(Error::new(
                    Kind::Crossing,
                    format!("the left hand's `{l}` is {how} the right hand's `{r}`"),
                )
                .with_help("move the note to the other hand, or a hand to another octave"))
            }
            _ => Ok(Self { left, right }),
        }
    }

    /// The left hand.
    pub const fn left(&self) -> &Hand {
        &self.left
    }

    /// The right hand.
    pub const fn right(&self) -> &Hand {
        &self.right
    }

    /// All pitches, ascending.
    pub fn pitches(&self) -> impl Iterator<Item = Pitch> + '_ {
        self.left.pitches().iter().chain(self.right.pitches()).copied()
    }

    /// The lowest sounding pitch.
    pub fn bass(&self) -> Option<Pitch> {
        self.left.lowest().or_else(|| self.right.lowest())
    }

    /// The highest sounding pitch.
    pub fn top(&self) -> Option<Pitch> {
        self.right.highest().or_else(|| self.left.highest())
    }

    /// The keys that sound.
    pub fn pitch_set(&self) -> PitchSet {
        self.pitches().map(Pitch::pitch_class).collect()
    }

    /// What the voicing can be called, best name first; its lowest note is the bass.
    ///
    /// ```
    /// use overshell::chord::{NamingOptions, chord};
    /// use overshell::voicing::Voicing;
    ///
    /// let voicing: Voicing = "E3 Bb3 | D4 A4".parse()?;
    /// let names = voicing.readings(&NamingOptions::default());
    /// assert_eq!(names.map(|reading| reading.chord()).next(), Some(chord("C13")));
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn readings(&self, options: &NamingOptions) -> Readings {
        let bass = options.bass.or(self.bass().map(Pitch::pitch_class));
        readings(self.pitch_set(), &NamingOptions { bass, ..*options })
    }
}

impl std::fmt::Display for Voicing {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} | {}", self.left, self.right)
    }
}

impl std::fmt::Debug for Voicing {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        std::fmt::Display::fmt(self, f)
    }
}

impl std::str::FromStr for Voicing {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        let (left, right) = text.split_once('|').ok_or_else(|| {
            Error::new(Kind::Hand, format!("`{}` has no bar between the hands", crate::pitch::shown(text)))
                .with_help("write the left hand, a bar, the right hand: `C3 Bb3 | E4 A4 D5`")
        })?;
        Self::new(left.parse()?, right.parse()?)
    }
}
