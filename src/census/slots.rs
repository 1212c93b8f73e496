//! Which rows have the same value in a column, without making it.

use smallvec::SmallVec;

use super::columns::Column;
use super::row::CensusRow;

/// What the values of a row's column are found by: rows with the same slots have the same values, in the scope of the column.
pub(super) enum Slots {
    /// Of one value, which may be none.
    One(usize),
    /// Of a list: of its first part, and of its second.
    Parts([usize; 2]),
    /// Of the items of a list.
    Rules(SmallVec<[u16; 16]>),
    /// Of a value that hardly another row has.
    Own,
}

/// How long slots mean the same.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub(super) enum Scope {
    /// In all rows of one [`CensusRows`](super::CensusRows).
    Rows,
    /// Until the next chord begins.
    Chord,
    /// Not at all: hardly any two rows share a value, so that it is not worth while to look it up.
    Row,
}

impl Column {
    /// How long its slots mean the same.
    pub(super) const fn scope(self) -> Scope {
        match self {
            Self::Root
            | Self::Quality
            | Self::Family
            | Self::Chord
            | Self::Shell
            | Self::Triad
            | Self::Label
            | Self::LeftLowest
            | Self::RightLowest
            | Self::Left
            | Self::Right
            | Self::Midi
            | Self::Degrees
            | Self::Sounding
            | Self::LeftSpan
            | Self::RightSpan => Scope::Chord,
            Self::Inversion
            | Self::Spacing
            | Self::Verdict
            | Self::Colour
            | Self::Cost
            | Self::Rules
            | Self::Forte
            | Self::PrimeForm
            | Self::IntervalVector => Scope::Rows,
            Self::Index | Self::RoughnessHutchinsonKnopoff | Self::RoughnessSethares | Self::Reachable => {
                Scope::Row
            }
        }
    }
}

impl CensusRow<'_> {
    /// What the values of a column are found by.
    #[inline]
    pub(super) fn slots(&self, column: Column) -> Slots {
        let points = |points: i32| Slots::One(points.max(0).unsigned_abs() as usize);
        match column {
            Column::Root | Column::Quality | Column::Family | Column::Chord => Slots::One(0),
            Column::Shell | Column::Left | Column::LeftLowest | Column::LeftSpan => {
                Slots::One(self.left_number())
            }
            Column::Triad | Column::Label => Slots::One(self.placing().triad),
            Column::Inversion => Slots::One(self.placing().inversion as usize),
            Column::Spacing => Slots::One(self.placing().spacing as usize),
            Column::RightLowest | Column::Right | Column::RightSpan => Slots::One(self.right_number()),
            Column::Midi | Column::Degrees => Slots::Parts([self.left_number(), self.right_number()]),
            Column::Verdict => Slots::One(self.verdict() as usize),
            Column::Colour => points(self.score().colour),
            Column::Cost => points(self.score().cost),
            Column::Rules => Slots::Rules(self.fired()),
            Column::Sounding => Slots::One(self.left_set_number() * self.triads() + self.placing().triad),
            Column::Forte => Slots::One(self.pitch_set().bits().into()),
            Column::PrimeForm | Column::IntervalVector => Slots::Parts([self.pitch_set().bits().into(), 0]),
            Column::Index
            | Column::RoughnessHutchinsonKnopoff
            | Column::RoughnessSethares
            | Column::Reachable => Slots::Own,
        }
    }
}
