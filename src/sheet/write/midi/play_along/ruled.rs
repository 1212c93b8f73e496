//! The bars of a tune with the patterns laid over them.

use std::ops::Range;
use std::rc::Rc;

use super::PlayAlong;
use super::pattern::{EIGHTH, Strokes};
use crate::sheet::LeadSheet;

/// A bar with its pattern.
#[derive(Clone, Debug)]
pub(super) struct Ruled {
    pub(super) start: u32,
    pub(super) end: u32,
    /// How far into the pattern the bar begins: a pick-up ends where a full bar would, and the second part of a bar that a sign
    /// divides goes on where the first part stopped.
    pub(super) phase: u32,
    pub(super) strokes: Rc<Strokes>,
}

impl Ruled {
    /// The places of a pattern that fall into the bar and `within`, in ticks from the start of the sheet, and what stands there; over
    /// again where the bar is longer than its metre. Linear in the turns of the pattern that `within` touches.
    pub(super) fn laid<'a, T: Copy>(
        &'a self,
        pattern: &'a [T],
        place: fn(T) -> u32,
        within: &Range<u32>,
    ) -> impl Iterator<Item = (u32, T)> + use<'a, T> {
        let (start, phase) = (u64::from(self.start), u64::from(self.phase));
        let (from, to) = (u64::from(self.start.max(within.start)), u64::from(self.end.min(within.end)));
        let bar = u64::from(self.strokes.bar.max(1));
        let turn_of = |at: u64| (at.saturating_sub(start) + phase) / bar;
        let turns = if from < to { turn_of(from)..turn_of(to) + 1 } else { 0..0 };
        turns.flat_map(move |turn| {
            pattern.iter().filter_map(move |item| {
                let at = (start + turn * bar + u64::from(place(*item))).checked_sub(phase)?;
                (from..to).contains(&at).then_some((u32::try_from(at).ok()?, *item))
            })
        })
    }

    /// At most so many strokes fall into the bar.
    pub(super) fn most(&self) -> u64 {
        let bar = u64::from(self.strokes.bar.max(1));
        let turns = (u64::from(self.end.saturating_sub(self.start)) + u64::from(self.phase)).div_ceil(bar);
        turns.saturating_mul(u64::try_from(self.strokes.count()).unwrap_or(u64::MAX))
    }
}

/// Lays the patterns over a sheet.
pub(super) fn ruled(sheet: &LeadSheet, options: &PlayAlong) -> Vec<Ruled> {
    let mut ruled: Vec<Ruled> = Vec::with_capacity(sheet.bars.len());
    let mut known: Option<(crate::sheet::Metre, Rc<Strokes>)> = None;
    // Where in its metre the bar before stopped, if it was cut short.
    let mut open = None;
    for (index, bar) in sheet.bars.iter().enumerate() {
        let strokes = match &known {
            Some((metre, strokes)) if *metre == bar.metre => Rc::clone(strokes),
            _ => {
                open = None;
                let strokes = Rc::new(Strokes::of(bar.metre, options));
                known = Some((bar.metre, Rc::clone(&strokes)));
                strokes
            }
        };
        let full = strokes.bar;
        let phase = match open {
            _ if index == 0 => full.saturating_sub(bar.length),
            Some(before) if bar.length <= full - before => before,
            _ => 0,
        };
        open = phase.checked_add(bar.length).filter(|at| *at < full);
        ruled.push(Ruled { start: bar.start, end: bar.end(), phase, strokes });
    }
    ruled
}

/// A stroke that would sound no longer is left out: a thirty-second (common practice, no source).
const SHORTEST: u32 = EIGHTH / 4;

/// The strokes of a chord, bar by bar: where it starts, and where the pattern has strokes while it sounds, those apart that come so
/// soon behind its start that they would be heard as the same, or so shortly before its end that they would run into the next.
pub(super) fn strokes_of_chord(
    bars: &[Ruled],
    chord: Range<u32>,
    pattern: fn(&Strokes) -> &[u32],
) -> Vec<Vec<u32>> {
    let first = bars.partition_point(|bar| bar.end <= chord.start);
    let sounding = bars.iter().skip(first).take_while(|bar| bar.start < chord.end);
    let (soon, until) = (chord.start.saturating_add(EIGHTH), chord.end.saturating_sub(SHORTEST));
    let strokes = sounding.map(|bar| {
        let begins = (bar.start..bar.end).contains(&chord.start).then_some(chord.start);
        let laid = bar.laid(pattern(&bar.strokes), |at| at, &(soon..until)).map(|(at, _)| at);
        begins.into_iter().chain(laid).collect::<Vec<u32>>()
    });
    strokes.filter(|strokes| !strokes.is_empty()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::{ReadOptions, TICKS_PER_QUARTER as QUARTER, read};
    use proptest::prelude::*;

    proptest! {
        /// The slow twin turns the pattern from the start and asks of every tick.
        #[test]
        fn prop_a_pattern_is_laid_over_and_over(
            (start, length, phase) in (0u32..20, 1u32..60, 0u32..12),
            pattern in proptest::collection::btree_set(0u32..12, 0..6),
            (from, span) in (0u32..90, 0u32..90),
        ) {
            let strokes = Rc::new(Strokes { bar: 12, beats: vec![], bass: vec![], comping: vec![], drums: vec![] });
            let bar = Ruled { start, end: start + length, phase, strokes };
            let pattern: Vec<u32> = pattern.into_iter().collect();
            let within = from..from + span;
            let laid: Vec<u32> = bar.laid(&pattern, |at| at, &within).map(|(at, _)| at).collect();
            let ticks = (start..start + length).filter(|at| within.contains(at));
            let twin: Vec<u32> = ticks.filter(|at| pattern.contains(&((at - start + phase) % 12))).collect();
            prop_assert_eq!(laid, twin);
        }
    }

    /// A tune in ABC.
    fn rule(abc: &str) -> Vec<Ruled> {
        let sheet = read(abc.as_bytes(), &ReadOptions::default()).unwrap().sheet;
        ruled(&sheet, &PlayAlong::default())
    }

    #[test]
    fn ok_a_pick_up_ends_like_a_full_bar_and_a_divided_bar_goes_on() {
        let bars = rule("X:1\nM:4/4\nL:1/4\nK:C\nc|c4|c3||c|c4|\n");
        let phases: Vec<u32> = bars.iter().map(|bar| bar.phase / QUARTER).collect();
        assert_eq!(phases, [3, 0, 0, 3, 0]);
    }

    #[test]
    fn ok_strokes_of_a_chord() {
        let bars = rule("X:1\nM:4/4\nL:1/4\nK:C\nc4|c4|\n");
        let four: fn(&Strokes) -> &[u32] = |strokes| &strokes.beats;
        let eighths = |chord: Range<u32>| -> Vec<Vec<u32>> {
            let strokes = strokes_of_chord(&bars, chord.start * EIGHTH..chord.end * EIGHTH, four);
            strokes.into_iter().map(|bar| bar.into_iter().map(|at| at / EIGHTH).collect()).collect()
        };
        assert_eq!(eighths(0..16), [vec![0, 2, 4, 6], vec![8, 10, 12, 14]]);
        assert_eq!(eighths(3..6), [vec![3, 4]]);
        assert_eq!(eighths(7..9), [vec![7], vec![8]]);
        assert!(eighths(16..16).is_empty());
        // A third of an eighth before the beat.
        let late = EIGHTH * 4 - EIGHTH / 3;
        assert_eq!(strokes_of_chord(&bars, late..8 * EIGHTH, four), [[late, 6 * EIGHTH]]);
    }
}
