//! Tests on pitch classes as tables, so that their number does not slow judging: however many rules speak of a pitch class or
//! of a pair of them, a key takes the same few looks.

use super::sink::{Both, Source, Sum};
use super::sound::Sound;
use crate::rules::kind::{PairTest, Test};

/// What fires with pitch classes that lie lower.
#[derive(Clone, Copy, Debug, Default)]
struct Below {
    /// By the lower pitch classes 0 to 3, 4 to 7 and 8 to 11, one bit each.
    sums: [[Both; 16]; 3],
    /// Those that a rule forbids there.
    forbidden: u16,
}

impl Below {
    /// Adds what fires where this lower pitch class sounds.
    fn put(&mut self, lower: u8, weight: &Sum) {
        self.forbidden |= u16::from(weight.clash) << lower;
        if let Some(sums) = self.sums.get_mut(usize::from(lower / 4)) {
            let holding = (0..16).zip(sums).filter(|(bits, _)| bits >> (lower % 4) & 1 == 1);
            holding.for_each(|(_, sum)| sum.add_times(weight, 1));
        }
    }

    /// Adds what fires whatever sounds lower.
    fn put_always(&mut self, weight: &Sum) {
        let [sums, ..] = &mut self.sums;
        sums.iter_mut().for_each(|sum| sum.add_times(weight, 1));
    }

    #[inline]
    fn sum(&self, lower: u16) -> Both {
        let [first, second, third] = &self.sums;
        let mut sum = Both::default();
        for (sums, bits) in [(first, lower), (second, lower >> 4), (third, lower >> 8)] {
            sum.add(sums.get(usize::from(bits & 15)).copied().unwrap_or_default());
        }
        sum
    }
}

/// What a pitch class amounts to.
#[derive(Clone, Copy, Debug, Default)]
struct Row {
    /// At its lowest key: what fires for it alone and with those that lie lower.
    first: Below,
    /// At a key in another octave: what fires with those that lie between, of pairs of which it must be the upper.
    again: Below,
    /// For each octave beyond the first.
    doubled: Both,
}

/// What is heard so far, from the bottom up.
#[derive(Default)]
pub(super) struct Heard {
    pub(super) both: Both,
    pub(super) clash: bool,
    /// What lay lower when a pitch class was last heard.
    lower: [u16; 12],
}

/// Tests on pitch classes.
#[derive(Clone, Debug, Default)]
pub(super) struct Tables {
    rows: Box<[Row; 12]>,
    /// The pitch classes that a rule forbids, and those that one forbids to double.
    forbidden: u16,
    forbidden_doubled: u16,
    /// What fires where none of a few pitch classes sounds.
    silent: Vec<(u16, Sum)>,
}

impl Tables {
    /// Takes a test in; `false` where it is none of these.
    pub(super) fn take(&mut self, test: &Test, source: &Source) -> bool {
        let weight = source.weight();
        match test {
            Test::Present(class) => {
                self.forbidden |= u16::from(weight.clash) << class;
                self.with_row(*class, |row| row.first.put_always(&weight));
            }
            Test::Absent(classes) => match self.silent.iter_mut().find(|(own, _)| own == classes) {
                Some((_, sum)) => sum.add(&weight, 1),
                None => self.silent.push((*classes, weight)),
            },
            Test::Pair(PairTest { lower, upper, either_way: false }) => self.with_row(*upper, |row| {
                row.first.put(*lower, &weight);
                row.again.put(*lower, &weight);
            }),
            Test::Pair(PairTest { lower, upper, either_way: true }) => {
                self.with_row(*lower, |row| row.first.put(*upper, &weight));
                self.with_row(*upper, |row| row.first.put(*lower, &weight));
            }
            Test::Doubling(test) => {
                let Some(classes) = test.anywhere() else { return false };
                for class in (0..12).filter(|class| classes >> class & 1 == 1) {
                    self.with_row(class, |row| row.doubled.add_times(&weight, 1));
                }
                self.forbidden_doubled |= if weight.clash { classes } else { 0 };
            }
            _ => return false,
        }
        true
    }

    fn with_row(&mut self, class: u8, change: impl FnOnce(&mut Row)) {
        if let Some(row) = self.rows.get_mut(usize::from(class)) {
            change(row);
        }
    }

    /// Counts what fires for a key, from the bottom up: its pitch class, and those of all keys below it, one bit each.
    #[inline]
    pub(super) fn hear(&self, class: u8, lower: u16, heard: &mut Heard) {
        let at = usize::from(class);
        let (Some(row), Some(before)) = (self.rows.get(at), heard.lower.get_mut(at)) else { return };
        if lower >> class & 1 == 0 {
            heard.both.add(row.first.sum(lower));
            heard.clash |= row.first.forbidden & lower != 0;
        } else {
            let between = lower & !*before & !(1 << class);
            heard.both.add(row.doubled);
            heard.both.add(row.again.sum(between));
            heard.clash |= row.again.forbidden & between != 0;
        }
        *before = lower;
    }

    /// Counts what shows when all keys are heard.
    #[inline]
    pub(super) fn sum_of_whole(&self, sound: &Sound, sum: &mut Sum) {
        sum.clash |= sound.classes & self.forbidden | sound.doubled & self.forbidden_doubled != 0;
        for (classes, weight) in &self.silent {
            if sound.classes & classes == 0 {
                sum.add(weight, 1);
            }
        }
    }
}
