//! What can be asked.

use std::ops::Range;
use std::path::PathBuf;

use clap::Parser;
use overshell::census::Column;
use overshell::chord::{Chord, Family};
use overshell::pitch::NoteName;
use overshell::voicing::{HandSize, Inversion, Label, Shell, Spacing};

use crate::format::Format;
use crate::option::value;

/// Writes the census: every triad over every shell, numbered, judged and named, in files for other tools
#[derive(Parser)]
pub(crate) struct Arguments {
    /// What is counted: usual, full, or a file with a space as JSON
    #[arg(long, default_value = "usual")]
    pub(crate) space: String,
    /// A rule set that ships, a rule file, or a folder of them
    #[arg(long, value_name = "SET_OR_FILE", default_value = "standard")]
    pub(crate) rules: String,
    /// Hands of this size instead of the space's own
    #[arg(long, value_parser = value::<HandSize>)]
    pub(crate) hand: Option<HandSize>,
    /// Only these numbers of the census, the last one not among them
    #[arg(long, value_name = "A..B", value_parser = range)]
    pub(crate) range: Option<Range<u64>>,
    /// Only part I (from 0) of N parts, for N machines
    #[arg(long, value_name = "I/N", value_parser = shard)]
    pub(crate) shard: Option<(u64, u64)>,
    /// Only chords on this root (as often as wanted; so are the next ones)
    #[arg(long, value_parser = value::<NoteName>)]
    pub(crate) root: Vec<NoteName>,
    /// Only chords of this family
    #[arg(long, value_parser = value::<Family>)]
    pub(crate) family: Vec<Family>,
    /// Only this chord, as it is on C
    #[arg(long, value_parser = value::<Chord>)]
    pub(crate) chord: Vec<Chord>,
    /// Only this shell, by roles ("1 3 7")
    #[arg(long, value_parser = value::<Shell>)]
    pub(crate) shell: Vec<Shell>,
    /// Only the triad on this degree of the chord ("II", "#iv")
    #[arg(long, value_parser = value::<Label>)]
    pub(crate) label: Vec<Label>,
    /// Only this inversion: root, first or second
    #[arg(long, value_parser = inversion)]
    pub(crate) inversion: Vec<Inversion>,
    /// Only close or only open position
    #[arg(long, value_parser = spacing)]
    pub(crate) spacing: Vec<Spacing>,
    /// Print how many combinations that makes, and nothing else
    #[arg(long, conflicts_with_all = ["summary", "out"])]
    pub(crate) count: bool,
    /// Print which triads clash, are plain or colour, by family, and nothing else
    #[arg(long, conflicts_with = "out")]
    pub(crate) summary: bool,
    /// With --summary: the same as a picture, into this file
    #[arg(long, value_name = "FILE", requires = "summary")]
    pub(crate) svg: Option<PathBuf>,
    /// The folder for the files
    #[arg(long, value_name = "FOLDER", required_unless_present_any = ["count", "summary"])]
    pub(crate) out: Option<PathBuf>,
    /// Into what kind of files
    #[arg(long, value_enum, default_value_t = Format::Csv)]
    pub(crate) format: Format,
    /// Which columns, with commas between; without it all
    #[arg(long, value_delimiter = ',', value_parser = value::<Column>)]
    pub(crate) columns: Vec<Column>,
    /// How many numbers of the census a file covers
    #[arg(long, value_name = "COUNT", default_value_t = 262_144, value_parser = clap::value_parser!(u64).range(1..))]
    pub(crate) part: u64,
    /// Go on where a run into the same folder has ended
    #[arg(long)]
    pub(crate) resume: bool,
    /// How many threads; without it one for each core
    #[arg(long, value_parser = clap::value_parser!(u16).range(1..=256))]
    pub(crate) threads: Option<u16>,
}

fn range(text: &str) -> Result<Range<u64>, String> {
    let ends = text.split_once("..").and_then(|(a, b)| Some(number(a)?..number(b)?));
    ends.ok_or_else(|| "a range is two numbers with two dots between, such as 0..1000".to_owned())
}

fn shard(text: &str) -> Result<(u64, u64), String> {
    let parts = text.split_once('/').and_then(|(i, n)| Some((number(i)?, number(n)?)));
    parts.ok_or_else(|| "a shard is its number and how many there are, such as 0/4".to_owned())
}

/// A number, with or without `_` between its digits.
fn number(text: &str) -> Option<u64> {
    text.replace('_', "").parse().ok()
}

fn inversion(text: &str) -> Result<Inversion, String> {
    let found = Inversion::ALL.into_iter().find(|inversion| inversion.name() == text);
    found.ok_or_else(|| "the inversions are root, first and second".to_owned())
}

fn spacing(text: &str) -> Result<Spacing, String> {
    let found = Spacing::ALL.into_iter().find(|spacing| spacing.as_str() == text);
    found.ok_or_else(|| "the spacings are close and open".to_owned())
}
