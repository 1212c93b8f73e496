//! What is asked of the census.

use std::ops::Range;

use overshell::census::{Census, CensusFilter, CensusSpace, Column};
use overshell::rules::RuleSet;

use crate::arguments::Arguments;
use crate::failure::{Failure, Result};

/// What is asked of the census.
pub(crate) struct Asked {
    pub(crate) census: Census,
    pub(crate) rules: RuleSet,
    pub(crate) filter: CensusFilter,
    pub(crate) range: Range<u64>,
    pub(crate) columns: Vec<Column>,
}

impl Asked {
    pub(crate) fn new(arguments: &Arguments) -> Result<Self> {
        let mut space = match arguments.space.as_str() {
            "usual" => CensusSpace::usual(),
            "full" => CensusSpace::full(),
            path => from_file(path)?,
        };
        space.hand_size = arguments.hand.unwrap_or(space.hand_size);
        let census = Census::new(space)?;
        let range = census.checked(arguments.range.clone().unwrap_or(0..census.len()))?;
        let range = match arguments.shard {
            Some((shard, of)) => census.shard(range, shard, of)?,
            None => range,
        };
        let filter = CensusFilter {
            roots: arguments.root.clone(),
            families: arguments.family.clone(),
            chords: arguments.chord.clone(),
            shells: arguments.shell.clone(),
            labels: arguments.label.clone(),
            inversions: arguments.inversion.clone(),
            spacings: arguments.spacing.clone(),
            ..CensusFilter::default()
        };
        let columns = match arguments.columns.as_slice() {
            [] => Column::ALL.to_vec(),
            some => some.to_vec(),
        };
        Ok(Self { census, rules: RuleSet::load(&arguments.rules)?, filter, range, columns })
    }
}

fn from_file(path: &str) -> Result<CensusSpace> {
    let text = std::fs::read_to_string(path).map_err(|error| {
        Failure::new(
            format!("space `{path}`: {error}"),
            "the spaces are `usual`, `full`, or a file with a space as JSON",
        )
    })?;
    serde_json::from_str(&text).map_err(|error| {
        Failure::new(
            format!("space `{path}`: {error}"),
            "the manifest of any run holds a space to start from",
        )
    })
}
