//! How fast voicings are judged: by data against the same rules written by hand, with many rules more, with rules in code,
//! with reasons; and how fast sets are loaded and prepared.

#![allow(missing_docs, clippy::unwrap_used, clippy::indexing_slicing, reason = "benches")]

#[path = "plain/judge.rs"]
mod by_hand;

use std::fmt::Write as _;
use std::hint::black_box;
use std::time::Instant;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use itertools::iproduct;
use overshell::chord::{Function, chord};
use overshell::pitch::pitch;
use overshell::rules::{Context, MovingNote, Report, Rule, RuleSet, Score, Situation, Verdict};
use overshell::search::{CatalogueOptions, catalogue};
use overshell::voicing::{Hand, Shell};

/// Two hands as keys.
type Hands = (Vec<u8>, Vec<u8>);

fn keys(hand: &Hand) -> Vec<u8> {
    hand.pitches().iter().map(|pitch| pitch.midi()).collect()
}

/// All ways in which the catalogue plays triads over three shells of C7, in an order in which no branch can be foreseen.
fn batch() -> Vec<Hands> {
    let mut batch: Vec<Hands> = Vec::new();
    for shell in [Shell::RootThirdSeventh, Shell::RootSeventh, Shell::ThirdSeventh] {
        let options = CatalogueOptions { shell: Some(shell), ..Default::default() };
        for entry in catalogue(chord("C7"), RuleSet::standard(), &options).unwrap() {
            let placings = std::iter::once(&entry.best).chain(&entry.others);
            batch.extend(
                placings.map(|placing| (keys(placing.voicing.left()), keys(placing.voicing.right()))),
            );
        }
    }
    assert!((400..800).contains(&batch.len()), "{}", batch.len());
    let mut state = 1u32;
    batch.sort_by_cached_key(|_| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        state
    });
    batch
}

fn home() -> Situation {
    Situation { function: Some(Function::ToTonicMajor), ..Situation::default() }
}

/// Clashes, cost and colour of all.
fn sum(batch: &[Hands], judge: impl Fn(&[u8], &[u8]) -> Score) -> (i32, i32, i32) {
    batch.iter().fold((0, 0, 0), |(clashes, cost, colour), (left, right)| {
        let score = judge(black_box(left), black_box(right));
        (clashes + i32::from(score.clash), cost + score.cost, colour + score.colour)
    })
}

/// How many times as long the first takes as the second: the middle one of many rounds in which they take turns.
fn ratio(id: &str, first: impl Fn(), second: impl Fn()) {
    let time = |work: &dyn Fn()| {
        let start = Instant::now();
        work();
        start.elapsed().as_secs_f64()
    };
    let mut ratios: Vec<f64> = (0..501).map(|_| time(&first) / time(&second)).collect();
    ratios.sort_by(f64::total_cmp);
    println!("{id}: {:.2} (quartiles {:.2}, {:.2})", ratios[250], ratios[125], ratios[375]);
}

/// By data and by hand, and one against the other.
fn against_hand(c: &mut Criterion) {
    let batch = batch();
    let judge = RuleSet::standard().judge_for(chord("C7"), &home());
    let by_data = |left: &[u8], right: &[u8]| judge.score_keys(left, right);
    let by_hand = |left: &[u8], right: &[u8]| by_hand::judge(0, left, right);
    let expected = sum(&batch, by_hand);
    let mut group = c.benchmark_group(format!("judge/batch/{}", batch.len()));
    group.throughput(Throughput::Elements(batch.len() as u64));
    group.bench_function("data", |b| b.iter(|| assert_eq!(sum(&batch, by_data), expected)));
    group.bench_function("hand", |b| b.iter(|| assert_eq!(sum(&batch, by_hand), expected)));

    let moving = vec![MovingNote { key: 69, sixteenths: 8 }, MovingNote { key: 71, sixteenths: 4 }];
    let situation = Situation { melody: Some(pitch("G4")), moving: moving.clone(), ..home() };
    let under = RuleSet::standard().judge_for(chord("C7"), &situation);
    let data_under = |left: &[u8], right: &[u8]| under.score_keys(left, right);
    let hand_under = |left: &[u8], right: &[u8]| by_hand::judge_under(0, left, right, 67, &moving);
    let expected_under = sum(&batch, hand_under);
    group.bench_function("data-melody", |b| b.iter(|| assert_eq!(sum(&batch, data_under), expected_under)));
    group.bench_function("hand-melody", |b| b.iter(|| assert_eq!(sum(&batch, hand_under), expected_under)));
    group.finish();

    let of_data = || assert_eq!(sum(&batch, by_data), expected);
    let of_hand = || assert_eq!(sum(&batch, by_hand), expected);
    ratio("judge/ratio/data-to-hand", of_data, of_hand);
    ratio(
        "judge/ratio/data-to-hand/melody",
        || assert_eq!(sum(&batch, data_under), expected_under),
        || assert_eq!(sum(&batch, hand_under), expected_under),
    );
}

