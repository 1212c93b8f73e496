//! Paths in order of cost, by best-first search from the end with what the rest costs at least.
//!
//! A partial path is a run of pairs up to an end. It is worth what its pairs and ways cost and what the cheapest way to its first
//! pair costs, which is known. The partial path that is worth least grows by the pair before it, and leaves behind the partial
//! path that takes the next best pair there instead. Where the bound is exact, the first complete path is the cheapest, the
//! second the second, and so on, and each costs little more than a look at the pairs before those on it.

use std::borrow::Cow;
use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashMap};
use std::hash::Hash;

use super::costs::{Joint, least_of_rows};
use super::layer::Layer;
use super::solved::Path;
use super::step::DEAREST;

/// The most partial paths that are looked at, besides those on a path through all layers.
const MOST_LOOKED_AT: usize = 4_000_000;

/// After so many partial paths it is asked again whether to go on.
const ASKED_AFTER: usize = 1_000;

/// Whoever is asked now and then, with a number that says how far it is, whether to go on.
pub trait GoOn: FnMut(usize) -> bool {}

impl<F: FnMut(usize) -> bool> GoOn for F {}

/// Why there is no answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Halt {
    /// It would take too many steps.
    TooLong,
    /// Whoever was asked said so.
    Stopped,
}

/// What the rest of a partial path costs at least.
pub(super) trait Bounds {
    /// What must still be met.
    type Needs: Clone + Eq + Hash;

    /// What a whole path must meet.
    fn at_end(&self) -> Self::Needs;

    /// What must be met before this pair.
    fn before(&self, needs: &Self::Needs, layer: usize, pair: usize) -> Self::Needs;

    /// For each pair of a layer, what the cheapest path up to it costs that meets the needs, or less, counted from the second
    /// value; beyond [`DEAREST`] where there is none.
    fn costs(&self, needs: &Self::Needs, layer: usize) -> (Cow<'_, [i32]>, i64);
}

/// What can stand before a pair, cheapest first.
#[derive(Clone, Debug, Default)]
struct Befores {
    best: Vec<Before>,
    /// Whether that is all.
    complete: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Before {
    /// What the path up to there and the way from there cost, at least.
    value: i64,
    /// The place of the layer in the list of those before, then the pair.
    which: u32,
    pair: u32,
    /// The way alone.
    way: i64,
    layer: usize,
}

/// A pair on a partial path.
#[derive(Clone, Copy)]
struct Link {
    layer: usize,
    pair: usize,
    /// The pair behind it, as a link; `None` at the end.
    behind: Option<usize>,
    depth: usize,
    /// What stands before `behind` in order of value: the place of this one.
    rank: usize,
    /// Which of the layers before, or which end.
    which: u32,
    /// The path from here on without the pair itself and what is before it.
    behind_cost: i64,
}

/// The cheapest paths in order, at most so many. Asks with the number of paths found whether to go on: for each path, and again
/// after some partial paths.
pub(super) fn first_paths<B: Bounds>(
    layers: &[Layer],
    joint: &impl Joint,
    bounds: &B,
    count: usize,
    go_on: &mut impl GoOn,
) -> Result<Vec<Path>, Halt> {
    let mut goes_on = vec![false; layers.len()];
    for coming in layers.iter().flat_map(|layer| &layer.from) {
        if let Some(cell) = goes_on.get_mut(coming.layer) {
            *cell = true;
        }
    }
    let ends = (0..layers.len()).filter(|at| goes_on.get(*at) == Some(&false)).collect();
    let mut search = Search {
        ends,
        layers,
        joint,
        bounds,
        links: Vec::new(),
        lists: HashMap::new(),
        queue: Queue::default(),
    };
    search.run(count, go_on)
}

struct Search<'a, B: Bounds, J> {
    /// The layers in which paths end.
    ends: Vec<usize>,
    layers: &'a [Layer],
    joint: &'a J,
    bounds: &'a B,
    links: Vec<(Link, B::Needs)>,
    lists: HashMap<(usize, usize, B::Needs), Befores>,
    queue: Queue,
}

impl<B: Bounds, J: Joint> Search<'_, B, J> {
    fn run(&mut self, count: usize, go_on: &mut impl GoOn) -> Result<Vec<Path>, Halt> {
        let mut found = Vec::new();
        if count == 0 {
            return Ok(found);
        }
        let mut looked_at = 0usize;
        let mut ask = |found: usize| if go_on(found) { Ok(()) } else { Err(Halt::Stopped) };
        ask(0)?;
        self.take(None, 0);
        while let Some((value, link)) = self.queue.pop(&self.links) {
            let (mut value, mut at) = (value, link);
            self.next_best(at);
            // The cheapest pair before is the next to be looked at where it costs no more: nothing else comes before it.
            loop {
                looked_at += 1;
                if looked_at > MOST_LOOKED_AT.saturating_add(self.layers.len()) {
                    return Err(Halt::TooLong);
                }
                if looked_at.is_multiple_of(ASKED_AFTER) {
                    ask(found.len())?;
                }
                if self.is_start(at) {
                    found.push(self.path(at, value));
                    if found.len() == count {
                        return Ok(found);
                    }
                    ask(found.len())?;
                    break;
                }
                let Some((next_value, next)) = self.grown(Some(at), 0) else { break };
                if next_value > value {
                    self.queue.push(next_value, next, &self.links);
                    break;
                }
                self.next_best(next);
                (value, at) = (next_value, next);
            }
        }
        Ok(found)
    }

