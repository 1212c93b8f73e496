//! The best voicings for a whole progression.

use super::arrangement::{ArrangedChord, Arrangement, Structure};
use super::candidates::{Shape, lefts, rights};
use super::progression::{Progression, Slot};
use super::step::{Layer, best_path_joint};
use crate::chord::{Chord, Degree, Function, Seventh};
use crate::error::{Error, Kind, Result};
use crate::pitch::Pitch;
use crate::rules::{Effect, Finding, Judge, Judgement, MovingNote, RuleSet, Situation};
use crate::voicing::{HandSize, Triad, Voicing};

/// What an arrangement may do. The default: medium hands, and the octave that comes out better.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ArrangeOptions {
    /// What the hands reach.
    pub hand: HandSize,
    /// In which octave the melody is played.
    pub octave: Octave,
    /// Whether somebody else plays the bass, so that the hands need not have the root.
    pub bass_player: bool,
}

/// In which octave a melody is played. Melodies written low leave no room for a triad below them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Octave {
    /// As written or an octave higher, whichever arrangement costs less; as written where they cost the same.
    #[default]
    Auto,
    /// As written.
    AsWritten,
    /// An octave higher.
    Up,
}

impl std::str::FromStr for Octave {
    type Err = Error;

    /// Reads `auto`, `0` (as written) or `1` (an octave higher).
    fn from_str(text: &str) -> Result<Self> {
        match text {
            "auto" => Ok(Self::Auto),
            "0" => Ok(Self::AsWritten),
            "1" => Ok(Self::Up),
            _ => Err(Error::new(Kind::Range, format!("`{}` is not an octave", crate::pitch::shown(text)))
                .with_help("say `auto`, `0` (as written) or `1` (an octave higher)")),
        }
    }
}

/// No way from chord to chord counts more than this many points, so that sums can bear it.
const DEAREST_WAY: i32 = 10_000_000;
/// A chord that cannot be voiced at all counts as much as this many points when octaves are compared.
const NO_VOICING: i32 = 1_000;

/// The arrangement of a progression that costs least under the rules: for every chord what each hand plays, the
/// melody on top. Exact: no other choice among the candidates costs less.
///
/// A chord that no candidate serves without a clash (a melody note that fights it) gets the voicing whose other notes
/// do not clash, without credit for colour, with the findings that say so; a chord with no room at all stays without a voicing.
///
/// # Complexity
///
/// Linear in the number of chords; for each, `L·R` judgements and a step of `L'·R'·R + L'·L·R` additions with L, R the
/// shapes of left and right hand (about 30 and 100).
///
/// # Example
///
/// ```
/// use overshell::rules::RuleSet;
/// use overshell::search::{ArrangeOptions, Progression, arrange};
///
/// let progression = Progression::from_symbols("C", [("Dm7", "F5"), ("Db7", "Eb5"), ("Cmaj7", "E5")])?;
/// let arrangement = arrange(&progression, RuleSet::standard(), ArrangeOptions::default());
/// let db7 = &arrangement.chords[1];
/// assert_eq!(db7.function.unwrap().to_string(), "subV7");
/// assert_eq!(db7.structure.unwrap().label.to_string(), "II"); // Eb major over Db7
/// assert_eq!(db7.voicing.unwrap().top().unwrap().to_string(), "Eb5");
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn arrange(progression: &Progression, rules: &RuleSet, options: ArrangeOptions) -> Arrangement {
    let shifts: &[i8] = match options.octave {
        Octave::Auto => &[0, 12],
        Octave::AsWritten => &[0],
        Octave::Up => &[12],
    };
    let tried = shifts.iter().map(|shift| arrange_shifted(progression, rules, options, *shift));
    // The first of the cheapest, so that the melody stays where it is among equals.
    let best = tried.min_by_key(|arrangement| {
        let unvoiced = arrangement.chords.iter().filter(|c| c.chord.is_some() && c.voicing.is_none()).count();
        i64::from(arrangement.cost) + i64::from(NO_VOICING) * unvoiced as i64
    });
    best.unwrap_or(Arrangement { chords: Vec::new(), octave_shift: 0, cost: 0 })
}

