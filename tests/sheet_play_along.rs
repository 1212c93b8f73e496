//! Tracks to play along with: what holds for every sheet, byte by byte, and some by hand.

#![cfg(feature = "sheet")]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    reason = "a test fails by panicking, also in its helpers"
)]

mod sheet_common;
#[path = "sheet_common/smf.rs"]
mod smf;

use std::sync::Arc;

use overshell::chord::Degree;
use overshell::search::Arrangement;
use overshell::sheet::{
    BassLine, Drums, LeadSheet, PlayAlong, ReadOptions, TICKS_PER_QUARTER, read, write_midi, write_play_along,
};
use proptest::prelude::*;
use proptest::test_runner::FileFailurePersistence;
use sheet_common::{arrange, generate};
use smf::Track;

const NAMES: [&str; 6] = ["Melody", "Right hand", "Left hand", "Bass", "Guide tones", "Drums"];
/// From 0.
const CHANNELS: [u8; 6] = [0, 1, 2, 3, 4, 9];
const BASS: usize = 4;
const GUIDES: usize = 5;
const DRUMS: usize = 6;

fn sheet(text: &str) -> LeadSheet {
    read(text.as_bytes(), &ReadOptions::default()).unwrap().sheet
}

fn tracks(sheet: &LeadSheet, arrangement: &Arrangement, options: &PlayAlong) -> Vec<Track> {
    let (format, division, tracks) = smf::read(&write_play_along(sheet, arrangement, options).unwrap());
    assert_eq!((format, division, tracks.len()), (1, 480, 7));
    tracks
}

/// Ticks of the file, in other words than the writer's.
fn ticks(of_sheet: u64) -> u32 {
    let per_tick = u64::from(TICKS_PER_QUARTER) / 480;
    u32::try_from((2 * of_sheet + per_tick) / (2 * per_tick)).unwrap()
}

/// What comes before the tune.
fn lead(sheet: &LeadSheet, count_in: u8) -> u32 {
    let first = &sheet.bars[0];
    let full = u64::from(first.metre.bar_ticks());
    let missing = full.saturating_sub(u64::from(first.length));
    if count_in == 0 { 0 } else { ticks(full * u64::from(count_in) + missing) }
}

fn options() -> impl Strategy<Value = PlayAlong> {
    let bass = prop_oneof![Just(BassLine::Silent), Just(BassLine::Two), Just(BassLine::Four)];
    let drums = prop_oneof![Just(Drums::Silent), Just(Drums::Beats), Just(Drums::RideAndHiHat)];
    (0u8..=2, bass, drums, any::<bool>(), 1u8..=3)
        .prop_map(|(count_in, bass, drums, swing, passes)| PlayAlong { count_in, bass, drums, swing, passes })
}

/// Cases that failed once are kept apart from the tests, which are packaged.
fn config() -> ProptestConfig {
    let kept = FileFailurePersistence::Direct(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/proptest-regressions/sheet_play_along.txt"
    ));
    ProptestConfig { failure_persistence: Some(Box::new(kept)), ..ProptestConfig::with_cases(200) }
}

