//! What right hands did under the chords before.

use super::super::sink::Source;
use super::between::Between;
use super::cells::Cells;
use super::rights::Rights;
use super::rows::fire_alone;
use crate::rules::kind::Test;

/// So many tests are kept; over the 80 qualities on a root, the sets that ship come to 44 at the most, as counted.
const MOST_KEPT: usize = 64;

/// What tests find in the same right hands, alone and with left ones, kept from chord to chord: many tests ask the same under every chord.
#[derive(Default)]
pub(crate) struct Memory {
    kept: Vec<Kept>,
    pub(super) between: Option<Between>,
}

struct Kept {
    source: Source,
    test: Test,
    cells: Cells,
}

impl Memory {
    /// One row: what the test finds, for each shape or each hand as it is the same in octaves or not.
    pub(super) fn of(&mut self, source: &Source, test: &Test, rights: &Rights) -> Option<&Cells> {
        let same = |kept: &Kept| kept.source == *source && kept.test == *test;
        let known = self.kept.iter().position(same);
        let at = known.unwrap_or_else(|| {
            if self.kept.len() == MOST_KEPT {
                self.kept.clear();
            }
            let hands = rights.hands_for(test);
            let mut cells = Cells::new(hands.len(), 1);
            let row = cells.add_row();
            fire_alone(&mut cells, row, hands, source, test, rights);
            self.kept.push(Kept { source: *source, test: test.clone(), cells });
            self.kept.len() - 1
        });
        self.kept.get(at).map(|kept| &kept.cells)
    }
}
