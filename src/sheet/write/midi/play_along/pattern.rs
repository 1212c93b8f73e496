//! What a band plays in a bar, by metre.
//!
//! Source of every row: common practice, no source. The rows hold each other, see the tests: 4/4 is 2/4 twice, 5/4 is 3/4 and
//! 2/4, and the compound metres are the simple ones, swung.

use super::{BassLine, Drums, PlayAlong};
use crate::sheet::{Metre, TICKS_PER_QUARTER};

/// The unit of the table.
pub(super) const EIGHTH: u32 = TICKS_PER_QUARTER / 2;
/// How much later an off-beat eighth comes when it is swung: at two thirds of the beat (common practice, no source).
const SWUNG_BY: u32 = TICKS_PER_QUARTER / 6;

/// Keys of percussion (General MIDI, MIDI Association, RP-003) with their velocities, which are chosen by us.
pub(super) const SIDE_STICK: (u8, u8) = (37, 80);
pub(super) const SIDE_STICK_ON_ONE: (u8, u8) = (37, 104);
const CLOSED_HI_HAT: (u8, u8) = (42, 50);
const PEDAL_HI_HAT: (u8, u8) = (44, 60);
const RIDE: (u8, u8) = (51, 64);
const RIDE_BETWEEN: (u8, u8) = (51, 50);

/// The patterns of a metre. Places are eighths from the start of the bar.
struct Row {
    metre: (u8, u8),
    /// The beat that is felt and counted in.
    beat: u32,
    /// Whether odd eighths may be swung.
    swings: bool,
    /// The bass in two and in four.
    two: &'static [u32],
    four: &'static [u32],
    /// Where the guide tones are struck.
    comping: &'static [u32],
    /// The ride cymbal on the beats and between them, the foot on the hi-hat.
    ride: &'static [u32],
    between: &'static [u32],
    foot: &'static [u32],
}

#[rustfmt::skip]
const TABLE: [Row; 7] = [
    Row { metre: (4, 4), beat: 2, swings: true, two: &[0, 4], four: &[0, 2, 4, 6], comping: &[0, 3],
          ride: &[0, 2, 4, 6], between: &[3, 7], foot: &[2, 6] },
    Row { metre: (2, 2), beat: 4, swings: true, two: &[0, 4], four: &[0, 2, 4, 6], comping: &[0, 3],
          ride: &[0, 2, 4, 6], between: &[3, 7], foot: &[2, 6] },
    Row { metre: (3, 4), beat: 2, swings: true, two: &[0, 4], four: &[0, 2, 4], comping: &[0, 3],
          ride: &[0, 2, 4], between: &[3], foot: &[2] },
    Row { metre: (2, 4), beat: 2, swings: true, two: &[0, 2], four: &[0, 1, 2, 3], comping: &[0, 3],
          ride: &[0, 2], between: &[3], foot: &[2] },
    Row { metre: (5, 4), beat: 2, swings: true, two: &[0, 6], four: &[0, 2, 4, 6, 8], comping: &[0, 3, 6],
          ride: &[0, 2, 4, 6, 8], between: &[3, 9], foot: &[2, 8] },
    Row { metre: (6, 8), beat: 3, swings: false, two: &[0, 3], four: &[0, 2, 3, 5], comping: &[0, 5],
          ride: &[0, 3], between: &[5], foot: &[3] },
    Row { metre: (12, 8), beat: 3, swings: false, two: &[0, 6], four: &[0, 3, 6, 9], comping: &[0, 5],
          ride: &[0, 3, 6, 9], between: &[5, 11], foot: &[3, 9] },
];

/// The strokes of a bar, in ticks of the sheet from its start, in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Strokes {
    /// Of a full bar.
    pub(super) bar: u32,
    /// The beats that are counted in.
    pub(super) beats: Vec<u32>,
    pub(super) bass: Vec<u32>,
    pub(super) comping: Vec<u32>,
    /// With key and velocity.
    pub(super) drums: Vec<(u32, (u8, u8))>,
}

