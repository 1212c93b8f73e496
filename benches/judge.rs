//! How fast one voicing is judged, without and with its reasons.

#![allow(missing_docs, clippy::unwrap_used, reason = "benches")]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use overshell::chord::{Function, chord};
use overshell::rules::{RuleSet, Score, Situation, Verdict};

fn judge(c: &mut Criterion) {
    let rules = RuleSet::standard();
    let situation = Situation { function: Some(Function::ToTonicMajor), ..Situation::default() };
    let judge = rules.judge_for(chord("C7"), &situation);
    // C3 E3 Bb3 | D4 F#4 A4
    let colour = Score { clash: false, cost: 0, colour: 40 };
    c.bench_function("judge/score/six-notes/colour", |b| {
        b.iter(|| {
            let score = judge.score_keys(black_box(&[48, 52, 58]), black_box(&[62, 66, 69]));
            assert_eq!(score, colour);
        });
    });
    c.bench_function("judge/score/six-notes/clash", |b| {
        b.iter(|| {
            let score = judge.score_keys(black_box(&[48, 52, 58]), black_box(&[65, 69, 72]));
            assert!(score.clash);
        });
    });
    let voicing = "C3 E3 Bb3 | D4 F#4 A4".parse().unwrap();
    c.bench_function("judge/findings/six-notes/colour", |b| {
        b.iter(|| {
            let judgement = judge.judge(black_box(&voicing));
            assert_eq!((judgement.verdict, judgement.findings.len()), (Verdict::Colour, 2));
        });
    });
    c.bench_function("judge/prepare/dominant", |b| {
        b.iter(|| {
            let judge = rules.judge_for(black_box(chord("C7")), &situation);
            assert_eq!(judge.score_keys(&[48, 52, 58], &[62, 66, 69]), colour);
        });
    });
}

criterion_group!(benches, judge);
criterion_main!(benches);
