//! Writing files, on all cores, going on where a run has ended.

use std::ops::Range;
use std::path::Path;
use std::process::ExitCode;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc;
use std::time::Instant;

use indicatif::{ProgressBar, ProgressStyle};
use overshell::census::CensusRows;

use crate::arguments::Arguments;
use crate::asked::Asked;
use crate::failure::{Failure, Result};
use crate::manifest::{self, Manifest, Part, Run};
use crate::parts;

/// Writes what is asked into its folder.
pub(crate) fn run(arguments: &Arguments, asked: &Asked) -> Result<ExitCode> {
    let Some(folder) = &arguments.out else { return Ok(ExitCode::SUCCESS) };
    if !arguments.format.is_built() {
        return Err(Failure::new(
            "this build of the example writes no Parquet",
            "build it with it: cargo run --release --features parquet --example census",
        ));
    }
    let run = Run::new(arguments, asked);
    let path = manifest::path(arguments, folder);
    let mut manifest = match (arguments.resume, path.exists()) {
        (true, true) => Manifest::read(&path, &run)?,
        (false, true) => {
            return Err(Failure::new(
                format!("{}: the folder holds a census already", folder.display()),
                "choose another folder, or go on with --resume",
            ));
        }
        (_, false) => Manifest::new(run.clone()),
    };
    manifest::check_neighbours(folder, &path, &run)?;
    std::fs::create_dir_all(folder).map_err(|error| Failure::io(folder, error))?;
    let lost = manifest.drop_lost(|part| parts::is_there(folder, part));
    let to_do: Vec<Range<u64>> =
        run.parts().filter(|range| !manifest.parts.contains_key(&range.start)).collect();
    manifest.write(&path)?;

    let start = Instant::now();
    let before = manifest.rows;
    let written = all(arguments, asked, &to_do, folder, |range, part| {
        manifest.add(range.start, part);
        manifest.write(&path)
    });
    let rows = manifest.rows - before;
    let seconds = start.elapsed().as_secs_f64();
    if lost > 0 {
        say!("{lost} files were not as they had been written, and are written again");
    }
    say!(
        "{} files with {} rows in {}: {} clash, {} are plain, {} colour",
        manifest.parts.len(),
        manifest.rows,
        folder.display(),
        manifest.verdicts.clash,
        manifest.verdicts.plain,
        manifest.verdicts.colour,
    );
    if !to_do.is_empty() && rows > 0 {
        say!("{rows} rows written in {seconds:.1} s, {:.0} a second", rows_a_second(rows, seconds));
    }
    written?;
    Ok(ExitCode::SUCCESS)
}

#[expect(clippy::cast_precision_loss, reason = "it is printed without fractions")]
fn rows_a_second(rows: u64, seconds: f64) -> f64 {
    rows as f64 / seconds.max(1e-9)
}

/// Writes the files of all ranges; after the first failure no other is begun.
fn all(
    arguments: &Arguments,
    asked: &Asked,
    ranges: &[Range<u64>],
    folder: &Path,
    mut done: impl FnMut(&Range<u64>, Part) -> Result<()>,
) -> Result<()> {
    let description = serde_json::to_string(&asked.census.description(&asked.rules))
        .map_err(|error| Failure::io(folder, error))?;
    let cores = || std::thread::available_parallelism().map_or(1, usize::from);
    let threads = arguments.threads.map_or_else(cores, usize::from).min(ranges.len());
    let (next, stop) = (AtomicUsize::new(0), AtomicBool::new(false));
    let (sender, receiver) = mpsc::channel();
    let bar = progress_bar(ranges);
    let mut ended = Ok(());
    std::thread::scope(|scope| {
        for _ in 0..threads {
            let (sender, next, stop, description) = (sender.clone(), &next, &stop, &description);
            scope.spawn(move || {
                let rows = CensusRows::new(&asked.census, &asked.rules);
                while let Some(range) = ranges.get(next.fetch_add(1, Ordering::Relaxed)) {
                    if stop.load(Ordering::Relaxed) {
                        break;
                    }
                    let part =
                        parts::write(asked, &rows, range.clone(), arguments.format, description, folder);
                    if part.is_err() {
                        stop.store(true, Ordering::Relaxed);
                    }
                    // Nobody listens only where the whole program ends.
                    let _ = sender.send((range, part));
                }
            });
        }
        drop(sender);
        for (range, part) in receiver {
            let taken = part.and_then(|part| done(range, part));
            bar.inc(range.end - range.start);
            if taken.is_err() && ended.is_ok() {
                stop.store(true, Ordering::Relaxed);
                ended = taken;
            }
        }
    });
    bar.finish_and_clear();
    ended
}

/// On a terminal, how far it is and how fast; elsewhere nothing.
fn progress_bar(ranges: &[Range<u64>]) -> ProgressBar {
    let bar = ProgressBar::new(ranges.iter().map(|range| range.end - range.start).sum());
    match ProgressStyle::with_template(
        "{human_pos} of {human_len} numbers {wide_bar} {per_sec}, about {eta} to go",
    ) {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
}
