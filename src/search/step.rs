//! The exact search for the cheapest path through a line of layers, factored by hands.
//!
//! A layer has left shapes, right shapes, and a cost for each pair. Going from one layer to the next costs `dl(l', l)`
//! for the left hand and `dr(r', r)` for the right. Because the two do not look at each other, the step
//!
//! ```text
//! f(l, r) = base(l, r) + min over l', r' of  f'(l', r') + dl(l', l) + dr(r', r)
//! ```
//!
//! factors: first `g(l', r) = min over r' of f'(l', r') + dr(r', r)`, then `f(l, r) = base(l, r) + min over l' of
//! g(l', r) + dl(l', l)`. That is `L'·R'·R + L'·L·R` additions instead of `L'·R'·L·R`, with the same optimum.

/// A pair that cannot be played. Sums of a few of these stay within `i32`.
const NEVER: i32 = i32::MAX / 8;
/// No pair and no way costs or earns more than this many points; what does counts as this much.
const MOST: i32 = 10_000_000;
/// A sum beyond came through a pair that cannot be played, whatever was added or credited on the way: the costs of a
/// layer are counted from its cheapest pair, so that they lie within a few times [`MOST`] of each other, however long
/// the tune is.
const DEAREST: i32 = NEVER / 2;

/// A sum of costs, or [`NEVER`] where one of them was.
const fn settled(sum: i32) -> i32 {
    if sum > DEAREST { NEVER } else { sum }
}

/// A cost that sums can bear.
const fn within(cost: i32) -> i32 {
    if cost > MOST {
        MOST
    } else if cost < -MOST {
        -MOST
    } else {
        cost
    }
}

/// Counts the costs of a layer from its cheapest pair, and says where that lies.
fn level(costs: &mut [i32]) -> i64 {
    let cheapest = costs.iter().copied().min().filter(|cost| *cost <= DEAREST).unwrap_or(0);
    for cost in costs {
        *cost = if *cost > DEAREST { NEVER } else { *cost - cheapest };
    }
    i64::from(cheapest)
}

/// One chord: how many shapes each hand has, the cost of each pair, and the way from the layer before. Costs lie within ten
/// million points; those of pairs and of joint ways beyond count as that much, those of the hands' ways must not be beyond.
#[derive(Clone, Debug, Default)]
pub struct Layer {
    /// Left shapes.
    pub lefts: usize,
    /// Right shapes.
    pub rights: usize,
    /// `lefts × rights` costs, a row for each left shape; `None` for a pair that cannot be played.
    pub base: Vec<Option<i32>>,
    /// `lefts of the layer before × lefts`; not looked at in the first layer.
    pub left_motion: Vec<i32>,
    /// `rights of the layer before × rights`; not looked at in the first layer.
    pub right_motion: Vec<i32>,
    /// Whether the way from the layer before costs something that looks at both hands at once.
    pub joint: bool,
}

impl Layer {
    fn base(&self) -> Vec<i32> {
        self.base.iter().map(|cost| cost.map_or(NEVER, within)).collect()
    }
}

/// The cheapest way through the layers: its cost, and the left and right shape in each. `None` where a layer has no
/// pair that can be played, or where there is no layer. Among equals, the one with the smallest indices, later layers
/// first, left before right.
///
/// # Complexity
///
/// Time `Σ L'·R'·R + L'·L·R`, memory `Σ L·R`, with L, R the shapes of a layer and L', R' those of the one before.
pub fn best_path(layers: &[Layer]) -> Option<(i32, Vec<(usize, usize)>)> {
    best_path_joint(layers, |_, _, _| 0)
}

