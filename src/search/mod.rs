//! Which voicing is best, and how many there are.
//!
//! | function | question |
//! |---|---|
//! | [`catalogue`] | what does every triad do over this chord |
//! | [`under_melody`] | which triads have this note on top, and what to do where none serves |
//! | [`arrange`], [`arrange_many`] | how do two hands play this progression, all in all best |
//! | [`arrange_tied`] | the same where chords that are written once and played several times have one voicing |
//! | [`Arranger`] | which arrangements are the next best, and which is best with what is pinned |
//! | [`Comparison`] | why one arrangement rather than another |
//! | [`Live`] | how do they play a progression that comes chord by chord |
//!
//! Everything is exact and deterministic: costs are integers, ties are broken by a fixed order.

mod arrange;
mod arrangement;
mod arranger;
mod candidates;
mod catalogue;
mod compare;
mod live;
mod options;
#[doc(hidden)]
pub mod paths;
mod progression;
mod reharmonised;
mod under_melody;
mod watch;

pub use arrange::{arrange, arrange_many, arrange_many_watched};
pub use arrangement::{ArrangedChord, Arrangement, Structure};
pub use arranger::{Arranger, Pin, Pinned, Variety, arrange_tied, arrange_tied_watched};
pub use catalogue::{CatalogueEntry, CatalogueOptions, CataloguePlacing, catalogue};
pub use compare::{ChordComparison, Comparison};
pub use live::{Live, LiveAnswer};
pub use options::{ArrangeOptions, Instead, Octave, SearchLimits};
pub use progression::{Progression, Slot};
pub use under_melody::{Member, UnderMelody, UnderMelodyEntry, under_melody};
pub use watch::{Progress, Watch};
