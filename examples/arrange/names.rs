//! The tunes of a folder, and names for their results under which none takes the place of another.

use std::collections::HashSet;
use std::ffi::OsStr;
use std::io;
use std::path::{Path, PathBuf};

use crate::arguments::Arguments;
use crate::tune;

/// How the names of files that are taken for tunes end.
pub(crate) const ENDINGS: [&str; 5] = ["musicxml", "mxl", "xml", "abc", "chart"];

/// A file of the folder and what its results are called.
pub(crate) struct Job {
    pub(crate) path: PathBuf,
    pub(crate) stem: String,
}

impl Job {
    /// The name of the file.
    pub(crate) fn name(&self) -> String {
        self.path.file_name().unwrap_or_default().to_string_lossy().into_owned()
    }
}

/// The tunes of a folder by name, and how many other files it has. Folders inside and hidden files are not looked at.
pub(crate) fn tunes(folder: &Path) -> io::Result<(Vec<PathBuf>, usize)> {
    let (mut tunes, mut others) = (Vec::new(), 0);
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        // A link that leads nowhere is a file that cannot be read, and is told as one.
        let is_hidden = path.file_name().is_some_and(|name| name.as_encoded_bytes().starts_with(b"."));
        if is_hidden || path.is_dir() {
            continue;
        }
        if is_tune(&path) {
            tunes.push(path);
        } else {
            others += 1;
        }
    }
    tunes.sort();
    Ok((tunes, others))
}

fn is_tune(path: &Path) -> bool {
    let ending = path.extension().and_then(OsStr::to_str);
    ending.is_some_and(|ending| ENDINGS.iter().any(|known| ending.eq_ignore_ascii_case(known)))
}

/// Names for the results: the stem of the file, or all of its name where the stem is taken, then with a number. Names that
/// differ in capitals alone are one name to many disks.
pub(crate) fn jobs(arguments: &Arguments, tunes: Vec<PathBuf>) -> Vec<Job> {
    let mut taken: HashSet<String> = HashSet::new();
    let mut jobs = Vec::with_capacity(tunes.len());
    for path in tunes {
        let text = |part: Option<&OsStr>| part.unwrap_or_default().to_string_lossy().into_owned();
        let whole = text(path.file_name());
        let numbered = (2..).map(|number| format!("{whole}-{number}"));
        let free = [text(path.file_stem()), whole.clone()].into_iter().chain(numbered).find_map(|stem| {
            let names: Vec<_> =
                tune::names(arguments, &stem).into_iter().map(|name| name.to_lowercase()).collect();
            names.iter().all(|name| !taken.contains(name)).then_some((stem, names))
        });
        if let Some((stem, names)) = free {
            taken.extend(names);
            jobs.push(Job { path, stem });
        }
    }
    jobs
}

#[cfg(test)]
mod tests {
    use clap::Parser;

    use super::*;

    fn stems(options: &[&str], files: &[&str]) -> Vec<String> {
        let arguments = Arguments::parse_from([&["arrange"], options].concat());
        jobs(&arguments, files.iter().map(PathBuf::from).collect()).into_iter().map(|job| job.stem).collect()
    }

    #[test]
    fn ok_no_result_takes_the_place_of_another() {
        assert_eq!(stems(&[], &["a.abc", "b.xml"]), ["a", "b"]);
        assert_eq!(stems(&[], &["a.abc", "a.chart", "A.xml"]), ["a", "a.chart", "A.xml"]);
        assert_eq!(stems(&[], &["a.abc", "a.chart", "a.chart.xml"]), ["a", "a.chart", "a.chart.xml"]);
        // The second best of the one is called as the other.
        assert_eq!(stems(&[], &["a-2.abc", "a.abc"]), ["a-2", "a"]);
        assert_eq!(stems(&["--best", "2"], &["a-2.abc", "a.abc"]), ["a-2", "a.abc"]);
        assert_eq!(stems(&["--play-along"], &["a-play-along.abc", "a.abc"]), ["a-play-along", "a.abc"]);
        assert_eq!(stems(&["--key", "Eb"], &["a.in-Eb.abc", "a.abc", "A.xml"]), ["a.in-Eb", "a", "A.xml"]);
        assert_eq!(
            stems(&["--best", "2"], &["a-2.abc", "a.abc-2.xml", "a.abc"]),
            ["a-2", "a.abc-2", "a.abc-3"]
        );
    }

    #[test]
    fn ok_files_that_are_tunes() {
        for (name, expected) in [
            ("a.mxl", true),
            ("A.XML", true),
            ("a.b.chart", true),
            ("abc", false),
            ("a.abc~", false),
            ("a.mid", false),
        ] {
            assert_eq!(is_tune(Path::new(name)), expected, "{name}");
        }
    }
}
