//! How many combinations have which verdict, by triad and family.

use std::ops::Range;

use super::numbering::Census;
use crate::chord::Family;
use crate::error::Result;
use crate::rules::{RuleSet, Verdict};
use crate::voicing::Label;

/// How many combinations have which verdict.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq, serde::Serialize)]
pub struct CensusCounts {
    /// Those that colour.
    pub colour: u64,
    /// Those that are plain.
    pub plain: u64,
    /// Those that clash.
    pub clash: u64,
}

impl CensusCounts {
    /// All together.
    pub fn all(&self) -> u64 {
        self.colour + self.plain + self.clash
    }

    /// How many of a hundred colour, are plain, clash, each rounded down but for the largest remainders, so that they make a
    /// hundred; nothing of nothing.
    pub fn hundredths(&self) -> [u64; 3] {
        let all = u128::from(self.all());
        if all == 0 {
            return [0; 3];
        }
        let hundred = [self.colour, self.plain, self.clash].map(|count| 100 * u128::from(count));
        let mut shares = hundred.map(|count| u64::try_from(count / all).unwrap_or_default());
        let mut order = [0, 1, 2];
        order.sort_by_key(|place: &usize| std::cmp::Reverse(hundred.get(*place).map(|count| count % all)));
        let missing = usize::try_from(100 - shares.iter().sum::<u64>()).unwrap_or_default();
        for place in order.into_iter().take(missing) {
            if let Some(share) = shares.get_mut(place) {
                *share += 1;
            }
        }
        shares
    }

    fn add(&mut self, other: Self) {
        self.colour += other.colour;
        self.plain += other.plain;
        self.clash += other.clash;
    }

    fn count(&mut self, verdict: Verdict) {
        *match verdict {
            Verdict::Colour => &mut self.colour,
            Verdict::Plain => &mut self.plain,
            Verdict::Clash => &mut self.clash,
        } += 1;
    }
}

/// How many combinations have which verdict, by triad and family of the chord.
///
/// # Example
///
/// ```
/// use overshell::census::{Census, CensusFilter, CensusSpace, CensusSummary};
/// use overshell::chord::Family;
/// use overshell::rules::RuleSet;
///
/// let census = Census::new(CensusSpace::usual())?;
/// let c7 = CensusFilter { roots: vec!["C".parse()?], chords: vec!["C7".parse()?], ..CensusFilter::default() };
/// let summary = CensusSummary::new(&census, RuleSet::standard(), c7.ranges(&census, 0..census.len()))?;
/// // The natural fourth fights the third: over C7 nothing on IV is free of it where a third sounds below.
/// assert!(summary.of("IV".parse()?, Family::Dominant).clash > 0);
/// assert_eq!(summary.of("II".parse()?, Family::Major).all(), 0);
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Debug)]
pub struct CensusSummary {
    labels: Vec<Label>,
    /// A row for each label, a cell for each family.
    counts: Vec<[CensusCounts; Family::ALL.len()]>,
}

impl CensusSummary {
    /// Judges the combinations of these ranges and counts them.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`](crate::Error::is_range) as [`Census::checked`] has it.
    pub fn new(
        census: &Census,
        rules: &RuleSet,
        ranges: impl IntoIterator<Item = Range<u64>>,
    ) -> Result<Self> {
        let mut summary =
            Self { labels: census.labels.clone(), counts: vec![Default::default(); census.labels.len()] };
        let ways = (census.rights / u64::try_from(census.labels.len()).unwrap_or(u64::MAX).max(1)).max(1);
        let verdict = |score| rules.verdict(score);
        // Many ranges may share a left hand, and with it the family of its chord.
        let mut known: Option<(u64, Option<usize>)> = None;
        census.score_ranges(ranges, rules, |part| {
            let left = part.first / census.rights;
            let cell = match known {
                Some((known, cell)) if known == left => cell,
                _ => census.get(part.first).and_then(|first| place(first.chord.family())),
            };
            known = Some((left, cell));
            let Some(cell) = cell else { return };
            let numbers = part.first % census.rights..;
            for (number, score) in numbers.zip(part.scores) {
                let row = usize::try_from(number / ways).ok().and_then(|row| summary.counts.get_mut(row));
                if let Some(counts) = row.and_then(|row| row.get_mut(cell)) {
                    counts.count(verdict(*score));
                }
            }
        })?;
        Ok(summary)
    }

