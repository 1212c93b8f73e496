//! What fires between the hands.

use smallvec::{SmallVec, smallvec};

use super::super::sink::{Both, Source};
use super::cells::{Cells, Found};
use super::rights::Rights;
use crate::rules::kind::{Division, Test};

/// Tests that look at keys of both hands at once.
#[derive(Clone, Default, PartialEq)]
pub(super) struct Tests {
    /// At a key of each hand.
    pub(super) across: Vec<(Source, Test)>,
    /// At neighbours, which may be the highest key of the left hand and the lowest of the right.
    pub(super) joins: Vec<(Source, Test)>,
    /// At those two alone.
    pub(super) gaps: Vec<(Source, Test)>,
}

/// What these tests find, a cell for each right hand; found where it is asked for, and kept from chord to chord while the tests stay the
/// same ([`Memory`](super::Memory)).
pub(super) struct Between {
    tests: Tests,
    cells: Cells,
    /// The rows of what comes with each key in the left hand.
    keys: [Option<u16>; 128],
    /// The rows of what comes with each highest key of a left hand.
    tops: [Option<u16>; 128],
}

/// Room for so many rows is made at once.
const USUAL_ROWS: usize = 100;

impl Between {
    pub(super) fn new(tests: Tests, rights: &Rights) -> Self {
        // Without tests all rows stay empty.
        let cells = Cells::new(rights.hands.len(), if tests == Tests::default() { 0 } else { USUAL_ROWS });
        Self { tests, cells, keys: [None; 128], tops: [None; 128] }
    }

    pub(super) fn tests(&self) -> &Tests {
        &self.tests
    }

    /// Finds what comes with a left hand, if it is not known.
    pub(super) fn ask(&mut self, left: &[u8], rights: &Rights) {
        left.iter().for_each(|key| self.ask_key(*key, rights));
        left.last().into_iter().for_each(|top| self.ask_top(*top, rights));
    }

    /// The rows of what comes with a left hand for which [`Between::ask`] has been called.
    pub(super) fn of(&self, left: &[u8]) -> impl Iterator<Item = Found<'_>> {
        let row = |known: &[Option<u16>; 128], key: &u8| {
            known.get(usize::from(*key)).copied().flatten().map(|row| self.cells.row(row.into()))
        };
        let of_keys = left.iter().filter_map(move |key| row(&self.keys, key));
        of_keys.chain(left.last().and_then(move |top| row(&self.tops, top)))
    }

    /// The row of what fires between a left key and the right hand's keys.
    fn ask_key(&mut self, key: u8, rights: &Rights) {
        let Self { tests, cells, keys, .. } = self;
        let Some(known @ None) = keys.get_mut(usize::from(key)) else { return };
        let row = cells.add_row();
        for (source, test) in &tests.across {
            if let Some(upper) = test.across(key) {
                cells.fire_for(row, source, rights.keys.with_key(upper));
            }
        }
        *known = Some(row as u16);
    }

    /// The row of what fires between the highest left key and the right hand's lowest.
    fn ask_top(&mut self, top: u8, rights: &Rights) {
        let Self { tests, cells, tops, .. } = self;
        let Some(known @ None) = tops.get_mut(usize::from(top)) else { return };
        let Rights { lows, join_of, .. } = rights;
        let row = cells.add_row();
        let matters =
            |test: &Test| !matches!(test.division(), Division::Neighbours { below } if top >= below);
        // All that is found depends on the lowest right key, and on whether it is the only one.
        let mut of_lows: SmallVec<[(Both, bool); 64]> = smallvec![Default::default(); 2 * lows.len()];
        // A right hand that does not lie above means nothing, nor does one too far above.
        let above = rights.above(top);
        let reach = rights.highest_low(&above);
        let highs = || {
            let lows = lows.iter().enumerate().map(|(place, (low, _))| (place, *low));
            lows.filter(|(_, low)| (top..=reach).contains(low))
        };
        for (source, test) in tests.gaps.iter().chain(tests.joins.iter().filter(|(_, test)| matters(test))) {
            let weight = source.weight();
            let once = Both::of(&weight);
            let of_one = matches!(test.division(), Division::Top);
            test.join(top, highs(), |place, times| {
                let cells = of_lows.iter_mut().skip(2 * place + usize::from(of_one));
                for (both, clash) in cells.take(2 - usize::from(of_one)) {
                    both.add_product(once, times.unsigned_abs());
                    *clash |= weight.clash;
                }
            });
        }
        cells.put(row, above.start, join_of.get(above).unwrap_or_default(), &of_lows);
        *known = Some(row as u16);
    }
}
