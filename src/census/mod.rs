//! Every triad over every shell, numbered: the whole space, not a search in it.
//!
//! A [`CensusSpace`] says what is counted. [`Census`] gives each combination a number that stays, and each number its
//! combination, without storing anything, so that ranges can be worked on anywhere and put together again.
//! [`Census::score`] judges, [`CensusRows`] says all there is to say, [`CensusFilter`] skips what is not wanted.
//!
//! # Columns
//!
//! | column | values | unit | meaning |
//! |---|---|---|---|
//! | `index` | whole number |  | the number of the combination |
//! | `root` | text |  | the root of the chord |
//! | `quality` | text |  | the chord as it is on C |
//! | `family` | text |  | the family of the chord, as rule files name it |
//! | `chord` | text |  | the chord |
//! | `shell` | text |  | what the left hand plays, by roles |
//! | `triad` | text |  | what the right hand plays |
//! | `label` | text |  | the degree of the chord on which the triad stands |
//! | `inversion` | text |  | `root`, `first` or `second`, in close position |
//! | `spacing` | text |  | `close` or `open` |
//! | `left_lowest` | whole number | MIDI number | the lowest note of the left hand |
//! | `right_lowest` | whole number | MIDI number | the lowest note of the right hand |
//! | `midi` | list of numbers | MIDI numbers | all notes from the lowest |
//! | `left` | text |  | the notes of the left hand, spelled, from the lowest |
//! | `right` | text |  | the notes of the right hand, spelled, from the lowest |
//! | `degrees` | list of texts |  | what the notes mean over the chord, from the lowest |
//! | `verdict` | text |  | `clash`, `plain` or `colour` |
//! | `colour` | whole number | points | what the rules credit |
//! | `cost` | whole number | points | what the rules charge |
//! | `rules` | list of texts |  | the rules that fired, in the order of the set |
//! | `sounding` | text or nothing |  | the chord that sounds, where a symbol can say it |
//! | `forte` | text |  | Forte's name of the set class, with `A` or `B` where it is not symmetric |
//! | `prime_form` | list of numbers | semitones | Forte's prime form of the set class |
//! | `interval_vector` | list of numbers | pairs | how many pairs of pitch classes lie each interval class apart, from 1 to 6 |
//! | `roughness_hutchinson_knopoff` | number | of the model | after Hutchinson and Knopoff, eleven harmonics, by table |
//! | `roughness_sethares` | number | of the model | after Sethares, eleven harmonics |
//! | `left_span_mm` | number | millimetres | from the middle of the lowest key to that of the highest, left hand |
//! | `right_span_mm` | number | millimetres | the same, right hand |
//! | `reachable` | yes or no |  | whether no rule sees either hand beyond its largest stretch |
//!
//! Roughness is that of [`RoughnessTable`](crate::voicing::RoughnessTable), in the unit of its model, to three places: where
//! octaves coincide the table of Hutchinson and Knopoff says more than the model, in the full space up to 39 % and up to 0.22 (measured
//! over 8.1 of its 8.7 million combinations). Distances are those on the keyboard of the space's hands
//! ([`HandSize::keyboard`](crate::voicing::HandSize::keyboard)). A voicing is in the census whether or not a hand can play it, since
//! hands differ: `reachable` says whether the rules let this one.

#[cfg(feature = "arrow")]
mod batch;
mod columns;
mod combination;
mod filter;
mod iter;
mod near;
mod numbering;
#[cfg(feature = "parquet")]
mod parquet;
mod row;
mod scores;
#[cfg(feature = "parquet")]
mod slots;
mod space;
mod summary;
#[cfg(test)]
mod tests;
mod work;

#[cfg(feature = "arrow")]
pub use batch::CensusBatch;
pub use columns::{Column, ColumnType, TextList, Value};
pub use combination::Combination;
pub use filter::CensusFilter;
pub use iter::CensusIter;
pub use numbering::Census;
#[cfg(feature = "parquet")]
pub use parquet::CensusParquet;
pub use row::{CensusRow, CensusRows};
pub use scores::CensusScores;
pub use space::{CensusDescription, CensusRules, CensusSpace, NUMBERING};
pub use summary::{CensusCounts, CensusSummary};
