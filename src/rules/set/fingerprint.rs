//! What a set decides, as a short text.

use sha2::{Digest, Sha256};

use super::{RuleDescription, RuleSet};

impl RuleSet {
    /// A fingerprint of what the set decides: SHA-256 in hexadecimal digits over its thresholds and, rule by rule, id, kind, effect
    /// and keys as written. Messages, help and sources do not count, for rules in code they do, since nothing else can be
    /// seen of those: give such a rule another text when you change what it does. Sets with the same fingerprint judge
    /// alike; sets that judge alike may differ in it, as in the order of their rules.
    ///
    /// ```
    /// use overshell::rules::RuleSet;
    ///
    /// let standard = RuleSet::standard().fingerprint();
    /// assert_eq!(standard.len(), 64);
    /// let without = RuleSet::standard().clone().off(["minor-ninth"])?;
    /// assert_ne!(without.fingerprint(), standard);
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn fingerprint(&self) -> String {
        let mut hash = Sha256::new();
        // Each text with its length in front, so that texts cannot run into each other.
        let mut take = |text: &str| {
            hash.update(u64::try_from(text.len()).unwrap_or(u64::MAX).to_be_bytes());
            hash.update(text);
        };
        take(&self.colour_threshold().to_string());
        take(&self.colour_enough().to_string());
        for rule in self.describe() {
            let RuleDescription { id, kind, effect, keys, message, help, source, place } = rule;
            [id, kind, &effect].into_iter().for_each(&mut take);
            for (key, value) in keys {
                [key, value].into_iter().for_each(&mut take);
            }
            if place.is_none() {
                [message, help, source].into_iter().for_each(&mut take);
            }
            take("");
        }
        hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RULE: &str = r##"
        format = 1
        name = "one"
        [[rule]]
        id = "thirteenth"
        kind = "tone"
        degrees = ["13"]
        cost = 3
        message = "m"
        help = "h"
        source = "s"
    "##;

    fn of(text: &str) -> String {
        RuleSet::from_toml("one.toml", text).unwrap().fingerprint()
    }

    #[test]
    fn ok_what_decides_counts_and_nothing_else() {
        let known = of(RULE);
        for (from, to, same) in [
            ("\"m\"", "\"other words\"", true),
            ("name = \"one\"", "name = \"two\"", true),
            ("cost = 3", "cost = 4", false),
            ("cost = 3", "colour = 3", false),
            ("[\"13\"]", "[\"b13\"]", false),
            ("\"thirteenth\"", "\"sixth\"", false),
            ("format = 1", "format = 1\ncolour-threshold = 21", false),
            ("cost = 3", "cost = 3\nchords = [\"dominant\"]", false),
        ] {
            assert!(RULE.contains(from));
            assert_eq!(of(&RULE.replace(from, to)) == known, same, "{from} -> {to}");
        }
    }

    #[test]
    fn all_shipped_sets_differ() {
        let mut all: Vec<String> =
            RuleSet::names().map(|name| RuleSet::load(name).unwrap().fingerprint()).collect();
        let count = all.len();
        all.sort();
        all.dedup();
        assert_eq!(all.len(), count);
    }
}
