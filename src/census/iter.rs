//! Going through a census.

use std::iter::FusedIterator;
use std::ops::Range;

use super::combination::Combination;
use super::numbering::Census;
use crate::error::Result;

/// Combinations with their numbers, one after the other, from either end.
#[derive(Clone, Debug)]
pub struct CensusIter<'c> {
    census: &'c Census,
    range: Range<u64>,
}

impl CensusIter<'_> {
    fn item(&self, index: u64) -> Option<(u64, Combination)> {
        Some((index, self.census.get(index)?))
    }
}

impl Iterator for CensusIter<'_> {
    type Item = (u64, Combination);

    fn next(&mut self) -> Option<Self::Item> {
        let index = self.range.next()?;
        self.item(index)
    }

    fn nth(&mut self, n: usize) -> Option<Self::Item> {
        let index = self.range.nth(n)?;
        self.item(index)
    }

    fn size_hint(&self) -> (usize, Option<usize>) {
        // A census has no more than the machine can count.
        let len = usize::try_from(self.range.end - self.range.start).unwrap_or(usize::MAX);
        (len, Some(len))
    }
}

impl DoubleEndedIterator for CensusIter<'_> {
    fn next_back(&mut self) -> Option<Self::Item> {
        let index = self.range.next_back()?;
        self.item(index)
    }
}

impl ExactSizeIterator for CensusIter<'_> {}
impl FusedIterator for CensusIter<'_> {}

impl Census {
    /// The combinations of a range with their numbers.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`](crate::Error::is_range) as [`Census::checked`] has it.
    pub fn iter(&self, range: Range<u64>) -> Result<CensusIter<'_>> {
        Ok(CensusIter { census: self, range: self.checked(range)? })
    }

    /// The combinations of a range with their numbers, on all cores, in order where they are collected.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`](crate::Error::is_range) as [`Census::checked`] has it.
    ///
    /// ```
    /// use overshell::census::{Census, CensusSpace};
    /// use rayon::iter::ParallelIterator;
    ///
    /// let census = Census::new(CensusSpace::usual())?;
    /// let open = census.par_iter(0..1_000)?.filter(|(_, c)| c.spacing == overshell::voicing::Spacing::Open);
    /// assert_eq!(open.count(), 500);
    /// # Ok::<(), overshell::Error>(())
    /// ```
    #[cfg(feature = "parallel")]
    pub fn par_iter(
        &self,
        range: Range<u64>,
    ) -> Result<impl rayon::iter::IndexedParallelIterator<Item = (u64, Combination)> + '_> {
        use rayon::iter::{IntoParallelIterator, ParallelIterator};

        let Range { start, end } = self.checked(range)?;
        // Counted as the machine counts, so that the length is exact.
        let len = usize::try_from(end - start).unwrap_or(usize::MAX);
        let first = self.get(0).ok_or_else(|| super::numbering::wrong("the census is empty".to_owned()))?;
        // Every number of a checked range has its combination.
        let item = move |index| (index, self.get(index).unwrap_or(first));
        Ok((0..len)
            .into_par_iter()
            .map(move |behind| item(start + u64::try_from(behind).unwrap_or(u64::MAX))))
    }
}
