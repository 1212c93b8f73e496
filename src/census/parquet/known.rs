//! What slots have been found to stand for.

/// The slot has not been met.
const UNKNOWN: u32 = u32::MAX;
/// There is no value.
pub(super) const NOTHING: u32 = u32::MAX - 1;
/// Slots beyond are looked up each time.
const MOST_SLOTS: usize = 1 << 16;

/// The keys of slots.
#[derive(Default)]
pub(super) struct Known {
    keys: Vec<u32>,
    /// Where the keys of a part of a list begin and end, for the slots of first and of second parts.
    parts: [Vec<[u32; 2]>; 2],
    /// The keys of all parts.
    of_parts: Vec<u32>,
}

impl Known {
    /// Slots mean something else from now on.
    pub(super) fn forget(&mut self) {
        self.keys.clear();
        self.parts.iter_mut().for_each(Vec::clear);
        self.of_parts.clear();
    }

    #[inline]
    pub(super) fn key(&self, slot: usize) -> Option<u32> {
        self.keys.get(slot).copied().filter(|key| *key != UNKNOWN)
    }

    pub(super) fn learn(&mut self, slot: usize, key: u32) {
        if let Some(known) = cell(&mut self.keys, slot, UNKNOWN) {
            *known = key;
        }
    }

    /// The keys of a part of a list, the first or the second.
    #[inline]
    pub(super) fn part(&self, nth: usize, slot: usize) -> Option<&[u32]> {
        let [start, end] = *self.parts.get(nth)?.get(slot)?;
        self.of_parts.get(start as usize..end as usize)
    }

    /// Takes in the keys of a part.
    pub(super) fn learn_part(&mut self, nth: usize, slot: usize, keys: impl IntoIterator<Item = u32>) {
        if let Some(part) = self.parts.get_mut(nth).and_then(|parts| cell(parts, slot, [UNKNOWN; 2])) {
            let start = self.of_parts.len() as u32;
            self.of_parts.extend(keys);
            *part = [start, self.of_parts.len() as u32];
        }
    }
}

/// The cell of a slot, where slots are few enough.
fn cell<T: Copy>(cells: &mut Vec<T>, slot: usize, unknown: T) -> Option<&mut T> {
    if cells.len() <= slot && slot < MOST_SLOTS {
        cells.resize(slot + 1, unknown);
    }
    cells.get_mut(slot)
}
