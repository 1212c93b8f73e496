//! Names what sounds: every chord that accounts for some keys, best name first, with the reasons.
//!
//! ```text
//! cargo run --release --example name -- E3 A3 Bb3 D4
//! cargo run --release --example name -- C E G A --bass C
//! ```

#[macro_use]
mod shared;

use std::process::ExitCode;

use clap::Parser;
use overshell::chord::{Chord, Key, NamingOptions, Reading, readings};
use overshell::pitch::{NoteName, Pitch, PitchSet};
use serde_json::json;

/// Says what some keys can be called, and why
#[derive(Parser)]
struct Arguments {
    /// The keys, as pitches such as C3, whose lowest is the bass, or as names such as C
    #[arg(required = true)]
    keys: Vec<String>,
    /// The lowest key, where names are given
    #[arg(long)]
    bass: Option<String>,
    /// Names on this root only
    #[arg(long)]
    root: Option<String>,
    /// The chord that the keys are played for
    #[arg(long)]
    chord: Option<String>,
    /// The key that roots are spelled in
    #[arg(long)]
    key: Option<String>,
    /// How many names at most
    #[arg(long, default_value_t = 5)]
    most: usize,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    shared::run(|| name(&arguments))
}

/// The keys, and the lowest of them where octaves say it.
fn keys(texts: &[String]) -> overshell::Result<(PitchSet, Option<NoteName>)> {
    let words = || texts.iter().flat_map(|text| text.split_whitespace()).filter(|word| *word != "|");
    if words().any(|word| word.ends_with(|c: char| c.is_ascii_digit())) {
        let pitches = words().map(str::parse).collect::<overshell::Result<Vec<Pitch>>>()?;
        let lowest = pitches.iter().min_by_key(|pitch| pitch.midi()).map(|pitch| pitch.name());
        return Ok((pitches.iter().map(|pitch| pitch.name().pitch_class()).collect(), lowest));
    }
    let names = words().map(str::parse).collect::<overshell::Result<Vec<NoteName>>>()?;
    Ok((names.iter().map(|name| name.pitch_class()).collect(), None))
}

fn name(arguments: &Arguments) -> overshell::Result<()> {
    let (keys, lowest) = keys(&arguments.keys)?;
    let named = |text: &Option<String>| text.as_deref().map(str::parse::<NoteName>).transpose();
    let bass = named(&arguments.bass)?.or(lowest);
    let written = arguments.chord.as_deref().map(str::parse::<Chord>).transpose()?;
    let options = NamingOptions {
        root: named(&arguments.root)?.map(NoteName::pitch_class),
        bass: bass.map(NoteName::pitch_class),
        written,
        key: arguments.key.as_deref().map(str::parse::<Key>).transpose()?,
    };
    let found = readings(keys, &options);
    let count = found.len();
    let found: Vec<Reading> = found.take(arguments.most).collect();
    if arguments.json {
        say!("{:#}", json!({ "set_class": keys.forte_name(), "names": count, "readings": found }));
        return Ok(());
    }
    let keys = options.bass.map_or(keys, |bass| keys.with(bass));
    say!("{keys}: set class {}, {count} names", keys.forte_name());
    if count == 0 {
        say!("  no chord accounts for all of these keys");
    }
    if let Some(written) = written.filter(|_| !found.iter().any(Reading::is_as_written)) {
        say!("  no symbol says this for {written}");
    }
    for reading in &found {
        let reasons = itertools::join(reading.reasons(), "; ");
        say!("  {:>4}  {:16} {reasons}", reading.points(), reading.chord().to_string());
    }
    Ok(())
}