/// As [`best_path`], where the way to some layers ([`Layer::joint`]) costs something more that looks at both hands at
/// once: `joint(layer, pair before, pair)`, ≥ 0, as the ways of the hands must be then.
///
/// # Complexity
///
/// Such a step looks at pairs of pairs: `L'·R'·L·R` at the most, less what the bound spares, which is every pair before
/// that is dearer already than the best way found.
pub fn best_path_joint(
    layers: &[Layer],
    joint: impl Fn(usize, (usize, usize), (usize, usize)) -> i32,
) -> Option<(i32, Vec<(usize, usize)>)> {
    if layers.iter().any(|layer| layer.lefts == 0 || layer.rights == 0) {
        return None;
    }
    let mut back: Vec<Back> = Vec::with_capacity(layers.len());
    let mut costs: Vec<i32> = Vec::new();
    let mut ground = 0i64;
    let mut before: Option<&Layer> = None;
    for (at, layer) in layers.iter().enumerate() {
        let (next, came) = match before {
            None => (layer.base(), Back::default()),
            Some(from) if layer.joint => joint_step(from, layer, &costs, |from, to| joint(at, from, to)),
            Some(from) => step(from, layer, &costs),
        };
        (costs, before) = (next, Some(layer));
        ground = ground.saturating_add(level(&mut costs));
        back.push(came);
    }
    let (mut at, cost) = cheapest(&costs)?;
    let cost = ground.saturating_add(i64::from(cost)).clamp(i64::from(i32::MIN), i64::from(i32::MAX)) as i32;
    let mut path = Vec::with_capacity(layers.len());
    for (layer, came) in layers.iter().zip(&back).rev() {
        let (l, r) = (at / layer.rights, at % layer.rights);
        path.push((l, r));
        at = came.before(at, r, layer.rights);
    }
    path.reverse();
    Some((cost, path))
}

/// Where the cheapest ways came from.
enum Back {
    /// By hands: for each pair the left shape before, and for each left shape before and right shape the right one.
    Hands { left: Vec<u32>, right: Vec<u32>, rights_before: usize },
    /// For each pair the pair before.
    Pairs(Vec<u32>),
}

impl Default for Back {
    fn default() -> Self {
        Self::Pairs(Vec::new())
    }
}

impl Back {
    /// The pair before the pair `at`, whose right shape is `r` of `rights`.
    fn before(&self, at: usize, r: usize, rights: usize) -> usize {
        let look = |list: &[u32], at: usize| list.get(at).copied().unwrap_or_default() as usize;
        match self {
            Self::Hands { left, right, rights_before } => {
                let from_left = look(left, at);
                from_left * rights_before + look(right, from_left * rights + r)
            }
            Self::Pairs(pairs) => look(pairs, at),
        }
    }
}

fn cheapest(costs: &[i32]) -> Option<(usize, i32)> {
    let (at, cost) = costs.iter().copied().enumerate().min_by_key(|(at, cost)| (*cost, *at))?;
    (cost <= DEAREST).then_some((at, cost))
}

fn step(from: &Layer, to: &Layer, costs: &[i32]) -> (Vec<i32>, Back) {
    let rights = to.rights;
    // First the right hand: g(l', r).
    let mut g = vec![2 * NEVER; from.lefts * rights];
    let mut right_back = vec![0u32; from.lefts * rights];
    let g_rows = g.chunks_exact_mut(rights).zip(right_back.chunks_exact_mut(rights));
    for ((g_row, back_row), cost_row) in g_rows.zip(costs.chunks_exact(from.rights)) {
        for (r_before, (cost, motion)) in
            cost_row.iter().zip(to.right_motion.chunks_exact(rights)).enumerate()
        {
            improve(g_row, back_row, *cost, motion, r_before as u32);
        }
    }
    // Then the left hand: f(l, r). The row of g is the "motion" here, the left hand's way the constant.
    let mut f = vec![2 * NEVER; to.lefts * rights];
    let mut left_back = vec![0u32; to.lefts * rights];
    for (l_before, (g_row, motion)) in
        g.chunks_exact(rights).zip(to.left_motion.chunks_exact(to.lefts)).enumerate()
    {
        let f_rows = f.chunks_exact_mut(rights).zip(left_back.chunks_exact_mut(rights));
        for ((f_row, back_row), way) in f_rows.zip(motion) {
            improve(f_row, back_row, *way, g_row, l_before as u32);
        }
    }
    for (cost, base) in f.iter_mut().zip(&to.base) {
        *cost = match base {
            Some(base) => settled(*cost + within(*base)),
            None => NEVER,
        };
    }
    (f, Back::Hands { left: left_back, right: right_back, rights_before: from.rights })
}

