//! An arrangement as data for other programs.

use serde::Serialize;

use super::lead_sheet::{LeadSheet, PlacedSymbol};
use crate::chord::{Degree, Reharmonisation};
use crate::pitch::Pitch;
use crate::rules::{Effect, Finding};
use crate::search::{ArrangedChord, Arrangement, Structure};

/// An arrangement of a sheet in the form that is written as JSON. Field names are fixed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Report {
    /// The title; empty where the source has none.
    pub title: String,
    /// The key at the start, `Eb` or `Cm`.
    pub key: String,
    /// One entry for each chord symbol, in order.
    pub chords: Vec<ReportChord>,
    /// By how many semitones the melody was moved.
    pub octave_shift: i8,
    /// The sum that was minimised, in points.
    pub cost: i32,
}

/// A chord of a [`Report`].
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReportChord {
    /// The bar as written in the source.
    pub bar: String,
    /// The beat in the bar, from 1, in beats of the metre.
    pub beat: f64,
    /// The symbol as written; the chord played instead where the sheet is [as arranged](LeadSheet::as_arranged).
    pub symbol: String,
    /// How the dominant asked about was changed, such as `subV`; `None`, and no field in JSON, where it is played as it is
    /// written.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub played_as: Option<Reharmonisation>,
    /// What the chord does in the key; `None` where it could not be read.
    pub function: Option<String>,
    /// The melody note on top; `None` over a rest.
    pub melody: Option<Pitch>,
    /// The left hand, ascending.
    pub left: Vec<Pitch>,
    /// The right hand, ascending, the melody note last.
    pub right: Vec<Pitch>,
    /// The upper structure.
    pub structure: Option<ReportStructure>,
    /// The tensions that sound.
    pub tensions: Vec<Degree>,
    /// What sounds, as a symbol.
    pub sounding: Option<String>,
    /// What the rules charge, in points.
    pub cost: i32,
    /// What the rules credit, in points.
    pub colour: i32,
    /// Whether a rule that forbids fired. Not written as JSON: its findings are there.
    #[serde(skip)]
    pub clash: bool,
    /// The rules that fired, and what the reader had to say of the symbol.
    pub findings: Vec<ReportFinding>,
}

/// An upper structure of a [`Report`].
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReportStructure {
    /// The degree on which the triad stands.
    pub label: String,
    /// The triad as a plain ASCII symbol.
    pub triad: String,
}

/// A finding of a [`Report`].
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ReportFinding {
    /// The id of the rule; `reading` for what the reader found.
    pub rule: String,
    /// What is so.
    pub message: String,
    /// What would help.
    pub help: String,
}

impl From<Finding> for ReportFinding {
    fn from(finding: Finding) -> Self {
        Self { rule: finding.rule, message: finding.message, help: finding.help }
    }
}

impl From<Structure> for ReportStructure {
    fn from(structure: Structure) -> Self {
        Self { label: structure.label.to_string(), triad: structure.triad.to_string() }
    }
}

impl Report {
    /// The report of an arrangement of this sheet. `read` are findings of the reader about single chords, by their
    /// place in [`LeadSheet::chords`].
    pub fn new(sheet: &LeadSheet, arrangement: &Arrangement, read: &[(usize, ReportFinding)]) -> Self {
        let chords =
            sheet.chords.iter().zip(&arrangement.chords).enumerate().map(|(index, (placed, arranged))| {
                let own =
                    read.iter().filter(|(chord, _)| *chord == index).map(|(_, finding)| finding.clone());
                let bar = sheet.bars.get(placed.bar).map_or_else(String::new, |bar| bar.number.clone());
                let beat = sheet.beat_of(placed.bar, placed.start);
                Self::chord(bar, beat, &placed.symbol, arranged, own.collect())
            });
        Self {
            title: sheet.title.clone(),
            key: sheet.key.to_string(),
            chords: chords.collect(),
            octave_shift: arrangement.octave_shift,
            cost: arrangement.cost,
        }
    }

    fn chord(
        bar: String,
        beat: f64,
        symbol: &PlacedSymbol,
        arranged: &ArrangedChord,
        mut findings: Vec<ReportFinding>,
    ) -> ReportChord {
        // What earns colour is no finding that a reader must act on.
        let told = arranged.findings.iter().filter(|finding| !matches!(finding.effect, Effect::Colour(_)));
        findings.extend(told.cloned().map(ReportFinding::from));
        let (left, right) = match &arranged.voicing {
            Some(voicing) => (voicing.left().pitches().to_vec(), voicing.right().pitches().to_vec()),
            None => (Vec::new(), arranged.melody.into_iter().collect()),
        };
        ReportChord {
            bar,
            beat,
            symbol: symbol.as_str().to_owned(),
            played_as: arranged.played_as,
            function: arranged.function.map(|f| f.to_string()),
            melody: arranged.melody,
            left,
            right,
            structure: arranged.structure.map(ReportStructure::from),
            tensions: arranged.tensions.clone(),
            sounding: arranged.sounding.map(|chord| chord.to_string()),
            cost: arranged.cost,
            colour: arranged.colour,
            clash: arranged.findings.iter().any(|finding| finding.effect == Effect::Clash),
            findings,
        }
    }

    /// The report as JSON, indented, with a line end at the end.
    ///
    /// # Errors
    ///
    /// [`Error::is_sheet`](crate::Error::is_sheet) where the JSON writer refuses, which it has no reason to.
    pub fn to_json(&self) -> crate::Result<String> {
        let json = serde_json::to_string_pretty(self).map_err(|e| {
            crate::Error::new(crate::error::Kind::Sheet, format!("cannot write the report as JSON: {e}"))
        })?;
        Ok(json + "\n")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::RuleSet;
    use crate::search::{ArrangeOptions, Instead, arrange};
    use crate::sheet::{ReadOptions, read};

    /// A dominant played otherwise says how; any other chord has no such field.
    #[test]
    fn ok_what_a_dominant_is_played_as() {
        let tune = include_bytes!("../../examples/tunes/nine-lamps.musicxml");
        let sheet = read(tune, &ReadOptions::default()).unwrap().sheet;
        let mut ways = Vec::new();
        for way in Reharmonisation::ALL {
            let instead = Instead::of([way]).with_toll(0);
            let options = ArrangeOptions { instead, ..ArrangeOptions::default() };
            let arrangement = arrange(&sheet.progression(), RuleSet::standard(), options).unwrap();
            let report = Report::new(&sheet.as_arranged(&arrangement), &arrangement, &[]);
            let json: serde_json::Value = serde_json::from_str(&report.to_json().unwrap()).unwrap();
            let chords = json["chords"].as_array().unwrap();
            assert_eq!(chords.len(), arrangement.chords.len());
            for (chord, arranged) in chords.iter().zip(&arrangement.chords) {
                let expected = arranged.played_as.map(|way| way.to_string());
                let found = chord.get("played_as").map(|way| way.as_str().unwrap().to_owned());
                assert_eq!(found, expected);
                if let Some(found) = found {
                    assert_eq!(chord["symbol"], arranged.chord.unwrap().to_string());
                    ways.push(found);
                }
            }
            assert!(chords.iter().any(|chord| chord.get("played_as").is_none()));
        }
        assert!(ways.iter().any(|way| way == "subV"), "{ways:?}");
    }
}
