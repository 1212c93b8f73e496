//! The rule sets that ship with the crate.

use std::sync::{Arc, LazyLock, OnceLock};

use super::set::{File, RuleSet};
use crate::error::{Error, Result};

/// Name and text of each. `standard` stands first; the others extend it.
const TEXTS: [(&str, &str); 6] = [
    ("standard", include_str!("../../rules/standard.toml")),
    ("first-lessons", include_str!("../../rules/first-lessons.toml")),
    ("strict-diatonic", include_str!("../../rules/strict-diatonic.toml")),
    ("dense-altered", include_str!("../../rules/dense-altered.toml")),
    ("small-hands", include_str!("../../rules/small-hands.toml")),
    ("with-bass-player", include_str!("../../rules/with-bass-player.toml")),
];

pub(super) fn names() -> impl Iterator<Item = &'static str> + Clone {
    TEXTS.iter().map(|(name, _)| *name)
}

/// The text of the set of this name.
#[cfg(test)]
pub(super) fn text(name: &str) -> Option<&'static str> {
    TEXTS.iter().find(|(own, _)| *own == name).map(|(_, text)| *text)
}

/// The set of this name as a file, read once; `None` where there is none.
pub(super) fn file(name: &str) -> Option<Result<Arc<File>>> {
    static FILES: [OnceLock<Arc<File>>; TEXTS.len()] = [const { OnceLock::new() }; TEXTS.len()];
    let ((name, text), once) = TEXTS.iter().zip(&FILES).find(|((own, _), _)| *own == name)?;
    if let Some(file) = once.get() {
        return Some(Ok(Arc::clone(file)));
    }
    let read = File::read(&format!("{name}.toml"), text);
    Some(read.and_then(|(file, faults)| match Error::of_all(faults) {
        Some(error) => Err(error),
        None => Ok(Arc::clone(once.get_or_init(|| Arc::new(file)))),
    }))
}

#[expect(clippy::unwrap_used, reason = "the file is part of the crate and read by its tests")]
pub(super) fn standard() -> &'static RuleSet {
    static STANDARD: LazyLock<RuleSet> = LazyLock::new(|| RuleSet::named("standard").unwrap());
    &STANDARD
}
