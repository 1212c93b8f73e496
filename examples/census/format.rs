//! The kinds of files.

use std::io::Write;
use std::ops::{ControlFlow, Range};

use overshell::census::{CensusRow, CensusRows, Column};
use overshell::rules::Verdict;
use serde::{Deserialize, Serialize};

use crate::manifest::Verdicts;

/// A kind of file.
#[derive(Clone, Copy, Debug, Deserialize, Eq, PartialEq, Serialize, clap::ValueEnum)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Format {
    /// A table with a heading; lists with spaces between
    Csv,
    /// One JSON object a line
    Jsonl,
    /// Apache Parquet (with the feature `parquet`)
    Parquet,
}

/// What can go wrong on the way into a file.
pub(crate) type Fault = Box<dyn std::error::Error + Send + Sync>;

impl Format {
    pub(crate) const fn ending(self) -> &'static str {
        match self {
            Self::Csv => "csv",
            Self::Jsonl => "jsonl",
            Self::Parquet => "parquet",
        }
    }

    /// Whether this build can write it.
    pub(crate) const fn is_built(self) -> bool {
        !matches!(self, Self::Parquet) || cfg!(feature = "parquet")
    }

    /// Writes the rows of these ranges, and counts them by verdict.
    pub(crate) fn write(
        self,
        rows: &CensusRows<'_>,
        ranges: impl Iterator<Item = Range<u64>>,
        columns: &[Column],
        #[cfg_attr(
            not(feature = "parquet"),
            expect(unused_variables, reason = "Parquet alone has a place for it")
        )]
        description: &str,
        file: impl Write + Send,
    ) -> Result<Verdicts, Fault> {
        match self {
            Self::Csv => {
                let mut csv = csv::Writer::from_writer(file);
                csv.write_record(columns.iter().map(|column| column.name()))?;
                let mut cell = String::new();
                let counts = each(rows, ranges, |row| {
                    for column in columns {
                        cell.clear();
                        std::fmt::Write::write_fmt(&mut cell, format_args!("{}", row.value(*column)))?;
                        csv.write_field(&cell)?;
                    }
                    Ok(csv.write_record(None::<&[u8]>)?)
                })?;
                csv.flush()?;
                Ok(counts)
            }
            Self::Jsonl => {
                let mut file = file;
                let counts = each(rows, ranges, |row| {
                    serde_json::to_writer(&mut file, &Object { row, columns })?;
                    Ok(file.write_all(b"\n")?)
                })?;
                file.flush()?;
                Ok(counts)
            }
            #[cfg(feature = "parquet")]
            Self::Parquet => {
                let mut file = overshell::census::CensusParquet::new(file, columns, description)?;
                let counts = each(rows, ranges, |row| Ok(file.push(row)?))?;
                file.finish()?;
                Ok(counts)
            }
            #[cfg(not(feature = "parquet"))]
            Self::Parquet => Err("this build writes no Parquet".into()),
        }
    }
}

/// A row as a JSON object with some columns.
struct Object<'r> {
    row: &'r CensusRow<'r>,
    columns: &'r [Column],
}

impl Serialize for Object<'_> {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.columns.iter().map(|column| (column.name(), self.row.value(*column))))
    }
}

impl Verdicts {
    fn count(&mut self, verdict: Verdict) {
        *match verdict {
            Verdict::Clash => &mut self.clash,
            Verdict::Plain => &mut self.plain,
            Verdict::Colour => &mut self.colour,
        } += 1;
    }
}

fn each(
    rows: &CensusRows<'_>,
    ranges: impl Iterator<Item = Range<u64>>,
    mut write: impl FnMut(&CensusRow<'_>) -> Result<(), Fault>,
) -> Result<Verdicts, Fault> {
    let mut counts = Verdicts::default();
    let ended = rows.visit_ranges(ranges, |row| {
        counts.count(row.verdict());
        match write(row) {
            Ok(()) => ControlFlow::Continue(()),
            Err(fault) => ControlFlow::Break(fault),
        }
    })?;
    match ended {
        ControlFlow::Break(fault) => Err(fault),
        ControlFlow::Continue(()) => Ok(counts),
    }
}
