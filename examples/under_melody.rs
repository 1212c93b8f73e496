//! From the top down: every triad that has a melody note on top.
//!
//! ```text
//! cargo run --release --example under_melody -- C7 A4
//! ```

#[path = "shared/question.rs"]
mod question;
#[macro_use]
mod shared;

use std::process::ExitCode;

use clap::Parser;
use overshell::chord::Chord;
use overshell::pitch::Pitch;
use overshell::search::{UnderMelodyEntry, under_melody};
use overshell::sheet::CAUTION;
use question::Question;
use serde_json::{Value, json};

/// Lists every triad with a melody note on top, as root, third or fifth, with verdict and reason, then softened ones
#[derive(Parser)]
struct Arguments {
    /// The chord symbol, such as C7
    symbol: String,
    /// The melody note, such as A4
    pitch: String,
    #[command(flatten)]
    question: Question,
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    shared::run(|| list(&arguments))
}

fn list(arguments: &Arguments) -> overshell::Result<()> {
    let chord: Chord = arguments.symbol.parse()?;
    let melody: Pitch = arguments.pitch.parse()?;
    let rules = arguments.question.rules()?;
    let situation = arguments.question.situation();
    let answer = under_melody(chord, melody, &rules, &situation)?;
    if arguments.question.json {
        let plain = answer.plain.map(|(voicing, score)| {
            json!({
                "left": voicing.left().pitches(), "right": voicing.right().pitches(),
                "cost": score.cost, "colour": score.colour,
            })
        });
        let report = json!({
            "symbol": chord,
            "melody": melody,
            "triads": answer.triads.iter().map(to_json).collect::<Vec<_>>(),
            "softened": answer.softened.iter().map(to_json).collect::<Vec<_>>(),
            "plain": plain,
            "suspension": answer.suspension,
        });
        say!("{report:#}");
        return Ok(());
    }
    say!("{chord} under {melody}, the {} of the chord\n", chord.degree_of(melody.pitch_class()));
    answer.triads.iter().for_each(print);
    say!("\nsoftened: one note of a triad moved by a step");
    answer.softened.iter().for_each(print);
    if let Some((voicing, _)) = answer.plain {
        say!("\nwithout a triad: {voicing}");
    }
    if let Some(suspension) = answer.suspension {
        say!("\nno triad serves: make the chord {suspension}, which has the note");
    }
    say!("\n{CAUTION}");
    Ok(())
}

fn print(entry: &UnderMelodyEntry) {
    let member = match entry.moved {
        Some((from, to)) => format!("{from} to {to}"),
        None => format!("{:?}", entry.member).to_lowercase(),
    };
    let reasons = entry.findings.iter().map(|f| &f.rule);
    say!(
        "  {:10} {:8} {:7} {:13} {:8} {:30} {:16} {}",
        member,
        entry.label,
        entry.triad,
        itertools::join(&entry.degrees, " "),
        entry.verdict,
        entry.voicing.map_or_else(|| "no room".to_owned(), |v| v.to_string()),
        entry.sounding.map_or_else(|| "-".to_owned(), |c| c.to_string()),
        itertools::join(reasons, ", "),
    );
}

fn to_json(entry: &UnderMelodyEntry) -> Value {
    json!({
        "member": entry.member,
        "label": entry.label,
        "triad": entry.triad,
        "moved": entry.moved,
        "degrees": entry.degrees,
        "verdict": entry.verdict,
        "cost": entry.score.cost,
        "colour": entry.score.colour,
        "sounding": entry.sounding,
        "left": entry.voicing.map(|v| v.left().pitches().to_vec()),
        "right": entry.voicing.map(|v| v.right().pitches().to_vec()),
        "findings": question::findings(&entry.findings),
    })
}
