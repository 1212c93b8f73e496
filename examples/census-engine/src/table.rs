//! The census as a table.

use std::sync::Arc;

use async_trait::async_trait;
use datafusion::arrow::datatypes::SchemaRef;
use datafusion::catalog::{Session, TableProvider};
use datafusion::common::internal_datafusion_err;
use datafusion::error::Result;
use datafusion::logical_expr::{Expr, TableProviderFilterPushDown, TableType};
use datafusion::physical_plan::ExecutionPlan;
use overshell::census::{Census, Column};
use overshell::rules::RuleSet;

use crate::exec::CensusExec;
use crate::known::Known;
use crate::scan::{ScanDescription, shares};
use crate::wanted::Wanted;

/// A table with all columns of the census, whose rows are computed when they are read. Only the columns asked for are found out. Filters of
/// equality on `root`, `quality`, `chord`, `family`, `shell`, `label`, `inversion` and `spacing`, and comparisons of `index` with
/// numbers, skip rows without looking at them, or look at little of them. There are as many partitions as the session has for
/// its target, fewer where there are fewer rows.
#[derive(Debug)]
pub struct CensusTable {
    census: Arc<Census>,
    rules: Arc<RuleSet>,
    known: Known,
    schema: SchemaRef,
}

impl CensusTable {
    /// The table of a census judged by these rules.
    pub fn new(census: Arc<Census>, rules: Arc<RuleSet>) -> Self {
        let known = Known::new(&census);
        Self { census, rules, known, schema: Arc::new(Column::arrow_schema(Column::ALL)) }
    }
}

#[async_trait]
impl TableProvider for CensusTable {
    fn schema(&self) -> SchemaRef {
        Arc::clone(&self.schema)
    }

    fn table_type(&self) -> TableType {
        TableType::Base
    }

    fn supports_filters_pushdown(&self, filters: &[&Expr]) -> Result<Vec<TableProviderFilterPushDown>> {
        let alone = |filter: &&Expr| Wanted::everything(&self.census).take(&self.known, filter);
        Ok(filters.iter().map(alone).collect())
    }

    async fn scan(
        &self,
        state: &dyn Session,
        projection: Option<&Vec<usize>>,
        filters: &[Expr],
        limit: Option<usize>,
    ) -> Result<Arc<dyn ExecutionPlan>> {
        let columns = match projection {
            None => Column::ALL.to_vec(),
            Some(places) => {
                let columns = places.iter().map(|place| Column::ALL.get(*place).copied());
                let columns: Option<Vec<Column>> = columns.collect();
                columns.ok_or_else(|| internal_datafusion_err!("a column is asked for that is not there"))?
            }
        };
        let mut wanted = Wanted::everything(&self.census);
        let taken: Vec<_> = filters.iter().map(|filter| wanted.take(&self.known, filter)).collect();
        // Rows that a filter above takes away must not count.
        let exact = taken.iter().all(|taken| *taken == TableProviderFilterPushDown::Exact);
        let limit = limit.filter(|_| exact).map(|limit| u64::try_from(limit).unwrap_or(u64::MAX));
        let partitions = state.config().target_partitions();
        let partitions = shares(&self.census, &wanted.filter, &wanted.spans, partitions, limit);
        let scan = ScanDescription {
            census: self.census.description(&self.rules),
            filter: wanted.filter,
            columns: columns.iter().map(|column| column.name().to_owned()).collect(),
            partitions,
        };
        Ok(Arc::new(CensusExec::new(scan, Arc::clone(&self.census), Arc::clone(&self.rules))?))
    }
}
