//! Triads over a chord in all keys.

use clap::Args;
use itertools::Itertools;
use overshell::chord::{Chord, Family, Key, Mode};
use overshell::picture::{KeyboardOptions, keyboard};
use overshell::pitch::{Interval, NoteName};
use overshell::rules::{RuleSet, Situation, Verdict};
use overshell::search::{ArrangedChord, Arrangement, CatalogueEntry, CatalogueOptions, Structure, catalogue};
use overshell::sheet::{Bar, Barline, LeadSheet, Metre, Note, PlacedChord, PlacedSymbol, Section};
use overshell::voicing::{Label, Shell, TriadKind};

use crate::page::Page;
use crate::{Usual, degrees, file_name, finish, option};

/// What is asked about a chord.
#[derive(Args)]
pub(crate) struct OverChord {
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

pub(crate) fn write(question: &OverChord) -> overshell::Result<()> {
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
        let arranged = ArrangedChord {
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
        };
        arrangement.chords.push(arranged.into());
        start += length;
    }
    Section { heading: chord.to_string(), sheet, arrangement }
}
