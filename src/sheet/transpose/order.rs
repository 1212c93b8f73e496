//! Orders in which the twelve keys are practised.

use super::Six;
use super::keys::{fewest, with};
use crate::chord::Key;
use crate::error::{Error, Kind, Result};

/// An order of the twelve keys; written `fourths`, `fifths`, `chromatic` or `shuffle:` and a number.
///
/// # Example
///
/// ```
/// use overshell::chord::Key;
/// use overshell::sheet::{KeyOrder, Six};
///
/// let keys = KeyOrder::Fourths.keys(Key::C_MAJOR, Six::Flats);
/// assert_eq!(itertools::join(keys, " "), "C F Bb Eb Ab Db Gb B E A D G");
/// let keys = "chromatic".parse::<KeyOrder>()?.keys("Am".parse()?, Six::Sharps);
/// assert_eq!(itertools::join(keys, " "), "Am Bbm Bm Cm C#m Dm D#m Em Fm F#m Gm G#m");
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq, Hash)]
pub enum KeyOrder {
    /// Each a fourth above the one before.
    #[default]
    Fourths,
    /// Each a fifth above the one before.
    Fifths,
    /// Each a semitone above the one before.
    Chromatic,
    /// In an order that this number decides, the same on every machine.
    Shuffled(u64),
}

impl KeyOrder {
    /// All twelve keys in this order, each once, with the fewest accidentals of those that sound alike. The first one is `first` as
    /// it is written, where it has a signature; shuffled, it may stand anywhere.
    pub fn keys(self, first: Key, six: Six) -> Vec<Key> {
        let step = match self {
            Self::Fourths | Self::Shuffled(_) => -1,
            Self::Fifths => 1,
            Self::Chromatic => 7,
        };
        let signature = i16::from(first.signature());
        let mut keys: Vec<Key> = (0..12)
            .map(|at| match at {
                0 if signature.abs() <= 7 => first,
                _ => with(first, fewest(signature + at * step, Some(six))),
            })
            .collect();
        if let Self::Shuffled(seed) = self {
            shuffle(&mut keys, seed);
        }
        keys
    }
}

/// Every order equally likely. R. Durstenfeld, "Algorithm 235: Random permutation", *Communications of the ACM* 7 (1964).
fn shuffle<T>(items: &mut [T], seed: u64) {
    let mut numbers = SplitMix(seed);
    for end in (1..items.len()).rev() {
        let number = numbers.below(u64::try_from(end).unwrap_or(u64::MAX) + 1);
        items.swap(end, usize::try_from(number).unwrap_or(0));
    }
}

/// SplitMix64: G. L. Steele, D. Lea and C. H. Flood, "Fast splittable pseudorandom number generators", *OOPSLA* (2014).
struct SplitMix(u64);

impl SplitMix {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A number below `bound`, each equally likely: what would make the first ones likelier is thrown away.
    fn below(&mut self, bound: u64) -> u64 {
        let bound = bound.max(1);
        let whole = u64::MAX - u64::MAX % bound;
        loop {
            let number = self.next();
            if number < whole {
                return number % bound;
            }
        }
    }
}

impl std::fmt::Display for KeyOrder {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Fourths => f.pad("fourths"),
            Self::Fifths => f.pad("fifths"),
            Self::Chromatic => f.pad("chromatic"),
            Self::Shuffled(seed) => f.pad(&format!("shuffle:{seed}")),
        }
    }
}

