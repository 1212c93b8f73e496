//! The ways from many shapes of a hand to many others at once, as [`Motion::cost`] says them one by one.
//!
//! The shapes one may go to are grouped by their number of keys and kept in columns, eight shapes in a block. What a voice
//! costs from a key to each column is worked out once for each key that some shape before holds; a way is then a sum, or
//! the shortest path through a grid, of what stands there, for eight shapes at a time and without a branch on any of them.

use std::ops::{Add, Mul};

use crate::rules::kind::Motion;

/// The shapes of a block: as many short numbers as the narrowest registers in use hold.
const LANES: usize = 8;
/// The most keys of a hand.
const FINGERS: usize = 5;

/// One number for each shape of a block.
type Block<L> = [L; LANES];

/// A number that points are counted in: short where all sums fit.
trait Lane:
    Copy + Default + Ord + Add<Output = Self> + Mul<Output = Self> + From<i16> + TryFrom<i32> + Into<i32>
{
}

impl Lane for i16 {}
impl Lane for i32 {}

fn sum<L: Lane>(a: &Block<L>, b: &Block<L>) -> Block<L> {
    let mut both = *a;
    both.iter_mut().zip(b).for_each(|(a, b)| *a = *a + *b);
    both
}

fn least<L: Lane>(a: &Block<L>, b: &Block<L>) -> Block<L> {
    let mut both = *a;
    both.iter_mut().zip(b).for_each(|(a, b)| *a = if *b < *a { *b } else { *a });
    both
}

/// The shapes with one number of keys.
struct Group {
    /// How many keys each has, `0..=5`.
    size: usize,
    /// Where each stands in the list that was given.
    places: Vec<usize>,
    /// Block by block the lowest keys of its shapes, their second keys and so on; what is over in the last block is filled
    /// with its last shape.
    columns: Vec<Block<i16>>,
}

impl Group {
    fn new(size: usize, to: &[&[u8]]) -> Self {
        let places: Vec<usize> =
            to.iter().enumerate().filter(|(_, keys)| keys.len() == size).map(|(place, _)| place).collect();
        let mut columns = Vec::with_capacity(places.len().div_ceil(LANES) * size);
        for block in places.chunks(LANES) {
            for voice in 0..size {
                let key = |place: &usize| to.get(*place).and_then(|keys| keys.get(voice)).copied();
                let mut column = [0; LANES];
                let last = block.last().and_then(key);
                let keys = block.iter().map(key).chain(std::iter::repeat(last));
                column
                    .iter_mut()
                    .zip(keys)
                    .for_each(|(slot, key)| *slot = i16::from(key.unwrap_or_default()));
                columns.push(column);
            }
        }
        Self { size, places, columns }
    }

    fn blocks(&self) -> usize {
        self.places.len().div_ceil(LANES)
    }
}

/// From which shapes to which.
pub(super) struct Ways<'k> {
    from: &'k [&'k [u8]],
    /// How many shapes one may go to.
    width: usize,
    groups: Vec<Group>,
    /// The keys that some shape before holds, each once.
    keys: Vec<u8>,
    /// The place of a key in that list.
    slots: [u16; 256],
    /// The farthest that a voice may move.
    span: u8,
}

