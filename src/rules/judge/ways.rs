//! The ways from many shapes of a hand to many others at once, as [`Motion::cost`] says them one by one.
//!
//! The shapes one may go to are grouped by their number of keys and kept in columns: the lowest keys of all, their second
//! keys and so on. What a voice costs from a key to each place of a column is worked out once for each key that some shape
//! before holds; a way is then a sum, or the shortest path through a grid, of what stands there, written so that the
//! compiler does it for eight shapes at a time.

use std::ops::{Add, Mul};

use smallvec::SmallVec;

use crate::registers::{Job, widest};
use crate::rules::kind::Motion;

/// As many short numbers as the narrowest registers in use hold; columns are filled up to a multiple of this.
const LANES: usize = 8;
/// The most keys of a hand.
const FINGERS: usize = 5;

/// A number that points are counted in: short where all sums fit.
trait Lane:
    Copy + Default + Ord + Add<Output = Self> + Mul<Output = Self> + From<i16> + TryFrom<i32> + Into<i32>
{
    /// A number of points that is known to fit.
    fn of(points: i32) -> Self {
        Self::try_from(points).unwrap_or_default()
    }
}

impl Lane for i16 {}
impl Lane for i32 {}

/// The shapes with one number of keys.
struct Group {
    /// How many keys each has, `0..=5`.
    size: usize,
    /// How long a column is: the shapes, then the last of them again.
    lanes: usize,
    /// The lowest keys, the second keys and so on.
    columns: Vec<i16>,
}

impl Group {
    /// The shapes at these places.
    fn new(size: usize, places: &[u32], to: &[&[u8]]) -> Self {
        let (count, lanes) = (places.len(), places.len().next_multiple_of(LANES));
        let mut columns = vec![0; size * lanes];
        for (voice, column) in columns.chunks_exact_mut(lanes.max(1)).enumerate() {
            let key = |place: &u32| to.get(*place as usize).and_then(|keys| keys.get(voice)).copied();
            let own = column.iter_mut().zip(places);
            own.for_each(|(cell, place)| *cell = key(place).map_or(0, i16::from));
            let last = places.last().and_then(key).map_or(0, i16::from);
            column.iter_mut().skip(count).for_each(|cell| *cell = last);
        }
        Self { size, lanes, columns }
    }
}

/// From which shapes to which.
pub(super) struct Ways<'k> {
    from: &'k [&'k [u8]],
    /// How many shapes one may go to.
    width: usize,
    groups: Vec<Group>,
    /// Where each of those shapes stands among the lanes of all groups, one behind the other.
    lane_of: Vec<u32>,
    /// The keys that some shape before holds, each once.
    keys: Vec<u8>,
    /// For each shape before, where its keys stand in that list.
    slots: Vec<SmallVec<[u16; FINGERS]>>,
    /// The farthest that a voice may move.
    span: u8,
}

