//! A lead sheet in, playable two-hand voicings out.
//!
//! ```text
//! cargo run --release --example arrange                     # a demo tune
//! cargo run --release --example arrange -- TUNE.musicxml --out arranged --hand small
//! ```

#[macro_use]
mod shared;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Parser;
use itertools::Itertools;
use overshell::rules::RuleSet;
use overshell::search::{ArrangeOptions, Octave, arrange};
use overshell::sheet::{
    CAUTION, Played, ReadOptions, Reading, Report, ReportChord, ReportFinding, SheetFinding, read, read_file,
    refuse_to_overwrite, write_file, write_midi, write_musicxml,
};
use overshell::voicing::HandSize;

/// Arranges a lead sheet for two hands: a shell in the left, a triad under the melody in the right
#[derive(Parser)]
struct Arguments {
    /// The tune: MusicXML, plain or compressed; without it, a demo tune
    tune: Option<PathBuf>,
    /// The folder for the results
    #[arg(long, value_name = "DIR", default_value = "out")]
    out: PathBuf,
    /// A rule set that ships, a rule file, or a folder of them
    #[arg(long, value_name = "SET_OR_FILE", default_value = "standard")]
    rules: String,
    /// What the hands reach: small, medium, large, or a measured span such as 205mm
    #[arg(long, default_value_t)]
    hand: HandSize,
    /// The octave of the melody: 0 as written, 1 an octave higher, auto whichever comes out better
    #[arg(long, default_value = "auto")]
    octave: Octave,
    /// Somebody else plays the bass
    #[arg(long)]
    bass_player: bool,
    /// Play repeats and endings out: all results have the bars in the order in which they are played
    #[arg(long)]
    as_played: bool,
    /// Stop at the first thing in the tune that cannot be read
    #[arg(long)]
    strict: bool,
}

/// The demo: 32 bars, invented for this project.
const DEMO: &str = include_str!("tunes/nine-lamps.musicxml");
const DEMO_STEM: &str = "nine-lamps";

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    shared::run(|| run(&arguments))
}

fn run(arguments: &Arguments) -> overshell::Result<()> {
    let rules = RuleSet::load(&arguments.rules)?;
    let options = ReadOptions { strict: arguments.strict, ..ReadOptions::default() };
    let reading = match &arguments.tune {
        Some(path) => read_file(path, &options)?,
        None => read(DEMO.as_bytes(), &options)?,
    };
    let Reading { sheet, findings } = if arguments.as_played { as_played(&reading)? } else { reading };
    let progression = sheet.progression();
    let arrangement = arrange(
        &progression,
        &rules,
        ArrangeOptions {
            hand: arguments.hand,
            octave: arguments.octave,
            bass_player: arguments.bass_player,
            ..ArrangeOptions::default()
        },
    )?;
    let of_chords: Vec<(usize, ReportFinding)> = findings
        .iter()
        .filter_map(|f| {
            let finding = ReportFinding {
                rule: "reading".to_owned(),
                message: f.message.clone(),
                help: f.help.clone(),
            };
            Some((f.chord?, finding))
        })
        .collect();
    let report = Report::new(&sheet, &arrangement, &of_chords);

    // Everything is made before anything is written.
    let stem =
        arguments.tune.as_deref().and_then(Path::file_stem).map_or(DEMO_STEM.into(), |s| s.to_string_lossy());
    let files = [
        ("musicxml", write_musicxml(&sheet, &arrangement)?.into_bytes()),
        ("mid", write_midi(&sheet, &arrangement)?),
        ("json", report.to_json()?.into_bytes()),
    ]
    .map(|(ending, bytes)| (arguments.out.join(format!("{stem}.{ending}")), bytes));
    for (path, _) in &files {
        if let Some(tune) = &arguments.tune {
            refuse_to_overwrite(tune, path)?;
        }
    }
    print(&report);
    // What is played several times is said once.
    for finding in findings
        .iter()
        .dedup_by(|one, next| one.byte.is_some() && one.byte == next.byte && one.message == next.message)
    {
        say!("{finding}\n  help: {}", finding.help);
    }
    for (path, bytes) in &files {
        write_file(path, bytes)?;
        say!("wrote {}", path.display());
    }
    say!("\n{CAUTION}");
    Ok(())
}

/// The tune with its repeats played out; what was found at a symbol is said wherever it is played.
fn as_played(reading: &Reading) -> overshell::Result<Reading> {
    let Played { sheet, chords, findings: of_signs, .. } = reading.sheet.as_played()?;
    let mut findings = Vec::new();
    for finding in &reading.findings {
        let Some(of_page) = finding.chord else {
            findings.push(finding.clone());
            continue;
        };
        let places = chords.iter().enumerate().filter(|(_, chord)| **chord == of_page);
        findings.extend(places.map(|(place, _)| SheetFinding { chord: Some(place), ..finding.clone() }));
    }
    findings.extend(of_signs);
    Ok(Reading { sheet, findings })
}

fn print(report: &Report) {
    let title = if report.title.is_empty() { "untitled" } else { &report.title };
    let octave = if report.octave_shift == 0 { "as written" } else { "an octave above the page" };
    say!("{title}, key {}, melody {octave}, total cost {}\n", report.key, report.cost);
    say!(
        "{:>4} {:>5}  {:10} {:12} {:6}  {:18} {:20} {:12} tensions",
        "bar",
        "beat",
        "symbol",
        "function",
        "melody",
        "left",
        "right",
        "structure"
    );
    for chord in &report.chords {
        say!("{}", row(chord));
    }
    say!();
}

/// What a reader must not miss in a row.
fn remark(chord: &ReportChord) -> &'static str {
    if chord.clash {
        "(clash)"
    } else if chord.left.is_empty() {
        "(not voiced)"
    } else {
        ""
    }
}

fn row(chord: &ReportChord) -> String {
    let beat = format!("{:.2}", chord.beat);
    format!(
        "{:>4} {:>5}  {:10} {:12} {:6}  {:18} {:20} {:12} {} {}",
        chord.bar,
        beat.trim_end_matches('0').trim_end_matches('.'),
        chord.symbol,
        chord.function.as_deref().unwrap_or("-"),
        chord.melody.map_or_else(|| "-".to_owned(), |m| m.to_string()),
        itertools::join(&chord.left, " "),
        itertools::join(&chord.right, " "),
        chord.structure.as_ref().map_or_else(String::new, |s| format!("{} {}", s.label, s.triad)),
        itertools::join(&chord.tensions, " "),
        remark(chord),
    )
    .trim_end()
    .to_owned()
}
