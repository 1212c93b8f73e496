//! The census: judging, and what it is measured against.
//!
//! Laws: at least 20 million combinations judged a second on one core, and no more than three times as slow as a loop
//! that only reads the bit masks of the same hands (what was measured: DEVELOPERS.md, "Checks").

#![allow(missing_docs, clippy::unwrap_used, clippy::indexing_slicing, reason = "a bench")]

use std::hint::black_box;
use std::ops::Range;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use overshell::census::{Census, CensusSpace};
use overshell::rules::{RuleSet, Score};
use overshell::voicing::Voicing;

/// The combinations of a root: whole chords of all qualities.
fn part() -> (Census, Range<u64>) {
    let census = Census::new(CensusSpace::full()).unwrap();
    let root = census.len() / 12;
    (census, 4 * root..5 * root)
}

/// The keys of both hands, one bit each.
fn masks(voicing: &Voicing) -> [u128; 2] {
    [voicing.left(), voicing.right()]
        .map(|hand| hand.pitches().iter().fold(0, |all, pitch| all | 1 << pitch.midi()))
}

fn add(sum: [u64; 3], score: Score) -> [u64; 3] {
    let [clash, cost, colour] = sum;
    [clash + u64::from(score.clash), cost + score.cost as u64, colour + score.colour as u64]
}

/// All scores of a range added up.
fn scores(census: &Census, range: Range<u64>) -> [u64; 3] {
    let mut sum = [0; 3];
    census
        .score(range, RuleSet::standard(), |part| {
            sum = part.scores.iter().fold(sum, |sum, score| add(sum, *score));
        })
        .unwrap();
    sum
}

/// The same, one voicing after the other through the judge of its chord.
fn one_by_one(census: &Census, range: Range<u64>) -> [u64; 3] {
    let mut judge = None;
    census.iter(range).unwrap().fold([0; 3], |sum, (_, combination)| {
        if judge.as_ref().is_none_or(|(chord, _)| *chord != combination.chord) {
            judge = Some((
                combination.chord,
                RuleSet::standard().judge_for(combination.chord, &Default::default()),
            ));
        }
        let voicing = census.voicing(&combination).unwrap();
        add(sum, judge.as_ref().unwrap().1.score(&voicing))
    })
}

fn census(c: &mut Criterion) {
    let (census, range) = part();
    let count = range.end - range.start;
    let mut group = c.benchmark_group("census");
    group.sample_size(10);
    group.throughput(Throughput::Elements(count));
    let few = range.start..range.start + 20_000;
    let asked = scores(&census, few.clone());
    assert_eq!(asked, one_by_one(&census, few.clone()));
    let expected = scores(&census, range.clone());
    group.bench_function(BenchmarkId::new("score", "all-qualities-on-E"), |b| {
        b.iter(|| assert_eq!(scores(&census, black_box(range.clone())), expected))
    });
    let hands: Vec<[u128; 2]> = census
        .iter(range.clone())
        .unwrap()
        .map(|(_, combination)| masks(&census.voicing(&combination).unwrap()))
        .collect();
    let read = |hands: &[[u128; 2]]| {
        hands.iter().fold([0; 2], |[a, b]: [u128; 2], [left, right]| [a ^ left, b ^ right])
    };
    let sum = read(&hands);
    group.bench_function(BenchmarkId::new("read-masks", "all-qualities-on-E"), |b| {
        b.iter(|| assert_eq!(read(black_box(&hands)), sum))
    });
    group.throughput(Throughput::Elements(few.end - few.start));
    group.bench_function(BenchmarkId::new("score-one-by-one", "first-20000-on-E"), |b| {
        b.iter(|| assert_eq!(one_by_one(&census, black_box(few.clone())), asked))
    });
    group.finish();
}

criterion_group!(benches, census);
criterion_main!(benches);
