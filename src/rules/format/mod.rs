//! The format of rule files: its keys as data, how they are read, and what is made of them.

mod fields;
mod key;
mod reference;
#[cfg(feature = "schema")]
mod schema;

pub(super) use fields::{Faults, Fields, suggestion};
pub(super) use key::{Holds, Key, Way, names};
pub use reference::format_reference;
#[cfg(feature = "schema")]
pub use schema::json_schema;