/// Every pair against the pairs before it, cheapest first, as long as they can still be better.
fn joint_step(
    from: &Layer,
    to: &Layer,
    costs: &[i32],
    joint: impl Fn((usize, usize), (usize, usize)) -> i32,
) -> (Vec<i32>, Back) {
    let mut order: Vec<(i32, u32)> =
        costs.iter().copied().zip(0..).filter(|(cost, _)| *cost <= DEAREST).collect();
    order.sort_unstable();
    let (mut f, mut back) = (vec![NEVER; to.base.len()], vec![0u32; to.base.len()]);
    for (at, ((slot, mark), base)) in f.iter_mut().zip(&mut back).zip(&to.base).enumerate() {
        let Some(base) = base else { continue };
        let (l, r) = (at / to.rights, at % to.rights);
        let mut best = (i32::MAX, 0u32);
        for (cost, came) in &order {
            // What is still to come is at least as dear, and ways cost something or nothing.
            if *cost > best.0 {
                break;
            }
            let (lb, rb) = (*came as usize / from.rights, *came as usize % from.rights);
            let left = to.left_motion.get(lb * to.lefts + l).copied().unwrap_or(NEVER);
            let right = to.right_motion.get(rb * to.rights + r).copied().unwrap_or(NEVER);
            let sum = cost + left + right;
            if (sum, *came) < best {
                best = best.min((sum + within(joint((lb, rb), (l, r)).max(0)), *came));
            }
        }
        if best.0 <= DEAREST {
            (*slot, *mark) = (settled(best.0 + within(*base)), best.1);
        }
    }
    (f, Back::Pairs(back))
}

/// `best[i] = min(best[i], constant + row[i])`, remembering who improved it. Without branches, so that it vectorises.
#[inline]
fn improve(best: &mut [i32], back: &mut [u32], constant: i32, row: &[i32], who: u32) {
    for ((best, back), cost) in best.iter_mut().zip(back).zip(row) {
        let sum = constant + cost;
        let better = sum < *best;
        *back = if better { who } else { *back };
        *best = if better { sum } else { *best };
    }
}

