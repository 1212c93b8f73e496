//! What a rule has to say about a voicing.

use crate::chord::Degree;

/// One rule that fired: which, why, and what would help.
///
/// # Example
///
/// ```
/// use overshell::rules::{RuleSet, Verdict};
/// use overshell::chord::chord;
///
/// let rules = RuleSet::standard();
/// let judgement = rules.judge(chord("C7"), &"C3 E3 Bb3 | F4 A4 C5".parse()?);
/// assert_eq!(judgement.verdict, Verdict::Clash);
/// let finding = &judgement.findings[0];
/// assert_eq!(finding.rule, "eleventh-over-major-third");
/// assert!(finding.message.contains("minor ninth"));
/// assert!(!finding.help.is_empty());
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Hash, serde::Serialize)]
pub struct Finding {
    /// The id of the rule.
    pub rule: String,
    /// What is so, in a sentence of the rule file.
    pub message: String,
    /// What would help; empty where nothing needs help.
    pub help: String,
    /// The degrees concerned, where the rule speaks of degrees.
    pub degrees: Vec<Degree>,
    /// What it did to the judgement.
    pub effect: Effect,
}

/// What a rule that fired does to the judgement.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Effect {
    /// The voicing clashes.
    Clash,
    /// It costs so many points.
    Cost(i32),
    /// It earns so many points of colour.
    Colour(i32),
}

impl Effect {
    /// The points that it charges; 0 where it does something else.
    pub const fn cost(self) -> i32 {
        match self {
            Self::Cost(points) => points,
            Self::Clash | Self::Colour(_) => 0,
        }
    }

    /// In which order people are told: what forbids, then the dearest charge, then the richest credit.
    pub(super) fn rank(self) -> (u8, i32) {
        match self {
            Self::Clash => (0, 0),
            Self::Cost(points) => (1, -points),
            Self::Colour(points) => (2, -points),
        }
    }
}
