//! Jumps: by hand, against a plain interpreter, and whatever the marks are.

use std::collections::BTreeSet;

use super::*;
use crate::sheet::road::Mark;
use crate::sheet::{Jump, JumpTo, JumpUntil};

#[test]
fn ok_jumps() {
    for (text, expected) in [
        // Da capo, dal segno.
        ("A B <fine> C <da_capo>", "ABCAB"),
        ("A B <fine> C <da_capo_al_fine>", "ABCAB"),
        ("A <segno> B C <dal_segno>", "ABCBC"),
        ("A <segno> B <fine> C <dal_segno_al_fine>", "ABCB"),
        // To the coda.
        ("A B <to_coda> C <da_capo_al_coda> <coda> D", "ABCABD"),
        ("A <segno> B <to_coda> C <dal_segno_al_coda> <coda> D E", "ABCBDE"),
        ("A <segno> B <to_coda> C <dal_segno> <coda> D E", "ABCBDE"),
        // The jump says which of the two counts.
        ("A <to_coda> B <fine> C <da_capo_al_fine> <coda> D <fine>", "ABCAB"),
        ("A <fine> B <to_coda> C <da_capo_al_coda> <coda> D <fine>", "ABCABD"),
        ("A <fine> B <to_coda> C <da_capo> <coda> D", "ABCA"),
        ("A <to_coda> B <fine> C <da_capo> <coda> D <fine> E", "ABCAD"),
        // Passed again, a jump means nothing; a later one is taken.
        ("A B <da_capo> C", "ABABC"),
        ("A <segno> B <dal_segno> C <da_capo_al_fine> <coda> D <fine>", "ABBCABCD"),
        ("<segno> A B <to_coda> C <dal_segno_al_coda> <coda> D <da_capo_al_fine> E <fine>", "ABCABDABCDE"),
        // Several of a kind.
        (
            "<segno> A <to_coda> B <dal_segno_al_coda> <coda> C <segno> D <to_coda> E <dal_segno_al_coda> <coda> F",
            "ABACDEDF",
        ),
        ("<segno=1> A <segno=2> B C <dal_segno=1> D <dal_segno=2>", "ABCABCDBCD"),
        ("A <to_coda=2> B <da_capo> <coda=1> C <coda=2> D", "ABAD"),
        // A label that no sign has means the only one.
        ("<segno=x> A B <dal_segno=y>", "ABAB"),
        ("A <to_coda=y> B <da_capo> C <coda=x> D", "ABAD"),
        // Repeats first; after the jump they are not taken again, and the last ending is played.
        ("|: A :| B <da_capo>", "AABAB"),
        ("|: A B :| <da_capo>", "ABABAB"),
        ("|: A [1 B ] :| [2 C ] D <da_capo>", "ABACDACD"),
        ("|: A [1 B ] :| [2 C <da_capo> ] D", "ABACACD"),
        ("|: A [1 B ] :| C <da_capo>", "ABACAC"),
        ("|: A [1 B ] :| <da_capo>", "ABABAB"),
        ("|: A <fine> :| |: B :| <da_capo_al_fine>", "AABBA"),
        ("|: A <to_coda> [1 B ] :| [2 C ] D <da_capo_al_coda> <coda> E", "ABACDAE"),
        ("|: A [1 B <da_capo> ] :| [2 C ]", "ABAC"),
        // Of the endings the one that has the end, or the way out.
        ("|: A [1 B <fine> ] :| [2 C ] D <da_capo_al_fine>", "ABACDAB"),
        ("|: A [1 B <to_coda> ] :| [2 C ] D <da_capo_al_coda> <coda> E", "ABACDABE"),
        ("|: A [1 B <fine> ] :| [2 C <to_coda> ] D <da_capo_al_coda> <coda> E", "ABACDACE"),
        ("|: A [1 B <fine> ] :| C <da_capo_al_fine>", "ABACAB"),
        // Unless something says so.
        ("|: A :| B <da_capo_with_repeats>", "AABAAB"),
        ("|: A :|+ |: B :| C <da_capo>", "AABBCAABC"),
        ("|: A [1 B ] :|+ [2 C ] D <da_capo>", "ABACDABACD"),
        ("|: A <fine> B :|+ C <da_capo>", "ABABCABA"),
        // A coda is come to for the first time.
        ("A <to_coda> B <da_capo> <coda> |: C :|", "ABACC"),
        ("A <to_coda> B <da_capo> <coda> |: C [1 D ] :| [2 E ]", "ABACDCE"),
        // Into the middle of a repeat, and into an ending.
        ("|: A <segno> B :| C <dal_segno>", "ABABCBC"),
        ("|: A <segno> B :|+ C <dal_segno>", "ABABCBABC"),
        ("|: A [1 <segno> B ] :| [2 C ] D <dal_segno>", "ABACDBD"),
        ("|: A [1 <segno> B ] :|+ [2 C ] D <dal_segno>", "ABACDBACD"),
        ("[1 A ] :| [2 B ] C <da_capo>", "ABCBC"),
        // One bar, and without a jump nothing counts.
        ("<segno> A <dal_segno>", "AA"),
        ("A <to_coda> B <fine> <coda> C", "ABC"),
    ] {
        assert_eq!(names(text), expected, "{text}");
        let told: Vec<String> = played(text).findings.iter().map(ToString::to_string).collect();
        assert!(told.iter().all(|told| told.contains("never played")), "{text}: {told:?}");
    }
}

