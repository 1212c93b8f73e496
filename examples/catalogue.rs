//! Every triad over one chord, judged and named.
//!
//! ```text
//! cargo run --release --example catalogue -- C7
//! cargo run --release --example catalogue -- C7 --shell "1 3 b7" --json
//! ```

#[path = "shared/question.rs"]
mod question;
#[macro_use]
mod shared;

use std::process::ExitCode;

use clap::Parser;
use overshell::chord::Chord;
use overshell::search::{CatalogueEntry, CatalogueOptions, CataloguePlacing, catalogue};
use overshell::sheet::CAUTION;
use overshell::voicing::Shell;
use question::Question;
use serde_json::{Value, json};

/// Lists the 52 triads over a chord: which colour it, which add nothing, which fight it, and why
#[derive(Parser)]
struct Arguments {
    /// The chord symbol, such as C7
    symbol: String,
    /// The shell in the left hand, by roles ("1 3 7") or degrees ("1 3 b7"); without it, whichever serves best
    #[arg(long)]
    shell: Option<String>,
    #[command(flatten)]
    question: Question,
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    shared::run(|| list(&arguments))
}

fn list(arguments: &Arguments) -> overshell::Result<()> {
    let chord: Chord = arguments.symbol.parse()?;
    let shell = arguments.shell.as_deref().map(|text| Shell::for_chord(text, chord)).transpose()?;
    let rules = arguments.question.rules()?;
    let situation = arguments.question.situation();
    let entries = catalogue(chord, &rules, &CatalogueOptions { shell, situation })?;
    if arguments.question.json {
        say!("{:#}", Value::Array(entries.iter().map(to_json).collect()));
        return Ok(());
    }
    say!("{chord}: every triad over its shell, best first\n");
    say!(
        "{:8} {:7} {:13} {:8} {:>4} {:>6}  {:30} {:16} reasons",
        "label",
        "triad",
        "degrees",
        "verdict",
        "cost",
        "colour",
        "voicing",
        "sounding"
    );
    for entry in &entries {
        let reasons = entry.findings.iter().map(|f| &f.rule);
        say!(
            "{:8} {:7} {:13} {:8} {:>4} {:>6}  {:30} {:16} {}",
            entry.label,
            entry.triad,
            itertools::join(entry.degrees, " "),
            entry.verdict,
            entry.best.score.cost,
            entry.best.score.colour,
            entry.best.voicing.to_string(),
            entry.sounding.map_or_else(|| "-".to_owned(), |c| c.to_string()),
            itertools::join(reasons, ", "),
        );
    }
    say!("\n{CAUTION}");
    Ok(())
}

fn to_json(entry: &CatalogueEntry) -> Value {
    json!({
        "label": entry.label,
        "triad": entry.triad,
        "degrees": entry.degrees,
        "verdict": entry.verdict,
        "cost": entry.best.score.cost,
        "colour": entry.best.score.colour,
        "sounding": entry.sounding,
        "findings": question::findings(&entry.findings),
        "voicing": placing(&entry.best),
        "inversions": entry.others.iter().map(placing).collect::<Vec<_>>(),
    })
}

fn placing(placing: &CataloguePlacing) -> Value {
    json!({
        "shell": placing.shell,
        "inversion": placing.inversion,
        "spacing": placing.spacing,
        "left": placing.voicing.left().pitches(),
        "right": placing.voicing.right().pitches(),
        "clash": placing.score.clash,
        "cost": placing.score.cost,
        "colour": placing.score.colour,
    })
}
