//! When a rule applies: which chords, in which function.

use super::fields::{Faults, Fields};
use super::judge::Frame;
use crate::chord::{Degree, DegreeSet, Family, Function};

/// The conditions of a rule on the chord; all must hold. Absent keys hold for every chord.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Filter {
    /// `chords = ["dominant", "major"]`: one of these families.
    families: Option<Vec<Family>>,
    /// `has = ["b7"]`: the chord has all of these degrees.
    has: DegreeSet,
    /// `lacks = ["9"]`: it has none of these.
    lacks: DegreeSet,
    /// `functions = ["V7/ii"]`: it does one of these things; chords of unknown function are left out.
    functions: Option<Vec<Function>>,
}

impl Filter {
    pub(super) fn read(fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Self {
        Self {
            families: fields.list("chords", faults),
            has: fields.list::<Degree>("has", faults).into_iter().flatten().collect(),
            lacks: fields.list::<Degree>("lacks", faults).into_iter().flatten().collect(),
            functions: fields.list("functions", faults),
        }
    }

    pub(super) fn names_functions(&self) -> bool {
        self.functions.is_some()
    }

    pub(super) fn admits(&self, frame: &Frame) -> bool {
        let tones = frame.chord.tones();
        self.families.as_ref().is_none_or(|families| families.contains(&frame.chord.family()))
            && self.has.difference(tones).is_empty()
            && self.lacks.iter().all(|degree| !tones.contains(degree))
            && self
                .functions
                .as_ref()
                .is_none_or(|functions| frame.function.is_some_and(|f| functions.contains(&f)))
    }
}
