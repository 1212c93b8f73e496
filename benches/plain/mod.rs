//! The questions of `language.rs` answered as one would first write them: by the definitions, with lists and text.

pub(crate) mod naming;
pub(crate) mod set;
pub(crate) mod symbol;