#[test]
fn ok_broken_marks_are_told_and_the_music_goes_on() {
    for (text, expected, bar, message) in [
        ("A B <dal_segno> C", "ABC", "B", "no segno stands in front of this `D.S.`, the music goes on"),
        ("A B <dal_segno=2_al_coda> C", "ABC", "B", "no segno `2` stands in front of this `D.S. al Coda`"),
        ("A <dal_segno> <segno> B", "AB", "A", "no segno stands in front"),
        ("A <to_coda> B <da_capo>", "ABAB", "A", "no coda stands behind this `To Coda`, the music goes on"),
        ("<coda> A <to_coda=3> B <da_capo>", "ABAB", "A", "no coda `3` stands behind"),
        ("<segno=1> A <segno=2> B <dal_segno=3> C", "ABC", "B", "no segno `3` stands in front"),
        ("A B <da_capo_al_fine> C", "ABABC", "B", "this jump goes `al Fine` and comes to none"),
        ("A B <da_capo_al_coda> C", "ABABC", "B", "this jump goes `al Coda` and nothing leaves for one"),
        ("A <fine> B C <da_capo_al_fine>", "ABCA", "", ""),
        ("A B <da_capo_al_fine> C <fine>", "ABABC", "", ""),
        ("A <fine> B <da_capo> C D", "ABA", "C", "this bar and the 1 behind it are never played"),
        ("A <to_coda> B <da_capo> C <coda> D", "ABAD", "C", "this bar is never played"),
    ] {
        assert_eq!(names(text), expected, "{text}");
        let found = played(text).findings;
        match found.first() {
            Some(first) => assert!(first.bar == bar && first.message.starts_with(message), "{text}: {first}"),
            None => assert_eq!(message, "", "{text}"),
        }
        assert!(found.iter().all(|finding| !finding.help.is_empty()));
    }
}

#[test]
fn ok_chords_and_ties_across_jumps() {
    for (text, expected) in [
        // The segno sounds as it did the first time.
        ("A.C <segno> B C.F <dal_segno>", "0A.C 2C.F 3B.C 4C.F"),
        // In front of a coda without a symbol the chord that leaves goes on.
        ("A.C <to_coda> B.F <da_capo> <coda> D E.G", "0A.C 1B.F 2A.C 4E.G"),
    ] {
        assert_eq!(symbols(text), expected, "{text}");
    }
    assert_eq!(notes("A..E5~ <to_coda> B..~E5 <da_capo> <coda> C..~E5"), "E5~ ~E5 E5~ ~E5");
    assert_eq!(notes("A..E5~ <to_coda> B..~E5 <da_capo> <coda> C..F5"), "E5~ ~E5 E5 F5");
}

#[test]
fn err_too_many_bars_by_jumps() {
    // Each of so many bars jumps to the start.
    let mut page = page(&"A ".repeat(300));
    for bar in &mut page.bars {
        bar.road.add(Mark::Jump(Jump { to: JumpTo::Start, until: JumpUntil::Unsaid, with_repeats: false }));
    }
    let error = page.as_played().unwrap_err();
    assert!(error.is_limit() && error.to_string().contains("MOST_BARS_PLAYED"), "{error}");
    page.bars.truncate(100);
    page.notes.truncate(100);
    assert_eq!(page.as_played().unwrap().bars.len(), 100 * 101 / 2 + 100);
}

/// A repeated part, its passes written out one by one.
struct Group {
    section: Vec<usize>,
    endings: Vec<Vec<usize>>,
    /// The ending of each pass.
    turns: Vec<Option<usize>>,
    after_jump: bool,
}

impl Group {
    fn has(&self, bar: usize) -> bool {
        self.section.iter().chain(self.endings.iter().flatten()).any(|own| *own == bar)
    }

