//! Practice in all twelve keys: the triads over a chord, or a tune for two hands, as a book of music and a page to print.
//!
//! ```text
//! cargo run --release --example practice -- catalogue C7 --structures II,bVI --keys fifths
//! cargo run --release --example practice -- tune TUNE.musicxml --keys shuffle:7 --out practice
//! ```

mod catalogue;
#[path = "../shared/option.rs"]
mod option;
#[path = "../shared/page.rs"]
mod page;
#[path = "../shared/played.rs"]
mod played;
#[macro_use]
#[path = "../shared/mod.rs"]
mod shared;
mod tune;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, Parser, Subcommand, ValueEnum};
use overshell::chord::{Chord, Degree, Key};
use overshell::sheet::{
    CAUTION, KeyOrder, Section, Six, refuse_to_overwrite, write_book_musicxml, write_file,
};
use overshell::voicing::{HandSize, Voicing};
use page::Page;

/// Writes what to practise in all twelve keys: a book in MusicXML and a page in HTML that prints on A4 and Letter
#[derive(Parser)]
struct Arguments {
    #[command(subcommand)]
    what: What,
}

#[derive(Subcommand)]
enum What {
    /// Triads over a chord
    Catalogue(catalogue::OverChord),
    /// A tune for two hands
    Tune(tune::OfTune),
}

/// What both are asked.
#[derive(Args)]
struct Usual {
    /// The order of the keys: fourths, fifths, chromatic, or shuffle: and a number such as shuffle:7
    #[arg(long, value_name = "ORDER", default_value_t, value_parser = option::value::<KeyOrder>)]
    keys: KeyOrder,
    /// How a key with six accidentals is written
    #[arg(long, value_enum, default_value_t)]
    six: SixSigns,
    /// The folder for the results
    #[arg(long, value_name = "DIR", default_value = "out")]
    out: PathBuf,
    /// A rule set that ships, a rule file, or a folder of them
    #[arg(long, value_name = "SET_OR_FILE", default_value = "standard")]
    rules: String,
    /// What the hands reach: small, medium, large, or a measured span such as 205mm
    #[arg(long, default_value_t, value_parser = option::value::<HandSize>)]
    hand: HandSize,
    /// Somebody else plays the bass
    #[arg(long)]
    bass_player: bool,
}

#[derive(Clone, Copy, Default, ValueEnum)]
enum SixSigns {
    /// G flat major, E flat minor
    #[default]
    Flats,
    /// F sharp major, D sharp minor
    Sharps,
}

impl Usual {
    fn keys(&self, first: Key) -> Vec<Key> {
        let six = match self.six {
            SixSigns::Flats => Six::Flats,
            SixSigns::Sharps => Six::Sharps,
        };
        self.keys.keys(first, six)
    }
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    shared::run(|| match &arguments.what {
        What::Catalogue(question) => catalogue::write(question),
        What::Tune(question) => tune::write(question),
    })
}

/// What each note is in the chord, from the lowest.
fn degrees(chord: Chord, voicing: &Voicing) -> impl Iterator<Item = Degree> {
    voicing.pitches().map(|pitch| chord.degree_of(pitch.pitch_class())).collect::<Vec<_>>().into_iter()
}

/// A text as the name of a file on every system.
fn file_name(text: &str) -> String {
    let text = text.replace(['#', '♯'], "sharp").replace('♭', "b");
    let keep = |c: char| if c.is_alphanumeric() || "-_+".contains(c) { c } else { '-' };
    text.chars().map(keep).collect::<String>().trim_matches('-').to_owned()
}

/// Writes book and page; everything is made before anything is written.
fn finish(
    usual: &Usual,
    input: Option<&Path>,
    stem: &str,
    title: &str,
    sections: &[Section],
    page: Page,
) -> overshell::Result<()> {
    let files = [
        (usual.out.join(format!("{stem}-keys.musicxml")), write_book_musicxml(title, sections)?),
        (usual.out.join(format!("{stem}-keys.html")), page.finish()),
    ];
    for (path, _) in &files {
        if let Some(input) = input {
            refuse_to_overwrite(input, path)?;
        }
    }
    for (path, text) in &files {
        write_file(path, text.as_bytes())?;
        say!("wrote {}", path.display());
    }
    say!("\n{CAUTION}");
    Ok(())
}
