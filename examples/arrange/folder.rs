//! All tunes of a folder, on all cores; a bad one does not stop the others.

use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressStyle};
use overshell::rules::RuleSet;
use overshell::search::Arrangement;
use overshell::sheet::{CAUTION, SheetFinding, read_file, refuse_to_overwrite, write_file};

use crate::arguments::Arguments;
use crate::key::in_keys;
use crate::names::{ENDINGS, Job, jobs, tunes};
use crate::shared::complain;
use crate::tune::Tune;

/// So many findings of a tune are told; the others are counted.
const TOLD: usize = 5;

/// Arranges a folder: 0 where all went well, 1 where some tunes failed, 2 where nothing could be done.
pub(crate) fn run(arguments: &Arguments, folder: &Path, rules: &RuleSet) -> ExitCode {
    let (jobs, others) = match prepared(arguments, folder) {
        Ok(found) => found,
        Err(Refusal { message, help }) => {
            complain(&format!("error: {}: {message}\n  help: {help}", folder.display()));
            return ExitCode::from(2);
        }
    };
    let start = Instant::now();
    let summary = all(arguments, rules, &jobs);
    summary.tell(start.elapsed(), others);
    if summary.failed.is_empty() { ExitCode::SUCCESS } else { ExitCode::from(1) }
}

/// Why nothing can be done with a folder.
struct Refusal {
    message: String,
    help: String,
}

fn prepared(arguments: &Arguments, folder: &Path) -> Result<(Vec<Job>, usize), Refusal> {
    let refused = |message: String, help: String| Err(Refusal { message, help });
    for (is_asked, option) in [(!arguments.pin.is_empty(), "--pin"), (!arguments.why.is_empty(), "--why")] {
        if is_asked {
            let message = format!("{option} names a chord of one tune, this is a folder of tunes");
            return refused(message, "give the tune that the chord is in".to_owned());
        }
    }
    let same = folder.canonicalize().ok().zip(arguments.out.canonicalize().ok());
    if same.is_some_and(|(tunes, results)| tunes == results) {
        let message = "the results would lie among the tunes, and be taken for tunes the next time";
        return refused(message.to_owned(), "choose another folder for the results with --out".to_owned());
    }
    match tunes(folder) {
        Ok((tunes, others)) if !tunes.is_empty() => Ok((jobs(arguments, tunes), others)),
        Ok(_) => {
            let endings = ENDINGS.map(|ending| format!("`.{ending}`")).join(", ");
            refused("the folder holds no tune".to_owned(), format!("tunes are files that end in {endings}"))
        }
        Err(error) => refused(error.to_string(), "give a folder that can be read".to_owned()),
    }
}

/// What became of a tune that was arranged.
struct Done {
    arrangement: Option<Arrangement>,
    remarks: Vec<String>,
    findings: Vec<SheetFinding>,
    files: usize,
}

fn all(arguments: &Arguments, rules: &RuleSet, jobs: &[Job]) -> Summary {
    // Links and other ways to spell a path lead to the same tune.
    let inputs: HashMap<PathBuf, &Path> =
        jobs.iter().filter_map(|job| Some((job.path.canonicalize().ok()?, job.path.as_path()))).collect();
    let threads = std::thread::available_parallelism().map_or(1, usize::from).min(jobs.len());
    let next = AtomicUsize::new(0);
    let (sender, receiver) = mpsc::channel();
    let bar = progress_bar(jobs.len());
    let mut summary = Summary::default();
    std::thread::scope(|scope| {
        for _ in 0..threads {
            let (sender, next, inputs) = (sender.clone(), &next, &inputs);
            scope.spawn(move || {
                while let Some((at, job)) =
                    Some(next.fetch_add(1, Ordering::Relaxed)).and_then(|at| Some((at, jobs.get(at)?)))
                {
                    // Nobody listens only where the whole program ends.
                    let _ = sender.send((at, one(arguments, rules, job, inputs)));
                }
            });
        }
        drop(sender);
        // Told in the order of the names, whichever is ready first.
        let mut waiting = BTreeMap::new();
        let mut told = jobs.iter().enumerate().peekable();
        for (at, outcome) in receiver {
            bar.inc(1);
            waiting.insert(at, outcome);
            while let Some((job, outcome)) =
                told.peek().and_then(|(at, job)| Some((*job, waiting.remove(at)?)))
            {
                told.next();
                bar.suspend(|| summary.add(&job.name(), outcome));
            }
        }
    });
    bar.finish_and_clear();
    summary
}

