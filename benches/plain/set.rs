//! Normal orders, prime forms and names of sets by their definitions.

use std::cmp::Reverse;
use std::collections::HashMap;

use overshell::pitch::{PitchClass, PitchSet, SetClass};

/// What decides between orders of one span: lower is better.
pub(crate) type Key = fn(&[u8]) -> Vec<u8>;

pub(crate) fn from_left(above: &[u8]) -> Vec<u8> {
    above.to_vec()
}

pub(crate) fn from_right(above: &[u8]) -> Vec<u8> {
    above.iter().rev().copied().collect()
}

fn above_first(order: &[u8]) -> Vec<u8> {
    order.iter().map(|n| (n + 12 - order[0]) % 12).collect()
}

fn looseness(order: &[u8], key: Key) -> (Option<u8>, Vec<u8>) {
    let above = above_first(order);
    (above.last().copied(), key(&above))
}

pub(crate) fn members(set: PitchSet) -> Vec<u8> {
    set.iter().map(PitchClass::get).collect()
}

pub(crate) fn normal_order(members: &[u8], key: Key) -> Vec<u8> {
    let mut orders = Vec::new();
    for by in 0..members.len() {
        let mut order = members.to_vec();
        order.rotate_left(by);
        orders.push(order);
    }
    orders.into_iter().min_by_key(|order| (looseness(order, key), order[0])).unwrap_or_default()
}

pub(crate) fn prime_form(members: &[u8], key: Key) -> Vec<u8> {
    let mut inverted: Vec<u8> = members.iter().map(|n| (12 - n) % 12).collect();
    inverted.sort_unstable();
    let both = [members, &inverted].map(|side| above_first(&normal_order(side, key)));
    both.into_iter().min_by_key(|order| looseness(order, key)).unwrap_or_default()
}

/// Forte's names of classes by their prime forms.
pub(crate) struct Names(HashMap<Vec<u8>, String>);

impl Names {
    pub(crate) fn new() -> Self {
        Self(SetClass::all().map(|class| (members(class.prime_form()), class.to_string())).collect())
    }

    pub(crate) fn of(&self, set: &[u8]) -> String {
        let prime = prime_form(set, from_left);
        let mut inverted: Vec<u8> = prime.iter().map(|n| (12 - n) % 12).collect();
        inverted.sort_unstable();
        let name = &self.0[&prime];
        if above_first(&normal_order(&inverted, from_left)) == prime {
            name.clone()
        } else if above_first(&normal_order(set, from_left)) == prime {
            format!("{name}A")
        } else {
            format!("{name}B")
        }
    }
}

/// The sets in an order in which no two neighbours share a cache line of a table.
pub(crate) fn shuffled() -> Vec<PitchSet> {
    let mut sets: Vec<PitchSet> = (0..4096).map(|bits| PitchSet::from_bits(bits).unwrap()).collect();
    sets.sort_by_key(|set| Reverse(u32::from(set.bits()) * 1597 % 4096));
    sets
}