impl<'k> Ways<'k> {
    /// `None` where a shape has more than five keys.
    pub(super) fn new(from: &'k [&'k [u8]], to: &[&[u8]]) -> Option<Self> {
        if from.iter().chain(to).any(|keys| keys.len() > FINGERS) {
            return None;
        }
        let (mut keys, mut slots) = (Vec::new(), [u16::MAX; 256]);
        for key in from.iter().copied().flatten() {
            if let Some(slot) = slots.get_mut(usize::from(*key)).filter(|slot| **slot == u16::MAX) {
                *slot = keys.len() as u16;
                keys.push(*key);
            }
        }
        let all = || from.iter().chain(to).copied().flatten().copied();
        let span = all().max().unwrap_or_default() - all().min().unwrap_or_default();
        let groups = (0..=FINGERS).map(|size| Group::new(size, to)).filter(|group| !group.places.is_empty());
        Some(Self { from, width: to.len(), groups: groups.collect(), keys, slots, span })
    }

    /// Adds what a rule charges for every way to the rows of `out`, which hold at most `most` each.
    pub(super) fn add(&self, rule: &Motion, most: i32, out: &mut [i32]) {
        // A way through the grid takes fewer than two fives of pairs.
        let pairs = 2 * FINGERS as i32 * (rule.per_semitone * i32::from(self.span) + rule.leap);
        let dearest = pairs + FINGERS as i32 * (rule.voice_change + rule.common_tone);
        if dearest <= i32::from(i16::MAX) {
            self.add_in::<i16>(rule, most, out);
        } else {
            self.add_in::<i32>(rule, most, out);
        }
    }

    fn add_in<L: Lane>(&self, rule: &Motion, most: i32, out: &mut [i32]) {
        if self.width == 0 {
            return;
        }
        for group in &self.groups {
            let table = Table::<L>::new(group, rule, &self.keys);
            let mut costs = vec![Block::<L>::default(); group.blocks()];
            for (from, row) in self.from.iter().zip(out.chunks_exact_mut(self.width)) {
                self.row(rule, group, &table, from, &mut costs);
                for (place, cost) in group.places.iter().zip(costs.as_flattened()) {
                    if let Some(slot) = row.get_mut(*place) {
                        *slot = slot.saturating_add((*cost).into()).min(most);
                    }
                }
            }
        }
    }

    /// The costs of the ways from one shape to all of a group.
    fn row<L: Lane>(
        &self,
        rule: &Motion,
        group: &Group,
        table: &Table<L>,
        from: &[u8],
        costs: &mut [Block<L>],
    ) {
        let change = from.len().abs_diff(group.size) as i32 * rule.voice_change;
        costs.fill([lane(change); LANES]);
        if from.is_empty() || group.size == 0 {
            return;
        }
        let mut slots = [0; FINGERS];
        for (slot, key) in slots.iter_mut().zip(from) {
            *slot = self.slots.get(usize::from(*key)).copied().map_or(0, usize::from);
        }
        let slots = slots.get(..from.len()).unwrap_or_default();
        if rule.common_tone > 0 {
            table.add_left_behind(from, slots, costs);
        }
        match group.size {
            size if size == from.len() => table.add_in_order(slots, costs),
            1 => table.add_cheapest::<1>(slots, costs),
            2 => table.add_cheapest::<2>(slots, costs),
            3 => table.add_cheapest::<3>(slots, costs),
            4 => table.add_cheapest::<4>(slots, costs),
            _ => table.add_cheapest::<FINGERS>(slots, costs),
        }
    }
}

/// A number of points that is known to fit.
fn lane<L: Lane>(points: i32) -> L {
    L::try_from(points).unwrap_or_default()
}

/// What the keys of the shapes before cost against the shapes of a group.
struct Table<L> {
    size: usize,
    /// For each key, block by block, what a voice costs from there to each column.
    voices: Vec<Block<L>>,
    /// For each key what it costs that its pitch class is held without it; empty where that costs nothing.
    left: Vec<Block<L>>,
    blocks: usize,
}

impl<L: Lane> Table<L> {
    fn new(group: &Group, rule: &Motion, keys: &[u8]) -> Self {
        let (per_semitone, leap, none) = (lane::<L>(rule.per_semitone), lane::<L>(rule.leap), L::default());
        let leap_over = lane::<i16>(rule.leap_over);
        let mut voices = Vec::with_capacity(keys.len() * group.columns.len());
        for key in keys {
            let key = i16::from(*key);
            voices.extend(group.columns.iter().map(|column| {
                column.map(|other| {
                    let moved = (other - key).max(key - other);
                    L::from(moved) * per_semitone + if moved > leap_over { leap } else { none }
                })
            }));
        }
        let mut left = Vec::new();
        if rule.common_tone > 0 && group.size > 0 {
            let points = lane::<L>(rule.common_tone);
            for key in keys {
                left.extend(group.columns.chunks_exact(group.size).map(|columns| {
                    let mut cost = Block::<L>::default();
                    for (place, cost) in cost.iter_mut().enumerate() {
                        let shape = || columns.iter().filter_map(|column| column.get(place));
                        let is_held = shape().any(|other| *other == i16::from(*key));
                        if !is_held && shape().any(|other| other % 12 == i16::from(*key % 12)) {
                            *cost = points;
                        }
                    }
                    cost
                }));
            }
        }
        Self { size: group.size, voices, left, blocks: group.blocks() }
    }

