//! A tune for two hands in all keys.

use std::path::PathBuf;

use clap::Args;
use itertools::Itertools;
use overshell::picture::{KeyboardOptions, keyboard};
use overshell::rules::RuleSet;
use overshell::search::{ArrangeOptions, ArrangedChord, Arrangement, Octave, arrange_many};
use overshell::sheet::{LeadSheet, ReadOptions, Reading, Section, Transposition, read_file};

use crate::page::Page;
use crate::played::as_played;
use crate::{Usual, degrees, file_name, finish, option};

/// What is asked about a tune.
#[derive(Args)]
pub(crate) struct OfTune {
    /// The tune: MusicXML (plain or compressed), ABC or a chart, told apart by content
    tune: PathBuf,
    /// The octave of the melody: 0 as it is moved, 1 an octave higher, auto whichever comes out better
    #[arg(long, default_value = "auto", value_parser = option::value::<Octave>)]
    octave: Octave,
    /// Play repeats, endings and jumps out, each time with voicings of its own
    #[arg(long)]
    as_played: bool,
    /// Stop at the first thing in the tune that cannot be read
    #[arg(long)]
    strict: bool,
    #[command(flatten)]
    usual: Usual,
}

pub(crate) fn write(question: &OfTune) -> overshell::Result<()> {
    let rules = RuleSet::load(&question.usual.rules)?;
    let options = ReadOptions { strict: question.strict, ..ReadOptions::default() };
    let reading = read_file(&question.tune, &options)?;
    let Reading { sheet, findings } = if question.as_played { as_played(&reading)? } else { reading };
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
         the others are tables with the same columns. Repeats are {}played out.",
        question.usual.keys,
        if question.as_played { "" } else { "not " }
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
        (bar, beat, placed.symbol.as_str(), arranged.as_ref())
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
