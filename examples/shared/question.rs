//! What the examples about one chord are asked alike.

#[path = "option.rs"]
mod option;

use overshell::chord::Function;
use overshell::rules::{Finding, RuleSet, Situation};
use overshell::voicing::HandSize;
use serde_json::{Value, json};

/// The options of a question about one chord.
#[derive(clap::Args)]
pub(crate) struct Question {
    /// Print JSON
    #[arg(long)]
    pub(crate) json: bool,
    /// A rule set that ships, a rule file, or a folder of them
    #[arg(long, value_name = "SET_OR_FILE", default_value = "standard")]
    rules: String,
    /// What the hands reach: small, medium, large, or a measured span such as 205mm
    #[arg(long, default_value_t, value_parser = option::value::<HandSize>)]
    hand: HandSize,
    /// What the chord does in its key, such as "V7/ii"
    #[arg(long, value_parser = option::value::<Function>)]
    function: Option<Function>,
    /// Somebody else plays the bass
    #[arg(long)]
    bass_player: bool,
}

impl Question {
    pub(crate) fn rules(&self) -> overshell::Result<RuleSet> {
        RuleSet::load(&self.rules)
    }

    pub(crate) fn situation(&self) -> Situation {
        Situation {
            function: self.function,
            hand_size: self.hand,
            bass_player: self.bass_player,
            ..Situation::default()
        }
    }
}

/// Findings as JSON.
pub(crate) fn findings(findings: &[Finding]) -> Vec<Value> {
    findings.iter().map(|f| json!({ "rule": f.rule, "message": f.message, "help": f.help })).collect()
}
