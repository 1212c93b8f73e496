//! What a plan reads, as a small value.

use std::ops::Range;

use overshell::census::{Census, CensusDescription, CensusFilter, Column};
use serde::{Deserialize, Serialize};

use crate::error::Refusal;

/// All that decides which rows a plan computes, and in which share of the work: small enough to send to another process, which
/// needs nothing else but the same rules.
#[derive(Clone, Debug, Eq, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct ScanDescription {
    /// The space, the rules by name and fingerprint, and the version that numbers and judges.
    pub census: CensusDescription,
    /// Which combinations are wanted.
    pub filter: CensusFilter,
    /// The names of the columns, in order.
    pub columns: Vec<String>,
    /// For each partition the ranges of numbers of which it computes what the filter wants, ascending.
    pub partitions: Vec<Vec<Range<u64>>>,
}

impl ScanDescription {
    /// The columns.
    ///
    /// # Errors
    ///
    /// [`overshell::Error::is_range`] where there is no column of a name.
    pub fn columns(&self) -> overshell::Result<Vec<Column>> {
        self.columns.iter().map(|name| name.parse()).collect()
    }

    /// How many rows each partition has.
    pub fn rows(&self, census: &Census) -> Vec<u64> {
        let count =
            |spans: &Vec<Range<u64>>| spans.iter().map(|span| self.filter.count(census, span.clone())).sum();
        self.partitions.iter().map(count).collect()
    }

    /// Refuses a description that was made by other rules or by another version than those at hand, since its rows would be
    /// others.
    ///
    /// # Errors
    ///
    /// [`Refusal`], which says what differs.
    pub fn check_against(&self, own: &CensusDescription) -> Result<(), Refusal> {
        let (theirs, ours) = (&self.census.rules, &own.rules);
        if theirs.fingerprint != ours.fingerprint {
            return Err(Refusal::new(
                format!(
                    "the plan is for the rules `{}` with the fingerprint `{}`, here are `{}` with `{}`",
                    theirs.name, theirs.fingerprint, ours.name, ours.fingerprint
                ),
                "start every process with the same rule files",
            ));
        }
        let kept = |of: &CensusDescription| (of.numbering, of.version.clone(), of.len);
        if kept(&self.census) != kept(own) {
            return Err(Refusal::new(
                format!(
                    "the plan is for version {}, numbering {}, {} combinations; here are version {}, numbering {}, {} combinations",
                    self.census.version,
                    self.census.numbering,
                    self.census.len,
                    own.version,
                    own.numbering,
                    own.len
                ),
                "run every process from the same build",
            ));
        }
        Ok(())
    }
}

/// Shares out the wanted numbers of some ranges, at most `limit` of them, evenly and in order. There is at least one share; none but
/// this one is empty. The shares are ranges of numbers in which the filter is still to be asked, so that they are few.
pub(crate) fn shares(
    census: &Census,
    filter: &CensusFilter,
    spans: &[Range<u64>],
    shares: usize,
    limit: Option<u64>,
) -> Vec<Vec<Range<u64>>> {
    let wanted: u64 = spans.iter().map(|span| filter.count(census, span.clone())).sum();
    let total = limit.map_or(wanted, |limit| wanted.min(limit));
    let parts = u64::try_from(shares).unwrap_or(u64::MAX).clamp(1, total.max(1));
    let quota = |share: u64| total / parts + u64::from(share < total % parts);
    let mut full: Vec<Vec<Range<u64>>> = Vec::new();
    let (mut open, mut missing) = (Vec::new(), quota(0));
    'all: for span in spans {
        // The range of the open share that lies in this span.
        let mut within: Option<Range<u64>> = None;
        for mut range in filter.ranges(census, span.clone()) {
            while range.start < range.end {
                if missing == 0 {
                    open.extend(within.take());
                    full.push(std::mem::take(&mut open));
                    let share = u64::try_from(full.len()).unwrap_or(u64::MAX);
                    if share == parts {
                        break 'all;
                    }
                    missing = quota(share);
                }
                let end = range.end.min(range.start.saturating_add(missing));
                missing -= end - range.start;
                within.get_or_insert(range.start..end).end = end;
                range.start = end;
            }
        }
        open.extend(within);
    }
    if full.is_empty() || !open.is_empty() {
        full.push(open);
    }
    full
}

#[cfg(test)]
mod tests {
    use super::*;
    use overshell::census::CensusSpace;

    /// Over filters, numbers of shares and limits: the shares together are the wanted numbers, in order, evenly.
    #[test]
    fn all_shares_together_are_what_is_wanted() {
        let census = Census::new(CensusSpace::usual()).unwrap();
        let label = CensusFilter { labels: vec!["II".parse().unwrap()], ..CensusFilter::default() };
        let spans = [vec![0..4_000], vec![3..3, 10..700, 900..2_000], vec![0..1], vec![]];
        for filter in [CensusFilter::default(), label] {
            for spans in &spans {
                let wanted = |spans: &[Range<u64>]| {
                    let each = spans.iter().flat_map(|span| filter.ranges(&census, span.clone()));
                    each.flatten().collect::<Vec<u64>>()
                };
                for parts in [0, 1, 2, 3, 16, 1_000] {
                    for limit in [None, Some(0), Some(1), Some(50), Some(1 << 40)] {
                        let shared = shares(&census, &filter, spans, parts, limit);
                        let each: Vec<Vec<u64>> = shared.iter().map(|share| wanted(share)).collect();
                        let mut all = wanted(spans);
                        all.truncate(limit.map_or(usize::MAX, |limit| limit as usize));
                        assert_eq!(each.concat(), all, "{filter:?} {spans:?} {parts} {limit:?}");
                        assert_eq!(shared.len(), parts.clamp(1, all.len().max(1)));
                        let sizes = each.iter().map(Vec::len);
                        assert!(sizes.clone().max().unwrap() - sizes.min().unwrap() <= 1);
                        assert!(shared.iter().all(|share| share.len() <= spans.len()));
                    }
                }
            }
        }
    }
}
