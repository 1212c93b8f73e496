//! Coda signs that do not say which of the two they are.

use crate::sheet::read::finding::Log;
use crate::sheet::read::raw::RawBar;

/// Where in its bar a coda sign stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::sheet) enum CodaSign {
    /// At its start.
    Start,
    /// Inside it or at its end.
    End,
}

/// Makes codas, and `to coda`s, of the coda signs of a sheet.
///
/// The sign is printed where the music leaves and where the coda starts (common practice, no source). Where something says `to
/// coda`, every sign is a coda. Otherwise signs in front of a known coda leave for it; and of signs alone the first
/// leaves for the second, the third for the fourth; a last one alone is a coda.
pub(in crate::sheet) fn settle(bars: &mut [RawBar], log: &mut Log) {
    let known = bars.iter().rposition(|bar| bar.road.coda.is_some());
    let leaves = bars.iter().any(|bar| bar.road.to_coda.is_some());
    // Each sign as the barline where it counts: the index of the bar behind it.
    let mut signs: Vec<usize> = Vec::new();
    for (index, bar) in bars.iter_mut().enumerate() {
        match bar.coda_sign.take() {
            Some(CodaSign::Start) => signs.push(index),
            Some(CodaSign::End) => signs.push(index + 1),
            None => {}
        }
    }
    signs.dedup();
    let count = signs.len();
    for (turn, at) in signs.into_iter().enumerate() {
        let is_exit = match known {
            _ if leaves => false,
            Some(coda) => at < coda,
            None => turn % 2 == 0 && turn + 1 < count,
        };
        if is_exit && let Some(bar) = at.checked_sub(1).and_then(|before| bars.get_mut(before)) {
            bar.road.to_coda.get_or_insert_default();
        } else if let Some(bar) = bars.get_mut(at).filter(|_| !is_exit) {
            bar.road.coda.get_or_insert_default();
        } else {
            (log.bar, log.tick) = (Some(at.min(bars.len().saturating_sub(1))), 0);
            log.say(
                "a coda sign at the edge of the tune is left out",
                "put it where the music leaves for the coda, and where the coda starts",
            );
        }
    }
}
