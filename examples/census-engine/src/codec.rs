//! Plans that read the census, as bytes for another process.

use std::sync::Arc;

use datafusion::error::{DataFusionError, Result};
use datafusion::execution::TaskContext;
use datafusion::logical_expr::ScalarUDF;
use datafusion::physical_plan::ExecutionPlan;
use datafusion_proto::physical_plan::{PhysicalExtensionCodec, PhysicalProtoConverterExtension};
use overshell::census::{Census, CensusRules};
use overshell::rules::RuleSet;
use serde::Serialize;
use serde::de::DeserializeOwned;

use crate::error::{Refusal, through};
use crate::exec::CensusExec;
use crate::function::{Asked, asked, functions};
use crate::scan::ScanDescription;

/// Writes and reads the nodes and functions of this package. The bytes are JSON that says the space, the rules by name and
/// fingerprint, and the ranges; rows and rules are never sent. Reading makes the census again and judges by the rules that
/// the codec was given, and refuses a plan that was made by others.
#[derive(Debug)]
pub struct CensusCodec {
    rules: Arc<RuleSet>,
}

impl CensusCodec {
    /// A codec for a process that has these rules.
    pub fn new(rules: Arc<RuleSet>) -> Self {
        Self { rules }
    }
}

/// How long a broken text may be in a message, in characters.
const SHOWN: usize = 80;

fn write(value: &impl Serialize, into: &mut Vec<u8>) -> Result<()> {
    serde_json::to_writer(into, value).map_err(|error| DataFusionError::External(Box::new(error)))
}

fn read<T: DeserializeOwned>(bytes: &[u8]) -> Result<T> {
    serde_json::from_slice(bytes).map_err(|error| {
        let start: String = String::from_utf8_lossy(bytes).chars().take(SHOWN).collect();
        let help = "plans are read by the version that wrote them";
        Refusal::new(format!("`{start}` is no part of a plan of the census: {error}"), help).into()
    })
}

fn not_ours(what: &str) -> DataFusionError {
    Refusal::new(format!("`{what}` is not of the census"), "put the codec of its own package beside this one")
        .into()
}

impl PhysicalExtensionCodec for CensusCodec {
    fn try_decode(
        &self,
        bytes: &[u8],
        inputs: &[Arc<dyn ExecutionPlan>],
        _: &TaskContext,
        _: &dyn PhysicalProtoConverterExtension,
    ) -> Result<Arc<dyn ExecutionPlan>> {
        let scan: ScanDescription = read(bytes)?;
        if let Some(input) = inputs.first() {
            return Err(not_ours(input.name()));
        }
        let census = Census::new(scan.census.space.clone()).map_err(through)?;
        Ok(Arc::new(CensusExec::new(scan, Arc::new(census), Arc::clone(&self.rules))?))
    }

    fn try_encode(
        &self,
        node: Arc<dyn ExecutionPlan>,
        bytes: &mut Vec<u8>,
        _: &dyn PhysicalProtoConverterExtension,
    ) -> Result<()> {
        match node.downcast_ref::<CensusExec>() {
            Some(node) => write(node.description(), bytes),
            None => Err(not_ours(node.name())),
        }
    }

    fn try_decode_udf(&self, name: &str, bytes: &[u8]) -> Result<Arc<ScalarUDF>> {
        let asked: Asked = read(bytes)?;
        let own = CensusRules::from(self.rules.as_ref());
        if asked.rules.fingerprint != own.fingerprint {
            return Err(Refusal::new(
                format!(
                    "the function `{name}` is for the rules `{}` with the fingerprint `{}`, here are `{}` with `{}`",
                    asked.rules.name, asked.rules.fingerprint, own.name, own.fingerprint
                ),
                "start every process with the same rule files",
            )
            .into());
        }
        let mut all = functions(&self.rules, &asked.space).into_iter();
        let found = all.find(|function| function.name() == asked.answer.name() && function.name() == name);
        found.map(Arc::new).ok_or_else(|| not_ours(name))
    }

    fn try_encode_udf(&self, function: &ScalarUDF, bytes: &mut Vec<u8>) -> Result<()> {
        // Functions of the engine are known by their names.
        asked(function).map_or(Ok(()), |asked| write(asked, bytes))
    }
}
