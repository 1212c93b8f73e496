//! What a set says of its rules to people.

use super::RuleSet;
use crate::rules::rule::{Body, Points, Rule};

/// One rule as people read it.
#[derive(Clone, Debug, PartialEq)]
pub struct RuleDescription<'a> {
    /// What findings call it.
    pub id: &'a str,
    /// Its kind, `code` for a rule in code.
    pub kind: &'static str,
    /// What it does: `clash`, `cost 20`, `colour 10`, or `own points`.
    pub effect: String,
    /// The keys that say when and on what it fires, as they are written, by name.
    pub keys: Vec<(&'a str, &'a str)>,
    /// What is so when it fires.
    pub message: &'a str,
    /// What would help.
    pub help: &'a str,
    /// Where it is published.
    pub source: &'a str,
    /// File and line, `None` for a rule in code.
    pub place: Option<String>,
}

impl std::fmt::Display for Points {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Clash => f.write_str("clash"),
            Self::Cost(points) => write!(f, "cost {points}"),
            Self::Colour(points) => write!(f, "colour {points}"),
            Self::Own => f.write_str("own points"),
        }
    }
}

/// Keys that the description says in other words.
const SAID_ELSEWHERE: [&str; 4] = ["kind", "effect", "cost", "colour"];

impl Rule {
    /// Keys and values as they are written.
    pub(super) fn said(&self) -> impl Iterator<Item = (&str, &str)> {
        let said = self.origin.iter().flat_map(|origin| &origin.said);
        said.map(|(key, value)| (key.as_str(), value.as_str()))
    }

    fn describe(&self) -> RuleDescription<'_> {
        RuleDescription {
            id: &self.id,
            kind: match &self.body {
                Body::Data(kind) => kind.name(),
                Body::Code(_) | Body::MotionCode(_) => "code",
            },
            effect: self.points.to_string(),
            keys: self.said().filter(|(key, _)| !SAID_ELSEWHERE.contains(key)).collect(),
            message: &self.message,
            help: &self.help,
            source: &self.source,
            place: self.origin.as_ref().map(|origin| origin.place()),
        }
    }
}

impl RuleSet {
    /// All about one rule; `None` where there is no such id.
    ///
    /// ```
    /// use overshell::rules::RuleSet;
    ///
    /// let rule = RuleSet::standard().explain("minor-ninth").unwrap();
    /// assert_eq!((rule.kind, rule.effect.as_str()), ("interval", "cost 20"));
    /// assert!(rule.source.contains("Israels"));
    /// assert!(rule.place.unwrap().starts_with("standard.toml:"));
    /// ```
    pub fn explain(&self, id: &str) -> Option<RuleDescription<'_>> {
        self.rules.iter().find(|rule| rule.id == id).map(Rule::describe)
    }

    /// All rules, in order.
    pub fn describe(&self) -> impl Iterator<Item = RuleDescription<'_>> {
        self.rules.iter().map(Rule::describe)
    }
}
