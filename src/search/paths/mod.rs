//! The exact search for the cheapest paths through layers of shapes for two hands.

mod costs;
mod dense;
mod first;
mod layer;
mod solved;
mod step;
mod tied;
mod trace;

pub use costs::Costs;
pub(in crate::search) use costs::sum_of;
pub use dense::best_dense;
pub use first::{GoOn, Halt};
pub(in crate::search) use layer::stride;
pub use layer::{Coming, Layer, Ways};
pub use solved::{Path, Solved};
pub use step::Scratch;
pub(in crate::search) use step::{DEAREST, NEVER, grow, joint_step, step};
pub use tied::{BestTied, NotTied, Tie, best_tied};

#[cfg(test)]
mod tests;
