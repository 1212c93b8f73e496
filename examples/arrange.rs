//! A lead sheet in, playable two-hand voicings out.
//!
//! ```text
//! cargo run --release --example arrange                     # a demo tune
//! cargo run --release --example arrange -- TUNE.musicxml --out arranged --hand small
//! ```

#[path = "shared/option.rs"]
mod option;
#[path = "shared/played.rs"]
mod played;
#[macro_use]
mod shared;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Parser;
use itertools::Itertools;
use overshell::chord::Reharmonisation;
use overshell::rules::RuleSet;
use overshell::search::{
    ArrangeOptions, ArrangedChord, Arrangement, Arranger, Comparison, Instead, Octave, Pin, Variety,
    arrange_tied,
};
use overshell::sheet::{
    BassLine, CAUTION, LeadSheet, PlayAlong, ReadOptions, Reading, Report, ReportChord, ReportFinding,
    SheetFinding, read, read_file, refuse_to_overwrite, write_file, write_midi, write_musicxml,
    write_play_along,
};
use overshell::voicing::HandSize;
use played::as_played;

/// Arranges a lead sheet for two hands: a shell in the left, a triad under the melody in the right
#[derive(Parser)]
struct Arguments {
    /// The tune: MusicXML (plain or compressed), ABC or a chart, told apart by content; without it, a demo tune
    tune: Option<PathBuf>,
    /// The folder for the results
    #[arg(long, value_name = "DIR", default_value = "out")]
    out: PathBuf,
    /// A rule set that ships, a rule file, or a folder of them
    #[arg(long, value_name = "SET_OR_FILE", default_value = "standard")]
    rules: String,
    /// What the hands reach: small, medium, large, or a measured span such as 205mm
    #[arg(long, default_value_t, value_parser = option::value::<HandSize>)]
    hand: HandSize,
    /// The octave of the melody: 0 as written, 1 an octave higher, auto whichever comes out better
    #[arg(long, default_value = "auto", value_parser = option::value::<Octave>)]
    octave: Octave,
    /// Somebody else plays the bass
    #[arg(long)]
    bass_player: bool,
    /// Play repeats and endings out: all results have the bars in the order in which they are played, each time with voicings of its
    /// own; without it, the page keeps its signs and one voicing for each chord, led as played
    #[arg(long)]
    as_played: bool,
    /// Lead voicings in the order of the page, as if there were no repeats
    #[arg(long, conflicts_with = "as_played")]
    as_written: bool,
    /// Write a track with bass, drums and a count-in too, the bass in two or in four
    #[arg(long, value_name = "BASS", num_args = 0..=1, default_missing_value = "two", value_parser = option::value::<BassLine>)]
    play_along: Option<BassLine>,
    /// How else a dominant may be played where that comes out better, separated by commas: ii-V, subV, "ii-V of subV", sus-V, sus
    #[arg(long, value_name = "WAYS", value_delimiter = ',', value_parser = option::value::<Reharmonisation>)]
    instead: Vec<Reharmonisation>,
    /// What playing a dominant otherwise costs, in points
    #[arg(long, value_name = "POINTS", default_value_t = Instead::USUAL_TOLL)]
    toll: u16,
    /// Pin what a chord, counted from 1, plays: "5 structure II", "5 avoid shell 1 3 7", "5 C3 Bb3 | F#4 A4 D5"; may be repeated
    #[arg(long, value_name = "CHORD PIN", value_parser = pin)]
    pin: Vec<(usize, Pin)>,
    /// How many arrangements, the best first
    #[arg(long, value_name = "COUNT", default_value_t = 1)]
    best: usize,
    /// In how many chords each of them differs from all before it
    #[arg(long, value_name = "CHORDS", default_value_t = 1)]
    differ: usize,
    /// Count chords with another upper structure, rather than those with another voicing
    #[arg(long)]
    structures: bool,
    /// Say why a chord, counted from 1, is played so and not as in the best arrangement that plays it otherwise; may be repeated
    #[arg(long, value_name = "CHORD", value_parser = place)]
    why: Vec<usize>,
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
    let Reading { sheet, mut findings } = if arguments.as_played { as_played(&reading)? } else { reading };
    let options = ArrangeOptions {
        hand: arguments.hand,
        octave: arguments.octave,
        bass_player: arguments.bass_player,
        instead: Instead::of(arguments.instead.iter().copied()).with_toll(arguments.toll),
        ..ArrangeOptions::default()
    };
    let Led { arrangements, whys, remarks, findings: of_signs } = led(arguments, &sheet, &rules, options)?;
    findings.extend(of_signs);
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
    // Everything is made before anything is written.
    let stem =
        arguments.tune.as_deref().and_then(Path::file_stem).map_or(DEMO_STEM.into(), |s| s.to_string_lossy());
    let mut files = Vec::new();
    let mut reports = Vec::new();
    for (at, arrangement) in arrangements.iter().enumerate() {
        let stem = if at == 0 { stem.to_string() } else { format!("{stem}-{}", at + 1) };
        let (report, own) = made(&sheet, arrangement, &of_chords, &stem, arguments.play_along)?;
        reports.push(report);
        files.extend(own.into_iter().map(|(name, bytes)| (arguments.out.join(name), bytes)));
    }
    for (path, _) in &files {
        if let Some(tune) = &arguments.tune {
            refuse_to_overwrite(tune, path)?;
        }
    }
    if let (Some(report), Some(best)) = (reports.first(), arrangements.first()) {
        print(report, best);
        remarks.iter().for_each(|remark| say!("{remark}"));
        for (at, other) in arrangements.iter().enumerate().skip(1) {
            say!("arrangement {}, against the first: {}", at + 1, Comparison::new(best, other));
        }
    }
    whys.iter().for_each(|why| say!("{why}"));
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

/// What is arranged, and what there is to say of it.
struct Led {
    arrangements: Vec<Arrangement>,
    whys: Vec<String>,
    remarks: Vec<String>,
    findings: Vec<SheetFinding>,
}

/// The arrangements of a sheet: where chords are played several times, led as they are played, unless somebody wants it otherwise.
fn led(
    arguments: &Arguments,
    sheet: &LeadSheet,
    rules: &RuleSet,
    options: ArrangeOptions,
) -> overshell::Result<Led> {
    let mut remarks = Vec::new();
    if !arguments.as_played && !arguments.as_written {
        let in_order = "the page is arranged in the order in which it is written, as with --as-written";
        match as_one(arguments, sheet, rules, options) {
            One::Nothing => {}
            One::Arranged(led) => return Ok(led),
            One::NotWith(option) => remarks.push(format!(
                "{in_order}: {option} does not go with voicings that are led through the repeats\n  \
                 help: ask without {option}, or play the repeats out with --as-played"
            )),
            One::Refused(error) => remarks.push(format!(
                "{in_order}: {error}\n  help: {}",
                error.help().unwrap_or("play the repeats out with --as-played")
            )),
        }
    }
    let mut arranger = Arranger::new(&sheet.progression(), rules, options)?;
    for (chord, pin) in &arguments.pin {
        arranger.pin(chord.saturating_sub(1), *pin)?;
    }
    let variety = if arguments.structures { Variety::Structures } else { Variety::Chords }(arguments.differ);
    let arrangements = arranger.best_few(arguments.best.max(1), variety)?;
    let whys = arguments.why.iter().map(|chord| why(&arranger, *chord)).collect();
    Ok(Led { arrangements, whys, remarks, findings: Vec::new() })
}

/// One voicing for each written chord, led as it is played.
enum One {
    /// No chord is played twice.
    Nothing,
    Arranged(Led),
    /// Somebody asks for more than that.
    NotWith(&'static str),
    Refused(overshell::Error),
}

fn as_one(arguments: &Arguments, sheet: &LeadSheet, rules: &RuleSet, options: ArrangeOptions) -> One {
    let played = match sheet.progression_as_played() {
        Ok(played) if !played.repeats() => return One::Nothing,
        Ok(played) => played,
        Err(error) => return One::Refused(error),
    };
    let more = [
        (!arguments.pin.is_empty(), "--pin"),
        (arguments.best > 1, "--best"),
        (!arguments.why.is_empty(), "--why"),
        (!arguments.instead.is_empty(), "--instead"),
    ];
    if let Some((_, option)) = more.into_iter().find(|(is_asked, _)| *is_asked) {
        return One::NotWith(option);
    }
    match arrange_tied(&played.progression, &played.same, rules, options) {
        Ok(arrangement) => {
            let arrangements = vec![played.on_page(&arrangement)];
            let remark = format!(
                "repeats are led as played: one voicing for each of {} written chords, {} as played; the cost is that of all that is played",
                sheet.chords.len(),
                played.same.len()
            );
            One::Arranged(Led {
                arrangements,
                whys: Vec::new(),
                remarks: vec![remark],
                findings: played.findings,
            })
        }
        Err(error) => One::Refused(error),
    }
}

/// Files by name.
type Files = Vec<(String, Vec<u8>)>;

/// What is written of an arrangement.
fn made(
    sheet: &LeadSheet,
    arrangement: &Arrangement,
    of_chords: &[(usize, ReportFinding)],
    stem: &str,
    play_along: Option<BassLine>,
) -> overshell::Result<(Report, Files)> {
    let sheet = sheet.as_arranged(arrangement);
    // What the reader found stands at the chord that it found it at, wherever that is now.
    let moved: Vec<(usize, ReportFinding)> = of_chords
        .iter()
        .filter_map(|(slot, finding)| {
            let place = arrangement.chords.iter().position(|chord| chord.slot == *slot)?;
            Some((place, finding.clone()))
        })
        .collect();
    let report = Report::new(&sheet, arrangement, &moved);
    let mut files = vec![
        (format!("{stem}.musicxml"), write_musicxml(&sheet, arrangement)?.into_bytes()),
        (format!("{stem}.mid"), write_midi(&sheet, arrangement)?),
        (format!("{stem}.json"), report.to_json()?.into_bytes()),
    ];
    if let Some(bass) = play_along {
        let options = PlayAlong { bass, ..PlayAlong::default() };
        files.push((format!("{stem}-play-along.mid"), write_play_along(&sheet, arrangement, &options)?));
    }
    Ok((report, files))
}

/// Why a chord is played as it is.
fn why(arranger: &Arranger<'_>, chord: usize) -> String {
    let best = arranger.best();
    let played = || best.chords.iter().filter(|own| own.slot + 1 == chord && own.voicing.is_some());
    if played().next().is_none() {
        return format!("why chord {chord} is played so: no chord is voiced there");
    }
    let names = played().filter_map(|own| own.chord).join(" ");
    match arranger.runner_up(chord.saturating_sub(1)) {
        Some(other) => {
            format!("why chord {chord} (`{names}`) is played so: {}", Comparison::new(&best, &other))
        }
        None => {
            format!("why chord {chord} (`{names}`) is played so: there is nothing else to be played there")
        }
    }
}

/// Reads a chord's place.
fn place(text: &str) -> Result<usize, String> {
    let place = text.parse().ok().filter(|place| *place > 0);
    place.ok_or_else(|| format!("`{text}` is not the place of a chord, counted from 1"))
}

/// Reads a chord's place and what is pinned there.
fn pin(text: &str) -> Result<(usize, Pin), String> {
    let (chord, pin) =
        text.trim().split_once(' ').ok_or("expected the chord's place and what is pinned there")?;
    let place = place(chord)?;
    let pin = option::value(pin)?;
    Ok((place, pin))
}

fn print(report: &Report, arrangement: &Arrangement) {
    let title = if report.title.is_empty() { "untitled" } else { &report.title };
    let octave = if report.octave_shift == 0 { "as written" } else { "an octave above the page" };
    say!("{title}, key {}, melody {octave}, total cost {}\n", report.key, report.cost);
    say!(
        "{:>5} {:>4} {:>5}  {:10} {:12} {:6}  {:18} {:20} {:12} tensions",
        "chord",
        "bar",
        "beat",
        "symbol",
        "function",
        "melody",
        "left",
        "right",
        "structure"
    );
    for (chord, arranged) in report.chords.iter().zip(&arrangement.chords) {
        say!("{:>5} {}", arranged.slot + 1, row(chord, arranged));
    }
    say!();
}

/// What a reader must not miss in a row.
fn remark(chord: &ReportChord, arranged: &ArrangedChord) -> String {
    match arranged.played_as {
        _ if chord.clash => "(clash)".to_owned(),
        _ if chord.left.is_empty() => "(not voiced)".to_owned(),
        Some(way) => format!("(played as {way})"),
        None => String::new(),
    }
}

fn row(chord: &ReportChord, arranged: &ArrangedChord) -> String {
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
        remark(chord, arranged),
    )
    .trim_end()
    .to_owned()
}
