//! The signs of each bar, wherever on its barlines they stand.

use crate::sheet::{Bar, Barline, EndingEdge, Repeat, Road};

/// The signs that begin or end at a bar.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Signs {
    /// `|:` in front of it.
    pub(super) forward: bool,
    /// `:|` behind it.
    pub(super) backward: bool,
    /// Whether `:|` counts after a jump too.
    pub(super) after_jump: bool,
    /// The numbers of an ending that starts with it.
    pub(super) starts: Option<String>,
    /// Whether the bracket of an ending stops with it.
    pub(super) stops: bool,
}

/// The signs of all bars. What would end in front of the first bar, or begin behind the last, is not kept.
pub(super) fn of_bars(bars: &[Bar]) -> Vec<Signs> {
    let mut signs = vec![Signs::default(); bars.len() + 1];
    for (index, bar) in bars.iter().enumerate() {
        // An edge is the end of the bar in front of it and the start of the one behind it.
        for (line, in_front, behind) in
            [(&bar.left, index.checked_sub(1), index), (&bar.right, Some(index), index + 1)]
        {
            if let Some(ended) = in_front.and_then(|in_front| signs.get_mut(in_front)) {
                ended.backward |= line.repeat == Some(Repeat::Backward);
                ended.after_jump |= line.after_jump;
                ended.stops |= line.ending.as_ref().is_some_and(|ending| ending.edge != EndingEdge::Start);
            }
            if let Some(begun) = signs.get_mut(behind) {
                begun.forward |= line.repeat == Some(Repeat::Forward);
                if let Some(ending) = line.ending.as_ref().filter(|e| e.edge == EndingEdge::Start) {
                    begun.starts = Some(ending.numbers.clone());
                }
            }
        }
    }
    signs.truncate(bars.len());
    signs
}

/// Takes all signs and marks away, and with a repeat sign the style that draws it; says whether there were any.
pub(super) fn take_away(bars: &mut [Bar]) -> bool {
    let mut any = false;
    for line in bars.iter_mut().flat_map(|bar| [&mut bar.left, &mut bar.right]) {
        any |= line.repeat.is_some() || line.ending.is_some();
        if line.repeat.is_some() {
            *line = Barline::default();
        }
        line.after_jump = false;
        line.ending = None;
    }
    for road in bars.iter_mut().map(|bar| &mut bar.road) {
        any |= !road.is_empty();
        *road = Road::default();
    }
    any
}
