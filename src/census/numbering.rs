//! Which number a combination has.

use std::ops::Range;

use itertools::Itertools;

use super::combination::Combination;
use super::space::{CensusDescription, CensusSpace, NUMBERING};
use crate::chord::Chord;
use crate::error::{Error, Kind, Result};
use crate::pitch::Pitch;
use crate::rules::{RuleSet, Situation};
use crate::voicing::{Label, Shell, TriadKind, Voicing};

/// Every combination of a space, numbered from 0 without a gap.
///
/// The number is a promise: it counts in this order, what stands first most slowly: root, chord, shell, octave of the left
/// hand, kind of triad, root of the triad, inversion, spacing, octave of the right hand. Nothing is stored, so that any part
/// can be had anywhere by its range.
///
/// # Example
///
/// ```
/// use overshell::census::{Census, CensusSpace};
///
/// let census = Census::new(CensusSpace::usual())?;
/// let index = census.len() / 2;
/// let combination = census.get(index).unwrap();
/// assert_eq!(census.index_of(&combination), Some(index));
/// assert_eq!(census.get(census.len()), None);
/// println!("{}", census.voicing(&combination).unwrap());
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Debug)]
pub struct Census {
    space: CensusSpace,
    /// The shells of each chord, and how many left hands come before it on the same root.
    pub(super) chords: Vec<Shells>,
    /// In order.
    pub(super) labels: Vec<Label>,
    /// Right hands to each left hand.
    pub(super) rights: u64,
    /// Left hands on each root.
    pub(super) lefts: u64,
    len: u64,
}

/// The shells that a chord has.
#[derive(Clone, Debug)]
pub(super) struct Shells {
    pub(super) before: u64,
    pub(super) shells: Vec<Shell>,
}

/// A left hand by its place among all.
#[derive(Clone, Copy, Debug)]
pub(super) struct LeftPlace {
    pub(super) root: usize,
    pub(super) chord: usize,
    pub(super) shell: Shell,
    pub(super) octave: u8,
}

/// The highest note of an open triad above its lowest, in semitones.
const WIDEST: u16 = 18;

impl Census {
    /// Numbers a space.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`] where a list is empty or says something twice, a chord does not stand on C or has a bass, no chord has
    /// any of the shells, or the highest hands leave MIDI; [`Error::is_limit`] where there are more combinations than the
    /// machine can count.
    pub fn new(space: CensusSpace) -> Result<Self> {
        check_lists(&space)?;
        let mut before = 0u64;
        let octaves = u64::from(space.left_octaves);
        let mut chords = Vec::with_capacity(space.chords.len());
        for chord in &space.chords {
            let has = |shell: &Shell| shell.degrees(*chord).is_some();
            let shells: Vec<Shell> = space.shells.iter().copied().filter(has).collect();
            let count = u64::try_from(shells.len()).unwrap_or(u64::MAX).saturating_mul(octaves);
            chords.push(Shells { before, shells });
            before = before.saturating_add(count);
        }
        if before == 0 {
            return Err(wrong("no chord of the space has any of its shells".to_owned())
                .with_help("every chord has the shell `1`"));
        }
        let labels: Vec<Label> = space.triads.iter().flat_map(|kind| labels_of(*kind)).collect();
        let ways = [labels.len(), space.inversions.len(), space.spacings.len(), space.right_octaves.into()];
        let rights = product(ways);
        let len = [u64::try_from(space.roots.len()).unwrap_or(u64::MAX), before, rights];
        let len = len.into_iter().fold(1u64, u64::saturating_mul);
        if usize::try_from(len).is_err() || len == u64::MAX {
            return Err(Error::new(
                Kind::Limit,
                "the space has more combinations than this machine can count",
            )
            .with_help("leave some chords or octaves out"));
        }
        let census = Self { space, chords, labels, rights, lefts: before, len };
        census.check_ends()?;
        Ok(census)
    }

