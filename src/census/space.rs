//! What a census counts.

use serde::{Deserialize, Serialize};

use crate::chord::{Chord, Quality};
use crate::pitch::NoteName;
use crate::rules::RuleSet;
use crate::voicing::{HandSize, Inversion, Shell, Spacing, TriadKind};

/// The number of the numbering: it changes only where a space would number its combinations in another way.
pub const NUMBERING: u32 = 1;

/// Which combinations a census counts: every choice from the lists, as far as the chord has the shell. The order of a list
/// is the order of counting. Its serialised form is small and says all.
///
/// # Example
///
/// ```
/// use overshell::census::{Census, CensusSpace};
///
/// let mut space = CensusSpace::full();
/// assert_eq!(Census::new(space.clone())?.len(), 8_686_080);
/// space.chords = vec!["C7".parse()?]; // chords stand on C here, for every root
/// // 12 roots, 10 shells (a dominant has all), 2 octaves; 52 triads, 3 inversions, 2 spacings, 2 octaves
/// assert_eq!(Census::new(space)?.len(), 12 * 10 * 2 * 52 * 3 * 2 * 2);
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Debug, Eq, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct CensusSpace {
    /// The roots of the chords.
    pub roots: Vec<NoteName>,
    /// The chords as they are on C, without a bass: qualities, with tensions where wanted.
    pub chords: Vec<Chord>,
    /// The shells in the left hand; a chord that lacks a member does without the shell.
    pub shells: Vec<Shell>,
    /// The kinds of triad in the right hand, each on all its roots from the chord's root upwards: twelve, four of the
    /// augmented ones.
    pub triads: Vec<TriadKind>,
    /// Which member of the triad lies lowest, in close position.
    pub inversions: Vec<Inversion>,
    /// Close, open or both.
    pub spacings: Vec<Spacing>,
    /// The MIDI number at or just above which the left hand's lowest note lies in the lowest octave.
    pub lowest: u8,
    /// In how many octaves the left hand lies.
    pub left_octaves: u8,
    /// In how many octaves the right hand lies: in the lowest, its lowest note is the nearest above the left hand.
    pub right_octaves: u8,
    /// The hands, for the rules that ask for their reach.
    pub hand_size: HandSize,
    /// Whether somebody else plays the bass.
    pub bass_player: bool,
}

/// The usual spelling of the twelve roots.
const ROOTS: [&str; 12] = ["C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"];

impl CensusSpace {
    /// All: twelve roots, the 80 qualities, all shells, all triads in all inversions and both spacings; the left hand's lowest
    /// note from C2 to B3, the right hand next to the left or an octave higher, where the highest go beyond the C8 of a piano;
    /// medium hands. 8,686,080 combinations.
    pub fn full() -> Self {
        let on_c = |quality| ROOTS.first().and_then(|c| c.parse().ok()).map(|c| Chord::new(c, quality));
        Self {
            roots: ROOTS.iter().filter_map(|root| root.parse().ok()).collect(),
            chords: Quality::all().filter_map(on_c).collect(),
            shells: Shell::ALL.to_vec(),
            triads: TriadKind::ALL.to_vec(),
            inversions: Inversion::ALL.to_vec(),
            spacings: Spacing::ALL.to_vec(),
            lowest: 36,
            left_octaves: 2,
            right_octaves: 2,
            hand_size: HandSize::default(),
            bass_player: false,
        }
    }

    /// What is usual: like [`CensusSpace::full`], but the named qualities only and the right hand next to the left. No note goes
    /// beyond a piano.
    pub fn usual() -> Self {
        let full = Self::full();
        let named = |chord: &Chord| Quality::NAMED.iter().any(|(_, quality)| *quality == chord.quality());
        let chords = full.chords.iter().copied().filter(named).collect();
        Self { chords, right_octaves: 1, ..full }
    }
}

/// The rules that a census is judged by: their name, and a fingerprint of what they decide.
#[derive(Clone, Debug, Eq, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct CensusRules {
    /// What the set calls itself.
    pub name: String,
    /// [`RuleSet::fingerprint`].
    pub fingerprint: String,
}

impl From<&RuleSet> for CensusRules {
    fn from(rules: &RuleSet) -> Self {
        Self { name: rules.name().to_owned(), fingerprint: rules.fingerprint() }
    }
}

/// All that decides what a census says: written into every output. Outputs with equal descriptions are parts of one.
#[derive(Clone, Debug, Eq, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct CensusDescription {
    /// [`NUMBERING`].
    pub numbering: u32,
    /// The version of this crate, whose tables give names and roughness.
    pub version: String,
    /// How many combinations there are.
    pub len: u64,
    /// What is counted.
    pub space: CensusSpace,
    /// What it is judged by.
    pub rules: CensusRules,
}
