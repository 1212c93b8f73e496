//! The drums: the count-in, then the pattern of each bar.

use super::pattern::{EIGHTH, SIDE_STICK, SIDE_STICK_ON_ONE};
use super::ruled::Ruled;
use crate::sheet::write::midi::conductor::Course;
use crate::sheet::write::midi::struck::{Struck, ticks};

/// A stroke lasts a thirty-second note, or until its bar ends: percussion does not hear when it is let go.
const LENGTH: u32 = EIGHTH / 4;

/// Whether a tune starts with a short bar.
fn has_pick_up(bars: &[Ruled]) -> bool {
    bars.first().is_some_and(|bar| bar.phase > 0)
}

/// How long the count-in takes, in ticks of the sheet: so many full bars of the first metre, and what a pick-up lacks of a full
/// bar. Without bars to count in there is none of either.
pub(super) fn count_in(bars: &[Ruled], count: u8) -> u32 {
    let Some(first) = bars.first().filter(|_| count > 0) else { return 0 };
    first.strokes.bar.saturating_mul(u32::from(count)).saturating_add(first.phase)
}

/// The drums of the whole file, in order. A pick-up is counted through, where there is a count-in; where the tune comes round to
/// it again, the drums go on.
pub(super) fn drums(bars: &[Ruled], count: u8, course: Course) -> Vec<Struck> {
    let mut notes = clicks(bars, count);
    for (pass, start) in course.starts().enumerate() {
        let waits = pass == 0 && has_pick_up(bars);
        let laid = bars.iter().skip(usize::from(waits)).flat_map(|bar| {
            bar.laid(&bar.strokes.drums, |(at, _)| at, &(0..u32::MAX)).map(|(at, (_, (key, velocity)))| {
                Struck::new(at, at.saturating_add(LENGTH).min(bar.end), key, velocity)
            })
        });
        notes.extend(laid.map(|note| note.later(start)));
    }
    notes
}

/// One click a beat, the first of each bar louder.
fn clicks(bars: &[Ruled], count: u8) -> Vec<Struck> {
    let Some(first) = bars.first().filter(|_| count > 0) else { return Vec::new() };
    let full = first.strokes.bar;
    let pick_up = if has_pick_up(bars) { 1 } else { 0 };
    (0..u32::from(count) + pick_up)
        .flat_map(|bar| {
            first.strokes.beats.iter().map(move |beat| {
                let at = full.saturating_mul(bar).saturating_add(*beat);
                let (key, velocity) = if *beat == 0 { SIDE_STICK_ON_ONE } else { SIDE_STICK };
                Struck { end: ticks(at.saturating_add(LENGTH)), ..Struck::new(at, at, key, velocity) }
            })
        })
        .collect()
}