    /// The voices of a key, block by block.
    fn voices(&self, slot: usize) -> &[Block<L>] {
        let row = self.blocks * self.size;
        self.voices.get(slot * row..(slot + 1) * row).unwrap_or_default()
    }

    /// Adds the voices matched one by one.
    fn add_in_order(&self, slots: &[usize], costs: &mut [Block<L>]) {
        for (voice, slot) in slots.iter().enumerate() {
            let voices = self.voices(*slot).iter().skip(voice).step_by(self.size);
            costs.iter_mut().zip(voices).for_each(|(cost, voice)| *cost = sum(cost, voice));
        }
    }

    /// Adds the cheapest matching: the shortest path through the grid of pairs.
    fn add_cheapest<const N: usize>(&self, slots: &[usize], costs: &mut [Block<L>]) {
        let mut rows = [const { &[] as &[[Block<L>; N]] }; FINGERS];
        for (row, slot) in rows.iter_mut().zip(slots) {
            *row = self.voices(*slot).as_chunks().0;
        }
        let Some((first, rest)) = rows.get(..slots.len()).unwrap_or_default().split_first() else { return };
        for (block, (cost, first)) in costs.iter_mut().zip(*first).enumerate() {
            // Cell j stands for "all up to the voice j matched".
            let mut best = *first;
            let mut before = Block::<L>::default();
            for cell in &mut best {
                *cell = sum(cell, &before);
                before = *cell;
            }
            for row in rest {
                let Some(voices) = row.get(block) else { continue };
                let (mut below, mut aside) = (Block::<L>::default(), Block::<L>::default());
                for (at, (cell, voice)) in best.iter_mut().zip(voices).enumerate() {
                    let before = if at == 0 { *cell } else { least(&least(&below, &aside), cell) };
                    below = *cell;
                    aside = sum(&before, voice);
                    *cell = aside;
                }
            }
            if let Some(last) = best.last() {
                *cost = sum(cost, last);
            }
        }
    }

