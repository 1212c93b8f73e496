//! The cheapest paths through layers: one, several, several that differ.

use std::borrow::Cow;
use std::collections::HashSet;

use super::costs::{Costs, Joint, lifted, ways_to, with_base};
use super::first::{Bounds, GoOn, Halt, first_paths};
use super::layer::Layer;
use super::step::{NEVER, Scratch};
use super::trace::trace;

/// A path: its cost, and the pair that it takes in each layer it goes through, as the layer, the left shape and the right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Path {
    /// The sum of pairs and ways.
    pub cost: i64,
    /// Layer, left shape, right shape, in order.
    pub nodes: Vec<(usize, usize, usize)>,
}

/// Layers with what the cheapest path to each pair costs.
#[derive(Debug)]
pub struct Solved<'a, J> {
    layers: &'a [Layer],
    joint: J,
    costs: Cow<'a, Costs>,
}

impl<'a, J: Joint> Solved<'a, J> {
    /// Finds the costs.
    ///
    /// # Complexity
    ///
    /// Time `Σ L'·R'·R + L'·L·R` at most, memory four bytes for each pair, `Σ L·R`, with L, R the shapes of a layer and L', R'
    /// those of the one before. Where the way to a layer is `joint`, pairs of pairs are looked at, `L'·R'·L·R` at the most.
    pub fn new(layers: &'a [Layer], joint: J) -> Self {
        let never_stopped = Self::while_asked(layers, joint, |_| true);
        never_stopped.unwrap_or_else(|joint| Self { layers: &[], joint, costs: Cow::default() })
    }

    /// The same, asking before each layer whether to go on; the other value of `joint` back where not.
    pub fn while_asked(layers: &'a [Layer], joint: J, go_on: impl GoOn) -> Result<Self, J> {
        Self::resume(layers, joint, Cow::default(), go_on)
    }

    /// The same where the costs of the first layers, or of all, are known.
    pub fn resume(
        layers: &'a [Layer],
        joint: J,
        mut costs: Cow<'a, Costs>,
        mut go_on: impl GoOn,
    ) -> Result<Self, J> {
        let (mut scratch, mut ways, mut more) = (Scratch::default(), Vec::new(), Vec::new());
        let unknown = layers.get(costs.layers()..).unwrap_or_default();
        if !unknown.is_empty() {
            costs.to_mut().reserve(unknown);
        }
        for (at, layer) in layers.iter().enumerate().skip(costs.layers()) {
            if !go_on(at) {
                return Err(joint);
            }
            let ground = ways_to(at, layers, &costs, &joint, &mut scratch, [&mut ways, &mut more]);
            costs.to_mut().push_ways(layer, &ways, ground);
        }
        Ok(Self { layers, joint, costs })
    }

    /// The cheapest path; among equals the one with the smallest numbers, later layers first, in a layer the left shape first.
    /// `None` where there is none.
    pub fn best(&self) -> Option<Path> {
        trace(self.layers, &self.joint, &self.costs)
    }

    /// The cheapest paths in order, at most so many; equals as [`Solved::best`] orders them. `None` where that would take more than some
    /// million steps and some for each layer.
    ///
    /// # Complexity
    ///
    /// For each pair that a path goes through for the first time, a look at every pair before it.
    pub fn cheapest(&self, count: usize) -> Option<Vec<Path>> {
        self.cheapest_while(count, |_| true).ok()
    }

    /// The same, asking with the number of paths found whether to go on: for each, and now and then in between.
    pub fn cheapest_while(&self, count: usize, mut go_on: impl GoOn) -> Result<Vec<Path>, Halt> {
        let view = Plain { costs: &self.costs };
        first_paths(self.layers, &self.joint, &view, count, &mut go_on)
    }

    /// The cheapest paths in order, of which each differs from all before it in at least `least` layers. A layer
    /// differs where the path before has no pair for which `class(layer, pair)` gives the same.
    ///
    /// The first is the cheapest of all; each further one the cheapest that differs so much from those found. `None` where the
    /// search would take more than some million steps.
    ///
    /// # Complexity
    ///
    /// For each path found, `least + 1` times what [`Solved::new`] takes; then best-first search with the largest of those bounds,
    /// which is exact for the second path.
    pub fn varied(
        &self,
        count: usize,
        least: usize,
        class: impl Fn(usize, usize) -> u32,
    ) -> Option<Vec<Path>> {
        self.varied_while(count, least, class, |_, _| true).ok()
    }

    /// The same, asking whether to go on: before each layer on the way past a path found, with the number of paths that it has gone
    /// past before and the layer; and now and then in between.
    pub fn varied_while(
        &self,
        count: usize,
        least: usize,
        class: impl Fn(usize, usize) -> u32,
        mut go_on: impl FnMut(usize, usize) -> bool,
    ) -> Result<Vec<Path>, Halt> {
        let mut found: Vec<Path> = Vec::new();
        let mut apart: Vec<Apart> = Vec::new();
        while found.len() < count {
            let past = apart.len();
            let view = Constrained { plain: &self.costs, apart: &apart, least, class: &class };
            let paths = first_paths(self.layers, &self.joint, &view, 1, &mut |_| go_on(past, 0));
            let Some(path) = paths?.pop() else { break };
            if found.len() + 1 < count {
                let mut go_on = |layer| go_on(past, layer);
                let Self { layers, joint, costs } = self;
                apart.push(Apart::new(layers, joint, costs, &path, least, &class, &mut go_on)?);
            }
            found.push(path);
        }
        Ok(found)
    }

