//! Asks a census a question in SQL.
//!
//! ```text
//! cargo run --release -- "SELECT verdict, count(*) FROM census GROUP BY verdict"
//! ```

use std::io::{ErrorKind, Write};
use std::num::NonZeroUsize;
use std::process::ExitCode;
use std::sync::Arc;

use census_engine::{Refusal, query, report, session};
use clap::Parser;
use datafusion::arrow::util::pretty::pretty_format_batches_with_schema;
use datafusion::error::{DataFusionError, Result};
use overshell::census::{Census, CensusSpace};
use overshell::rules::RuleSet;

/// Asks a census of two-hand voicings a question in SQL: the table is `census`, the functions are verdict, cost, colour and
/// sounding, each of a chord and a voicing
#[derive(Parser)]
struct Arguments {
    /// The question, such as "SELECT verdict, count(*) FROM census GROUP BY verdict"
    // It may begin with a comment.
    #[arg(allow_hyphen_values = true)]
    sql: String,
    /// What is counted: usual, full, or a JSON file of a space
    #[arg(long, value_name = "SPACE_OR_FILE", default_value = "usual")]
    space: String,
    /// A rule set that ships, a rule file, or a folder of them
    #[arg(long, value_name = "SET_OR_FILE", default_value = "standard")]
    rules: String,
    /// Into how many partitions a plan is divided
    #[arg(long, default_value = "2")]
    partitions: NonZeroUsize,
}

fn main() -> ExitCode {
    let text = match answer(&Arguments::parse()) {
        Ok(text) => text,
        Err(error) => {
            // Where nobody can hear it, the exit status still says it.
            let _ = writeln!(std::io::stderr(), "{}", report(&error));
            return ExitCode::from(2);
        }
    };
    match writeln!(std::io::stdout(), "{text}") {
        // Whoever reads along may stop reading.
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            let _ = writeln!(std::io::stderr(), "error: cannot print: {error}");
            ExitCode::from(2)
        }
        _ => ExitCode::SUCCESS,
    }
}

fn space(name: &str) -> Result<CensusSpace> {
    match name {
        "usual" => return Ok(CensusSpace::usual()),
        "full" => return Ok(CensusSpace::full()),
        _ => {}
    }
    let text = std::fs::read_to_string(name).map_err(|error| {
        Refusal::new(
            format!("cannot read `{name}`: {error}"),
            "give `usual`, `full`, or a JSON file of a space",
        )
    })?;
    let space = serde_json::from_str(&text).map_err(|error| {
        Refusal::new(
            format!("`{name}` is no space: {error}"),
            "its keys are those of `CensusSpace`, in kebab case",
        )
    })?;
    Ok(space)
}

fn answer(arguments: &Arguments) -> Result<String> {
    let external = |error: overshell::Error| DataFusionError::External(Box::new(error));
    let census = Census::new(space(&arguments.space)?).map_err(external)?;
    let rules = RuleSet::load(&arguments.rules).map_err(external)?;
    let context = session(Arc::new(census), Arc::new(rules), arguments.partitions.get())?;
    let runtime = tokio::runtime::Runtime::new()?;
    runtime.block_on(async {
        let answer = query(&context, &arguments.sql).await?;
        let schema = Arc::new(answer.schema().as_arrow().clone());
        Ok(pretty_format_batches_with_schema(schema, &answer.collect().await?)?.to_string())
    })
}
