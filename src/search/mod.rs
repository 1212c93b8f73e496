//! Which voicing is best, and how many there are.
//!
//! | function | question |
//! |---|---|
//! | [`catalogue`] | what does every triad do over this chord |
//! | [`under_melody`] | which triads have this note on top, and what to do where none serves |
//! | [`arrange`], [`arrange_many`] | how do two hands play this progression, all in all best |
//!
//! Everything is exact and deterministic: costs are integers, ties are broken by a fixed order.

mod arrange;
mod arrangement;
mod candidates;
mod catalogue;
#[doc(hidden)]
pub mod paths;
mod progression;
mod reharmonised;
mod step;
mod under_melody;

pub use arrange::{ArrangeOptions, Octave, arrange, arrange_many};
pub use arrangement::{ArrangedChord, Arrangement, Structure};
pub use catalogue::{CatalogueEntry, CatalogueOptions, CataloguePlacing, catalogue};
pub use progression::{Progression, Slot};
#[doc(hidden)]
pub use step::{Layer, best_path, best_path_dense, best_path_joint};
pub use under_melody::{Member, UnderMelody, UnderMelodyEntry, under_melody};
