//! The numbers of bars whose source does not number them.

use super::barline::divides;
use crate::sheet::read::raw::RawBar;

/// Numbers bars from 1. A short first bar is a pick-up and has the number 0; a bar that makes a short one before it full, with
/// a sign between them, is the second part of that bar (`8b`). Neither counts. Common practice, no source, but for the
/// pick-up: MusicXML 4.0, `measure`, attribute `implicit`.
pub(super) fn number(bars: &mut [RawBar]) {
    let mut count = 0u32;
    let many = bars.len() > 1;
    // Ticks that are missing from the bar before, where that is no part of another.
    let mut missing = 0;
    for index in 0..bars.len() {
        let is_divided = index > 0 && divides(bars.get(index - 1), bars.get(index));
        let Some(bar) = bars.get_mut(index) else { return };
        let full = bar.metre.bar_ticks();
        let length = if bar.length == 0 { full } else { bar.length };
        if index == 0 && many && length < full {
            (bar.number, bar.implicit) = ("0".into(), true);
        } else if is_divided && missing > 0 && length == missing {
            (bar.number, bar.implicit) = (format!("{count}b"), true);
            missing = 0;
        } else {
            count += 1;
            bar.number = count.to_string();
            missing = full.saturating_sub(length);
        }
    }
}
