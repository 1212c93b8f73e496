//! Ranges that lie near each other, worked on in one go.

use std::iter::Peekable;
use std::ops::Range;

/// Ranges no farther apart are taken together: every chord that is met anew costs more than as many combinations that nobody asked
/// for.
const NEAR: u64 = 1_000;

/// So many ranges are taken together at the most.
const MOST_AT_ONCE: usize = 65_536;

/// Ascending ranges, those that lie near each other at a time.
pub(super) struct Near<I: Iterator<Item = Range<u64>>> {
    ranges: Peekable<I>,
}

/// Near ranges, ascending; at least one.
pub(super) struct Together {
    ranges: Vec<Range<u64>>,
}

impl<I: Iterator<Item = Range<u64>>> Near<I> {
    pub(super) fn new(ranges: impl IntoIterator<IntoIter = I>) -> Self {
        Self { ranges: ranges.into_iter().peekable() }
    }
}

impl<I: Iterator<Item = Range<u64>>> Iterator for Near<I> {
    type Item = Together;

    fn next(&mut self) -> Option<Together> {
        let first = self.ranges.next()?;
        let mut end = first.end;
        let mut ranges = vec![first];
        while ranges.len() < MOST_AT_ONCE
            && let Some(next) = self.ranges.next_if(|next| {
                next.start <= next.end && next.start.checked_sub(end).is_some_and(|gap| gap <= NEAR)
            })
        {
            end = next.end;
            ranges.push(next);
        }
        Some(Together { ranges })
    }
}

impl Together {
    /// From the start of the first to the end of the last; what lies between belongs to it.
    pub(super) fn whole(&self) -> Range<u64> {
        let ends = self.ranges.first().zip(self.ranges.last());
        ends.map_or(0..0, |(first, last)| first.start..last.end)
    }

    /// For stretches of the whole that follow each other: what of each belongs to one of the ranges.
    pub(super) fn parts(&self) -> impl FnMut(Range<u64>, &mut dyn FnMut(Range<u64>)) {
        let mut left = &self.ranges[..];
        move |stretch, each| {
            while let [range, others @ ..] = left
                && range.start < stretch.end
            {
                let own = range.start.max(stretch.start)..range.end.min(stretch.end);
                if own.start < own.end {
                    each(own);
                }
                if range.end > stretch.end {
                    break;
                }
                left = others;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        /// Nothing is lost and nothing is added, however the whole is cut.
        #[test]
        fn prop_parts_are_what_was_asked_for(
            steps in prop::collection::vec((prop_oneof![4 => 0u64..9, 1 => 0u64..2_500], 0u64..700), 0..40),
            stretch in 1u64..1_500,
        ) {
            let mut at = 0;
            let mut range = |(gap, len): &(u64, u64)| {
                let start = at + gap;
                at = start + len;
                start..at
            };
            let ranges: Vec<_> = steps.iter().map(&mut range).collect();
            let mut found = Vec::new();
            for together in Near::new(ranges.iter().cloned()) {
                let whole = together.whole();
                let mut parts = together.parts();
                for start in whole.clone().step_by(stretch as usize) {
                    parts(start..whole.end.min(start + stretch), &mut |part| found.extend(part));
                }
            }
            prop_assert!(found.into_iter().eq(ranges.into_iter().flatten()));
        }
    }

    #[test]
    fn ok_far_apart_and_backwards() {
        let alone = |ranges: &[Range<u64>]| {
            Near::new(ranges.iter().cloned()).map(|near| near.ranges.len()).collect::<Vec<_>>()
        };
        assert_eq!(alone(&[0..5, 5 + NEAR..5 + NEAR, 7 + 2 * NEAR..8 + 2 * NEAR]), [2, 1]);
        assert_eq!(alone(&[10..20, 5..30]), [1, 1]);
        #[expect(clippy::reversed_empty_ranges, reason = "they are left to whoever refuses them")]
        let backwards = [0..5, 7..6];
        assert_eq!(alone(&backwards), [1, 1]);
    }
}