impl<'k> Ways<'k> {
    /// `None` where a shape has more than five keys.
    pub(super) fn new(from: &'k [&'k [u8]], to: &[&[u8]]) -> Option<Self> {
        let (mut keys, mut known) = (Vec::with_capacity(64), [u16::MAX; 256]);
        let (mut low, mut high) = (u8::MAX, u8::MIN);
        let mut slots = Vec::with_capacity(from.len());
        for shape in from {
            let mut own = SmallVec::new();
            for key in *shape {
                let Some(slot) = known.get_mut(usize::from(*key)) else { continue };
                if *slot == u16::MAX {
                    *slot = keys.len() as u16;
                    keys.push(*key);
                    (low, high) = (low.min(*key), high.max(*key));
                }
                own.push(*slot);
            }
            slots.push(own);
        }
        let mut places: [SmallVec<[u32; 64]>; FINGERS + 1] = Default::default();
        for (place, shape) in (0..).zip(to) {
            places.get_mut(shape.len())?.push(place);
            shape.iter().for_each(|key| (low, high) = (low.min(*key), high.max(*key)));
        }
        if from.iter().any(|keys| keys.len() > FINGERS) {
            return None;
        }
        let (mut groups, mut lane_of, mut first) = (Vec::with_capacity(FINGERS), vec![0; to.len()], 0);
        for (size, places) in places.iter().enumerate().filter(|(_, places)| !places.is_empty()) {
            let group = Group::new(size, places, to);
            for (lane, place) in (first..).zip(places) {
                lane_of.get_mut(*place as usize).into_iter().for_each(|cell| *cell = lane);
            }
            first += group.lanes as u32;
            groups.push(group);
        }
        Some(Self { from, width: to.len(), groups, lane_of, keys, slots, span: high.saturating_sub(low) })
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

    #[inline(always)]
    fn write_in<L: Lane, O: Copy + From<L>>(
        &self,
        rules: &[&Motion],
        most: Option<L>,
        stride: usize,
        out: &mut [O],
    ) {
        let change: i32 = rules.iter().map(|rule| rule.voice_change).sum();
        let of_group = |group| {
            let tables: SmallVec<[Table<L>; 2]> =
                rules.iter().map(|rule| Table::new(group, rule, &self.keys)).collect();
            let changes: [L; FINGERS + 1] =
                std::array::from_fn(|count| L::of(change * count.abs_diff(group.size) as i32));
            (group.lanes, tables, changes)
        };
        let groups: SmallVec<[_; FINGERS + 1]> = self.groups.iter().map(of_group).collect();
        let mut costs = vec![L::default(); groups.iter().map(|(lanes, ..)| lanes).sum()];
        let rows = out.chunks_exact_mut(stride.max(1));
        for ((from, slots), row) in self.from.iter().zip(&self.slots).zip(rows) {
            let mut rest = &mut costs[..];
            for (lanes, tables, changes) in &groups {
                let Some((own, others)) = rest.split_at_mut_checked(*lanes) else { break };
                let change = changes.get(from.len()).copied().unwrap_or_default();
                own.as_chunks_mut::<LANES>().0.fill([change; LANES]);
                for table in tables {
                    table.add(from, slots, own);
                }
                rest = others;
            }
            if let Some(most) = most {
                for cost in &mut costs {
                    *cost = (*cost).min(most);
                }
            }
            for (slot, lane) in row.iter_mut().zip(&self.lane_of) {
                *slot = O::from(costs.get(*lane as usize).copied().unwrap_or_default());
            }
        }
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

/// Adds what the cheapest matching with shapes of so many keys costs: the shortest path through the grid of pairs, row by
/// row. Written out, so that the compiler sees a loop over shapes with nothing but sums inside. Each voice is given with a
/// name for its cell of a row, which says what it costs to match all up to this voice, and one for its column.
macro_rules! to_shapes_of {
    ($name:ident, $size:literal: $first:ident $column:ident $(, $cell:ident $other:ident)*) => {
        #[inline(always)]
        fn $name(&self, slots: &[u16], costs: &mut [L]) {
            type Row<'t, L> = [&'t [L]; $size];
            let count = costs.len();
            // Every column as long as the costs, so that nothing is asked in the loop.
            let row = |slot: u16| -> Row<'_, L> {
                let rest = self.voices.get(usize::from(slot) * $size * count..).unwrap_or_default();
                let ($column, rest) = rest.split_at(count);
                $(let ($other, rest) = rest.split_at(count);)*
                let _ = rest;
                [$column $(, $other)*]
            };
            let voice = |column: &[L], lane: usize| column.get(lane).copied().unwrap_or_default();
            let start = |[$column $(, $other)*]: Row<'_, L>, lane| {
                let $first = voice($column, lane);
                let sum = $first;
                $(let $cell = sum + voice($other, lane); let sum = $cell;)*
                let _ = sum;
                [$first $(, $cell)*]
            };
            let next = |[$first $(, $cell)*]: [L; $size], [$column $(, $other)*]: Row<'_, L>, lane| {
                let (below, $first) = ($first, $first + voice($column, lane));
                let aside = $first;
                $(
                    let (below, $cell) = ($cell, below.min($cell).min(aside) + voice($other, lane));
                    let aside = $cell;
                )*
                let _ = (below, aside);
                [$first $(, $cell)*]
            };
            match *slots {
                [a] => {
                    let a = row(a);
                    add(costs, |at| start(a, at));
                }
                [a, b] => {
                    let (a, b) = (row(a), row(b));
                    add(costs, |at| next(start(a, at), b, at));
                }
                [a, b, c] => {
                    let (a, b, c) = (row(a), row(b), row(c));
                    add(costs, |at| next(next(start(a, at), b, at), c, at));
                }
                [a, b, c, d] => {
                    let (a, b, c, d) = (row(a), row(b), row(c), row(d));
                    add(costs, |at| next(next(next(start(a, at), b, at), c, at), d, at));
                }
                [a, b, c, d, e] => {
                    let (a, b, c, d, e) = (row(a), row(b), row(c), row(d), row(e));
                    add(costs, |at| next(next(next(next(start(a, at), b, at), c, at), d, at), e, at));
                }
                _ => {}
            }
        }
    };
}

/// Adds to each cost the cell of a column.
#[inline(always)]
fn add_column<L: Lane>(costs: &mut [L], column: &[L]) {
    let columns = column.as_chunks::<LANES>().0;
    for (costs, column) in costs.as_chunks_mut::<LANES>().0.iter_mut().zip(columns) {
        // Put together aside, since the compiler cannot know that the column is not written to.
        let mut sums = *costs;
        for (sum, more) in sums.iter_mut().zip(column) {
            *sum = *sum + *more;
        }
        *costs = sums;
    }
}

