//! Sets of numbers as ranges that ascend and do not touch.

use std::ops::Range;

/// Sorts ranges and puts together those that touch or overlap; empty ones go.
fn tidy(mut spans: Vec<Range<u64>>) -> Vec<Range<u64>> {
    spans.retain(|span| span.start < span.end);
    spans.sort_unstable_by_key(|span| span.start);
    let mut tidied: Vec<Range<u64>> = Vec::with_capacity(spans.len());
    for span in spans {
        match tidied.last_mut() {
            Some(last) if span.start <= last.end => last.end = last.end.max(span.end),
            _ => tidied.push(span),
        }
    }
    tidied
}

/// What is in either.
pub(crate) fn union(mut one: Vec<Range<u64>>, other: Vec<Range<u64>>) -> Vec<Range<u64>> {
    one.extend(other);
    tidy(one)
}

/// What of `0..len` is not in them.
pub(crate) fn complement(spans: &[Range<u64>], len: u64) -> Vec<Range<u64>> {
    let starts = std::iter::once(0).chain(spans.iter().map(|span| span.end));
    let ends = spans.iter().map(|span| span.start).chain(std::iter::once(len));
    tidy(starts.zip(ends).map(|(start, end)| start..end.min(len)).collect())
}

/// What is in both. Takes time with the one times the other, which are few.
pub(crate) fn intersection(one: &[Range<u64>], other: &[Range<u64>]) -> Vec<Range<u64>> {
    let common = |a: &Range<u64>, b: &Range<u64>| a.start.max(b.start)..a.end.min(b.end);
    tidy(one.iter().flat_map(|a| other.iter().map(move |b| common(a, b))).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    const LEN: u64 = 6;

    fn of(set: u8) -> Vec<Range<u64>> {
        tidy((0..LEN).filter(|number| set >> number & 1 == 1).map(|number| number..number + 1).collect())
    }

    /// Every pair of subsets of six numbers, against bits.
    #[test]
    fn all_sets_of_six() {
        let full = (1u8 << LEN) - 1;
        for one in 0..=full {
            assert_eq!(complement(&of(one), LEN), of(!one & full));
            for other in 0..=full {
                assert_eq!(union(of(one), of(other)), of(one | other));
                assert_eq!(intersection(&of(one), &of(other)), of(one & other));
            }
        }
    }
}
