//! Sensory roughness: how much partials that lie close together beat against each other.
//!
//! Three published models stand side by side; they agree on what is rough in the main and disagree in detail. The
//! model itself works in floating point ([`RoughnessModel`]); for judging there is a [`RoughnessTable`] of integers.

mod curve;
mod table;

pub use table::RoughnessTable;

use super::named::text_by_name;
use curve::{Curve, hertz};

/// A published model of sensory roughness. The values of two models cannot be compared with each other.
///
/// | model | amplitudes of two partials | distance of two partials | whole |
/// |---|---|---|---|
/// | `hutchinson-knopoff` | product | in critical bandwidths, nothing beyond 1.2 | divided by the sum of all squares |
/// | `sethares` | the smaller | scaled by the lower frequency | sum |
/// | `vassilakis` | power of the product, times how deep they beat | scaled by the lower frequency | sum, times 100 |
///
/// Everything is computed with portable functions and in a fixed order, so that every machine gets the same bits.
///
/// # Example
///
/// ```
/// use overshell::voicing::RoughnessModel;
///
/// let model: RoughnessModel = "hutchinson-knopoff".parse()?;
/// let minor_second = model.of_keys(&[60, 61], 11);
/// let major_triad = model.of_keys(&[60, 64, 67], 11);
/// assert_eq!(format!("{minor_second:.3} {major_triad:.3}"), "0.484 0.120");
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
pub enum RoughnessModel {
    /// Hutchinson & Knopoff, *Interface* 7 (1978), 1-29, in the form of Mashinter, *Empirical Musicology Review* 1
    /// (2006), 65-84: critical bandwidth `1.72 f^0.65` at the mean frequency `f`, the curve
    /// `[(y / 0.25) exp(1 - y / 0.25)]^2` over `y` bandwidths, nothing where `y` is over 1.2. Partials on the same
    /// frequency sound as one, whose amplitude is the root of the sum of the squares.
    HutchinsonKnopoff,
    /// Sethares, *JASA* 94 (1993), 1218-1228, with the constants of his published program: the curve
    /// `5 exp(-3.51 x) - 5 exp(-5.75 x)`, where `x` is the distance times `0.24 / (0.0207 f + 18.96)` and `f` the lower
    /// frequency. The smaller amplitude counts, as in his book of 2005; the paper of 1993 multiplies the two.
    Sethares,
    /// Vassilakis, *Perceptual and Physical Properties of Amplitude Fluctuation and their Musical Significance*
    /// (thesis, UCLA 2001). Its formula stands here from memory: `(a b)^0.1 / 2 [2 min / (a + b)]^3.11
    /// [exp(-3.5 x) - exp(-5.75 x)]`, with `x` as Sethares has it; times 100 it meets the values for twelve dyads that
    /// are published on p. 210 to within 0.25 %.
    Vassilakis,
}

text_by_name!(RoughnessModel, "a model of roughness", "models");

