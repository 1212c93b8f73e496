//! Roughness by table, in integers.

use super::RoughnessModel;
use super::curve::{Curve, hertz};

/// Roughness of keys from a table of all pairs of keys, in integers: the form for judging.
///
/// Values are those of [`RoughnessModel::of_keys`] in thousandths. Each pair of keys counts by itself, and each key by
/// the partials of its own tone. For `sethares` and `vassilakis` that is the model. For `hutchinson-knopoff` it is the
/// model unless keys lie octaves apart: there partials coincide, and the table counts them one beside the other where
/// the model fuses them. It then says more, never less: over all triads and seventh chords in close position between C2
/// and C6 with one tone doubled at the octave, up to three octaves away, at most 0.112 and at most 27 % more (measured,
/// eleven harmonics).
///
/// # Example
///
/// ```
/// use overshell::voicing::{RoughnessModel, RoughnessTable};
///
/// let table = RoughnessTable::new(RoughnessModel::HutchinsonKnopoff, 11);
/// assert_eq!(table.of_keys(&[60, 61]), 484);
/// assert_eq!(table.of_keys(&[60, 64, 67]), 120);
/// ```
#[derive(Clone, Debug, Eq, PartialEq)]
pub struct RoughnessTable {
    /// In millionths of the model's unit, before the division: the row of a key holds all lower keys and then itself.
    pairs: Box<[u32]>,
    /// What each sounding key adds to the divisor, in millionths; `None` where nothing is divided.
    squares: Option<u64>,
}

/// MIDI numbers.
const KEYS: u8 = 128;

impl RoughnessTable {
    /// The table of a model for tones with this many harmonics.
    ///
    /// Takes time with the square of `harmonics`, about 10 ms for eleven; the table takes 33 kB.
    pub fn new(model: RoughnessModel, harmonics: u8) -> Self {
        let curve = Curve::of(model);
        let amplitude = |number: u8| 1.0 / f64::from(number);
        let weights: Vec<Vec<f64>> = (1..=harmonics)
            .map(|a| (1..=harmonics).map(|b| curve.weight(amplitude(a), amplitude(b))).collect())
            .collect();
        let tones: Vec<Vec<Partial>> = (0..KEYS)
            .map(|key| {
                let fundamental = hertz(key);
                let partial = |number: u8| {
                    let hertz = f64::from(number) * fundamental;
                    Partial { hertz, reach: curve.reach(hertz) }
                };
                (1..=harmonics).map(partial).collect()
            })
            .collect();
        let mut pairs = Vec::with_capacity(row(usize::from(KEYS)));
        for (key, tone) in tones.iter().enumerate() {
            for lower in tones.iter().take(key) {
                pairs.push(millionths(between(curve, &weights, lower, tone)));
            }
            // Each pair of its own partials was met from both sides.
            pairs.push(millionths(between(curve, &weights, tone, tone) / 2.0));
        }
        let squares = (1..=harmonics).map(|number| amplitude(number) * amplitude(number)).sum();
        Self {
            pairs: pairs.into_boxed_slice(),
            squares: (model == RoughnessModel::HutchinsonKnopoff).then(|| u64::from(millionths(squares))),
        }
    }

    /// The roughness of keys (MIDI numbers `0..=127`, in any order) in thousandths, rounded once. A key given twice
    /// sounds once; numbers over 127 sound nothing. Takes time with the square of the number of keys and allocates
    /// nothing.
    pub fn of_keys(&self, keys: &[u8]) -> u32 {
        let mut sounding = 0_u128;
        let (mut sum, mut count) = (0_u64, 0_u64);
        for key in keys.iter().filter(|key| **key < KEYS) {
            if sounding >> key & 1 == 1 {
                continue;
            }
            sounding |= 1 << key;
            count += 1;
            let mut rest = sounding;
            while rest != 0 {
                let other = rest.trailing_zeros() as u8;
                rest &= rest - 1;
                sum += u64::from(self.pair(*key, other));
            }
        }
        self.thousandths(sum, count)
    }

    /// The roughness of so many keys that amount to this sum.
    fn thousandths(&self, sum: u64, count: u64) -> u32 {
        let thousandths = match self.squares {
            None => (sum + 500) / 1_000,
            Some(squares) => {
                let divisor = (squares * count).max(1);
                (1_000 * sum + divisor / 2) / divisor
            }
        };
        u32::try_from(thousandths).unwrap_or(u32::MAX)
    }

    /// What the keys of one hand, ascending, amount to: a part of [`RoughnessTable::of_hands`].
    pub(crate) fn sum_of_hand(&self, keys: &[u8]) -> u64 {
        let own = |(place, key): (usize, &u8)| {
            keys.iter().take(place + 1).map(|lower| u64::from(self.pair(*key, *lower))).sum::<u64>()
        };
        keys.iter().enumerate().map(own).sum()
    }