/// Arranges many progressions, in the order given: each as [`arrange`] does. With the feature `parallel`, on all cores;
/// the answers are the same without.
///
/// # Example
///
/// ```
/// use overshell::rules::RuleSet;
/// use overshell::search::{Progression, arrange, arrange_many};
///
/// let one = Progression::from_symbols("C", [("G7", "D5"), ("Cmaj7", "E5")])?;
/// let many = arrange_many(&[one.clone(), one.clone()], RuleSet::standard(), Default::default());
/// assert_eq!(many[1], arrange(&one, RuleSet::standard(), Default::default()));
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn arrange_many(
    progressions: &[Progression],
    rules: &RuleSet,
    options: ArrangeOptions,
) -> Vec<Arrangement> {
    let one = |progression| arrange(progression, rules, options);
    #[cfg(feature = "parallel")]
    {
        use rayon::prelude::*;
        progressions.par_iter().map(one).collect()
    }
    #[cfg(not(feature = "parallel"))]
    progressions.iter().map(one).collect()
}

/// One chord with its candidates.
struct Place<'r> {
    chord: Chord,
    judge: Judge<'r>,
    lefts: Vec<Shape>,
    rights: Vec<Shape>,
    base: Vec<Option<i32>>,
}

fn arrange_shifted(
    progression: &Progression,
    rules: &RuleSet,
    options: ArrangeOptions,
    shift: i8,
) -> Arrangement {
    let functions = progression.functions();
    let up = |pitch: Pitch| pitch.shift_octaves(shift / 12);
    let slots: Vec<(Option<Pitch>, Option<Function>, Option<Place<'_>>)> = progression
        .slots
        .iter()
        .zip(functions)
        .map(|(slot, function)| {
            let melody = slot.melody.and_then(up);
            let place = place(slot, melody, function, rules, options, shift);
            (melody, function, place)
        })
        .collect();
    let places: Vec<&Place<'_>> = slots.iter().filter_map(|(_, _, place)| place.as_ref()).collect();
    let before = std::iter::once(None).chain(places.iter().map(|place| Some(*place)));
    let layers: Vec<Layer> = places.iter().zip(before).map(|(place, before)| layer(place, before)).collect();
    // Every place has a pair that can be played, so there is a path unless there are no places.
    let (cost, path) =
        best_path_joint(&layers, |at, from, to| joint(&places, at, from, to)).unwrap_or_default();
    let mut path = path.into_iter();
    let chords = slots
        .iter()
        .zip(&progression.slots)
        .map(|((melody, function, place), slot)| {
            let chosen = place.as_ref().zip(path.next_if_some(place.is_some()));
            arranged(slot, *melody, *function, chosen)
        })
        .collect();
    Arrangement { chords, octave_shift: shift, cost }
}

/// Takes the next item only where one is due.
trait NextIf: Iterator {
    fn next_if_some(&mut self, due: bool) -> Option<Self::Item>;
}

impl<I: Iterator> NextIf for I {
    fn next_if_some(&mut self, due: bool) -> Option<I::Item> {
        if due { self.next() } else { None }
    }
}

fn place<'r>(
    slot: &Slot,
    melody: Option<Pitch>,
    function: Option<Function>,
    rules: &'r RuleSet,
    options: ArrangeOptions,
    shift: i8,
) -> Option<Place<'r>> {
    let chord = slot.chord?;
    let chord = melody.map_or_else(|| chord.as_played(), |note| chord.as_played_under(note.pitch_class()));
    let moving = slot.moving.iter().filter_map(|(pitch, sixteenths)| {
        let key = pitch.shift_octaves(shift / 12)?.midi();
        Some(MovingNote { key, sixteenths: *sixteenths })
    });
    let ArrangeOptions { hand: hand_size, bass_player, .. } = options;
    let situation = Situation { function, melody, moving: moving.collect(), hand_size, bass_player };
    let judge = rules.judge_for(chord, &situation);
    let lefts = lefts(chord, &judge, melody.map_or(Pitch::HIGHEST_MIDI, Pitch::midi));
    let following = situation.moving.first().map(|note| note.key);
    let rights = rights(chord, melody, following, &judge);
    let mut place = Place { chord, judge, lefts, rights, base: Vec::new() };
    // A major seventh over a dominant is no reason to give the chord's own seventh up: the melody is left to clash.
    let foreign = melody.is_some_and(|note| chord.degree_of(note.pitch_class()) == Degree::MajorSeven)
        && chord.quality().seventh == Seventh::Flat;
    let levels = [Strictness::NoClash, Strictness::NoClashUnderMelody, Strictness::Anything];
    for strictness in levels.into_iter().skip(usize::from(foreign)) {
        place.base = base(&place, rules, strictness);
        if place.base.iter().any(Option::is_some) {
            place.drop_unused();
            return Some(place);
        }
    }
    None
}

