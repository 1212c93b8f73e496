//! A lead sheet in, engraved pages out: SVG, PNG and PDF.
//!
//! ```text
//! cargo run --release --features engraving --example engrave -- TUNE.musicxml --out pages --paper letter
//! ```

#[macro_use]
mod shared;
#[path = "shared/option.rs"]
mod option;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Parser;
use overshell::engraving::{EngravingOptions, Paper, engrave};
use overshell::rules::RuleSet;
use overshell::search::{ArrangeOptions, arrange};
use overshell::sheet::{
    CAUTION, ReadOptions, read, read_file, refuse_to_overwrite, write_file, write_musicxml,
};
use overshell::voicing::HandSize;

/// Arranges a lead sheet for two hands and engraves the pages
#[derive(Parser)]
struct Arguments {
    /// The tune: MusicXML (plain or compressed), ABC or a chart; without it, a demo tune
    tune: Option<PathBuf>,
    /// The folder for the pages
    #[arg(long, value_name = "DIR", default_value = "out")]
    out: PathBuf,
    /// The paper: a4 or letter
    #[arg(long, default_value = "a4", value_parser = option::value::<Paper>)]
    paper: Paper,
    /// The size of the music in percent of the engraver's own
    #[arg(long, default_value_t = EngravingOptions::default().percent)]
    percent: u16,
    /// Dots per inch of the PNG
    #[arg(long, default_value_t = 150)]
    dots: u16,
    /// What the hands reach: small, medium, large, or a measured span such as 205mm
    #[arg(long, default_value_t, value_parser = option::value::<HandSize>)]
    hand: HandSize,
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    shared::run(|| run(&arguments))
}

fn run(arguments: &Arguments) -> overshell::Result<()> {
    let reading = match &arguments.tune {
        Some(path) => read_file(path, &ReadOptions::default())?,
        None => read(include_bytes!("tunes/nine-lamps.musicxml"), &ReadOptions::default())?,
    };
    for finding in &reading.findings {
        say!("{finding}\n  help: {}", finding.help);
    }
    let options = ArrangeOptions { hand: arguments.hand, ..ArrangeOptions::default() };
    let arrangement = arrange(&reading.sheet.progression(), RuleSet::standard(), options)?;
    let page = write_musicxml(&reading.sheet, &arrangement)?;
    let engraved = engrave(&page, &EngravingOptions { paper: arguments.paper, percent: arguments.percent })?;
    // Everything is made before anything is written.
    let stem = arguments
        .tune
        .as_deref()
        .and_then(Path::file_stem)
        .map_or("nine-lamps".into(), |s| s.to_string_lossy());
    let mut files = vec![(format!("{stem}.pdf"), engraved.pdf()?)];
    for (at, svg) in engraved.svgs().iter().enumerate() {
        files.push((format!("{stem}-{}.svg", at + 1), svg.clone().into_bytes()));
        files.push((format!("{stem}-{}.png", at + 1), engraved.png(at, arguments.dots)?));
    }
    for (name, bytes) in files {
        let path = arguments.out.join(name);
        if let Some(tune) = &arguments.tune {
            refuse_to_overwrite(tune, &path)?;
        }
        write_file(&path, &bytes)?;
        say!("wrote {}", path.display());
    }
    say!("\n{CAUTION}");
    Ok(())
}