impl Strokes {
    /// What is played in a metre. One without a row has a stroke of the closed hi-hat on every beat; the bass in two plays on the
    /// first of them, in four on all.
    pub(super) fn of(metre: Metre, options: &PlayAlong) -> Self {
        let bar = metre.bar_ticks().max(1);
        let Some(row) = TABLE.iter().find(|row| row.metre == (metre.beats, metre.unit)) else {
            return Self::without_row(metre, bar, options);
        };
        let places = |eighths: &'static [u32]| {
            eighths.iter().map(|at| {
                let late = if options.swing && row.swings { at % 2 * SWUNG_BY } else { 0 };
                at * EIGHTH + late
            })
        };
        let beats = every(row.beat * EIGHTH, bar);
        let bass = match options.bass {
            BassLine::Silent => Vec::new(),
            BassLine::Two => places(row.two).collect(),
            BassLine::Four => places(row.four).collect(),
        };
        let voices = [(row.ride, RIDE), (row.between, RIDE_BETWEEN), (row.foot, PEDAL_HI_HAT)];
        let mut drums: Vec<(u32, (u8, u8))> = match options.drums {
            Drums::Silent => Vec::new(),
            Drums::Beats => beats.iter().map(|at| (*at, CLOSED_HI_HAT)).collect(),
            Drums::RideAndHiHat => voices
                .into_iter()
                .flat_map(|(eighths, sound)| places(eighths).map(move |at| (at, sound)))
                .collect(),
        };
        drums.sort_unstable();
        Self { bar, beats, bass, comping: places(row.comping).collect(), drums }
    }

    fn without_row(metre: Metre, bar: u32, options: &PlayAlong) -> Self {
        let compound = metre.unit >= 8 && metre.beats.is_multiple_of(3);
        let beats = every(metre.beat_ticks() * if compound { 3 } else { 1 }, bar);
        let bass = match options.bass {
            BassLine::Silent => Vec::new(),
            BassLine::Two => vec![0],
            BassLine::Four => beats.clone(),
        };
        let drums = match options.drums {
            Drums::Silent => Vec::new(),
            Drums::Beats | Drums::RideAndHiHat => beats.iter().map(|at| (*at, CLOSED_HI_HAT)).collect(),
        };
        Self { bar, beats, bass, comping: vec![0], drums }
    }

    /// How many there are.
    pub(super) fn count(&self) -> usize {
        self.bass.len() + 2 * self.comping.len() + self.drums.len()
    }
}

