//! From the top down: which triads have a melody note on top.

use itertools::iproduct;

use super::candidates::{STEPS, Tones};
use crate::chord::{Chord, Degree, Quality, Third};
use crate::error::{Error, Kind, Result};
use crate::pitch::{Pitch, PitchClass, PitchSet};
use crate::rules::{Finding, Judge, RuleSet, Score, Situation, Verdict, keys};
use crate::voicing::{Hand, Label, Shell, Spacing, Triad, TriadKind, Voicing};

/// Which member of the triad the melody note is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Member {
    /// The root.
    Root,
    /// The third, or the fourth of a suspended triad.
    Third,
    /// The fifth.
    Fifth,
}

impl Member {
    /// All three, in the order a teacher asks for them.
    pub const ALL: [Self; 3] = [Self::Root, Self::Third, Self::Fifth];
}

/// What goes under a melody note.
#[derive(Clone, Debug, PartialEq)]
pub struct UnderMelody {
    /// Every triad that has the note, as root, third and fifth; kind by kind. Those that clash stand here too, with
    /// the reason.
    pub triads: Vec<UnderMelodyEntry>,
    /// Milder forms: a triad of the list with one note under the melody moved by a step to a chord tone, or from an
    /// altered or avoided note to a natural tension. Mildest first.
    pub softened: Vec<UnderMelodyEntry>,
    /// What serves without a triad: the shell with the melody alone over it, with no more than chord tones between.
    pub plain: Option<(Voicing, Score)>,
    /// Where no triad serves: the suspended chord that makes room for the note.
    pub suspension: Option<Chord>,
}

/// One triad, or softened triad, under a melody note.
#[derive(Clone, Debug, PartialEq)]
pub struct UnderMelodyEntry {
    /// Which member of the triad is on top; of the triad it was softened from, for a softened one.
    pub member: Member,
    /// Where the triad stands.
    pub label: Label,
    /// The triad.
    pub triad: Triad,
    /// The note moved and where to, for a softened triad.
    pub moved: Option<(Pitch, Pitch)>,
    /// The degrees in the right hand, from the bottom.
    pub degrees: Vec<Degree>,
    /// The best voicing; `None` where the hands find no room under the note, which is then the first finding, and
    /// verdict and reasons are those of the triad an octave higher.
    pub voicing: Option<Voicing>,
    /// What sounds, as a chord.
    pub sounding: Option<Chord>,
    /// Clash, plain or colour.
    pub verdict: Verdict,
    /// Points.
    pub score: Score,
    /// The reasons.
    pub findings: Vec<Finding>,
}

/// The left hand's bottom note lies in one of the octaves from here, below the right hand.
const LEFT_BOTTOMS: [u8; 2] = [36, 48];

/// Every triad that has a melody note on top, judged over the chord's shell, and what remains where none serves. A
/// written bass is not looked at: the shell stands on the root.
///
/// # Errors
///
/// [`Error::is_no_answer`] where the note lies so low that no hand fits below it.
///
/// # Example
///
/// ```
/// use overshell::chord::chord;
/// use overshell::pitch::pitch;
/// use overshell::rules::{RuleSet, Verdict};
/// use overshell::search::under_melody;
///
/// let answer = under_melody(chord("C7"), pitch("A4"), RuleSet::standard(), &Default::default())?;
/// let colours: Vec<String> = answer
///     .triads
///     .iter()
///     .filter(|entry| entry.verdict == Verdict::Colour)
///     .map(|entry| entry.triad.to_string())
///     .collect();
/// assert!(["A", "D", "F#m"].iter().all(|triad| colours.contains(&triad.to_string())));
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn under_melody(
    chord: Chord,
    melody: Pitch,
    rules: &RuleSet,
    situation: &Situation,
) -> Result<UnderMelody> {
    let chord = chord.as_played().without_bass();
    let situation = Situation { melody: Some(melody), ..situation.clone() };
    let judge = rules.judge_for(chord, &situation);
    let below = Below { chord, tones: Tones::new(chord), judge: &judge, rules };
    let mut triads = Vec::new();
    for (kind, member) in iproduct!(TriadKind::ALL, Member::ALL) {
        let above_root = kind.semitones().get(member as usize).copied().unwrap_or_default();
        let root = melody.pitch_class().up(-i32::from(above_root));
        let semitones = chord.root().pitch_class().semitones_up_to(root);
        // The same three keys make an augmented triad on three roots; the catalogue has it on the lowest.
        if kind == TriadKind::Augmented && semitones > 3 {
            continue;
        }
        let triad = Triad::over(chord, semitones, kind);
        triads.push(below.triad(triad, member, melody));
    }
    if triads.iter().all(|entry| entry.voicing.is_none()) {
        return Err(Error::new(Kind::NoAnswer, format!("no two hands find room under `{melody}`"))
            .with_help("give the melody note an octave higher"));
    }
    let softened = below.softened(&triads, melody);
    let plain = below.plain(melody);
    let none_serves = triads.iter().all(|entry| entry.verdict == Verdict::Clash);
    let suspension = none_serves.then(|| suspended_for(chord, melody)).flatten();
    Ok(UnderMelody { triads, softened, plain, suspension })
}

