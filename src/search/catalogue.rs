//! The catalogue: every triad over one chord's shell, judged and named.

use itertools::iproduct;
use smallvec::SmallVec;

use crate::chord::{Chord, Degree, DegreeSet};
use crate::error::{Error, Kind, Result};
use crate::rules::{Finding, Judge, Judgement, RuleSet, Score, Situation, Verdict, keys};
use crate::voicing::{Hand, HandSize, Inversion, Label, Shell, Spacing, Triad, Voicing};

/// What a catalogue looks at. The default: any shell that serves, medium hands, nothing known of the progression.
#[derive(Clone, Debug, Default)]
pub struct CatalogueOptions {
    /// The shell in the left hand. `None`: whichever shell serves best, so that the left hand leaves out what the
    /// triad holds already.
    pub shell: Option<Shell>,
    /// Function and hands; the melody is not looked at.
    pub situation: Situation,
}

/// One triad over a chord.
#[derive(Clone, Debug, PartialEq)]
pub struct CatalogueEntry {
    /// The degree on which it stands.
    pub label: Label,
    /// The triad, spelled as one.
    pub triad: Triad,
    /// Root, third (or fourth) and fifth of the triad as degrees of the chord.
    pub degrees: [Degree; 3],
    /// The best way to play it.
    pub best: CataloguePlacing,
    /// The other ways over the same shell, best first: each inversion in close and open position, as far as the hand
    /// reaches.
    pub others: Vec<CataloguePlacing>,
    /// What sounds, as a chord, where a symbol can say it.
    pub sounding: Option<Chord>,
    /// Clash, plain or colour.
    pub verdict: Verdict,
    /// The reasons.
    pub findings: Vec<Finding>,
}

/// One way to play a triad over a shell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CataloguePlacing {
    /// The shell in the left hand.
    pub shell: Shell,
    /// Which member of the triad lies lowest.
    pub inversion: Inversion,
    /// Close or open.
    pub spacing: Spacing,
    /// Both hands.
    pub voicing: Voicing,
    /// Verdict and points.
    pub score: Score,
}

/// Lower is better: no clash first, then cost, less colour as far as `enough`.
fn rank(score: Score, enough: i32) -> (bool, i32) {
    (score.clash, score.cost - score.colour.min(enough))
}

/// A shell in the left hand.
struct Left {
    shell: Shell,
    hand: Hand,
    keys: SmallVec<[u8; 5]>,
    degrees: DegreeSet,
}

/// A placing in keys, not yet spelled.
struct Placing<'a> {
    left: &'a Left,
    right: [u8; 3],
    inversion: Inversion,
    spacing: Spacing,
    score: Score,
}

impl Placing<'_> {
    fn spelled(&self, chord: Chord, triad: Triad) -> Option<CataloguePlacing> {
        Some(CataloguePlacing {
            shell: self.left.shell,
            inversion: self.inversion,
            spacing: self.spacing,
            voicing: Voicing::new(self.left.hand, triad.hand_over(chord, self.right)?).ok()?,
            score: self.score,
        })
    }
}

/// The lowest bottom note of a shell in a catalogue: A2, so that every root lies between there and G♯3.
const LOWEST_BOTTOM: u8 = 45;

