//! Why one arrangement rather than another.

use std::collections::BTreeMap;
use std::fmt;

use super::arrangement::{ArrangedChord, Arrangement};
use crate::rules::{Effect, Finding};
use crate::voicing::Voicing;

/// Where two arrangements of the same progression differ, and what that makes in points: chord by chord and move by move. The
/// sum of all differences is the difference of the two costs.
///
/// # Example
///
/// ```
/// use overshell::rules::RuleSet;
/// use overshell::search::{Arranger, Comparison, Progression};
///
/// let tune = Progression::from_symbols("F", [("Gm7", "Bb4"), ("C7", "G4"), ("Fmaj7", "A4")])?;
/// let arranger = Arranger::new(&tune, RuleSet::standard(), Default::default())?;
/// let (best, other) = (arranger.best(), arranger.runner_up(1).unwrap());
/// let why = Comparison::new(&best, &other);
/// assert_eq!(why.points, other.cost - best.cost);
/// assert!(why.chords.iter().any(|chord| chord.slot == 1));
/// println!("{why}");
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// By how many points the second costs more than the first; negative where it costs less.
    pub points: i32,
    /// The chords that differ, or to which the way differs, in order.
    pub chords: Vec<ChordComparison>,
}

/// What differs at one chord.
#[derive(Clone, Debug, PartialEq)]
pub struct ChordComparison {
    /// Which chord of the progression it is, from 0.
    pub slot: usize,
    /// What the hands play in the first and in the second; the last chord of the slot where a dominant is played as two.
    pub voicings: [Option<Voicing>; 2],
    /// By how many points the second costs more here, the way aside.
    pub points: i32,
    /// By how many points the way from the chord before costs more in the second.
    pub points_of_moves: i32,
    /// What the rules find in the first and not, or not as much, in the second.
    pub only_first: Vec<Finding>,
    /// What the rules find in the second and not, or not as much, in the first.
    pub only_second: Vec<Finding>,
}

impl Comparison {
    /// Compares two arrangements of the same progression.
    pub fn new(first: &Arrangement, second: &Arrangement) -> Self {
        let mut by_slot: BTreeMap<usize, [Vec<&ArrangedChord>; 2]> = BTreeMap::new();
        for chord in &first.chords {
            let [own, _] = by_slot.entry(chord.slot).or_default();
            own.push(chord);
        }
        for chord in &second.chords {
            let [_, own] = by_slot.entry(chord.slot).or_default();
            own.push(chord);
        }
        let chords = by_slot.iter().map(|(slot, [a, b])| ChordComparison::new(*slot, a, b));
        Self {
            points: second.cost.saturating_sub(first.cost),
            chords: chords.filter(ChordComparison::is_different).collect(),
        }
    }
}

impl ChordComparison {
    fn new(slot: usize, first: &[&ArrangedChord], second: &[&ArrangedChord]) -> Self {
        let sum = |chords: &[&ArrangedChord], of: fn(&ArrangedChord) -> i32| {
            chords.iter().map(|chord| of(chord)).fold(0i32, i32::saturating_add)
        };
        let difference = |of| sum(second, of).saturating_sub(sum(first, of));
        let voicing = |chords: &[&ArrangedChord]| chords.last().and_then(|chord| chord.voicing);
        let findings = |chords: &[&ArrangedChord]| -> Vec<Finding> {
            chords.iter().flat_map(|chord| chord.findings.iter().chain(&chord.moves)).cloned().collect()
        };
        let (ours, theirs) = (findings(first), findings(second));
        let only = |own: &[Finding], other: &[Finding]| {
            let mut rest = other.to_vec();
            let mut only = Vec::new();
            for finding in own {
                match rest.iter().position(|f| (&f.rule, f.effect) == (&finding.rule, finding.effect)) {
                    Some(at) => drop(rest.swap_remove(at)),
                    None => only.push(finding.clone()),
                }
            }
            only
        };
        Self {
            slot,
            voicings: [voicing(first), voicing(second)],
            points: difference(|chord| chord.points),
            points_of_moves: difference(ArrangedChord::points_of_moves),
            only_first: only(&ours, &theirs),
            only_second: only(&theirs, &ours),
        }
    }

    fn is_different(&self) -> bool {
        let [first, second] = &self.voicings;
        first != second || self.points != 0 || self.points_of_moves != 0
    }
}

impl fmt::Display for Comparison {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{:+} points in all", self.points)?;
        for chord in &self.chords {
            let [first, second] =
                chord.voicings.map(|v| v.map_or_else(|| "nothing".to_owned(), |v| v.to_string()));
            let ChordComparison { points, points_of_moves, .. } = chord;
            let place = chord.slot.saturating_add(1);
            let what = if first == second {
                format!("`{first}` in both")
            } else {
                format!("`{first}` rather than `{second}`")
            };
            writeln!(
                f,
                "chord {place}: {what}; {points:+} for the chord, {points_of_moves:+} for the way to it"
            )?;
            for (whose, findings) in [("here", &chord.only_first), ("there", &chord.only_second)] {
                for finding in findings {
                    let effect = match finding.effect {
                        Effect::Clash => "clash".to_owned(),
                        Effect::Cost(points) => format!("costs {points}"),
                        Effect::Colour(points) => format!("colour {points}"),
                    };
                    writeln!(f, "  {whose}: {} ({}, {effect})", finding.message, finding.rule)?;
                }
            }
        }
        Ok(())
    }
}
