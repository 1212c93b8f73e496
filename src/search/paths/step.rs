//! The step from layer to layer, factored by hands.
//!
//! Going from one layer to the next costs `dl(l', l)` for the left hand and `dr(r', r)` for the right. Because the two do not
//! look at each other, the step
//!
//! ```text
//! f(l, r) = base(l, r) + min over l', r' of  f'(l', r') + dl(l', l) + dr(r', r)
//! ```
//!
//! factors: first `g(l', r) = min over r' of f'(l', r') + dr(r', r)`, then `f(l, r) = base(l, r) + min over l' of
//! g(l', r) + dl(l', l)`. That is `L'·R'·R + L'·L·R` additions instead of `L'·R'·L·R`, with the same optimum. Only the costs
//! are kept; who came from where is asked again along the few paths that are wanted (`trace.rs`, `first.rs`).
//!
//! Two things are left out because they cannot be the cheapest, which changes no cost: pairs before that are dearer than the
//! cheapest by more than ways differ, and, in a row, right shapes that are dearer than the row's cheapest by more than ways of
//! the right hand differ. Because of the first, costs counted from the cheapest fit into short words nearly always.

use super::layer::{Coming, LANES, Layer, stride};
use crate::registers::{Job, widest};

/// A pair that no path leads to.
pub(in crate::search) const NEVER: i32 = i32::MAX / 2;
/// A sum beyond came through such a pair.
pub(in crate::search) const DEAREST: i32 = NEVER / 2;

/// Memory that steps use again and again.
#[derive(Clone, Debug, Default)]
pub struct Scratch {
    narrow: Rows<i16>,
    wide: Rows<i32>,
    order: Vec<(i32, u32)>,
}

impl Scratch {
    /// Makes room for steps between layers of so many shapes, so that those make none of their own.
    pub(in crate::search) fn reserve(&mut self, lefts: usize, rights: usize) {
        self.narrow.reserve(lefts, rights);
        self.wide.reserve(lefts, rights);
        grow(&mut self.order, lefts * rights);
    }
}

/// Makes room for so many in all.
pub(in crate::search) fn grow<T>(list: &mut Vec<T>, all: usize) {
    list.reserve(all.saturating_sub(list.len()));
}

#[derive(Clone, Debug, Default)]
struct Rows<T> {
    /// What is added to which row.
    sums: Vec<(T, u32)>,
    between: Vec<T>,
    result: Vec<T>,
    /// Left shapes before that matter.
    rows: Vec<u32>,
}

impl<T> Rows<T> {
    fn reserve(&mut self, lefts: usize, rights: usize) {
        grow(&mut self.sums, lefts.max(rights));
        grow(&mut self.between, lefts * stride(rights));
        grow(&mut self.result, stride(rights));
        grow(&mut self.rows, lefts);
    }
}

/// A machine word in which costs are added.
trait Word: Copy + Ord + Default {
    const MOST: Self;
    fn plus(self, other: Self) -> Self;
    fn of(cost: i32) -> Self;
    fn long(self) -> i32;
}

impl Word for i16 {
    const MOST: Self = Self::MAX;
    #[inline(always)]
    fn plus(self, other: Self) -> Self {
        self.wrapping_add(other)
    }
    #[inline(always)]
    fn of(cost: i32) -> Self {
        cost as Self
    }
    #[inline(always)]
    fn long(self) -> i32 {
        i32::from(self)
    }
}

impl Word for i32 {
    const MOST: Self = NEVER;
    #[inline(always)]
    fn plus(self, other: Self) -> Self {
        self.wrapping_add(other)
    }
    #[inline(always)]
    fn of(cost: i32) -> Self {
        cost
    }
    #[inline(always)]
    fn long(self) -> i32 {
        self
    }
}

/// The cheapest way to each pair of a layer, without what the pair itself costs: from `costs` of the layer before, which are
/// counted from their cheapest, [`NEVER`] where no path leads. Sizes are those of left and right shapes.
pub(in crate::search) fn step(
    costs: &[i32],
    (lefts_before, rights_before): (usize, usize),
    coming: &Coming,
    (lefts, rights): (usize, usize),
    scratch: &mut Scratch,
    out: &mut Vec<i32>,
) {
    out.clear();
    out.resize(lefts * rights, NEVER);
    let fits = costs.len() == lefts_before * rights_before && rights_before > 0 && rights > 0 && lefts > 0;
    if !fits || costs.iter().all(|cost| *cost > DEAREST) {
        return;
    }
    let (right_least, right_most) = coming.right.range();
    let right_spread = right_most - right_least;
    let sizes = Sizes { rights_before, lefts, rights, cap: coming.cap(), right_spread };
    let short = coming.is_short();
    match (coming.left.narrow(), coming.right.narrow()) {
        (Some(left), Some(right)) if short => {
            widest(Factored { costs, ways: [left, right], sizes, scratch: &mut scratch.narrow, out });
        }
        _ => {
            let (left, right) = (coming.left.wide(), coming.right.wide());
            widest(Factored { costs, ways: [&left, &right], sizes, scratch: &mut scratch.wide, out });
        }
    }
}

