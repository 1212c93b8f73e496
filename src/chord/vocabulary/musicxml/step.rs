//! Degrees that change a kind.

/// What a `degree` element does (MusicXML 4.0 schema, `degree-type-value`).
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub enum StepType {
    /// Adds a note. Its alteration counts from the degree over a dominant chord: major or perfect, the seventh minor.
    Add,
    /// Moves a note of the kind. The alteration counts from where the kind has it.
    Alter,
    /// Takes a note away.
    Subtract,
}

impl StepType {
    /// All three.
    pub const ALL: [Self; 3] = [Self::Add, Self::Alter, Self::Subtract];

    /// As written.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Add => "add",
            Self::Alter => "alter",
            Self::Subtract => "subtract",
        }
    }
}

impl std::fmt::Display for StepType {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.as_str())
    }
}

/// A `degree` element: one note added, altered or left out.
///
/// Prints as a symbol would say it.
///
/// ```
/// use overshell::chord::vocabulary::musicxml::{Step, StepType};
/// assert_eq!(Step { kind: StepType::Add, number: 9, alter: 0 }.to_string(), "add9");
/// assert_eq!(Step { kind: StepType::Alter, number: 5, alter: -1 }.to_string(), "b5");
/// assert_eq!(Step { kind: StepType::Subtract, number: 3, alter: 0 }.to_string(), "no3");
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub struct Step {
    /// What it does.
    pub kind: StepType,
    /// `degree-value`, from 1.
    pub number: u8,
    /// `degree-alter` in semitones; what it counts from is the type's business.
    pub alter: i8,
}

impl std::fmt::Display for Step {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let sign =
            if self.alter < 0 { "b" } else { "#" }.repeat(usize::from(self.alter.unsigned_abs().min(2)));
        match self.kind {
            StepType::Add if self.alter == 0 => write!(f, "add{}", self.number),
            StepType::Add | StepType::Alter => write!(f, "{sign}{}", self.number),
            StepType::Subtract => write!(f, "no{}", self.number),
        }
    }
}
