//! Low interval limits against the published tables. Tables differ by up to an octave, so each is checked by name.

#![allow(missing_docs, clippy::unwrap_used, clippy::indexing_slicing, reason = "tests")]

use overshell::pitch::{Interval, pitch};
use overshell::voicing::{Hand, LowLimits};

fn semitones(interval: &str) -> u8 {
    u8::try_from(interval.parse::<Interval>().unwrap().semitones()).unwrap()
}

/// "Low Interval Limit", Sweetwater inSync: interval, lowest bottom note as printed there with C3 as middle C, MIDI
/// number.
#[test]
fn all_limits_of_arrangers() {
    let printed = [
        ("m2", "E2", 52),
        ("M2", "Eb2", 51),
        ("m3", "C2", 48),
        ("M3", "B1", 47),
        ("P4", "A1", 45),
        ("A4", "B0", 35),
        ("P5", "C#1", 37),
        ("m6", "F1", 41),
        ("M6", "F1", 41),
        ("m7", "F1", 41),
        ("M7", "F1", 41),
    ];
    for (interval, bottom, midi) in printed {
        assert_eq!(pitch(bottom).shift_octaves(1).unwrap().midi(), midi, "{interval}");
        assert_eq!(LowLimits::Arrangers.lowest(semitones(interval)), Some(midi), "{interval}");
    }
    // The octave and wider intervals are not listed.
    assert!((12..=16).all(|semitones| LowLimits::Arrangers.lowest(semitones).is_none()));
}

/// The harmonic rule of a thread in rec.music.theory: the lower note of a just ratio `p:q` in lowest terms is no lower
/// than `q` times 27.5 Hz (A0), to the nearest key.
#[test]
fn all_limits_of_overtones_by_the_rule() {
    // Interval, ratio, frequency, lowest note, as the thread has them; the last two rows computed by its rule.
    let rows = [
        ("P5", (3, 2), 55.0, "A1"),
        ("P4", (4, 3), 82.5, "E2"),
        ("M3", (5, 4), 110.0, "A2"),
        ("m3", (6, 5), 137.5, "C#3"),
        ("M6", (5, 3), 82.5, "E2"),
        ("m6", (8, 5), 137.5, "C#3"),
        ("M2", (9, 8), 220.0, "A3"),
        ("P8", (2, 1), 27.5, "A0"),
    ];
    let mut listed = [None; 17];
    for (interval, (upper, lower), hertz, bottom) in rows {
        let size = semitones(interval);
        // The ratio is that interval: no other is as near in equal temperament.
        let tempered = 12.0 * (f64::from(upper) / f64::from(lower)).log2();
        assert!((tempered - f64::from(size)).abs() < 0.2, "{interval}");
        assert_eq!(27.5 * f64::from(lower), hertz, "{interval}");
        let key = 69.0 + 12.0 * (hertz / 440.0).log2();
        assert_eq!(key.round() as u8, pitch(bottom).midi(), "{interval}");
        listed[usize::from(size)] = Some(pitch(bottom).midi());
    }
    for (size, limit) in listed.into_iter().enumerate() {
        assert_eq!(LowLimits::Overtones.lowest(size as u8), limit, "{size}");
    }
}

/// Guidelines, not absolutes: the two tables are five semitones apart for the fourth and eight for the minor sixth.
#[test]
fn ok_tables_differ() {
    let apart = |interval: &str| {
        let [a, b] = LowLimits::NAMES.map(|(_, limits)| limits.lowest(semitones(interval)).unwrap());
        a.abs_diff(b)
    };
    assert_eq!((apart("P4"), apart("m6")), (5, 8));
}

/// Whether every pair of neighbours stands high enough, and the root too that is imagined below where another note is
/// lowest (assumed root: Lowell & Pullig, *Arranging for Large Jazz Ensemble*, 2003).
fn passes(limits: LowLimits, keys: &str, root: &str) -> bool {
    let keys: Vec<u8> = keys.parse::<Hand>().unwrap().pitches().iter().map(|pitch| pitch.midi()).collect();
    let stands = |low: u8, high: u8| limits.lowest(high - low).is_none_or(|lowest| low >= lowest);
    let assumed = pitch(root).midi();
    keys.windows(2).all(|pair| stands(pair[0], pair[1])) && (assumed == keys[0] || stands(assumed, keys[0]))
}

/// Worked cases of R. Hoffmann, "Low Interval Limits 2" (octaves inferred from the limits): C3-E3-G3 passes; A minor in
/// first inversion on C3 does not, because A2-C3 is a minor third below C3.
#[test]
fn all_worked_cases() {
    let arrangers = LowLimits::Arrangers;
    assert!(passes(arrangers, "C3 E3 G3", "C3"));
    assert!(!passes(arrangers, "C3 E3 A3", "A2"));
    assert!(passes(arrangers, "C3 E3 A3", "C3"), "without the assumed root it would pass");
    // There Bb2-D3-F3 is the lowest major triad, so that the limit of the major third is Bb2 in Lowell & Pullig. This
    // table has B2.
    assert!(passes(arrangers, "B2 D#3 F#3", "B2"));
    assert!(!passes(arrangers, "Bb2 D3 F3", "Bb2"));
    // By overtones the same two: E3-G3 stands above C#3, the assumed A2-C3 below it.
    assert!(passes(LowLimits::Overtones, "C3 E3 G3", "C3"));
    assert!(!passes(LowLimits::Overtones, "C3 E3 A3", "A2"));
}