/// The slow twin of [`best_path_joint`]: every pair against every pair before it. For tests and benches.
pub fn best_path_dense(
    layers: &[Layer],
    joint: impl Fn(usize, (usize, usize), (usize, usize)) -> i32,
) -> Option<(i32, Vec<(usize, usize)>)> {
    let mut costs: Vec<i32> = Vec::new();
    let mut backs: Vec<Vec<usize>> = Vec::new();
    let mut before: Option<&Layer> = None;
    for (index, layer) in layers.iter().enumerate() {
        let base = layer.base();
        let Some(from) = before else {
            (costs, before) = (base, Some(layer));
            backs.push(Vec::new());
            continue;
        };
        let mut next = vec![NEVER; base.len()];
        let mut back = vec![0; base.len()];
        for (at, base) in base.iter().enumerate().filter(|(_, base)| **base < NEVER) {
            let (l, r) = (at / layer.rights, at % layer.rights);
            let ways = costs.iter().enumerate().map(|(at_before, cost)| {
                let (lb, rb) = (at_before / from.rights, at_before % from.rights);
                let left = layer.left_motion.get(lb * layer.lefts + l).copied().unwrap_or(NEVER);
                let right = layer.right_motion.get(rb * layer.rights + r).copied().unwrap_or(NEVER);
                let both = if layer.joint { joint(index, (lb, rb), (l, r)) } else { 0 };
                (cost + left + right + both, at_before)
            });
            if let (Some((cost, came)), Some(slot), Some(mark)) =
                (ways.min(), next.get_mut(at), back.get_mut(at))
            {
                (*slot, *mark) = (settled(cost + base), came);
            }
        }
        (costs, before) = (next, Some(layer));
        backs.push(back);
    }
    let (mut at, cost) = cheapest(&costs)?;
    let mut path = Vec::new();
    for (layer, back) in layers.iter().zip(&backs).rev() {
        path.push((at / layer.rights, at % layer.rights));
        at = back.get(at).copied().unwrap_or_default();
    }
    path.reverse();
    Some((cost, path))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn layers() -> impl Strategy<Value = Vec<Layer>> {
        prop::collection::vec((1usize..6, 1usize..7), 1..6).prop_flat_map(|sizes| {
            let mut before = (1, 1);
            let layers: Vec<_> = sizes
                .into_iter()
                .map(|(lefts, rights)| {
                    let from = std::mem::replace(&mut before, (lefts, rights));
                    let base = prop::option::weighted(0.8, -40..60i32);
                    (
                        Just((lefts, rights)),
                        prop::collection::vec(base, lefts * rights),
                        prop::collection::vec(0..12i32, from.0 * lefts),
                        prop::collection::vec(0..12i32, from.1 * rights),
                        any::<bool>(),
                    )
                        .prop_map(
                            |((lefts, rights), base, left_motion, right_motion, joint)| Layer {
                                lefts,
                                rights,
                                base,
                                left_motion,
                                right_motion,
                                joint,
                            },
                        )
                })
                .collect();
            layers
        })
    }

    /// Some cost that does not divide into hands.
    fn both(layer: usize, from: (usize, usize), to: (usize, usize)) -> i32 {
        ((layer * 7 + from.0 * 3 + from.1 * 5 + to.0 * 11 + to.1 * 13) % 9) as i32
    }

    fn cost_of(layers: &[Layer], path: &[(usize, usize)]) -> i32 {
        let mut sum = 0;
        for (i, (layer, (l, r))) in layers.iter().zip(path).enumerate() {
            sum += layer.base[l * layer.rights + r].unwrap();
            if i > 0 {
                let (lb, rb) = path[i - 1];
                sum += layer.left_motion[lb * layer.lefts + l] + layer.right_motion[rb * layer.rights + r];
                sum += if layer.joint { both(i, (lb, rb), (*l, *r)) } else { 0 };
            }
        }
        sum
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2_000))]

        #[test]
        fn prop_the_fast_steps_find_what_the_dense_step_finds(layers in layers()) {
            let fast = best_path_joint(&layers, both);
            let slow = best_path_dense(&layers, both);
            prop_assert_eq!(&fast, &slow); // the same cost, and the same path among ties
            if let Some((cost, path)) = fast {
                prop_assert_eq!(cost_of(&layers, &path), cost);
            }
        }
    }

    /// However dear the chords are, and however many, there is a way.
    #[test]
    fn ok_dear_layers_and_long_tunes() {
        let layer = |cost: i32| Layer {
            lefts: 2,
            rights: 2,
            base: vec![Some(cost), Some(cost - 1), None, Some(cost)],
            left_motion: vec![0, 1, 1, 0],
            right_motion: vec![0, 1, 1, 0],
            joint: false,
        };
        for joint in [false, true] {
            let layers: Vec<Layer> =
                (0..4_000).map(|at| Layer { joint, ..layer(1_000_000 + at % 3) }).collect();
            let (cost, path) = best_path_joint(&layers, |_, _, _| 0).unwrap();
            assert!(path.iter().all(|pair| *pair == (0, 1)));
            assert_eq!(cost, i32::MAX, "four thousand million points do not fit");
            let (cost, path) = best_path_joint(&layers[..200], |_, _, _| 0).unwrap();
            assert_eq!((cost, path.len()), (200 * 999_999 + 199, 200));
            let mad: Vec<Layer> = [i32::MAX, i32::MAX - 5, i32::MIN + 5].into_iter().map(layer).collect();
            assert_eq!(best_path_joint(&mad, |_, _, _| i32::MAX).unwrap().1.len(), 3);
        }
    }

    #[test]
    fn ok_nothing_to_search() {
        assert_eq!(best_path(&[]), None);
        assert_eq!(best_path(&[Layer::default()]), None);
        let never = Layer { lefts: 1, rights: 1, base: vec![None], ..Layer::default() };
        assert_eq!(best_path(std::slice::from_ref(&never)), None);
        assert_eq!(best_path_dense(&[never], both), None);
    }
}
