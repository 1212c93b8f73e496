//! Practice in all twelve keys: the triads over a chord, or a tune for two hands, as a book of music and a page to print.
//!
//! ```text
//! cargo run --release --example practice -- catalogue C7 --structures II,bVI --keys fifths
//! cargo run --release --example practice -- tune TUNE.musicxml --keys shuffle:7 --out practice
//! ```

#[path = "shared/option.rs"]
mod option;
#[path = "shared/page.rs"]
mod page;
#[macro_use]
mod shared;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, Parser, Subcommand, ValueEnum};
use itertools::Itertools;
use overshell::chord::{Chord, Degree, Family, Key, Mode};
use overshell::picture::{KeyboardOptions, keyboard};
use overshell::pitch::{Interval, NoteName};
use overshell::rules::{RuleSet, Situation, Verdict};
use overshell::search::{
    ArrangeOptions, ArrangedChord, Arrangement, CatalogueEntry, CatalogueOptions, Octave, Structure,
    arrange_many, catalogue,
};
use overshell::sheet::{
    Bar, Barline, CAUTION, KeyOrder, LeadSheet, Metre, Note, PlacedChord, PlacedSymbol, ReadOptions, Reading,
    Section, Six, Transposition, read_file, refuse_to_overwrite, write_book_musicxml, write_file,
};
use overshell::voicing::{HandSize, Label, Shell, TriadKind, Voicing};
use page::Page;

/// Writes what to practise in all twelve keys: a book in MusicXML and a page in HTML that prints on A4 and Letter
#[derive(Parser)]
struct Arguments {
    #[command(subcommand)]
    what: What,
}

#[derive(Subcommand)]
enum What {
    /// Triads over a chord
    Catalogue(OverChord),
    /// A tune for two hands
    Tune(OfTune),
}

#[derive(Args)]
struct OverChord {
    /// The chord symbol in its first key, such as C7
    symbol: String,
    /// Which triads, by their labels, separated by commas, such as II,bVI; without it, all major and minor ones that colour the chord in its first key, or the plain ones if none does
    #[arg(long, value_name = "LABELS", value_delimiter = ',', value_parser = option::value::<Label>)]
    structures: Vec<Label>,
    /// The shell in the left hand, by roles ("1 3 7") or degrees ("1 3 b7"); without it, whichever serves best
    #[arg(long)]
    shell: Option<String>,
    #[command(flatten)]
    usual: Usual,
}

#[derive(Args)]
struct OfTune {
    /// The tune: MusicXML (plain or compressed), ABC or a chart, told apart by content
    tune: PathBuf,
    /// The octave of the melody: 0 as it is moved, 1 an octave higher, auto whichever comes out better
    #[arg(long, default_value = "auto", value_parser = option::value::<Octave>)]
    octave: Octave,
    /// Stop at the first thing in the tune that cannot be read
    #[arg(long)]
    strict: bool,
    #[command(flatten)]
    usual: Usual,
}

/// What both are asked.
#[derive(Args)]
struct Usual {
    /// The order of the keys: fourths, fifths, chromatic, or shuffle: and a number such as shuffle:7
    #[arg(long, value_name = "ORDER", default_value_t, value_parser = option::value::<KeyOrder>)]
    keys: KeyOrder,
    /// How a key with six accidentals is written
    #[arg(long, value_enum, default_value_t)]
    six: SixSigns,
    /// The folder for the results
    #[arg(long, value_name = "DIR", default_value = "out")]
    out: PathBuf,
    /// A rule set that ships, a rule file, or a folder of them
    #[arg(long, value_name = "SET_OR_FILE", default_value = "standard")]
    rules: String,
    /// What the hands reach: small, medium, large, or a measured span such as 205mm
    #[arg(long, default_value_t, value_parser = option::value::<HandSize>)]
    hand: HandSize,
    /// Somebody else plays the bass
    #[arg(long)]
    bass_player: bool,
}

#[derive(Clone, Copy, Default, ValueEnum)]
enum SixSigns {
    /// G flat major, E flat minor
    #[default]
    Flats,
    /// F sharp major, D sharp minor
    Sharps,
}