impl std::str::FromStr for KeyOrder {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        let wrong = || {
            Error::new(Kind::Range, format!("`{}` is not an order of keys", crate::pitch::shown(text)))
                .with_help(
                    "say `fourths`, `fifths`, `chromatic`, or `shuffle:` and a number such as `shuffle:7`",
                )
        };
        match text {
            "fourths" => Ok(Self::Fourths),
            "fifths" => Ok(Self::Fifths),
            "chromatic" => Ok(Self::Chromatic),
            _ => {
                let seed = text.strip_prefix("shuffle:").filter(|seed| !seed.starts_with('+'));
                Ok(Self::Shuffled(seed.and_then(|seed| seed.parse().ok()).ok_or_else(wrong)?))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::Mode;

    /// Twelve keys, no key of the keyboard twice, from every first key, with signatures that exist.
    #[test]
    fn all_orders_hold_every_key_once() {
        let shuffles = (0..200).map(KeyOrder::Shuffled);
        for order in [KeyOrder::Fourths, KeyOrder::Fifths, KeyOrder::Chromatic].into_iter().chain(shuffles) {
            for (signature, mode) in itertools::iproduct!(-7i8..=7, [Mode::Major, Mode::Minor]) {
                let first = Key::from_signature(signature, mode).unwrap();
                for six in [Six::Flats, Six::Sharps] {
                    let keys = order.keys(first, six);
                    let classes: std::collections::BTreeSet<u8> =
                        keys.iter().map(|key| key.tonic().pitch_class().get()).collect();
                    assert_eq!((keys.len(), classes.len()), (12, 12), "{order} {first}");
                    assert!(keys.contains(&first));
                    assert!(keys.iter().all(|key| key.mode() == mode && key.signature().abs() <= 7));
                    let few = |key: &&Key| **key != first;
                    assert!(keys.iter().filter(few).all(|key| key.signature().abs() <= 6));
                }
            }
        }
    }

    #[test]
    fn all_steps_are_the_interval() {
        for (order, semitones) in [(KeyOrder::Fourths, 5), (KeyOrder::Fifths, 7), (KeyOrder::Chromatic, 1)] {
            for keys in order.keys("Eb".parse().unwrap(), Six::Sharps).windows(2) {
                assert_eq!(keys[0].semitones_to(keys[1].tonic()), semitones, "{order}");
            }
        }
    }

    /// The first numbers for the seed 1234567, from memory of published lists; the twin beside them follows the paper in wide
    /// numbers.
    #[test]
    fn ok_numbers_are_those_of_the_paper() {
        let mut numbers = SplitMix(1_234_567);
        for expected in [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423] {
            assert_eq!(numbers.next(), expected);
        }
        let twin = |seed: u128, count: u128| {
            let two = 1u128 << 64;
            let z = (seed + count * 0x9e37_79b9_7f4a_7c15) % two;
            let z = (z ^ (z >> 30)) * 0xbf58_476d_1ce4_e5b9 % two;
            let z = (z ^ (z >> 27)) * 0x94d0_49bb_1331_11eb % two;
            z ^ (z >> 31)
        };
        for seed in [0, 1, 77, u64::MAX] {
            let mut numbers = SplitMix(seed);
            for count in 1..100 {
                assert_eq!(u128::from(numbers.next()), twin(seed.into(), count));
            }
        }
    }

    #[test]
    fn ok_each_seed_has_one_order_and_they_differ() {
        let orders: std::collections::BTreeSet<Vec<Key>> =
            (0..500).map(|seed| KeyOrder::Shuffled(seed).keys(Key::C_MAJOR, Six::Flats)).collect();
        assert!(orders.len() >= 499, "{}", orders.len());
        // Each key comes first about as often as any other: 500/12 is 42, six standard deviations are 37.
        for key in KeyOrder::Fourths.keys(Key::C_MAJOR, Six::Flats) {
            let first = orders.iter().filter(|order| order[0] == key).count();
            assert!((5..=79).contains(&first), "{key}: {first}");
        }
    }

    #[test]
    fn err_orders() {
        for order in [KeyOrder::Fourths, KeyOrder::Fifths, KeyOrder::Chromatic, KeyOrder::Shuffled(u64::MAX)]
        {
            assert_eq!(order.to_string().parse::<KeyOrder>().unwrap(), order);
        }
        for text in
            ["", "Fourths", "shuffle", "shuffle:", "shuffle:-1", "shuffle:+1", "shuffle:1.5", "shuffle:é"]
        {
            assert!(text.parse::<KeyOrder>().unwrap_err().is_range(), "{text}");
        }
    }
}
