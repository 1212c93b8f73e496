//! Three questions, against the same answers counted row by row.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::ControlFlow;

use datafusion::arrow::array::AsArray;
use datafusion::arrow::datatypes::{Float64Type, Int64Type};
use overshell::census::{CensusRow, CensusRows, Column, Value};

use super::*;

pub(super) const NEVER_CLASH: &str = include_str!("../../questions/never-clash.sql");
pub(super) const FORTE: &str = include_str!("../../questions/forte.sql");
pub(super) const ROUGHNESS: &str = include_str!("../../questions/roughness.sql");

/// All named qualities, on two roots.
pub(super) fn two_roots() -> CensusSpace {
    CensusSpace { roots: vec![note("C"), note("Gb")], ..CensusSpace::usual() }
}

fn visit(space: CensusSpace, mut each: impl FnMut(&CensusRow<'_>)) {
    let census = census(space);
    let rows = CensusRows::new(&census, RuleSet::standard());
    let all = rows.visit(0..census.len(), |row| {
        each(row);
        ControlFlow::<()>::Continue(())
    });
    assert!(all.unwrap().is_continue());
}

fn text(row: &CensusRow<'_>, column: Column) -> String {
    row.value(column).to_string()
}

fn measure(row: &CensusRow<'_>, column: Column) -> f64 {
    match row.value(column) {
        Value::Measure(measure) => measure,
        other => panic!("{other:?}"),
    }
}

#[test]
fn ok_labels_that_never_clash() {
    let mut groups: BTreeMap<(String, String), [i64; 3]> = BTreeMap::new();
    visit(two_roots(), |row| {
        let group = groups.entry((text(row, Column::Family), text(row, Column::Label))).or_default();
        group[0] += 1;
        group[1] += i64::from(text(row, Column::Verdict) == "colour");
        group[2] += i64::from(text(row, Column::Verdict) == "clash");
    });
    let all = groups.len();
    let expected = groups.into_iter().filter(|(_, [_, _, clashes])| *clashes == 0);
    let expected: Vec<(String, String, i64, i64)> =
        expected.map(|((family, label), [rows, colour, _])| (family, label, rows, colour)).collect();
    assert!(!expected.is_empty() && expected.len() < all, "{} of {all}", expected.len());
    for partitions in [1, 2, 5] {
        let batch = answer(&session(two_roots(), partitions), NEVER_CLASH);
        let texts =
            |at: usize| batch.column(at).as_string::<i32>().iter().map(|text| text.unwrap().to_owned());
        let counts = |at: usize| batch.column(at).as_primitive::<Int64Type>().values().iter().copied();
        let found = texts(0).zip(texts(1)).zip(counts(2)).zip(counts(3));
        let found: Vec<_> =
            found.map(|(((family, label), rows), colour)| (family, label, rows, colour)).collect();
        assert_eq!(found, expected, "{partitions}");
    }
}

#[test]
fn ok_structures_that_share_a_set_class() {
    let mut structures = BTreeSet::new();
    visit(two_roots(), |row| {
        if text(row, Column::Family) == "dominant" {
            let [quality, shell, label, forte] =
                [Column::Quality, Column::Shell, Column::Label, Column::Forte]
                    .map(|column| text(row, column));
            structures.insert((forte, quality, shell, label));
        }
    });
    let mut counts: BTreeMap<String, i64> = BTreeMap::new();
    for (forte, ..) in &structures {
        *counts.entry(forte.clone()).or_default() += 1;
    }
    let mut expected: Vec<(String, i64)> = counts.into_iter().collect();
    // What share the same count stay in the order of their names.
    expected.sort_by_key(|(_, count)| -count);
    assert!(expected.len() > 10);
    for partitions in [1, 2, 5] {
        let (batch, plan) = ask(&session(two_roots(), partitions), FORTE).unwrap();
        let texts = batch.column(0).as_string::<i32>().iter().map(|text| text.unwrap().to_owned());
        let counts = batch.column(1).as_primitive::<Int64Type>().values().iter().copied();
        assert_eq!(texts.zip(counts).collect::<Vec<_>>(), expected, "{partitions}");
        // Only the dominants were computed.
        let (given, seen) = work(&plan);
        assert!(given == seen && (given as u64) < census(two_roots()).len() / 2, "{given} {seen}");
    }
}

#[test]
fn ok_mean_roughness_by_verdict() {
    let mut groups: BTreeMap<String, (i64, f64, f64)> = BTreeMap::new();
    visit(two_roots(), |row| {
        let (rows, first, second) = groups.entry(text(row, Column::Verdict)).or_default();
        *rows += 1;
        *first += measure(row, Column::RoughnessHutchinsonKnopoff);
        *second += measure(row, Column::RoughnessSethares);
    });
    assert_eq!(groups.len(), 3);
    for partitions in [1, 2, 5] {
        let batch = answer(&session(two_roots(), partitions), ROUGHNESS);
        assert_eq!(batch.num_rows(), 3);
        for (at, (verdict, (rows, first, second))) in groups.iter().enumerate() {
            assert_eq!(batch.column(0).as_string::<i32>().value(at), verdict);
            assert_eq!(batch.column(1).as_primitive::<Int64Type>().value(at), *rows);
            for (column, sum) in [(2, first), (3, second)] {
                // Sums in another order differ in the last places.
                let (found, mean) =
                    (batch.column(column).as_primitive::<Float64Type>().value(at), sum / *rows as f64);
                assert!((found - mean).abs() < 1e-9 * mean.abs(), "{verdict}: {found} instead of {mean}");
            }
        }
    }
}
