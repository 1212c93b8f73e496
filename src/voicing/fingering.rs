//! Which fingers hold a chord most easily, and at what cost.

use smallvec::SmallVec;

use super::HandSize;
use super::finger_spans::{FingerSpans, published};
use super::named::text_by_name;

/// Which hand plays.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
pub enum Side {
    /// The left hand: its little finger lies lowest.
    Left,
    /// The right hand: its thumb lies lowest.
    Right,
}

/// A published table of how far pairs of fingers span, with the charges of the paper that it comes from.
///
/// # Example
///
/// ```
/// use overshell::voicing::{FingerTable, HandSize};
///
/// let table: FingerTable = "balliauw-2017".parse()?;
/// let thumb_and_little = table.spans(1, 5, HandSize::Medium).unwrap();
/// assert_eq!(thumb_and_little.largest_practical, 16); // half white keys: a ninth
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
pub enum FingerTable {
    /// Parncutt, Sloboda, Clarke, Raekallio & Desain, *Music Perception* 14 (1997), 341-382, as two independent
    /// transcriptions have it: in semitones, for one size of hands.
    ///
    /// Charges for each pair of fingers: 2 per semitone outside of what is comfortable, and 1 (with the thumb) or 2
    /// (without) per semitone outside of what is relaxed. Beyond what is practical the paper offers no fingering; here
    /// nothing more is charged. The table is meant for melodic fragments played legato, not for chords.
    Parncutt,
    /// Balliauw, Herremans, Palhazi Cuervo & Sörensen, *International Transactions in Operational Research* 24 (2017),
    /// 509-535, as a transcription of its model has it: in half white keys, with imaginary black keys at E-F and B-C,
    /// so that an octave is 14.
    ///
    /// Charges for each pair of fingers: 1 per unit outside of what is relaxed, 2 per unit outside of what is
    /// comfortable, 10 per unit outside of what is practical, added together; inside a chord the first two double. That
    /// the three are added is the transcriber's reading.
    Balliauw,
}

text_by_name!(FingerTable, "a table of finger spans", "tables");

