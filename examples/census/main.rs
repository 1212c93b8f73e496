//! The census: every triad over every shell, numbered, as files for other tools.
//!
//! ```text
//! cargo run --release --example census -- --space usual --format csv --out rows
//! cargo run --release --example census -- --space usual --format csv --out rows --resume
//! cargo run --release --example census -- --chord C7 --root C --shell "1 3 7" --summary
//! cargo run --release --features parquet --example census -- --space full --format parquet --shard 0/4 --out rows
//! ```

mod arguments;
mod asked;
mod failure;
mod format;
mod manifest;
#[path = "../shared/option.rs"]
mod option;
mod parts;
#[path = "../shared/mod.rs"]
#[macro_use]
mod shared;
mod summary;
mod write;

use std::process::ExitCode;

use clap::Parser;

use crate::arguments::Arguments;
use crate::asked::Asked;

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    shared::run(|| run(&arguments))
}

fn run(arguments: &Arguments) -> failure::Result<ExitCode> {
    let asked = Asked::new(arguments)?;
    if arguments.count {
        say!("{}", asked.filter.count(&asked.census, asked.range.clone()));
        return Ok(ExitCode::SUCCESS);
    }
    if arguments.summary {
        return summary::tell(arguments, &asked);
    }
    write::run(arguments, &asked)
}
