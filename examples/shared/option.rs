//! How options are read whose values are those of the crate.

use std::str::FromStr;

/// Reads the value of an option; where that fails, what would help is said too.
pub(crate) fn value<T: FromStr<Err = overshell::Error>>(text: &str) -> Result<T, String> {
    text.parse().map_err(|error: overshell::Error| match error.help() {
        Some(help) => format!("{error}; {help}"),
        None => error.to_string(),
    })
}
