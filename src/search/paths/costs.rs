//! What the cheapest path to each pair of each layer costs.

use super::layer::{Coming, Layer};
use super::step::{DEAREST, NEVER, Scratch, joint_step, step};
use crate::registers::{Job, widest};

/// What both hands together cost on the way to a layer: `cost(layer, which of its comings, pair before, pair)`, in points ≥ 0.
pub trait Joint: Fn(usize, usize, usize, usize) -> i32 {}

impl<F: Fn(usize, usize, usize, usize) -> i32> Joint for F {}

/// What the cheapest path to each pair of each layer costs, the pair included. Four bytes for each pair.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Costs {
    /// All layers, one behind the other, each counted from its cheapest pair.
    cells: Vec<i32>,
    /// Where each layer starts in `cells`.
    starts: Vec<usize>,
    /// What the cheapest pair of each layer costs.
    grounds: Vec<i64>,
}

impl Costs {
    /// The costs of a layer, counted from its cheapest pair.
    pub(super) fn of(&self, layer: usize) -> &[i32] {
        let start = self.starts.get(layer).copied().unwrap_or(usize::MAX);
        let end = self.starts.get(layer + 1).copied().unwrap_or(self.cells.len());
        self.cells.get(start..end).unwrap_or_default()
    }

    /// What the cheapest pair of a layer costs.
    pub(super) fn ground(&self, layer: usize) -> i64 {
        self.grounds.get(layer).copied().unwrap_or_default()
    }

    /// How many layers it holds.
    pub fn layers(&self) -> usize {
        self.starts.len()
    }

    /// The costs up to a layer, in which no path may take this pair; what is behind has to be found again.
    pub fn without(&self, layer: usize, pair: usize) -> Self {
        let start = self.starts.get(layer).copied().unwrap_or(self.cells.len());
        let mut costs = Self {
            cells: self.cells.get(..start).unwrap_or_default().to_vec(),
            starts: self.starts.iter().copied().take(layer).collect(),
            grounds: self.grounds.iter().copied().take(layer).collect(),
        };
        if layer < self.layers() {
            let own = self.of(layer).iter().copied().enumerate();
            costs.push(own.map(|(at, cost)| if at == pair { NEVER } else { cost }), self.ground(layer));
        }
        costs
    }

    /// Makes room for so many layers more.
    pub(super) fn reserve(&mut self, layers: &[Layer]) {
        self.cells.reserve_exact(layers.iter().map(Layer::pairs).sum());
        self.starts.reserve_exact(layers.len());
        self.grounds.reserve_exact(layers.len());
    }

    /// Takes the costs of one more layer in.
    pub(super) fn push(&mut self, costs: impl IntoIterator<Item = i32>, ground: i64) {
        let start = self.cells.len();
        self.cells.extend(costs);
        self.settle(start, ground);
    }

    /// The same, from the ways to a layer, without a list between.
    pub(super) fn push_ways(&mut self, layer: &Layer, ways: &[i32], ground: i64) {
        let start = self.cells.len();
        self.cells.resize(start + layer.pairs(), NEVER);
        let cells = self.cells.get_mut(start..).unwrap_or_default();
        let ways = if layer.from.is_empty() { None } else { Some(ways) };
        let cheapest = widest(Summed { cells, base: &layer.base, ways });
        self.starts.push(start);
        self.grounds.push(ground.saturating_add(i64::from(cheapest)));
    }

    /// Counts the costs from here on from their cheapest.
    fn settle(&mut self, start: usize, ground: i64) {
        let cheapest = settled(self.cells.get_mut(start..).unwrap_or_default());
        self.starts.push(start);
        self.grounds.push(ground.saturating_add(i64::from(cheapest)));
    }
}

/// Costs counted from their cheapest; what that costs.
#[inline(always)]
fn settled(cells: &mut [i32]) -> i32 {
    let cheapest = cells.iter().copied().min().filter(|cost| *cost <= DEAREST).unwrap_or(0);
    for cost in cells {
        *cost = if *cost > DEAREST { NEVER } else { *cost - cheapest };
    }
    cheapest
}

/// What pairs cost together with the ways to them, where there are any, counted from the cheapest; what that costs.
struct Summed<'a> {
    cells: &'a mut [i32],
    base: &'a [i32],
    ways: Option<&'a [i32]>,
}

impl Job for Summed<'_> {
    type Answer = i32;

    #[inline(always)]
    fn run(self) -> i32 {
        match self.ways {
            Some(ways) => sum(self.cells, self.base, ways),
            None => {
                for (cell, base) in self.cells.iter_mut().zip(self.base) {
                    *cell = sum_of(*base, 0);
                }
            }
        }
        settled(self.cells)
    }
}

