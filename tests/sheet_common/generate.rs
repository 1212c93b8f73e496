//! Sheets made up at random, every one of them valid.

use overshell::chord::{Key, Mode};
use overshell::pitch::{NoteName, Pitch};
use overshell::sheet::{
    Bar, Barline, Ending, EndingEdge, Jump, JumpTo, JumpUntil, LeadSheet, Metre, Note, NoteValue,
    PlacedChord, PlacedSymbol, Repeat, Road, TICKS_PER_QUARTER,
};
use proptest::collection::vec;
use proptest::prelude::*;

const SYMBOLS: [&str; 29] = [
    "D|Eb7",
    "B|C7",
    "(G7/B)",
    "(F#m|C7/Eb)",
    "Eb△7/Bb",
    "(N.C.)",
    "C7/b9",
    "C",
    "Bbm7",
    "F#7(b9,#11)",
    "E-7",
    "Abmaj7",
    "GMaj7",
    "D13",
    "C11",
    "Db7alt",
    "A7sus",
    "F6/9",
    "B°7",
    "Eø",
    "C/E",
    "G7/C#",
    "C5",
    "Am(maj7)",
    "N.C.",
    "Ebdim(maj7)",
    "C(b5)",
    "G9sus4/D",
    "D7(no3)",
];
const UNREAD: [&str; 6] = ["CTristan", "C<?>&\"", "C", "Cm7 (German)", "C(add8)", "IV"];
const STYLES: [&str; 4] = ["regular", "light-light", "light-heavy", "heavy-light"];

/// A note in the making: pitch, value, ties.
type Seed = (Option<(i8, i8)>, usize, bool, bool);

fn values() -> Vec<(NoteValue, u32)> {
    let quarter = TICKS_PER_QUARTER;
    [
        (1, 0, (1, 1), 4 * quarter),
        (2, 1, (1, 1), 3 * quarter),
        (2, 0, (1, 1), 2 * quarter),
        (4, 2, (1, 1), quarter * 7 / 4),
        (4, 1, (1, 1), quarter * 3 / 2),
        (4, 0, (1, 1), quarter),
        (8, 0, (1, 1), quarter / 2),
        (8, 1, (1, 1), quarter * 3 / 4),
        (16, 0, (1, 1), quarter / 4),
        (8, 0, (3, 2), quarter / 3),
        (4, 0, (3, 2), quarter * 2 / 3),
        (16, 0, (5, 4), quarter / 5),
        (64, 0, (1, 1), quarter / 16),
    ]
    .into_iter()
    .map(|(unit, dots, tuplet, ticks)| (NoteValue { unit, dots, tuplet }, ticks))
    .collect()
}

fn note_seed() -> impl Strategy<Value = Seed> {
    (proptest::option::weighted(0.8, (-15i8..=19, 1i8..=7)), 0..values().len(), any::<bool>(), any::<bool>())
}

fn barline() -> impl Strategy<Value = Barline> {
    let repeat = prop_oneof![Just(Repeat::Forward), Just(Repeat::Backward)];
    let edge = prop_oneof![Just(EndingEdge::Start), Just(EndingEdge::Stop), Just(EndingEdge::Discontinue)];
    let numbers = prop_oneof![Just("1"), Just("1,2"), Just("1, 2"), Just("")];
    let ending = (numbers, edge).prop_map(|(numbers, edge)| Ending { numbers: numbers.into(), edge });
    let style = proptest::sample::select(&STYLES[..]).prop_map(str::to_owned);
    let weighted = (
        proptest::option::weighted(0.2, style),
        proptest::option::weighted(0.2, repeat),
        proptest::option::weighted(0.2, ending),
    );
    (weighted, any::<bool>()).prop_map(|((style, repeat, ending), again)| Barline {
        style,
        repeat,
        after_jump: again && repeat == Some(Repeat::Backward),
        ending,
    })
}

/// Marks, with labels or without.
fn road() -> impl Strategy<Value = Road> {
    let label =
        || prop_oneof![3 => Just(String::new()), 1 => Just("2".to_owned()), 1 => Just("x-1".to_owned())];
    let to = prop_oneof![Just(JumpTo::Start), label().prop_map(JumpTo::Segno)];
    let until = prop_oneof![Just(JumpUntil::Unsaid), Just(JumpUntil::Fine), Just(JumpUntil::Coda)];
    let jump = (to, until, proptest::bool::weighted(0.2));
    let jump = jump.prop_map(|(to, until, with_repeats)| Jump { to, until, with_repeats });
    let rare = proptest::option::weighted::<BoxedStrategy<String>>;
    (
        rare(0.15, label().boxed()),
        rare(0.15, label().boxed()),
        rare(0.15, label().boxed()),
        proptest::bool::weighted(0.1),
        proptest::option::weighted(0.2, jump),
    )
        .prop_map(|(segno, coda, to_coda, fine, jump)| Road { segno, coda, to_coda, fine, jump })
}

