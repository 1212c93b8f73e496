//! What the filters of a query leave of a census, without looking at a row.

use std::ops::Range;

use datafusion::logical_expr::{Expr, TableProviderFilterPushDown};
use overshell::census::{Census, CensusFilter, Column};

use crate::known::Known;
use crate::predicate::{holds, numbers, only_column};
use crate::spans::intersection;

/// The rows that are left: those of the spans that the filter wants.
#[derive(Clone, Debug)]
pub(crate) struct Wanted {
    pub(crate) filter: CensusFilter,
    pub(crate) spans: Vec<Range<u64>>,
    len: u64,
}

/// The values whose texts a filter admits; `None` where it asks for something other than equality.
fn admitted<T: Copy>(said: &[(T, String)], filter: &Expr) -> Option<Vec<T>> {
    let mut kept = Vec::new();
    for (value, text) in said {
        if holds(filter, text)? {
            kept.push(*value);
        }
    }
    Some(kept)
}

/// Leaves of a list, where an empty one has everything, what was kept of all; says whether anything is left.
fn narrow<T: PartialEq>(list: &mut Vec<T>, kept: Vec<T>, all: usize) -> bool {
    if kept.len() == all {
        return true;
    }
    if list.is_empty() {
        *list = kept;
    } else {
        list.retain(|value| kept.contains(value));
    }
    !list.is_empty()
}

/// Each once.
fn distinct<T: PartialEq + Copy>(values: impl Iterator<Item = T>) -> Vec<T> {
    let mut seen = Vec::new();
    for value in values {
        if !seen.contains(&value) {
            seen.push(value);
        }
    }
    seen
}

impl Wanted {
    pub(crate) fn everything(census: &Census) -> Self {
        let whole = 0..census.len();
        Self { filter: CensusFilter::default(), spans: vec![whole], len: census.len() }
    }

    /// Leaves only what a filter admits, and says how well that was done: exactly, with some rows too many, or not at all.
    pub(crate) fn take(&mut self, known: &Known, filter: &Expr) -> TableProviderFilterPushDown {
        self.taken(known, filter).unwrap_or(TableProviderFilterPushDown::Unsupported)
    }

    fn taken(&mut self, known: &Known, filter: &Expr) -> Option<TableProviderFilterPushDown> {
        let column: Column = only_column(filter)?.parse().ok()?;
        let mut exact = true;
        let own = &mut self.filter;
        let left = match column {
            Column::Index => {
                self.spans = intersection(&self.spans, &numbers(filter, self.len)?);
                true
            }
            Column::Root => narrow(&mut own.roots, admitted(&known.roots, filter)?, known.roots.len()),
            Column::Quality => {
                narrow(&mut own.chords, admitted(&known.qualities, filter)?, known.qualities.len())
            }
            Column::Chord => {
                // Roots and chords are kept apart: chords on some roots only are more than was asked for.
                let pairs = admitted(&known.chords, filter)?;
                let roots = distinct(pairs.iter().map(|(root, _)| *root));
                let chords = distinct(pairs.iter().map(|(_, chord)| *chord));
                exact = roots.len() * chords.len() == pairs.len();
                let some = narrow(&mut own.roots, roots, known.roots.len());
                narrow(&mut own.chords, chords, known.qualities.len()) && some
            }
            Column::Family => {
                narrow(&mut own.families, admitted(&known.families, filter)?, known.families.len())
            }
            Column::Shell => narrow(&mut own.shells, admitted(&known.shells, filter)?, known.shells.len()),
            Column::Label => narrow(&mut own.labels, admitted(&known.labels, filter)?, known.labels.len()),
            Column::Inversion => {
                narrow(&mut own.inversions, admitted(&known.inversions, filter)?, known.inversions.len())
            }
            Column::Spacing => {
                narrow(&mut own.spacings, admitted(&known.spacings, filter)?, known.spacings.len())
            }
            _ => return None,
        };
        if !left {
            self.spans.clear();
        }
        Some(if exact { TableProviderFilterPushDown::Exact } else { TableProviderFilterPushDown::Inexact })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use datafusion::prelude::{col, lit};
    use overshell::census::CensusSpace;

    fn left(filters: &[Expr]) -> (u64, Vec<TableProviderFilterPushDown>) {
        let census = Census::new(CensusSpace::usual()).unwrap();
        let known = Known::new(&census);
        let mut wanted = Wanted::everything(&census);
        let taken = filters.iter().map(|filter| wanted.take(&known, filter)).collect();
        let count = |span: &Range<u64>| wanted.filter.count(&census, span.clone());
        (wanted.spans.iter().map(count).sum(), taken)
    }

    #[test]
    fn ok_exactly_too_many_or_not_at_all() {
        use TableProviderFilterPushDown::{Exact, Inexact, Unsupported};
        let len = Census::new(CensusSpace::usual()).unwrap().len();
        for (filter, rows, how) in [
            (col("label").eq(lit("II")), len / 52, Exact),
            (col("label").not_eq(lit("II")), len / 52 * 51, Exact),
            (col("label").eq(lit("no such")), 0, Exact),
            (col("label").not_eq(lit("no such")), len, Exact),
            (col("spacing").in_list(vec![lit("open"), lit("close")], false), len, Exact),
            (col("inversion").eq(lit("first")), len / 3, Exact),
            (col("root").in_list(vec![lit("C"), lit("Db")], false), len / 6, Exact),
            (col("chord").eq(lit("F7")), 20 * 52 * 6, Exact),
            (col("chord").in_list(vec![lit("F7"), lit("G7")], false), 2 * 20 * 52 * 6, Exact),
            (col("chord").in_list(vec![lit("F7"), lit("G9")], false), 20 * 52 * 6, Exact),
            (col("chord").in_list(vec![lit("F7"), lit("C7"), lit("C7")], false), 2 * 20 * 52 * 6, Exact),
            (col("chord").in_list(vec![lit("F7"), lit("Gmaj7")], false), 4 * 20 * 52 * 6, Inexact),
            (col("index").lt(lit(77u64)), 77, Exact),
            (col("verdict").eq(lit("clash")), len, Unsupported),
            (col("label").like(lit("I%")), len, Unsupported),
            (col("label").eq(lit("II")).or(col("root").eq(lit("C"))), len, Unsupported),
        ] {
            assert_eq!(left(std::slice::from_ref(&filter)), (rows, vec![how]), "{filter}");
        }
    }

    /// Filters one after the other leave what all admit.
    #[test]
    fn ok_filters_add_up() {
        let roots =
            |roots: &[&str]| col("root").in_list(roots.iter().map(|root| lit(*root)).collect(), false);
        let filters = [roots(&["C", "D"]), roots(&["D", "E"]), col("quality").eq(lit("C7"))];
        assert_eq!(left(&filters).0, 20 * 52 * 6);
        assert_eq!(left(&[roots(&["C"]), roots(&["D"])]).0, 0);
        assert_eq!(left(&[roots(&["C"]), roots(&["D"]), roots(&["C"])]).0, 0);
        assert_eq!(left(&[col("index").lt(lit(9u64)), col("index").gt(lit(9u64))]).0, 0);
    }
}