fn every(beat: u32, bar: u32) -> Vec<u32> {
    (0..bar).step_by(usize::try_from(beat.max(1)).unwrap_or(1)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(beats: u8, unit: u8) -> &'static Row {
        TABLE.iter().find(|row| row.metre == (beats, unit)).unwrap()
    }

    /// The drums of a row.
    fn drums(row: &Row) -> [Vec<u32>; 3] {
        [row.ride, row.between, row.foot].map(<[u32]>::to_vec)
    }

    /// One bar behind another of so many eighths.
    fn joined(one: &Row, eighths: u32, other: &Row) -> [Vec<u32>; 3] {
        let [a, b, c] = drums(one);
        let [x, y, z] =
            drums(other).map(|voice| voice.into_iter().map(|at| at + eighths).collect::<Vec<_>>());
        [[a, x].concat(), [b, y].concat(), [c, z].concat()]
    }

    #[test]
    fn all_rows_are_in_order_within_their_bar_and_start_with_the_bass() {
        for row in &TABLE {
            let metre = Metre { beats: row.metre.0, unit: row.metre.1 };
            assert_eq!(metre.bar_ticks() % (row.beat * EIGHTH), 0);
            for voice in [row.two, row.four, row.comping, row.ride, row.between, row.foot] {
                assert!(voice.is_sorted_by(|a, b| a < b) && !voice.is_empty(), "{:?}", row.metre);
                assert!(voice.iter().all(|at| at * EIGHTH < metre.bar_ticks()), "{:?}", row.metre);
            }
            assert_eq!((row.two[0], row.four[0], row.ride[0]), (0, 0, 0));
            assert!(row.two.len() <= row.four.len() && row.two.len() == 2);
            assert!(row.between.iter().all(|at| !row.ride.contains(at)));
            // A swung eighth is one that no beat stands on.
            assert!(!row.swings || row.ride.iter().chain(row.foot).all(|at| at % 2 == 0));
        }
    }

    #[test]
    fn all_drums_of_long_metres_are_those_of_short_ones() {
        assert_eq!(drums(row(4, 4)), joined(row(2, 4), 4, row(2, 4)));
        assert_eq!(drums(row(5, 4)), joined(row(3, 4), 6, row(2, 4)));
        assert_eq!(drums(row(12, 8)), joined(row(6, 8), 6, row(6, 8)));
        assert_eq!(drums(row(2, 2)), drums(row(4, 4)));
    }

    /// In both, the beat is in three and the off-beat is its last third.
    #[test]
    fn all_compound_metres_are_the_simple_ones_swung() {
        for (simple, compound) in [((2, 4), (6, 8)), ((4, 4), (12, 8))] {
            let options = PlayAlong { swing: true, ..PlayAlong::default() };
            let [simple, compound] =
                [simple, compound].map(|(beats, unit)| Strokes::of(Metre { beats, unit }, &options));
            let stretched = |at: u32| at / 2 * 3;
            let ride: Vec<_> = simple.drums.iter().map(|(at, sound)| (stretched(*at), *sound)).collect();
            assert_eq!(ride, compound.drums);
            assert_eq!(simple.comping.iter().map(|at| stretched(*at)).collect::<Vec<_>>(), compound.comping);
            assert_eq!(simple.beats.len(), compound.beats.len());
        }
    }

    #[test]
    fn ok_swing_moves_off_beats_alone() {
        let [even, swung] = [false, true]
            .map(|swing| Strokes::of(Metre::COMMON, &PlayAlong { swing, ..PlayAlong::default() }));
        assert_eq!((&even.beats, &even.bass), (&swung.beats, &swung.bass));
        let moved = |(a, b): (&(u32, _), &(u32, _))| (a.0 != b.0).then_some((a.0, b.0));
        let moved: Vec<_> = even.drums.iter().zip(&swung.drums).filter_map(moved).collect();
        // Quarters 1½ and 3½ to 1⅔ and 3⅔.
        assert_eq!(moved, [(15_120, 16_800), (35_280, 36_960)]);
        assert_eq!(swung.comping, [0, 16_800]);
    }

    #[test]
    fn all_metres_have_a_stroke_on_one_and_no_more_than_the_table_says() {
        for (beats, unit) in itertools::iproduct!(1..=255u8, [1u8, 2, 4, 8, 16, 32]) {
            let metre = Metre { beats, unit };
            for drums in [Drums::Beats, Drums::RideAndHiHat] {
                let options = PlayAlong { drums, bass: BassLine::Four, ..PlayAlong::default() };
                let strokes = Strokes::of(metre, &options);
                assert_eq!((strokes.beats[0], strokes.bass[0], strokes.drums[0].0), (0, 0, 0));
                assert!(strokes.drums.is_sorted() && strokes.drums.iter().all(|(at, _)| *at < strokes.bar));
                assert!(strokes.beats.len() <= usize::from(beats) && strokes.bar == metre.bar_ticks());
                let known = TABLE.iter().any(|row| row.metre == (beats, unit));
                assert!(known || strokes.beats.len() == strokes.drums.len());
            }
        }
        let silent = PlayAlong { drums: Drums::Silent, bass: BassLine::Silent, ..PlayAlong::default() };
        for metre in [Metre::COMMON, Metre { beats: 7, unit: 8 }] {
            let strokes = Strokes::of(metre, &silent);
            assert!(strokes.bass.is_empty() && strokes.drums.is_empty() && !strokes.comping.is_empty());
        }
    }
}
