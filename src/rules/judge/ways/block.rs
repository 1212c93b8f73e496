//! Eight numbers at once, as registers add them.

use std::ops::{Add, Mul};

/// As many short numbers as the narrowest registers in use hold.
pub(super) const LANES: usize = 8;

/// A number for each of eight shapes.
pub(super) type Block<L> = [L; LANES];

/// A number that points are counted in: short where all sums fit.
pub(super) trait Lane:
    Copy + Default + Ord + Add<Output = Self> + Mul<Output = Self> + From<i16> + TryFrom<i32> + Into<i32>
{
    /// A number of points that is known to fit.
    fn of(points: i32) -> Self {
        Self::try_from(points).unwrap_or_default()
    }
}

impl Lane for i16 {}
impl Lane for i32 {}

#[inline(always)]
pub(super) fn plus<L: Lane>(mut sum: Block<L>, more: Block<L>) -> Block<L> {
    for (sum, more) in sum.iter_mut().zip(more) {
        *sum = *sum + more;
    }
    sum
}

#[inline(always)]
pub(super) fn least<L: Lane>(mut least: Block<L>, other: Block<L>) -> Block<L> {
    for (least, other) in least.iter_mut().zip(other) {
        *least = (*least).min(other);
    }
    least
}
