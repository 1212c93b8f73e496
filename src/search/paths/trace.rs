//! The cheapest path, told from what is known of the costs.

use super::costs::{Costs, Joint};
use super::layer::Layer;
use super::solved::Path;
use super::step::DEAREST;

/// The cheapest path, back from its end: before each pair stands the first pair from which the way comes to what is known to be
/// the least. Among equals the one with the smallest numbers, later layers first. `None` where there is none.
///
/// That is the first of [`first_paths`](super::first::first_paths), found without a list of those that come next.
pub(super) fn trace(layers: &[Layer], joint: &impl Joint, costs: &Costs) -> Option<Path> {
    let mut goes_on = vec![false; layers.len()];
    for coming in layers.iter().flat_map(|layer| &layer.from) {
        if let Some(cell) = goes_on.get_mut(coming.layer) {
            *cell = true;
        }
    }
    let ends = goes_on.iter().enumerate().filter(|(_, goes_on)| !**goes_on).map(|(at, _)| at);
    let cheapest = ends.filter_map(|at| {
        let (pair, cost) = costs.of(at).iter().enumerate().min_by_key(|(_, cost)| **cost)?;
        (*cost <= DEAREST).then(|| (costs.ground(at) + i64::from(*cost), at, pair))
    });
    // The first of the cheapest.
    let (cost, mut at, mut pair) = cheapest.min_by_key(|(cost, ..)| *cost)?;
    let (mut nodes, mut known) = (Vec::new(), cost);
    loop {
        let layer = layers.get(at)?;
        let rights = layer.rights.max(1);
        nodes.push((at, pair / rights, pair % rights));
        if layer.from.is_empty() {
            break;
        }
        let before = known - i64::from(layer.cost_of(pair)?);
        (at, pair, known) = step_back(layers, joint, costs, (at, pair), before)?;
    }
    nodes.reverse();
    Some(Path { cost, nodes })
}

/// The first pair before from which the way comes to `value`: its layer, the pair, and what the path up to it costs.
fn step_back(
    layers: &[Layer],
    joint: &impl Joint,
    costs: &Costs,
    (at, pair): (usize, usize),
    value: i64,
) -> Option<(usize, usize, i64)> {
    let layer = layers.get(at)?;
    let (left, right) = (pair / layer.rights.max(1), pair % layer.rights.max(1));
    for (which, coming) in layer.from.iter().enumerate() {
        let before = layers.get(coming.layer)?;
        let rights = before.rights.max(1);
        let ways: Vec<i32> = (0..before.rights).map(|from| coming.right.get(from, right)).collect();
        let ground = costs.ground(coming.layer);
        for (from, row) in costs.of(coming.layer).chunks_exact(rights).enumerate() {
            let Ok(rest) = i32::try_from(value - ground - i64::from(coming.left.get(from, left))) else {
                continue;
            };
            // Neither is more than half of what fits.
            let sums = || row.iter().zip(&ways).map(|(cost, way)| cost.wrapping_add(*way));
            // Where both hands together cost something too, all that costs less without may be it.
            let may_be = |sum: i32| if coming.joint { sum <= rest } else { sum == rest };
            if !sums().fold(false, |any, sum| any | may_be(sum)) {
                continue;
            }
            let both = |from_right: usize| match coming.joint {
                true => (joint)(at, which, from * rights + from_right, pair).clamp(0, Layer::MOST),
                false => 0,
            };
            let is_it = |(from_right, sum): &(usize, i32)| {
                may_be(*sum) && sum.checked_add(both(*from_right)) == Some(rest)
            };
            if let Some((from_right, _)) = sums().enumerate().find(is_it) {
                let cost = row.get(from_right)?;
                return Some((coming.layer, from * rights + from_right, ground + i64::from(*cost)));
            }
        }
    }
    None
}
