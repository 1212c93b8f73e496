//! What the keys of the shapes before cost against the shapes of a group.

use super::block::{Block, LANES, Lane, least, plus};
use super::{Before, FINGERS, Group};
use crate::rules::kind::Motion;

/// What the keys of the shapes before cost against the shapes of a group, by one rule.
pub(super) struct Table<L> {
    size: usize,
    /// How many blocks the group takes.
    blocks: usize,
    /// For each key and block what each voice costs from there.
    voices: Vec<Block<L>>,
    /// For each key and block what it costs that its pitch class is held without it; empty where that costs nothing.
    left: Vec<Block<L>>,
    /// Whether equally many voices take the cheapest matching too.
    splits: bool,
}

impl<L: Lane> Table<L> {
    #[inline(always)]
    pub(super) fn new(group: &Group, rule: &Motion, keys: &[u8]) -> Self {
        let (per_semitone, leap, none) = (L::of(rule.per_semitone), L::of(rule.leap), L::default());
        let leap_over = i16::of(rule.leap_over);
        let mut voices = Vec::with_capacity(keys.len() * group.keys.len());
        for key in keys {
            let key = i16::from(*key);
            for others in &group.keys {
                let mut costs = [none; LANES];
                for (cost, other) in costs.iter_mut().zip(others) {
                    let moved = (*other - key).max(key - *other);
                    *cost = L::from(moved) * per_semitone + if moved > leap_over { leap } else { none };
                }
                voices.push(costs);
            }
        }
        let mut left = Vec::new();
        if rule.common_tone > 0 && group.size > 0 {
            let points = L::of(rule.common_tone);
            let mut classes = group.keys.clone();
            for block in &mut classes {
                for key in block {
                    *key %= 12;
                }
            }
            left.reserve_exact(keys.len() * group.blocks);
            for key in keys {
                let of_groups = group.keys.chunks_exact(group.size).zip(classes.chunks_exact(group.size));
                for (of_keys, of_classes) in of_groups {
                    // Where the class is there it costs something, where the key is there nothing.
                    let mut costs = [none; LANES];
                    for block in of_classes {
                        mark(&mut costs, block, i16::from(*key % 12), points);
                    }
                    for block in of_keys {
                        mark(&mut costs, block, i16::from(*key), none);
                    }
                    left.push(costs);
                }
            }
        }
        Self { size: group.size, blocks: group.blocks, voices, left, splits: rule.splits }
    }

    /// Adds the costs of the ways from shapes to all of the group: to the blocks from `first` on of a row for each.
    #[inline(always)]
    pub(super) fn add(&self, from: &[Before<'_>], first: usize, all: usize, costs: &mut [Block<L>]) {
        let rows = costs.chunks_exact_mut(all.max(1));
        let rows = rows.filter_map(|row| row.get_mut(first..first + self.blocks));
        for (from, costs) in from.iter().zip(rows) {
            if !self.left.is_empty() {
                self.add_left_behind(from, costs);
            }
            match self.size {
                0 => {}
                1 => self.add_voices::<1>(&from.slots, costs),
                2 => self.add_voices::<2>(&from.slots, costs),
                3 => self.add_voices::<3>(&from.slots, costs),
                4 => self.add_voices::<4>(&from.slots, costs),
                _ => self.add_voices::<5>(&from.slots, costs),
            }
        }
    }

    /// Adds what the voices cost: matched one by one, or by the cheapest matching, which is the shortest path through the grid of
    /// pairs, row by row. A cell says what it costs to match all up to these two voices.
    #[inline(always)]
    fn add_voices<const SIZE: usize>(&self, slots: &[u16], costs: &mut [Block<L>]) {
        let (rows, _) = self.voices.as_chunks::<SIZE>();
        let row = |slot: u16| rows.get(usize::from(slot) * self.blocks..).unwrap_or_default();
        let mut own: [&[[Block<L>; SIZE]]; FINGERS] = [&[]; FINGERS];
        for (own, slot) in own.iter_mut().zip(slots) {
            *own = row(*slot);
        }
        let rows = own.get(..slots.len()).unwrap_or_default();
        let Some((first, others)) = rows.split_first() else { return };
        let in_order = slots.len() == SIZE && !self.splits;
        if in_order {
            for (at, cost) in costs.iter_mut().enumerate() {
                let mut sum = *cost;
                for (voice, row) in rows.iter().enumerate() {
                    let own = row.get(at).and_then(|row| row.get(voice)).copied();
                    sum = plus(sum, own.unwrap_or_default());
                }
                *cost = sum;
            }
            return;
        }
        for (at, cost) in costs.iter_mut().enumerate() {
            let cell = |row: &[[Block<L>; SIZE]]| row.get(at).copied().unwrap_or([Block::default(); SIZE]);
            let mut cells = cell(first);
            let mut before = Block::default();
            for cell in &mut cells {
                *cell = plus(*cell, before);
                before = *cell;
            }
            for row in others {
                let mut row = cells.iter_mut().zip(cell(row));
                let Some((cell, voice)) = row.next() else { continue };
                let mut below = *cell;
                *cell = plus(below, voice);
                let mut aside = *cell;
                for (cell, voice) in row {
                    let old = *cell;
                    *cell = plus(least(least(below, old), aside), voice);
                    (below, aside) = (old, *cell);
                }
            }
            if let Some(last) = cells.last() {
                *cost = plus(*cost, *last);
            }
        }
    }

    /// Adds what is charged for pitch classes of both shapes that have no key in common.
    #[inline(always)]
    fn add_left_behind(&self, from: &Before<'_>, costs: &mut [Block<L>]) {
        let left = |slot: u16| self.left.get(usize::from(slot) * self.blocks..).unwrap_or_default();
        if !from.doubles {
            for slot in &from.slots {
                for (cost, left) in costs.iter_mut().zip(left(*slot)) {
                    *cost = plus(*cost, *left);
                }
            }
            return;
        }
        for (at, (key, slot)) in from.keys.iter().zip(&from.slots).enumerate() {
            let same = |other: &u8| other % 12 == key % 12;
            if from.keys.iter().take(at).any(same) {
                continue;
            }
            // A class that this shape holds more than once is held where one of its keys is.
            let others = || from.keys.iter().zip(&from.slots).skip(at + 1).filter(|(other, _)| same(other));
            for (at, (cost, own)) in costs.iter_mut().zip(left(*slot)).enumerate() {
                let others = others().filter_map(|(_, slot)| left(*slot).get(at));
                *cost = plus(*cost, others.fold(*own, |own, other| least(own, *other)));
            }
        }
    }
}

/// Writes the points where the number stands.
#[inline(always)]
fn mark<L: Lane>(costs: &mut Block<L>, numbers: &Block<i16>, number: i16, points: L) {
    for (cost, at) in costs.iter_mut().zip(numbers) {
        *cost = if *at == number { points } else { *cost };
    }
}
