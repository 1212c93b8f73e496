//! What a folder holds: which census, and which of its parts are complete.

use std::collections::BTreeMap;
use std::ops::Range;
use std::path::{Path, PathBuf};

use overshell::census::{CensusDescription, CensusFilter, Column};
use overshell::sheet::write_file;
use serde::{Deserialize, Serialize};

use crate::arguments::Arguments;
use crate::asked::Asked;
use crate::failure::{Failure, Result};
use crate::format::Format;

/// What stands in the file.
#[derive(Clone, Debug, Deserialize, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub(crate) struct Manifest {
    /// What is written, the same in all shards of one census but for the range.
    pub(crate) run: Run,
    /// Whether all parts of the range are there.
    pub(crate) complete: bool,
    /// Over all parts that are there.
    pub(crate) rows: u64,
    pub(crate) verdicts: Verdicts,
    /// By the number with which they begin.
    pub(crate) parts: BTreeMap<u64, Part>,
}

/// What is written.
#[derive(Clone, Debug, Deserialize, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub(crate) struct Run {
    pub(crate) census: CensusDescription,
    pub(crate) filter: CensusFilter,
    pub(crate) start: u64,
    pub(crate) end: u64,
    pub(crate) part: u64,
    pub(crate) format: Format,
    pub(crate) columns: Vec<String>,
}

/// A file that is complete.
#[derive(Clone, Debug, Deserialize, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub(crate) struct Part {
    pub(crate) file: String,
    pub(crate) end: u64,
    pub(crate) rows: u64,
    pub(crate) bytes: u64,
    pub(crate) sha256: String,
    pub(crate) verdicts: Verdicts,
}

/// How many rows have which verdict.
#[derive(Clone, Copy, Debug, Default, Deserialize, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Verdicts {
    pub(crate) clash: u64,
    pub(crate) plain: u64,
    pub(crate) colour: u64,
}

impl Run {
    pub(crate) fn new(arguments: &Arguments, asked: &Asked) -> Self {
        Self {
            census: asked.census.description(&asked.rules),
            filter: asked.filter.clone(),
            start: asked.range.start,
            end: asked.range.end,
            part: arguments.part,
            format: arguments.format,
            columns: asked.columns.iter().map(Column::to_string).collect(),
        }
    }

    /// The parts of the range: each covers the same numbers whatever the range, so that shards meet where one run would.
    pub(crate) fn parts(&self) -> impl Iterator<Item = Range<u64>> + use<> {
        let (start, end, part) = (self.start, self.end, self.part);
        let mut next = start;
        std::iter::from_fn(move || {
            let begins = next;
            next = (begins / part).saturating_add(1).saturating_mul(part).min(end);
            (begins < end).then_some(begins..next)
        })
    }

    /// What is different from a run before, in words.
    fn differs(&self, before: &Self) -> Option<&'static str> {
        let range = ((self.start, self.end) != (before.start, before.end)).then_some("another range");
        self.differs_but_for_range(before).or(range)
    }

    fn differs_but_for_range(&self, before: &Self) -> Option<&'static str> {
        let (own, other) = (&self.census, &before.census);
        [
            (own.rules == other.rules, "other rules"),
            (own.space == other.space, "another space"),
            (own.numbering == other.numbering, "another numbering"),
            (own.version == other.version, "another version of the library"),
            (self.filter == before.filter, "another filter"),
            (self.part == before.part, "parts of another length"),
            (self.format == before.format, "another format"),
            (self.columns == before.columns, "other columns"),
            (own == other, "another description"),
        ]
        .into_iter()
        .find_map(|(same, what)| (!same).then_some(what))
    }
}

impl Manifest {
    pub(crate) fn new(run: Run) -> Self {
        let nothing = Verdicts::default();
        Self { run, complete: false, rows: 0, verdicts: nothing, parts: BTreeMap::new() }
    }

    fn load(path: &Path) -> Result<Self> {
        let text = std::fs::read_to_string(path).map_err(|error| Failure::io(path, error))?;
        serde_json::from_str(&text).map_err(|error| {
            Failure::new(
                format!("{}: {error}", path.display()),
                "it is no manifest of this program; choose another folder",
            )
        })
    }

    /// What a run before has left, which must be of the same census.
    pub(crate) fn read(path: &Path, run: &Run) -> Result<Self> {
        let manifest = Self::load(path)?;
        match run.differs(&manifest.run) {
            Some(what) => Err(Failure::new(
                format!("{}: the run before had {what}", path.display()),
                "ask as it was asked before, or choose another folder",
            )),
            None => Ok(manifest),
        }
    }

    /// Takes a part that is complete.
    pub(crate) fn add(&mut self, begins: u64, part: Part) {
        self.parts.insert(begins, part);
        self.count();
    }

    /// Drops the parts that are not there as they were written, and says how many.
    pub(crate) fn drop_lost(&mut self, is_there: impl Fn(&Part) -> bool) -> usize {
        let before = self.parts.len();
        self.parts.retain(|_, part| is_there(part));
        self.count();
        before - self.parts.len()
    }

    fn count(&mut self) {
        let of = |count: fn(&Verdicts) -> u64| self.parts.values().map(|part| count(&part.verdicts)).sum();
        self.verdicts = Verdicts { clash: of(|v| v.clash), plain: of(|v| v.plain), colour: of(|v| v.colour) };
        self.rows = self.parts.values().map(|part| part.rows).sum();
        self.complete = self.run.parts().all(|range| self.parts.contains_key(&range.start));
    }

    /// Whole or not at all.
    pub(crate) fn write(&self, path: &Path) -> Result<()> {
        let text = serde_json::to_string_pretty(self).map_err(|error| Failure::io(path, error))?;
        write_file(path, format!("{text}\n").as_bytes()).map_err(Failure::unwritten)
    }
}

/// What others have written into the folder must be of the same census, and other numbers of it: what reads all files of the
/// folder would otherwise read a mixture. What a run that was killed left of its manifest is cleared away.
pub(crate) fn check_neighbours(folder: &Path, own: &Path, run: &Run) -> Result<()> {
    // A folder that is not there yet has nothing in it; if it cannot be read, writing says why.
    let Ok(entries) = std::fs::read_dir(folder) else { return Ok(()) };
    let own_name = own.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    for path in entries.filter_map(|entry| Some(entry.ok()?.path())) {
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        if name.starts_with(&format!(".{own_name}.")) && name.ends_with(".part") {
            std::fs::remove_file(&path).map_err(|error| Failure::io(&path, error))?;
        }
        if !name.starts_with("manifest") || !name.ends_with(".json") || name == own_name {
            continue;
        }
        let other = Manifest::load(&path)?.run;
        if let Some(what) = run.differs_but_for_range(&other) {
            return Err(Failure::new(
                format!("{}: the folder holds a census with {what}", path.display()),
                "choose another folder, so that its files can be read together",
            ));
        }
        if run.start.max(other.start) < run.end.min(other.end) {
            return Err(Failure::new(
                format!("{}: the folder holds `{}..{}` already", path.display(), other.start, other.end),
                "choose another folder, or shards of the same number of parts",
            ));
        }
    }
    Ok(())
}

/// Where it stands: shards may share a folder.
pub(crate) fn path(arguments: &Arguments, folder: &Path) -> PathBuf {
    folder.join(match arguments.shard {
        Some((shard, of)) => format!("manifest-{shard}-of-{of}.json"),
        None => "manifest.json".to_owned(),
    })
}