    /// Adds what is charged for pitch classes of both shapes that have no key in common.
    fn add_left_behind(&self, from: &[u8], slots: &[usize], costs: &mut [Block<L>]) {
        let left =
            |slot: &usize| self.left.get(slot * self.blocks..(slot + 1) * self.blocks).unwrap_or_default();
        for (at, (key, slot)) in from.iter().zip(slots).enumerate() {
            let same = |other: &u8| other % 12 == key % 12;
            if from.iter().take(at).any(same) {
                continue;
            }
            // A class that this shape holds more than once is held where one of its keys is.
            let others = || from.iter().zip(slots).skip(at + 1).filter(|(other, _)| same(other));
            for (block, (cost, own)) in costs.iter_mut().zip(left(slot)).enumerate() {
                let others = others().filter_map(|(_, slot)| left(slot).get(block));
                *cost = sum(cost, &others.fold(*own, |own, other| least(&own, other)));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::collection::{btree_set, vec};
    use proptest::prelude::*;

    use crate::chord::chord;
    use crate::rules::RuleSet;

    /// Rules of one hand, with or without a charge for common tones; points so high that short numbers do not do are
    /// among them.
    fn rules() -> impl Strategy<Value = String> {
        let points = || prop_oneof![4 => 0..4i32, 2 => 0..60i32, 1 => 900..=1_000i32];
        let rule = (points(), 0..=127i32, points(), points(), prop_oneof![Just(0), points()]);
        vec(rule, 0..3).prop_map(|rules| {
            let rules = rules.iter().enumerate().map(|(at, (per_semitone, over, leap, change, common))| {
                format!(
                    "[[rule]]\nid = \"way-{at}\"\nkind = \"motion\"\nhand = \"left\"\nmessage = \"m\"\nhelp = \"h\"\nsource = \"s\"\n\
                     per-semitone = {per_semitone}\nleap-over = {over}\nleap = {leap}\nvoice-change = {change}\n\
                     common-tone = {common}\n",
                )
            });
            format!("format = 1\nname = \"ways\"\n{}", rules.collect::<String>())
        })
    }

    /// More shapes than fit one block, of all sizes, few keys apart, so that common tones and equal keys do occur.
    fn shapes() -> impl Strategy<Value = Vec<Vec<u8>>> {
        let near = btree_set(48u8..75, 0..=5);
        let far = btree_set(0u8..128, 0..=5);
        vec(prop_oneof![5 => near, 1 => far].prop_map(|keys| keys.into_iter().collect()), 0..40)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(600))]

        /// The slow twin: one way after the other.
        #[test]
        fn prop_all_ways_at_once_are_the_ways_one_by_one(
            text in rules(), from in shapes(), to in shapes(), most in prop_oneof![-3..40i32, Just(10_000), Just(i32::MAX)],
        ) {
            let rules = RuleSet::from_toml("ways", &text).unwrap();
            let judge = rules.judge_for(chord("G7"), &Default::default());
            let from: Vec<&[u8]> = from.iter().map(Vec::as_slice).collect();
            let to: Vec<&[u8]> = to.iter().map(Vec::as_slice).collect();
            let mut costs = vec![7; 3];
            judge.motion_costs(true, &from, &to, most, &mut costs);
            let pairs = itertools::iproduct!(&from, &to);
            let slow: Vec<i32> = pairs.map(|(a, b)| judge.motion_cost(true, a, b).min(most)).collect();
            prop_assert_eq!(&costs, &slow);
            judge.motion_costs(false, &from, &to, most, &mut costs);
            prop_assert!(costs.len() == slow.len() && costs.iter().all(|cost| *cost == most.min(0)));
        }
    }

    /// Every pair of sizes, every number of shapes up to two blocks and one, classes that a shape holds several times.
    #[test]
    fn all_sizes_and_ends_of_blocks() {
        for (points, common) in [(1, 0), (1, 3), (1_000, 1_000)] {
            let text = format!(
                "format = 1\nname = \"ways\"\n[[rule]]\nid = \"way\"\nkind = \"motion\"\nhand = \"right\"\nmessage = \"m\"\nhelp = \"h\"\n\
                 source = \"s\"\nper-semitone = {points}\nleap-over = 5\nleap = {points}\nvoice-change = {points}\n\
                 common-tone = {common}\n",
            );
            let rules = RuleSet::from_toml("ways", &text).unwrap();
            let judge = rules.judge_for(chord("G7"), &Default::default());
            let shape =
                |size: u8, at: u8| (0..size).map(|voice| (at * 5 + voice * 12) % 128).collect::<Vec<u8>>();
            let shapes = |size: u8, count: u8| (0..count).map(|at| shape(size, at)).collect::<Vec<_>>();
            let holds = |from: &[Vec<u8>], to: &[Vec<u8>]| {
                let from: Vec<&[u8]> = from.iter().map(Vec::as_slice).collect();
                let to: Vec<&[u8]> = to.iter().map(Vec::as_slice).collect();
                let mut costs = Vec::new();
                judge.motion_costs(false, &from, &to, i32::MAX, &mut costs);
                let pairs = itertools::iproduct!(&from, &to);
                costs.iter().copied().eq(pairs.map(|(a, b)| judge.motion_cost(false, a, b)))
            };
            for (size, other) in itertools::iproduct!(0..=5, 0..=5) {
                for count in 0..=17 {
                    assert!(holds(&shapes(size, 19), &shapes(other, count)), "{size} to {count} of {other}");
                }
            }
            let sizes: Vec<Vec<u8>> = (0..=7).map(|size| shape(size, 3)).collect();
            assert!(holds(&sizes, &sizes), "more keys than a hand has fingers");
        }
    }
}
