//! From a path to what the hands play, with its reasons.

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

/// The arrangement of a path.
pub(super) fn answer(question: &Question<'_, '_>, lattice: &Lattice<'_>, path: &Path) -> Arrangement {
    let functions = question.progression.functions();
    let mut nodes = path.nodes.iter().peekable();
    let mut before: Option<(&Place<'_>, Voicing)> = None;
    let mut chords = Vec::with_capacity(question.progression.slots.len());
    for (at, (slot, function)) in question.progression.slots.iter().zip(functions).enumerate() {
        let mut played = false;
        while let Some((part, place, voicing)) = nodes.peek().and_then(|node| chosen(lattice, node, at)) {
            nodes.next();
            chords.push(arranged(slot, part, place, voicing, before, question.rules));
            before = Some((place, voicing));
            played = true;
        }
        if !played {
            let melody = slot.melody.and_then(|pitch| pitch.shift_octaves(lattice.shift / 12));
            chords.push(without(question, lattice, at, slot.chord, function, melody));
        }
    }
    let cost = path.cost.clamp(i64::from(i32::MIN), i64::from(i32::MAX)) as i32;
    Arrangement { chords, octave_shift: lattice.shift, cost }
}

/// What a node of a path plays, where it is for this slot.
fn chosen<'l, 'r>(
    lattice: &'l Lattice<'r>,
    (layer, left, right): &(usize, usize, usize),
    slot: usize,
) -> Option<(&'l Part, &'l Place<'r>, Voicing)> {
    let part = lattice.parts.get(*layer).filter(|part| part.slot == slot)?;
    let place = lattice.place_of(*layer)?;
    Some((part, place, place.voicing(*left, *right)?))
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

pub(in crate::search) fn arranged(
    slot: &Slot,
    part: &Part,
    place: &Place<'_>,
    voicing: Voicing,
    before: Option<(&Place<'_>, Voicing)>,
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
    if let Some((place_before, voicing_before)) = before {
        out.moves = place.judge.motion(&place_before.judge, &voicing_before, &voicing);
    }
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
