//! Lengths in ticks and the printed values that mean them.

use super::{NoteValue, TICKS_PER_QUARTER};

/// The smallest printed value that is written, as a part of a whole note.
const SMALLEST: u8 = 64;

/// The heads with their names in MusicXML (`note-type-value`).
const HEADS: [(u8, &str); 7] =
    [(1, "whole"), (2, "half"), (4, "quarter"), (8, "eighth"), (16, "16th"), (32, "32nd"), (64, "64th")];

/// The head of a note type as a part of a whole note: 4 for `quarter`.
pub(super) fn unit_of(name: &str) -> Option<u8> {
    HEADS.iter().find(|(_, known)| *known == name).map(|(unit, _)| *unit)
}

/// The name of a head; `None` where MusicXML has none.
pub(super) fn name_of(unit: u8) -> Option<&'static str> {
    HEADS.iter().find(|(known, _)| *known == unit).map(|(_, name)| *name)
}

impl NoteValue {
    /// Ticks of the head alone, without dots or tuplet.
    pub(crate) fn head_ticks(self) -> u32 {
        4 * TICKS_PER_QUARTER / u32::from(self.unit.max(1))
    }

    /// Ticks that the value lasts; `None` where that is no whole number.
    pub(crate) fn ticks(self) -> Option<u32> {
        let dotted = u32::from(self.dots.min(3));
        let numerator = u64::from(self.head_ticks())
            .checked_mul((2u64 << dotted) - 1)?
            .checked_mul(u64::from(self.tuplet.1))?;
        let denominator = (1u64 << dotted).checked_mul(u64::from(self.tuplet.0))?;
        if denominator == 0 || numerator % denominator != 0 {
            return None;
        }
        u32::try_from(numerator / denominator).ok().filter(|ticks| *ticks > 0)
    }

    /// The single value that lasts exactly so long: plain, dotted, double-dotted or in a triplet; `None` where there
    /// is none.
    pub(crate) fn of_ticks(ticks: u32) -> Option<Self> {
        candidates().find(|value| value.ticks() == Some(ticks))
    }

    /// The longest plain or dotted value that fits; `None` where not even the smallest does.
    pub(crate) fn longest_within(ticks: u32) -> Option<(Self, u32)> {
        candidates()
            .filter(|value| value.tuplet == (1, 1) && value.dots < 2)
            .filter_map(|value| Some((value, value.ticks()?)))
            .filter(|(_, length)| *length <= ticks)
            .max_by_key(|(_, length)| *length)
    }
}

/// All values that lengths are turned into, in order of preference.
fn candidates() -> impl Iterator<Item = NoteValue> {
    let units =
        || std::iter::successors(Some(1u8), |unit| unit.checked_mul(2)).take_while(|u| *u <= SMALLEST);
    [(0, (1, 1)), (1, (1, 1)), (0, (3, 2)), (2, (1, 1))]
        .into_iter()
        .flat_map(move |(dots, tuplet)| units().map(move |unit| NoteValue { unit, dots, tuplet }))
}

/// Cuts a length that starts at `from` (ticks into the bar) into printable pieces: first up to the next beat, then
/// the longest values that fit. A piece without a value is a length that no single note prints.
pub(super) fn pieces(from: u32, length: u32, beat: u32) -> Vec<(u32, Option<NoteValue>)> {
    let mut pieces = Vec::new();
    let (mut at, mut left) = (from, length);
    while left > 0 {
        let into_beat = if beat == 0 { 0 } else { at % beat };
        let within_beat = if into_beat == 0 { left } else { left.min(beat - into_beat) };
        let piece = if let Some(value) = NoteValue::of_ticks(within_beat) {
            (within_beat, Some(value))
        } else if into_beat == 0 && within_beat > beat {
            match NoteValue::longest_within(within_beat) {
                Some((value, ticks)) if ticks >= beat => (ticks, Some(value)),
                _ => (beat.min(within_beat), NoteValue::of_ticks(beat.min(within_beat))),
            }
        } else {
            (within_beat, None)
        };
        pieces.push(piece);
        at += piece.0;
        left -= piece.0;
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_values_roundtrip() {
        let mut count = 0;
        for value in candidates() {
            if let Some(ticks) = value.ticks() {
                assert_eq!(NoteValue::of_ticks(ticks).and_then(NoteValue::ticks), Some(ticks), "{value:?}");
                count += 1;
            }
        }
        assert!(count >= 20, "{count}");
    }

    #[test]
    fn ok_known_lengths() {
        let quarter = TICKS_PER_QUARTER;
        for (ticks, unit, dots, tuplet) in [
            (quarter, 4, 0, (1, 1)),
            (3 * quarter, 2, 1, (1, 1)),
            (quarter / 3, 8, 0, (3, 2)),
            (7 * quarter, 1, 2, (1, 1)),
            (quarter / 4, 16, 0, (1, 1)),
        ] {
            assert_eq!(NoteValue::of_ticks(ticks), Some(NoteValue { unit, dots, tuplet }), "{ticks}");
        }
        assert_eq!(NoteValue::of_ticks(5 * quarter), None);
        assert_eq!(NoteValue { unit: 4, dots: 0, tuplet: (0, 1) }.ticks(), None);
    }

    #[test]
    fn ok_pieces_fill_the_length_and_meet_the_beat() {
        let quarter = TICKS_PER_QUARTER;
        for from in (0..4 * quarter).step_by(usize::try_from(quarter / 6).unwrap()) {
            for length in
                [1, quarter / 3, quarter / 2, quarter, 5 * quarter / 2, 5 * quarter, 9 * quarter + 7]
            {
                let found = pieces(from, length, quarter);
                assert_eq!(found.iter().map(|p| p.0).sum::<u32>(), length);
                assert!(found.iter().all(|(ticks, value)| value.is_none_or(|v| v.ticks() == Some(*ticks))));
            }
        }
        let half = NoteValue { unit: 2, dots: 1, tuplet: (1, 1) };
        let expected = vec![
            (quarter / 2, Some(NoteValue { unit: 8, dots: 0, tuplet: (1, 1) })),
            (3 * quarter, Some(half)),
        ];
        assert_eq!(pieces(quarter / 2, 7 * quarter / 2, quarter), expected);
    }
}