/// On a terminal, how far it is; elsewhere nothing.
fn progress_bar(count: usize) -> ProgressBar {
    let bar = ProgressBar::new(u64::try_from(count).unwrap_or(u64::MAX));
    match ProgressStyle::with_template("{pos} of {len} tunes {wide_bar} {elapsed} gone, about {eta} to go") {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
}

/// Arranges one tune and writes what is made of it.
fn one(
    arguments: &Arguments,
    rules: &RuleSet,
    job: &Job,
    inputs: &HashMap<PathBuf, &Path>,
) -> overshell::Result<Done> {
    let reading = read_file(&job.path, &arguments.reading())?;
    let mut tunes = in_keys(arguments, rules, reading, &job.stem)?;
    let files = tunes.iter_mut().flat_map(|tune| std::mem::take(&mut tune.files));
    let files: Vec<_> = files.map(|(name, bytes)| (arguments.out.join(name), bytes)).collect();
    for (path, _) in &files {
        if let Some(input) = path.canonicalize().ok().and_then(|path| inputs.get(&path)) {
            refuse_to_overwrite(input, path)?;
        }
    }
    for (path, bytes) in &files {
        write_file(path, bytes)?;
    }
    // What there is to say is the same in every key, but for the cost.
    let (arrangement, remarks, findings) = match tunes.into_iter().next() {
        Some(Tune { arrangements, remarks, findings, .. }) => {
            (arrangements.into_iter().next(), remarks, findings)
        }
        None => (None, Vec::new(), Vec::new()),
    };
    Ok(Done { arrangement, remarks, findings, files: files.len() })
}

/// What became of all of them.
#[derive(Default)]
struct Summary {
    arranged: usize,
    with_findings: usize,
    findings: usize,
    files: usize,
    /// The name of the file and what is wrong with it.
    failed: Vec<(String, String)>,
}

impl Summary {
    /// Counts a tune and tells what became of it.
    fn add(&mut self, name: &str, outcome: overshell::Result<Done>) {
        let done = match outcome {
            Ok(done) => done,
            Err(error) => {
                say!("{name}: failed");
                complain(&error.report());
                self.failed.push((name.to_owned(), error.to_string()));
                return;
            }
        };
        self.arranged += 1;
        self.files += done.files;
        self.findings += done.findings.len();
        self.with_findings += usize::from(!done.findings.is_empty());
        if let Some(best) = &done.arrangement {
            say!("{name}: {}, total cost {}", counted(best.chords.len(), "chord"), best.cost);
        }
        done.remarks.iter().for_each(|remark| say!("  {remark}"));
        for finding in done.findings.iter().take(TOLD) {
            say!("  {finding}\n    help: {}", finding.help);
        }
        if let Some(more) = done.findings.len().checked_sub(TOLD).filter(|more| *more > 0) {
            say!("  and {}", counted(more, "more finding"));
        }
    }

    fn tell(&self, time: Duration, others: usize) {
        let seconds = time.as_secs_f64();
        say!(
            "\n{} arranged, {} of them with findings ({}); {} failed; {} written",
            counted(self.arranged, "tune"),
            self.with_findings,
            counted(self.findings, "finding"),
            self.failed.len(),
            counted(self.files, "file"),
        );
        for (name, why) in &self.failed {
            say!("  {name}: {why}");
        }
        if others > 0 {
            say!("{} of other kinds left alone", counted(others, "file"));
        }
        say!("{seconds:.2} s, {:.0} tunes a minute", self.arranged as f64 * 60.0 / seconds.max(0.001));
        say!("\n{CAUTION}");
    }
}

fn counted(count: usize, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}
