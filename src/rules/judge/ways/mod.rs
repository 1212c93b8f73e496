//! The ways from many shapes of a hand to many others at once, as [`Motion::cost`] says them one by one.
//!
//! The shapes one may go to are grouped by their number of keys, eight to a block: the lowest keys of all eight, their second keys
//! and so on. What a voice costs from a key to each of a block is worked out once for each key that some shape before holds; a way
//! is then a sum, or the shortest path through a grid, of what stands there, for eight shapes at a time.

mod block;
mod table;

use smallvec::SmallVec;

use self::block::{Block, LANES, Lane};
use self::table::Table;
use crate::registers::{Job, widest};
use crate::rules::kind::Motion;

/// The most keys of a hand.
const FINGERS: usize = 5;

/// The shapes with one number of keys.
struct Group {
    /// How many keys each has, `0..=5`.
    size: usize,
    /// How many blocks they take: the shapes, then the last of them again.
    blocks: usize,
    /// Block by block the lowest keys, the second keys and so on.
    keys: Vec<Block<i16>>,
}

impl Group {
    /// The shapes at these places.
    fn new(size: usize, places: &[u32], to: &[&[u8]]) -> Self {
        let mut keys = Vec::with_capacity(size * places.len().div_ceil(LANES));
        for places in places.chunks(LANES) {
            for voice in 0..size {
                let key = |place: &u32| to.get(*place as usize).and_then(|keys| keys.get(voice)).copied();
                let mut block = [places.last().and_then(key).map_or(0, i16::from); LANES];
                for (cell, place) in block.iter_mut().zip(places) {
                    *cell = key(place).map_or(0, i16::from);
                }
                keys.push(block);
            }
        }
        Self { size, blocks: places.len().div_ceil(LANES), keys }
    }
}

/// A shape before.
struct Before<'k> {
    keys: &'k [u8],
    /// Where its keys stand among those of all.
    slots: SmallVec<[u16; FINGERS]>,
    /// Whether it holds a pitch class more than once.
    doubles: bool,
}

/// From which shapes to which.
pub(super) struct Ways<'k> {
    from: Vec<Before<'k>>,
    /// How many shapes one may go to.
    width: usize,
    groups: Vec<Group>,
    /// Where each of those shapes stands among the lanes of all groups, one behind the other.
    lane_of: Vec<u32>,
    /// Whether they stand there in the order of the shapes, one behind the other.
    in_order: bool,
    /// The keys that some shape before holds, each once.
    keys: Vec<u8>,
    /// The farthest that a voice may move.
    span: u8,
}