impl Usual {
    fn keys(&self, first: Key) -> Vec<Key> {
        let six = match self.six {
            SixSigns::Flats => Six::Flats,
            SixSigns::Sharps => Six::Sharps,
        };
        self.keys.keys(first, six)
    }
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    shared::run(|| match &arguments.what {
        What::Catalogue(question) => over_chord(question),
        What::Tune(question) => of_tune(question),
    })
}

fn over_chord(question: &OverChord) -> overshell::Result<()> {
    let asked: Chord = question.symbol.parse()?;
    let first = asked.as_played().without_bass();
    let shell = question.shell.as_deref().map(|text| Shell::for_chord(text, first)).transpose()?;
    let rules = RuleSet::load(&question.usual.rules)?;
    let situation = Situation {
        hand_size: question.usual.hand,
        bass_player: question.usual.bass_player,
        ..Situation::default()
    };
    let options = CatalogueOptions { shell, situation };
    let labels: Vec<Label> = if question.structures.is_empty() {
        let entries = catalogue(first, &rules, &options)?;
        let usual = |entry: &&CatalogueEntry| {
            matches!(entry.label.kind(), TriadKind::Major | TriadKind::Minor)
                && entry.verdict != Verdict::Clash
        };
        // Where none colours the chord, those that are plain.
        let best = entries.iter().filter(usual).map(|entry| entry.verdict).max();
        let wanted = |entry: &&CatalogueEntry| Some(entry.verdict) == best;
        entries.iter().filter(usual).filter(wanted).map(|entry| entry.label).collect()
    } else {
        question.structures.iter().copied().unique().collect()
    };
    let home = home(first);
    let mut parts: Vec<(Key, Chord, Vec<CatalogueEntry>)> = Vec::new();
    for key in question.usual.keys(home) {
        let root = i16::from(first.root().fifths()) + i16::from(key.tonic().fifths())
            - i16::from(home.tonic().fifths());
        let root = i8::try_from(root).ok().and_then(NoteName::from_fifths).unwrap_or(first.root().simplest());
        let chord = first.on_root(root);
        let mut entries = catalogue(chord, &rules, &options)?;
        let place = |entry: &CatalogueEntry| labels.iter().position(|label| *label == entry.label);
        entries.retain(|entry| place(entry).is_some());
        entries.sort_by_key(place);
        parts.push((key, chord, entries));
    }

    let title =
        format!("{} over {first} in twelve keys", if labels.len() == 1 { "A triad" } else { "Triads" });
    let names: Vec<String> = parts.iter().map(|(_, chord, _)| chord.to_string()).collect();
    let words = format!(
        "The left hand plays the shell, the right hand the triad; keys: {}. Each picture says what is played in the chord. \
         The order of triads is that of {first}: {}.",
        question.usual.keys,
        labels.iter().join(", ")
    );
    let mut page = Page::new(&title, &words, &names);
    let mut sections = Vec::new();
    for (at, (key, chord, entries)) in parts.iter().enumerate() {
        page.section(at, &chord.to_string());
        page.pictures();
        for entry in entries {
            let heading = Some(format!("{chord}: {}", entry.label));
            let svg = keyboard(
                *chord,
                &entry.best.voicing,
                &KeyboardOptions { heading, ..KeyboardOptions::default() },
            );
            let lines = [
                format!("degrees {}", entry.degrees.iter().join(" ")),
                entry.sounding.map_or_else(String::new, |sounding| format!("sounds as {sounding}")),
                if entry.verdict == Verdict::Clash { "clashes".to_owned() } else { String::new() },
            ];
            page.figure(Some(&svg), &format!("{chord}, {}: {}", entry.label, entry.triad), &lines);
        }
        page.end_pictures();
        for label in labels.iter().filter(|label| entries.iter().all(|entry| entry.label != **label)) {
            page.words(&format!("No way to play {label} over {chord} was found."));
        }
        page.end_section();
        if !entries.is_empty() {
            sections.push(exercise(*key, *chord, entries));
        }
    }
    finish(&question.usual, None, &file_name(&question.symbol), &title, &sections, page)
}

/// The key in which a chord is written: that of which a dominant is the dominant, else the one on its root.
fn home(chord: Chord) -> Key {
    let fourth = || Interval::new(4, 0).ok().and_then(|fourth| chord.root().checked_add(fourth));
    match chord.family() {
        Family::Dominant | Family::Suspended => Key::new(fourth().unwrap_or(chord.root()), Mode::Major),
        Family::Minor | Family::HalfDiminished | Family::Diminished => Key::new(chord.root(), Mode::Minor),
        Family::Major | Family::Augmented | Family::Power => Key::new(chord.root(), Mode::Major),
    }
}

