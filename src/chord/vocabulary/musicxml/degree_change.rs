//! Degrees that change a kind.

/// What a `degree` element does (MusicXML 4.0 schema, `degree-type-value`).
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum DegreeChangeType {
    /// Adds a note. Its alteration counts from the degree over a dominant chord: major or perfect, the seventh minor.
    Add,
    /// Moves a note of the kind. The alteration counts from where the kind has it.
    Alter,
    /// Takes a note away.
    Subtract,
}

impl DegreeChangeType {
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

impl std::fmt::Display for DegreeChangeType {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.as_str())
    }
}

/// A `degree` element: one note added, altered or left out.
///
/// Prints as a symbol would say it.
///
/// ```
/// use overshell::chord::vocabulary::musicxml::{DegreeChange, DegreeChangeType};
/// assert_eq!(DegreeChange::new(DegreeChangeType::Add, 9, 0).to_string(), "add9");
/// assert_eq!(DegreeChange::new(DegreeChangeType::Alter, 5, -1).to_string(), "b5");
/// assert_eq!(DegreeChange::new(DegreeChangeType::Subtract, 3, 0).to_string(), "no3");
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash, serde::Serialize, serde::Deserialize)]
#[non_exhaustive]
pub struct DegreeChange {
    /// What it does.
    pub kind: DegreeChangeType,
    /// `degree-value`, from 1.
    pub number: u8,
    /// `degree-alter` in semitones; what it counts from is the type's business.
    pub alter: i8,
}

impl DegreeChange {
    /// What it does, to which degree, by how many semitones.
    pub const fn new(kind: DegreeChangeType, number: u8, alter: i8) -> Self {
        Self { kind, number, alter }
    }
}

impl std::fmt::Display for DegreeChange {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let sign =
            if self.alter < 0 { "b" } else { "#" }.repeat(usize::from(self.alter.unsigned_abs().min(2)));
        match self.kind {
            DegreeChangeType::Add if self.alter == 0 => write!(f, "add{}", self.number),
            DegreeChangeType::Add | DegreeChangeType::Alter => write!(f, "{sign}{}", self.number),
            DegreeChangeType::Subtract => write!(f, "no{}", self.number),
        }
    }
}