#[inline(always)]
fn sum(cells: &mut [i32], base: &[i32], ways: &[i32]) {
    for (cell, (base, way)) in cells.iter_mut().zip(base.iter().zip(ways)) {
        *cell = sum_of(*base, *way);
    }
}

/// The cheapest ways to all pairs of a layer, without what the pairs cost, and what they are counted from; into `out`.
pub(super) fn ways_to(
    at: usize,
    layers: &[Layer],
    costs: &Costs,
    joint: &impl Joint,
    scratch: &mut Scratch,
    [out, more]: [&mut Vec<i32>; 2],
) -> i64 {
    let Some(layer) = layers.get(at) else { return 0 };
    let mut ground = 0;
    for (which, coming) in layer.from.iter().enumerate() {
        let target = if which == 0 { &mut *out } else { &mut *more };
        one_coming(at, which, coming, layer, layers, costs, joint, scratch, target);
        let own = costs.ground(coming.layer);
        if which == 0 {
            ground = own;
            continue;
        }
        // Both are counted from the lower of the two.
        let (up, up_more) = ((ground - own).max(0), (own - ground).max(0));
        ground = ground.min(own);
        for (cost, other) in out.iter_mut().zip(&*more) {
            *cost = lifted(*cost, up).min(lifted(*other, up_more));
        }
    }
    ground
}

pub(super) fn lifted(cost: i32, up: i64) -> i32 {
    if cost > DEAREST { NEVER } else { i32::try_from(i64::from(cost) + up).unwrap_or(NEVER).min(NEVER) }
}

#[expect(clippy::too_many_arguments, reason = "the parts of one step")]
fn one_coming(
    at: usize,
    which: usize,
    coming: &Coming,
    layer: &Layer,
    layers: &[Layer],
    costs: &Costs,
    joint: &impl Joint,
    scratch: &mut Scratch,
    out: &mut Vec<i32>,
) {
    let before = layers.get(coming.layer).map_or((0, 0), |before| (before.lefts, before.rights));
    let known = costs.of(coming.layer);
    step(known, before, coming, (layer.lefts, layer.rights), scratch, out);
    if coming.joint {
        let joint = |from, to| joint(at, which, from, to);
        joint_step(known, before.1, coming, layer, joint, scratch, out);
    }
}

/// What the pairs of a layer cost together with the ways to them; a layer without a way to it is one where paths start.
pub(super) fn with_base<'a>(layer: &'a Layer, ways: &'a [i32]) -> impl Iterator<Item = i32> + 'a {
    let is_start = layer.from.is_empty();
    (0..layer.pairs()).map(move |pair| {
        let way = if is_start { 0 } else { ways.get(pair).copied().unwrap_or(NEVER) };
        sum_of(layer.base.get(pair).copied().unwrap_or(Layer::NEVER), way)
    })
}

/// For each row of costs the least that a cost and the way from its column come to, [`NEVER`] among them or not.
pub(super) fn least_of_rows(costs: &[i32], ways: &[i32], least: &mut Vec<i32>) {
    least.clear();
    if !ways.is_empty() {
        least.resize(costs.len() / ways.len(), NEVER);
        widest(LeastOfRows { costs, ways, least });
    }
}

struct LeastOfRows<'a> {
    costs: &'a [i32],
    ways: &'a [i32],
    least: &'a mut [i32],
}

impl Job for LeastOfRows<'_> {
    type Answer = ();

    #[inline(always)]
    fn run(self) {
        for (least, row) in self.least.iter_mut().zip(self.costs.chunks_exact(self.ways.len())) {
            // Neither is more than half of what fits.
            let lower =
                |lowest: &mut i32, cost: i32, way: i32| *lowest = (*lowest).min(cost.wrapping_add(way));
            let ((costs, last_costs), (ways, last_ways)) = (row.as_chunks::<8>(), self.ways.as_chunks::<8>());
            let mut lowest = [NEVER; 8];
            for (costs, ways) in costs.iter().zip(ways) {
                for ((lowest, cost), way) in lowest.iter_mut().zip(costs).zip(ways) {
                    lower(lowest, *cost, *way);
                }
            }
            *least = lowest.into_iter().fold(NEVER, i32::min);
            for (cost, way) in last_costs.iter().zip(last_ways) {
                lower(least, *cost, *way);
            }
        }
    }
}

/// What a pair and the way to it cost; without branches.
#[inline(always)]
pub(in crate::search) fn sum_of(base: i32, way: i32) -> i32 {
    let sum = base.clamp(-Layer::MOST, Layer::MOST).wrapping_add(way);
    if base == Layer::NEVER || way > DEAREST { NEVER } else { sum }
}
