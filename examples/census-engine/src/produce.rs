//! The rows of one partition, batch by batch.

use std::ops::{ControlFlow, Range};
use std::sync::Arc;

use datafusion::arrow::array::{RecordBatch, RecordBatchOptions};
use datafusion::arrow::datatypes::SchemaRef;
use datafusion::error::Result;
use overshell::census::{Census, CensusBatch, CensusFilter, CensusRows, Column};
use overshell::rules::RuleSet;

use crate::error::through;

/// Ranges with fewer numbers than this between them are gone through in one go, and what lies between is passed over. To begin anew
/// costs some 0.2 ms for the judge of the chord; to pass over a row some 0.5 µs (both with the engine not optimised).
const GAP: u64 = 1_024;

/// What a partition computes.
pub(crate) struct Producer {
    pub(crate) census: Arc<Census>,
    pub(crate) rules: Arc<RuleSet>,
    pub(crate) filter: CensusFilter,
    pub(crate) spans: Vec<Range<u64>>,
    pub(crate) columns: Vec<Column>,
    pub(crate) schema: SchemaRef,
    /// Rows to a batch.
    pub(crate) batch: usize,
}

/// What becomes of what was produced.
pub(crate) trait Sink {
    /// Takes a batch; says whether more is wanted.
    fn take(&mut self, batch: RecordBatch) -> bool;
    /// Hears how many rows were looked at, wanted or not.
    fn seen(&mut self, rows: usize);
}

impl Producer {
    fn wanted(&self) -> impl Iterator<Item = Range<u64>> {
        self.spans.iter().flat_map(|span| self.filter.ranges(&self.census, span.clone()))
    }

    /// The wanted ranges with small gaps closed.
    fn stretches(&self) -> impl Iterator<Item = Range<u64>> {
        let mut wanted = self.wanted().peekable();
        std::iter::from_fn(move || {
            let mut stretch = wanted.next()?;
            while let Some(next) = wanted.next_if(|next| next.start - stretch.end < GAP) {
                stretch.end = next.end;
            }
            Some(stretch)
        })
    }

    /// Produces all, or as much as is taken. Memory does not depend on how much that is.
    pub(crate) fn run(&self, sink: &mut impl Sink) -> Result<()> {
        if self.columns.is_empty() {
            return self.count(sink);
        }
        let rows = CensusRows::new(&self.census, &self.rules);
        let mut gathered = CensusBatch::new(&self.columns, self.batch);
        let mut wanted = self.wanted();
        let mut current = 0..0;
        for stretch in self.stretches() {
            let mut seen = 0;
            let ended = rows.visit(stretch, |row| {
                seen += 1;
                while current.end <= row.index() {
                    let Some(next) = wanted.next() else { return ControlFlow::Break(Ok(())) };
                    current = next;
                }
                if row.index() < current.start {
                    return ControlFlow::Continue(());
                }
                gathered.push(row);
                if gathered.len() < self.batch {
                    return ControlFlow::Continue(());
                }
                match gathered.finish().map(|batch| sink.take(batch)) {
                    Ok(true) => ControlFlow::Continue(()),
                    Ok(false) => ControlFlow::Break(Ok(())),
                    Err(error) => ControlFlow::Break(Err(through(error))),
                }
            });
            sink.seen(seen);
            if let ControlFlow::Break(ended) = ended.map_err(through)? {
                return ended;
            }
        }
        if !gathered.is_empty() {
            sink.take(gathered.finish().map_err(through)?);
        }
        Ok(())
    }

    /// Rows without columns: only how many there are.
    fn count(&self, sink: &mut impl Sink) -> Result<()> {
        let mut left: u64 = self.wanted().map(|range| range.end - range.start).sum();
        while left > 0 {
            let rows = usize::try_from(left).unwrap_or(usize::MAX).min(self.batch);
            left -= u64::try_from(rows).unwrap_or(left);
            let options = RecordBatchOptions::new().with_row_count(Some(rows));
            if !sink.take(RecordBatch::try_new_with_options(Arc::clone(&self.schema), Vec::new(), &options)?)
            {
                break;
            }
        }
        Ok(())
    }
}
