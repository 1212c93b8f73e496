//! One voicing for each written chord, however often it is played.

use std::collections::HashMap;

use super::answer::Teller;
use super::lack::NO_VOICING;
use super::lattice::{Lattice, Materials, Question};
use crate::error::{Error, Kind, Result};
use crate::rules::RuleSet;
use crate::search::arrangement::Arrangement;
use crate::search::candidates::Shape;
use crate::search::options::{ArrangeOptions, SearchLimits};
use crate::search::paths::{BestTied, NotTied, Path, Tie, best_tied};
use crate::search::progression::Progression;
use crate::search::watch::{Told, Watch, unwatched};

/// The arrangement that costs least among those in which chords that are written once have one voicing: `same` holds for each slot the
/// number of the written chord that is played there, and slots with the same number have the same keys in both hands. Exact, as
/// [`arrange`](super::super::arrange) is; a slot whose number no other has is free.
///
/// For a lead sheet with repeats, [`LeadSheet::progression_as_played`](crate::sheet::LeadSheet::progression_as_played) gives both.
/// Where several arrangements cost the same, it is the same one every time and on every machine.
///
/// # Errors
///
/// [`Error::is_range`] where `same` has not one number for each slot, or where the options allow dominants to be played otherwise, which is
/// written for one time only; [`Error::is_no_answer`] where a chord has no voicing that serves every time it is played, which is then
/// named; [`Error::is_limit`] where a limit of the options is exceeded.
///
/// # Complexity
///
/// Usually two or three times what [`arrange`](super::super::arrange) takes for the tune as played; more where parts that are repeated begin
/// or end in ways that hardly go together, up to the limit `branches`, each of which takes up to seven searches in both directions, the first
/// up to 25 and one for each written chord.
///
/// # Example
///
/// ```
/// use overshell::rules::RuleSet;
/// use overshell::search::{ArrangeOptions, Progression, arrange, arrange_tied};
///
/// // Two bars, played twice, and an end.
/// let chords = [("Dm7", "F5"), ("G7", "E5"), ("Dm7", "F5"), ("G7", "E5"), ("Cmaj7", "E5")];
/// let tune = Progression::from_symbols("C", chords)?;
/// let options = ArrangeOptions::default();
/// let tied = arrange_tied(&tune, &[0, 1, 0, 1, 2], RuleSet::standard(), options)?;
/// let keys = |chord: usize| tied.chords[chord].voicing.map(|voicing| voicing.to_string());
/// assert_eq!((keys(0), keys(1)), (keys(2), keys(3)));
/// assert!(tied.cost >= arrange(&tune, RuleSet::standard(), options)?.cost);
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn arrange_tied(
    progression: &Progression,
    same: &[usize],
    rules: &RuleSet,
    options: ArrangeOptions,
) -> Result<Arrangement> {
    arrange_tied_watched(progression, same, rules, options, &mut unwatched())
}

