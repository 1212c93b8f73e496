//! Tests on pitch classes as flat tables, so that their number does not slow judging: however many rules speak of a pitch
//! class or of a pair of them, a score takes the same few looks.

use smallvec::SmallVec;

use super::sink::{Sink, Source, Sum};
use super::sound::Sound;
use crate::rules::kind::{PairTest, Test};

/// All that fires on one occasion, and what it amounts to.
#[derive(Clone, Debug, Default)]
pub(super) struct Group {
    pub(super) sum: Sum,
    pub(super) sources: SmallVec<[Source; 2]>,
}

impl Group {
    fn push(&mut self, source: Source) {
        self.sum.add(&source.weight(), 1);
        self.sources.push(source);
    }
}

/// What fires for pairs of pitch classes.
#[derive(Clone, Debug)]
struct Pairs {
    /// For each first pitch class, the second ones for which something fires, one bit each.
    partners: [u16; 12],
    /// Which group, for each pair.
    index: [u8; 144],
    groups: Vec<Group>,
}

impl Default for Pairs {
    fn default() -> Self {
        Self { partners: [0; 12], index: [0; 144], groups: Vec::new() }
    }
}

impl Pairs {
    fn push(&mut self, first: u8, second: u8, source: Source) {
        let (Some(partners), Some(cell)) = (
            self.partners.get_mut(usize::from(first)),
            self.index.get_mut(usize::from(first) * 12 + usize::from(second)),
        ) else {
            return;
        };
        if *partners >> second & 1 == 0 {
            *partners |= 1 << second;
            *cell = self.groups.len() as u8; // at most 144
            self.groups.push(Group::default());
        }
        if let Some(group) = self.groups.get_mut(usize::from(*cell)) {
            group.push(source);
        }
    }

    /// The second pitch classes among these with which something fires.
    #[inline]
    fn partners(&self, first: u8, among: u16) -> u16 {
        self.partners.get(usize::from(first)).copied().unwrap_or_default() & among
    }

    /// Fires what stands for this first pitch class with each of these second ones.
    #[inline]
    fn fire(&self, first: u8, seconds: u16, sink: &mut impl Sink) {
        for second in each(self.partners(first, seconds)) {
            let group = self.index.get(usize::from(first) * 12 + usize::from(second));
            if let Some(group) = group.and_then(|at| self.groups.get(usize::from(*at))) {
                sink.group(group, 1, 1 << first | 1 << second);
            }
        }
    }
}

/// Puts a test to a pitch class.
fn push(groups: &mut [Group; 12], class: u8, source: Source) {
    if let Some(group) = groups.get_mut(usize::from(class)) {
        group.push(source);
    }
}

/// The numbers of the bits that are set.
#[inline]
fn each(mut bits: u16) -> impl Iterator<Item = u8> {
    std::iter::from_fn(move || {
        let first = bits.trailing_zeros() as u8;
        (bits != 0).then(|| {
            bits &= bits - 1;
            first
        })
    })
}

/// Cost in the lower half and colour in the upper, so that one addition serves both. A file's rule has at most 1,000
/// points, a set at most 20,000 rules, and a rule about pitch classes fires at most twelve times: neither half overflows.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Both(u64);

impl Both {
    fn of(sum: &Sum) -> Self {
        Self(sum.cost.unsigned_abs() | sum.colour.unsigned_abs() << 32)
    }

    #[inline]
    fn add(&mut self, other: Self) {
        self.0 = self.0.wrapping_add(other.0);
    }

    #[inline]
    fn cost(self) -> i64 {
        i64::from(self.0 as u32)
    }

    #[inline]
    fn colour(self) -> i64 {
        (self.0 >> 32) as i64
    }
}

/// What a pitch class amounts to where it lies lowest, given the pitch classes that lie higher.
#[derive(Clone, Copy, Debug, Default)]
struct Row {
    /// By the higher pitch classes 0 to 3, 4 to 7 and 8 to 11, one bit each: what fires, the pitch class itself included.
    sums: [[Both; 16]; 3],
    /// For each octave beyond the first.
    doubled: Both,
    /// The higher pitch classes with which a rule forbids it.
    forbidden: u16,
    /// The pitch classes of which it matters whether they sound above it, too, where they sound below it.
    again: u16,
}

impl Row {
    /// Adds what fires where this higher pitch class sounds.
    fn add_with(&mut self, higher: u8, weight: &Sum) {
        self.forbidden |= u16::from(weight.clash) << higher;
        if let Some(sums) = self.sums.get_mut(usize::from(higher / 4)) {
            let holding = (0..16).zip(sums).filter(|(bits, _)| bits >> (higher % 4) & 1 == 1);
            holding.for_each(|(_, sum)| sum.add(Both::of(weight)));
        }
    }

    /// Adds what fires whatever sounds higher.
    fn add_always(&mut self, weight: &Sum) {
        let [sums, ..] = &mut self.sums;
        sums.iter_mut().for_each(|sum| sum.add(Both::of(weight)));
    }

    #[inline]
    fn sum(&self, higher: u16) -> Both {
        let [low, middle, high] = &self.sums;
        let at = |sums: &[Both; 16], bits: u16| sums.get(usize::from(bits & 15)).map_or(0, |both| both.0);
        Both(at(low, higher) + at(middle, higher >> 4) + at(high, higher >> 8))
    }
}