    /// The bars from `from` on, where it is here, else all.
    fn bars(&self, from: usize, repeats: bool, counts: impl Fn(usize) -> bool) -> Vec<usize> {
        let first = self.section.iter().chain(self.endings.iter().flatten()).next().copied();
        let inside = self.endings.iter().position(|ending| ending.contains(&from) && first != Some(from));
        let mut turns = self.turns.clone();
        if let Some(inside) = inside {
            while turns[0] != Some(inside) {
                turns.remove(0);
            }
        }
        if !repeats {
            let wanted = self.endings.iter().position(|ending| ending.iter().any(|bar| counts(*bar)));
            turns = match (inside, wanted) {
                (Some(_), _) => vec![turns[0]],
                (None, Some(ending)) => vec![Some(ending)],
                (None, None) => vec![*turns.last().unwrap()],
            };
        }
        let mut bars: Vec<usize> = Vec::new();
        for (pass, turn) in turns.iter().enumerate() {
            let own = self.section.iter().chain(turn.iter().flat_map(|turn| &self.endings[*turn]));
            bars.extend(own.filter(|bar| pass > 0 || !self.has(from) || **bar >= from));
        }
        bars
    }
}

/// The road read word by word: all that lies ahead is written down, and walked along up to the first mark that counts.
fn interpreted(groups: &[Group], roads: &[Road]) -> Vec<usize> {
    let (mut order, mut from) = (Vec::new(), 0);
    let (mut jumped, mut left, mut entered) = (BTreeSet::new(), BTreeSet::new(), BTreeSet::new());
    let mut last_jump: Option<&Jump> = None;
    let mut in_coda = false;
    let only = |signs: Vec<(usize, &String)>, label: &String| -> Vec<usize> {
        let own: Vec<usize> = signs.iter().filter(|sign| sign.1 == label).map(|sign| sign.0).collect();
        if own.is_empty() && signs.len() == 1 { vec![signs[0].0] } else { own }
    };
    'legs: loop {
        let mut ahead: Vec<(usize, usize)> = Vec::new();
        let first = groups.iter().position(|group| group.has(from)).unwrap();
        for (index, group) in groups.iter().enumerate().skip(first) {
            let again = last_jump.is_some_and(|jump| jump.with_repeats || group.after_jump);
            let repeats = again || !entered.contains(&index);
            let counts = |bar: usize| {
                let Some(jump) = last_jump else { return false };
                let codas = roads.iter().enumerate().filter_map(|(at, road)| Some((at, road.coda.as_ref()?)));
                let coda = roads[bar].to_coda.as_ref().map(|label| only(codas.collect(), label));
                let is_exit = coda.is_some_and(|codas| codas.iter().any(|coda| *coda > bar));
                (roads[bar].fine && (in_coda || jump.until != JumpUntil::Coda))
                    || (is_exit && !in_coda && jump.until != JumpUntil::Fine && !left.contains(&bar))
            };
            ahead.extend(group.bars(from, repeats, counts).into_iter().map(|bar| (bar, index)));
        }
        for (at, (bar, group)) in ahead.iter().copied().enumerate() {
            order.push(bar);
            entered.insert(group);
            if ahead[at + 1..].iter().any(|later| later.0 == bar) {
                continue;
            }
            let road = &roads[bar];
            if let Some(jump) = last_jump {
                if road.fine && (in_coda || jump.until != JumpUntil::Coda) {
                    return order;
                }
                if let Some(label) = &road.to_coda
                    && !in_coda
                    && jump.until != JumpUntil::Fine
                    && left.insert(bar)
                {
                    let codas =
                        roads.iter().enumerate().filter_map(|(at, road)| Some((at, road.coda.as_ref()?)));
                    if let Some(coda) = only(codas.collect(), label).into_iter().find(|coda| *coda > bar) {
                        (from, in_coda) = (coda, true);
                        continue 'legs;
                    }
                }
            }
            if let Some(jump) = &road.jump
                && jumped.insert(bar)
            {
                let segnos =
                    roads.iter().enumerate().filter_map(|(at, road)| Some((at, road.segno.as_ref()?)));
                let target = match &jump.to {
                    JumpTo::Start => Some(0),
                    JumpTo::Segno(label) => {
                        only(segnos.collect(), label).into_iter().rfind(|segno| *segno <= bar)
                    }
                };
                if let Some(target) = target {
                    (from, in_coda, last_jump) = (target, false, Some(jump));
                    continue 'legs;
                }
            }
        }
        return order;
    }
}

