//! Pictures: a voicing on the keys, the triads over a chord, the voices of a tune.
//!
//! ```text
//! cargo run --release --example picture -- keyboard C7 "C3 E3 Bb3" "F#4 A4 D5" --out voicing.svg
//! cargo run --release --example picture -- catalogue C7 --out triads.svg
//! cargo run --release --example picture -- tune TUNE.musicxml --out tune.svg
//! cargo run --release --example picture -- chords "Dm7 F5" "G7 E5" "Cmaj7 E5" --key C --out chords.svg
//! ```

#[path = "shared/option.rs"]
mod option;
#[macro_use]
mod shared;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, Parser, Subcommand, ValueEnum};
use overshell::chord::{Chord, Key};
use overshell::picture::{
    HeatMapOptions, KeyText, KeyboardOptions, StripOptions, Width, heat_map, keyboard, strip,
};
use overshell::rules::{RuleSet, Situation};
use overshell::search::{ArrangeOptions, CatalogueOptions, Octave, Progression, Slot, arrange, catalogue};
use overshell::sheet::{
    CAUTION, LeadSheet, ReadOptions, Reading, read_file, refuse_to_overwrite, write_file,
};
use overshell::voicing::{HandSize, Shell, Voicing};

/// Draws a voicing, the triads over a chord, or the voices of a tune, as SVG
#[derive(Parser)]
struct Arguments {
    #[command(subcommand)]
    picture: Picture,
}

#[derive(Subcommand)]
enum Picture {
    /// Two hands on the keys
    Keyboard(OnKeys),
    /// What each triad does over a chord
    Catalogue(OverChord),
    /// Every voice of a tune, chord by chord
    Tune(OfTune),
    /// The same for chords that are given one by one
    Chords(OfChords),
}

#[derive(Args)]
struct OnKeys {
    /// The chord symbol, such as C7
    symbol: String,
    /// What the left hand plays, such as "C3 E3 Bb3"
    left: String,
    /// What the right hand plays, such as "F#4 A4 D5"
    right: String,
    /// What is written at the keys that sound
    #[arg(long, value_enum, default_value_t)]
    text: Text,
    #[command(flatten)]
    output: Output,
}

/// What is written at keys.
#[derive(Clone, Copy, Default, ValueEnum)]
enum Text {
    /// Degrees and names
    #[default]
    Both,
    /// Names of notes
    Names,
    /// Degrees of the chord
    Degrees,
    /// Nothing
    Nothing,
}

#[derive(Args)]
struct OverChord {
    /// The chord symbol, such as C7
    symbol: String,
    /// The shell in the left hand, by roles ("1 3 7") or degrees ("1 3 b7"); without it, whichever serves best
    #[arg(long)]
    shell: Option<String>,
    #[command(flatten)]
    taste: Taste,
    #[command(flatten)]
    output: Output,
}

#[derive(Args)]
struct OfTune {
    /// The tune: MusicXML (plain or compressed), ABC or a chart, told apart by content
    tune: PathBuf,
    /// The octave of the melody: 0 as written, 1 an octave higher, auto whichever comes out better
    #[arg(long, default_value = "auto", value_parser = option::value::<Octave>)]
    octave: Octave,
    /// Play repeats, endings and jumps out
    #[arg(long)]
    as_played: bool,
    /// Stop at the first thing in the tune that cannot be read
    #[arg(long)]
    strict: bool,
    #[command(flatten)]
    taste: Taste,
    #[command(flatten)]
    output: Output,
}

#[derive(Args)]
struct OfChords {
    /// Chord symbols, each with the melody note above it, such as "Dm7 F5"
    #[arg(required = true)]
    chords: Vec<String>,
    /// The key, such as C or Ebm
    #[arg(long, default_value = "C")]
    key: String,
    /// The heading
    #[arg(long, default_value = "")]
    heading: String,
    #[command(flatten)]
    taste: Taste,
    #[command(flatten)]
    output: Output,
}

/// Rules and hands.
#[derive(Args)]
struct Taste {
    /// A rule set that ships, a rule file, or a folder of them
    #[arg(long, value_name = "SET_OR_FILE", default_value = "standard")]
    rules: String,
    /// What the hands reach: small, medium, large, or a measured span such as 205mm
    #[arg(long, default_value_t)]
    hand: HandSize,
    /// Somebody else plays the bass
    #[arg(long)]
    bass_player: bool,
}

#[derive(Args)]
struct Output {
    /// The file for the picture, with the ending .svg; without it, the picture is printed
    #[arg(long, value_name = "FILE", value_parser = svg_file)]
    out: Option<PathBuf>,
    /// How wide, in millimetres, such as 60mm
    #[arg(long)]
    width: Option<Width>,
}

