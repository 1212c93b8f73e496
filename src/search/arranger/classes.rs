//! Which candidates count as the same where arrangements are to differ.

use std::collections::HashMap;

use super::answer::structure;
use super::lattice::Lattice;
use crate::chord::Chord;
use crate::voicing::{Hand, Label, Voicing};

/// A number for each pair of each layer: the same where the same chord is played alike at the same place, whichever way led to
/// that chord.
pub(super) fn voicing_classes(lattice: &Lattice<'_>) -> Vec<Vec<u32>> {
    type Played<'k> = (usize, Chord, [&'k [u8]; 2]);
    let mut known: HashMap<Played<'_>, u32> = HashMap::new();
    let mut count = 0u32;
    let mut ways: HashMap<usize, usize> = HashMap::new();
    for part in &lattice.parts {
        *ways.entry(part.slot).or_default() += 1;
    }
    let layer_of = |layer: usize| {
        let Some(place) = lattice.place_of(layer) else { return Vec::new() };
        let slot = lattice.slot_of(layer);
        let alone = ways.get(&slot) == Some(&1);
        let pairs = itertools::iproduct!(&place.lefts, &place.rights);
        let classes = pairs.map(|(left, right)| {
            let new = count;
            count += 1;
            // Where a chord is played in one way only, no two pairs are the same.
            if alone {
                new
            } else {
                *known.entry((slot, place.chord, [&left.keys, &right.keys])).or_insert(new)
            }
        });
        classes.collect()
    };
    (0..lattice.layers.len()).map(layer_of).collect()
}

/// The same, where at the same place the same chord has the same upper structure, or none.
pub(super) fn structure_classes(lattice: &Lattice<'_>) -> Vec<Vec<u32>> {
    let mut known: HashMap<(usize, Chord, Option<Label>), u32> = HashMap::new();
    let layer_of = |layer: usize| {
        let (Some(place), Some(part)) = (lattice.place_of(layer), lattice.parts.get(layer)) else {
            return Vec::new();
        };
        let of_rights: Vec<u32> = place
            .rights
            .iter()
            .map(|shape| {
                let voicing = Voicing::new(Hand::empty(), shape.hand).ok();
                let label = voicing.and_then(|voicing| Some(structure(place.chord, &voicing)?.label));
                let new = known.len() as u32;
                *known.entry((part.slot, place.chord, label)).or_insert(new)
            })
            .collect();
        (0..place.lefts.len()).flat_map(|_| of_rights.iter().copied()).collect()
    };
    (0..lattice.layers.len()).map(layer_of).collect()
}