    /// Refuses hands that leave MIDI: every number stands for hands that can sound.
    fn check_ends(&self) -> Result<()> {
        let space = &self.space;
        let too_high = |chord: Chord, what: &str| {
            wrong(format!("over `{chord}` the highest {what} leaves MIDI, which ends at 127"))
                .with_help("start lower, or leave an octave out")
        };
        let lift = u16::from(space.right_octaves.saturating_sub(1)) * 12;
        for (root, (chord, of_chord)) in
            itertools::iproduct!(&space.roots, space.chords.iter().zip(&self.chords))
        {
            let chord = chord.on_root(*root);
            let octave = space.left_octaves.saturating_sub(1);
            for shell in &of_chord.shells {
                let lowest = u16::from(space.lowest) + u16::from(octave) * 12;
                let left = u8::try_from(lowest).ok().and_then(|lowest| shell.hand_from(chord, lowest));
                let top = left.and_then(|hand| hand.highest()).map(Pitch::midi);
                let top = top.ok_or_else(|| too_high(chord, "left hand"))?;
                if u16::from(top) + lift + 12 + WIDEST <= u16::from(Pitch::HIGHEST_MIDI) {
                    continue;
                }
                let above = u8::try_from(u16::from(top) + lift).ok();
                let fits = |label: &Label| {
                    let ways = space.inversions.iter().cartesian_product(&space.spacings);
                    let triad = label.triad_over(chord);
                    ways.into_iter().all(|(i, s)| above.and_then(|a| triad.keys_above(*i, *s, a)).is_some())
                };
                if !self.labels.iter().all(fits) {
                    return Err(too_high(chord, "right hand"));
                }
            }
        }
        Ok(())
    }

    /// What is counted.
    pub fn space(&self) -> &CensusSpace {
        &self.space
    }

    /// What is to be written beside the results under these rules.
    pub fn description(&self, rules: &RuleSet) -> CensusDescription {
        CensusDescription {
            numbering: NUMBERING,
            version: env!("CARGO_PKG_VERSION").to_owned(),
            len: self.len,
            space: self.space.clone(),
            rules: rules.into(),
        }
    }

    /// How many combinations there are, at least 1.
    #[expect(clippy::len_without_is_empty, reason = "no space is empty")]
    pub fn len(&self) -> u64 {
        self.len
    }

    /// The combination of this number; `None` beyond the last. Takes constant time but for a search among the chords.
    pub fn get(&self, index: u64) -> Option<Combination> {
        if index >= self.len {
            return None;
        }
        let place = self.left_place(index / self.rights)?;
        let space = &self.space;
        let (rest, right_octave) = split(index % self.rights, space.right_octaves.into());
        let (rest, spacing) = split(rest, space.spacings.len());
        let (rest, inversion) = split(rest, space.inversions.len());
        Some(Combination {
            chord: space.chords.get(place.chord)?.on_root(*space.roots.get(place.root)?),
            shell: place.shell,
            left_octave: place.octave,
            label: *self.labels.get(usize::try_from(rest).ok()?)?,
            inversion: *space.inversions.get(inversion)?,
            spacing: *space.spacings.get(spacing)?,
            right_octave: u8::try_from(right_octave).ok()?,
        })
    }

    /// The left hand of this number, counted by themselves.
    pub(super) fn left_place(&self, number: u64) -> Option<LeftPlace> {
        let (root, of_root) = (number / self.lefts, number % self.lefts);
        let behind = self.chords.partition_point(|chord| chord.before <= of_root);
        let chord = behind.checked_sub(1)?;
        let of_chord = self.chords.get(chord)?;
        let (shell, octave) = split(of_root - of_chord.before, self.space.left_octaves.into());
        Some(LeftPlace {
            root: usize::try_from(root).ok()?,
            chord,
            shell: *of_chord.shells.get(usize::try_from(shell).ok()?)?,
            octave: u8::try_from(octave).ok()?,
        })
    }

    /// The number of a combination; `None` where the space does not have it.
    pub fn index_of(&self, combination: &Combination) -> Option<u64> {
        let space = &self.space;
        let place = |of: Option<usize>| of.and_then(|place| u64::try_from(place).ok());
        let root = place(space.roots.iter().position(|root| *root == combination.chord.root()))?;
        let is_it = |(c, root): (&Chord, _)| c.on_root(root) == combination.chord;
        let roots = std::iter::repeat(combination.chord.root());
        let of_chord = self.chords.get(space.chords.iter().zip(roots).position(is_it)?)?;
        let shell = place(of_chord.shells.iter().position(|shell| *shell == combination.shell))?;
        let label = place(self.labels.iter().position(|label| *label == combination.label))?;
        let inversion = place(space.inversions.iter().position(|i| *i == combination.inversion))?;
        let spacing = place(space.spacings.iter().position(|s| *s == combination.spacing))?;
        if combination.left_octave >= space.left_octaves || combination.right_octave >= space.right_octaves {
            return None;
        }
        let octaves = u64::from(space.left_octaves);
        let left = root * self.lefts + of_chord.before + shell * octaves + u64::from(combination.left_octave);
        let [inversions, spacings] =
            [space.inversions.len(), space.spacings.len()].map(|len| place(Some(len)).unwrap_or_default());
        let right = (label * inversions + inversion) * spacings + spacing;
        let right = right * u64::from(space.right_octaves) + u64::from(combination.right_octave);
        Some(left * self.rights + right)
    }