#[derive(Clone, Copy)]
struct Sizes {
    rights_before: usize,
    lefts: usize,
    rights: usize,
    cap: i32,
    right_spread: i32,
}

/// A step in words of one length.
struct Factored<'a, T> {
    costs: &'a [i32],
    /// Of the left hand and of the right.
    ways: [&'a [T]; 2],
    sizes: Sizes,
    scratch: &'a mut Rows<T>,
    out: &'a mut [i32],
}

impl<T: Word> Job for Factored<'_, T> {
    type Answer = ();

    #[inline(always)]
    fn run(self) {
        let [left, right] = self.ways;
        factored(self.costs, left, right, self.sizes, self.scratch, self.out);
    }
}

#[inline(always)]
fn factored<T: Word>(
    costs: &[i32],
    left_ways: &[T],
    right_ways: &[T],
    sizes: Sizes,
    scratch: &mut Rows<T>,
    out: &mut [i32],
) {
    let Sizes { rights_before, lefts, rights, cap, right_spread } = sizes;
    let Rows { sums, between, result, rows } = scratch;
    let (left_width, width) = (stride(lefts), stride(rights));
    rows.clear();
    between.resize(between.len().max(costs.len() / rights_before * width), T::MOST);
    let mut targets = between.chunks_exact_mut(width);
    // First the right hand: g(l', r), for the rows that matter.
    for (l_before, cost_row) in (0..).zip(costs.chunks_exact(rights_before)) {
        let least = cost_row.iter().copied().min().unwrap_or(NEVER);
        if least >= cap {
            continue;
        }
        matter(cost_row, (least + right_spread).min(cap - 1), sums);
        rows.push(l_before);
        if let Some(target) = targets.next() {
            target.fill(T::MOST);
            cheapest_sum(sums, right_ways, target);
        }
    }
    // Then the left hand: f(l, r).
    result.resize(width, T::MOST);
    for (l, out_row) in (0..lefts).zip(out.chunks_exact_mut(rights)) {
        let way = |from: u32| left_ways.get(from as usize * left_width + l).copied().unwrap_or(T::MOST);
        sums.clear();
        sums.extend((0..).zip(&*rows).map(|(at, from)| (way(*from), at)));
        result.fill(T::MOST);
        cheapest_sum(sums, between, result);
        for (out, cost) in out_row.iter_mut().zip(&*result) {
            *out = cost.long();
        }
    }
}

/// The costs of a row up to `most`, with their places; without branches.
#[inline(always)]
fn matter<T: Word>(costs: &[i32], most: i32, into: &mut Vec<(T, u32)>) {
    into.resize(costs.len(), Default::default());
    let mut count = 0;
    let cells = &mut into[..];
    for (at, cost) in (0..).zip(costs) {
        if let Some(cell) = cells.get_mut(count) {
            *cell = (T::of(*cost), at);
        }
        count += usize::from(*cost <= most);
    }
    into.truncate(count);
}

