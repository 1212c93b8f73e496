//! The values of a column chunk, each once.

use std::collections::HashMap;

/// Values as they are written, each with a key: keys count from 0 in the order in which values came.
#[derive(Default)]
pub(super) struct Dictionary {
    keys: HashMap<Box<[u8]>, u32>,
    /// All values, one after the other, as Apache Parquet has them plain.
    plain: Vec<u8>,
    /// The keys of small numbers.
    small: Vec<Option<u32>>,
}

impl Dictionary {
    /// The key of a number, which may be new.
    pub(super) fn key_of(&mut self, bytes: &[u8]) -> u32 {
        self.key(bytes, &[])
    }

    /// The key of a small number, as it is written with the others.
    pub(super) fn key_of_small(&mut self, number: u8) -> u32 {
        if let Some(Some(key)) = self.small.get(usize::from(number)) {
            return *key;
        }
        let key = self.key_of(&u32::from(number).to_le_bytes());
        self.small.resize(1 << u8::BITS, None);
        self.small.get_mut(usize::from(number)).into_iter().for_each(|known| *known = Some(key));
        key
    }

    /// The key of a text, which may be new. A dictionary holds numbers or texts.
    pub(super) fn key_of_text(&mut self, text: &str) -> u32 {
        self.key(text.as_bytes(), &(text.len() as u32).to_le_bytes())
    }

    /// The key of something, and what is written before it.
    fn key(&mut self, bytes: &[u8], before: &[u8]) -> u32 {
        if let Some(key) = self.keys.get(bytes) {
            return *key;
        }
        let key = self.keys.len() as u32;
        self.keys.insert(bytes.into(), key);
        self.plain.extend_from_slice(before);
        self.plain.extend_from_slice(bytes);
        key
    }

    /// How many values there are.
    pub(super) fn len(&self) -> usize {
        self.keys.len()
    }

    /// All values as they are written.
    pub(super) fn plain(&self) -> &[u8] {
        &self.plain
    }

    pub(super) fn clear(&mut self) {
        self.keys.clear();
        self.plain.clear();
        self.small.clear();
    }
}