/// Every triad over a chord: 52 of them, judged, named and ranked — verdict first (colour, plain, clash), then cost
/// less colour, then the order of [`Triad::all_over`]. A written bass is not looked at: the shell stands on the root.
///
/// # Errors
///
/// [`Error::is_no_answer`] where the chord has no such shell or no shell at all.
///
/// # Complexity
///
/// 52 triads × shells × 3 inversions × 2 spacings judgements.
///
/// # Example
///
/// ```
/// use overshell::chord::chord;
/// use overshell::rules::{RuleSet, Verdict};
/// use overshell::search::catalogue;
///
/// let entries = catalogue(chord("C7"), RuleSet::standard(), &Default::default())?;
/// assert_eq!(entries.len(), 52);
/// let two = entries.iter().find(|e| e.label.to_string() == "II").unwrap();
/// assert_eq!(two.verdict, Verdict::Colour);
/// assert_eq!(two.sounding.unwrap().to_string(), "C13(#11)");
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn catalogue(chord: Chord, rules: &RuleSet, options: &CatalogueOptions) -> Result<Vec<CatalogueEntry>> {
    let chord = chord.as_played().without_bass();
    let situation = Situation { melody: None, moving: Vec::new(), ..options.situation.clone() };
    let judge = rules.judge_for(chord, &situation);
    let shells: Vec<Left> = Shell::ALL
        .into_iter()
        .filter(|shell| options.shell.is_none_or(|wanted| wanted == *shell))
        .filter_map(|shell| {
            let hand = shell.hand_from(chord, LOWEST_BOTTOM)?;
            let degrees = shell.degrees(chord)?.into_iter().collect();
            Some(Left { shell, hand, keys: keys(hand.pitches()), degrees })
        })
        .filter(|left| options.shell.is_some() || judge.within_reach(&left.keys))
        .collect();
    if shells.is_empty() {
        let what = options.shell.map_or_else(|| "shell".to_owned(), |shell| format!("shell `{shell}`"));
        return Err(Error::new(Kind::NoAnswer, format!("`{chord}` has no {what}"))
            .with_help("a shell needs a third, fifth or seventh in the chord"));
    }
    let mut entries: Vec<CatalogueEntry> = Triad::all_over(chord)
        .filter_map(|triad| entry(chord, triad, &shells, &judge, rules, options))
        .collect();
    let enough = rules.colour_enough();
    entries.sort_by_key(|entry| (std::cmp::Reverse(entry.verdict), rank(entry.best.score, enough)));
    Ok(entries)
}

fn entry(
    chord: Chord,
    triad: Triad,
    shells: &[Left],
    judge: &Judge<'_>,
    rules: &RuleSet,
    options: &CatalogueOptions,
) -> Option<CatalogueEntry> {
    let degrees = triad.classes().map(|class| judge.meaning_of(class));
    // A shell serves where it and the triad together hold the guide tones.
    let missing = chord.quality().guide_tones().difference(degrees.into_iter().collect());
    let serving = |left: &Left| options.shell.is_some() || missing.difference(left.degrees).is_empty();
    // Where no shell serves (a power chord has no guide tones to lack, so this is rare) all are looked at.
    let any_serves = shells.iter().any(serving);
    // Keys first: spelled hands are made only for what is kept.
    let mut placings: Vec<Placing<'_>> = Vec::with_capacity(shells.len() * 6);
    for left in shells.iter().filter(|left| !any_serves || serving(left)) {
        let above = *left.keys.last()?;
        for (spacing, inversion) in iproduct!(Spacing::ALL, Inversion::ALL) {
            let right = triad.keys_above(inversion, spacing, above);
            let Some(right) = right.filter(|keys| judge.within_reach(keys)) else { continue };
            let score = judge.score_keys(&left.keys, &right);
            placings.push(Placing { left, right, inversion, spacing, score });
        }
    }
    let enough = rules.colour_enough();
    let shell = placings.iter().min_by_key(|placing| rank(placing.score, enough))?.left.shell; // the first of the best
    placings.retain(|placing| placing.left.shell == shell);
    placings.sort_by_key(|placing| rank(placing.score, enough)); // stable: ties keep the order of the loops
    let mut placings = placings.iter().filter_map(|placing| placing.spelled(chord, triad));
    let best = placings.next()?;
    let Judgement { verdict, findings, .. } = judge.judge(&best.voicing);
    Some(CatalogueEntry {
        label: triad.label_over(chord),
        triad,
        degrees,
        sounding: chord.sounding(best.voicing.pitch_set()),
        verdict,
        findings,
        others: placings.collect(),
        best,
    })
}

/// Hands of this size for a catalogue of which nothing else is known.
impl From<HandSize> for CatalogueOptions {
    fn from(hand_size: HandSize) -> Self {
        Self { shell: None, situation: Situation { hand_size, ..Situation::default() } }
    }
}