impl FingerTable {
    /// The tables with their names in rule files.
    pub const NAMES: [(&'static str, Self); 2] =
        [("parncutt-1997", Self::Parncutt), ("balliauw-2017", Self::Balliauw)];

    /// What two fingers span, the one nearer to the thumb first (1 is the thumb); `None` for any other pair.
    ///
    /// Only thumb and little finger differ by the size of hands, and only in [`FingerTable::Balliauw`]: nothing more
    /// is published. A [measured hand](HandSize::Custom) spans as many half white keys of its keyboard as fit into its
    /// largest span, in comfort 2 less, relaxed 4 less and at most 12, which is how the three published rows run. The
    /// other pairs are those of the medium hand, but no pair spans more than thumb and little finger do; that limit is
    /// ours.
    ///
    /// ```
    /// use overshell::voicing::{FingerTable, HandSize};
    /// let table = FingerTable::Parncutt;
    /// assert_eq!(table.spans(1, 2, HandSize::Small).unwrap().smallest_practical, -5); // the second finger crosses
    /// assert_eq!(table.spans(2, 1, HandSize::Small), None);
    /// ```
    pub fn spans(self, nearer: u8, farther: u8, size: HandSize) -> Option<FingerSpans> {
        published(self, nearer, farther, size)
    }

    /// Where a key lies, in the units of the table.
    fn place(self, key: u8) -> i32 {
        match self {
            Self::Parncutt => i32::from(key),
            Self::Balliauw => {
                let within = i32::from(key % 12);
                // The imaginary black keys between E and F and between B and C.
                14 * i32::from(key / 12) + within + i32::from(within >= 5)
            }
        }
    }

    /// What two fingers cost that hold keys so many units apart within a chord.
    fn charge(self, spans: FingerSpans, thumb: bool, units: i32) -> u32 {
        let outside = |smallest: i32, largest: i32| {
            u32::try_from((smallest - units).max(units - largest).max(0)).unwrap_or_default()
        };
        let relaxed = outside(spans.smallest_relaxed, spans.largest_relaxed);
        let comfortable = outside(spans.smallest_comfortable, spans.largest_comfortable);
        match self {
            Self::Parncutt => 2 * comfortable + if thumb { relaxed } else { 2 * relaxed },
            Self::Balliauw => {
                let practical = outside(spans.smallest_practical, spans.largest_practical);
                2 * (relaxed + 2 * comfortable) + 10 * practical
            }
        }
    }
}

/// Fingers on the keys of a chord, and what they cost.
#[derive(Clone, Debug, Eq, PartialEq, Hash)]
pub struct Fingering {
    /// The finger for each key, from the lowest key up: 1 the thumb, 5 the little finger. They ascend in the right
    /// hand and descend in the left.
    pub fingers: SmallVec<[u8; 5]>,
    /// What the pairs of fingers cost together; 0 is at ease.
    pub points: u32,
}

/// The cheapest way to hold these keys (MIDI numbers, in any order) with one hand.
///
/// Every choice of fingers that does not cross is tried, at most ten; its cost is the sum over all pairs of fingers.
/// Of equals the one with the smaller fingers wins, compared from the thumb. A single note takes the thumb. `None`
/// where there is no key, more than five, or one key twice. Nothing is allocated.
///
/// Sources: see [`FingerTable`]. Summing over all pairs of a chord: Balliauw et al. 2017.
///
/// # Example
///
/// ```
/// use overshell::voicing::{FingerTable, HandSize, Side, cheapest_fingering};
///
/// let hold = |side, keys: &[u8]| cheapest_fingering(side, keys, FingerTable::Balliauw, HandSize::Medium);
/// let triad = hold(Side::Right, &[60, 64, 67]).unwrap(); // C4 E4 G4
/// assert_eq!((triad.fingers.as_slice(), triad.points), (&[1, 2, 4][..], 0));
/// let tenth = hold(Side::Left, &[48, 64]).unwrap(); // C3 E4
/// assert_eq!((tenth.fingers.as_slice(), tenth.points), (&[5, 1][..], 48));
/// assert_eq!(hold(Side::Left, &[]), None);
/// ```
pub fn cheapest_fingering(side: Side, keys: &[u8], table: FingerTable, size: HandSize) -> Option<Fingering> {
    let mut places: SmallVec<[i32; 5]> = SmallVec::new();
    for key in keys {
        // The left hand is the right hand in a mirror.
        let place = if side == Side::Left { -table.place(*key) } else { table.place(*key) };
        if places.len() == 5 || places.contains(&place) {
            return None;
        }
        places.push(place);
    }
    places.sort_unstable();
    let mut best: Option<Fingering> = None;
    for chosen in 1_u8..32 {
        if chosen.count_ones() as usize != places.len() {
            continue;
        }
        let fingers: SmallVec<[u8; 5]> = (1..=5).filter(|finger| chosen & (1 << (finger - 1)) != 0).collect();
        let points = points(&places, &fingers, table, size);
        let better = |best: &Fingering| (points, &fingers) < (best.points, &best.fingers);
        if best.as_ref().is_none_or(better) {
            best = Some(Fingering { fingers, points });
        }
    }
    if side == Side::Left {
        best.iter_mut().for_each(|best| best.fingers.reverse());
    }
    best
}

/// What the pairs of these fingers cost on keys at these places, both ascending.
fn points(places: &[i32], fingers: &[u8], table: FingerTable, size: HandSize) -> u32 {
    let held = || places.iter().zip(fingers);
    let pairs = held().enumerate().flat_map(|(at, low)| held().skip(at + 1).map(move |high| (low, high)));
    pairs
        .filter_map(|((low, nearer), (high, farther))| {
            let spans = table.spans(*nearer, *farther, size)?;
            Some(table.charge(spans, *nearer == 1, high - low))
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::voicing::HandSpan;
    use proptest::prelude::*;

    const SIDES: [Side; 2] = [Side::Left, Side::Right];

    fn sizes() -> Vec<HandSize> {
        let custom = |largest, octave| HandSize::Custom(HandSpan::new(largest, octave).unwrap());
        let mut sizes: Vec<HandSize> = HandSize::NAMES.iter().map(|(_, size)| *size).collect();
        sizes.extend([
            custom(1_000, 2_500),
            custom(1_750, 1_645),
            custom(2_050, 1_400),
            custom(3_500, 1_000),
        ]);
        sizes
    }

    /// What two fingers cost, unit by unit.
    fn slow_pair(table: FingerTable, size: HandSize, nearer: u8, farther: u8, low: u8, high: u8) -> u32 {
        let spans = table.spans(nearer, farther, size).unwrap();
        let apart = match table {
            FingerTable::Parncutt => i32::from(high - low),
            FingerTable::Balliauw => {
                // Walk the keys one by one; E-F and B-C are two units.
                (low..high).map(|key| if matches!(key % 12, 4 | 11) { 2 } else { 1 }).sum()
            }
        };
        // On the way out to where the other finger lies, and from there on.
        let wide = (1..=apart).map(|unit| {
            let beyond = |largest: i32| u32::from(unit > largest);
            [
                beyond(spans.largest_relaxed),
                beyond(spans.largest_comfortable),
                beyond(spans.largest_practical),
            ]
        });
        let narrow = (apart..60).map(|unit| {
            let short = |smallest: i32| u32::from(unit < smallest);
            [
                short(spans.smallest_relaxed),
                short(spans.smallest_comfortable),
                short(spans.smallest_practical),
            ]
        });
        wide.chain(narrow)
            .map(|[relaxed, comfortable, practical]| match (table, nearer) {
                (FingerTable::Parncutt, 1) => relaxed + 2 * comfortable,
                (FingerTable::Parncutt, _) => 2 * relaxed + 2 * comfortable,
                (FingerTable::Balliauw, _) => 2 * relaxed + 4 * comfortable + 10 * practical,
            })
            .sum()
    }

    /// Every assignment of fingers to ascending keys, refused where fingers cross; no mirror.
    fn slow(side: Side, keys: &[u8], table: FingerTable, size: HandSize) -> (u32, Vec<Vec<u8>>) {
        let mut best = (u32::MAX, Vec::new());
        for number in 0..5_u32.pow(keys.len() as u32) {
            let fingers: Vec<u8> =
                (0..keys.len()).map(|at| (number / 5_u32.pow(at as u32) % 5) as u8 + 1).collect();
            let crossed = fingers.windows(2).any(|pair| match side {
                Side::Right => pair[0] >= pair[1],
                Side::Left => pair[0] <= pair[1],
            });
            if crossed {
                continue;
            }
            let mut points = 0;
            for low in 0..keys.len() {
                for high in low + 1..keys.len() {
                    let (nearer, farther) =
                        (fingers[low].min(fingers[high]), fingers[low].max(fingers[high]));
                    points += slow_pair(table, size, nearer, farther, keys[low], keys[high]);
                }
            }
            if points < best.0 {
                best = (points, Vec::new());
            }
            if points == best.0 {
                best.1.push(fingers);
            }
        }
        best
    }

    fn agrees(side: Side, keys: &[u8], table: FingerTable, size: HandSize) {
        let found = cheapest_fingering(side, keys, table, size).unwrap();
        let (points, all) = slow(side, keys, table, size);
        assert_eq!(found.points, points, "{side:?} {keys:?} {table} {size}");
        let from_thumb = |fingers: &Vec<u8>| {
            let mut fingers = fingers.clone();
            fingers.sort_unstable();
            fingers
        };
        let smallest = all.iter().min_by_key(|fingers| from_thumb(fingers)).unwrap();
        assert_eq!(&found.fingers.to_vec(), smallest, "{side:?} {keys:?} {table} {size}");
    }

    /// All pairs and all threes within a twelfth, on all twelve keys of the octave.
    #[test]
    fn all_small_chords_against_the_slow_twin() {
        for size in sizes() {
            for (_, table) in FingerTable::NAMES {
                for side in SIDES {
                    for low in 48..60 {
                        agrees(side, &[low], table, size);
                        for middle in low + 1..=low + 19 {
                            agrees(side, &[low, middle], table, size);
                        }
                    }
                    for low in [48, 50, 53] {
                        for high in low + 2..=low + 16 {
                            (low + 1..high)
                                .for_each(|middle| agrees(side, &[low, middle, high], table, size));
                        }
                    }
                }
            }
        }
    }

    /// A hand of another size never pays less where it reaches less.
    #[test]
    fn all_larger_hands_pay_no_more() {
        for low in 48..60 {
            for high in low + 1..=low + 19 {
                for middle in low + 1..=high {
                    let keys: SmallVec<[u8; 3]> = if middle == high {
                        [low, high].into_iter().collect()
                    } else {
                        [low, middle, high].into_iter().collect()
                    };
                    let [small, medium, large] = HandSize::NAMES.map(|(_, size)| {
                        cheapest_fingering(Side::Right, &keys, FingerTable::Balliauw, size).unwrap().points
                    });
                    assert!(small >= medium && medium >= large, "{keys:?}");
                }
            }
        }
    }

    /// A measured hand that reaches what a named one reaches is that hand.
    #[test]
    fn all_named_sizes_are_measured_ones() {
        for ((_, named), largest) in HandSize::NAMES.into_iter().zip([1_645, 1_880, 2_115]) {
            let measured = HandSize::Custom(HandSpan::new(largest, 1_645).unwrap());
            for (_, table) in FingerTable::NAMES {
                for nearer in 1..=5 {
                    for farther in 1..=5 {
                        let spans = table.spans(nearer, farther, named);
                        assert_eq!(spans, table.spans(nearer, farther, measured));
                        assert_eq!(spans.is_some(), nearer < farther);
                    }
                }
            }
        }
    }

    #[test]
    fn err_no_fingering() {
        for (_, table) in FingerTable::NAMES {
            for side in SIDES {
                let hold = |keys: &[u8]| cheapest_fingering(side, keys, table, HandSize::Medium);
                assert_eq!(hold(&[]), None);
                assert_eq!(hold(&[60, 62, 64, 65, 67, 69]), None);
                assert_eq!(hold(&[60, 64, 60]), None);
                assert!(hold(&[60, 62, 64, 65, 67]).is_some());
                assert!(hold(&[0, 255]).is_some());
            }
        }
    }

    #[test]
    fn err_tables() {
        insta::assert_snapshot!("parncut-1997".parse::<FingerTable>().unwrap_err().report(), @"
        error: `parncut-1997` is not a table of finger spans
          parncut-1997
          ^^^^^^^^^^^^
        help: did you mean `parncutt-1997`? the tables are `parncutt-1997`, `balliauw-2017`
        ");
        for (name, table) in FingerTable::NAMES {
            assert_eq!(name.parse::<FingerTable>().unwrap(), table);
            assert_eq!(table.to_string(), name);
        }
    }

    proptest! {
        /// Never dearer than any other fingering, whatever the chord; the order of the keys does not matter.
        #[test]
        fn prop_cheapest_of_all(
            keys in prop::collection::btree_set(40_u8..64, 1..=5),
            size in prop::sample::select(sizes()),
            side in prop::sample::select(SIDES.to_vec()),
        ) {
            let keys: Vec<u8> = keys.into_iter().collect();
            let reversed: Vec<u8> = keys.iter().rev().copied().collect();
            for (_, table) in FingerTable::NAMES {
                agrees(side, &keys, table, size);
                let hold = |keys: &[u8]| cheapest_fingering(side, keys, table, size);
                prop_assert_eq!(hold(&keys), hold(&reversed));
                prop_assert!(!hold(&keys).unwrap().fingers.spilled());
            }
        }

        /// The left hand in the mirror, which turns the keyboard around D, is the right hand.
        #[test]
        fn prop_mirrored_hands_cost_the_same(
            keys in prop::collection::btree_set(40_u8..84, 1..=5),
            size in prop::sample::select(sizes()),
        ) {
            let keys: Vec<u8> = keys.into_iter().collect();
            let mirrored: Vec<u8> = keys.iter().map(|key| 124 - key).collect();
            for (_, table) in FingerTable::NAMES {
                let right = cheapest_fingering(Side::Right, &keys, table, size).unwrap();
                let mut left = cheapest_fingering(Side::Left, &mirrored, table, size).unwrap();
                left.fingers.reverse();
                prop_assert_eq!(left, right);
            }
        }
    }
}
