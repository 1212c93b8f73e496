//! What every chord of a progression does, in which key, and why.
//!
//! The key is given or estimated, and the answer says which. Keys change where a section has a cadence of its own; a
//! passing one, such as a secondary ii-V, leaves the key alone.

mod estimate;
mod local;
mod pairs;
mod reading;

pub use estimate::estimate_key;
pub use pairs::{TwoFive, TwoFiveKind};
pub use reading::{Belonging, FunctionReason, Passing};

use super::{Chord, Function, Key};
use reading::Context;

/// What [`analyse`] finds.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
#[non_exhaustive]
pub struct Analysis {
    /// The home key.
    pub key: Key,
    /// Where the home key comes from.
    pub origin: KeyOrigin,
    /// The chords in order; `None` where there is none.
    pub chords: Vec<Option<ChordAnalysis>>,
    /// The pairs of ii and V in order.
    pub pairs: Vec<TwoFive>,
}

/// Where a key comes from.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum KeyOrigin {
    /// It was given.
    Given,
    /// It was estimated.
    Estimated {
        /// Points of the key, see [`estimate_key`].
        points: i32,
        /// The key that came second.
        second: Key,
        /// Points ahead of the second; 0 is a toss-up.
        margin: i32,
    },
}

impl std::fmt::Display for KeyOrigin {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Given => f.write_str("given"),
            Self::Estimated { second, margin, .. } => {
                write!(f, "estimated, {margin} points ahead of {second}")
            }
        }
    }
}

/// What one chord does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[non_exhaustive]
pub struct ChordAnalysis {
    /// The chord.
    pub chord: Chord,
    /// The key in force.
    pub key: Key,
    /// What it does in that key.
    pub function: Function,
    /// How it belongs to that key.
    pub belonging: Belonging,
    /// Why.
    pub reason: FunctionReason,
    /// Place in [`Analysis::pairs`] of the pair that it is in.
    pub pair: Option<usize>,
}

/// What every chord of a progression does, with the key in force and a reason for each; the home key is estimated where
/// none is given.
///
/// In one key throughout, the functions are those of [`functions`](super::functions).
///
/// # Complexity
///
/// Linear in the number of chords: for each 24 readings, twice where the key is estimated.
///
/// # Example
///
/// ```
/// use overshell::chord::{analyse, chord};
///
/// let tune = ["Dm7", "G7", "Cmaj7", "Em7b5", "A7", "Dm7", "Db7", "Cmaj7"].map(|s| Some(chord(s)));
/// let analysis = analyse(&tune, None);
/// assert_eq!(analysis.key.to_string(), "C");
/// assert!(analysis.origin.to_string().starts_with("estimated"));
///
/// let a7 = analysis.chords[4].unwrap();
/// assert_eq!((a7.function.to_string(), a7.belonging.to_string()), ("V7/ii".into(), "applied".into()));
/// assert_eq!(a7.reason.to_string(), "it falls a fifth to `Dm7`");
/// assert_eq!(analysis.chords[3].unwrap().reason.to_string(), "it prepares `A7`");
/// assert_eq!(analysis.pairs.len(), 3); // Dm7 G7, Em7b5 A7, Dm7 Db7
/// ```
pub fn analyse(chords: &[Option<Chord>], key: Option<Key>) -> Analysis {
    let context = Context::new(chords);
    let (key, origin) = match key {
        Some(key) => (key, KeyOrigin::Given),
        None => estimated(&context),
    };
    let local = local::local_keys(&context, key);
    let analysed = local.iter().enumerate().map(|(at, key)| {
        let reading = context.reading(at, *key)?;
        Some(ChordAnalysis {
            chord: context.chord(at)?,
            key: *key,
            function: reading.function,
            belonging: reading.belonging,
            reason: reading.reason,
            pair: context.pair_of.get(at).copied().flatten(),
        })
    });
    let chords = analysed.collect();
    let pair = |pair: &TwoFive| Some(pair.in_key(context.chord(pair.five)?, *local.get(pair.five)?));
    Analysis { key, origin, chords, pairs: context.pairs.iter().filter_map(pair).collect() }
}

fn estimated(context: &Context<'_>) -> (Key, KeyOrigin) {
    let mut ranked = estimate::estimate(context).into_iter();
    let (key, points) = ranked.next().unwrap_or((Key::C_MAJOR, 0));
    let (second, behind) = ranked.next().unwrap_or((key, points));
    (key, KeyOrigin::Estimated { points, second, margin: points - behind })
}
