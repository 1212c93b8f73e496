//! What an arrangement may do.

use crate::chord::Reharmonisation;
use crate::error::{Error, Kind, Result};
use crate::voicing::HandSize;

/// What an arrangement may do. The default: medium hands, the octave that comes out better, the chords as they are written.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ArrangeOptions {
    /// What the hands reach.
    pub hand: HandSize,
    /// In which octave the melody is played.
    pub octave: Octave,
    /// Whether somebody else plays the bass, so that the hands need not have the root.
    pub bass_player: bool,
    /// How else a dominant may be played.
    pub instead: Instead,
    /// How much is searched at the most.
    pub limits: SearchLimits,
}

/// In which octave a melody is played. Melodies written low leave no room for a triad below them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Octave {
    /// As written or an octave higher, whichever arrangement costs less; as written where they cost the same.
    #[default]
    Auto,
    /// As written.
    AsWritten,
    /// An octave higher.
    Up,
}

impl Octave {
    /// By how many semitones the melody may be moved.
    pub(super) const fn shifts(self) -> &'static [i8] {
        match self {
            Self::Auto => &[0, 12],
            Self::AsWritten => &[0],
            Self::Up => &[12],
        }
    }
}

impl std::str::FromStr for Octave {
    type Err = Error;

    /// Reads `auto`, `0` (as written) or `1` (an octave higher).
    fn from_str(text: &str) -> Result<Self> {
        match text {
            "auto" => Ok(Self::Auto),
            "0" => Ok(Self::AsWritten),
            "1" => Ok(Self::Up),
            _ => Err(Error::new(Kind::Range, format!("`{}` is not an octave", crate::pitch::shown(text)))
                .with_help("say `auto`, `0` (as written) or `1` (an octave higher)")),
        }
    }
}

/// How else a dominant may be played, where that comes out better. The default allows nothing.
///
/// Two chords in place of one take half of its time each, and each counts half; `toll` is what the change costs, so that what is
/// written stays where little is gained.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Instead {
    allowed: u8,
    toll: u16,
}

impl Instead {
    /// What a change costs unless somebody says otherwise.
    pub const USUAL_TOLL: u16 = 6;
    /// Nothing else.
    pub const NOTHING: Self = Self { allowed: 0, toll: Self::USUAL_TOLL };

    /// These, each where it is possible ([`Progression::reharmonised`](super::Progression::reharmonised)).
    ///
    /// # Example
    ///
    /// ```
    /// use overshell::chord::Reharmonisation;
    /// use overshell::rules::RuleSet;
    /// use overshell::search::{ArrangeOptions, Instead, Progression, arrange};
    ///
    /// let tune = Progression::from_symbols("C", [("Dm7", "F5"), ("G7", "F5"), ("Cmaj7", "E5")])?;
    /// let instead = Instead::of([Reharmonisation::Substitute, Reharmonisation::SuspendedThenDominant]);
    /// let options = ArrangeOptions { instead, ..ArrangeOptions::default() };
    /// let richer = arrange(&tune, RuleSet::standard(), options)?;
    /// assert!(richer.cost <= arrange(&tune, RuleSet::standard(), ArrangeOptions::default())?.cost);
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn of(ways: impl IntoIterator<Item = Reharmonisation>) -> Self {
        let bit = |way: Reharmonisation| 1u8 << (way as u8);
        Self { allowed: ways.into_iter().fold(0, |bits, way| bits | bit(way)), ..Self::NOTHING }
    }

    /// The same at another price: points for each dominant that is played otherwise.
    #[must_use]
    pub const fn with_toll(self, toll: u16) -> Self {
        Self { toll, ..self }
    }

    /// Points for each dominant that is played otherwise.
    pub const fn toll(self) -> u16 {
        self.toll
    }

    /// Those that are allowed.
    pub fn ways(self) -> impl Iterator<Item = Reharmonisation> {
        Reharmonisation::ALL.into_iter().filter(move |way| self.allowed >> (*way as u8) & 1 == 1)
    }
}

impl Default for Instead {
    fn default() -> Self {
        Self::NOTHING
    }
}

/// How much is searched at the most; exceeding a limit is an error that names it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SearchLimits {
    /// Chords in a progression.
    pub chords: usize,
    /// Pairs of hands for one chord. Where the melody rests there are most, some ten thousand.
    pub pairs: usize,
    /// Pairs of hands for all chords together, in one octave. Each takes twelve bytes, and the ways between the hands of neighbouring
    /// chords two bytes each, as long as the tune is kept, twice that while both octaves are tried; where arrangements are to differ, four bytes more for each difference and arrangement,
    /// which count as pairs here.
    pub all_pairs: usize,
    /// Arrangements asked for at once.
    pub arrangements: usize,
    /// Branches of the search for one voicing for each written chord ([`arrange_tied`](super::arrange_tied)). Each takes some
    /// searches through the tune; real tunes need one.
    pub branches: usize,
}

impl Default for SearchLimits {
    fn default() -> Self {
        Self { chords: 20_000, pairs: 200_000, all_pairs: 100_000_000, arrangements: 1_000, branches: 200 }
    }
}

impl SearchLimits {
    /// An error where there is more than a limit allows.
    pub(super) fn hold(found: usize, limit: usize, name: &str, what: &str) -> Result<()> {
        if found <= limit {
            return Ok(());
        }
        Err(Error::new(Kind::Limit, format!("{found} {what}, expected at most {limit} (limit `{name}`)"))
            .with_help(format!("raise the limit `{name}` of the search, or ask for less at once")))
    }
}
