//! Looks at rule sets: what they hold, whether a file is sound, what tells two apart.
//!
//! ```text
//! cargo run --release --example rules -- list                        # the default set as a table
//! cargo run --release --example rules -- check mine.toml             # every fault with its place, cases, warnings
//! cargo run --release --example rules -- diff standard mine.toml
//! cargo run --release --example rules -- explain minor-ninth
//! cargo run --release --example rules -- format                      # the format key by key
//! ```

#[macro_use]
mod shared;

use std::process::ExitCode;

use clap::{Parser, Subcommand};
use overshell::rules::{RuleDescription, RuleSet, format_reference};

/// Looks at rule sets: what they hold, whether a file is sound, what tells two apart
#[derive(Parser)]
struct Arguments {
    #[command(subcommand)]
    question: Question,
}

#[derive(Subcommand)]
enum Question {
    /// What a set says, a line for each rule
    List {
        /// A rule set that ships, a rule file, or a folder of them
        #[arg(value_name = "SET_OR_FILE", default_value = "standard")]
        set: String,
    },
    /// All about one rule
    Explain {
        /// The id of the rule
        id: String,
        /// A rule set that ships, a rule file, or a folder of them
        #[arg(value_name = "SET_OR_FILE", default_value = "standard")]
        set: String,
    },
    /// Whether rule files are sound: faults, cases that do not hold, warnings
    Check {
        /// Rule files, folders of them, or sets that ship
        #[arg(value_name = "SET_OR_FILE", required = true)]
        sets: Vec<String>,
    },
    /// What has to be said to come from one set to another
    Diff {
        /// The first set
        from: String,
        /// The second set
        to: String,
    },
    /// The sets that ship
    Sets,
    /// The format of rule files, key by key
    Format,
    /// The JSON Schema of rule files, for editors
    #[cfg(feature = "schema")]
    Schema,
}

fn main() -> ExitCode {
    let Arguments { question } = Arguments::parse();
    if let Question::Check { sets } = &question {
        return check(sets);
    }
    shared::run(|| answer(&question))
}

fn answer(question: &Question) -> overshell::Result<()> {
    match question {
        Question::List { set } => list(&RuleSet::load(set)?),
        Question::Explain { id, set } => return explain(&RuleSet::load(set)?, id),
        Question::Check { .. } => {}
        Question::Diff { from, to } => {
            let (from, to) = (RuleSet::load(from)?, RuleSet::load(to)?);
            let differences = from.diff(&to);
            for difference in &differences {
                say!("{difference}");
            }
            if differences.is_empty() {
                say!("`{}` and `{}` say and do the same", from.name(), to.name());
            }
        }
        Question::Sets => {
            for name in RuleSet::names() {
                let set = RuleSet::named(name)?;
                say!("{name:20} {:3} rules, {} of its own cases", set.ids().count(), set.case_count());
            }
        }
        Question::Format => say!("{}", format_reference().trim_end()),
        #[cfg(feature = "schema")]
        Question::Schema => say!("{}", overshell::rules::json_schema().trim_end()),
    }
    Ok(())
}

fn list(set: &RuleSet) {
    say!("{}: colour from {} points, enough at {}", set.name(), set.colour_threshold(), set.colour_enough());
    let rules: Vec<RuleDescription<'_>> = set.describe().collect();
    let width = |cell: fn(&RuleDescription<'_>) -> usize| rules.iter().map(cell).max().unwrap_or_default();
    let (id, kind) = (width(|rule| rule.id.chars().count()), width(|rule| rule.kind.len()));
    let effect = width(|rule| rule.effect.len());
    for rule in &rules {
        let keys = itertools::join(rule.keys.iter().map(|(key, value)| format!("{key} = {value}")), ", ");
        say!("{:id$}  {:kind$}  {:effect$}  {keys}", rule.id, rule.kind, rule.effect);
    }
}

fn explain(set: &RuleSet, id: &str) -> overshell::Result<()> {
    let Some(rule) = set.explain(id) else {
        return unknown(set, id);
    };
    say!("{}: {}, {}", rule.id, rule.kind, rule.effect);
    for (key, value) in &rule.keys {
        say!("  {key} = {value}");
    }
    say!("  {}", rule.message);
    say!("  help: {}", rule.help);
    say!("  source: {}", rule.source);
    if let Some(place) = &rule.place {
        say!("  {place}");
    }
    Ok(())
}

/// Says which sets that ship have a rule that this one has not, or which of its ids was meant.
fn unknown(set: &RuleSet, id: &str) -> overshell::Result<()> {
    let has = |name: &&str| RuleSet::named(name).is_ok_and(|set| set.explain(id).is_some());
    let elsewhere = itertools::join(RuleSet::names().filter(has), ", ");
    if elsewhere.is_empty() {
        // The set knows best which id was meant.
        return set.clone().off([id]).map(|_| ());
    }
    say!("there is no rule `{id}` in `{}`; it is in {elsewhere}", set.name());
    Ok(())
}

/// Checks every set, also behind one that is unsound; the exit status is 2 where one is.
fn check(sets: &[String]) -> ExitCode {
    let mut status = ExitCode::SUCCESS;
    for name in sets {
        let checked = shared::run(|| -> overshell::Result<()> {
            let set = RuleSet::load(name)?;
            let warnings = set.warnings();
            for warning in &warnings {
                say!("{}", warning.report());
            }
            let (rules, cases) = (set.ids().count(), set.case_count());
            say!("{}: rules {rules}, cases that hold {cases}, warnings {}", set.name(), warnings.len());
            Ok(())
        });
        if checked != ExitCode::SUCCESS {
            status = checked;
        }
    }
    status
}
