//! The seven letters.

/// One of the seven note letters, in the order of the scale from C.
///
/// # Example
///
/// ```
/// use overshell::pitch::Letter;
/// assert_eq!(Letter::E.semitones(), 4);
/// assert_eq!(Letter::A.up(2), Letter::C);
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub enum Letter {
    /// C
    C,
    /// D
    D,
    /// E
    E,
    /// F
    F,
    /// G
    G,
    /// A
    A,
    /// B
    B,
}

impl Letter {
    /// All seven, from C.
    pub const ALL: [Self; 7] = [Self::C, Self::D, Self::E, Self::F, Self::G, Self::A, Self::B];

    /// Semitones above C: one of 0 2 4 5 7 9 11.
    pub const fn semitones(self) -> u8 {
        match self {
            Self::C => 0,
            Self::D => 2,
            Self::E => 4,
            Self::F => 5,
            Self::G => 7,
            Self::A => 9,
            Self::B => 11,
        }
    }

    /// Diatonic steps above C, `0..=6`.
    pub const fn steps(self) -> u8 {
        self as u8
    }

    /// The letter so many diatonic steps up, around the circle.
    pub const fn up(self, steps: u8) -> Self {
        match (self.steps() + steps % 7) % 7 {
            0 => Self::C,
            1 => Self::D,
            2 => Self::E,
            3 => Self::F,
            4 => Self::G,
            5 => Self::A,
            _ => Self::B,
        }
    }

    /// The letter as printed.
    pub const fn as_char(self) -> char {
        match self {
            Self::C => 'C',
            Self::D => 'D',
            Self::E => 'E',
            Self::F => 'F',
            Self::G => 'G',
            Self::A => 'A',
            Self::B => 'B',
        }
    }

    /// The letter written so, in upper case only (`b` is a flat).
    pub const fn from_char(c: char) -> Option<Self> {
        Some(match c {
            'C' => Self::C,
            'D' => Self::D,
            'E' => Self::E,
            'F' => Self::F,
            'G' => Self::G,
            'A' => Self::A,
            'B' => Self::B,
            _ => return None,
        })
    }
}

impl std::fmt::Display for Letter {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.as_char())
    }
}
