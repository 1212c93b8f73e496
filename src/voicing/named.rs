//! Reading and writing by name, for enums with a table of names.

use crate::error::{Error, Excerpt, Kind, nearest};
use crate::pitch::shown;

/// Implements `Display` and `FromStr` through the table `NAMES` of the type.
macro_rules! text_by_name {
    ($type:ty, $what:literal, $plural:literal) => {
        impl std::fmt::Display for $type {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad(Self::NAMES.iter().find(|(_, value)| value == self).map_or("", |(name, _)| *name))
            }
        }
        impl std::str::FromStr for $type {
            type Err = crate::error::Error;

            fn from_str(text: &str) -> crate::error::Result<Self> {
                let found = Self::NAMES.iter().find(|(name, _)| *name == text);
                found.map(|(_, value)| *value).ok_or_else(|| {
                    let names: smallvec::SmallVec<[&str; 4]> =
                        Self::NAMES.iter().map(|(name, _)| *name).collect();
                    super::named::not_a_name(text, $what, $plural, &names)
                })
            }
        }
    };
}
pub(super) use text_by_name;

/// The refusal of a text that is none of the names.
pub(super) fn not_a_name(text: &str, what: &str, plural: &str, names: &[&str]) -> Error {
    let known = itertools::join(names.iter().map(|name| format!("`{name}`")), ", ");
    let meant =
        nearest(text, names.iter()).map_or_else(String::new, |name| format!("did you mean `{name}`? "));
    Error::new(Kind::Range, format!("`{}` is not {what}", shown(text)))
        .with_excerpt(Excerpt::of_line(text, 0, usize::MAX))
        .with_help(format!("{meant}the {plural} are {known}"))
}
