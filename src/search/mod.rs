//! Which voicing is best, and how many there are.
mod arrangement;
pub use arrangement::{ArrangedChord, Arrangement, Structure};
