//! What is allocated where: reading a symbol makes the value and nothing else, questions about sets and names of sounding
//! keys make nothing, and neither does judging a voicing.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a test fails by panicking")]

use std::collections::BTreeSet;
use std::hint::black_box;

use overshell::chord::{Chord, ChordSymbol, NamingOptions, chord, readings};
use overshell::pitch::{PitchSet, SetClass};
use overshell::rules::{Context, MovingNote, Report, Rule, RuleSet, Situation};
use overshell::voicing::Voicing;

#[global_allocator]
static HEAP: dhat::Alloc = dhat::Alloc;

/// How many blocks are allocated meanwhile.
fn blocks<T>(work: impl FnOnce() -> T) -> u64 {
    let before = dhat::HeapStats::get().total_blocks;
    black_box(work());
    dhat::HeapStats::get().total_blocks - before
}

/// One test, since the count is of the whole process.
#[test]
fn ok_no_heap_beyond_the_value() {
    let _profiler = dhat::Profiler::builder().testing().build();
    assert_eq!(blocks(|| vec![black_box(1)]), 1, "the count counts");

    // A symbol keeps its text, and the upper one of two chords.
    for (text, expected) in
        [("C7", 1), ("F#m7b5/E", 1), ("Bb13(b9,#11)", 1), ("(E♭△7)", 1), ("N.C.", 1), ("D|C7", 2)]
    {
        assert_eq!(blocks(|| black_box(text).parse::<ChordSymbol>().unwrap()), expected, "{text}");
    }
    // The chord alone keeps nothing of it.
    assert_eq!(blocks(|| black_box("D|C7(b9)/E").parse::<Chord>().unwrap()), 0);

    let c7 = chord("C7");
    let keys: PitchSet = "C E Bb D F# A".parse().unwrap();
    assert_eq!(blocks(|| c7.sounding(black_box(keys))), 0);
    assert_eq!(
        blocks(|| (SetClass::of(black_box(keys)).prime_form_rahn(), keys.forte_name(), keys.normal_order())),
        0
    );
    readings(keys, &NamingOptions::default()).next(); // makes the table
    for bits in 0..4096 {
        let keys = PitchSet::from_bits(bits).unwrap();
        assert_eq!(
            blocks(|| readings(keys, &NamingOptions::default()).map(|reading| reading.points()).sum::<i32>()),
            0,
            "{keys}"
        );
    }

    judging();
}

/// Rules for which no shipped set need have an example.
const MORE: &str = r##"
    format = 1
    name = "more"
    rule = [
        { id = "fingers", kind = "reach", fingers = "balliauw-2017", cost = 1, @ },
        { id = "spans", kind = "reach", fingers = "parncutt-1997", cost = 1, @ },
        { id = "rough", kind = "roughness", model = "hutchinson-knopoff", per = 25, cost = 1, @ },
        { id = "gated", kind = "tone", degrees = ["9"], when = { shells = ["1 3 7"], highest-to = "C6" }, colour = 5, @ },
        { id = "shell", kind = "structure", shells = ["1 3 7"], colour = 5, @ },
        { id = "melody", kind = "melody", above = [15, 16], cost = 5, @ },
    ]
"##;

/// A rule in code that fires for everything.
struct AllDegrees;

impl Rule for AllDegrees {
    fn id(&self) -> &str {
        "all-degrees"
    }
    fn message(&self) -> &str {
        "these degrees sound"
    }
    fn help(&self) -> &str {
        "nothing needs help"
    }
    fn source(&self) -> &str {
        "invented for this test"
    }
    fn judge(&self, context: &Context<'_>, report: &mut Report<'_>) {
        report.colour(1, context.degrees().iter());
    }
}

/// No voicing that is judged without its reasons makes anything, whatever the rules; preparing and explaining may.
fn judging() {
    let voicings: Vec<Voicing> =
        ["C3 E3 Bb3 | D4 F#4 A4", "C3 E3 Bb3 | F4 A4 C5", "C2 E2 C3 E4 | F4 B4 C5 Db5 E6", "| ", "Bb0 | C8"]
            .map(|text| text.parse().unwrap())
            .into();
    let more = MORE.replace('@', r#"message = "x", help = "y", source = "invented for this test""#);
    let more = RuleSet::from_toml("more.toml", &more).unwrap();
    let shipped = RuleSet::names().map(|name| RuleSet::named(name).unwrap());
    let coded = RuleSet::standard().clone().with_rule(AllDegrees);
    let situation = Situation {
        melody: Some("E6".parse().unwrap()),
        moving: vec![MovingNote { key: 85, sixteenths: 4 }],
        ..Situation::default()
    };
    // All of these rules fire somewhere, so that their ways are gone.
    let judge = more.judge_for(chord("C7"), &situation);
    let fired: BTreeSet<String> = voicings
        .iter()
        .flat_map(|voicing| judge.judge(voicing).findings)
        .map(|finding| finding.rule)
        .collect();
    assert_eq!(fired.len(), more.ids().count(), "{fired:?}");

    for set in shipped.chain([more, coded]) {
        for symbol in ["C7", "Cmaj7", "C7alt", "Cm7b5", "C7sus4", "C6", "C7/E"] {
            let chord = chord(symbol);
            let mut judge = None;
            let prepared = blocks(|| judge = Some(set.judge_for(chord, &situation)));
            let judge = judge.unwrap();
            for voicing in &voicings {
                assert_eq!(
                    blocks(|| judge.score(black_box(voicing))),
                    0,
                    "{} {symbol} {voicing}",
                    set.name()
                );
            }
            let [left, right] = [[48, 52, 58], [62, 66, 69]];
            assert_eq!(blocks(|| judge.score_keys(black_box(&left), black_box(&right))), 0);
            let explained = blocks(|| judge.judge(&voicings[0]));
            println!(
                "{} over {symbol}: prepared with {prepared} blocks, explained with {explained}",
                set.name()
            );
        }
    }
}
