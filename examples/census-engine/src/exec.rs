//! The node of a plan that computes rows.

use std::fmt;
use std::sync::Arc;

use datafusion::arrow::array::RecordBatch;
use datafusion::arrow::compute::SortOptions;
use datafusion::arrow::datatypes::SchemaRef;
use datafusion::common::stats::Precision;
use datafusion::common::tree_node::TreeNodeRecursion;
use datafusion::common::{Statistics, internal_err};
use datafusion::error::Result;
use datafusion::execution::{SendableRecordBatchStream, TaskContext};
use datafusion::physical_expr::expressions::Column as ColumnExpr;
use datafusion::physical_expr::{EquivalenceProperties, PhysicalExpr, PhysicalSortExpr};
use datafusion::physical_plan::execution_plan::{Boundedness, EmissionType};
use datafusion::physical_plan::metrics::{
    BaselineMetrics, Count, ExecutionPlanMetricsSet, MetricBuilder, MetricsSet, RecordOutput,
};
use datafusion::physical_plan::stream::RecordBatchReceiverStream;
use datafusion::physical_plan::{
    DisplayAs, DisplayFormatType, ExecutionPlan, Partitioning, PlanProperties, ReplaceChildrenOptions,
    StatisticsArgs,
};
use overshell::census::{Census, Column};
use overshell::rules::RuleSet;
use tokio::sync::mpsc::Sender;

use crate::error::through;
use crate::produce::{Producer, Sink};
use crate::scan::ScanDescription;

/// Batches that wait to be taken, for each partition.
const WAITING: usize = 2;

/// Computes the rows that a [`ScanDescription`] says, partition by partition, each in ascending order of `index`. Each partition that runs
/// has a thread of its own and holds a few batches.
#[derive(Debug)]
pub struct CensusExec {
    scan: ScanDescription,
    census: Arc<Census>,
    rules: Arc<RuleSet>,
    columns: Vec<Column>,
    schema: SchemaRef,
    /// Of each partition.
    rows: Vec<u64>,
    properties: Arc<PlanProperties>,
    metrics: ExecutionPlanMetricsSet,
}

impl CensusExec {
    /// A node for a description, which must be of this census and these rules.
    ///
    /// # Errors
    ///
    /// An external error with a [`Refusal`](crate::Refusal) where the description is for other rules or another version, and with an
    /// [`overshell::Error`] where there is no column of a name or a range is not one of the census.
    pub fn new(scan: ScanDescription, census: Arc<Census>, rules: Arc<RuleSet>) -> Result<Self> {
        scan.check_against(&census.description(&rules))?;
        let columns = scan.columns().map_err(through)?;
        for span in scan.partitions.iter().flatten() {
            census.checked(span.clone()).map_err(through)?;
        }
        let schema: SchemaRef = Arc::new(Column::arrow_schema(&columns));
        let mut equivalence = EquivalenceProperties::new(Arc::clone(&schema));
        if let Some(place) = columns.iter().position(|column| *column == Column::Index) {
            let index: Arc<dyn PhysicalExpr> = Arc::new(ColumnExpr::new(Column::Index.name(), place));
            let ascending = SortOptions { descending: false, nulls_first: false };
            equivalence.add_ordering([PhysicalSortExpr::new(index, ascending)]);
        }
        let properties = PlanProperties::new(
            equivalence,
            Partitioning::UnknownPartitioning(scan.partitions.len()),
            EmissionType::Incremental,
            Boundedness::Bounded,
        );
        let rows = scan.rows(&census);
        let metrics = ExecutionPlanMetricsSet::new();
        Ok(Self { scan, census, rules, columns, schema, rows, properties: Arc::new(properties), metrics })
    }

    /// What it computes.
    pub fn description(&self) -> &ScanDescription {
        &self.scan
    }
}

impl DisplayAs for CensusExec {
    fn fmt_as(&self, format: DisplayFormatType, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let rows: u64 = self.rows.iter().sum();
        let (partitions, columns) = (self.rows.len(), self.scan.columns.join(", "));
        match format {
            DisplayFormatType::TreeRender => write!(f, "partitions={partitions}\nrows={rows}"),
            _ => write!(f, "CensusExec: partitions={partitions}, rows={rows}, columns=[{columns}]"),
        }
    }
}

impl ExecutionPlan for CensusExec {
    fn name(&self) -> &'static str {
        "CensusExec"
    }

    fn properties(&self) -> &Arc<PlanProperties> {
        &self.properties
    }

    fn children(&self) -> Vec<&Arc<dyn ExecutionPlan>> {
        Vec::new()
    }

    fn apply_expressions(
        &self,
        _: &mut dyn FnMut(&Arc<dyn PhysicalExpr>) -> Result<TreeNodeRecursion>,
    ) -> Result<TreeNodeRecursion> {
        Ok(TreeNodeRecursion::Continue)
    }

    fn replace_children(
        self: Arc<Self>,
        children: Vec<Arc<dyn ExecutionPlan>>,
        _: ReplaceChildrenOptions,
    ) -> Result<Arc<dyn ExecutionPlan>> {
        if children.is_empty() { Ok(self) } else { internal_err!("a census reads no other plan") }
    }

    fn with_new_children(
        self: Arc<Self>,
        children: Vec<Arc<dyn ExecutionPlan>>,
    ) -> Result<Arc<dyn ExecutionPlan>> {
        if children.is_empty() { Ok(self) } else { internal_err!("a census reads no other plan") }
    }

    fn execute(&self, partition: usize, context: Arc<TaskContext>) -> Result<SendableRecordBatchStream> {
        let Some(spans) = self.scan.partitions.get(partition) else {
            return internal_err!("there is no partition {partition}");
        };
        let producer = Producer {
            census: Arc::clone(&self.census),
            rules: Arc::clone(&self.rules),
            filter: self.scan.filter.clone(),
            spans: spans.clone(),
            columns: self.columns.clone(),
            schema: Arc::clone(&self.schema),
            batch: context.session_config().batch_size().max(1),
        };
        let mut stream = RecordBatchReceiverStream::builder(Arc::clone(&self.schema), WAITING);
        let mut sink = Sending {
            to: stream.tx(),
            metrics: BaselineMetrics::new(&self.metrics, partition),
            seen: MetricBuilder::new(&self.metrics).counter("rows_seen", partition),
        };
        stream.spawn_blocking(move || producer.run(&mut sink));
        Ok(stream.build())
    }

    fn metrics(&self) -> Option<MetricsSet> {
        Some(self.metrics.clone_inner())
    }

    fn statistics_from_inputs(
        &self,
        _: &[Arc<Statistics>],
        args: &StatisticsArgs,
    ) -> Result<Arc<Statistics>> {
        let rows: u64 = match args.partition() {
            Some(partition) => self.rows.get(partition).copied().unwrap_or_default(),
            None => self.rows.iter().sum(),
        };
        let rows = usize::try_from(rows).map_or(Precision::Absent, Precision::Exact);
        Ok(Arc::new(Statistics::new_unknown(&self.schema).with_num_rows(rows)))
    }
}

/// Sends batches to whoever reads the stream.
struct Sending {
    to: Sender<Result<RecordBatch>>,
    metrics: BaselineMetrics,
    seen: Count,
}

impl Sink for Sending {
    fn take(&mut self, batch: RecordBatch) -> bool {
        // An error says that nobody reads any more.
        self.to.blocking_send(Ok(batch.record_output(&self.metrics))).is_ok()
    }

    fn seen(&mut self, rows: usize) {
        self.seen.add(rows);
    }
}
