//! A chord that was met before is pushed and answered without the heap, and however many come, no more is kept.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a test fails by panicking")]

use std::hint::black_box;

use overshell::chord::Key;
use overshell::rules::RuleSet;
use overshell::search::{ArrangeOptions, Live, Slot};

#[global_allocator]
static HEAP: dhat::Alloc = dhat::Alloc;

/// How many blocks are allocated meanwhile.
fn blocks<T>(work: impl FnOnce() -> T) -> u64 {
    let before = dhat::HeapStats::get().total_blocks;
    black_box(work());
    dhat::HeapStats::get().total_blocks - before
}

fn slots(texts: &[&str]) -> Vec<Slot> {
    let mut slots: Vec<Slot> = texts.iter().map(|text| text.parse().unwrap()).collect();
    slots[1].moving = vec![("G5".parse().unwrap(), 4), ("A5".parse().unwrap(), 4)];
    slots
}

/// One test, since the count is of the whole process.
#[test]
fn ok_a_chord_met_before_needs_no_heap() {
    let _profiler = dhat::Profiler::builder().testing().build();
    assert_eq!(blocks(|| vec![black_box(1)]), 1, "the count counts");
    // Points so high that short numbers do not hold the ways.
    let dear = "format = 1\nname = \"dear\"\n[[rule]]\nid = \"dear\"\nkind = \"motion\"\nhand = \"left\"\nper-semitone = 900\n\
                leap-over = 5\nleap = 900\nmessage = \"m\"\nhelp = \"h\"\nsource = \"s\"\n";
    let outer = "format = 1\nname = \"outer\"\n[[rule]]\nid = \"outer\"\nkind = \"motion\"\nsimilar = 3\nmessage = \"m\"\n\
                 help = \"h\"\nsource = \"s\"\n";
    let standard = RuleSet::standard();
    let sets = [
        standard.clone(),
        standard.over_toml("dear.toml", dear).unwrap(),
        standard.over_toml("outer.toml", outer).unwrap(),
    ];
    let tune = slots(&["Dm7 F5", "G7 F5", "N.C. E5", "Cmaj7 E5", "A7 C2", "A7 E5", "Db7/Ab", "C6 E5"]);
    for rules in &sets {
        for look_ahead in [0, 1, 4, 8] {
            let mut live = Live::new(rules, Key::C_MAJOR, ArrangeOptions::default(), look_ahead).unwrap();
            live.prepare(&tune);
            let mut answers = 0;
            for slot in &tune {
                let mut answer = None;
                assert_eq!(blocks(|| answer = live.push(black_box(slot))), 0, "{slot:?}");
                answers += usize::from(answer.is_some());
            }
            assert_eq!(
                blocks(|| while live.finish().is_some() {
                    answers += 1
                }),
                0
            );
            assert_eq!(answers, tune.len());
        }

        // Without looking ahead the order does not matter.
        let mut live = Live::new(rules, Key::C_MAJOR, ArrangeOptions::default(), 0).unwrap();
        live.prepare(&tune);
        for slot in tune.iter().rev().chain(&tune) {
            assert_eq!(blocks(|| live.push(black_box(slot))), 0, "{slot:?}");
        }
    }

    // However long the tune, no more is kept.
    let mut live = Live::new(standard, Key::C_MAJOR, ArrangeOptions::default(), 1).unwrap();
    let known = slots(&["Dm7 F5", "G7 F5", "Cmaj7 E5"]);
    for slot in known.iter().cycle().take(6) {
        live.push(slot);
    }
    let before = dhat::HeapStats::get();
    for slot in known.iter().cycle().take(5_001) {
        black_box(live.push(slot));
    }
    let after = dhat::HeapStats::get();
    assert_eq!((after.curr_bytes, after.total_blocks), (before.curr_bytes, before.total_blocks));
}
