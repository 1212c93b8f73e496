//! Judging all combinations of a range.

use std::ops::Range;

use super::near::Near;
use super::numbering::Census;
use super::work::{KnownHands, Work};
use crate::error::Result;
use crate::rules::{RuleSet, Score};

/// The scores of consecutive combinations that share a left hand.
#[derive(Clone, Copy, Debug)]
pub struct CensusScores<'s> {
    /// The number of the first.
    pub first: u64,
    /// One after the other.
    pub scores: &'s [Score],
}

impl Census {
    /// Judges the combinations of a range, and gives their scores in order, left hand by left hand. [`RuleSet::judge`] says the
    /// same of each, with reasons.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`](crate::Error::is_range) as [`Census::checked`] has it.
    ///
    /// # Complexity
    ///
    /// Where a range holds whole chords some 60 machine instructions for each combination, a quarter of them for putting its score
    /// where it belongs; memory does not depend on the length of the range.
    ///
    /// # Example
    ///
    /// ```
    /// use overshell::census::{Census, CensusSpace};
    /// use overshell::rules::RuleSet;
    ///
    /// let census = Census::new(CensusSpace::usual())?;
    /// let mut clashes = 0;
    /// census.score(0..10_000, RuleSet::standard(), |part| {
    ///     clashes += part.scores.iter().filter(|score| score.clash).count();
    /// })?;
    /// assert!(clashes > 0);
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn score(
        &self,
        range: Range<u64>,
        rules: &RuleSet,
        mut each: impl FnMut(CensusScores<'_>),
    ) -> Result<()> {
        let mut range = self.checked(range)?;
        let (mut scores, mut known) = (Vec::new(), KnownHands::default());
        while range.start < range.end {
            let Some((chord, lefts, next)) = self.lefts_from(&range) else { break };
            let (hands, memory) = known.at_least_over(self, chord, &lefts);
            let work = Work::new(self, chord, rules, hands);
            let mut of_lefts = lefts.iter();
            work.judge.score_pairs(
                lefts.iter().map(|left| left.keys()),
                hands.rights(),
                Some(memory),
                |pairs| {
                    let Some(left) = of_lefts.next() else { return };
                    let wanted = usize::try_from(left.range.end - left.range.start).unwrap_or(usize::MAX);
                    let runs = hands.runs_over(left, self.space().right_octaves);
                    scores.resize(runs.step * runs.len, Score::default());
                    pairs.put_scores(&runs, &mut scores);
                    let scores = scores.get(left.skip..).unwrap_or_default();
                    let scores = scores.get(..wanted).unwrap_or(scores);
                    each(CensusScores { first: left.range.start, scores });
                },
            );
            range.start = next;
        }
        Ok(())
    }

    /// The same for many ranges, such as a [`CensusFilter`](super::CensusFilter) gives, ascending: what stands ready for a chord serves
    /// all that lie near each other.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`](crate::Error::is_range) as [`Census::checked`] has it; of the ranges before, those near it are not judged
    /// then.
    ///
    /// # Complexity
    ///
    /// What lies between near ranges is judged too; memory does not depend on how many ranges there are.
    ///
    /// # Example
    ///
    /// ```
    /// use overshell::census::{Census, CensusFilter, CensusSpace};
    /// use overshell::rules::RuleSet;
    /// use overshell::voicing::Spacing;
    ///
    /// let census = Census::new(CensusSpace::usual())?;
    /// let open = CensusFilter { spacings: vec![Spacing::Open], ..CensusFilter::default() };
    /// let mut count = 0;
    /// census.score_ranges(open.ranges(&census, 0..10_000), RuleSet::standard(), |part| count += part.scores.len())?;
    /// assert_eq!(count as u64, open.count(&census, 0..10_000));
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn score_ranges(
        &self,
        ranges: impl IntoIterator<Item = Range<u64>>,
        rules: &RuleSet,
        mut each: impl FnMut(CensusScores<'_>),
    ) -> Result<()> {
        for together in Near::new(ranges) {
            let mut parts = together.parts();
            self.score(together.whole(), rules, |part| {
                let place = |number: u64| usize::try_from(number - part.first).unwrap_or(usize::MAX);
                parts(part.first..part.first + part.scores.len() as u64, &mut |own| {
                    let scores = part.scores.get(place(own.start)..place(own.end)).unwrap_or_default();
                    each(CensusScores { first: own.start, scores });
                });
            })?;
        }
        Ok(())
    }
}
