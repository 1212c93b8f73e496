//! Inversions and spacings of a triad.

/// Which member of the triad lies lowest, in close position.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Inversion {
    /// Root, third, fifth: the fifth on top.
    Root,
    /// Third, fifth, root: the root on top.
    First,
    /// Fifth, root, third: the third on top.
    Second,
}

impl Inversion {
    /// All three.
    pub const ALL: [Self; 3] = [Self::Root, Self::First, Self::Second];

    /// The inversion with this member on top in close position: 0 root, 1 third, 2 fifth.
    pub const fn with_on_top(member: usize) -> Self {
        match member {
            0 => Self::First,
            1 => Self::Second,
            _ => Self::Root,
        }
    }

    /// The members from the bottom, in close position: 0 root, 1 third, 2 fifth.
    pub const fn members(self) -> [usize; 3] {
        match self {
            Self::Root => [0, 1, 2],
            Self::First => [1, 2, 0],
            Self::Second => [2, 0, 1],
        }
    }

    /// In one word, as it is serialised: `root`, `first`, `second`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Root => "root",
            Self::First => "first",
            Self::Second => "second",
        }
    }

    /// As read out: `root position`, `first inversion`, `second inversion`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Root => "root position",
            Self::First => "first inversion",
            Self::Second => "second inversion",
        }
    }
}

/// Close, or open with the middle voice an octave lower.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Spacing {
    /// All three within an octave.
    Close,
    /// The second voice from the top dropped an octave (drop 2 of a triad).
    Open,
}

impl Spacing {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Close, Self::Open];

    /// As read out.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Close => "close",
            Self::Open => "open",
        }
    }
}
