//! What is asked of an arranger: chords, the melody above them, the key.

use crate::chord::{Chord, ChordSymbol, Function, Key, functions};
use crate::error::{Error, Kind, Result};
use crate::pitch::Pitch;

/// A chord and what the melody does while it sounds.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Slot {
    /// The chord; `None` where none sounds or none could be read.
    pub chord: Option<Chord>,
    /// The melody note that sounds when the chord starts; `None` over a rest.
    pub melody: Option<Pitch>,
    /// The melody notes that follow while the chord sounds on, each with its share of the chord's time in sixteenths
    /// of it, `1..=16`.
    pub moving: Vec<(Pitch, u8)>,
}

/// Reads a chord symbol with the melody note above it: `Dm7 F5`. `Dm7` alone has no melody, and `N.C.` is no chord.
///
/// # Example
///
/// ```
/// use overshell::search::Slot;
///
/// let slot: Slot = "Dm7 F5".parse()?;
/// assert_eq!(slot.melody.unwrap().to_string(), "F5");
/// assert!("Dm7 F5 G5".parse::<Slot>().is_err());
/// # Ok::<(), overshell::Error>(())
/// ```
impl std::str::FromStr for Slot {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        let mut words = text.split_whitespace();
        let symbol: ChordSymbol = words.next().unwrap_or_default().parse()?;
        let melody = words.next().map(str::parse).transpose()?;
        if let Some(word) = words.next() {
            let message = format!("unexpected `{}` behind the melody note", crate::pitch::shown(word));
            return Err(Error::new(Kind::Range, message)
                .with_help("write a chord symbol and one melody note, such as `Dm7 F5`"));
        }
        Ok(Self { chord: symbol.chord(), melody, moving: Vec::new() })
    }
}

/// A progression to arrange.
///
/// # Example
///
/// ```
/// use overshell::search::Progression;
///
/// let progression = Progression::from_symbols("C", [("Dm7", "F4"), ("G7", "E4"), ("Cmaj7", "E4")])?;
/// assert_eq!(progression.functions()[1].unwrap().to_string(), "V7/I");
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Progression {
    /// The key, in which the chords have their functions.
    pub key: Key,
    /// The chords in order.
    pub slots: Vec<Slot>,
}

impl Progression {
    /// A progression from texts: the key, then chord symbols with the melody note above each.
    ///
    /// # Errors
    ///
    /// Those of reading the texts.
    pub fn from_symbols<'a>(
        key: &str,
        chords: impl IntoIterator<Item = (&'a str, &'a str)>,
    ) -> crate::Result<Self> {
        let slots = chords.into_iter().map(|(symbol, melody)| {
            Ok(Slot { chord: Some(symbol.parse()?), melody: Some(melody.parse()?), moving: Vec::new() })
        });
        Ok(Self { key: key.parse()?, slots: slots.collect::<crate::Result<_>>()? })
    }

    /// What each chord does in the key.
    pub fn functions(&self) -> Vec<Option<Function>> {
        let chords: Vec<Option<Chord>> = self.slots.iter().map(|slot| slot.chord).collect();
        functions(&chords, self.key)
    }
}
