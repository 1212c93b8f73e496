//! Tests of the whole: what queries answer, against what the library says directly.

mod errors;
mod functions;
mod questions;
mod rows;
mod shipped;

use std::sync::Arc;

use datafusion::arrow::array::RecordBatch;
use datafusion::arrow::compute::concat_batches;
use datafusion::arrow::util::pretty::pretty_format_batches;
use datafusion::error::Result;
use datafusion::physical_plan::{ExecutionPlan, collect};
use datafusion::prelude::SessionContext;
use overshell::census::{Census, CensusSpace};
use overshell::pitch::note;
use overshell::rules::RuleSet;

use crate::CensusExec;

/// Two roots, three chords of different families, everything else of the usual space.
fn small() -> CensusSpace {
    CensusSpace {
        roots: vec![note("C"), note("Eb")],
        chords: ["C7", "Cm7", "Cmaj7"].map(|chord| chord.parse().unwrap()).to_vec(),
        ..CensusSpace::usual()
    }
}

fn standard() -> Arc<RuleSet> {
    Arc::new(RuleSet::standard().clone())
}

fn census(space: CensusSpace) -> Arc<Census> {
    Arc::new(Census::new(space).unwrap())
}

fn session(space: CensusSpace, partitions: usize) -> SessionContext {
    crate::session(census(space), standard(), partitions).unwrap()
}

fn wait<T>(for_what: impl Future<Output = T>) -> T {
    tokio::runtime::Builder::new_multi_thread().worker_threads(2).build().unwrap().block_on(for_what)
}

/// An answer as one batch, and the plan that gave it, whose metrics are those of the run.
fn ask(context: &SessionContext, sql: &str) -> Result<(RecordBatch, Arc<dyn ExecutionPlan>)> {
    wait(async {
        let frame = crate::query(context, sql).await?;
        let task = Arc::new(frame.task_ctx());
        let plan = frame.create_physical_plan().await?;
        let batches = collect(Arc::clone(&plan), task).await?;
        Ok((concat_batches(&plan.schema(), &batches)?, plan))
    })
}

fn answer(context: &SessionContext, sql: &str) -> RecordBatch {
    ask(context, sql).unwrap_or_else(|error| panic!("{sql}: {error}")).0
}

fn shown(batch: &RecordBatch) -> String {
    pretty_format_batches(std::slice::from_ref(batch)).unwrap().to_string()
}

/// The cells of an answer, as they are printed.
fn cells(batch: &RecordBatch) -> Vec<Vec<String>> {
    let table = shown(batch);
    let rows = table.lines().filter(|line| line.starts_with('|')).skip(1);
    rows.map(|row| row.trim_matches('|').split(" | ").map(|cell| cell.trim().to_owned()).collect()).collect()
}

/// The node that reads the census, where there is one.
fn scan_of(plan: &Arc<dyn ExecutionPlan>) -> Option<&CensusExec> {
    let found = plan.downcast_ref::<CensusExec>();
    found.or_else(|| plan.children().into_iter().find_map(scan_of))
}

/// Names of all nodes from the top.
fn nodes(plan: &Arc<dyn ExecutionPlan>) -> Vec<&str> {
    std::iter::once(plan.name()).chain(plan.children().into_iter().flat_map(nodes)).collect()
}

/// How many rows the census gave, and how many it looked at.
fn work(plan: &Arc<dyn ExecutionPlan>) -> (usize, usize) {
    let metrics = scan_of(plan).unwrap().metrics().unwrap();
    let seen = metrics.sum_by_name("rows_seen").map_or(0, |seen| seen.as_usize());
    (metrics.output_rows().unwrap_or_default(), seen)
}