    /// Both hands on the keyboard, spelled; `None` where the space does not have the combination.
    pub fn voicing(&self, combination: &Combination) -> Option<Voicing> {
        self.index_of(combination)?;
        combination.voicing(self.space.lowest)
    }

    /// The chord of this place, on its root.
    pub(super) fn chord(&self, root: usize, chord: usize) -> Option<Chord> {
        Some(self.space.chords.get(chord)?.on_root(*self.space.roots.get(root)?))
    }

    /// What is known around every chord.
    pub(super) fn situation(&self) -> Situation {
        let CensusSpace { hand_size, bass_player, .. } = self.space;
        Situation { hand_size, bass_player, ..Situation::default() }
    }

    /// The range, where the census has it.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`] where it is reversed or ends behind the last combination.
    pub fn checked(&self, range: Range<u64>) -> Result<Range<u64>> {
        let Range { start, end } = range;
        if start > end {
            return Err(wrong(format!("the range `{start}..{end}` is reversed"))
                .with_help(format!("write `{end}..{start}`")));
        }
        if end > self.len {
            let len = self.len;
            return Err(wrong(format!("the range `{start}..{end}` ends behind the last of {len}"))
                .with_help(format!("the whole census is `0..{len}`")));
        }
        Ok(start..end)
    }

    /// The part of a range that is number `shard` (from 0) of `of` parts, each as long as the others or one longer.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`] where there is no such shard.
    ///
    /// ```
    /// use overshell::census::{Census, CensusSpace};
    ///
    /// let census = Census::new(CensusSpace::usual())?;
    /// assert_eq!(census.shard(0..10, 1, 3)?, 4..7);
    /// assert!(census.shard(0..10, 3, 3).unwrap_err().is_range());
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn shard(&self, range: Range<u64>, shard: u64, of: u64) -> Result<Range<u64>> {
        let Range { start, end } = self.checked(range)?;
        if shard >= of {
            return Err(wrong(format!("there is no shard `{shard}/{of}`")).with_help(
                match of.checked_sub(1) {
                    Some(last) => format!("the shards are `0/{of}` to `{last}/{of}`"),
                    None => "write `0/1` for all in one".to_owned(),
                },
            ));
        }
        let (each, longer) = ((end - start) / of, (end - start) % of);
        let from = |shard: u64| start + shard * each + shard.min(longer);
        Ok(from(shard)..from(shard + 1))
    }
}

/// The triads of a kind by the degrees on which they stand.
fn labels_of(kind: TriadKind) -> impl Iterator<Item = Label> {
    let roots = if kind == TriadKind::Augmented { 4 } else { 12 };
    (0..roots).map(move |semitones| Label::new(semitones, kind))
}

/// What is left above the lowest digit of this base, and the digit.
fn split(number: u64, base: usize) -> (u64, usize) {
    let base = u64::try_from(base).unwrap_or(u64::MAX).max(1);
    (number / base, usize::try_from(number % base).unwrap_or(usize::MAX))
}

fn product(of: [usize; 4]) -> u64 {
    of.into_iter().fold(1, |all, one| all.saturating_mul(u64::try_from(one).unwrap_or(u64::MAX)))
}

pub(super) fn wrong(message: String) -> Error {
    Error::new(Kind::Range, message)
}

fn check_lists(space: &CensusSpace) -> Result<()> {
    for chord in &space.chords {
        if chord.bass().is_some() || chord.root().to_string() != "C" {
            return Err(wrong(format!("the chord `{chord}` of the space does not stand on C"))
                .with_help("write chords as they are on C, without a bass, such as `Cm7b5`"));
        }
    }
    let lists = [
        ("roots", texts(&space.roots)),
        ("chords", texts(&space.chords)),
        ("shells", texts(&space.shells)),
        ("triads", space.triads.iter().map(|kind| kind.name().to_owned()).collect()),
        ("inversions", space.inversions.iter().map(|i| i.as_str().to_owned()).collect()),
        ("spacings", space.spacings.iter().map(|s| s.as_str().to_owned()).collect()),
    ];
    for (name, list) in lists {
        if list.is_empty() {
            return Err(wrong(format!("the space has no {name}")).with_help("give at least one"));
        }
        if let Some(twice) = list.iter().duplicates().next() {
            return Err(wrong(format!("the space has `{twice}` twice among its {name}"))
                .with_help("leave one of the two out"));
        }
    }
    let octaves = [("left", space.left_octaves), ("right", space.right_octaves)];
    if let Some((hand, _)) = octaves.iter().find(|(_, octaves)| *octaves == 0) {
        return Err(wrong(format!("the {hand} hand has no octave")).with_help("give at least one"));
    }
    Ok(())
}

fn texts(list: &[impl ToString]) -> Vec<String> {
    list.iter().map(ToString::to_string).collect()
}
