//! Notes that belong together to the eye: tuplets and beams.

use super::line::Written;
use crate::sheet::{Bar, NoteValue};

/// Marks where tuplets start and stop: a tuplet is full when its length is a whole number of times its normal notes.
pub(super) fn mark_tuplets(line: &mut [Written]) {
    let mut open: Option<((u8, u8), u32, u32)> = None; // ratio, smallest head so far, sum of lengths
    let mut previous: Option<usize> = None;
    for index in 0..line.len() {
        let tuplet = line.get(index).and_then(|w| w.value).filter(|value| value.tuplet != (1, 1));
        let ratio = tuplet.map(|value| value.tuplet);
        if open.is_some_and(|(now, ..)| ratio != Some(now)) {
            close(line, previous);
            open = None;
        }
        if let (Some(value), Some(written)) = (tuplet, line.get_mut(index)) {
            let head = value.head_ticks();
            let (smallest, sum) = match open {
                Some((_, smallest, sum)) => (smallest.min(head), sum.saturating_add(written.duration)),
                None => {
                    written.tuplet_starts = true;
                    (head, written.duration)
                }
            };
            let full = smallest.saturating_mul(u32::from(value.tuplet.1));
            if full > 0 && sum % full == 0 {
                written.tuplet_stops = true;
                open = None;
            } else {
                open = Some((value.tuplet, smallest, sum));
            }
        }
        previous = Some(index);
    }
    if open.is_some() {
        close(line, previous);
    }
}

fn close(line: &mut [Written], index: Option<usize>) {
    if let Some(written) = index.and_then(|index| line.get_mut(index)) {
        written.tuplet_stops = true;
    }
}

/// Beams that a value has: one for an eighth, two for a sixteenth.
fn flags(written: &Written) -> usize {
    match (written.pitches.is_empty(), written.value) {
        (false, Some(NoteValue { unit, .. })) if unit >= 8 => (unit / 4).ilog2().try_into().unwrap_or(0),
        _ => 0,
    }
}

/// Marks beams within the beats of a bar; three beats of an eighth or less make one beat of a compound metre.
///
/// `missing` is what lacks at the start of a pick-up bar, in ticks.
pub(super) fn mark_beams(line: &mut [Written], bar: &Bar, missing: u32) {
    let compound = bar.metre.unit >= 8 && bar.metre.beats.is_multiple_of(3);
    let beat = bar.metre.beat_ticks() * if compound { 3 } else { 1 };
    let key = |written: &Written| (flags(written) > 0).then(|| (written.start + missing) / beat.max(1));
    for group in line.chunk_by_mut(|a, b| key(a).is_some() && key(a) == key(b)) {
        let all: Vec<usize> = group.iter().map(flags).collect();
        let count = group.len();
        if count < 2 {
            continue;
        }
        for (index, written) in group.iter_mut().enumerate() {
            let own = all.get(index).copied().unwrap_or(0);
            let before = index.checked_sub(1).and_then(|i| all.get(i)).copied().unwrap_or(0);
            let behind = all.get(index + 1).copied().unwrap_or(0);
            written.beams = (1..=own)
                .map(|level| match (before >= level, behind >= level) {
                    (true, true) => "continue",
                    (true, false) => "end",
                    (false, true) => "begin",
                    (false, false) if index == 0 => "forward hook",
                    (false, false) => "backward hook",
                })
                .collect();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::Key;
    use crate::pitch::pitch;
    use crate::sheet::{Barline, Metre};

    fn line(values: &[(u8, u8, (u8, u8))]) -> Vec<Written> {
        let mut start = 0;
        values
            .iter()
            .map(|(unit, dots, tuplet)| {
                let value = NoteValue { unit: *unit, dots: *dots, tuplet: *tuplet };
                let duration = value.ticks().unwrap();
                start += duration;
                let pitches = vec![pitch("C5")];
                Written {
                    start: start - duration,
                    duration,
                    pitches,
                    value: Some(value),
                    ..Written::default()
                }
            })
            .collect()
    }

    fn bar(beats: u8, unit: u8) -> Bar {
        let metre = Metre { beats, unit };
        let none = Barline::default();
        Bar {
            number: "1".into(),
            implicit: false,
            start: 0,
            length: metre.bar_ticks(),
            metre,
            key: Key::C_MAJOR,
            left: none.clone(),
            right: none,
            road: Default::default(),
        }
    }

    #[test]
    fn ok_tuplets() {
        let three = (3, 2);
        let mut notes = line(&[
            (8, 0, three),
            (8, 0, three),
            (8, 0, three),
            (4, 0, three),
            (8, 0, three),
            (4, 0, (1, 1)),
            (4, 0, three),
        ]);
        mark_tuplets(&mut notes);
        let marks: Vec<_> = notes.iter().map(|w| (w.tuplet_starts, w.tuplet_stops)).collect();
        let (start, stop, none, both) = ((true, false), (false, true), (false, false), (true, true));
        assert_eq!(marks, [start, none, stop, start, stop, none, both]);
    }

    #[test]
    fn ok_beams() {
        let plain = (1, 1);
        let mut notes = line(&[
            (8, 1, plain),
            (16, 0, plain),
            (8, 0, plain),
            (8, 0, plain),
            (4, 0, plain),
            (8, 0, plain),
        ]);
        mark_beams(&mut notes, &bar(4, 4), 0);
        let beams: Vec<_> = notes.iter().map(|w| w.beams.join(" ")).collect();
        assert_eq!(beams, ["begin", "end backward hook", "begin", "end", "", ""]);
        let mut notes = line(&[(8, 0, plain); 6]);
        mark_beams(&mut notes, &bar(6, 8), 0);
        let beams: Vec<_> = notes.iter().map(|w| w.beams.join(" ")).collect();
        assert_eq!(beams, ["begin", "continue", "end", "begin", "continue", "end"]);
    }
}
