//! What the notes that the melody moves on to do, apart from all else.

use super::sink::Source;
use super::{Judge, Sound};
use crate::rules::kind::{MelodyTest, Test};
use crate::rules::rule::Points;

impl Judge<'_> {
    /// What the notes that the melody moves on to cost more here than under `other`, a judge of the same set over the same chord that
    /// differs in these notes alone: for each left hand (or right), in points. What they cost with two hands is what they cost with
    /// each. `None` where they may do more than cost, or where what they cost depends on both hands.
    pub(crate) fn moving_costs<'h>(
        &self,
        other: &Self,
        left: bool,
        hands: impl Iterator<Item = &'h [u8]>,
    ) -> Option<Vec<i32>> {
        let (own, others) = (self.moving_tests()?, other.moving_tests()?);
        if own.is_empty() && others.is_empty() {
            return Some(vec![0; hands.count()]);
        }
        let sum = |tests: &[(i32, &MelodyTest)], sound: &Sound| {
            let mut sum = 0i32;
            for (cost, test) in tests {
                test.run(sound, |times, _| sum = sum.saturating_add(cost.saturating_mul(times)));
            }
            sum
        };
        let more = hands.map(|keys| {
            let sound = if left { Sound::new(keys, &[]) } else { Sound::new(&[], keys) };
            sum(&own, &sound).saturating_sub(sum(&others, &sound))
        });
        Some(more.collect())
    }

    /// The tests of melody notes with what each costs; `None` where that is not all there is to them.
    fn moving_tests(&self) -> Option<Vec<(i32, &MelodyTest)>> {
        let is_gated = self.gated.iter().any(|(.., test)| matches!(test, Test::Melody(_)));
        if is_gated || !self.coded.is_empty() {
            return None;
        }
        let tests = self.always.all().iter().filter_map(|(source, test)| match test {
            Test::Melody(test) => Some((source, test)),
            _ => None,
        });
        let cost = |source: &Source| match source.points {
            Points::Cost(cost) => Some(cost),
            _ => None,
        };
        tests.map(|(source, test)| Some((cost(source)?, &**test))).collect()
    }
}
