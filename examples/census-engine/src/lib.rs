//! The census of two-hand voicings as a table of a query engine: rows are computed when a query asks for them, nothing is stored.
//!
//! [`session`] gives a context with the table `census` and the functions `verdict`, `cost`, `colour` and `sounding`;
//! [`query`] runs a question in it. [`CensusTable`] alone can be registered wherever the engine takes tables, and [`CensusCodec`]
//! ships the plans that read it to other processes.
//!
//! ```
//! use std::sync::Arc;
//! use overshell::{census::{Census, CensusSpace}, rules::RuleSet};
//!
//! # tokio::runtime::Runtime::new().unwrap().block_on(async {
//! let census = Arc::new(Census::new(CensusSpace::usual())?);
//! let rules = Arc::new(RuleSet::named("standard")?);
//! let context = census_engine::session(census, rules, 2)?;
//! let answer = census_engine::query(&context, "SELECT chord, verdict FROM census WHERE label = 'II' LIMIT 3").await?;
//! let batches = answer.collect().await?;
//! assert_eq!(batches.iter().map(|batch| batch.num_rows()).sum::<usize>(), 3);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! # }).unwrap();
//! ```

mod codec;
mod error;
mod exec;
mod function;
mod known;
mod predicate;
mod produce;
mod scan;
mod session;
mod spans;
mod table;
#[cfg(test)]
mod tests;
mod wanted;

pub use codec::CensusCodec;
pub use error::{Refusal, report};
pub use exec::CensusExec;
pub use function::{Answer, functions};
pub use scan::ScanDescription;
pub use session::{query, session};
pub use table::CensusTable;