fn key() -> impl Strategy<Value = Key> {
    (-7i8..=7, prop_oneof![Just(Mode::Major), Just(Mode::Minor)])
        .prop_map(|(sharps, mode)| Key::from_signature(sharps, mode).unwrap())
}

#[derive(Clone, Debug)]
struct BarSeed {
    number: String,
    implicit: bool,
    metre: Option<Metre>,
    key: Option<Key>,
    short: bool,
    notes: Vec<Seed>,
    chords: Vec<(u32, usize)>,
    left: Barline,
    right: Barline,
    road: Road,
}

fn bar_seed() -> impl Strategy<Value = BarSeed> {
    let metre = (1u8..=12, 0u32..6).prop_map(|(beats, power)| Metre { beats, unit: 1 << power });
    (
        "[ -~]{0,4}",
        any::<bool>(),
        proptest::option::weighted(0.4, metre),
        proptest::option::weighted(0.4, key()),
        proptest::bool::weighted(0.3),
        vec(note_seed(), 1..14),
        vec((0u32..1000, 0usize..SYMBOLS.len() + UNREAD.len()), 0..4),
        (barline(), barline(), proptest::option::weighted(0.5, road())),
    )
        .prop_map(|(number, implicit, metre, key, short, notes, chords, (left, right, road))| BarSeed {
            number,
            implicit,
            metre,
            key,
            short,
            notes,
            chords,
            left,
            right,
            road: road.unwrap_or_default(),
        })
}

/// A sheet that holds whatever a lead sheet can hold.
pub(crate) fn sheet() -> impl Strategy<Value = LeadSheet> {
    let title = "[ -~éß♭\u{4E2D}]{0,20}".prop_map(|title: String| title.trim().to_owned());
    (title, proptest::option::of(1u16..=1000), key(), vec(bar_seed(), 1..6)).prop_map(
        |(title, tempo, key, seeds)| {
            let mut sheet = LeadSheet { title, key, tempo, bars: vec![], notes: vec![], chords: vec![] };
            let (mut metre, mut now, mut start) = (Metre::COMMON, key, 0);
            for (index, seed) in seeds.into_iter().enumerate() {
                metre = seed.metre.unwrap_or(metre);
                now = if index == 0 { key } else { seed.key.unwrap_or(now) };
                let length = if seed.short { metre.beat_ticks() } else { metre.bar_ticks() };
                fill(&mut sheet, start, length, &seed.notes);
                place(&mut sheet, index, start, length, &seed.chords);
                let BarSeed { number, implicit, left, right, road, .. } = seed;
                sheet.bars.push(Bar { number, implicit, start, length, metre, key: now, left, right, road });
                start += length;
            }
            sheet
        },
    )
}

fn fill(sheet: &mut LeadSheet, start: u32, length: u32, seeds: &[Seed]) {
    let (mut at, values) = (0, values());
    for (pitch, value, tied_from, tied_to) in seeds.iter().copied() {
        if at == length {
            return;
        }
        let (value, ticks) = values[value];
        // What does not fit ends the bar, without a printed value.
        let (duration, value) = if at + ticks <= length { (ticks, Some(value)) } else { (length - at, None) };
        let pitch = pitch
            .and_then(|(fifths, octave)| Pitch::new(NoteName::from_fifths(fifths).unwrap(), octave).ok());
        let pitched = pitch.is_some();
        let (tied_from, tied_to) = (pitched && tied_from, pitched && tied_to);
        sheet.notes.push(Note { start: start + at, duration, pitch, tied_from, tied_to, value });
        at += duration;
    }
    if at < length {
        let (start, duration) = (start + at, length - at);
        sheet.notes.push(Note {
            start,
            duration,
            pitch: None,
            tied_from: false,
            tied_to: false,
            value: None,
        });
    }
}

fn place(sheet: &mut LeadSheet, bar: usize, start: u32, length: u32, seeds: &[(u32, usize)]) {
    let mut seeds: Vec<(u32, usize)> =
        seeds.iter().map(|(at, symbol)| (length / 1000 * at, *symbol)).collect();
    seeds.sort_unstable();
    seeds.dedup_by_key(|seed| seed.0);
    for (at, symbol) in seeds {
        let symbol = match SYMBOLS.get(symbol) {
            Some(symbol) => PlacedSymbol::Read(symbol.parse().unwrap()),
            None => {
                let text = UNREAD[symbol - SYMBOLS.len()].to_owned();
                let root = (symbol - SYMBOLS.len()).is_multiple_of(2).then_some(NoteName::C);
                PlacedSymbol::Unread { root, text }
            }
        };
        sheet.chords.push(PlacedChord { start: start + at, bar, symbol });
    }
}
