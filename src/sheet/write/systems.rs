//! Where the lines of a page begin: as many bars as have room, four at most, so that no program has to squeeze them.

use super::line::Written;

/// What fits on a line of A4 or Letter with staves of 7 mm, in melody notes: four bars of eight, three of twelve, two of
/// sixteen.
const LINE: usize = 36;
const BARS: usize = 4;
/// A bar is at least as wide as that, and as that for each chord with what stands below it.
const BAR: usize = 8;
const CHORD: usize = 4;

/// The width of a bar, in melody notes.
pub(super) fn width(melody: &[Written], chords: usize) -> usize {
    BAR.max(melody.len()).max(CHORD.saturating_mul(chords))
}

/// For each bar whether a line begins there. A pick-up has no width and goes with the bar behind it; a line begins at each bar of
/// `forced`, which ascend.
pub(super) fn starts(widths: &[usize], forced: &[usize]) -> Vec<bool> {
    let mut begins = vec![false; widths.len()];
    let mut from = 0;
    for to in forced.iter().copied().filter(|bar| *bar > 0).chain([widths.len()]) {
        let part = widths.get(from..to).unwrap_or_default();
        for line in lines(part) {
            if let Some(start) = begins.get_mut(from + line) {
                *start = true;
            }
        }
        from = to;
    }
    begins
}

/// Where the lines of one part begin.
fn lines(widths: &[usize]) -> Vec<usize> {
    let mut lines: Vec<usize> = Vec::new();
    // Bars in the last line, and how wide they are.
    let (mut count, mut full) = (0usize, 0usize);
    for (at, width) in widths.iter().enumerate() {
        let room = count < BARS && full.saturating_add(*width) <= LINE;
        if lines.is_empty() || (count > 0 && !room) {
            lines.push(at);
            (count, full) = (0, 0);
        }
        count += usize::from(*width > 0);
        full = full.saturating_add(*width);
    }
    // A last bar is not left alone where the line before can give it another.
    if let [.., before, last] = lines.as_mut_slice() {
        let two = widths.get(*last - 1..).unwrap_or_default();
        let room = two.iter().fold(0usize, |sum, width| sum.saturating_add(*width)) <= LINE;
        if count == 1 && *last - *before > 2 && room {
            *last -= 1;
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn at(begins: &[bool]) -> Vec<usize> {
        begins.iter().enumerate().filter_map(|(at, begins)| begins.then_some(at)).collect()
    }

    #[test]
    fn ok_lines() {
        let written = |count| vec![Written::default(); count];
        assert_eq!([width(&written(1), 1), width(&written(9), 1), width(&written(9), 3)], [8, 9, 12]);
        assert_eq!(at(&starts(&[8; 8], &[])), [0, 4]);
        // A pick-up has no width; a last bar is not left alone where two have room.
        assert_eq!(at(&starts(&[0, 8, 8, 8, 8, 8, 8, 8, 8, 8], &[])), [0, 5, 8]);
        assert_eq!(at(&starts(&[9; 9], &[])), [0, 4, 7]);
        assert_eq!(at(&starts(&[12; 7], &[])), [0, 3, 5]);
        assert_eq!(at(&starts(&[16; 3], &[])), [0, 2]);
        assert_eq!(at(&starts(&[40, 99, 8, 8, 8, 8, 8, 8], &[])), [0, 1, 2, 6]);
        // Each part begins on a line of its own.
        assert_eq!(at(&starts(&[8; 12], &[0, 5])), [0, 3, 5, 9]);
        assert!(starts(&[], &[0]).is_empty());
    }

    proptest! {
        #[test]
        fn prop_lines_have_room(
            mut widths in prop::collection::vec(8usize..50, 1..40),
            pick_ups: [bool; 2],
            forced in prop::collection::btree_set(0usize..40, 0..4),
        ) {
            let forced: Vec<usize> = forced.into_iter().filter(|bar| *bar < widths.len()).collect();
            for (first, _) in [Some(&0), forced.last()].into_iter().zip(pick_ups).filter(|(_, short)| *short) {
                if let Some(first) = first {
                    widths[*first] = 0;
                }
            }
            let begins = at(&starts(&widths, &forced));
            prop_assert_eq!(begins.first(), Some(&0));
            prop_assert!(forced.iter().all(|bar| begins.contains(bar)));
            let ends = begins.iter().skip(1).copied().chain([widths.len()]);
            for (from, to) in begins.iter().copied().zip(ends) {
                let from = from + usize::from(widths[from] == 0);
                let sum: usize = widths[from..to].iter().sum();
                prop_assert!(to <= from + 1 || (to - from <= BARS && sum <= LINE));
                // No line ends early, but to give a bar to the last.
                let gives = to + 2 == widths.len() || forced.contains(&(to + 2));
                if to < widths.len() && !forced.contains(&to) && to > from && !gives {
                    prop_assert!(to - from >= BARS || sum + widths[to] > LINE);
                }
            }
        }
    }
}
