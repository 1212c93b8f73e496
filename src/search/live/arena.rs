//! The memory in which answers are found, and how: what the cheapest path from the pair that has sounded to each pair of each
//! chord known costs, then back along the cheapest.

use std::sync::Arc;

use super::known::{Known, Sounded, Way};
use crate::search::paths::{DEAREST, Layer, NEVER, Scratch, grow, joint_step, step, sum_of};

/// A chord on the way, with the ways to it from the chord before. Those from what has sounded need not be kept.
pub(super) type Leg<'r> = (Arc<Known<'r>>, Option<Arc<Way>>);

/// The memory in which answers are found.
#[derive(Debug)]
pub(super) struct Arena {
    /// For each chord of the window what the cheapest path to each pair costs, counted from the cheapest.
    costs: Vec<Vec<i32>>,
    /// What the ways of each hand from the pair that has sounded cost.
    rows: [Vec<i32>; 2],
    scratch: Scratch,
    /// The most shapes of each hand that a chord has had, and the most pairs.
    most: [usize; 3],
}

impl Arena {
    /// Room for so many chords of ordinary size.
    pub(super) fn new(chords: usize) -> Self {
        let mut arena = Self {
            costs: vec![Vec::new(); chords],
            rows: Default::default(),
            scratch: Scratch::default(),
            most: [0; 3],
        };
        arena.reserve(64, 128);
        arena
    }

    /// Makes room for chords that have so many shapes, so that finding answers makes none.
    pub(super) fn reserve(&mut self, lefts: usize, rights: usize) {
        let [most_lefts, most_rights, most_pairs] = self.most;
        self.most = [most_lefts.max(lefts), most_rights.max(rights), most_pairs.max(lefts * rights)];
        let [most_lefts, most_rights, most_pairs] = self.most;
        self.costs.iter_mut().for_each(|costs| grow(costs, most_pairs));
        let [left, right] = &mut self.rows;
        grow(left, most_lefts);
        grow(right, most_rights);
        self.scratch.reserve(most_lefts, most_rights);
    }

    /// The pair of the first chord that lies on the cheapest path from what has sounded through all chords given; among equals
    /// as [`Solved::best`](crate::search::paths::Solved::best) chooses. Each chord must have candidates.
    pub(super) fn first_pair(&mut self, sounded: Option<&Sounded<'_>>, legs: &[Leg<'_>]) -> Option<usize> {
        let (first, way) = legs.first()?;
        self.start(sounded, first, way.as_deref())?;
        for (at, pair) in legs.windows(2).enumerate() {
            let [(before, _), (to, Some(way))] = pair else { continue };
            let (known, rest) = self.costs.split_at_mut(at + 1);
            let (known, out) = (known.last()?, rest.first_mut()?);
            let (coming, from, layer) = (&way.coming, &before.layer, &to.layer);
            step(
                known,
                (from.lefts, from.rights),
                coming,
                (layer.lefts, layer.rights),
                &mut self.scratch,
                out,
            );
            if coming.joint {
                let joint = |from, pair| to.joint(before, from, pair);
                joint_step(known, from.rights, coming, layer, joint, &mut self.scratch, out);
            }
            take_in(out, layer);
        }
        let mut pair = smallest(self.costs.get(legs.len() - 1)?)?;
        for (at, legs) in legs.windows(2).enumerate().rev() {
            let [(before, _), (to, Some(way))] = legs else { continue };
            let [_, column] = &mut self.rows;
            pair = before_on_cheapest(self.costs.get(at)?, before, way, to, pair, column)?;
        }
        Some(pair)
    }

    /// What the pairs of the first chord cost, with the way from what has sounded.
    fn start(&mut self, sounded: Option<&Sounded<'_>>, first: &Known<'_>, way: Option<&Way>) -> Option<()> {
        let out = self.costs.first_mut()?;
        out.clear();
        if let Some(sounded) = sounded {
            let [left, right] = &mut self.rows;
            let joint = sounded.ways_to(first, way, [left, right]);
            for left in &*left {
                out.extend(right.iter().map(|right| left + right));
            }
            if joint {
                for (pair, cost) in out.iter_mut().enumerate() {
                    if first.layer.cost_of(pair).is_some() {
                        *cost += first.joint(&sounded.known, sounded.pair, pair).clamp(0, Layer::MOST);
                    }
                }
            }
        } else {
            out.resize(first.layer.pairs(), 0);
        }
        take_in(out, &first.layer);
        Some(())
    }
}

/// Adds what the pairs themselves cost, and counts from the cheapest.
fn take_in(costs: &mut [i32], layer: &Layer) {
    for (cost, base) in costs.iter_mut().zip(&layer.base) {
        *cost = sum_of(*base, *cost);
    }
    for cost in costs.iter_mut().skip(layer.base.len()) {
        *cost = NEVER;
    }
    let least = costs.iter().copied().min().unwrap_or(NEVER);
    if least <= DEAREST {
        for cost in costs {
            *cost = if *cost <= DEAREST { *cost - least } else { NEVER };
        }
    }
}

/// The first of the smallest that can be reached.
fn smallest(costs: &[i32]) -> Option<usize> {
    let least = costs.iter().copied().min().filter(|least| *least <= DEAREST)?;
    costs.iter().position(|cost| *cost == least)
}

/// The pair before on the cheapest path to this pair; among equals the first. `column` is for its own use.
fn before_on_cheapest(
    costs: &[i32],
    before: &Known<'_>,
    Way { coming, .. }: &Way,
    to: &Known<'_>,
    pair: usize,
    column: &mut Vec<i32>,
) -> Option<usize> {
    let (rights, rights_before) = (to.layer.rights.max(1), before.layer.rights.max(1));
    column.clear();
    column.extend((0..rights_before).map(|from| coming.right.get(from, pair % rights)));
    let mut best: Option<(i32, usize)> = None;
    for (left_before, row) in costs.chunks_exact(rights_before).enumerate() {
        let left = coming.left.get(left_before, pair / rights);
        let is_dearer = |best: Option<(i32, usize)>, sum: i32| best.is_some_and(|(least, _)| sum >= least);
        let least = row.iter().zip(&*column).map(|(cost, right)| cost + right).min().unwrap_or(NEVER);
        if least > DEAREST || is_dearer(best, left + least) {
            continue;
        }
        for ((cost, right), at) in row.iter().zip(&*column).zip(left_before * rights_before..) {
            let mut sum = cost + left + right;
            if *cost > DEAREST || is_dearer(best, sum) {
                continue;
            }
            if coming.joint {
                sum += to.joint(before, at, pair).clamp(0, Layer::MOST);
            }
            if !is_dearer(best, sum) {
                best = Some((sum, at));
            }
        }
    }
    best.map(|(_, pair)| pair)
}
