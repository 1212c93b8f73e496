//! A lead sheet in, playable two-hand voicings out; or a folder of them.
//!
//! ```text
//! cargo run --release --example arrange                     # a demo tune
//! cargo run --release --example arrange -- TUNE.musicxml --out arranged --hand small
//! cargo run --release --example arrange -- TUNE.musicxml --key all   # in all twelve keys
//! cargo run --release --example arrange -- TUNES --out arranged   # all tunes of a folder
//! ```
//!
//! Exit status: 0 where all went well; 1 where some tunes of a folder could not be arranged, the others being written; 2 where
//! nothing could be done.

#[macro_use]
#[path = "../shared/mod.rs"]
mod shared;

mod arguments;
mod folder;
mod key;
mod led;
mod names;
#[path = "../shared/option.rs"]
mod option;
#[path = "../shared/played.rs"]
mod played;
mod told;
mod tune;

use std::path::Path;
use std::process::ExitCode;

use arguments::Arguments;
use clap::Parser;
use key::in_keys;
use overshell::rules::RuleSet;
use overshell::search::Comparison;
use overshell::sheet::{CAUTION, read, read_file, refuse_to_overwrite, write_file};
use tune::Tune;

/// The demo: 32 bars, invented for this project.
const DEMO: &str = include_str!("../tunes/nine-lamps.musicxml");
const DEMO_STEM: &str = "nine-lamps";

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    shared::run(|| {
        let rules = RuleSet::load(&arguments.rules)?;
        match &arguments.tune {
            Some(path) if path.is_dir() => Ok(folder::run(&arguments, path, &rules)),
            path => one(&arguments, path.as_deref(), &rules),
        }
    })
}

/// One tune, with all there is to say of it.
fn one(arguments: &Arguments, path: Option<&Path>, rules: &RuleSet) -> overshell::Result<ExitCode> {
    let reading = match path {
        Some(path) => read_file(path, &arguments.reading())?,
        None => read(DEMO.as_bytes(), &arguments.reading())?,
    };
    let stem = path.and_then(Path::file_stem).map_or(DEMO_STEM.into(), |stem| stem.to_string_lossy());
    // Everything is made before anything is written.
    let tunes = in_keys(arguments, rules, reading, &stem)?;
    let files = tunes.iter().flat_map(|tune| &tune.files);
    let files: Vec<_> = files.map(|(name, bytes)| (arguments.out.join(name), bytes)).collect();
    for (result, _) in &files {
        if let Some(path) = path {
            refuse_to_overwrite(path, result)?;
        }
    }
    tunes.iter().for_each(tell);
    // They are those of the tune as it was read, in whatever key it is arranged.
    for finding in tunes.first().iter().flat_map(|tune| &tune.findings) {
        say!("{finding}\n  help: {}", finding.help);
    }
    for (path, bytes) in &files {
        write_file(path, bytes)?;
        say!("wrote {}", path.display());
    }
    say!("\n{CAUTION}");
    Ok(ExitCode::SUCCESS)
}

fn tell(tune: &Tune) {
    let Tune { arrangements, reports, whys, remarks, .. } = tune;
    if let (Some(report), Some(best)) = (reports.first(), arrangements.first()) {
        told::print(report, best);
        remarks.iter().for_each(|remark| say!("{remark}"));
        for (at, other) in arrangements.iter().enumerate().skip(1) {
            say!("arrangement {}, against the first: {}", at + 1, Comparison::new(best, other));
        }
    }
    whys.iter().for_each(|why| say!("{why}"));
}
