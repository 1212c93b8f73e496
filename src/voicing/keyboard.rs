//! Where the keys lie: distances between their centres.

use crate::error::{Error, Kind, Result};

/// A keyboard, as far as distances along it go: the width of its octave.
///
/// Distances run horizontally from centre to centre, in hundredths of a millimetre; keys are MIDI numbers. White keys
/// are a seventh of an octave apart. The tails of the white keys and the black keys between them are equally wide
/// within C to E (five over three white keys) and within F to B (seven over four), so that black keys stand off the
/// boundaries between the fronts: on a standard keyboard C# by -2.35 mm, D# +2.35, F# -3.36, G# 0, A# +3.36 (tails
/// after Dorf, as given at quadibloc.com/other/cnv05.htm).
///
/// # Example
///
/// ```
/// use overshell::voicing::Keyboard;
///
/// let keyboard = Keyboard::STANDARD;
/// assert_eq!(keyboard.distance(60, 72), 16_450); // an octave, 164.5 mm
/// assert_eq!(keyboard.distance(60, 76), 21_150); // a tenth from C4 to E5
/// let narrow = Keyboard::with_octave(1_520)?;
/// assert!(narrow.distance(60, 76) < 20_000);
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
pub struct Keyboard {
    octave: u16,
}

/// Key centres from the centre of C, in 490ths of an octave. White keys 70 apart; black centres from tails of 42
/// (C to E) and 40 (F to B), counted from the left edge of C and of F, which lie 35 to the left of their centres.
const CENTRES: [u32; 12] = [0, 28, 70, 112, 140, 210, 235, 280, 315, 350, 395, 420];

impl Keyboard {
    /// The modern keyboard: an octave of 164.5 mm, seven white keys of 23.5 mm.
    ///
    /// Source: Wikipedia, "Musical keyboard" (octave 164 to 165 mm, white key 23.5 mm with its gap).
    pub const STANDARD: Self = Self { octave: 1_645 };

    /// The narrowest and the widest octave, in tenths of a millimetre. Keyboards of 125 to 170 mm were built (Boyle
    /// et al. 2015); there is room around them.
    pub(super) const OCTAVES: std::ops::RangeInclusive<u16> = 1_000..=2_500;

    /// The keyboard with an octave of this width, in tenths of a millimetre, `1000..=2500`.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`] for other widths.
    pub fn with_octave(tenths: u16) -> Result<Self> {
        if Self::OCTAVES.contains(&tenths) {
            return Ok(Self { octave: tenths });
        }
        let found = super::hand_size::Millimetres(tenths);
        Err(Error::new(
            Kind::Range,
            format!("an octave of `{found}` is out of range, expected 100mm to 250mm"),
        )
        .with_help("the octave of a standard keyboard is `164.5mm` wide, of a narrow one `152mm` or `140mm`"))
    }

    /// The width of the octave in tenths of a millimetre, `1000..=2500`.
    pub const fn octave(self) -> u16 {
        self.octave
    }

    /// The centre of a key (MIDI number) from the centre of the lowest C (MIDI 0), in hundredths of a millimetre.
    pub fn position(self, key: u8) -> u32 {
        self.distance(0, key)
    }

    /// How far the centres of two keys lie apart, in hundredths of a millimetre. Rounded once, so that equal steps
    /// between white keys are equally far apart everywhere.
    pub fn distance(self, low: u8, high: u8) -> u32 {
        // Tenths of an octave in 490ths make hundredths in 49ths; 49 is odd, so nothing lies halfway.
        (centre(low).abs_diff(centre(high)) * u32::from(self.octave) + 24) / 49
    }
}

/// The standard keyboard.
impl Default for Keyboard {
    fn default() -> Self {
        Self::STANDARD
    }
}

