//! The slow twin: every pair against every pair before it.

use super::layer::Layer;
use super::solved::Path;

/// The cheapest path as [`Solved::best`](super::Solved::best) finds it, the slow way. For tests and benches.
pub fn best_dense(layers: &[Layer], joint: impl Fn(usize, usize, usize, usize) -> i32) -> Option<Path> {
    // For each pair its cost and who came before: which of the comings, the pair there.
    let mut known: Vec<Vec<Option<(i64, usize, usize)>>> = Vec::new();
    for (at, layer) in layers.iter().enumerate() {
        let pair = |pair: usize| {
            let base = i64::from(layer.cost_of(pair)?);
            if layer.from.is_empty() {
                return Some((base, 0, 0));
            }
            let mut best: Option<(i64, usize, usize)> = None;
            for (which, coming) in layer.from.iter().enumerate() {
                let rights = layers.get(coming.layer)?.rights;
                for (before, cost) in known.get(coming.layer)?.iter().enumerate() {
                    let Some((cost, ..)) = cost else { continue };
                    let left = coming.left.get(before / rights, pair / layer.rights);
                    let right = coming.right.get(before % rights, pair % layer.rights);
                    let both =
                        if coming.joint { joint(at, which, before, pair).clamp(0, Layer::MOST) } else { 0 };
                    let sum = cost + base + i64::from(left) + i64::from(right) + i64::from(both);
                    if best.is_none_or(|best| (sum, which, before) < best) {
                        best = Some((sum, which, before));
                    }
                }
            }
            best
        };
        known.push((0..layer.pairs()).map(pair).collect());
    }
    let goes_on = |at: usize| layers.iter().any(|layer| layer.from.iter().any(|c| c.layer == at));
    let ends = known.iter().enumerate().filter(|(at, _)| !goes_on(*at));
    let all = ends.flat_map(|(at, pairs)| {
        pairs.iter().enumerate().filter_map(move |(pair, cost)| Some((cost.as_ref()?.0, at, pair)))
    });
    let (cost, mut at, mut pair) = all.min()?;
    let mut nodes = Vec::new();
    loop {
        let layer = layers.get(at)?;
        nodes.push((at, pair / layer.rights, pair % layer.rights));
        let (_, which, before) = (*known.get(at)?.get(pair)?)?;
        let Some(coming) = layer.from.get(which) else { break };
        (at, pair) = (coming.layer, before);
    }
    nodes.reverse();
    Some(Path { cost, nodes })
}
