//! From a path to what the hands play, with its reasons.

use std::collections::HashMap;
use std::sync::Arc;

use super::lack::lack;
use super::lattice::{Lattice, Part, Question};
use super::place::Place;
use crate::chord::{Chord, Degree, Function};
use crate::pitch::Pitch;
use crate::rules::{Effect, Finding, Judgement, RuleSet, Score};
use crate::search::arrangement::{ArrangedChord, Arrangement, Structure};
use crate::search::paths::Path;
use crate::search::progression::Slot;
use crate::voicing::{Triad, Voicing};

/// Tells the arrangements of paths through one lattice. What several have in common is judged once.
pub(super) struct Teller<'a, 'r> {
    question: &'a Question<'a, 'r>,
    lattice: &'a Lattice<'r>,
    functions: Vec<Option<Function>>,
    /// Each pair told so far, with some way to it.
    judged: HashMap<Node, Arc<ArrangedChord>>,
    /// The same with the way from the pair before.
    chords: HashMap<(Option<Node>, Node), Arc<ArrangedChord>>,
    /// Slots without a voicing.
    without: HashMap<usize, Arc<ArrangedChord>>,
}

/// A pair on a path: layer, left shape, right shape.
type Node = (usize, usize, usize);

impl<'a, 'r> Teller<'a, 'r> {
    pub(super) fn new(question: &'a Question<'a, 'r>, lattice: &'a Lattice<'r>) -> Self {
        let functions = question.progression.functions();
        let (judged, chords, without) = Default::default();
        Self { question, lattice, functions, judged, chords, without }
    }

    /// The arrangement of a path.
    pub(super) fn tell(&mut self, path: &Path) -> Arrangement {
        let Question { progression, rules, .. } = self.question;
        let lattice = self.lattice;
        let mut nodes = path.nodes.iter().peekable();
        let mut before: Option<(Node, &Place<'_>, Voicing)> = None;
        let mut chords = Vec::with_capacity(progression.slots.len());
        for (at, slot) in progression.slots.iter().enumerate() {
            let mut played = false;
            while let Some((node, part, place, voicing)) =
                nodes.peek().and_then(|node| chosen(lattice, node, at))
            {
                nodes.next();
                let chord = self.chords.entry((before.map(|(node, ..)| node), node)).or_insert_with(|| {
                    let known = self.judged.get(&node).map(|chord| ArrangedChord::clone(chord));
                    let mut chord = known.unwrap_or_else(|| arranged(slot, part, place, voicing, rules));
                    chord.moves = before.map_or_else(Vec::new, |(_, before, from)| {
                        place.judge.motion(&before.judge, &from, &voicing)
                    });
                    let chord = Arc::new(chord);
                    self.judged.entry(node).or_insert_with(|| Arc::clone(&chord));
                    chord
                });
                chords.push(Arc::clone(chord));
                before = Some((node, place, voicing));
                played = true;
            }
            if !played {
                let function = self.functions.get(at).copied().flatten();
                let melody = slot.melody.and_then(|pitch| pitch.shift_octaves(lattice.shift / 12));
                let silent = || without(self.question, lattice, at, slot.chord, function, melody).into();
                chords.push(Arc::clone(self.without.entry(at).or_insert_with(silent)));
            }
        }
        let cost = path.cost.clamp(i64::from(i32::MIN), i64::from(i32::MAX)) as i32;
        Arrangement { chords, octave_shift: lattice.shift, cost }
    }
}

/// What a node of a path plays, where it is for this slot.
fn chosen<'l, 'r>(
    lattice: &'l Lattice<'r>,
    node: &Node,
    slot: usize,
) -> Option<(Node, &'l Part, &'l Place<'r>, Voicing)> {
    let (layer, left, right) = *node;
    let part = lattice.parts.get(layer).filter(|part| part.slot == slot)?;
    let place = lattice.place_of(layer)?;
    Some((*node, part, place, place.voicing(left, right)?))
}

fn without(
    question: &Question<'_, '_>,
    lattice: &Lattice<'_>,
    slot: usize,
    chord: Option<Chord>,
    function: Option<Function>,
    melody: Option<Pitch>,
) -> ArrangedChord {
    let mut out = ArrangedChord::empty(slot, chord, function, melody);
    if chord.is_some() {
        out.findings.push(lack(question, lattice.shift, slot));
    }
    out
}

/// A chord as it is played, without the way to it.
pub(in crate::search) fn arranged(
    slot: &Slot,
    part: &Part,
    place: &Place<'_>,
    voicing: Voicing,
    rules: &RuleSet,
) -> ArrangedChord {
    let chord = place.chord;
    let asked = if part.by.is_some() { Some(part.setting.chord) } else { slot.chord };
    let mut out = ArrangedChord::empty(part.slot, asked, part.setting.function, part.setting.melody);
    let Judgement { verdict, cost, colour, findings } = place.judge.judge(&voicing);
    let degrees = voicing.pitch_set().iter().map(|class| chord.degree_of(class));
    out.tensions = degrees.filter(|d| d.is_tension()).collect();
    out.tensions.sort_by_key(|d| (d.number(), d.alteration()));
    out.structure = structure(chord, &voicing);
    out.sounding = chord.sounding(voicing.pitch_set()).map(|sounding| match chord.bass() {
        Some(bass) => sounding.with_bass(bass),
        None => sounding,
    });
    out.voicing = Some(voicing);
    (out.cost, out.colour, out.played_as) = (cost, colour, part.by);
    let clash = verdict == crate::rules::Verdict::Clash;
    out.points = part.weighed(Place::points(Score { clash, cost, colour }, rules.colour_enough()));
    if part.setting.chord.quality() != chord.quality() {
        out.findings.push(suspended());
    }
    out.findings.extend(findings);
    out
}

/// The upper structure that the right hand plays: a triad that holds a tension of the chord.
pub(super) fn structure(chord: Chord, voicing: &Voicing) -> Option<Structure> {
    let right = voicing.right();
    let set = right.pitches().iter().map(|p| p.pitch_class()).collect();
    let triad = Triad::of_keys(chord, set).filter(|_| right.len() == 3)?;
    triad
        .degrees_over(chord)
        .iter()
        .any(Degree::is_tension)
        .then(|| Structure { label: triad.label_over(chord), triad })
}

fn suspended() -> Finding {
    Finding {
        rule: "played-as-suspension".into(),
        message: "the natural fourth sounds, so the chord is played as a suspension, without its third"
            .into(),
        help: "let the third follow where the melody moves on".into(),
        degrees: vec![Degree::Fourth],
        effect: Effect::Cost(0),
    }
}