    /// [`RoughnessTable::of_keys`] of two hands, ascending and the left below the right, whose sums are known.
    pub(crate) fn of_hands(&self, [left, right]: [&[u8]; 2], sums: u64) -> u32 {
        let mut sum = sums;
        for high in right {
            let row = self.pairs.get(row(usize::from(*high))..).unwrap_or_default();
            for low in left {
                sum += row.get(usize::from(*low)).map_or(0, |pair| u64::from(*pair));
            }
        }
        self.thousandths(sum, u64::try_from(left.len() + right.len()).unwrap_or(u64::MAX))
    }

    fn pair(&self, a: u8, b: u8) -> u32 {
        let (low, high) = (usize::from(a.min(b)), usize::from(a.max(b)));
        self.pairs.get(row(high) + low).copied().unwrap_or_default()
    }
}

/// Where the row of a key starts.
const fn row(key: usize) -> usize {
    key * (key + 1) / 2
}

#[derive(Clone, Copy, Debug)]
struct Partial {
    hertz: f64,
    reach: f64,
}

/// What the partials of two tones contribute, each of one with each of the other, beyond reach left out.
fn between(curve: Curve, weights: &[Vec<f64>], tone: &[Partial], other: &[Partial]) -> f64 {
    let mut sum = 0.0;
    for (a, weights) in tone.iter().zip(weights) {
        for (b, weight) in other.iter().zip(weights) {
            let (low, high) = if a.hertz <= b.hertz { (a, b) } else { (b, a) };
            if high.hertz - low.hertz <= curve.farthest(low.reach, high.reach) {
                sum += weight * curve.height(low.hertz, high.hertz);
            }
        }
    }
    sum
}

