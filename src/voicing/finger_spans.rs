//! The published spans between pairs of fingers.

use super::{FingerTable, HandSize};

/// What two fingers span, in the units of their [`FingerTable`]: semitones or half white keys, from the finger nearer
/// to the thumb to the other. Negative where the thumb has passed under, or the other finger over it.
///
/// The names are those of the papers: practical, comfortable, relaxed.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
pub struct FingerSpans {
    /// The least that can be played.
    pub smallest_practical: i32,
    /// The least in comfort.
    pub smallest_comfortable: i32,
    /// The least with a relaxed hand.
    pub smallest_relaxed: i32,
    /// The most with a relaxed hand.
    pub largest_relaxed: i32,
    /// The most in comfort.
    pub largest_comfortable: i32,
    /// The most that can be played.
    pub largest_practical: i32,
}

impl FingerSpans {
    const fn new(smallest: [i32; 3], largest: [i32; 3]) -> Self {
        let [smallest_practical, smallest_comfortable, smallest_relaxed] = smallest;
        let [largest_relaxed, largest_comfortable, largest_practical] = largest;
        Self {
            smallest_practical,
            smallest_comfortable,
            smallest_relaxed,
            largest_relaxed,
            largest_comfortable,
            largest_practical,
        }
    }

    /// No wider than another pair; what is least stays no more than what is most.
    fn within(self, widest: Self) -> Self {
        let largest_relaxed = self.largest_relaxed.min(widest.largest_relaxed);
        let largest_comfortable = self.largest_comfortable.min(widest.largest_comfortable);
        let largest_practical = self.largest_practical.min(widest.largest_practical);
        Self {
            smallest_practical: self.smallest_practical.min(largest_practical),
            smallest_comfortable: self.smallest_comfortable.min(largest_comfortable),
            smallest_relaxed: self.smallest_relaxed.min(largest_relaxed),
            largest_relaxed,
            largest_comfortable,
            largest_practical,
        }
    }
}

/// A pair of fingers and what they span.
type Row = (u8, u8, FingerSpans);

const fn row(nearer: u8, farther: u8, smallest: [i32; 3], largest: [i32; 3]) -> Row {
    (nearer, farther, FingerSpans::new(smallest, largest))
}

/// Parncutt et al. 1997 in semitones, by two independent transcriptions (the fingering research code of D. Randolph;
/// notes of a later repository on counterpoint).
const PARNCUTT: [Row; 10] = [
    row(1, 2, [-5, -3, 1], [5, 8, 10]),
    row(1, 3, [-4, -2, 3], [7, 10, 12]),
    row(1, 4, [-3, -1, 5], [9, 12, 14]),
    row(1, 5, [-1, 1, 7], [FingerTable::PARNCUTT_RELAXED_READINGS[0], 13, 15]),
    row(2, 3, [1, 1, 1], [2, 3, 5]),
    row(2, 4, [1, 1, 3], [4, 5, 7]),
    row(2, 5, [2, 2, 5], [6, 8, 10]),
    row(3, 4, [1, 1, 1], [2, 2, 4]),
    row(3, 5, [1, 1, 3], [4, 5, 7]),
    row(4, 5, [1, 1, 1], [2, 3, 5]),
];

/// Balliauw et al. 2017 in half white keys, medium right hand, by a transcription of its model and two tables in code.
const BALLIAUW: [Row; 10] = [
    row(1, 2, [-8, -6, 1], [5, 8, 10]),
    row(1, 3, [-7, -5, 3], [9, 12, 14]),
    row(1, 4, [-5, -3, 5], [11, 13, 15]),
    row(1, 5, [-2, 0, 7], [12, 14, 16]),
    row(2, 3, [1, 1, 1], [2, 5, 7]),
    row(2, 4, [1, 1, 3], [4, 6, 8]),
    row(2, 5, [2, 2, 5], [6, 10, 12]),
    row(3, 4, [1, 1, 1], [2, 2, 4]),
    row(3, 5, [1, 1, 3], [4, 6, 8]),
    row(4, 5, [1, 1, 1], [2, 4, 6]),
];

/// Thumb and little finger of small and of large hands: one table in code only, a weak source.
const SMALL_THUMB_LITTLE: FingerSpans = FingerSpans::new([-2, 0, 7], [10, 12, 14]);
const LARGE_THUMB_LITTLE: FingerSpans = FingerSpans::new([-2, 0, 7], [12, 16, 18]);

impl FingerTable {
    /// The two readings of what thumb and little finger span at most with a relaxed hand, in semitones, after Parncutt
    /// et al. 1997: 10 in one transcription and 11 in the other. The first is the one that the table has; with the
    /// other, eleven semitones and more between these fingers would cost one point less.
    pub const PARNCUTT_RELAXED_READINGS: [i32; 2] = [10, 11];
}

/// What a table says of two fingers.
pub(super) fn published(table: FingerTable, nearer: u8, farther: u8, size: HandSize) -> Option<FingerSpans> {
    let rows = match table {
        FingerTable::Parncutt => &PARNCUTT,
        FingerTable::Balliauw => &BALLIAUW,
    };
    let (_, _, medium) = rows.iter().find(|(near, far, _)| (*near, *far) == (nearer, farther))?;
    let widest = match (table, size) {
        (FingerTable::Parncutt, _) | (_, HandSize::Medium) => return Some(*medium),
        (_, HandSize::Small) => SMALL_THUMB_LITTLE,
        (_, HandSize::Large) => LARGE_THUMB_LITTLE,
        (_, HandSize::Custom(span)) => {
            let half_keys = 14 * i32::from(span.largest()) / i32::from(span.octave());
            let relaxed = (half_keys - 4).min(12);
            let widest = FingerSpans::new([-2, 0, 7], [relaxed, half_keys - 2, half_keys]);
            widest.within(widest)
        }
    };
    Some(if (nearer, farther) == (1, 5) { widest } else { medium.within(widest) })
}
