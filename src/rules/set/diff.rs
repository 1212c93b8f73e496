//! What tells two sets apart.

use std::collections::BTreeMap;
use std::fmt;

use super::RuleSet;
use crate::rules::rule::Rule;

/// One thing that tells two sets apart.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Difference {
    /// A setting at the head has another value, in points.
    Setting {
        /// The key.
        key: &'static str,
        /// What the first set says.
        from: i32,
        /// What the second says.
        to: i32,
    },
    /// Only the first set has this rule.
    Removed {
        /// The rule.
        id: String,
    },
    /// Only the second set has this rule.
    Added {
        /// The rule.
        id: String,
        /// What it does.
        effect: String,
    },
    /// Both have this rule, but it says or does something else.
    Changed {
        /// The rule.
        id: String,
        /// The keys that differ, with what the first and the second set say; `None` where they say nothing. Empty for
        /// rules in code.
        keys: Vec<(String, Option<String>, Option<String>)>,
    },
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Setting { key, from, to } => write!(f, "{key}: {from} -> {to}"),
            Self::Removed { id } => write!(f, "- {id}"),
            Self::Added { id, effect } => write!(f, "+ {id} ({effect})"),
            Self::Changed { id, keys } => {
                write!(f, "~ {id}")?;
                for (at, (key, from, to)) in keys.iter().enumerate() {
                    let said = |value: &Option<String>| value.clone().unwrap_or_else(|| "nothing".to_owned());
                    let lead = if at == 0 { ": " } else { "; " };
                    write!(f, "{lead}{key} {} -> {}", said(from), said(to))?;
                }
                Ok(())
            }
        }
    }
}

impl RuleSet {
    /// What has to be said to come from this set to another: settings, then rules that go, come and change, by id.
    ///
    /// # Example
    ///
    /// ```
    /// use overshell::rules::RuleSet;
    ///
    /// let text = "format = 1\nname = \"calmer\"\noff = [\"minor-ninth\"]\ncolour-threshold = 10\n";
    /// let calmer = RuleSet::standard().over_toml("calmer.toml", text)?;
    /// let told: Vec<String> = RuleSet::standard().diff(&calmer).iter().map(|d| d.to_string()).collect();
    /// assert_eq!(told, ["colour-threshold: 20 -> 10", "- minor-ninth"]);
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn diff(&self, other: &Self) -> Vec<Difference> {
        let settings = [
            ("colour-threshold", self.colour_threshold(), other.colour_threshold()),
            ("colour-enough", self.colour_enough(), other.colour_enough()),
        ];
        let settings = settings.into_iter().filter(|(_, from, to)| from != to);
        let settings = settings.map(|(key, from, to)| Difference::Setting { key, from, to });
        let by_id = |set: &Self| -> BTreeMap<String, Rule> {
            set.rules.iter().map(|rule| (rule.id.clone(), rule.clone())).collect()
        };
        let (ours, theirs) = (by_id(self), by_id(other));
        let removed = ours.keys().filter(|id| !theirs.contains_key(*id));
        let removed = removed.map(|id| Difference::Removed { id: id.clone() });
        let added = theirs.values().filter(|rule| !ours.contains_key(&rule.id));
        let added =
            added.map(|rule| Difference::Added { id: rule.id.clone(), effect: rule.points.to_string() });
        let changed = ours.values().filter_map(|ours| changed(ours, theirs.get(&ours.id)?));
        settings.chain(removed).chain(added).chain(changed).collect()
    }
}

fn changed(ours: &Rule, theirs: &Rule) -> Option<Difference> {
    let mut keys: BTreeMap<&str, [Option<&str>; 2]> = BTreeMap::new();
    for (rule, at) in [(ours, 0), (theirs, 1)] {
        let texts = [("message", &rule.message), ("help", &rule.help), ("source", &rule.source)];
        let texts = texts.into_iter().map(|(key, text)| (key, text.as_str()));
        for (key, value) in rule.said().chain(texts) {
            if let Some(slot) = keys.entry(key).or_default().get_mut(at) {
                *slot = Some(value);
            }
        }
    }
    let owned = |text: Option<&str>| text.map(str::to_owned);
    let keys = keys.into_iter().filter(|(_, [from, to])| from != to);
    let keys: Vec<_> = keys.map(|(key, [from, to])| (key.to_owned(), owned(from), owned(to))).collect();
    // The same in other words is no difference; nor is it one that a case was added.
    let same = ours.condition == theirs.condition
        && ours.points == theirs.points
        && ours.body == theirs.body
        && [&ours.message, &ours.help, &ours.source] == [&theirs.message, &theirs.help, &theirs.source];
    (!same).then(|| Difference::Changed { id: ours.id.clone(), keys })
}
