//! The numbers of endings: which ending is played in which pass.

/// An ending: its bars, and what its numbers and its last barline say.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Ending {
    /// The first bar.
    pub(super) first: usize,
    /// The last bar.
    pub(super) last: usize,
    /// Whether the section is gone back to behind it.
    pub(super) goes_back: bool,
    /// As written.
    pub(super) numbers: String,
}

/// Several passes one after the other that take the same ending.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Passes {
    /// Which ending.
    pub(super) ending: usize,
    /// How many passes, at least 1.
    pub(super) times: u32,
}

/// What the numbers of a group of endings say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Said {
    /// All passes from the first to the last.
    All,
    /// Some passes have no ending.
    WithGaps,
    /// Nothing that could be followed.
    Nothing,
}

/// The passes of a group of endings, in order, up to the first ending that does not go back. Where the numbers cannot be
/// followed, each ending once.
pub(super) fn passes(endings: &[Ending]) -> (Vec<Passes>, Said) {
    numbered(endings).unwrap_or_else(|| {
        let once = (0..endings.len()).map(|ending| Passes { ending, times: 1 });
        (once.collect(), Said::Nothing)
    })
}

/// The passes as the numbers say; `None` where a number cannot be read or stands twice, or an ending has no turn.
fn numbered(endings: &[Ending]) -> Option<(Vec<Passes>, Said)> {
    let mut all: Vec<(u32, u32, usize)> = Vec::new();
    for (index, ending) in endings.iter().enumerate() {
        all.extend(ranges(&ending.numbers)?.into_iter().map(|(from, to)| (from, to, index)));
    }
    all.sort_unstable();
    let mut last = 0;
    let mut said = Said::All;
    let mut passes = Vec::with_capacity(all.len());
    let mut has_turn = vec![false; endings.len()];
    let mut is_over = false;
    for (from, to, ending) in all {
        if from <= last {
            return None;
        }
        if from != last + 1 {
            said = Said::WithGaps;
        }
        last = to;
        if is_over {
            continue;
        }
        let goes_back = endings.get(ending)?.goes_back;
        passes.push(Passes { ending, times: if goes_back { to - from + 1 } else { 1 } });
        *has_turn.get_mut(ending)? = true;
        is_over = !goes_back;
    }
    has_turn.into_iter().all(|turn| turn).then_some((passes, said))
}

/// The numbers of an ending as ranges, both ends included: `1`, `1,2`, `1, 3`, `1-2`.
fn ranges(text: &str) -> Option<Vec<(u32, u32)>> {
    let number = |text: &str| text.trim().parse::<u32>().ok().filter(|number| *number > 0);
    text.split(',')
        .map(|part| {
            let (from, to) = part.split_once('-').unwrap_or((part, part));
            let (from, to) = (number(from)?, number(to)?);
            (from <= to && to < u32::MAX).then_some((from, to))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Endings of one bar each; `!` in front of the numbers of one that does not go back.
    fn found(texts: &[&str]) -> (Vec<(usize, u32)>, Said) {
        let endings: Vec<Ending> = texts
            .iter()
            .enumerate()
            .map(|(at, text)| {
                let numbers = text.trim_start_matches('!').to_owned();
                Ending { first: at, last: at, goes_back: !text.starts_with('!'), numbers }
            })
            .collect();
        let (passes, said) = passes(&endings);
        (passes.into_iter().map(|p| (p.ending, p.times)).collect(), said)
    }

    #[test]
    fn ok_numbers() {
        for (text, expected) in [
            ("1", vec![(1, 1)]),
            ("1,2", vec![(1, 1), (2, 2)]),
            ("1, 3", vec![(1, 1), (3, 3)]),
            ("1-2", vec![(1, 2)]),
            (" 1 - 3 , 5", vec![(1, 3), (5, 5)]),
        ] {
            assert_eq!(ranges(text), Some(expected), "{text}");
        }
        for text in ["", " ", "0", "a", "1,", "2-1", "1-", "-1", "1.", "4294967295", "99999999999"] {
            assert_eq!(ranges(text), None, "{text}");
        }
    }

    /// Numbers, the passes expected of them, what they say.
    type Case = (&'static [&'static str], &'static [(usize, u32)], Said);

    #[test]
    fn ok_passes() {
        use Said::{All, Nothing, WithGaps};
        let cases: [Case; 17] = [
            (&["1", "!2"], &[(0, 1), (1, 1)], All),
            (&["1", "2"], &[(0, 1), (1, 1)], All),
            (&["1,2", "!3"], &[(0, 1), (0, 1), (1, 1)], All),
            (&["1-2", "!3"], &[(0, 2), (1, 1)], All),
            (&["1, 3", "2", "!4"], &[(0, 1), (1, 1), (0, 1), (2, 1)], All),
            (&["1", "!2,3"], &[(0, 1), (1, 1)], All),
            (&["1", "!2-9"], &[(0, 1), (1, 1)], All),
            (&["1", "2", "!3"], &[(0, 1), (1, 1), (2, 1)], All),
            (&["1", "!3"], &[(0, 1), (1, 1)], WithGaps),
            (&["2", "!3"], &[(0, 1), (1, 1)], WithGaps),
            // A number twice, none, no turn for the first: each once, as on the page.
            (&["2", "!2"], &[(0, 1), (1, 1)], Nothing),
            (&["1,2", "!2"], &[(0, 1), (1, 1)], Nothing),
            (&["", "!"], &[(0, 1), (1, 1)], Nothing),
            (&["1", "!"], &[(0, 1), (1, 1)], Nothing),
            (&["2", "!1"], &[(0, 1), (1, 1)], Nothing),
            (&["1-5", "!3"], &[(0, 1), (1, 1)], Nothing),
            (&["1-4294967294"], &[(0, 4_294_967_294)], All),
        ];
        for (texts, expected, said) in cases {
            assert_eq!(found(texts), (expected.to_vec(), said), "{texts:?}");
        }
    }
}