/// One bar for each triad.
fn exercise(key: Key, chord: Chord, entries: &[CatalogueEntry]) -> Section {
    let metre = Metre::COMMON;
    let mut sheet = LeadSheet {
        title: chord.to_string(),
        key,
        tempo: None,
        bars: Vec::new(),
        notes: Vec::new(),
        chords: Vec::new(),
    };
    let mut arrangement = Arrangement { chords: Vec::new(), octave_shift: 0, cost: 0 };
    let mut start = 0;
    for (slot, entry) in entries.iter().enumerate() {
        let voicing = entry.best.voicing;
        let length = metre.bar_ticks();
        sheet.bars.push(Bar {
            number: (slot + 1).to_string(),
            implicit: false,
            start,
            length,
            metre,
            key,
            left: Barline::default(),
            right: Barline::default(),
            road: Default::default(),
        });
        let pitch = voicing.right().highest();
        sheet.notes.push(Note {
            start,
            duration: length,
            pitch,
            tied_from: false,
            tied_to: false,
            value: None,
        });
        let symbol = PlacedSymbol::Read(overshell::chord::ChordSymbol::of_chord(chord));
        sheet.chords.push(PlacedChord { start, bar: slot, symbol });
        arrangement.chords.push(ArrangedChord {
            slot,
            chord: Some(chord),
            melody: pitch,
            voicing: Some(voicing),
            structure: Some(Structure { label: entry.label, triad: entry.triad }),
            tensions: degrees(chord, &voicing)
                .filter(|degree| degree.is_tension())
                .sorted()
                .dedup()
                .collect(),
            sounding: entry.sounding,
            cost: entry.best.score.cost,
            colour: entry.best.score.colour,
            ..ArrangedChord::default()
        });
        start += length;
    }
    Section { heading: chord.to_string(), sheet, arrangement }
}

/// What each note is in the chord, from the lowest.
fn degrees(chord: Chord, voicing: &Voicing) -> impl Iterator<Item = Degree> {
    voicing.pitches().map(|pitch| chord.degree_of(pitch.pitch_class())).collect::<Vec<_>>().into_iter()
}

fn of_tune(question: &OfTune) -> overshell::Result<()> {
    let rules = RuleSet::load(&question.usual.rules)?;
    let options = ReadOptions { strict: question.strict, ..ReadOptions::default() };
    let Reading { sheet, findings } = read_file(&question.tune, &options)?;
    let stem = question.tune.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let keys = question.usual.keys(sheet.key);
    // The key of the tune itself stays as it is written.
    let tunes: Vec<LeadSheet> = keys
        .iter()
        .map(|key| {
            if *key == sheet.key {
                Ok(sheet.clone())
            } else {
                sheet.transposed(Transposition::to(key.tonic()))
            }
        })
        .collect::<overshell::Result<_>>()?;
    let options = ArrangeOptions {
        hand: question.usual.hand,
        octave: question.octave,
        bass_player: question.usual.bass_player,
        ..ArrangeOptions::default()
    };
    let progressions: Vec<_> = tunes.iter().map(LeadSheet::progression).collect();
    let arrangements: Vec<Arrangement> =
        arrange_many(&progressions, &rules, options).into_iter().collect::<overshell::Result<_>>()?;
    let sections: Vec<Section> = keys
        .iter()
        .zip(tunes)
        .zip(arrangements)
        .map(|((key, sheet), arrangement)| Section { heading: format!("Key of {key}"), sheet, arrangement })
        .collect();

    let title = if sheet.title.is_empty() { stem.clone() } else { sheet.title.clone() };
    let title = format!("{title} in twelve keys");
    let names: Vec<String> = sections.iter().map(|section| section.heading.clone()).collect();
    let words = format!(
        "The left hand plays the shell, the right hand the triad with the melody on top; keys: {}. The first key has pictures, \
         the others are tables with the same columns. Repeats are not played out.",
        question.usual.keys
    );
    let mut page = Page::new(&title, &words, &names);
    for (at, section) in sections.iter().enumerate() {
        page.section(at, &section.heading);
        if section.arrangement.octave_shift != 0 {
            page.words("The melody is played an octave higher.");
        }
        if at == 0 {
            drawn(&mut page, section)
        } else {
            listed(&mut page, section)
        }
        page.end_section();
    }
    finish(&question.usual, Some(&question.tune), &file_name(&stem), &title, &sections, page)?;
    for finding in &findings {
        say!("{finding}\n  help: {}", finding.help);
    }
    Ok(())
}