/// The page of some parts, and the parts written out.
fn grouped(parts: &[(Part, bool)]) -> (LeadSheet, Vec<Group>) {
    let plain: Vec<Part> = parts.iter().map(|(part, _)| part.clone()).collect();
    let (text, _) = written(&plain);
    let mut page = page(&text);
    let (mut groups, mut at) = (Vec::new(), 0);
    for (part, after_jump) in parts {
        let mut take = |count: usize| {
            at += count;
            (at - count..at).collect::<Vec<usize>>()
        };
        let group = match part {
            Part::Plain(count) => {
                Group { section: take(*count), endings: vec![], turns: vec![None], after_jump: false }
            }
            Part::Repeated(count) => {
                let turns = vec![None, None];
                Group { section: take(*count), endings: vec![], turns, after_jump: *after_jump }
            }
            Part::Endings(count, endings, in_turns) => {
                let section = take(*count);
                let last = endings.len() - 1;
                let mut turns: Vec<Option<usize>> = Vec::new();
                if *in_turns {
                    for round in 0..3 {
                        turns.extend((0..last).filter(|index| endings[*index].1 > round).map(Some));
                    }
                } else {
                    turns.extend((0..last).flat_map(|index| vec![Some(index); endings[index].1]));
                }
                turns.push(Some(last));
                let endings = endings.iter().map(|(count, _)| take(*count)).collect();
                Group { section, endings, turns, after_jump: *after_jump }
            }
        };
        for bar in group.section.iter().chain(group.endings.iter().flatten()) {
            let line = &mut page.bars[*bar].right;
            line.after_jump = group.after_jump && line.repeat == Some(Repeat::Backward);
        }
        groups.push(group);
    }
    (page, groups)
}

fn mark() -> impl Strategy<Value = Mark> {
    let label = || prop_oneof![3 => Just(String::new()), 1 => Just("2".to_owned())];
    let to = prop_oneof![Just(JumpTo::Start), label().prop_map(JumpTo::Segno)];
    let until = prop_oneof![Just(JumpUntil::Unsaid), Just(JumpUntil::Fine), Just(JumpUntil::Coda)];
    prop_oneof![
        label().prop_map(Mark::Segno),
        label().prop_map(Mark::Coda),
        label().prop_map(Mark::ToCoda),
        Just(Mark::Fine),
        (to, until, proptest::bool::weighted(0.25)).prop_map(|(to, until, with_repeats)| Mark::Jump(Jump {
            to,
            until,
            with_repeats
        })),
    ]
}

fn marks() -> impl Strategy<Value = Vec<(usize, Mark)>> {
    proptest::collection::vec((any::<usize>(), mark()), 0..9)
}

fn put(page: &mut LeadSheet, marks: Vec<(usize, Mark)>) {
    let count = page.bars.len();
    for (at, mark) in marks {
        page.bars[at % count].road.add(mark);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    /// A page of known parts with any marks is played as the interpreter plays it.
    #[test]
    fn prop_as_the_interpreter(
        parts in proptest::collection::vec((part(), any::<bool>()), 1..5),
        marks in marks(),
    ) {
        let (mut page, groups) = grouped(&parts);
        put(&mut page, marks);
        let roads: Vec<Road> = page.bars.iter().map(|bar| bar.road.clone()).collect();
        let played = page.as_played().unwrap();
        assert_sound(&page, &played);
        prop_assert_eq!(&played.bars, &interpreted(&groups, &roads), "{:?} {:?}", parts, roads);
    }

    /// Whatever signs and marks there are: it ends, each leg is no longer than the page with its repeats, every bar is played or told.
    #[test]
    fn prop_any_marks(words in proptest::collection::vec(proptest::sample::select(
        &["A.C.E5~", "A..~E5", "A.F", "A..E5+~E5~", "|:", ":|", ":|+", "[1", "[2", "[1,2", "[", "]", ")"][..]
    ), 1..40), marks in marks()) {
        let mut page = page(&format!("A {}", words.join(" ")));
        let plain = page.as_played().unwrap().bars.len();
        put(&mut page, marks);
        let turns = page.bars.iter().map(|bar| {
            usize::from(bar.road.jump.is_some()) + usize::from(bar.road.to_coda.is_some())
        });
        let legs = 1 + turns.sum::<usize>();
        let played = page.as_played().unwrap();
        assert_sound(&page, &played);
        prop_assert!(played.bars.len() <= legs * plain);
        prop_assert_eq!(played.bars[0], 0);
        let missing = (0..page.bars.len()).filter(|bar| !played.bars.contains(bar));
        let runs = missing.clone().filter(|bar| *bar == 0 || played.bars.contains(&(bar - 1))).count();
        let told = played.findings.iter().filter(|finding| finding.message.contains("never played")).count();
        prop_assert_eq!(told, runs);
        // What is asked of an arranger has every chord of the page.
        let asked = page.progression_as_played().unwrap();
        prop_assert!((0..page.chords.len()).all(|chord| asked.same.contains(&chord)));
    }
}