/// To the nearest millionth.
fn millionths(value: f64) -> u32 {
    libm::round(value * 1e6) as u32
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::sync::LazyLock;

    /// As semitones above the root: the triads and seventh chords of the trade (common practice, no source).
    const CHORDS: [&[u8]; 12] = [
        &[0, 4, 7],
        &[0, 3, 7],
        &[0, 3, 6],
        &[0, 4, 8],
        &[0, 5, 7],
        &[0, 4, 7, 11],
        &[0, 4, 7, 10],
        &[0, 3, 7, 10],
        &[0, 3, 6, 10],
        &[0, 3, 6, 9],
        &[0, 3, 7, 11],
        &[0, 4, 8, 11],
    ];
    const LOWEST: u8 = 36;
    const HIGHEST: u8 = 84;
    const HARMONICS: u8 = 11;

    /// All inversions of all chords on all roots from C2 to C6, in close position.
    fn close_chords() -> Vec<Vec<u8>> {
        let mut all = Vec::new();
        for chord in CHORDS {
            for inversion in 0..chord.len() {
                for root in LOWEST - 12..=HIGHEST {
                    let member =
                        |at: usize| root + chord[at % chord.len()] + 12 * u8::from(at >= chord.len());
                    let keys: Vec<u8> = (inversion..inversion + chord.len()).map(member).collect();
                    if keys[0] >= LOWEST && keys[keys.len() - 1] <= HIGHEST {
                        all.push(keys);
                    }
                }
            }
        }
        all
    }

    /// How much more the table says than the model, in thousandths.
    fn excess(table: &RoughnessTable, model: RoughnessModel, keys: &[u8], harmonics: u8) -> f64 {
        f64::from(table.of_keys(keys)) - 1_000.0 * model.of_keys(keys, harmonics)
    }

    static TABLES: LazyLock<Vec<(RoughnessModel, u8, RoughnessTable)>> = LazyLock::new(|| {
        let models = RoughnessModel::NAMES.map(|(_, model)| model);
        let each = models.iter().flat_map(|model| [1, 6, HARMONICS].map(|harmonics| (*model, harmonics)));
        each.map(|(model, harmonics)| (model, harmonics, RoughnessTable::new(model, harmonics))).collect()
    });

    #[test]
    fn all_close_chords_are_the_model_to_a_thousandth() {
        let chords = close_chords();
        assert_eq!(chords.len(), 1_735);
        for (_, model) in RoughnessModel::NAMES {
            let table = RoughnessTable::new(model, HARMONICS);
            for keys in &chords {
                assert!(excess(&table, model, keys, HARMONICS).abs() <= 0.51, "{model} {keys:?}");
            }
        }
    }

    /// Where a tone is doubled at one, two or three octaves: the table counts coincident partials side by side, so it
    /// never says less than Hutchinson and Knopoff, and at most as much more as was measured.
    #[test]
    fn all_doubled_chords_differ_by_what_is_documented() {
        let model = RoughnessModel::HutchinsonKnopoff;
        let table = RoughnessTable::new(model, HARMONICS);
        let (mut most, mut most_of_model) = (0.0_f64, 0.0_f64);
        for keys in close_chords() {
            for key in &keys {
                for octave in [-24, -12, 12, 24, 36] {
                    let Some(doubled) = key.checked_add_signed(octave) else { continue };
                    if !(LOWEST..=HIGHEST).contains(&doubled) || keys.contains(&doubled) {
                        continue;
                    }
                    let keys = [keys.as_slice(), &[doubled]].concat();
                    let of_model = 1_000.0 * model.of_keys(&keys, HARMONICS);
                    let excess = f64::from(table.of_keys(&keys)) - of_model;
                    assert!(excess >= -0.51, "{keys:?}");
                    most = most.max(excess);
                    most_of_model = most_of_model.max(excess / of_model);
                }
            }
        }
        assert!((111.0..112.5).contains(&most), "{most}");
        assert!((0.25..0.27).contains(&most_of_model), "{most_of_model}");
    }

    /// The bits are the same on every machine: sums over whole tables, and one value of each model.
    #[test]
    fn all_tables_have_the_same_bits_everywhere() {
        let found: Vec<(u64, u64)> = RoughnessModel::NAMES
            .iter()
            .map(|(_, model)| {
                let table = RoughnessTable::new(*model, HARMONICS);
                let sum = table.pairs.iter().map(|cell| u64::from(*cell)).sum();
                (sum, model.of_keys(&[60, 64, 67, 70], HARMONICS).to_bits())
            })
            .collect();
        let pinned = [
            (1_523_743_755, 4_597_147_137_521_811_376),
            (6_914_784_638, 4_619_841_672_208_969_962),
            (105_471_203_124, 4_640_710_755_667_074_467),
        ];
        assert_eq!(found, pinned);
    }

    #[test]
    fn ok_what_sounds_nothing() {
        for (_, model) in RoughnessModel::NAMES {
            let silent = RoughnessTable::new(model, 0);
            assert_eq!(silent.of_keys(&[60, 61]), 0);
            let pure = RoughnessTable::new(model, 1);
            assert_eq!(pure.of_keys(&[]), 0);
            assert_eq!(pure.of_keys(&[60]), 0);
            assert_eq!(pure.of_keys(&[60, 60, 200, 255]), 0);
            assert_eq!(pure.of_keys(&[60, 61, 60, 61]), pure.of_keys(&[61, 60]));
            assert!(pure.of_keys(&[60, 61]) > 0);
            assert!(RoughnessTable::new(model, 2).of_keys(&[0, 1, 127]) > 0);
        }
        let every: Vec<u8> = (0..=255).collect();
        assert!(RoughnessTable::new(RoughnessModel::Vassilakis, 11).of_keys(&every) > 1_000);
    }

    proptest! {
        /// The slow twin: all keys at once.
        #[test]
        fn prop_of_hands_as_of_keys(keys in prop::collection::btree_set(0u8..128, 0..9), left in 0usize..9) {
            let keys: Vec<u8> = keys.into_iter().collect();
            let (left, right) = keys.split_at(left.min(keys.len()));
            for (_, _, table) in TABLES.iter() {
                let sums = table.sum_of_hand(left) + table.sum_of_hand(right);
                prop_assert_eq!(table.of_hands([left, right], sums), table.of_keys(&keys));
            }
        }

        /// Any keys: the models that add are met to a thousandth, the one that fuses partials where none coincide, and
        /// it is never undercut.
        #[test]
        fn prop_tables_are_the_model(keys in prop::collection::btree_set(0_u8..=127, 0..10)) {
            let keys: Vec<u8> = keys.into_iter().collect();
            let octaves = keys.iter().any(|low| keys.iter().any(|high| high > low && (high - low) % 12 == 0));
            for (model, harmonics, table) in TABLES.iter() {
                let excess = excess(table, *model, &keys, *harmonics);
                prop_assert!(excess >= -0.6, "{} {}", model, excess);
                if !octaves || *model != RoughnessModel::HutchinsonKnopoff {
                    prop_assert!(excess <= 0.6, "{} {}", model, excess);
                }
            }
        }

        /// The order of keys does not matter.
        #[test]
        fn prop_order_does_not_matter(keys in prop::collection::vec(0_u8..=127, 0..10)) {
            let reversed: Vec<u8> = keys.iter().rev().copied().collect();
            for (_, _, table) in TABLES.iter() {
                prop_assert_eq!(table.of_keys(&keys), table.of_keys(&reversed));
            }
        }
    }
}