proptest! {
    #![proptest_config(config())]

    /// Names, channels, programs; the page as `write_midi` has it, later; all within the end; keys sound once at a time.
    #[test]
    fn prop_the_page_is_as_it_was_and_the_band_keeps_its_places(
        sheet in generate::sheet(),
        options in options(),
        shift in prop_oneof![Just(0i8), Just(12)],
    ) {
        let arrangement = arrange::simple(&sheet, shift);
        let found = tracks(&sheet, &arrangement, &options);
        let (_, _, page) = smf::read(&write_midi(&sheet, &arrangement).unwrap());
        let (lead, length) = (lead(&sheet, options.count_in), page[0].end);
        let passes = u32::from(options.passes);
        for track in &found {
            prop_assert_eq!(track.end, lead + passes * length);
        }
        for ((track, name), channel) in found[1..].iter().zip(NAMES).zip(CHANNELS) {
            prop_assert_eq!(track.name(), name);
            // Panics where a note has no end or a key is struck twice.
            let notes = track.notes(channel);
            let start = if name == "Drums" { 0 } else { lead };
            prop_assert!(notes.iter().all(|note| start <= note.0 && note.1 <= track.end), "{}", name);
        }
        let programs: Vec<Vec<u8>> = found.iter().map(Track::programs).collect();
        // MIDI Association, RP-003: program 1 is 00, program 33 is 20 hex; percussion has channel 10.
        prop_assert_eq!(programs, [vec![], vec![0], vec![0], vec![0], vec![0x20], vec![0], vec![]]);
        for (at, channel) in (1..4).zip(CHANNELS) {
            let once = page[at].notes(channel);
            let expected: Vec<_> = (0..passes)
                .flat_map(|pass| once.iter().map(move |note| {
                    let by = lead + pass * length;
                    (note.0 + by, note.1 + by, note.2, note.3)
                }))
                .collect();
            prop_assert_eq!(found[at].notes(channel), expected);
        }
        prop_assert_eq!(found, tracks(&sheet, &arrangement, &options));
    }

    /// The bass stays on its strings and starts every chord with its root, or the bass that the symbol names; the guide tones are in
    /// the tenor, of the chord, and two; where no chord sounds, both rest.
    #[test]
    fn prop_bass_and_guide_tones_belong_to_the_chord(sheet in generate::sheet(), options in options()) {
        let arrangement = arrange::simple(&sheet, 0);
        let found = tracks(&sheet, &arrangement, &options);
        let (lead, length) = (lead(&sheet, options.count_in), ticks(u64::from(sheet.end())));
        let [bass, guides] = [(BASS, 3), (GUIDES, 4)].map(|(at, channel)| found[at].notes(channel));
        // E1 to G3, C3 to G4.
        prop_assert!(bass.iter().all(|note| (28..=55).contains(&note.2)));
        prop_assert!(guides.iter().all(|note| (48..=67).contains(&note.2)));
        prop_assert!(options.bass != BassLine::Silent || bass.is_empty());
        for pass in 0..u32::from(options.passes) {
            let base = lead + pass * length;
            for (index, (placed, arranged)) in sheet.chords.iter().zip(&arrangement.chords).enumerate() {
                let start = base + ticks(u64::from(placed.start));
                let end = base + ticks(u64::from(sheet.chord_end(index)));
                let within = |note: &&smf::Sound| start <= note.0 && note.0 < end;
                // A chord shorter than a tick, or beside one, cannot be told from its neighbours.
                let beside = index.saturating_sub(1)..(index + 2).min(sheet.chords.len());
                let short = |at: usize| {
                    let [from, to] = [sheet.chords[at].start, sheet.chord_end(at)].map(|at| ticks(u64::from(at)));
                    to - from < 2
                };
                if beside.into_iter().any(short) {
                    continue;
                }
                let Some(chord) = arranged.chord else {
                    prop_assert!(!bass.iter().chain(&guides).any(|note| within(&note)));
                    continue;
                };
                let root = chord.root().pitch_class();
                let lowest = chord.bass().unwrap_or(chord.root()).pitch_class();
                let class = |note: &smf::Sound| overshell::pitch::PitchClass::new(note.2 % 12).unwrap();
                if options.bass != BassLine::Silent {
                    let first = bass.iter().find(within).unwrap();
                    prop_assert_eq!((first.0, class(first)), (start, lowest));
                    // One voice.
                    let own: Vec<_> = bass.iter().filter(within).collect();
                    prop_assert!(own.windows(2).all(|pair| pair[0].1 == pair[1].0), "{:?}", own);
                    prop_assert!(own.iter().all(|note| note.1 <= end));
                }
                let own: Vec<_> = guides.iter().filter(within).collect();
                prop_assert_eq!(own[0].0, start);
                let heard = chord.quality().tones();
                for note in own {
                    let degree = heard.iter().any(|degree| degree.class_over(root) == class(note));
                    let suspended = Degree::Fourth.class_over(root) == class(note);
                    prop_assert!(degree || suspended, "{} {:?}", chord, note);
                    // No longer than a quarter, and not into the next chord.
                    prop_assert!(note.1 <= end && note.1 - note.0 <= 480);
                }
            }
        }
    }

    /// A track does not hang on another: without bass or drums the rest is the same, byte by byte.
    #[test]
    fn prop_muting_a_track_leaves_the_others(sheet in generate::sheet(), options in options()) {
        let arrangement = arrange::simple(&sheet, 0);
        let found = tracks(&sheet, &arrangement, &options);
        let without = [
            (BASS, PlayAlong { bass: BassLine::Silent, ..options }),
            (DRUMS, PlayAlong { drums: Drums::Silent, ..options }),
        ];
        for (muted, options) in without {
            for (at, (one, other)) in found.iter().zip(tracks(&sheet, &arrangement, &options)).enumerate() {
                prop_assert!(at == muted || one.chunk == other.chunk, "{}", at);
            }
        }
        // Without the hands, melody and band are the same.
        let mut silent = arrangement.clone();
        silent.chords.iter_mut().for_each(|chord| Arc::make_mut(chord).voicing = None);
        for (at, (one, other)) in found.iter().zip(tracks(&sheet, &silent, &options)).enumerate() {
            prop_assert!([2, 3].contains(&at) || one.chunk == other.chunk, "{}", at);
        }
    }

    /// The drums play what they have on any beat of the tune, the count-in on every beat before it.
    #[test]
    fn prop_drums_count_in_and_keep_off_a_first_pick_up(sheet in generate::sheet(), options in options()) {
        let found = tracks(&sheet, &arrange::simple(&sheet, 0), &options);
        let drums = found[DRUMS].notes(9);
        // MIDI Association, RP-003: side stick, closed and pedal hi-hat, ride cymbal 1.
        prop_assert!(drums.iter().all(|note| [37, 42, 44, 51].contains(&note.2)));
        let first = &sheet.bars[0];
        let full = ticks(u64::from(first.metre.bar_ticks()));
        let picks_up = first.length < first.metre.bar_ticks();
        let lead = lead(&sheet, options.count_in);
        let tune = if picks_up { lead + ticks(u64::from(first.length)) } else { lead };
        let clicks: Vec<_> = drums.iter().filter(|note| note.2 == 37).collect();
        // As many bars as were asked for and the one of the pick-up, each with its first beat stressed.
        let bars = if options.count_in == 0 { 0 } else { u32::from(options.count_in) + u32::from(picks_up) };
        let stressed: Vec<u32> = clicks.iter().filter(|note| note.3 > 100).map(|note| note.0).collect();
        prop_assert_eq!(stressed, (0..bars).map(|bar| bar * full).collect::<Vec<_>>());
        let between = clicks.windows(2).map(|pair| pair[1].0 - pair[0].0);
        prop_assert!(between.collect::<std::collections::BTreeSet<_>>().len() <= 1, "even");
        prop_assert!(clicks.iter().all(|note| note.0 < tune.max(bars * full)));
        prop_assert!(drums.iter().filter(|note| note.2 != 37).all(|note| note.0 + 1 >= tune));
        if options.drums == Drums::Silent {
            prop_assert_eq!(drums.len(), clicks.len());
        } else if sheet.bars.len() > 1 && sheet.bars[1].length == sheet.bars[1].metre.bar_ticks() {
            let second = lead + ticks(u64::from(sheet.bars[1].start));
            prop_assert!(drums.iter().any(|note| note.0 == second), "a stroke on one");
        }
    }
}

