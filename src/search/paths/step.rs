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

use super::layer::{Coming, Layer};

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
    costs: Vec<T>,
    between: Vec<T>,
    result: Vec<T>,
    /// Left shapes before that matter.
    rows: Vec<u32>,
    /// Right shapes before that matter in the row at hand.
    columns: Vec<u32>,
}

impl<T> Rows<T> {
    fn reserve(&mut self, lefts: usize, rights: usize) {
        grow(&mut self.costs, lefts.max(rights));
        grow(&mut self.between, lefts * rights);
        grow(&mut self.result, rights);
        grow(&mut self.rows, lefts);
        grow(&mut self.columns, lefts.max(rights));
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
        (Some(left), Some(right)) if short => factored(costs, left, right, sizes, &mut scratch.narrow, out),
        _ => factored(costs, &coming.left.wide(), &coming.right.wide(), sizes, &mut scratch.wide, out),
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

fn factored<T: Word>(
    costs: &[i32],
    left_ways: &[T],
    right_ways: &[T],
    sizes: Sizes,
    scratch: &mut Rows<T>,
    out: &mut [i32],
) {
    let Sizes { rights_before, lefts, rights, cap, right_spread } = sizes;
    let Rows { costs: row, between, result, rows, columns } = scratch;
    rows.clear();
    between.clear();
    // First the right hand: g(l', r), for the rows that matter.
    for (l_before, cost_row) in (0..).zip(costs.chunks_exact(rights_before)) {
        let least = cost_row.iter().copied().min().unwrap_or(NEVER);
        if least >= cap {
            continue;
        }
        row.clear();
        columns.clear();
        let most = (least + right_spread).min(cap - 1);
        for (r_before, cost) in (0..).zip(cost_row) {
            if *cost <= most {
                row.push(T::of(*cost));
                columns.push(r_before);
            }
        }
        rows.push(l_before);
        let start = between.len();
        between.resize(start + rights, T::MOST);
        let target = between.get_mut(start..).unwrap_or_default();
        cheapest_sum(row, columns, right_ways, rights, target);
    }
    // Then the left hand: f(l, r).
    result.clear();
    result.resize(rights, T::MOST);
    columns.clear();
    columns.extend(0..rows.len() as u32);
    for (l, out_row) in (0..lefts).zip(out.chunks_exact_mut(rights)) {
        row.clear();
        row.extend(
            rows.iter().map(|from| left_ways.get(*from as usize * lefts + l).copied().unwrap_or(T::MOST)),
        );
        result.fill(T::MOST);
        cheapest_sum(row, columns, between, rights, result);
        for (out, cost) in out_row.iter_mut().zip(&*result) {
            *out = cost.long();
        }
    }
}

/// `best[i] = min over k of constants[k] + rows[which[k]][i]`, four rows at a time and without branches, so that it vectorises.
#[inline]
fn cheapest_sum<T: Word>(constants: &[T], which: &[u32], rows: &[T], width: usize, best: &mut [T]) {
    let row = |at: u32| {
        let start = at as usize * width;
        rows.get(start..start + width).unwrap_or_default()
    };
    let (quads, rest) = constants.as_chunks::<4>();
    let (quads_at, rest_at) = which.as_chunks::<4>();
    for ([a, b, c, d], [at_a, at_b, at_c, at_d]) in quads.iter().zip(quads_at) {
        let ways = row(*at_a).iter().zip(row(*at_b)).zip(row(*at_c)).zip(row(*at_d));
        for (best, (((way_a, way_b), way_c), way_d)) in best.iter_mut().zip(ways) {
            let low = a.plus(*way_a).min(b.plus(*way_b));
            let high = c.plus(*way_c).min(d.plus(*way_d));
            *best = (*best).min(low.min(high));
        }
    }
    for (constant, at) in rest.iter().zip(rest_at) {
        for (best, way) in best.iter_mut().zip(row(*at)) {
            *best = (*best).min(constant.plus(*way));
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