    /// The triads, in the order of the census.
    pub fn labels(&self) -> &[Label] {
        &self.labels
    }

    /// Of a triad over the chords of a family.
    pub fn of(&self, label: Label, family: Family) -> CensusCounts {
        let row = self.labels.iter().position(|own| *own == label).and_then(|row| self.counts.get(row));
        row.zip(place(family)).and_then(|(row, cell)| row.get(cell)).copied().unwrap_or_default()
    }

    /// Of a triad over all chords.
    pub fn of_label(&self, label: Label) -> CensusCounts {
        sum(Family::ALL.into_iter().map(|family| self.of(label, family)))
    }

    /// Of all triads over the chords of a family.
    pub fn of_family(&self, family: Family) -> CensusCounts {
        sum(self.labels.iter().map(|label| self.of(*label, family)))
    }

    /// Of all.
    pub fn total(&self) -> CensusCounts {
        sum(self.labels.iter().map(|label| self.of_label(*label)))
    }
}

fn place(family: Family) -> Option<usize> {
    Family::ALL.iter().position(|own| *own == family)
}

fn sum(of: impl Iterator<Item = CensusCounts>) -> CensusCounts {
    of.fold(CensusCounts::default(), |mut all, counts| {
        all.add(counts);
        all
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::census::{CensusFilter, CensusRows, CensusSpace};
    use proptest::prelude::*;
    use std::ops::ControlFlow;

    /// The slow twin: row by row.
    #[test]
    fn ok_counts_as_rows_say() {
        let census = Census::new(CensusSpace::usual()).unwrap();
        let filter = CensusFilter {
            labels: ["II", "bVI", "i", "V+", "IVsus"].map(|l| l.parse().unwrap()).to_vec(),
            ..Default::default()
        };
        let range = 90_000..190_123;
        let summary =
            CensusSummary::new(&census, RuleSet::standard(), filter.ranges(&census, range.clone())).unwrap();
        let mut counts = std::collections::HashMap::<_, CensusCounts>::new();
        let rows = CensusRows::new(&census, RuleSet::standard());
        for part in filter.ranges(&census, range.clone()) {
            let all = rows.visit(part, |row| {
                let combination = row.combination().unwrap();
                counts
                    .entry((combination.label, combination.chord.family()))
                    .or_default()
                    .count(row.verdict());
                ControlFlow::<()>::Continue(())
            });
            assert!(all.unwrap().is_continue());
        }
        assert!(counts.len() > 15);
        for label in summary.labels() {
            for family in Family::ALL {
                assert_eq!(
                    summary.of(*label, family),
                    counts.get(&(*label, family)).copied().unwrap_or_default()
                );
            }
        }
        assert_eq!(summary.total().all(), filter.count(&census, range));
        assert_eq!(sum(Family::ALL.into_iter().map(|family| summary.of_family(family))), summary.total());
    }

    proptest! {
        #[test]
        fn prop_hundredths_make_a_hundred(colour in 0u64..1 << 50, plain in 0u64..1 << 50, clash in 0u64..1 << 50) {
            let counts = CensusCounts { colour, plain, clash };
            let shares = counts.hundredths();
            prop_assert_eq!(shares.iter().sum::<u64>(), if counts.all() == 0 { 0 } else { 100 });
            for (share, count) in shares.into_iter().zip([colour, plain, clash]) {
                let exact = 100.0 * count as f64 / counts.all().max(1) as f64;
                prop_assert!((share as f64 - exact).abs() < 1.0 + 1e-6);
            }
        }
    }
}
