//! Parts of a census by what they are about.

use std::ops::Range;

use super::numbering::Census;
use crate::chord::Family;
use crate::pitch::NoteName;
use crate::voicing::{Inversion, Label, Shell, Spacing};

/// Which combinations are wanted: those that every list which is not empty has. Numbers stay those of the whole census, and
/// what is not wanted is skipped without being looked at.
///
/// # Example
///
/// ```
/// use overshell::census::{Census, CensusFilter, CensusSpace};
///
/// let census = Census::new(CensusSpace::full())?;
/// let filter = CensusFilter { labels: vec!["II".parse()?], ..CensusFilter::default() };
/// assert_eq!(filter.count(&census, 0..census.len()), census.len() / 52);
/// let first = filter.ranges(&census, 0..census.len()).next().unwrap();
/// assert_eq!(census.get(first.start).unwrap().label.to_string(), "II");
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Debug, Default, Eq, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case", default, deny_unknown_fields)]
pub struct CensusFilter {
    /// Roots of the chord.
    pub roots: Vec<NoteName>,
    /// Families of the chord.
    pub families: Vec<Family>,
    /// Chords as they are on C.
    pub chords: Vec<crate::Chord>,
    /// Shells.
    pub shells: Vec<Shell>,
    /// Triads by their degree over the chord.
    pub labels: Vec<Label>,
    /// Inversions.
    pub inversions: Vec<Inversion>,
    /// Spacings.
    pub spacings: Vec<Spacing>,
    /// Octaves of the left hand, from 0.
    pub left_octaves: Vec<u8>,
    /// Octaves of the right hand, from 0.
    pub right_octaves: Vec<u8>,
}

fn wants<T: PartialEq>(list: &[T], value: &T) -> bool {
    list.is_empty() || list.contains(value)
}

impl CensusFilter {
    /// Whether all is wanted.
    pub fn is_everything(&self) -> bool {
        *self == Self::default()
    }

    /// The wanted numbers of a range, as ranges that do not touch, ascending; what of the range lies behind the census counts for
    /// nothing. Takes time with the left hands of the range, not with its combinations.
    pub fn ranges<'c>(
        &'c self,
        census: &'c Census,
        range: Range<u64>,
    ) -> impl Iterator<Item = Range<u64>> + 'c {
        let range = range.start..range.end.min(census.len());
        let pattern = self.pattern(census);
        let lefts = match range.is_empty() {
            true => 0..0,
            false => range.start / census.rights..(range.end - 1) / census.rights + 1,
        };
        let wanted = lefts.filter(|left| self.wants_left(census, *left));
        let within = move |part: Range<u64>| {
            let part = part.start.max(range.start)..part.end.min(range.end);
            (!part.is_empty()).then_some(part)
        };
        let parts = wanted.flat_map(move |left| {
            let begins = left * census.rights;
            let moved = |part: &Range<u64>| begins + part.start..begins + part.end;
            pattern.iter().map(moved).collect::<Vec<_>>()
        });
        joined(parts.filter_map(within))
    }

    /// How many of a range are wanted.
    pub fn count(&self, census: &Census, range: Range<u64>) -> u64 {
        self.ranges(census, range).map(|part| part.end - part.start).sum()
    }

    fn wants_left(&self, census: &Census, left: u64) -> bool {
        let space = census.space();
        let Some(place) = census.left_place(left) else { return false };
        let (Some(root), Some(chord)) = (space.roots.get(place.root), space.chords.get(place.chord)) else {
            return false;
        };
        wants(&self.roots, root)
            && wants(&self.chords, chord)
            && wants(&self.families, &chord.family())
            && wants(&self.shells, &place.shell)
            && wants(&self.left_octaves, &place.octave)
    }

    /// The wanted right hands over any left hand.
    fn pattern(&self, census: &Census) -> Vec<Range<u64>> {
        let space = census.space();
        let octaves = 0..space.right_octaves;
        let ways = itertools::iproduct!(&census.labels, &space.inversions, &space.spacings, octaves);
        let wanted = ways.zip(0u64..).filter(|((label, inversion, spacing, octave), _)| {
            wants(&self.labels, label)
                && wants(&self.inversions, inversion)
                && wants(&self.spacings, spacing)
                && wants(&self.right_octaves, octave)
        });
        joined(wanted.map(|(_, number)| number..number + 1)).collect()
    }
}

/// Ranges that touch as one.
fn joined(ranges: impl Iterator<Item = Range<u64>>) -> impl Iterator<Item = Range<u64>> {
    let mut ranges = ranges.peekable();
    std::iter::from_fn(move || {
        let mut range = ranges.next()?;
        while let Some(next) = ranges.next_if(|next| next.start == range.end) {
            range.end = next.end;
        }
        Some(range)
    })
}
