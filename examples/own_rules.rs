//! Rules as data and two rules in code on top of them: how a program brings its own taste.
//!
//! ```text
//! cargo run --release --example own_rules
//! cargo run --release --example own_rules -- --rules mine.toml --symbol G7 "G2 F3 B3" "E4 A4 C#5"
//! ```

#[macro_use]
mod shared;

use std::process::ExitCode;

use clap::Parser;
use overshell::chord::Chord;
use overshell::rules::{Context, Effect, MotionRule, Report, Rule, RuleSet, Situation};
use overshell::search::{ArrangeOptions, Progression, arrange};
use overshell::voicing::Voicing;

/// Judges a voicing by a rule file and by rules of this program
#[derive(Parser)]
struct Arguments {
    /// A rule set that ships, a rule file, or a folder of them; without it, a text of this example's on the default set
    #[arg(long)]
    rules: Option<String>,
    /// The chord symbol
    #[arg(long, default_value = "C7")]
    symbol: String,
    /// What the left hand plays
    #[arg(default_value = "C3 E3 Bb3")]
    left: String,
    /// What the right hand plays
    #[arg(default_value = "F#4 A4 D5")]
    right: String,
}

/// The taste of an imagined harbour band, whose accordion holds every fifth.
const HARBOUR: &str = r#"
format = 1
name = "harbour"
off = ["fifth-of-triad-missing"]

[[rule]]
id = "accordion-has-the-fifth"
kind = "tone"
degrees = ["5"]
cost = 6
message = "the accordion holds the fifth already"
help = "leave it out"
source = "invented for this example"
"#;

/// Data cannot count colours: more than two tensions at once are one too many for this band.
struct TwoTensions;

impl Rule for TwoTensions {
    fn id(&self) -> &str {
        "two-tensions"
    }

    fn message(&self) -> &str {
        "more than two tensions sound at once"
    }

    fn help(&self) -> &str {
        "keep the two that the melody needs"
    }

    fn source(&self) -> &str {
        "invented for this example"
    }

    fn judge(&self, context: &Context<'_>, report: &mut Report<'_>) {
        let tensions = || context.degrees().iter().filter(|degree| degree.is_tension());
        let beyond = tensions().count().saturating_sub(2);
        report.cost(u16::try_from(beyond * 8).unwrap_or(u16::MAX), tensions());
    }
}

/// Nor can it compare two chords as a whole: the band breathes together, so the number of notes changes little.
struct SteadyTexture;

impl MotionRule for SteadyTexture {
    fn id(&self) -> &str {
        "steady-texture"
    }

    fn message(&self) -> &str {
        "many notes come or go at once"
    }

    fn help(&self) -> &str {
        "fill the thinner chord, or thin the other"
    }

    fn source(&self) -> &str {
        "invented for this example"
    }

    fn cost(&self, from: &Context<'_>, to: &Context<'_>) -> u16 {
        let change = from.keys().len().abs_diff(to.keys().len());
        u16::try_from(change.saturating_sub(1) * 3).unwrap_or(u16::MAX)
    }
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    shared::run(|| run(&arguments))
}

fn run(arguments: &Arguments) -> overshell::Result<()> {
    let base = match &arguments.rules {
        Some(path) => RuleSet::load(path)?,
        None => RuleSet::standard().over_toml("harbour.toml", HARBOUR)?,
    };
    let rules = base.with_rule(TwoTensions).with_motion_rule(SteadyTexture);

    let chord: Chord = arguments.symbol.parse()?;
    let voicing = Voicing::new(arguments.left.parse()?, arguments.right.parse()?)?;
    let judgement = rules.judge_for(chord, &Situation::default()).judge(&voicing);
    say!("{chord}: {voicing} by `{}`: {}", rules.name(), judgement.verdict);
    for finding in &judgement.findings {
        let kind = rules.explain(&finding.rule).map_or("", |rule| rule.kind);
        let effect = match finding.effect {
            Effect::Clash => "clash".to_owned(),
            Effect::Cost(points) => format!("cost {points}"),
            Effect::Colour(points) => format!("colour {points}"),
        };
        say!("  {effect:10} {:24} ({kind}) {}", finding.rule, finding.message);
    }

    let tune = Progression::from_symbols("C", [("Dm7", "F5"), ("G7", "E5"), ("Cmaj7", "E5"), ("A7", "C#5")])?;
    let arrangement = arrange(&tune, &rules, ArrangeOptions::default())?;
    say!("four chords, cost {}:", arrangement.cost);
    for chord in &arrangement.chords {
        if let (Some(symbol), Some(voicing)) = (chord.chord, chord.voicing) {
            say!("  {:8} {voicing}", symbol.to_string());
        }
    }
    // Without the rules in code: either is switched off by its id like any other.
    let calmer = rules.off(["two-tensions", "steady-texture"])?;
    say!("by the files alone, cost {}", arrange(&tune, &calmer, ArrangeOptions::default())?.cost);
    Ok(())
}
