//! A judge of plain dominant sevenths on their way to a major tonic, for medium hands, with the rules of the standard set
//! written out as code: what judging by data is measured against.

use overshell::rules::{MovingNote, Score};

// Degrees as bits, by semitones above the root.
const ROOT: u16 = 1;
const FLAT_NINE: u16 = 1 << 1;
const NINE: u16 = 1 << 2;
const SHARP_NINE: u16 = 1 << 3;
const THREE: u16 = 1 << 4;
const ELEVEN: u16 = 1 << 5;
const SHARP_ELEVEN: u16 = 1 << 6;
const FIVE: u16 = 1 << 7;
const FLAT_THIRTEEN: u16 = 1 << 8;
const THIRTEEN: u16 = 1 << 9;
const FLAT_SEVEN: u16 = 1 << 10;
const MAJOR_SEVEN: u16 = 1 << 11;
const TENSIONS: u16 = FLAT_NINE | NINE | SHARP_NINE | ELEVEN | SHARP_ELEVEN | FLAT_THIRTEEN | THIRTEEN;

/// Lowest bottom notes of neighbours up to a major seventh apart; 0 where there is no limit.
const LOWEST: [u8; 12] = [0, 52, 51, 48, 47, 45, 35, 37, 41, 41, 41, 41];
/// The highest of these limits.
const HIGHEST_LIMIT: u8 = 52;

/// The middles of the keys within an octave from that of C, in hundredths of a millimetre times 49, on keys whose octave
/// is 164.5 mm wide.
const MIDDLES: [u32; 12] = {
    let mut middles = [0, 28, 70, 112, 140, 210, 235, 280, 315, 350, 395, 420];
    let mut key = 0;
    while key < 12 {
        middles[key] *= 1_645;
        key += 1;
    }
    middles
};

/// Both hands ascending, of at most five keys, the left below the right; all keys below 128.
#[inline]
pub(crate) fn judge(root: u8, left: &[u8], right: &[u8]) -> Score {
    Hands::new(root, left, right).judged(root, left, right)
}

/// The same with a melody note on top, and the notes that follow it while the chord is held.
#[inline]
pub(crate) fn judge_under(root: u8, left: &[u8], right: &[u8], melody: u8, moving: &[MovingNote]) -> Score {
    let hands = Hands::new(root, left, right);
    let mut score = hands.judged(root, left, right);
    let held = hands.bits & !(1 << melody);
    for note in moving {
        let rubs = |by: u8| note.key >= by && held >> (note.key - by) & 1 == 1;
        score.cost += i32::from(note.sixteenths) * (i32::from(rubs(1)) + i32::from(rubs(13)));
    }
    score
}

/// What sounds, and what is seen on the way from the lowest key to the highest.
struct Hands {
    bits: u128,
    degrees: u16,
    cost: i32,
    /// Between the two highest keys; 0 where there are fewer.
    top: u8,
}

impl Hands {
    #[inline]
    fn new(root: u8, left: &[u8], right: &[u8]) -> Self {
        let mut hands = Self { bits: 0, degrees: 0, cost: 0, top: 0 };
        let mut below = None;
        for key in left.iter().chain(right) {
            hands.bits |= 1 << key;
            let degree = 1 << ((key + 12 - root) % 12);
            if hands.degrees & degree != 0 {
                hands.cost += if degree & (ROOT | FIVE) != 0 { 2 } else { 8 };
            }
            hands.degrees |= degree;
            if let Some(below) = below {
                hands.top = key - below;
                hands.cost += muddy(below, hands.top);
            }
            below = Some(*key);
        }
        hands
    }