    /// What the cheapest path to each pair costs.
    pub fn costs(&self) -> &Costs {
        &self.costs
    }

    /// The same, to be kept.
    pub fn into_costs(self) -> Costs {
        self.costs.into_owned()
    }
}

/// No further conditions.
struct Plain<'a> {
    costs: &'a Costs,
}

impl Bounds for Plain<'_> {
    type Needs = ();

    fn at_end(&self) {}

    fn before(&self, (): &(), _: usize, _: usize) {}

    fn costs(&self, (): &(), layer: usize) -> (Cow<'_, [i32]>, i64) {
        (self.costs.of(layer).into(), self.costs.ground(layer))
    }
}

/// What it costs to reach a pair so that a number of layers up to it differ from a path.
struct Apart {
    /// For each number of layers from 1.
    costs: Vec<Costs>,
    /// The classes of the path's pairs.
    classes: HashSet<u32>,
}

impl Apart {
    fn new(
        layers: &[Layer],
        joint: &impl Joint,
        plain: &Costs,
        path: &Path,
        least: usize,
        class: &impl Fn(usize, usize) -> u32,
        go_on: &mut impl GoOn,
    ) -> Result<Self, Halt> {
        let nodes = path.nodes.iter().filter_map(|(layer, left, right)| {
            Some(class(*layer, left * layers.get(*layer)?.rights + right))
        });
        let classes: HashSet<u32> = nodes.collect();
        let mut costs: Vec<Costs> = vec![Costs::default(); least];
        let (mut scratch, mut more) = (Scratch::default(), Vec::new());
        let mut ways: Vec<Vec<i32>> = vec![Vec::new(); least + 1];
        let mut grounds = vec![0i64; least + 1];
        for (at, layer) in layers.iter().enumerate() {
            if !go_on(at) {
                return Err(Halt::Stopped);
            }
            for (needed, (ways, ground)) in ways.iter_mut().zip(&mut grounds).enumerate() {
                let known = match needed.checked_sub(1) {
                    None => plain,
                    Some(index) => costs.get(index).unwrap_or(plain),
                };
                *ground = ways_to(at, layers, known, joint, &mut scratch, [ways, &mut more]);
            }
            let differs: Vec<bool> =
                (0..layer.pairs()).map(|pair| !classes.contains(&class(at, pair))).collect();
            for (index, known) in costs.iter_mut().enumerate() {
                // Behind a pair that differs one less is needed.
                let (Some([fewer, same]), Some([ground_fewer, ground_same])) =
                    (ways.get(index..index + 2), grounds.get(index..index + 2))
                else {
                    continue;
                };
                let ground = (*ground_fewer).min(*ground_same);
                let start = layer.from.is_empty();
                let fewer = with_base(layer, fewer).map(|cost| (cost, ground_fewer - ground));
                let same = with_base(layer, same).map(|cost| (cost, ground_same - ground));
                let chosen = fewer.zip(same).zip(&differs).map(|((fewer, same), differs)| {
                    // Where a path starts, only one difference is to be had.
                    let (cost, up) = if *differs { fewer } else { same };
                    let out_of_reach = start && index + 1 > usize::from(*differs);
                    if out_of_reach { NEVER } else { lifted(cost, up) }
                });
                let chosen: Vec<i32> = chosen.collect();
                known.push(chosen, ground);
            }
        }
        Ok(Self { costs, classes })
    }
}

/// Paths that differ from others.
struct Constrained<'a, C> {
    plain: &'a Costs,
    apart: &'a [Apart],
    least: usize,
    class: &'a C,
}

impl<C: Fn(usize, usize) -> u32> Bounds for Constrained<'_, C> {
    /// In how many layers the rest must still differ from each.
    type Needs = Vec<u16>;

    fn at_end(&self) -> Vec<u16> {
        vec![u16::try_from(self.least).unwrap_or(u16::MAX); self.apart.len()]
    }

    fn before(&self, needs: &Vec<u16>, layer: usize, pair: usize) -> Vec<u16> {
        let class = (self.class)(layer, pair);
        let left = |(need, apart): (&u16, &Apart)| {
            let differs = !apart.classes.contains(&class);
            need.saturating_sub(u16::from(differs))
        };
        needs.iter().zip(self.apart).map(left).collect()
    }

    fn costs(&self, needs: &Vec<u16>, layer: usize) -> (Cow<'_, [i32]>, i64) {
        let ground = self.plain.ground(layer);
        let mut all: Vec<i32> = self.plain.of(layer).to_vec();
        for (need, apart) in needs.iter().zip(self.apart) {
            let known = usize::from(*need).checked_sub(1).and_then(|index| apart.costs.get(index));
            let Some(known) = known else { continue };
            let up = known.ground(layer) - ground;
            for (cost, own) in all.iter_mut().zip(known.of(layer)) {
                *cost = (*cost).max(lifted(*own, up));
            }
        }
        (all.into(), ground)
    }
}
