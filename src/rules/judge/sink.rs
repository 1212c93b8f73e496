//! Where firings go: the one difference between a score and a judgement.

use smallvec::SmallVec;

use super::Score;
use crate::rules::rule::Points;

/// Which rule a test belongs to and what it does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Source {
    pub(super) rule: u16,
    pub(super) points: Points,
    /// The same points as they are added up.
    weight: Sum,
}

impl Source {
    pub(super) fn new(rule: u16, points: Points) -> Self {
        let weight = match points {
            Points::Clash => Sum { clash: true, ..Sum::default() },
            Points::Cost(cost) => Sum { cost: i64::from(cost), ..Sum::default() },
            Points::Colour(colour) => Sum { colour: i64::from(colour), ..Sum::default() },
            Points::Own => Sum::default(),
        };
        Self { rule, points, weight }
    }

    pub(super) fn weight(&self) -> Sum {
        self.weight
    }
}

/// Where firings go.
pub(super) trait Sink {
    /// Fires so many times, 1 or more.
    fn fire(&mut self, source: &Source, times: i32, classes: u16);
}

/// Counts and forgets who fired. With at most 2¹⁵ rules and 2⁴¹ points for each nothing overflows.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Sum {
    pub(super) clash: bool,
    cost: i64,
    colour: i64,
}

impl Sum {
    /// Adds so many times the other.
    #[inline]
    pub(super) fn add(&mut self, other: &Self, times: i32) {
        self.clash |= other.clash;
        self.cost += other.cost * i64::from(times);
        self.colour += other.colour * i64::from(times);
    }

    #[inline]
    pub(super) fn add_both(&mut self, both: Both) {
        self.cost += i64::from(both.0 as u32);
        self.colour += (both.0 >> 32) as i64;
    }

    #[inline]
    pub(super) fn score(&self) -> Score {
        let points = |sum: i64| i32::try_from(sum).unwrap_or(i32::MAX);
        Score { clash: self.clash, cost: points(self.cost), colour: points(self.colour) }
    }
}

impl Sink for Sum {
    #[inline]
    fn fire(&mut self, source: &Source, times: i32, _: u16) {
        self.add(&source.weight, times);
    }
}

/// Cost in the lower half and colour in the upper, so that one addition serves both. A file's rule has at most 1,000
/// points, a set at most 20,000 rules, and what is summed up like this fires at most 127 times: neither half overflows.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Both(u64);

impl Both {
    #[inline(always)]
    pub(super) fn plus(self, other: Self) -> Self {
        Self(self.0.wrapping_add(other.0))
    }

    #[inline]
    pub(super) fn add(&mut self, other: Self) {
        *self = self.plus(other);
    }

    /// Adds so many times the other.
    #[inline]
    pub(super) fn add_product(&mut self, other: Self, times: u32) {
        self.0 = self.0.wrapping_add(other.0.wrapping_mul(u64::from(times)));
    }

    /// The points, once.
    pub(super) fn of(weight: &Sum) -> Self {
        let mut both = Self::default();
        both.add_times(weight, 1);
        both
    }

    /// Cost and colour, at most [`i32::MAX`] each; without branches.
    #[inline(always)]
    fn halves(self) -> [i32; 2] {
        // A number beyond has its highest bit set, which becomes all others.
        [self.0 as u32, (self.0 >> 32) as u32].map(|half| (half as i32 | half as i32 >> 31) & i32::MAX)
    }

    /// The cost less the colour, up to `enough` ≥ 0.
    #[inline(always)]
    pub(super) fn points(self, enough: i32) -> i32 {
        let [cost, colour] = self.halves();
        cost - colour.min(enough)
    }

    /// As a score.
    #[inline]
    pub(super) fn score(self, clash: bool) -> Score {
        // Hardly any number is beyond, which one look at both tells.
        const BEYOND: u64 = 1 << 31 | 1 << 63;
        let [cost, colour] =
            if self.0 & BEYOND == 0 { [self.0 as i32, (self.0 >> 32) as i32] } else { self.halves() };
        Score { clash, cost, colour }
    }

    /// Adds so many times the points.
    pub(super) fn add_times(&mut self, weight: &Sum, times: u32) {
        let both = weight.cost.unsigned_abs() | weight.colour.unsigned_abs() << 32;
        self.0 = self.0.wrapping_add(both.wrapping_mul(u64::from(times)));
    }

    /// Takes so many times the points away that were added before.
    pub(super) fn take_times(&mut self, weight: &Sum, times: u32) {
        let mut taken = Self::default();
        taken.add_times(weight, times);
        self.0 = self.0.wrapping_sub(taken.0);
    }
}

/// What one rule has fired: its points each time, how often, and the pitch classes concerned.
#[derive(Clone, Copy, Debug)]
pub(super) struct Fired {
    pub(super) source: Source,
    pub(super) times: i32,
    pub(super) classes: u16,
}

/// Counts and remembers.
#[derive(Default)]
pub(super) struct Explain {
    pub(super) sum: Sum,
    pub(super) fired: SmallVec<[Fired; 8]>,
}

impl Sink for Explain {
    fn fire(&mut self, source: &Source, times: i32, classes: u16) {
        self.sum.add(&source.weight, times);
        let same = |earlier: &&mut Fired| {
            earlier.source.rule == source.rule && earlier.source.points == source.points
        };
        match self.fired.iter_mut().find(same) {
            Some(earlier) => {
                earlier.times = earlier.times.saturating_add(times);
                earlier.classes |= classes;
            }
            None => self.fired.push(Fired { source: *source, times, classes }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where halves end, as the score says it.
    #[test]
    fn ok_points_at_the_ends() {
        let ends = [0, 1, 17, i64::from(i32::MAX), i64::from(i32::MAX) + 1, i64::from(u32::MAX)];
        for (cost, colour) in itertools::iproduct!(ends, ends) {
            let sum = Sum { clash: true, cost, colour };
            let Score { cost, colour, .. } = sum.score();
            for enough in [0, 5, i32::MAX] {
                assert_eq!(Both::of(&sum).points(enough), cost - colour.min(enough));
            }
            assert_eq!(Both::of(&sum).score(true), sum.score());
        }
    }
}