/// A chord of a tune with its place: bar and beat as printed, symbol, how it is played.
fn places(section: &Section) -> impl Iterator<Item = (String, String, &str, &ArrangedChord)> {
    let chords = section.sheet.chords.iter().zip(&section.arrangement.chords);
    chords.map(|(placed, arranged)| {
        let bar = section.sheet.bars.get(placed.bar).map_or_else(String::new, |bar| bar.number.clone());
        let beat = format!("{:.2}", section.sheet.beat_of(placed.bar, placed.start));
        let beat = beat.trim_end_matches('0').trim_end_matches('.').to_owned();
        (bar, beat, placed.symbol.as_str(), arranged)
    })
}

fn structure(arranged: &ArrangedChord) -> String {
    arranged.structure.map_or_else(String::new, |s| format!("{}: {}", s.label, s.triad))
}

/// Every chord as a picture, bar by bar.
fn drawn(page: &mut Page, section: &Section) {
    page.pictures();
    for (bar, beat, symbol, arranged) in places(section) {
        let bold = format!("Bar {bar}, beat {beat}: {symbol}");
        match (arranged.chord, arranged.voicing) {
            (Some(chord), Some(voicing)) => {
                let heading = Some(symbol.to_owned());
                let svg =
                    keyboard(chord, &voicing, &KeyboardOptions { heading, ..KeyboardOptions::default() });
                let lines = [
                    structure(arranged),
                    format!("degrees {}", degrees(chord, &voicing).join(" ")),
                    arranged
                        .melody
                        .map_or_else(|| "the melody rests".to_owned(), |top| format!("melody {top}")),
                ];
                page.figure(Some(&svg), &bold, &lines);
            }
            _ => page.figure(None, &bold, &["not voiced".to_owned()]),
        }
    }
    page.end_pictures();
}

/// Every chord as a row.
fn listed(page: &mut Page, section: &Section) {
    let rows: Vec<Vec<String>> = places(section)
        .map(|(bar, beat, symbol, arranged)| {
            let voicing = arranged.voicing;
            let hand = |hand: Option<overshell::voicing::Hand>| {
                hand.map_or_else(|| "-".to_owned(), |h| h.to_string())
            };
            vec![
                format!("{bar}, {beat}"),
                symbol.to_owned(),
                hand(voicing.map(|voicing| *voicing.left())),
                hand(voicing.map(|voicing| *voicing.right())),
                structure(arranged),
                arranged
                    .chord
                    .zip(voicing)
                    .map_or_else(String::new, |(chord, v)| degrees(chord, &v).join(" ")),
            ]
        })
        .collect();
    let columns = ["Bar, beat", "Symbol", "Left hand", "Right hand", "Structure", "Degrees"];
    page.table("The melody is the last note of the right hand.", &columns, &rows);
}

/// A text as the name of a file on every system.
fn file_name(text: &str) -> String {
    let text = text.replace(['#', '♯'], "sharp").replace('♭', "b");
    let keep = |c: char| if c.is_alphanumeric() || "-_+".contains(c) { c } else { '-' };
    text.chars().map(keep).collect::<String>().trim_matches('-').to_owned()
}

/// Writes book and page; everything is made before anything is written.
fn finish(
    usual: &Usual,
    input: Option<&Path>,
    stem: &str,
    title: &str,
    sections: &[Section],
    page: Page,
) -> overshell::Result<()> {
    let files = [
        (usual.out.join(format!("{stem}-keys.musicxml")), write_book_musicxml(title, sections)?),
        (usual.out.join(format!("{stem}-keys.html")), page.finish()),
    ];
    for (path, _) in &files {
        if let Some(input) = input {
            refuse_to_overwrite(input, path)?;
        }
    }
    for (path, text) in &files {
        write_file(path, text.as_bytes())?;
        say!("wrote {}", path.display());
    }
    say!("\n{CAUTION}");
    Ok(())
}