/// What a pair must not do to be a candidate.
#[derive(Clone, Copy, PartialEq)]
enum Strictness {
    NoClash,
    /// The melody may clash, the notes under it may not.
    NoClashUnderMelody,
    Anything,
}

fn base(place: &Place<'_>, rules: &RuleSet, strictness: Strictness) -> Vec<Option<i32>> {
    let enough = rules.colour_enough();
    let mut base = Vec::with_capacity(place.lefts.len() * place.rights.len());
    for left in &place.lefts {
        for right in &place.rights {
            let apart = match (left.keys.last(), right.keys.first()) {
                (Some(l), Some(r)) => l < r,
                _ => true,
            };
            base.push(if apart {
                let score = place.judge.score_keys(&left.keys, &right.keys);
                let admitted = match strictness {
                    Strictness::NoClash => !score.clash,
                    Strictness::NoClashUnderMelody => {
                        !place.judge.score_keys(&left.keys, right.inner()).clash
                    }
                    Strictness::Anything => true,
                };
                // Colour is no gain where the melody fights the chord already.
                let colour = if score.clash { 0 } else { score.colour.min(enough) };
                admitted.then(|| score.cost.saturating_sub(colour))
            } else {
                None
            });
        }
    }
    base
}

impl Place<'_> {
    /// The one top note of all right hands, where there is a left hand below each.
    fn only_top(&self) -> Option<u8> {
        let mut tops = self.rights.iter().map(|right| right.keys.last().copied());
        let first = tops.next()??;
        let under = self.lefts.iter().all(|left| !left.keys.is_empty());
        (under && tops.all(|top| top == Some(first))).then_some(first)
    }

    /// Drops the shapes that no pair uses: they cannot be part of any path.
    fn drop_unused(&mut self) {
        let rights = self.rights.len();
        let used = |l: usize, r: usize| self.base.get(l * rights + r).is_some_and(Option::is_some);
        let keep_left: Vec<bool> = (0..self.lefts.len()).map(|l| (0..rights).any(|r| used(l, r))).collect();
        let keep_right: Vec<bool> = (0..rights).map(|r| (0..self.lefts.len()).any(|l| used(l, r))).collect();
        let kept = |keep: &[bool], at: usize| keep.get(at).copied().unwrap_or(false);
        let mut at = 0;
        self.base.retain(|_| {
            at += 1;
            kept(&keep_left, (at - 1) / rights) && kept(&keep_right, (at - 1) % rights)
        });
        let mut l = keep_left.iter();
        self.lefts.retain(|_| l.next().copied().unwrap_or(false));
        let mut r = keep_right.iter();
        self.rights.retain(|_| r.next().copied().unwrap_or(false));
    }
}

fn layer(place: &Place<'_>, before: Option<&Place<'_>>) -> Layer {
    let mut layer = Layer {
        lefts: place.lefts.len(),
        rights: place.rights.len(),
        base: place.base.clone(),
        ..Layer::default()
    };
    let Some(before) = before else { return layer };
    let judge = &place.judge;
    let way = |left: bool, from: &[Shape], to: &[Shape]| {
        from.iter()
            .flat_map(|a| {
                to.iter().map(move |b| judge.motion_cost(left, a.inner(), b.inner()).min(DEAREST_WAY))
            })
            .collect()
    };
    layer.left_motion = way(true, &before.lefts, &place.lefts);
    layer.right_motion = way(false, &before.rights, &place.rights);
    if judge.has_joint_motion() {
        match (judge.has_coded_motion(), before.only_top(), place.only_top()) {
            // Where the tune gives both tops, the outer voices are a matter of the left hands.
            (false, Some(top_before), Some(top)) => {
                let pairs = itertools::iproduct!(&before.lefts, &place.lefts);
                for ((from, to), cost) in pairs.zip(&mut layer.left_motion) {
                    let (from, to) = ([&from.keys[..], &[top_before]], [&to.keys[..], &[top]]);
                    *cost = cost
                        .saturating_add(judge.joint_motion_cost(&before.judge, from, to))
                        .min(DEAREST_WAY);
                }
            }
            _ => layer.joint = true,
        }
    }
    layer
}