/// A rule in code that seldom fires.
struct OuterOctaves;

impl Rule for OuterOctaves {
    fn id(&self) -> &str {
        "outer-octaves"
    }
    fn message(&self) -> &str {
        "the outer voices are octaves apart"
    }
    fn help(&self) -> &str {
        "nothing needs help"
    }
    fn source(&self) -> &str {
        "invented for this bench"
    }
    fn judge(&self, context: &Context<'_>, report: &mut Report<'_>) {
        let keys = context.keys();
        if let (Some(low), Some(high)) = (keys.first(), keys.last())
            && (high - low) % 12 == 0
        {
            report.colour(1, [context.degree_of(*low)]);
        }
    }
}

/// A thousand rules about pairs of degrees, all of which sound in the batch.
fn thousand_pairs() -> RuleSet {
    let degrees = ["1", "b9", "9", "#9", "3", "11", "#11", "5", "b13", "13", "b7", "maj7"];
    let mut text = "format = 1\nname = \"many\"\nextends = [\"standard\"]\n".to_owned();
    let pairs = iproduct!(degrees, degrees).filter(|(lower, upper)| lower != upper);
    for (n, (lower, upper)) in pairs.cycle().take(1_000).enumerate() {
        let effect = if n % 2 == 0 { "cost" } else { "colour" };
        write!(
            text,
            "[[rule]]\nid = \"pair-{n}\"\nkind = \"pair\"\nlower = \"{lower}\"\nupper = \"{upper}\"\n\
             either-way = {}\n{effect} = {}\nmessage = \"x\"\nhelp = \"y\"\nsource = \"invented for this bench\"\n",
            n % 3 == 0,
            n % 7 + 1,
        )
        .unwrap();
    }
    RuleSet::from_toml("many.toml", &text).unwrap()
}

/// More rules, in files and in code.
fn more_rules(c: &mut Criterion) {
    let batch = batch();
    let many = thousand_pairs();
    assert_eq!(many.ids().count(), RuleSet::standard().ids().count() + 1_000);
    let coded = RuleSet::standard().clone().with_rule(OuterOctaves);
    let [plain, many, coded] =
        [RuleSet::standard(), &many, &coded].map(|set| set.judge_for(chord("C7"), &home()));
    let totals =
        [&plain, &many, &coded].map(|judge| sum(&batch, |left, right| judge.score_keys(left, right)));
    // A thousand rules say a lot, the one in code a little.
    assert!(totals[1].1 > totals[0].1 + 10_000 && totals[1].2 > totals[0].2 + 10_000, "{totals:?}");
    assert!(totals[2].1 == totals[0].1 && totals[2].2 > totals[0].2, "{totals:?}");
    let work = |judge: &overshell::rules::Judge<'_>, total: (i32, i32, i32)| {
        assert_eq!(sum(&batch, |left, right| judge.score_keys(left, right)), total);
    };
    let mut group = c.benchmark_group(format!("judge/score/{}", batch.len()));
    group.throughput(Throughput::Elements(batch.len() as u64));
    group.bench_function("standard", |b| b.iter(|| work(&plain, totals[0])));
    group.bench_function("thousand-pairs-more", |b| b.iter(|| work(&many, totals[1])));
    group.bench_function("one-in-code-more", |b| b.iter(|| work(&coded, totals[2])));
    group.finish();
    let standard = || work(&plain, totals[0]);
    ratio("judge/ratio/thousand-pairs-more", || work(&many, totals[1]), standard);
    ratio("judge/ratio/one-in-code-more", || work(&coded, totals[2]), standard);
}

/// One voicing, with and without its reasons.
fn one(c: &mut Criterion) {
    let judge = RuleSet::standard().judge_for(chord("C7"), &home());
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
}

/// What comes before judging.
fn before(c: &mut Criterion) {
    let text = include_str!("../rules/standard.toml");
    c.bench_function("judge/load/standard", |b| {
        b.iter(|| {
            let set = RuleSet::from_toml("standard.toml", black_box(text)).unwrap();
            assert_eq!((set.name(), set.colour_threshold()), ("standard", 20));
        });
    });
    for (id, symbol) in [("dominant", "C7"), ("major", "Cmaj7"), ("altered", "C7alt")] {
        let situation = home();
        c.bench_function(&format!("judge/prepare/{id}"), |b| {
            b.iter(|| {
                let judge = RuleSet::standard().judge_for(black_box(chord(symbol)), &situation);
                assert!(judge.within_reach(&[48, 60]));
            });
        });
    }
}

criterion_group!(benches, against_hand, more_rules, one, before);
criterion_main!(benches);