    /// Whether a partial path is a whole one.
    fn is_start(&self, at: usize) -> bool {
        let layer = self.links.get(at).and_then(|(link, _)| self.layers.get(link.layer));
        layer.is_none_or(|layer| layer.from.is_empty())
    }

    /// Takes in the partial path that has the next best pair in place of this one.
    fn next_best(&mut self, at: usize) {
        if let Some((link, _)) = self.links.get(at) {
            let (behind, rank) = (link.behind, link.rank + 1);
            self.take(behind, rank);
        }
    }

    fn take(&mut self, behind: Option<usize>, rank: usize) {
        if let Some((value, link)) = self.grown(behind, rank) {
            self.queue.push(value, link, &self.links);
        }
    }

    /// The partial path that grows by the pair of this rank before its first; what it is worth.
    fn grown(&mut self, behind: Option<usize>, rank: usize) -> Option<(i64, usize)> {
        let (key, needs, cost, depth) = match behind {
            None => ((usize::MAX, 0), self.bounds.at_end(), 0, 0),
            Some(at) => {
                let (link, own) = self.links.get(at)?;
                let base = self.layers.get(link.layer)?.cost_of(link.pair)?;
                let needs = self.bounds.before(own, link.layer, link.pair);
                ((link.layer, link.pair), needs, link.behind_cost + i64::from(base), link.depth + 1)
            }
        };
        let before = self.before(key, &needs, rank)?;
        let link = Link {
            layer: before.layer,
            pair: before.pair as usize,
            behind,
            depth,
            rank,
            which: before.which,
            behind_cost: cost + before.way,
        };
        self.links.push((link, needs));
        Some((cost + before.value, self.links.len() - 1))
    }

    /// What stands at this rank before a pair.
    fn before(&mut self, (layer, pair): (usize, usize), needs: &B::Needs, rank: usize) -> Option<Before> {
        let key = (layer, pair, needs.clone());
        let known = self.lists.get(&key);
        let enough = known.is_some_and(|list| list.complete || list.best.len() > rank);
        if !enough {
            let list = self.list((layer, pair), needs, (rank + 1).next_power_of_two().max(4));
            self.lists.insert(key.clone(), list);
        }
        self.lists.get(&key)?.best.get(rank).copied()
    }

    /// The best so many before a pair; before the end, the pairs in which paths end.
    fn list(&self, (layer, pair): (usize, usize), needs: &B::Needs, most: usize) -> Befores {
        let mut best = Best { best: Vec::with_capacity(most + 1), most, dropped: false };
        if layer == usize::MAX {
            for (which, at) in self.ends.iter().copied().enumerate() {
                let (costs, ground) = self.bounds.costs(needs, at);
                for (pair, cost) in costs.iter().enumerate().filter(|(_, cost)| **cost <= DEAREST) {
                    let value = ground + i64::from(*cost);
                    if best.wants(value, which, pair) {
                        best.put(value, which, pair, 0, at);
                    }
                }
            }
            return best.into();
        }
        let Some(own) = self.layers.get(layer) else { return best.into() };
        let mut least = Vec::new();
        for (which, coming) in own.from.iter().enumerate() {
            let Some(before) = self.layers.get(coming.layer) else { continue };
            let rights = before.rights.max(1);
            let (l, r) = (pair / own.rights.max(1), pair % own.rights.max(1));
            let right_ways: Vec<i32> = (0..before.rights).map(|from| coming.right.get(from, r)).collect();
            let (costs, ground) = self.bounds.costs(needs, coming.layer);
            least_of_rows(&costs, &right_ways, &mut least);
            // The most promising rows first, so that the others are not even looked at.
            let rows = least.iter().enumerate().map(|(l_before, least)| {
                Reverse((ground + i64::from(*least) + i64::from(coming.left.get(l_before, l)), l_before))
            });
            let mut rows: BinaryHeap<_> = rows.collect();
            while let Some(Reverse((value, l_before))) = rows.pop() {
                if !best.wants(value, which, l_before * rights) {
                    break;
                }
                let left = i64::from(coming.left.get(l_before, l));
                let row = costs.get(l_before * rights..(l_before + 1) * rights).unwrap_or_default();
                for (r_before, (cost, right)) in row.iter().zip(&right_ways).enumerate() {
                    let way = left + i64::from(*right);
                    let value = ground + i64::from(*cost) + way;
                    let pair_before = l_before * rights + r_before;
                    if *cost > DEAREST || !best.wants(value, which, pair_before) {
                        continue;
                    }
                    let both = if coming.joint {
                        let cost = (self.joint)(layer, which, pair_before, pair);
                        i64::from(cost.clamp(0, Layer::MOST))
                    } else {
                        0
                    };
                    best.put(value + both, which, pair_before, way + both, coming.layer);
                }
            }
        }
        best.into()
    }