/// The same, telling how far it is: every chord counts twice for each octave. While ties are searched, the same is told
/// again and again.
///
/// # Errors
///
/// Those of [`arrange_tied`], and [`Error::is_stopped`] where `watch` says so.
pub fn arrange_tied_watched(
    progression: &Progression,
    same: &[usize],
    rules: &RuleSet,
    options: ArrangeOptions,
    watch: Watch<'_>,
) -> Result<Arrangement> {
    let chords = progression.slots.len();
    SearchLimits::hold(chords, options.limits.chords, "chords", "chords")?;
    if same.len() != chords {
        let found = same.len();
        let message = format!("{found} numbers of written chords, expected one for each of {chords} chords");
        return Err(Error::new(Kind::Range, message)
            .with_help("give each chord played the number of the chord that is written"));
    }
    if options.instead.ways().next().is_some() {
        let message = "a chord with one voicing for every time it is played is played as it is written";
        return Err(Error::new(Kind::Range, message).with_help(
            "leave dominants as they are written, or arrange the tune as played, each time with a voicing of its own",
        ));
    }
    let question = Question { progression, rules, options: &options, pins: &[] };
    let mut cheapest: Option<(i64, Lattice<'_>, Path)> = None;
    let mut refused: Option<Error> = None;
    let shifts = options.octave.shifts();
    let mut told = Told::new(watch, 2 * shifts.len() * chords);
    let mut materials = Materials::new();
    for (index, shift) in shifts.iter().enumerate() {
        let told = told.part(2 * index * chords);
        let mut tell = |progress: crate::search::Progress| told.tell(progress.done);
        let lattice = match Lattice::new(&question, &mut materials, *shift, &mut tell) {
            Ok(lattice) => lattice,
            Err(error) if error.is_stopped() => return Err(told.stopped()),
            Err(error) => return Err(error),
        };
        let told = told.part((2 * index + 1) * chords);
        let path = match path(&question, &lattice, same, &mut |_| told.tell(0).is_continue()) {
            Ok(path) => path,
            Err(error) if error.is_stopped() => return Err(told.stopped()),
            // Another octave may have a voicing for every time.
            Err(error) if error.is_no_answer() => {
                refused.get_or_insert(error);
                continue;
            }
            Err(error) => return Err(error),
        };
        let worth = path.cost + i64::from(NO_VOICING) * lattice.without.len() as i64;
        if cheapest.as_ref().is_none_or(|(least, ..)| worth < *least) {
            cheapest = Some((worth, lattice, path));
        }
    }
    let Some((_, lattice, path)) = cheapest else {
        return Err(
            refused.unwrap_or_else(|| Error::new(Kind::NoAnswer, "there is no octave to play the tune in"))
        );
    };
    told.end()?;
    Ok(Teller::new(&question, &lattice).tell(&path))
}

/// The cheapest path in one octave.
fn path(
    question: &Question<'_, '_>,
    lattice: &Lattice<'_>,
    same: &[usize],
    go_on: &mut dyn FnMut(usize) -> bool,
) -> Result<Path> {
    if lattice.layers.is_empty() {
        return Ok(Path { cost: 0, nodes: Vec::new() });
    }
    let number = |slot: usize| same.get(slot).copied();
    // A chord without a voicing at one time must be without one every time.
    for slot in lattice.without.iter().copied() {
        if lattice.parts.iter().any(|part| number(part.slot) == number(slot)) {
            return Err(apart(question, slot));
        }
    }
    let joint = |at, which, from, to| lattice.joint(at, which, from, to);
    let most = question.options.limits.branches;
    match best_tied(&lattice.layers, joint, &ties(lattice, same), most, go_on) {
        Ok(BestTied { path, .. }) => Ok(path),
        Err(NotTied::Apart(group)) => {
            let slot = same.iter().position(|number| *number == group);
            Err(apart(question, slot.unwrap_or_default()))
        }
        Err(NotTied::NoPath) => {
            Err(Error::new(Kind::NoAnswer, "no voicings serve every time the chords are played"))
        }
        Err(NotTied::Stopped) => Err(Error::new(Kind::Stopped, "stopped")),
        Err(NotTied::TooLong) => Err(Error::new(
            Kind::Limit,
            format!("one voicing for each written chord takes more than {most} branches of the search (limit `branches`)"),
        )
        .with_help(
            "raise the limit `branches` of the search, or arrange the tune as played, each time with a voicing of its own",
        )),
    }
}

/// The ties of layers whose chord is played several times. Pairs of one class are the same keys.
fn ties(lattice: &Lattice<'_>, same: &[usize]) -> Vec<Option<Tie>> {
    let group = |layer: usize| same.get(lattice.parts.get(layer)?.slot).copied();
    let mut times: HashMap<usize, usize> = HashMap::new();
    for group in (0..lattice.layers.len()).filter_map(group) {
        *times.entry(group).or_default() += 1;
    }
    // The hands of each group, by number.
    let mut hands: [HashMap<(usize, &[u8]), u32>; 2] = Default::default();
    let mut counts: HashMap<usize, [u32; 2]> = HashMap::new();
    let mut numbers: Vec<Option<[Vec<u32>; 2]>> = Vec::new();
    for layer in 0..lattice.layers.len() {
        let tied = group(layer).filter(|group| times.get(group).is_some_and(|times| *times > 1));
        let (Some(group), Some(place)) = (tied, lattice.place_of(layer)) else {
            numbers.push(None);
            continue;
        };
        let counts = counts.entry(group).or_default();
        let [left_hands, right_hands] = &mut hands;
        let [left_count, right_count] = counts;
        let lefts = numbered(&place.lefts, group, left_hands, left_count);
        let rights = numbered(&place.rights, group, right_hands, right_count);
        numbers.push(Some([lefts, rights]));
    }
    let tie = |(layer, numbers): (usize, Option<[Vec<u32>; 2]>)| {
        let (group, [lefts, rights]) = group(layer).zip(numbers)?;
        let [_, width] = counts.get(&group)?;
        let pairs = itertools::iproduct!(&lefts, &rights).map(|(left, right)| left * width + right);
        Some(Tie { group, classes: pairs.collect() })
    };
    numbers.into_iter().enumerate().map(tie).collect()
}

fn numbered<'k>(
    shapes: &'k [Shape],
    group: usize,
    known: &mut HashMap<(usize, &'k [u8]), u32>,
    count: &mut u32,
) -> Vec<u32> {
    let number = |shape: &'k Shape| {
        *known.entry((group, &shape.keys)).or_insert_with(|| {
            *count += 1;
            *count - 1
        })
    };
    shapes.iter().map(number).collect()
}

/// No voicing serves a chord every time.
fn apart(question: &Question<'_, '_>, slot: usize) -> Error {
    let chord = question.progression.slots.get(slot).and_then(|slot| slot.chord);
    let name = chord.map_or_else(String::new, |chord| format!(" (`{chord}`)"));
    let message = format!("chord {}{name} has no voicing that serves every time it is played", slot + 1);
    Error::new(Kind::NoAnswer, message)
        .with_help("arrange the tune as played, each time with a voicing of its own, or allow larger hands")
}