/// `best[i] = min over k of sums[k].0 + rows[sums[k].1][i]`, four rows at a time and without branches, so that it vectorises;
/// rows are as long as `best`, a multiple of [`LANES`].
#[inline(always)]
fn cheapest_sum<T: Word>(sums: &[(T, u32)], rows: &[T], best: &mut [T]) {
    let width = best.len();
    let row = |at: u32| {
        let start = at as usize * width;
        rows.get(start..start + width).unwrap_or_default().as_chunks::<LANES>().0
    };
    let (best, _) = best.as_chunks_mut::<LANES>();
    let (quads, rest) = sums.as_chunks::<4>();
    // What is written is put together aside, since the compiler cannot know that it is not read too.
    for &[(a, at_a), (b, at_b), (c, at_c), (d, at_d)] in quads {
        let ways = row(at_a).iter().zip(row(at_b)).zip(row(at_c)).zip(row(at_d));
        for (best, (((way_a, way_b), way_c), way_d)) in best.iter_mut().zip(ways) {
            let mut cheapest = *best;
            let ways = way_a.iter().zip(way_b).zip(way_c).zip(way_d);
            for (cheapest, (((way_a, way_b), way_c), way_d)) in cheapest.iter_mut().zip(ways) {
                let low = a.plus(*way_a).min(b.plus(*way_b));
                let high = c.plus(*way_c).min(d.plus(*way_d));
                *cheapest = (*cheapest).min(low.min(high));
            }
            *best = cheapest;
        }
    }
    for &(constant, at) in rest {
        for (best, way) in best.iter_mut().zip(row(at)) {
            let mut cheapest = *best;
            for (cheapest, way) in cheapest.iter_mut().zip(way) {
                *cheapest = (*cheapest).min(constant.plus(*way));
            }
            *best = cheapest;
        }
    }
}

/// The same where the way costs something more that looks at both hands at once: `joint(pair before, pair)`, ≥ 0. `out` holds
/// what [`step`] found, below which nothing can come; each pair is held against those before it, cheapest first, until that is
/// met or what is still to come is dearer. Ways must not be negative.
pub(in crate::search) fn joint_step(
    costs: &[i32],
    rights_before: usize,
    coming: &Coming,
    to: &Layer,
    joint: impl Fn(usize, usize) -> i32,
    scratch: &mut Scratch,
    out: &mut [i32],
) {
    let order = &mut scratch.order;
    order.clear();
    order.extend(costs.iter().copied().zip(0..).filter(|(cost, _)| *cost <= DEAREST));
    order.sort_unstable();
    let (rights_before, rights) = (rights_before.max(1), to.rights.max(1));
    for (pair, slot) in out.iter_mut().enumerate() {
        if *slot > DEAREST || to.cost_of(pair).is_none() {
            continue;
        }
        let (least, mut best) = (*slot, NEVER);
        for (cost, before) in &*order {
            if *cost >= best {
                break;
            }
            let before = *before as usize;
            let left = coming.left.get(before / rights_before, pair / rights);
            let right = coming.right.get(before % rights_before, pair % rights);
            let sum = cost.saturating_add(left).saturating_add(right);
            if sum < best {
                best = best.min(sum.saturating_add(joint(before, pair).clamp(0, Layer::MOST)));
                if best == least {
                    break;
                }
            }
        }
        *slot = best;
    }
}

#[cfg(test)]
mod tests {
    use proptest::collection::vec;
    use proptest::prelude::*;

    use super::*;
    use crate::search::paths::Ways;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        /// What the usual registers find is what the widest find, and what one pair after the other does.
        #[test]
        fn prop_registers_of_any_width(
            [lefts_before, rights_before, lefts, rights] in [1usize..6, 1usize..40, 1usize..6, 1usize..40],
            seed in vec(0i32..60, 40 * 40),
            costs in vec(prop_oneof![4 => 0i32..90, 1 => Just(NEVER)], 6 * 40),
        ) {
            let costs = &costs[..lefts_before * rights_before];
            let way = |count: usize, to: usize| Ways::new(to, &seed[..count * to]);
            let coming = Coming {
                layer: 0, left: way(lefts_before, lefts), right: way(rights_before, rights), joint: false,
            };
            let mut found = Vec::new();
            step(costs, (lefts_before, rights_before), &coming, (lefts, rights), &mut Scratch::default(), &mut found);

            let sizes = Sizes { rights_before, lefts, rights, cap: coming.cap(), right_spread: 60 };
            let mut usual = vec![NEVER; lefts * rights];
            let ways = [coming.left.narrow().unwrap(), coming.right.narrow().unwrap()];
            let scratch = &mut Rows::default();
            Factored { costs, ways, sizes, scratch, out: &mut usual }.run();

            let least = costs.iter().min().unwrap();
            prop_assume!(*least == 0);
            prop_assert_eq!(&found, &usual);
            for (pair, found) in found.iter().enumerate() {
                let slow = costs.iter().enumerate().filter(|(_, cost)| **cost < NEVER).map(|(before, cost)| {
                    cost + coming.left.get(before / rights_before, pair / rights)
                        + coming.right.get(before % rights_before, pair % rights)
                });
                prop_assert_eq!(*found, slow.min().unwrap());
            }
        }
    }
}