    fn path(&self, start: usize, cost: i64) -> Path {
        let mut nodes = Vec::new();
        let mut at = Some(start);
        while let Some((link, _)) = at.and_then(|at| self.links.get(at)) {
            let rights = self.layers.get(link.layer).map_or(1, |layer| layer.rights.max(1));
            nodes.push((link.layer, link.pair / rights, link.pair % rights));
            at = link.behind;
        }
        Path { cost, nodes }
    }
}

/// The best of many, in order.
struct Best {
    best: Vec<Before>,
    most: usize,
    dropped: bool,
}

impl Best {
    /// Whether this one would be kept.
    #[inline]
    fn wants(&mut self, value: i64, which: usize, pair: usize) -> bool {
        let full = self.best.len() == self.most;
        let goes_before = |last: &Before| {
            let numbers = || (which, pair) < (last.which as usize, last.pair as usize);
            value < last.value || (value == last.value && numbers())
        };
        let wanted = !full || self.best.last().is_none_or(goes_before);
        self.dropped |= !wanted;
        wanted
    }

    fn put(&mut self, value: i64, which: usize, pair: usize, way: i64, layer: usize) {
        let word = |number: usize| u32::try_from(number).unwrap_or(u32::MAX);
        let new = Before { value, which: word(which), pair: word(pair), way, layer };
        let at = self.best.partition_point(|other| *other < new);
        self.best.insert(at, new);
        if self.best.len() > self.most {
            self.best.pop();
            self.dropped = true;
        }
    }
}

impl From<Best> for Befores {
    fn from(best: Best) -> Self {
        Self { complete: !best.dropped, best: best.best }
    }
}

/// Partial paths, the one that is worth least first; among equals the one with the smallest numbers from the end on, a shorter
/// one before those that go on from it.
#[derive(Default)]
struct Queue {
    heap: Vec<(i64, usize)>,
}

impl Queue {
    fn push<N>(&mut self, value: i64, link: usize, links: &[(Link, N)]) {
        self.heap.push((value, link));
        let mut at = self.heap.len() - 1;
        while at > 0 {
            let parent = (at - 1) / 2;
            if !self.goes_first(at, parent, links) {
                break;
            }
            self.heap.swap(at, parent);
            at = parent;
        }
    }

    fn pop<N>(&mut self, links: &[(Link, N)]) -> Option<(i64, usize)> {
        let last = self.heap.len().checked_sub(1)?;
        self.heap.swap(0, last);
        let first = self.heap.pop()?;
        let mut at = 0;
        loop {
            let mut least = at;
            for child in [2 * at + 1, 2 * at + 2] {
                if child < self.heap.len() && self.goes_first(child, least, links) {
                    least = child;
                }
            }
            if least == at {
                return Some(first);
            }
            self.heap.swap(at, least);
            at = least;
        }
    }

    fn goes_first<N>(&self, a: usize, b: usize, links: &[(Link, N)]) -> bool {
        match (self.heap.get(a), self.heap.get(b)) {
            (Some((value, link)), Some((other_value, other))) => {
                value.cmp(other_value).then_with(|| in_order(*link, *other, links)).is_lt()
            }
            _ => false,
        }
    }
}

/// Compares two partial paths from the end on, by the pairs at which they part.
fn in_order<N>(a: usize, b: usize, links: &[(Link, N)]) -> std::cmp::Ordering {
    let get = |at: usize| links.get(at).map(|(link, _)| *link);
    let (mut a, mut b) = (a, b);
    let (Some(mut one), Some(mut other)) = (get(a), get(b)) else { return a.cmp(&b) };
    let lengths = one.depth.cmp(&other.depth);
    while one.depth > other.depth {
        let Some((at, link)) = one.behind.and_then(|at| Some((at, get(at)?))) else { break };
        (a, one) = (at, link);
    }
    while other.depth > one.depth {
        let Some((at, link)) = other.behind.and_then(|at| Some((at, get(at)?))) else { break };
        (b, other) = (at, link);
    }
    if a == b {
        return lengths;
    }
    // Up to where both have the same behind them.
    while one.behind != other.behind {
        let (Some(at), Some(other_at)) = (one.behind, other.behind) else { break };
        let (Some(link), Some(other_link)) = (get(at), get(other_at)) else { break };
        (one, other) = (link, other_link);
    }
    (one.which, one.pair).cmp(&(other.which, other.pair))
}
