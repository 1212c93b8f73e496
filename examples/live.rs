//! Chords in, line by line; what two hands play out, as soon as it is known.
//!
//! ```text
//! printf 'Dm7 F5\nG7 F5\nCmaj7 E5\n' | cargo run --release --example live
//! ```

#[path = "shared/option.rs"]
mod option;
#[macro_use]
mod shared;

use std::io::BufRead;
use std::process::ExitCode;

use clap::Parser;
use overshell::Result;
use overshell::chord::Key;
use overshell::rules::RuleSet;
use overshell::search::{ArrangeOptions, Live, LiveAnswer, Octave, Slot};
use overshell::sheet::CAUTION;
use overshell::voicing::HandSize;

/// Reads chords line by line, such as `Dm7 F5` or `Dm7`, and says what each hand plays as soon as enough chords are known;
/// `quit` or the end of the input ends
#[derive(Parser)]
struct Arguments {
    /// How many chords to look ahead, 0 to 8
    #[arg(long, value_name = "N", default_value_t = 1)]
    look_ahead: usize,
    /// A rule set that ships, a rule file, or a folder of them
    #[arg(long, value_name = "SET_OR_FILE", default_value = "standard")]
    rules: String,
    /// What the hands reach: small, medium, large, or a measured span such as 205mm
    #[arg(long, default_value_t, value_parser = option::value::<HandSize>)]
    hand: HandSize,
    /// The key, such as Eb or Cm
    #[arg(long, default_value = "C")]
    key: String,
    /// The octave of the melody: 0 as written, 1 an octave higher
    #[arg(long, default_value = "0", value_parser = option::value::<Octave>)]
    octave: Octave,
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    shared::run(|| live(&arguments))
}

fn live(arguments: &Arguments) -> Result<()> {
    let rules = RuleSet::load(&arguments.rules)?;
    let key: Key = arguments.key.parse()?;
    let options =
        ArrangeOptions { hand: arguments.hand, octave: arguments.octave, ..ArrangeOptions::default() };
    let mut live = Live::new(&rules, key, options, arguments.look_ahead)?;
    let mut input = std::io::stdin().lock();
    let mut line = Vec::new();
    let mut number = 0;
    loop {
        line.clear();
        number += 1;
        match input.read_until(b'\n', &mut line) {
            Ok(0) => break,
            Ok(_) => {}
            Err(error) => {
                shared::complain(&format!("error: cannot read line {number}: {error}"));
                std::process::exit(2);
            }
        }
        let text = String::from_utf8_lossy(&line);
        match text.trim() {
            "quit" => break,
            "" => continue,
            text => {
                let slot: Slot =
                    text.parse().inspect_err(|_| shared::complain(&format!("in line {number}:")))?;
                if let Some(answer) = live.push(&slot) {
                    print(&live, &answer);
                }
            }
        }
    }
    while let Some(answer) = live.finish() {
        print(&live, &answer);
    }
    say!("\n{CAUTION}");
    Ok(())
}

fn print(live: &Live<'_>, answer: &LiveAnswer) {
    let symbol = answer.chord.map_or_else(|| "N.C.".to_owned(), |chord| chord.to_string());
    let place = answer.slot + 1;
    let Some(voicing) = answer.voicing else {
        say!("{place:>4}  {symbol:10} (not voiced)");
        for finding in live.explain(answer).iter().flat_map(|chord| &chord.findings) {
            say!("      {}\n      help: {}", finding.message, finding.help);
        }
        return;
    };
    let structure = live.explain(answer).and_then(|chord| chord.structure);
    let structure = structure.map_or_else(String::new, |found| format!("{} {}", found.label, found.triad));
    let row = format!("{place:>4}  {symbol:10} {:40} {structure}", voicing.to_string());
    say!("{}", row.trim_end());
}
