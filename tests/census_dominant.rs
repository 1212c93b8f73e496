//! The dominant slice of the census against the published table of all triads over a dominant seventh.

#![allow(missing_docs, clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "tests")]

use std::collections::BTreeMap;
use std::ops::ControlFlow;

use overshell::census::{Census, CensusFilter, CensusRows, CensusSpace, Column};
use overshell::pitch::note;
use overshell::rules::{RuleSet, Verdict};
use overshell::voicing::{Label, Shell, Triad};

/// A row of `data/handbook/triads-over-c7.tsv`: what the triad is over C7.
struct Row {
    functions: String,
    clashes: bool,
    with_root: String,
    without_root: String,
}

fn table() -> BTreeMap<Label, Row> {
    let lines =
        include_str!("data/handbook/triads-over-c7.tsv").lines().filter(|line| !line.starts_with('#'));
    let rows = lines.map(|line| {
        let cells: Vec<&str> = line.split('\t').collect();
        let [triad, _, functions, avoid, _, _, with_root, without_root] = cells[..] else { panic!("{line}") };
        let triad: Triad = triad.parse().unwrap();
        let semitones = note("C").pitch_class().semitones_up_to(triad.root().pitch_class());
        let row = Row {
            functions: functions.to_owned(),
            clashes: avoid != "-",
            with_root: with_root.to_owned(),
            without_root: without_root.to_owned(),
        };
        (Label::new(semitones, triad.kind()), row)
    });
    rows.collect()
}

fn sorted(words: &str) -> Vec<&str> {
    let mut words: Vec<&str> = words.split_whitespace().collect();
    words.sort_unstable();
    words
}

/// Functions, avoid notes and set classes (the table's, computed from the functions over a dominant and with Forte's names) hold in
/// every key, inversion, spacing and register, over every shell with both guide tones.
#[test]
fn all_rows_of_the_dominant_slice_are_as_tabled() {
    let table = table();
    assert_eq!(table.len(), 52);
    let census = Census::new(CensusSpace::full()).unwrap();
    let shells = [Shell::RootThirdSeventh, Shell::RootSeventhThird, Shell::ThirdSeventh, Shell::SeventhThird];
    let filter = CensusFilter {
        chords: vec!["C7".parse().unwrap()],
        shells: shells.to_vec(),
        ..CensusFilter::default()
    };
    let rows = CensusRows::new(&census, RuleSet::standard());
    let mut seen = 0u64;
    for range in filter.ranges(&census, 0..census.len()) {
        let all = rows.visit(range, |row| {
            let combination = row.combination().unwrap();
            let expected = &table[&combination.label];
            let text = |column: Column| row.value(column).to_string();
            assert_eq!(row.verdict() == Verdict::Clash, expected.clashes, "{row:?}");
            let degrees = text(Column::Degrees);
            let of_triad: Vec<&str> = degrees.split_whitespace().rev().take(3).collect();
            assert_eq!(sorted(&of_triad.join(" ")), sorted(&expected.functions), "{row:?}");
            let has_root = combination.shell.to_string().starts_with('1');
            let class = if has_root { &expected.with_root } else { &expected.without_root };
            assert_eq!(text(Column::Forte), *class, "{row:?}");
            seen += 1;
            ControlFlow::<()>::Continue(())
        });
        assert!(all.unwrap().is_continue());
    }
    assert_eq!(seen, 12 * 4 * 2 * 52 * 3 * 2 * 2);
    assert_eq!(seen, filter.count(&census, 0..census.len()));
}
