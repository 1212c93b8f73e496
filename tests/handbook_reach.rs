//! Distances on the keyboard, sizes of hands and spans of fingers against published values.

#![allow(missing_docs, clippy::unwrap_used, clippy::indexing_slicing, reason = "tests")]

use overshell::pitch::pitch;
use overshell::voicing::{HandSize, Keyboard};

fn key(text: &str) -> u8 {
    pitch(text).midi()
}

/// Wikipedia, "Musical keyboard": octave 164 to 165 mm, white key 23.5 mm with its gap. Multiples of 23.5 mm are
/// computed from it.
#[test]
fn all_white_keys_on_the_standard_keyboard() {
    let keyboard = Keyboard::STANDARD;
    for (high, hundredths) in [("D4", 2_350), ("C5", 16_450), ("D5", 18_800), ("E5", 21_150), ("F5", 23_500)]
    {
        assert_eq!(keyboard.distance(key("C4"), key(high)), hundredths, "{high}");
    }
    // Between other white keys just as far: sevenths, octaves, ninths, tenths anywhere.
    let white: Vec<u8> = (0..=127).filter(|key| [0, 2, 4, 5, 7, 9, 11].contains(&(key % 12))).collect();
    for (steps, hundredths) in [(6, 14_100), (7, 16_450), (8, 18_800), (9, 21_150), (10, 23_500)] {
        for pair in white.windows(steps + 1) {
            assert_eq!(keyboard.distance(pair[0], pair[steps]), hundredths);
        }
    }
    // Outer edges add one white key: octave 188.0 mm = 7.40 in, ninth 8.33 in, tenth 9.25 in (computed).
    for (octaves_edge, inches) in [(16_450 + 2_350, 7.40), (18_800 + 2_350, 8.33), (21_150 + 2_350, 9.25)] {
        assert_eq!((f64::from(octaves_edge) / 25.4).round() / 100.0, inches);
    }
}

/// The tail model of Dorf as given at quadibloc.com (cnv05): three whites C to E share five tails, four whites F to B
/// seven. Offsets of black centres from the boundary of the fronts, computed with a white key of 23.5 mm.
#[test]
fn all_black_keys_off_the_boundaries() {
    let keyboard = Keyboard::STANDARD;
    for (white, black, offset) in
        [("C4", "C#4", -235), ("D4", "D#4", 235), ("F4", "F#4", -336), ("G4", "G#4", 0), ("A4", "A#4", 336)]
    {
        let from_boundary = i64::from(keyboard.distance(key(white), key(black))) - 1_175;
        assert_eq!(from_boundary, offset, "{black}");
    }
}

/// Keyboards with an octave of 140 mm (seven eighths) and 152 mm (fifteen sixteenths) are built; Boyle et al. 2015 use
/// 165 mm (6.5 in) for the usual one.
#[test]
fn ok_other_widths_scale() {
    for (octave, standard) in [(1_400, 7.0 / 8.0), (1_520, 15.0 / 16.0), (1_650, 1.0)] {
        let keyboard = Keyboard::with_octave(octave).unwrap();
        assert_eq!(keyboard.distance(60, 72), u32::from(octave) * 10);
        let ratio = f64::from(octave) / 1_645.0;
        assert!((ratio - standard).abs() < 0.03, "{octave}");
        for high in 60..=90 {
            let scaled = f64::from(Keyboard::STANDARD.distance(60, high)) * ratio;
            assert!((f64::from(keyboard.distance(60, high)) - scaled).abs() <= 2.0, "{octave} {high}");
        }
    }
}

/// Balliauw et al., *ITOR* 24 (2017), 509-535: at most an octave, a ninth, a tenth; in comfort a seventh, an octave, a
/// ninth (from its spans of thumb and little finger).
#[test]
fn all_sizes_reach_what_is_published() {
    for ((_, size), (comfortable, largest)) in
        HandSize::NAMES.into_iter().zip([("B4", "C5"), ("C5", "D5"), ("D5", "E5")])
    {
        let reach = |high: &str| size.keyboard().distance(key("C4"), key(high));
        assert_eq!(size.comfortable(), reach(comfortable), "{size}");
        assert_eq!(size.largest(), reach(largest), "{size}");
    }
}
