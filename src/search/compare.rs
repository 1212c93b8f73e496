//! Why one arrangement rather than another.

use std::collections::BTreeMap;
use std::fmt;

use itertools::Itertools;

use super::arrangement::{ArrangedChord, Arrangement};
use crate::chord::Chord;
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
/// let c7 = why.chords.iter().find(|chord| chord.slot == 1).unwrap();
/// assert_eq!(c7.chords[0], [overshell::chord::chord("C7")]);
/// assert!(why.to_string().contains("chord 2 (`C7`): "));
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
    /// The chords that are played in the first and in the second: one, two where a dominant is played as two; none where no chord
    /// sounds.
    pub chords: [Vec<Chord>; 2],
    /// What the hands play over them in the first and in the second; nothing where a chord is not voiced.
    pub voicings: [Vec<Voicing>; 2],
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
        let voicings = |chords: &[&ArrangedChord]| chords.iter().filter_map(|chord| chord.voicing).collect();
        let played = |chords: &[&ArrangedChord]| chords.iter().filter_map(|chord| chord.chord).collect();
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
            chords: [played(first), played(second)],
            voicings: [voicings(first), voicings(second)],
            points: difference(|chord| chord.points),
            points_of_moves: difference(ArrangedChord::points_of_moves),
            only_first: only(&ours, &theirs),
            only_second: only(&theirs, &ours),
        }
    }

    fn is_different(&self) -> bool {
        let ([first, second], [chords, others]) = (&self.voicings, &self.chords);
        chords != others || first != second || self.points != 0 || self.points_of_moves != 0
    }

    /// The chords by name: once where both play the same.
    fn names(&self) -> String {
        let names = |chords: &[Chord]| format!("`{}`", chords.iter().join(" "));
        match &self.chords {
            [first, second] if first == second => names(first),
            [first, second] => format!("{} rather than {}", names(first), names(second)),
        }
    }
}

impl fmt::Display for Comparison {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{:+} points in all", self.points)?;
        for chord in &self.chords {
            let hands = |voicings: &[Voicing]| match voicings {
                [] => "nothing".to_owned(),
                some => some.iter().map(|voicing| format!("`{voicing}`")).join(", "),
            };
            let ChordComparison { points, points_of_moves, .. } = chord;
            let place = chord.slot.saturating_add(1);
            let what = match &chord.voicings {
                [first, second] if first == second => format!("{} in both", hands(first)),
                [first, second] => format!("{} rather than {}", hands(first), hands(second)),
            };
            writeln!(
                f,
                "chord {place} ({}): {what}; {points:+} for the chord, {points_of_moves:+} for the way to it",
                chord.names()
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

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::chord::{Reharmonisation, chord};
    use crate::rules::RuleSet;
    use crate::search::{ArrangeOptions, Arranger, Instead, Octave, Progression, arrange};

    /// The chords by name, as they are played.
    #[test]
    fn ok_chords_are_named() {
        let tune =
            Progression::from_symbols("C", [("Dm7", "F5"), ("G7(b9)", "F5"), ("Cmaj7", "E5")]).unwrap();
        let options = ArrangeOptions { octave: Octave::AsWritten, ..ArrangeOptions::default() };
        let arranger = Arranger::new(&tune, RuleSet::standard(), options).unwrap();
        let best = arranger.best();
        let why = Comparison::new(&best, &arranger.runner_up(1).unwrap());
        assert!(why.to_string().contains("\nchord 2 (`G7(b9)`): `"), "{why}");
        assert!(!why.to_string().contains("`, `"), "{why}");
        // Played as two chords, of which both are said; under some melody note that comes out better.
        let two = |melody: &str| {
            let tune =
                Progression::from_symbols("C", [("Dm7", "F5"), ("G7", melody), ("Cmaj7", "E5")]).unwrap();
            let best = arrange(&tune, RuleSet::standard(), options).unwrap();
            let ways = [Reharmonisation::TwoFive, Reharmonisation::SuspendedThenDominant];
            let options = ArrangeOptions { instead: Instead::of(ways).with_toll(0), ..options };
            let other = arrange(&tune, RuleSet::standard(), options).unwrap();
            (other.chords.len() == 4).then_some((best, other))
        };
        let notes = ["C5", "Db5", "D5", "Eb5", "E5", "F5", "Gb5", "G5", "Ab5", "A5", "Bb4", "B4"];
        let (best, others) = notes.into_iter().find_map(two).unwrap();
        let why = Comparison::new(&best, &others);
        let of_dominant = why.chords.iter().find(|chord| chord.slot == 1).unwrap();
        let [written, played] = &of_dominant.chords;
        assert_eq!((&written[..], played.last()), (&[chord("G7")][..], written.last()));
        assert_eq!(of_dominant.voicings.each_ref().map(Vec::len), [1, 2]);
        let both = itertools::join(played, " ");
        assert!(why.to_string().contains(&format!("chord 2 (`G7` rather than `{both}`): `")), "{why}");
        assert!(why.to_string().contains("`, `"), "{why}");
    }

    /// Two arrangements that are the same differ in nothing; a chord without hands plays nothing.
    #[test]
    fn ok_nothing_differs() {
        let tune = Progression::from_symbols("C", [("C7", "C1"), ("F", "A4")]).unwrap();
        let options = ArrangeOptions { octave: Octave::AsWritten, ..ArrangeOptions::default() };
        let best = arrange(&tune, RuleSet::standard(), options).unwrap();
        assert_eq!(Comparison::new(&best, &best).to_string(), "+0 points in all\n");
        let mut other = best.clone();
        Arc::make_mut(&mut other.chords[0]).voicing = other.chords[1].voicing;
        let why = Comparison::new(&best, &other).to_string();
        assert!(why.contains("chord 1 (`C7`): nothing rather than `"), "{why}");
    }
}
