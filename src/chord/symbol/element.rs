//! The signs of a symbol, and where they stand.

use smallvec::SmallVec;

use crate::chord::Chord;
use crate::pitch::NoteName;

/// A part of a symbol and the bytes of the text it came from.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
pub struct Part<T> {
    /// What the part says.
    pub value: T,
    /// First byte.
    pub start: u8,
    /// Byte after the last.
    pub end: u8,
}

/// One sign of a symbol's body.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
#[non_exhaustive]
pub enum Element {
    /// `m`, `min`, `-`
    Minor,
    /// `maj`, `M`; with the triangle as `true`, which alone means a seventh
    Major {
        /// Whether it is written as a triangle.
        triangle: bool,
    },
    /// `dom`: the minor seventh, which a bare number means anyway
    Dominant,
    /// `dim`, `°`
    Diminished,
    /// `aug`, `+`
    Augmented,
    /// `ø`
    HalfDiminished,
    /// `2 4 5 6 7 9 11 13`, and 69 for `6/9`
    Number(u8),
    /// `sus`, `sus4`, `sus2`
    Suspended {
        /// `true` for `sus2`.
        second: bool,
    },
    /// `sus24`: a second and a fourth
    SuspendedBoth,
    /// `add9`, `add#11`
    Add {
        /// Semitones up or down.
        alteration: i8,
        /// As written.
        number: u8,
    },
    /// `no3`, `omit5`
    Omit(u8),
    /// `b9`, `#11`
    Alter {
        /// Semitones up or down.
        alteration: i8,
        /// As written.
        number: u8,
    },
    /// `alt`
    Altered,
}

/// The signs of a body in the order of the text.
pub(super) type Elements = SmallVec<[Part<Element>; 8]>;

/// One chord of a symbol: root, signs, bass, and what they mean. A plain symbol has one, `D|C7` has two.
#[derive(Clone, Debug, Eq, PartialEq, Hash)]
pub struct Layer {
    pub(super) root: Part<NoteName>,
    pub(super) elements: Elements,
    pub(super) bass: Option<Part<NoteName>>,
    pub(super) chord: Chord,
}

impl Layer {
    /// The root and its place.
    pub const fn root(&self) -> Part<NoteName> {
        self.root
    }

    /// The signs between root and bass, in the order of the text.
    pub fn elements(&self) -> &[Part<Element>] {
        &self.elements
    }

    /// The bass and its place.
    pub const fn bass(&self) -> Option<Part<NoteName>> {
        self.bass
    }

    /// What it means by itself.
    pub const fn chord(&self) -> Chord {
        self.chord
    }
}