/// One bar to count in and one of C in 4/4, by hand from the format and the table.
#[test]
fn ok_the_drums_byte_by_byte() {
    let sheet = sheet("| C |");
    let found = tracks(&sheet, &arrange::simple(&sheet, 0), &PlayAlong::default());
    // A 32nd has 60 ticks, 3C; 420 ticks are 83 24.
    let mut expected = b"\0\xFF\x03\x05Drums".to_vec();
    let mut play = |delta: &[u8], on: [u8; 2]| {
        expected.extend([delta, &[0x99, on[0], on[1], 0x3C, 0x89, on[0], 0x40]].concat());
    };
    play(&[0x00], [37, 104]);
    for _ in 0..3 {
        play(&[0x83, 0x24], [37, 80]);
    }
    play(&[0x83, 0x24], [51, 64]);
    // Beat 2, foot and ride together; 2⅔ is 320 ticks later, 260 after the off, 82 04; beat 3 is 160 later, 100 after, 64.
    // A second message of the same kind needs no status.
    let both: &[u8] = &[0x83, 0x24, 0x99, 44, 60, 0x00, 51, 64, 0x3C, 0x89, 44, 0x40, 0x00, 51, 0x40];
    expected.extend(both);
    let mut play = |delta: &[u8], on: [u8; 2]| {
        expected.extend([delta, &[0x99, on[0], on[1], 0x3C, 0x89, on[0], 0x40]].concat());
    };
    play(&[0x82, 0x04], [51, 50]);
    play(&[0x64], [51, 64]);
    expected.extend(both);
    expected.extend([0x82, 0x04, 0x99, 51, 50, 0x3C, 0x89, 51, 0x40]);
    // The end is at 3840; the last stroke, at 3680, ends at 3740.
    expected.extend([0x64, 0xFF, 0x2F, 0x00]);
    assert_eq!(found[DRUMS].chunk, expected);
}

/// Tempo and metre stand at the start, also under a count-in; a change comes later by it, in every pass.
#[test]
fn ok_the_first_track() {
    let sheet = sheet("X:1\nT:Two Metres\nM:4/4\nL:1/4\nQ:1/4=90\nK:Eb\nc4|[M:6/8]c3|\n");
    let options = PlayAlong { count_in: 2, passes: 2, ..PlayAlong::default() };
    let found = tracks(&sheet, &arrange::simple(&sheet, 0), &options);
    let expected: [(u32, u8, &[u8]); 7] = [
        (0, 0x03, b"Two Metres"),
        // Handbook values of RP-001's text: 90 quarters a minute, 4/4, three flats, 6/8.
        (0, 0x51, &[0x0A, 0x2C, 0x2B]),
        (0, 0x58, &[4, 2, 0x18, 8]),
        (0, 0x59, &[0xFD, 0]),
        (3 * 1920, 0x58, &[6, 3, 0x24, 8]),
        (3 * 1920 + 1440, 0x58, &[4, 2, 0x18, 8]),
        (4 * 1920 + 1440, 0x58, &[6, 3, 0x24, 8]),
    ];
    let meta: Vec<_> =
        found[0].meta.iter().map(|(tick, kind, text)| (*tick, *kind, text.as_slice())).collect();
    assert_eq!(meta, expected);
    assert_eq!(found[0].end, 2 * 1920 + 2 * (1920 + 1440));
}

