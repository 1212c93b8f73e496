//! The rule sets that ship with the crate.

use std::sync::LazyLock;

use super::set::RuleSet;

/// Names and texts. `standard` stands first; the others extend it.
const TEXTS: [(&str, &str); 1] = [("standard", include_str!("../../rules/standard.toml"))];

pub(super) fn names() -> impl Iterator<Item = &'static str> + Clone {
    TEXTS.iter().map(|(name, _)| *name)
}

pub(super) fn text_of(name: &str) -> Option<&'static str> {
    TEXTS.iter().find(|(own, _)| *own == name).map(|(_, text)| *text)
}

#[expect(clippy::unwrap_used, reason = "the file is part of the crate and read by its tests")]
pub(super) fn standard() -> &'static RuleSet {
    static STANDARD: LazyLock<RuleSet> = LazyLock::new(|| RuleSet::named("standard").unwrap());
    &STANDARD
}