/// The centre of a key from that of MIDI 0, in 490ths of an octave.
fn centre(key: u8) -> u32 {
    let within = CENTRES.get(usize::from(key % 12)).copied().unwrap_or_default();
    490 * u32::from(key / 12) + within
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const WHITE: [u8; 7] = [0, 2, 4, 5, 7, 9, 11];

    /// The table from the model itself: tails laid side by side, centres in the middle.
    #[test]
    fn all_centres_from_the_tails() {
        for (index, white) in WHITE.iter().enumerate() {
            assert_eq!(CENTRES[usize::from(*white)], 70 * index as u32);
        }
        for (first, count, whites, edge) in [(0, 5, 3, 0), (5, 7, 4, 3 * 70)] {
            let tail = whites * 70 / count;
            assert_eq!(tail * count, whites * 70);
            for at in (1..count).step_by(2) {
                let from_left_edge = edge + tail * at + tail / 2;
                assert_eq!(CENTRES[(first + at) as usize], from_left_edge - 35, "{first} {at}");
            }
        }
    }

    /// Fractions of a millimetre, the slow way: exact distances in floating point, everywhere on the widest range.
    #[test]
    fn all_distances_are_the_nearest_hundredth() {
        for octave in [1_000, 1_250, 1_400, 1_520, 1_645, 1_700, 2_499, 2_500] {
            let keyboard = Keyboard::with_octave(octave).unwrap();
            let centre = |key: u8| {
                let white = f64::from(octave) * 10.0 / 7.0;
                let within = match key % 12 {
                    1 => 0.4,
                    3 => 1.6,
                    6 => 3.5 - 1.0 / 7.0,
                    8 => 4.5,
                    10 => 5.5 + 1.0 / 7.0,
                    key => WHITE.iter().position(|white| *white == key).unwrap() as f64,
                };
                white * (7.0 * f64::from(key / 12) + within)
            };
            for low in 0..=127 {
                for high in low..=127 {
                    let exact = centre(high) - centre(low);
                    assert_eq!(keyboard.distance(low, high), exact.round() as u32, "{octave} {low} {high}");
                    assert_eq!(keyboard.distance(low, high), keyboard.distance(high, low));
                }
                assert_eq!(keyboard.position(low), keyboard.distance(0, low));
            }
        }
    }

    /// The keyboard is its own mirror image around D.
    #[test]
    fn all_distances_are_mirrored_around_d() {
        for low in 2..=122 {
            for high in low..=122 {
                let there = Keyboard::STANDARD.distance(low, high);
                assert_eq!(there, Keyboard::STANDARD.distance(124 - high, 124 - low), "{low} {high}");
            }
        }
    }

    #[test]
    fn err_octaves() {
        for octave in [0, 999, 2_501, u16::MAX] {
            assert!(Keyboard::with_octave(octave).unwrap_err().is_range());
        }
        insta::assert_snapshot!(Keyboard::with_octave(999).unwrap_err().report(), @"
        error: an octave of `99.9mm` is out of range, expected 100mm to 250mm
        help: the octave of a standard keyboard is `164.5mm` wide, of a narrow one `152mm` or `140mm`
        ");
        assert_eq!(Keyboard::with_octave(1_645).unwrap(), Keyboard::STANDARD);
    }

    proptest! {
        /// Higher keys lie further right, all keys differ, and distances add up to a hundredth.
        #[test]
        fn prop_distances_order_and_add(octave in 1_000_u16..=2_500, a: u8, b: u8, c: u8) {
            let mut keys = [a, b, c];
            keys.sort_unstable();
            let [a, b, c] = keys;
            let keyboard = Keyboard::with_octave(octave).unwrap();
            prop_assert_eq!(keyboard.distance(a, b) == 0, a == b);
            prop_assert!(keyboard.distance(a, b) <= keyboard.distance(a, c));
            let sum = keyboard.distance(a, b) + keyboard.distance(b, c);
            prop_assert!(sum.abs_diff(keyboard.distance(a, c)) <= 1);
        }
    }
}
