//! The problem without its ties: the cheapest path at prices, and what the cheapest path through each pair costs.

use super::groups::Groups;
use crate::search::paths::costs::Joint;
use crate::search::paths::step::DEAREST;
use crate::search::paths::{Coming, Costs, Layer, Path, Solved, Ways};

/// The pairs of each layer that may still be played.
pub(super) type Open = Vec<Vec<u32>>;

/// What each class of each layer costs beyond what its pairs cost.
pub(super) type Prices = Vec<Vec<i32>>;

/// What is found at some prices.
pub(super) struct Seen {
    /// The cheapest path, which costs so much with prices.
    pub(super) path: Path,
    /// What the cheapest path through each open pair costs with prices; `None` where there is none.
    pub(super) through: Vec<Vec<Option<i64>>>,
}

/// Layers that are solved again and again at other prices, from the start and from the end.
pub(super) struct Relaxed<'a, J> {
    layers: &'a [Layer],
    joint: &'a J,
    onward: Vec<Layer>,
    back: Vec<Layer>,
    /// For each layer seen from the end, for each of its comings, the layer and the coming from the start.
    turned: Vec<Vec<(usize, usize)>>,
}

impl<'a, J: Joint> Relaxed<'a, J> {
    pub(super) fn new(layers: &'a [Layer], joint: &'a J) -> Self {
        let last = layers.len().saturating_sub(1);
        let mut back: Vec<Layer> =
            layers.iter().rev().map(|layer| Layer { from: Vec::new(), ..layer.clone() }).collect();
        let mut turned = vec![Vec::new(); layers.len()];
        for (at, layer) in layers.iter().enumerate() {
            for (which, coming) in layer.from.iter().enumerate().filter(|(_, coming)| coming.layer < at) {
                let before = layers.get(coming.layer).map_or((0, 0), |before| (before.lefts, before.rights));
                let place = last - coming.layer;
                if let (Some(own), Some(turned)) = (back.get_mut(place), turned.get_mut(place)) {
                    let left = transposed(&coming.left, before.0, layer.lefts);
                    let right = transposed(&coming.right, before.1, layer.rights);
                    own.from.push(Coming { layer: last - at, left, right, joint: coming.joint });
                    turned.push((at, which));
                }
            }
        }
        Self { layers, joint, onward: layers.to_vec(), back, turned }
    }

    /// The cheapest path at these prices; `None` where there is none.
    pub(super) fn see(&mut self, groups: &Groups<'_>, open: &Open, prices: &Prices) -> Option<Seen> {
        let last = self.layers.len().checked_sub(1)?;
        for (at, layer) in self.layers.iter().enumerate() {
            let (Some(open), Some(onward)) = (open.get(at), self.onward.get_mut(at)) else { continue };
            onward.base.fill(Layer::NEVER);
            for pair in open.iter().copied() {
                let price = groups.class(at, pair).and_then(|class| prices.get(at)?.get(class)).copied();
                if let (Some(cell), Some(cost)) =
                    (onward.base.get_mut(pair as usize), layer.cost_of(pair as usize))
                {
                    *cell = cost + price.unwrap_or_default();
                }
            }
            if let Some(back) = self.back.get_mut(last - at) {
                back.base.clone_from(&onward.base);
            }
        }
        let solved = Solved::new(&self.onward, self.joint);
        let path = solved.best()?;
        let from_start = solved.into_costs();
        let joint = |at: usize, which: usize, from: usize, to: usize| {
            let coming = self.turned.get(at).and_then(|turned| turned.get(which));
            coming.map_or(0, |(layer, which)| (self.joint)(*layer, *which, to, from))
        };
        let from_end = Solved::new(&self.back, joint).into_costs();
        let through = open.iter().enumerate().map(|(at, open)| {
            let base = self.onward.get(at).map_or(&[][..], |layer| &layer.base);
            let through = |pair: &u32| {
                let pair = *pair as usize;
                let [before, behind] = [cost(&from_start, at, pair)?, cost(&from_end, last - at, pair)?];
                Some(before + behind - i64::from(*base.get(pair)?))
            };
            open.iter().map(through).collect()
        });
        let through = through.collect();
        Some(Seen { path, through })
    }
}

fn cost(costs: &Costs, layer: usize, pair: usize) -> Option<i64> {
    let cost = costs.of(layer).get(pair).filter(|cost| **cost <= DEAREST)?;
    Some(costs.ground(layer) + i64::from(*cost))
}

/// The same ways gone backwards, between so many shapes before and behind.
fn transposed(ways: &Ways, before: usize, behind: usize) -> Ways {
    let costs = itertools::iproduct!(0..behind, 0..before).map(|(to, from)| ways.get(from, to));
    let costs: Vec<i32> = costs.collect();
    Ways::new(before, &costs)
}