    #[inline]
    fn judged(&self, root: u8, left: &[u8], right: &[u8]) -> Score {
        let Self { bits, degrees, mut cost, top } = *self;
        let all = |wanted: u16| degrees & wanted == wanted;
        let none = |wanted: u16| degrees & wanted == 0;

        let altered = degrees & (FLAT_NINE | SHARP_NINE | SHARP_ELEVEN | FLAT_THIRTEEN);
        let natural = degrees & (NINE | THIRTEEN);
        let colour = 20 * altered.count_ones() as i32 + 10 * natural.count_ones() as i32;

        let mut clash = all(FLAT_SEVEN | MAJOR_SEVEN)
            || all(NINE | FLAT_NINE)
            || all(NINE | SHARP_NINE)
            || all(THIRTEEN | FLAT_THIRTEEN);
        if all(THREE | ELEVEN) {
            let keys = || left.iter().chain(right);
            let is = |semitones: u8| move |key: &&u8| (**key + 12 - root) % 12 == semitones;
            clash |= keys().find(is(4)) < keys().rfind(is(5));
            if keys().find(is(5)) < keys().rfind(is(4)) {
                cost += 15;
            }
        }

        if none(THREE) {
            cost += 60;
        }
        if none(FLAT_SEVEN) {
            cost += 40;
        }
        if none(ROOT) {
            cost += 20;
        }
        cost += 10 * 2usize.saturating_sub(left.len()) as i32;
        cost += 16 * 3usize.saturating_sub(right.len()) as i32;
        cost += structure(right);
        let in_left = left.iter().fold(0u16, |bits, key| bits | 1 << ((key + 12 - root) % 12));
        cost += 14 * (in_left & TENSIONS).count_ones() as i32;

        cost += 12 * (bits & bits >> 1).count_ones() as i32;
        cost += 20 * minor_ninths(bits, 13, root) + 6 * minor_ninths(bits, 25, root);
        cost += match top {
            1 => 24,
            2 => 6,
            _ => 3 * i32::from(top.saturating_sub(9)),
        };

        if let (Some(low), Some(high)) = (left.first(), left.last()) {
            cost += 2 * i32::from(41u8.saturating_sub(*low));
            cost += 2 * i32::from(high.saturating_sub(64));
            cost += stretched(*low, *high);
            if let Some(above) = right.first() {
                cost += 2 * i32::from((above - high).saturating_sub(10));
            }
        }
        if let (Some(low), Some(high)) = (right.first(), right.last()) {
            cost += 2 * (i32::from(60u8.saturating_sub(*low)) + i32::from(low.saturating_sub(72)));
            cost += 2 * i32::from(high.saturating_sub(79));
            cost += stretched(*low, *high);
        }
        if let Some(bottom) = left.first().or(right.first()) {
            let down = (bottom + 12 - root) % 12;
            // Where the root would lie below the lowest key there is, it lies on it.
            let assumed = bottom.saturating_sub(down);
            cost += muddy(assumed, bottom - assumed);
        }
        Score { clash, cost, colour }
    }
}

/// What neighbours cost that lie too low for their interval.
#[inline]
fn muddy(low: u8, semitones: u8) -> i32 {
    if low >= HIGHEST_LIMIT {
        return 0;
    }
    let limit = LOWEST.get(usize::from(semitones)).copied().unwrap_or_default();
    7 * i32::from(limit.saturating_sub(low))
}

/// How many pairs lie a minor ninth and perhaps an octave apart, but root and b9, 3 and 11, b7 and major seventh.
#[inline]
fn minor_ninths(bits: u128, semitones: u8, root: u8) -> i32 {
    let mut count = 0;
    let mut found = bits & bits >> semitones;
    while found != 0 {
        let low = found.trailing_zeros() as u8;
        found &= found - 1;
        let spared = 1u16 << ((low + 12 - root) % 12) & (ROOT | THREE | FLAT_SEVEN) != 0;
        count += i32::from(!spared);
    }
    count
}

/// What three notes cost that are no major or minor triad, in any inversion and spacing.
#[inline]
fn structure(keys: &[u8]) -> i32 {
    let [low, middle, high] = keys else { return 0 };
    let (one, other) = ((middle - low) % 12, (high - low) % 12);
    match (one.min(other), one.max(other)) {
        (4, 7) | (3, 8) | (5, 9) | (3, 7) | (4, 9) | (5, 8) => 0,
        (3, 6) | (3, 9) | (6, 9) | (4, 8) | (5, 7) | (2, 7) | (5, 10) => 8,
        _ => 14,
    }
}

/// What a hand costs beyond 165 mm: 8 for each centimetre begun.
#[inline]
fn stretched(low: u8, high: u8) -> i32 {
    // An octave is 164.5 mm everywhere.
    if high - low <= 12 {
        return 0;
    }
    let middle = |key: u8| 490 * 1_645 * u32::from(key / 12) + MIDDLES[usize::from(key % 12)];
    let hundredths = (middle(high) - middle(low) + 24) / 49;
    8 * hundredths.saturating_sub(16_500).div_ceil(1_000) as i32
}