/// Rules and tunes have other endings, so that no picture takes their place.
fn svg_file(text: &str) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    let ends = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("svg"));
    if ends { Ok(path) } else { Err(format!("`{text}` does not end in .svg")) }
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    shared::run(|| match &arguments.picture {
        Picture::Keyboard(question) => on_keys(question),
        Picture::Catalogue(question) => over_chord(question),
        Picture::Tune(question) => of_tune(question),
        Picture::Chords(question) => of_chords(question),
    })
}

fn on_keys(question: &OnKeys) -> overshell::Result<()> {
    let chord: Chord = question.symbol.parse()?;
    let voicing = Voicing::new(question.left.parse()?, question.right.parse()?)?;
    let text = match question.text {
        Text::Both => KeyText::DegreesAndNames,
        Text::Names => KeyText::Names,
        Text::Degrees => KeyText::Degrees,
        Text::Nothing => KeyText::Nothing,
    };
    let mut options = KeyboardOptions { text, ..KeyboardOptions::default() };
    options.width = question.output.width.unwrap_or(options.width);
    put(&question.output, &keyboard(chord, &voicing, &options))?;
    Ok(())
}

fn over_chord(question: &OverChord) -> overshell::Result<()> {
    let chord: Chord = question.symbol.parse()?;
    let shell = question.shell.as_deref().map(|text| Shell::for_chord(text, chord)).transpose()?;
    let rules = RuleSet::load(&question.taste.rules)?;
    let situation = Situation {
        hand_size: question.taste.hand,
        bass_player: question.taste.bass_player,
        ..Situation::default()
    };
    let entries = catalogue(chord, &rules, &CatalogueOptions { shell, situation })?;
    let mut options = HeatMapOptions::default();
    options.width = question.output.width.unwrap_or(options.width);
    if put(&question.output, &heat_map(chord, &entries, &options))? {
        say!("\n{CAUTION}");
    }
    Ok(())
}

fn of_tune(question: &OfTune) -> overshell::Result<()> {
    if let Some(out) = &question.output.out {
        refuse_to_overwrite(&question.tune, out)?;
    }
    let rules = RuleSet::load(&question.taste.rules)?;
    let options = ReadOptions { strict: question.strict, ..ReadOptions::default() };
    let Reading { mut sheet, mut findings } = read_file(&question.tune, &options)?;
    if question.as_played {
        let played = sheet.as_played()?;
        sheet = played.sheet;
        findings.extend(played.findings);
    }
    let arrangement = arrange(
        &sheet.progression(),
        &rules,
        ArrangeOptions {
            hand: question.taste.hand,
            octave: question.octave,
            bass_player: question.taste.bass_player,
            ..ArrangeOptions::default()
        },
    )?;
    let mut options = StripOptions { heading: heading(&sheet, &question.tune), ..StripOptions::default() };
    options.symbols = sheet.chords.iter().map(|chord| chord.symbol.as_str().to_owned()).collect();
    options.width = question.output.width.unwrap_or(options.width);
    let written = put(&question.output, &strip(&arrangement, &options))?;
    for finding in &findings {
        let line = format!("{finding}\n  help: {}", finding.help);
        if written { say!("{line}") } else { shared::complain(&line) }
    }
    if written {
        say!("\n{CAUTION}");
    }
    Ok(())
}

fn of_chords(question: &OfChords) -> overshell::Result<()> {
    let rules = RuleSet::load(&question.taste.rules)?;
    let key: Key = question.key.parse()?;
    let slots = question.chords.iter().map(|text| text.parse()).collect::<overshell::Result<Vec<Slot>>>()?;
    let progression = Progression { key, slots };
    let arrangement = arrange(
        &progression,
        &rules,
        ArrangeOptions {
            hand: question.taste.hand,
            octave: Octave::AsWritten,
            bass_player: question.taste.bass_player,
            ..ArrangeOptions::default()
        },
    )?;
    let mut options = StripOptions { heading: question.heading.clone(), ..StripOptions::default() };
    options.width = question.output.width.unwrap_or(options.width);
    if put(&question.output, &strip(&arrangement, &options))? {
        say!("\n{CAUTION}");
    }
    Ok(())
}

/// The title of a tune, or the name of its file.
fn heading(sheet: &LeadSheet, path: &Path) -> String {
    match sheet.title.is_empty() {
        true => path.file_stem().unwrap_or_default().to_string_lossy().into_owned(),
        false => sheet.title.clone(),
    }
}

/// Writes a picture into its file, or prints it; says whether there was a file.
fn put(output: &Output, picture: &str) -> overshell::Result<bool> {
    match &output.out {
        Some(path) => {
            write_file(path, picture.as_bytes())?;
            say!("wrote {}", path.display());
        }
        None => say!("{}", picture.trim_end()),
    }
    Ok(output.out.is_some())
}
