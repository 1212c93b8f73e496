//! Tests on pitch classes as flat tables, so that their number does not slow judging: however many rules speak of a pitch
//! class or of a pair of them, one look tells whether any fires.

use smallvec::SmallVec;

use super::Score;
use super::sink::{Sink, Source};
use super::sound::Sound;
use crate::rules::kind::{PairTest, Test};

/// All that fires on one occasion, and what it amounts to.
#[derive(Clone, Debug, Default)]
pub(super) struct Group {
    pub(super) sum: Score,
    pub(super) sources: SmallVec<[Source; 2]>,
}

impl Group {
    fn push(&mut self, source: Source) {
        self.sum.add(source.points, 1);
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

    /// Fires what stands for this first pitch class with each of these second ones.
    #[inline]
    fn fire(&self, first: u32, mut seconds: u16, sink: &mut impl Sink) {
        while seconds != 0 {
            let second = seconds.trailing_zeros();
            seconds &= seconds - 1;
            let group = self.index.get((first * 12 + second) as usize);
            if let Some(group) = group.and_then(|at| self.groups.get(usize::from(*at))) {
                sink.group(group, 1 << first | 1 << second);
            }
        }
    }
}

/// Tests on pitch classes.
#[derive(Clone, Debug, Default)]
pub(super) struct Tables {
    /// For each pitch class, what fires when it sounds.
    sounding: [Group; 12],
    /// The pitch classes for which something fires.
    heard: u16,
    /// What fires where none of a few pitch classes sounds.
    silent: Vec<(u16, Group)>,
    /// Pairs of which the second sounds above the first.
    above: Pairs,
    /// Whether there are any.
    any_above: bool,
    /// Pairs that sound together, whichever lies below; the smaller number first.
    together: Pairs,
    /// The first ones of these.
    firsts: u16,
}

impl Tables {
    /// Takes a test in, or gives it back where it is none of these.
    pub(super) fn take(&mut self, test: Test, source: Source) -> Option<Test> {
        match test {
            Test::Present(class) => {
                if let Some(group) = self.sounding.get_mut(usize::from(class)) {
                    group.push(source);
                    self.heard |= 1 << class;
                }
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
                self.any_above = true;
            }
            Test::Pair(PairTest { lower, upper, either_way: true }) => {
                self.together.push(lower.min(upper), lower.max(upper), source);
                self.firsts |= 1 << lower.min(upper);
            }
            other => return Some(other),
        }
        None
    }

    #[inline]
    pub(super) fn run(&self, sound: &Sound, sink: &mut impl Sink) {
        let mut heard = sound.classes & self.heard;
        while heard != 0 {
            let class = heard.trailing_zeros();
            heard &= heard - 1;
            if let Some(group) = self.sounding.get(class as usize) {
                sink.group(group, 1 << class);
            }
        }
        for (classes, group) in &self.silent {
            if sound.classes & classes == 0 {
                sink.group(group, 0);
            }
        }
        let mut firsts = sound.classes & self.firsts;
        while firsts != 0 {
            let first = firsts.trailing_zeros();
            firsts &= firsts - 1;
            let partners = self.together.partners.get(first as usize).copied().unwrap_or_default();
            self.together.fire(first, partners & sound.classes, sink);
        }
        if self.any_above {
            self.run_above(sound, sink);
        }
    }

    /// From the top down, so that each pitch class ends with what sounds above its lowest key.
    #[inline]
    fn run_above(&self, sound: &Sound, sink: &mut impl Sink) {
        let (mut over, mut any) = (0u16, 0u16);
        let mut hits = [0u16; 12];
        for key in sound.keys().iter().rev() {
            let class = usize::from(key % 12);
            if let (Some(hit), Some(partners)) = (hits.get_mut(class), self.above.partners.get(class)) {
                *hit = over & partners;
                any |= *hit;
            }
            over |= 1 << class;
        }
        if any != 0 {
            for (first, hit) in (0..).zip(hits) {
                self.above.fire(first, hit, sink);
            }
        }
    }
}
