//! What is good, and why: rules as data.
mod finding;
pub use finding::{Effect, Finding};