/// Adds to each cost the last cell of the row with its number.
#[inline(always)]
fn add<L: Lane, const N: usize>(costs: &mut [L], row: impl Fn(usize) -> [L; N]) {
    // Counted, not iterated, so that the compiler sees that no column is left.
    for lane in 0..costs.len() {
        if let (Some(cost), Some(last)) = (costs.get_mut(lane), row(lane).last()) {
            *cost = *cost + *last;
        }
    }
}

/// What the keys of the shapes before cost against the shapes of a group.
struct Table<L> {
    size: usize,
    lanes: usize,
    /// For each key, column by column, what a voice costs from there.
    voices: Vec<L>,
    /// For each key what it costs that its pitch class is held without it; empty where that costs nothing.
    left: Vec<L>,
    /// Whether equally many voices take the cheapest matching too.
    splits: bool,
}

impl<L: Lane> Table<L> {
    #[inline(always)]
    fn new(group: &Group, rule: &Motion, keys: &[u8]) -> Self {
        let (per_semitone, leap, none) = (L::of(rule.per_semitone), L::of(rule.leap), L::default());
        let leap_over = i16::of(rule.leap_over);
        let mut voices = vec![none; keys.len() * group.columns.len()];
        for (key, row) in keys.iter().zip(voices.chunks_exact_mut(group.columns.len().max(1))) {
            let key = i16::from(*key);
            for (cost, other) in row.iter_mut().zip(&group.columns) {
                let moved = (*other - key).max(key - *other);
                *cost = L::from(moved) * per_semitone + if moved > leap_over { leap } else { none };
            }
        }
        let mut left = Vec::new();
        if rule.common_tone > 0 && group.size > 0 {
            let points = L::of(rule.common_tone);
            let classes: Vec<i16> = group.columns.iter().map(|key| key % 12).collect();
            left = vec![none; keys.len() * group.lanes];
            for (key, row) in keys.iter().zip(left.chunks_exact_mut(group.lanes)) {
                // Where the class is there it costs something, where the key is there nothing.
                for (numbers, number, points) in [(&classes, *key % 12, points), (&group.columns, *key, none)]
                {
                    for column in numbers.chunks_exact(group.lanes) {
                        for (cost, at) in row.iter_mut().zip(column) {
                            *cost = if *at == i16::from(number) { points } else { *cost };
                        }
                    }
                }
            }
        }
        Self { size: group.size, lanes: group.lanes, voices, left, splits: rule.splits }
    }

    /// Adds the costs of the ways from a shape, whose keys have these slots, to all of the group.
    #[inline(always)]
    fn add(&self, from: &[u8], slots: &[u16], costs: &mut [L]) {
        if !self.left.is_empty() {
            self.add_left_behind(from, slots, costs);
        }
        match self.size {
            0 => {}
            size if size == slots.len() && !self.splits => self.add_in_order(slots, costs),
            1 => self.add_to_1(slots, costs),
            2 => self.add_to_2(slots, costs),
            3 => self.add_to_3(slots, costs),
            4 => self.add_to_4(slots, costs),
            _ => self.add_to_5(slots, costs),
        }
    }

    /// Adds what the voices cost that are matched one by one.
    #[inline(always)]
    fn add_in_order(&self, slots: &[u16], costs: &mut [L]) {
        let columns = slots
            .iter()
            .enumerate()
            .map(|(voice, slot)| (usize::from(*slot) * self.size + voice) * self.lanes);
        for at in columns {
            add_column(costs, self.voices.get(at..).unwrap_or_default());
        }
    }

    to_shapes_of!(add_to_1, 1: a x);
    to_shapes_of!(add_to_2, 2: a x, b y);
    to_shapes_of!(add_to_3, 3: a x, b y, c z);
    to_shapes_of!(add_to_4, 4: a x, b y, c z, d u);
    to_shapes_of!(add_to_5, 5: a x, b y, c z, d u, e v);

    /// Adds what is charged for pitch classes of both shapes that have no key in common.
    #[inline(always)]
    fn add_left_behind(&self, from: &[u8], slots: &[u16], costs: &mut [L]) {
        let left = |slot: u16| {
            let start = usize::from(slot) * self.lanes;
            self.left.get(start..start + self.lanes).unwrap_or_default()
        };
        for (at, (key, slot)) in from.iter().zip(slots).enumerate() {
            let same = |other: &u8| other % 12 == key % 12;
            if from.iter().take(at).any(same) {
                continue;
            }
            // A class that this shape holds more than once is held where one of its keys is.
            let others = || from.iter().zip(slots).skip(at + 1).filter(|(other, _)| same(other));
            if others().next().is_none() {
                add_column(costs, left(*slot));
                continue;
            }
            for (lane, (cost, own)) in costs.iter_mut().zip(left(*slot)).enumerate() {
                let others = others().filter_map(|(_, slot)| left(*slot).get(lane));
                *cost = *cost + others.fold(*own, |own, other| own.min(*other));
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
