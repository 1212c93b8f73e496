//! ABC.

mod bars;
mod fields;
mod key;
mod music;
mod quoted;
mod state;
#[cfg(test)]
mod tests;
mod tune;
mod write;

pub use write::write_abc;

use super::read::text;
use super::{ReadOptions, Reading};
use crate::error::Result;

/// Reads the first tune of an ABC file.
///
/// # Errors
///
/// - error
pub fn read_abc(bytes: &[u8], options: &ReadOptions) -> Result<Reading> {
    let text = text::decode_lines(bytes, options.limits.bytes)?;
    tune::read(&text, options)
}