/// A pick-up of a quarter: a bar of clicks, three more, the pick-up on four with its click, then the band.
#[test]
fn ok_a_pick_up_is_counted_in() {
    let sheet = sheet("X:1\nM:4/4\nL:1/4\nK:C\nG|\"C\"c4|\"G7\"B3|\n");
    let arrangement = arrange::simple(&sheet, 0);
    let found = tracks(&sheet, &arrangement, &PlayAlong { passes: 2, ..PlayAlong::default() });
    let starts = |at: usize, channel, key: Option<u8>| -> Vec<u32> {
        let notes = found[at].notes(channel).into_iter();
        notes.filter(|note| key.is_none_or(|key| note.2 == key)).map(|note| note.0).collect()
    };
    assert_eq!(starts(DRUMS, 9, Some(37)), (0..8).map(|beat| beat * 480).collect::<Vec<_>>());
    assert_eq!(starts(1, 0, None)[..3], [7 * 480, 8 * 480, 12 * 480]);
    let ride = starts(DRUMS, 9, Some(51));
    assert_eq!(ride[0], 8 * 480);
    // The second pass comes round without a gap: the pick-up is the fourth beat of the last bar, and both bars behind it are full.
    let beats: Vec<u32> = ride.into_iter().filter(|at| at % 480 == 0).map(|at| at / 480).collect();
    assert_eq!(beats, (8..23).collect::<Vec<_>>());
    // The hi-hat is on two and four through both passes.
    assert_eq!(starts(DRUMS, 9, Some(44)), [9, 11, 13, 15, 17, 19, 21].map(|beat| beat * 480));
    assert_eq!(starts(BASS, 3, None)[..3], [8 * 480, 10 * 480, 12 * 480]);

    let found = tracks(&sheet, &arrangement, &PlayAlong { count_in: 0, ..PlayAlong::default() });
    let drums = found[DRUMS].notes(9);
    assert_eq!((drums[0].0, found[1].notes(0)[0].0), (480, 0));
}

#[test]
fn err_what_cannot_be_counted_in_or_would_not_end() {
    let short = sheet("| C | G7 |");
    let refused = |sheet: &LeadSheet, options: PlayAlong| {
        write_play_along(sheet, &arrange::simple(sheet, 0), &options).unwrap_err()
    };
    let usual = PlayAlong::default();
    let error = refused(&short, PlayAlong { count_in: 3, ..usual });
    assert!(error.is_range() && error.to_string().contains("3 bars to count in, expected 0 to 2"), "{error}");
    let error = refused(&short, PlayAlong { passes: 0, ..usual });
    assert!(error.is_range() && error.to_string().contains("0 passes"), "{error}");
    // A bar without end, as a sheet can hold it.
    let mut long = sheet("| C |");
    let length = u32::MAX;
    long.bars[0].length = length;
    long.notes[0].duration = length;
    let error = refused(&long, usual);
    assert!(error.is_limit() && error.to_string().contains("the limit is 1000000"), "{error}");
    let error = refused(&long, PlayAlong { passes: 2, ..usual });
    assert!(error.is_limit() && error.to_string().contains("the limit is 268435455"), "{error}");
    // The same without drums, in a metre of long bars, fits.
    long.bars[0].metre = overshell::sheet::Metre { beats: 255, unit: 1 };
    let few = PlayAlong { drums: Drums::Silent, count_in: 2, ..usual };
    let found = tracks(&long, &arrange::simple(&long, 0), &few);
    assert_eq!(found[0].end, lead(&long, 2) + ticks(u64::from(length)));
    // Of somebody else's sheet.
    let error = write_play_along(&short, &arrange::simple(&long, 0), &usual).unwrap_err();
    assert!(error.is_sheet());
    assert!("three".parse::<BassLine>().unwrap_err().is_range());
    assert_eq!("four".parse::<BassLine>().unwrap(), BassLine::Four);
    for (text, drums) in [("silent", Drums::Silent), ("beats", Drums::Beats), ("ride", Drums::RideAndHiHat)] {
        assert_eq!(text.parse::<Drums>().unwrap(), drums);
    }
    let error = "rock".parse::<Drums>().unwrap_err();
    assert!(error.is_range() && error.help().is_some(), "{error}");
}