/// What both hands together cost on the way to place `at` from the one before.
fn joint(places: &[&Place<'_>], at: usize, from: (usize, usize), to: (usize, usize)) -> i32 {
    let hands = |place: &Place<'_>, (l, r): (usize, usize)| {
        Some((place.lefts.get(l)?.keys.clone(), place.rights.get(r)?.keys.clone()))
    };
    let before = at.checked_sub(1).and_then(|before| places.get(before));
    let Some((before, place)) = before.zip(places.get(at)) else { return 0 };
    let Some(((left, right), (next_left, next_right))) = hands(before, from).zip(hands(place, to)) else {
        return 0;
    };
    place.judge.joint_motion_cost(&before.judge, [&left, &right], [&next_left, &next_right])
}

fn arranged(
    slot: &Slot,
    melody: Option<Pitch>,
    function: Option<Function>,
    chosen: Option<(&Place<'_>, (usize, usize))>,
) -> ArrangedChord {
    let mut out = ArrangedChord {
        chord: slot.chord,
        function,
        melody,
        voicing: None,
        structure: None,
        tensions: Vec::new(),
        sounding: None,
        cost: 0,
        colour: 0,
        findings: Vec::new(),
    };
    let voicing = chosen.and_then(|(place, (l, r))| {
        let voicing = Voicing::new(place.lefts.get(l)?.hand, place.rights.get(r)?.hand).ok()?;
        Some((place, voicing))
    });
    let Some((place, voicing)) = voicing else {
        if slot.chord.is_some() {
            out.findings.push(no_room());
        }
        return out;
    };
    let chord = place.chord;
    let Judgement { cost, colour, findings, .. } = place.judge.judge(&voicing);
    let degrees = voicing.pitch_set().iter().map(|class| chord.degree_of(class));
    out.tensions = degrees.filter(|d| d.is_tension()).collect();
    out.tensions.sort_by_key(|d| (d.number(), d.alteration()));
    out.structure = structure(chord, &voicing);
    out.sounding = chord.sounding(voicing.pitch_set()).map(|sounding| match chord.bass() {
        Some(bass) => sounding.with_bass(bass),
        None => sounding,
    });
    out.voicing = Some(voicing);
    (out.cost, out.colour) = (cost, colour);
    if slot.chord.is_some_and(|written| written.quality() != chord.quality()) {
        out.findings.push(suspended());
    }
    // What earns colour is no finding that a reader must act on.
    out.findings.extend(findings.into_iter().filter(|f| !matches!(f.effect, Effect::Colour(_))));
    out
}

/// The upper structure that the right hand plays: a triad that holds a tension of the chord.
fn structure(chord: Chord, voicing: &Voicing) -> Option<Structure> {
    let right = voicing.right();
    let set = right.pitches().iter().map(|p| p.pitch_class()).collect();
    let triad = Triad::all_over(chord).find(|triad| right.len() == 3 && triad.pitch_set() == set)?;
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

pub(super) fn no_room() -> Finding {
    Finding {
        rule: "no-room".into(),
        message: "no two hands find room under this melody note".into(),
        help: "play the tune an octave higher, or allow larger hands".into(),
        degrees: Vec::new(),
        effect: Effect::Cost(NO_VOICING),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::search::step::best_path_dense;

    fn tune() -> Progression {
        let chords = [
            ("Fmaj7", "A4"),
            ("D7", "C5"),
            ("Gm7", "Bb4"),
            ("Gb7", "Ab4"),
            ("F6", "A4"),
            ("Em7b5", "Bb4"),
            ("A7(b9)", "G4"),
            ("Dm/C", "F4"),
            ("G7", "B4"),
            ("C7", "F4"),
            ("C11", "G4"),
            ("F", "F4"),
        ];
        Progression::from_symbols("F", chords).unwrap()
    }

    /// A rule in code: many notes come or go.
    struct Steady;

    impl crate::rules::MotionRule for Steady {
        fn id(&self) -> &str {
            "steady"
        }
        fn message(&self) -> &str {
            "notes come or go"
        }
        fn help(&self) -> &str {
            "keep as many"
        }
        fn source(&self) -> &str {
            "invented for this test"
        }
        fn cost(&self, from: &crate::rules::Context<'_>, to: &crate::rules::Context<'_>) -> u16 {
            from.keys().len().abs_diff(to.keys().len()) as u16 * 7
        }
    }

    /// Hands apart; outer voices together; code.
    fn sets() -> [RuleSet; 3] {
        let outer = "format = 1\nname = \"outer\"\n[[rule]]\nid = \"outer\"\nkind = \"motion\"\nparallel = [0, 7]\n\
                     per-parallel = 9\nsimilar = 3\nmessage = \"m\"\nhelp = \"h\"\nsource = \"invented for this test\"\n";
        let standard = RuleSet::standard().clone();
        [
            standard.over_toml("outer.toml", outer).unwrap(),
            standard.clone().with_motion_rule(Steady),
            standard,
        ]
    }

    /// A tune in which the melody rests twice, so that tops are free there.
    fn tune_with_rests() -> Progression {
        let mut tune = tune();
        tune.slots[3].melody = None;
        tune.slots[4].melody = None;
        tune
    }

    /// The layers that the search is given, with candidates thinned, go through the dense twin too, which asks of every
    /// pair of voicings what both hands cost together.
    #[test]
    fn ok_an_arrangement_is_the_optimum_of_its_candidates() {
        for (rules, progression) in itertools::iproduct!(&sets(), [tune(), tune_with_rests()]) {
            let functions = progression.functions();
            let mut places: Vec<Place<'_>> = Vec::new();
            for (slot, function) in progression.slots.iter().zip(functions) {
                let mut place =
                    place(slot, slot.melody, function, rules, ArrangeOptions::default(), 0).unwrap();
                place.lefts.truncate(6);
                place.rights.truncate(12);
                place.base = base(&place, rules, Strictness::Anything);
                places.push(place);
            }
            let places: Vec<&Place<'_>> = places.iter().collect();
            let before = std::iter::once(None).chain(places.iter().map(|place| Some(*place)));
            let layers: Vec<Layer> =
                places.iter().zip(before).map(|(place, before)| layer(place, before)).collect();
            let best = best_path_joint(&layers, |at, from, to| joint(&places, at, from, to));
            assert!(best.is_some());
            // The twin is told nothing of what was folded into the left hand's way.
            let before = std::iter::once(None).chain(places.iter().map(|place| Some(*place)));
            let plain = |(place, before): (&&Place<'_>, Option<&Place<'_>>)| {
                let mut layer = layer(place, before);
                if let Some(before) = before {
                    let ways = itertools::iproduct!(&before.lefts, &place.lefts);
                    let ways = ways.map(|(a, b)| place.judge.motion_cost(true, a.inner(), b.inner()));
                    layer.left_motion = ways.collect();
                }
                Layer { joint: true, ..layer }
            };
            let plain: Vec<Layer> = places.iter().zip(before).map(plain).collect();
            assert_eq!(best, best_path_dense(&plain, |at, from, to| joint(&places, at, from, to)));
        }
    }

    /// What an arrangement says it costs is what its voicings and motions cost when they are judged again.
    #[test]
    fn ok_the_cost_adds_up() {
        let octaves = [Octave::AsWritten, Octave::Up];
        for (rules, progression, octave) in
            itertools::iproduct!(&sets(), [tune(), tune_with_rests()], octaves)
        {
            let options = ArrangeOptions { octave, ..ArrangeOptions::default() };
            let arrangement = arrange(&progression, rules, options);
            let mut sum = 0;
            let mut before: Option<(Voicing, Judge<'_>)> = None;
            for (chord, slot) in arrangement.chords.iter().zip(&progression.slots) {
                let voicing = chord.voicing.unwrap();
                let shift = arrangement.octave_shift;
                let place = place(slot, chord.melody, chord.function, rules, options, shift).unwrap();
                sum += chord.cost - chord.colour.min(rules.colour_enough());
                if let Some((before, judge_before)) = &before {
                    let moves = place.judge.motion(judge_before, before, &voicing);
                    sum += moves.iter().map(|finding| finding.effect.cost()).sum::<i32>();
                }
                before = Some((voicing, place.judge));
            }
            assert_eq!(sum, arrangement.cost);
        }
    }

    #[test]
    fn ok_chords_that_do_not_sound_are_passed_over() {
        let mut progression = tune();
        progression.slots[3].chord = None;
        progression.slots[5].melody = None;
        let arrangement = arrange(&progression, RuleSet::standard(), ArrangeOptions::default());
        assert_eq!(arrangement.chords.len(), progression.slots.len());
        assert!(arrangement.chords[3].voicing.is_none() && arrangement.chords[3].findings.is_empty());
        assert!(arrangement.chords[5].voicing.is_some() && arrangement.chords[5].melody.is_none());
        let nothing = Progression { slots: Vec::new(), ..progression };
        assert_eq!(arrange(&nothing, RuleSet::standard(), ArrangeOptions::default()).cost, 0);
    }

    #[test]
    fn ok_no_room_is_said() {
        let low = Progression::from_symbols("C", [("C7", "C1"), ("F", "A4")]).unwrap();
        let options = ArrangeOptions { octave: Octave::AsWritten, ..ArrangeOptions::default() };
        let arrangement = arrange(&low, RuleSet::standard(), options);
        assert!(arrangement.chords[0].voicing.is_none());
        assert_eq!(arrangement.chords[0].findings[0].rule, "no-room");
        assert!(arrangement.chords[1].voicing.is_some());
    }

    #[test]
    fn ok_a_dominant_under_its_fourth_is_suspended() {
        let progression = Progression::from_symbols("C", [("G7", "C5"), ("C", "C5")]).unwrap();
        let arrangement = arrange(&progression, RuleSet::standard(), ArrangeOptions::default());
        let g7 = &arrangement.chords[0];
        assert!(g7.sounding.unwrap().to_string().contains("sus4"), "{g7:?}");
        assert!(g7.findings.iter().any(|finding| finding.rule == "played-as-suspension"));
        assert!(!g7.voicing.unwrap().pitch_set().contains(crate::pitch::note("B").pitch_class()));
    }

    proptest::proptest! {
        #![proptest_config(proptest::prelude::ProptestConfig::with_cases(40))]

        /// Any chords under any melody: hands in reach, the melody on top, the same answer twice.
        #[test]
        fn prop_arrangements_can_be_played(
            picks in proptest::collection::vec((0usize..35, 0usize..27, 40u8..90), 1..5),
        ) {
            use crate::chord::{Quality, Spelling};
            use crate::pitch::{NoteName, PitchClass};
            let slots = picks.iter().map(|(root, quality, key)| {
                let chord = Chord::new(NoteName::all().nth(*root).unwrap(), Quality::NAMED[*quality].1);
                let name = Spelling::default().name(chord, PitchClass::wrapping(i32::from(*key)));
                Slot { chord: Some(chord), melody: Pitch::from_midi(*key, name), moving: Vec::new() }
            });
            let progression = Progression { key: crate::chord::Key::C_MAJOR, slots: slots.collect() };
            let rules = RuleSet::standard();
            for hand in HandSize::NAMES.map(|(_, size)| size) {
                let options = ArrangeOptions { hand, octave: Octave::AsWritten, ..ArrangeOptions::default() };
                let arrangement = arrange(&progression, rules, options);
                assert_eq!(arrangement, arrange(&progression, rules, options));
                for chord in &arrangement.chords {
                    let Some(voicing) = chord.voicing else { continue };
                    assert_eq!(voicing.top(), chord.melody);
                    let situation = Situation { hand_size: hand, ..Situation::default() };
                    let judge = rules.judge_for(chord.chord.unwrap(), &situation);
                    for hand in [voicing.left(), voicing.right()] {
                        assert!(judge.within_reach(&crate::rules::keys(hand.pitches())));
                    }
                }
            }
        }
    }
}
