//! Questions about a census.

use std::sync::Arc;

use datafusion::error::Result;
use datafusion::execution::context::SQLOptions;
use datafusion::prelude::{DataFrame, SessionConfig, SessionContext};
use overshell::census::Census;
use overshell::rules::RuleSet;

use crate::function::functions;
use crate::table::CensusTable;

/// A context with the table `census` and the functions of this package, whose plans have this many partitions where there are rows
/// enough; 0 counts as 1.
///
/// # Errors
///
/// What the engine says where it refuses the table.
pub fn session(census: Arc<Census>, rules: Arc<RuleSet>, partitions: usize) -> Result<SessionContext> {
    let context =
        SessionContext::new_with_config(SessionConfig::new().with_target_partitions(partitions.max(1)));
    for function in functions(&rules, census.space()) {
        context.register_udf(function);
    }
    context.register_table("census", Arc::new(CensusTable::new(census, rules)))?;
    Ok(context)
}

/// Plans a question in SQL. Questions only: statements that would write, define or set something are refused.
///
/// # Errors
///
/// What the engine says where the text is no SQL, names what is not there, or asks for more than answers.
pub async fn query(context: &SessionContext, sql: &str) -> Result<DataFrame> {
    let only_questions =
        SQLOptions::new().with_allow_ddl(false).with_allow_dml(false).with_allow_statements(false);
    context.sql_with_options(sql, only_questions).await
}
