//! Where sets come from: names, texts, files and folders, each with the sets that it extends.

use std::path::Path;
use std::sync::Arc;

use super::RuleSet;
use super::pile::{Identity, Pile, identity, read_file};
use super::read::File;
use crate::error::{Error, Kind as ErrorKind, Result};
use crate::rules::format::suggestion;
use crate::rules::{case, embedded};

/// How many files a folder may hold.
const MOST_FILES: usize = 1_000;

impl RuleSet {
    /// The set that ships under this name.
    ///
    /// # Errors
    ///
    /// [`Error::is_rules`] where there is none; the help lists those there are.
    pub fn named(name: &str) -> Result<Self> {
        match embedded::file(name) {
            Some(file) => {
                let mut pile = Pile::default();
                pile.lay_own(file?, Identity::Shipped(name.to_owned()), None);
                pile.into_set(None)
            }
            None => Err(Error::new(
                ErrorKind::Rules,
                format!("there is no rule set `{}`", crate::pitch::shown(name)),
            )
            .with_help(suggestion(name, embedded::names()))),
        }
    }

    /// Reads a set from the text of a rule file; `name` is what messages call it. Such a text may extend sets that ship.
    ///
    /// # Errors
    ///
    /// [`Error::is_rules`] with every fault of the file ([`Error::others`]), each with line, column and help;
    /// [`Error::is_limit`] for a text over 1 MiB.
    pub fn from_toml(name: &str, text: &str) -> Result<Self> {
        let mut pile = Pile::default();
        pile.own(File::read(name, text)?, Identity::Text, None);
        pile.into_set(None)
    }

    /// Reads a text on top of this set, as if it extended it: its rules replace those of the same id, its `off` takes
    /// some away, be they from files or in code.
    ///
    /// # Errors
    ///
    /// As [`RuleSet::from_toml`].
    ///
    /// # Example
    ///
    /// ```
    /// use overshell::rules::RuleSet;
    ///
    /// let text = "format = 1\nname = \"no stretch\"\noff = [\"reach-small\"]\n";
    /// let rules = RuleSet::standard().over_toml("no-stretch.toml", text)?;
    /// assert_eq!(rules.name(), "no stretch");
    /// assert_eq!(rules.ids().count() + 1, RuleSet::standard().ids().count());
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn over_toml(&self, name: &str, text: &str) -> Result<Self> {
        let mut pile = Pile::over(self);
        pile.own(File::read(name, text)?, Identity::Text, None);
        pile.into_set(Some(self))
    }

    /// Reads a set from a rule file, and runs the file's own cases. The file may extend sets that ship and, by paths
    /// beside it (`./mine.toml`), other files.
    ///
    /// # Errors
    ///
    /// As [`RuleSet::from_toml`], for the file and those it extends; [`Error::is_rules`] where files extend each other in
    /// a circle, and where a case does not hold; [`Error::is_io`] where the file cannot be read.
    pub fn from_file(path: impl AsRef<Path>) -> Result<Self> {
        let path = path.as_ref();
        let mut pile = Pile::default();
        pile.own(read_file(path)?, identity(path), path.parent());
        pile.into_set(None)?.tested(&path.display().to_string())
    }

    /// Reads a set from all rule files (`*.toml`) of a folder, and runs their cases. The set is called as the folder; an
    /// id may stand in one of the files only, so that their order does not matter.
    ///
    /// # Errors
    ///
    /// As [`RuleSet::from_file`]; [`Error::is_rules`] where two files have a rule of the same id or differ in a setting,
    /// and where there is no rule file; [`Error::is_limit`] for a folder of more than 1,000.
    pub fn from_folder(path: impl AsRef<Path>) -> Result<Self> {
        let path = path.as_ref();
        let folder = path.display().to_string();
        let cannot = |e: std::io::Error| Error::new(ErrorKind::Io, format!("cannot read `{folder}`: {e}"));
        let mut paths = Vec::new();
        for entry in std::fs::read_dir(path).map_err(cannot)? {
            let path = entry.map_err(cannot)?.path();
            if path.extension().is_some_and(|extension| extension == "toml") && path.is_file() {
                paths.push(path);
            }
        }
        if paths.is_empty() {
            return Err(Error::new(ErrorKind::Rules, format!("`{folder}` holds no rule file"))
                .with_help("a rule file ends in `.toml`"));
        }
        if paths.len() > MOST_FILES {
            let message = format!("`{folder}` holds {} rule files, the limit is {MOST_FILES}", paths.len());
            return Err(Error::new(ErrorKind::Limit, message).with_help("give one of the files"));
        }
        paths.sort();
        let mut pile = Pile::default();
        let mut files = Vec::new();
        for own in &paths {
            match read_file(own) {
                Ok((file, errors)) => {
                    pile.broken |= !errors.is_empty();
                    pile.errors.extend(errors);
                    pile.siblings.push(identity(own));
                    files.push((Arc::new(file), identity(own)));
                }
                Err(error) => pile.errors.push(error),
            }
        }
        // What any of them extends lies below all of them, in an order that does not depend on theirs.
        let mut wanted: Vec<(&String, usize)> = Vec::new();
        for (at, (file, _)) in files.iter().enumerate() {
            wanted.extend(file.extends.iter().map(|(_, name)| (name, at)));
        }
        wanted.sort();
        wanted.dedup_by_key(|(name, _)| *name);
        for (name, at) in wanted {
            if let Some((file, identity)) = files.get(at) {
                pile.lay_below(file, identity, Some(path), &|wanted| wanted == name);
            }
        }
        for (file, identity) in files {
            pile.push(file, identity, true);
        }
        let quarrels = pile.quarrels();
        pile.errors.extend(quarrels);
        let mut set = pile.into_set(None)?;
        let name = path.canonicalize().ok().and_then(|p| Some(p.file_name()?.to_string_lossy().into_owned()));
        set.name = name.unwrap_or(folder.clone());
        set.tested(&folder)
    }

    /// The set that ships under this name, or else the one in this file or folder.
    ///
    /// # Errors
    ///
    /// As [`RuleSet::from_file`] and [`RuleSet::from_folder`]; where there is no such file either, the help lists the sets
    /// that ship.
    pub fn load(name_or_path: &str) -> Result<Self> {
        if embedded::file(name_or_path).is_some() {
            return Self::named(name_or_path);
        }
        let path = Path::new(name_or_path);
        let set = if path.is_dir() { Self::from_folder(path) } else { Self::from_file(path) };
        set.map_err(|error| {
            if error.is_io() {
                error.with_help(format!(
                    "give a rule file, a folder of them, or a set that ships: {}",
                    suggestion(name_or_path, embedded::names())
                ))
            } else {
                error
            }
        })
    }

    fn tested(self, name: &str) -> Result<Self> {
        case::failures(name, self.self_test()).map_or(Ok(self), Err)
    }
}