impl<'k> Ways<'k> {
    /// `None` where a shape has more than five keys.
    pub(super) fn new(shapes: &[&'k [u8]], to: &[&[u8]]) -> Option<Self> {
        let (mut keys, mut known) = (Vec::with_capacity(64), [u16::MAX; 256]);
        let (mut low, mut high) = (u8::MAX, u8::MIN);
        let mut from = Vec::with_capacity(shapes.len());
        for shape in shapes {
            let (mut slots, mut classes, mut doubles) = (SmallVec::new(), 0u16, false);
            for key in *shape {
                let Some(slot) = known.get_mut(usize::from(*key)) else { continue };
                if *slot == u16::MAX {
                    *slot = keys.len() as u16;
                    keys.push(*key);
                    (low, high) = (low.min(*key), high.max(*key));
                }
                slots.push(*slot);
                let class = 1 << (key % 12);
                doubles |= classes & class != 0;
                classes |= class;
            }
            from.push(Before { keys: shape, slots, doubles });
        }
        let mut places: [SmallVec<[u32; 64]>; FINGERS + 1] = Default::default();
        for (place, shape) in (0..).zip(to) {
            places.get_mut(shape.len())?.push(place);
            shape.iter().for_each(|key| (low, high) = (low.min(*key), high.max(*key)));
        }
        if shapes.iter().any(|keys| keys.len() > FINGERS) {
            return None;
        }
        let (mut groups, mut lane_of, mut first) = (Vec::with_capacity(FINGERS), vec![0; to.len()], 0);
        for (size, places) in places.iter().enumerate().filter(|(_, places)| !places.is_empty()) {
            let group = Group::new(size, places, to);
            for (lane, place) in (first..).zip(places) {
                lane_of.get_mut(*place as usize).into_iter().for_each(|cell| *cell = lane);
            }
            first += (group.blocks * LANES) as u32;
            groups.push(group);
        }
        let in_order = lane_of.iter().zip(0..).all(|(lane, place)| *lane == place);
        Some(Self { from, width: to.len(), groups, lane_of, in_order, keys, span: high.saturating_sub(low) })
    }

    /// Writes what the rules charge for every way to the rows of `out`, at most `most` each. `false` where there are so
    /// many rules that sums might not fit.
    pub(super) fn write(&self, rules: &[&Motion], most: i32, out: &mut [i32]) -> bool {
        let dearest = self.dearest(rules);
        let limit = (most < dearest).then_some(most);
        if most <= 0 || self.width == 0 {
            out.fill(most.min(0));
        } else if dearest <= i32::from(i16::MAX) {
            widest(Write { ways: self, rules, most: limit.map(i16::of), stride: self.width, out });
        } else if dearest < i32::MAX {
            widest(Write { ways: self, rules, most: limit, stride: self.width, out });
        } else {
            return false;
        }
        true
    }

    /// The same in short numbers and without a limit, in rows of `stride` cells; `false` where sums might not fit.
    pub(super) fn write_short(&self, rules: &[&Motion], stride: usize, out: &mut [i16]) -> bool {
        let fits = self.dearest(rules) <= i32::from(i16::MAX);
        if fits && self.width > 0 {
            widest(Write { ways: self, rules, most: None::<i16>, stride, out });
        }
        fits
    }

    /// More than what the rules charge for any way.
    fn dearest(&self, rules: &[&Motion]) -> i32 {
        // A way through the grid takes fewer than two fives of pairs.
        let dearest = |rule: &Motion| {
            let pairs = 2 * FINGERS as i32 * (rule.per_semitone * i32::from(self.span) + rule.leap);
            pairs + FINGERS as i32 * (rule.voice_change + rule.common_tone)
        };
        rules.iter().fold(0, |sum: i32, rule| sum.saturating_add(dearest(rule)))
    }

    #[inline(always)] // as is all it calls in loops, for `widest`
    fn write_in<L: Lane, O: Copy + From<L>>(
        &self,
        rules: &[&Motion],
        most: Option<L>,
        stride: usize,
        out: &mut [O],
    ) {
        let change: i32 = rules.iter().map(|rule| rule.voice_change).sum();
        let all = self.groups.iter().map(|group| group.blocks).sum::<usize>().max(1);
        let mut costs = vec![Block::<L>::default(); self.from.len() * all];
        let mut first = 0;
        for group in &self.groups {
            let changes: [Block<L>; FINGERS + 1] =
                std::array::from_fn(|count| [L::of(change * count.abs_diff(group.size) as i32); LANES]);
            for (from, row) in self.from.iter().zip(costs.chunks_exact_mut(all)) {
                let own = row.get_mut(first..first + group.blocks).zip(changes.get(from.keys.len()));
                if let Some((own, change)) = own {
                    own.fill(*change);
                }
            }
            for rule in rules {
                Table::new(group, rule, &self.keys).add(&self.from, first, all, &mut costs);
            }
            first += group.blocks;
        }
        if let Some(most) = most {
            for cost in costs.as_flattened_mut() {
                *cost = (*cost).min(most);
            }
        }
        for (out, costs) in out.chunks_exact_mut(stride.max(1)).zip(costs.chunks_exact(all)) {
            let costs = costs.as_flattened();
            if self.in_order {
                for (slot, cost) in out.iter_mut().zip(costs) {
                    *slot = O::from(*cost);
                }
            } else {
                pick(costs, &self.lane_of, out);
            }
        }
    }
}

/// Puts down which lane belongs where.
#[inline(never)]
fn pick<L: Lane, O: Copy + From<L>>(costs: &[L], lane_of: &[u32], out: &mut [O]) {
    for (slot, lane) in out.iter_mut().zip(lane_of) {
        *slot = O::from(costs.get(*lane as usize).copied().unwrap_or_default());
    }
}

/// Writes all ways in numbers of one length.
struct Write<'a, 'k, L, O> {
    ways: &'a Ways<'k>,
    rules: &'a [&'a Motion],
    most: Option<L>,
    stride: usize,
    out: &'a mut [O],
}

impl<L: Lane, O: Copy + From<L>> Job for Write<'_, '_, L, O> {
    type Answer = ();

    #[inline(always)]
    fn run(self) {
        self.ways.write_in(self.rules, self.most, self.stride, self.out);
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
        let rule = (points(), 0..=127i32, points(), points(), prop_oneof![Just(0), points()], any::<bool>());
        vec(rule, 0..3).prop_map(|rules| {
            let rules = rules.iter().enumerate().map(|(at, (per_semitone, over, leap, change, common, splits))| {
                format!(
                    "[[rule]]\nid = \"way-{at}\"\nkind = \"motion\"\nhand = \"left\"\nmessage = \"m\"\nhelp = \"h\"\nsource = \"s\"\n\
                     per-semitone = {per_semitone}\nleap-over = {over}\nleap = {leap}\nvoice-change = {change}\n\
                     common-tone = {common}\nsplits = {splits}\n",
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
            let mut short = vec![7; 5];
            if most == i32::MAX && judge.short_motion_costs(true, &from, &to, to.len() + 3, &mut short) {
                let rows = short.chunks_exact(to.len() + 3).flat_map(|row| &row[..to.len()]);
                let short: Vec<i32> = rows.map(|cost| i32::from(*cost)).collect();
                prop_assert_eq!(&short, &slow);
            }
            judge.motion_costs(false, &from, &to, most, &mut costs);
            prop_assert!(costs.len() == slow.len() && costs.iter().all(|cost| *cost == most.min(0)));
        }
    }

    /// Every pair of sizes, every number of shapes up to two blocks and one, classes that a shape holds several times.
    #[test]
    fn all_sizes_and_ends_of_blocks() {
        for (points, common, splits) in [(1, 0, false), (1, 3, true), (1_000, 1_000, false)] {
            let text = format!(
                "format = 1\nname = \"ways\"\n[[rule]]\nid = \"way\"\nkind = \"motion\"\nhand = \"right\"\nmessage = \"m\"\nhelp = \"h\"\n\
                 source = \"s\"\nper-semitone = {points}\nleap-over = 5\nleap = {points}\nvoice-change = {points}\n\
                 common-tone = {common}\nsplits = {splits}\n",
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
