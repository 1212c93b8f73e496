//! Judges a voicing that somebody plays.
//!
//! ```text
//! cargo run --release --example judge -- C7 "C3 E3 Bb3" "F4 A4 C5"
//! ```

#[path = "shared/question.rs"]
mod question;
#[macro_use]
mod shared;

use std::process::ExitCode;

use clap::Parser;
use overshell::chord::Chord;
use overshell::rules::{Effect, Judgement};
use overshell::voicing::Voicing;
use question::Question;
use serde_json::json;

/// Says whether two hands fight a chord, play it plainly or colour it, and why
#[derive(Parser)]
struct Arguments {
    /// The chord symbol, such as C7
    symbol: String,
    /// What the left hand plays, such as "C3 E3 Bb3"
    left: String,
    /// What the right hand plays, such as "D4 F#4 A4"
    right: String,
    #[command(flatten)]
    question: Question,
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    shared::run(|| judge(&arguments))
}

fn judge(arguments: &Arguments) -> overshell::Result<()> {
    let chord: Chord = arguments.symbol.parse()?;
    let voicing = Voicing::new(arguments.left.parse()?, arguments.right.parse()?)?;
    let rules = arguments.question.rules()?;
    let situation = arguments.question.situation();
    let Judgement { verdict, cost, colour, findings } = rules.judge_for(chord, &situation).judge(&voicing);
    let sounding = chord.sounding(voicing.pitch_set()).map(|c| c.to_string());
    if arguments.question.json {
        let report = json!({
            "symbol": chord, "left": voicing.left().pitches(), "right": voicing.right().pitches(),
            "verdict": verdict, "cost": cost, "colour": colour, "sounding": sounding, "findings": question::findings(&findings),
        });
        say!("{report:#}");
        return Ok(());
    }
    say!("{chord}: {voicing}");
    say!(
        "sounds as {}, {verdict}, cost {cost}, colour {colour}",
        sounding.as_deref().unwrap_or("no one symbol")
    );
    for finding in &findings {
        let degrees = itertools::join(&finding.degrees, " ");
        let points = match finding.effect {
            Effect::Clash => "clash".to_owned(),
            Effect::Cost(points) => format!("cost {points}"),
            Effect::Colour(points) => format!("colour {points}"),
        };
        say!("  {points:10} {:34} {degrees}", finding.rule);
        say!("  {:10} {}", "", finding.message);
        if !matches!(finding.effect, Effect::Colour(_)) {
            say!("  {:10} help: {}", "", finding.help);
        }
    }
    Ok(())
}