/// Tests on pitch classes.
#[derive(Clone, Debug, Default)]
pub(super) struct Tables {
    /// For each pitch class, what fires when it sounds.
    sounding: [Group; 12],
    /// For each pitch class, what fires for each octave in which it sounds beyond the first.
    doubled: [Group; 12],
    /// What fires where none of a few pitch classes sounds.
    silent: Vec<(u16, Group)>,
    /// Pairs of which the second sounds above the first.
    above: Pairs,
    /// Pairs that sound together, whichever lies below; the smaller number first.
    together: Pairs,
    /// All of `sounding`, `above` and `together`, summed up for scores.
    rows: Box<[Row; 12]>,
    /// The pitch classes that a rule forbids, and those that it forbids to double.
    forbidden: u16,
    forbidden_doubled: u16,
}

impl Tables {
    /// Takes a test in, or gives it back where it is none of these.
    pub(super) fn take(&mut self, test: Test, source: Source) -> Option<Test> {
        let weight = source.weight();
        match test {
            Test::Present(class) => {
                push(&mut self.sounding, class, source);
                self.forbidden |= u16::from(weight.clash) << class;
                self.with_row(class, |row| row.add_always(&weight));
            }
            Test::Absent(classes) => match self.silent.iter_mut().find(|(own, _)| *own == classes) {
                Some((_, group)) => group.push(source),
                None => {
                    let mut group = Group::default();
                    group.push(source);
                    self.silent.push((classes, group));
                }
            },
            Test::Pair(PairTest { lower, upper, either_way: false }) => {
                self.above.push(lower, upper, source);
                self.with_row(lower, |row| {
                    row.add_with(upper, &weight);
                    row.again |= 1 << upper;
                });
            }
            Test::Pair(PairTest { lower, upper, either_way: true }) => {
                self.together.push(lower.min(upper), lower.max(upper), source);
                self.with_row(lower, |row| row.add_with(upper, &weight));
                self.with_row(upper, |row| row.add_with(lower, &weight));
            }
            Test::Doubling(test) => {
                let Some(classes) = test.anywhere() else { return Some(Test::Doubling(test)) };
                for class in each(classes) {
                    push(&mut self.doubled, class, source);
                    self.with_row(class, |row| row.doubled.add(Both::of(&weight)));
                }
                self.forbidden_doubled |= if weight.clash { classes } else { 0 };
            }
            other => return Some(other),
        }
        None
    }

    fn with_row(&mut self, class: u8, change: impl FnOnce(&mut Row)) {
        if let Some(row) = self.rows.get_mut(usize::from(class)) {
            change(row);
        }
    }

    /// Counts what fires.
    #[inline]
    pub(super) fn sum(&self, sound: &Sound, sum: &mut Sum) {
        let mut both = Both::default();
        let mut forbidden = sound.classes & self.forbidden | sound.doubled & self.forbidden_doubled;
        // At the lowest key of a pitch class, all those that are not yet seen lie higher.
        let mut higher = sound.classes;
        for class in sound.class_of_each() {
            let Some(row) = self.rows.get(usize::from(*class)) else { break };
            let bit = 1 << class;
            if higher & bit == 0 {
                both.add(row.doubled);
                continue;
            }
            higher &= !bit;
            both.add(row.sum(higher));
            forbidden |= row.forbidden & higher;
            if row.again & sound.doubled & !higher != 0 {
                self.sum_again(*class, higher, sound, sum);
            }
        }
        for (classes, group) in &self.silent {
            if sound.classes & classes == 0 {
                sum.group(group, 1, 0);
            }
        }
        sum.clash |= forbidden != 0;
        sum.cost += both.cost();
        sum.colour += both.colour();
    }

    /// Counts what fires for a pitch class and those that sound below its lowest key and again above it.
    #[inline(never)]
    fn sum_again(&self, class: u8, higher: u16, sound: &Sound, sum: &mut Sum) {
        let above = sound.class_of_each().iter().skip_while(|own| **own != class);
        let above = above.fold(0, |bits, class| bits | 1 << class);
        self.above.fire(class, above & !higher & !(1 << class), sum);
    }

    /// Names what fires, one by one.
    pub(super) fn run(&self, sound: &Sound, sink: &mut impl Sink) {
        for (class, group) in (0..12).zip(&self.sounding) {
            if sound.classes >> class & 1 == 1 {
                sink.group(group, 1, 1 << class);
            }
        }
        for (class, group) in (0..12).zip(&self.doubled) {
            if sound.doubled >> class & 1 == 1 {
                let voices = sound.class_of_each().iter().filter(|own| **own == class).count();
                sink.group(group, voices as i32 - 1, 1 << class);
            }
        }
        for (classes, group) in &self.silent {
            if sound.classes & classes == 0 {
                sink.group(group, 1, 0);
            }
        }
        for first in each(sound.classes) {
            self.together.fire(first, sound.classes, sink);
        }
        // From the top down, so that each pitch class ends with what sounds above its lowest key.
        let (mut over, mut above) = (0u16, [0u16; 12]);
        for class in sound.class_of_each().iter().rev() {
            if let Some(cell) = above.get_mut(usize::from(*class)) {
                *cell = over;
            }
            over |= 1 << class;
        }
        for (first, above) in (0..).zip(above) {
            self.above.fire(first, above, sink);
        }
    }
}
