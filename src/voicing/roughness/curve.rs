//! What two partials contribute.

use super::RoughnessModel;

/// The curve of a model: what two partials contribute is the weight of their amplitudes times the height of the curve.
#[derive(Clone, Copy, Debug)]
pub(super) struct Curve(RoughnessModel);

/// Beyond so much of Sethares' measure of distance, two partials of full amplitude contribute less than a hundredth of
/// a millionth in his model (`5 exp(-3.51 x)`), less than ten of them in that of Vassilakis (`50 exp(-3.5 x)`).
const FAR: f64 = 6.0;

impl Curve {
    pub(super) const fn of(model: RoughnessModel) -> Self {
        Self(model)
    }

    /// What two amplitudes weigh, both above zero.
    pub(super) fn weight(self, a: f64, b: f64) -> f64 {
        match self.0 {
            RoughnessModel::HutchinsonKnopoff => a * b,
            RoughnessModel::Sethares => 5.0 * smaller(a, b),
            RoughnessModel::Vassilakis => {
                let depth = 2.0 * smaller(a, b) / (a + b);
                100.0 * 0.5 * libm::pow(a * b, 0.1) * libm::pow(depth, 3.11)
            }
        }
    }

    /// The curve at two frequencies, the lower first, for amplitudes that weigh 1.
    pub(super) fn height(self, low: f64, high: f64) -> f64 {
        let apart = high - low;
        match self.0 {
            RoughnessModel::HutchinsonKnopoff => {
                let bandwidths = apart / critical_bandwidth((low + high) / 2.0);
                if bandwidths > WIDEST {
                    return 0.0;
                }
                let y = bandwidths / 0.25;
                let root = y * libm::exp(1.0 - y);
                root * root
            }
            RoughnessModel::Sethares => bow(3.51, apart * scale(low)),
            RoughnessModel::Vassilakis => bow(3.5, apart * scale(low)),
        }
    }

    /// How far the curve reaches from a frequency, in hertz.
    pub(super) fn reach(self, hertz: f64) -> f64 {
        match self.0 {
            RoughnessModel::HutchinsonKnopoff => WIDEST * critical_bandwidth(hertz),
            RoughnessModel::Sethares | RoughnessModel::Vassilakis => FAR / scale(hertz),
        }
    }

    /// How far apart two frequencies may lie, by the reach of each, before the curve is nothing or next to nothing.
    pub(super) const fn farthest(self, low: f64, high: f64) -> f64 {
        match self.0 {
            // The bandwidth at the mean is less than that at the upper frequency.
            RoughnessModel::HutchinsonKnopoff => high,
            RoughnessModel::Sethares | RoughnessModel::Vassilakis => low,
        }
    }
}

/// The curve of Hutchinson and Knopoff ends here, in critical bandwidths.
const WIDEST: f64 = 1.2;

/// In hertz, by the formula of Mashinter 2006.
fn critical_bandwidth(hertz: f64) -> f64 {
    1.72 * libm::pow(hertz, 0.65)
}

/// What a distance in hertz is multiplied with, by the lower frequency, so that the curve is worst at the same place.
fn scale(low: f64) -> f64 {
    0.24 / (0.0207 * low + 18.96)
}

/// Up and down again.
fn bow(slow: f64, x: f64) -> f64 {
    libm::exp(-slow * x) - libm::exp(-5.75 * x)
}

fn smaller(a: f64, b: f64) -> f64 {
    if b < a { b } else { a }
}

/// The frequency of a key in equal temperament from A4 = 440 Hz. Octaves are exact, so that coincident partials are
/// equal.
pub(super) fn hertz(key: u8) -> f64 {
    let within = libm::exp2((f64::from(key % 12) - 9.0) / 12.0);
    libm::scalbn(440.0 * within, i32::from(key / 12) - 5)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_frequencies() {
        for (key, expected) in [(69, 440.0), (57, 220.0), (21, 27.5), (117, 7_040.0)] {
            assert_eq!(hertz(key), expected);
        }
        // Common practice, no source: middle C in equal temperament.
        assert!((hertz(60) - 261.625_565).abs() < 1e-6);
        for key in 0..=115 {
            assert_eq!(hertz(key + 12), 2.0 * hertz(key));
            assert!((hertz(key + 1) / hertz(key) - 2_f64.powf(1.0 / 12.0)).abs() < 1e-12);
            for harmonic in 1..=32 {
                let harmonic = f64::from(harmonic);
                assert_eq!(2.0 * harmonic * hertz(key), harmonic * hertz(key + 12));
            }
        }
    }

    /// Hutchinson & Knopoff 1978 in the form of Mashinter 2006: values in the tests of P. Harrison's implementation.
    #[test]
    fn ok_critical_bandwidths() {
        assert!((critical_bandwidth((400.0 + 440.0) / 2.0) - 87.225).abs() < 5e-4);
        assert!((critical_bandwidth((400.0 + 380.0) / 2.0) - 83.123).abs() < 5e-4);
    }

    /// Nothing that the reach leaves out is worth a count.
    #[test]
    fn all_heights_beyond_the_reach_are_next_to_nothing() {
        for (_, model) in RoughnessModel::NAMES {
            let curve = Curve::of(model);
            let most = match model {
                RoughnessModel::HutchinsonKnopoff => 0.0,
                RoughnessModel::Sethares => 1e-8,
                RoughnessModel::Vassilakis => 1e-7,
            };
            for low in (8..4_000).step_by(7).map(f64::from) {
                for apart in (1..2_000).step_by(3).map(f64::from) {
                    let high = low + apart;
                    if apart > curve.farthest(curve.reach(low), curve.reach(high)) {
                        assert!(
                            curve.weight(1.0, 1.0) * curve.height(low, high) <= most,
                            "{model} {low} {high}"
                        );
                    }
                }
            }
        }
    }
}