impl RoughnessModel {
    /// The models with their names in rule files.
    pub const NAMES: [(&'static str, Self); 3] = [
        ("hutchinson-knopoff", Self::HutchinsonKnopoff),
        ("sethares", Self::Sethares),
        ("vassilakis", Self::Vassilakis),
    ];

    /// The roughness of partials, each a frequency in hertz and an amplitude, in any order: at least 0, no unit.
    ///
    /// Frequencies and amplitudes that are not finite and above zero sound nothing. Takes time with the square of the
    /// number of partials.
    ///
    /// ```
    /// use overshell::voicing::RoughnessModel::Sethares;
    /// let beating = Sethares.of_partials(&[(440.0, 1.0), (460.0, 1.0)]);
    /// assert!(beating > 10.0 * Sethares.of_partials(&[(440.0, 1.0), (660.0, 1.0)]));
    /// ```
    pub fn of_partials(self, partials: &[(f64, f64)]) -> f64 {
        let sounds = |value: f64| value.is_finite() && value > 0.0;
        let mut heard: Vec<(f64, f64)> =
            partials.iter().copied().filter(|(f, a)| sounds(*f) && sounds(*a)).collect();
        heard.sort_by(|(f, a), (g, b)| f.total_cmp(g).then(a.total_cmp(b)));
        if self == Self::HutchinsonKnopoff {
            heard.dedup_by(|(next, b), (hertz, a)| {
                let same = next == hertz;
                if same {
                    *a = libm::sqrt(*a * *a + *b * *b);
                }
                same
            });
        }
        let curve = Curve::of(self);
        let mut sum = 0.0;
        for (at, (low, a)) in heard.iter().enumerate() {
            for (high, b) in heard.iter().skip(at + 1) {
                sum += curve.weight(*a, *b) * curve.height(*low, *high);
            }
        }
        match self {
            Self::HutchinsonKnopoff if heard.is_empty() => 0.0,
            Self::HutchinsonKnopoff => sum / heard.iter().map(|(_, a)| a * a).sum::<f64>(),
            Self::Sethares | Self::Vassilakis => sum,
        }
    }

    /// The roughness of keys (MIDI numbers `0..=127`, in any order), each a tone with this many harmonics of amplitudes
    /// 1, 1/2, 1/3 and so on, in equal temperament from A4 = 440 Hz. A key given twice sounds once; numbers over 127
    /// sound nothing. Ten or eleven harmonics are usual in print.
    ///
    /// ```
    /// use overshell::voicing::RoughnessModel::HutchinsonKnopoff;
    /// let third_from = |key| HutchinsonKnopoff.of_keys(&[key, key + 4], 10);
    /// assert!(third_from(36) > 3.0 * third_from(60)); // muddy on C2
    /// ```
    pub fn of_keys(self, keys: &[u8], harmonics: u8) -> f64 {
        let mut keys: Vec<u8> =
            keys.iter().copied().filter(|key| *key <= crate::Pitch::HIGHEST_MIDI).collect();
        keys.sort_unstable();
        keys.dedup();
        let harmonics = 1..=harmonics;
        let partials = keys.iter().flat_map(|key| {
            let fundamental = hertz(*key);
            harmonics.clone().map(f64::from).map(move |number| (number * fundamental, 1.0 / number))
        });
        self.of_partials(&partials.collect::<Vec<_>>())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn ok_what_sounds_nothing() {
        for (name, model) in RoughnessModel::NAMES {
            assert_eq!(name.parse::<RoughnessModel>().unwrap(), model);
            assert_eq!(model.to_string(), name);
            assert_eq!(model.of_partials(&[]), 0.0);
            assert_eq!(model.of_partials(&[(440.0, 1.0)]), 0.0);
            assert_eq!(model.of_keys(&[], 10), 0.0);
            assert_eq!(model.of_keys(&[60, 61], 0), 0.0);
            assert_eq!(model.of_keys(&[60, 61, 60, 200], 10), model.of_keys(&[61, 60], 10));
            let pair = [(440.0, 1.0), (460.0, 0.5)];
            let mut more = pair.to_vec();
            more.extend([
                (450.0, 0.0),
                (-450.0, 1.0),
                (f64::NAN, 1.0),
                (450.0, f64::NAN),
                (f64::INFINITY, 1.0),
            ]);
            assert_eq!(model.of_partials(&more), model.of_partials(&pair));
        }
    }

    #[test]
    fn err_models() {
        insta::assert_snapshot!("setares".parse::<RoughnessModel>().unwrap_err().report(), @"
        error: `setares` is not a model of roughness
          setares
          ^^^^^^^
        help: did you mean `sethares`? the models are `hutchinson-knopoff`, `sethares`, `vassilakis`
        ");
    }

    proptest! {
        /// The order of partials does not matter, to the bit; louder throughout is scaled as the model says.
        #[test]
        fn prop_order_and_loudness(partials in prop::collection::vec((20.0..5_000.0, 0.01..2.0), 0..12)) {
            let reversed: Vec<_> = partials.iter().rev().copied().collect();
            let louder: Vec<_> = partials.iter().map(|(f, a)| (*f, 2.0 * a)).collect();
            for (_, model) in RoughnessModel::NAMES {
                let value = model.of_partials(&partials);
                prop_assert!(value >= 0.0);
                prop_assert_eq!(value.to_bits(), model.of_partials(&reversed).to_bits());
                let factor = match model {
                    RoughnessModel::HutchinsonKnopoff => 1.0,
                    RoughnessModel::Sethares => 2.0,
                    RoughnessModel::Vassilakis => 4_f64.powf(0.1),
                };
                prop_assert!((model.of_partials(&louder) - factor * value).abs() <= 1e-9 * (1.0 + value));
            }
        }

        /// A tone on the same frequencies is the same tone, louder: for Hutchinson and Knopoff nothing changes.
        #[test]
        fn prop_coincident_partials_are_one(partials in prop::collection::vec((20.0..5_000.0, 0.01..2.0), 0..12)) {
            let twice: Vec<_> = partials.iter().chain(&partials).copied().collect();
            let model = RoughnessModel::HutchinsonKnopoff;
            prop_assert!((model.of_partials(&twice) - model.of_partials(&partials)).abs() < 1e-12);
        }
    }
}
