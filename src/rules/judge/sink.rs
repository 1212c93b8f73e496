//! Where firings go: the one difference between a score and a judgement.

use smallvec::SmallVec;

use super::Score;
use super::tables::Group;
use crate::rules::rule::Points;

/// Which rule a test belongs to and what it does.
#[derive(Clone, Copy, Debug)]
pub(super) struct Source {
    pub(super) rule: u16,
    pub(super) points: Points,
}

/// Where firings go.
pub(super) trait Sink {
    fn fire(&mut self, source: Source, times: i32, classes: u16);
    fn group(&mut self, group: &Group, classes: u16);
}

impl Score {
    #[inline]
    pub(super) fn add(&mut self, points: Points, times: i32) {
        match points {
            Points::Clash => self.clash = true,
            Points::Cost(points) => self.cost = self.cost.saturating_add(points.saturating_mul(times)),
            Points::Colour(points) => self.colour = self.colour.saturating_add(points.saturating_mul(times)),
            Points::Own => {}
        }
    }
}

/// Counts and forgets who fired.
impl Sink for Score {
    #[inline]
    fn fire(&mut self, source: Source, times: i32, _: u16) {
        self.add(source.points, times);
    }

    #[inline]
    fn group(&mut self, group: &Group, _: u16) {
        self.clash |= group.sum.clash;
        self.cost = self.cost.saturating_add(group.sum.cost);
        self.colour = self.colour.saturating_add(group.sum.colour);
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
    pub(super) score: Score,
    pub(super) fired: SmallVec<[Fired; 8]>,
}

impl Sink for Explain {
    fn fire(&mut self, source: Source, times: i32, classes: u16) {
        self.score.add(source.points, times);
        let same = |earlier: &&mut Fired| {
            earlier.source.rule == source.rule && earlier.source.points == source.points
        };
        match self.fired.iter_mut().find(same) {
            Some(earlier) => {
                earlier.times += times;
                earlier.classes |= classes;
            }
            None => self.fired.push(Fired { source, times, classes }),
        }
    }

    fn group(&mut self, group: &Group, classes: u16) {
        for source in &group.sources {
            self.fire(*source, 1, classes);
        }
    }
}
