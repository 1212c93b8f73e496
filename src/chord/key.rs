//! Keys.

use crate::error::{Error, Excerpt, Kind, Result};
use crate::pitch::NoteName;

/// Major or minor.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mode {
    /// Major.
    Major,
    /// Minor.
    Minor,
}

/// A key: a tonic and a mode, written `Eb` or `Cm`.
///
/// # Example
///
/// ```
/// use overshell::chord::{Key, Mode};
/// use overshell::pitch::note;
///
/// let key = Key::from_signature(-3, Mode::Minor).unwrap();
/// assert_eq!(key.to_string(), "Cm");
/// assert_eq!(key.signature(), -3);
/// assert_eq!("Cm".parse::<Key>()?.tonic(), note("C"));
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub struct Key {
    tonic: NoteName,
    mode: Mode,
}

impl Key {
    /// C major.
    pub const C_MAJOR: Self = Self { tonic: NoteName::C, mode: Mode::Major };

    /// The key on this tonic.
    pub const fn new(tonic: NoteName, mode: Mode) -> Self {
        Self { tonic, mode }
    }

    /// The key with so many sharps (negative: flats); `None` beyond the names that exist.
    pub const fn from_signature(sharps: i8, mode: Mode) -> Option<Self> {
        let fifths = match mode {
            Mode::Major => sharps,
            Mode::Minor => sharps.saturating_add(3),
        };
        match NoteName::from_fifths(fifths) {
            Some(tonic) => Some(Self { tonic, mode }),
            None => None,
        }
    }

    /// The tonic.
    pub const fn tonic(self) -> NoteName {
        self.tonic
    }

    /// The mode.
    pub const fn mode(self) -> Mode {
        self.mode
    }

    /// Sharps in the signature, negative for flats; `-7..=7` for keys that have one.
    pub const fn signature(self) -> i8 {
        match self.mode {
            Mode::Major => self.tonic.fifths(),
            Mode::Minor => self.tonic.fifths() - 3,
        }
    }

    /// Semitones from the tonic up to a root, `0..=11`.
    pub fn semitones_to(self, root: NoteName) -> u8 {
        self.tonic.pitch_class().semitones_up_to(root.pitch_class())
    }

    /// Whether the key's scale (natural minor for minor) has this key of the keyboard.
    pub fn is_diatonic(self, name: NoteName) -> bool {
        let semitones = self.semitones_to(name);
        match self.mode {
            Mode::Major => matches!(semitones, 0 | 2 | 4 | 5 | 7 | 9 | 11),
            Mode::Minor => matches!(semitones, 0 | 2 | 3 | 5 | 7 | 8 | 10),
        }
    }

    /// A degree of the key as a Roman numeral: `bII`, `V`; lower case where the chord on it has a minor third.
    pub(super) fn numeral(semitones: u8, minor: bool) -> String {
        const NUMERALS: [&str; 12] =
            ["I", "bII", "II", "bIII", "III", "IV", "#IV", "V", "bVI", "VI", "bVII", "VII"];
        let numeral = NUMERALS.get(usize::from(semitones)).copied().unwrap_or_default();
        if minor { numeral.to_lowercase() } else { numeral.to_owned() }
    }
}

impl std::fmt::Display for Key {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}{}", self.tonic, if self.mode == Mode::Minor { "m" } else { "" })
    }
}

impl std::str::FromStr for Key {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        match NoteName::read_prefix(text).map(|(tonic, taken)| (tonic, text.get(taken..))) {
            Some((tonic, Some(""))) => Ok(Self::new(tonic, Mode::Major)),
            Some((tonic, Some("m"))) => Ok(Self::new(tonic, Mode::Minor)),
            _ => Err(Error::new(Kind::Pitch, format!("`{}` is not a key", crate::pitch::shown(text)))
                .with_excerpt(Excerpt::of_line(text, 0, usize::MAX))
                .with_help("write the tonic, and `m` for minor, such as `Eb` or `Cm`")),
        }
    }
}