struct Below<'a> {
    chord: Chord,
    tones: Tones,
    judge: &'a Judge<'a>,
    rules: &'a RuleSet,
}

impl Below<'_> {
    /// The best left hand below a right hand: a shell that serves with it, in the octave that costs least.
    fn best_left(&self, right: Hand, must_serve: bool) -> Option<(Voicing, Score)> {
        let degrees = right.pitches().iter().map(|p| self.chord.degree_of(p.pitch_class())).collect();
        let lowest_right = right.lowest()?.midi();
        let enough = self.rules.colour_enough();
        let right_keys = keys(right.pitches());
        iproduct!(Shell::ALL, LEFT_BOTTOMS)
            .filter(|(shell, _)| !must_serve || shell.serves(self.chord, degrees))
            .filter_map(|(shell, bottom)| shell.hand_from(self.chord, bottom))
            .filter(|left| self.judge.within_reach(&keys(left.pitches())))
            .filter(|left| left.highest().is_some_and(|top| top.midi() < lowest_right))
            .filter_map(|left| {
                let score = self.judge.score_keys(&keys(left.pitches()), &right_keys);
                Some((Voicing::new(left, right).ok()?, score))
            })
            .min_by_key(|(_, score)| (score.clash, score.cost - score.colour.min(enough)))
    }

    fn triad(&self, triad: Triad, member: Member, melody: Pitch) -> UnderMelodyEntry {
        let best = self.best_placing(triad, melody.midi(), Some(melody));
        self.entry(triad, member, None, best, melody)
    }

    /// The best way to play a triad with this key on top, the melody note spelled as it is.
    fn best_placing(&self, triad: Triad, top: u8, melody: Option<Pitch>) -> Option<(Voicing, Score)> {
        let placings = Spacing::ALL.iter().filter_map(|spacing| triad.keys_below(top, *spacing));
        let hands = placings.filter_map(|keys| triad.hand_over(self.chord, keys));
        hands
            .filter(|hand| self.judge.within_reach(&keys(hand.pitches())))
            .filter_map(|hand| match melody {
                Some(melody) => with_melody(hand, melody),
                None => Some(hand),
            })
            .filter_map(|hand| self.best_left(hand, true))
            .min_by_key(|(_, score)| (score.clash, score.cost - score.colour.min(self.rules.colour_enough())))
    }

    fn entry(
        &self,
        triad: Triad,
        member: Member,
        moved: Option<(Pitch, Pitch)>,
        best: Option<(Voicing, Score)>,
        melody: Pitch,
    ) -> UnderMelodyEntry {
        let label = triad.label_over(self.chord);
        let right = best.map(|(voicing, _)| *voicing.right());
        let right = right.or_else(|| triad.hand_below(melody.midi(), Spacing::Close));
        let pitches = right.iter().flat_map(|hand| hand.pitches().iter());
        let degrees = pitches.map(|p| self.chord.degree_of(p.pitch_class())).collect();
        let (voicing, score) = best.map_or((None, Score::default()), |(v, s)| (Some(v), s));
        // Where there is no room, the triad is judged as it would sound higher up.
        let higher = || self.best_placing(triad, melody.shift_octaves(1)?.midi(), None);
        let judgement = best.or_else(higher).map(|(voicing, _)| self.judge.judge(&voicing));
        let mut findings = judgement.as_ref().map_or_else(Vec::new, |j| j.findings.clone());
        if voicing.is_none() {
            findings.insert(0, super::arranger::no_room());
        }
        UnderMelodyEntry {
            member,
            label,
            triad,
            moved,
            degrees,
            voicing,
            sounding: voicing.and_then(|v| self.chord.sounding(v.pitch_set())),
            verdict: judgement.as_ref().map_or(Verdict::Clash, |j| j.verdict),
            score,
            findings,
        }
    }

    /// Each triad with one of its lower notes moved a semitone or a tone to something milder, kept where the result
    /// does not clash and is no triad of the list itself.
    fn softened(&self, triads: &[UnderMelodyEntry], melody: Pitch) -> Vec<UnderMelodyEntry> {
        let mut found: Vec<UnderMelodyEntry> = Vec::new();
        let known = |set: PitchSet| {
            set.len() < 3 || Triad::all_over(self.chord).any(|triad| triad.pitch_set() == set)
        };
        for entry in triads {
            let Some(from) = entry.triad.hand_below(melody.midi(), Spacing::Close) else { continue };
            for (at, step) in iproduct!(0..2usize, STEPS) {
                let Some(old) = from.pitches().get(at).copied() else { continue };
                let Some(new) = self.tones.stepped(old, step) else { continue };
                let rest = from.pitches().iter().enumerate().filter(|(i, _)| *i != at).map(|(_, p)| *p);
                let Ok(hand) = Hand::new(rest.chain([new])) else { continue };
                let top_is_melody = hand.highest().is_some_and(|p| p.midi() == melody.midi());
                let set = hand.pitches().iter().map(|p| p.pitch_class()).collect();
                if !top_is_melody || known(set) || !self.judge.within_reach(&keys(hand.pitches())) {
                    continue;
                }
                let best = with_melody(hand, melody).and_then(|hand| self.best_left(hand, true));
                let Some(best) = best.filter(|(_, score)| !score.clash) else { continue };
                if found.iter().all(|f| f.voicing.map(|v| *v.right()) != Some(*best.0.right())) {
                    found.push(self.entry(entry.triad, entry.member, Some((old, new)), Some(best), melody));
                }
            }
        }
        found.sort_by_key(|entry| {
            (
                entry.score.cost,
                entry
                    .degrees
                    .iter()
                    .map(|d| self.tones.sharpness(d.class_over(self.chord.root().pitch_class())))
                    .sum::<u32>(),
            )
        });
        found
    }

    /// The shell under the melody with chord tones between, in the right hand.
    fn plain(&self, melody: Pitch) -> Option<(Voicing, Score)> {
        let enough = self.rules.colour_enough();
        super::candidates::Material::new(self.chord)
            .rights(Some(melody), None, self.judge, |_| true)
            .into_iter()
            .filter(|shape| {
                let own = self.chord.quality().tones();
                shape
                    .inner()
                    .iter()
                    .all(|key| own.contains(self.chord.degree_of(PitchClass::wrapping(i32::from(*key)))))
            })
            .filter_map(|shape| self.best_left(shape.hand, false))
            .filter(|(_, score)| !score.clash)
            .min_by_key(|(_, score)| score.cost - score.colour.min(enough))
    }
}

fn with_melody(hand: Hand, melody: Pitch) -> Option<Hand> {
    let under = hand.pitches().iter().copied().filter(|p| p.midi() != melody.midi());
    Hand::new(under.chain([melody])).ok()
}

/// The same chord suspended, where the melody holds its fourth.
fn suspended_for(chord: Chord, melody: Pitch) -> Option<Chord> {
    let suspended = chord.with_quality(Quality { third: Third::Fourth, ..chord.quality() });
    (suspended.degree_of(melody.pitch_class()) == Degree::Fourth).then_some(suspended)
}
