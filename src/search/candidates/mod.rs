//! What each hand could play for one chord under one melody note.

mod forms;
mod tones;

use itertools::Itertools;
use smallvec::SmallVec;

use self::tones::AVOIDED;
pub(super) use self::tones::{STEPS, Tones};
use crate::chord::{Chord, Degree, DegreeSet, Family, Spelling, Third};
use crate::pitch::{Pitch, PitchClass};
use crate::rules::{Judge, keys};
use crate::voicing::{Hand, Shell, Spacing, Triad};

/// A shape of one hand with its keys at hand.
#[derive(Clone, Debug)]
pub(super) struct Shape {
    pub(super) hand: Hand,
    /// All keys, ascending.
    pub(super) keys: SmallVec<[u8; 5]>,
    /// How many of them motion looks at: all, but not the melody note on top.
    moving: usize,
}

impl Shape {
    pub(super) fn new(hand: Hand, melody: bool) -> Self {
        let keys = keys(hand.pitches());
        let moving = keys.len() - usize::from(melody && !keys.is_empty());
        Self { hand, keys, moving }
    }

    /// The keys without the melody note.
    pub(super) fn inner(&self) -> &[u8] {
        self.keys.get(..self.moving).unwrap_or_default()
    }
}

/// The left hand's bottom notes lie between C2 and C4.
const LEFT_BOTTOM: std::ops::RangeInclusive<u8> = 36..=60;
/// Where the melody rests, the right hand's top note lies between F4 and E5, or in the octave up to the melody note
/// that follows, so that the melody does not fall into the chord.
const FREE_TOP: (u8, u8) = (65, 76);
/// Voices under the melody in a right hand that is no triad.
const MOST_UNDER_MELODY: usize = 3;

/// Every shell, in every octave, and every form without a root ([`forms`]) that the judge's hands reach and that lies below the
/// key `under`; over a written bass the bass with chord tones, and shells too where no rule asks for that bass, since somebody else plays it.
pub(super) fn lefts(chord: Chord, judge: &Judge<'_>, under: u8) -> Vec<Shape> {
    let mut hands: Vec<Hand> = Vec::new();
    if chord.bass().is_none() || !judge.asks_for_bass() {
        let octaves =
            |shell: Shell| LEFT_BOTTOM.step_by(12).filter_map(move |lowest| shell.hand_from(chord, lowest));
        hands.extend(Shell::ALL.into_iter().flat_map(octaves));
        hands.extend(forms::hands(chord, &Tones::new(chord)));
    }
    if let Some(bass) = chord.bass() {
        hands.extend(over_bass(chord, bass.pitch_class()));
    }
    hands.retain(|hand| {
        judge.within_reach(&keys(hand.pitches())) && hand.highest().is_some_and(|top| top.midi() < under)
    });
    // What is the same on the keys is one candidate, the first spelling of it.
    hands.sort_by_cached_key(|hand| (keys(hand.pitches()), *hand));
    hands.dedup_by_key(|hand| keys(hand.pitches()));
    hands.into_iter().map(|hand| Shape::new(hand, false)).collect()
}

/// The written bass with up to two of third, seventh, fifth and root above it.
fn over_bass(chord: Chord, bass: PitchClass) -> Vec<Hand> {
    let quality = chord.quality();
    let upper =
        [quality.third_degree(), quality.seventh_degree(), quality.fifth_degree(), Some(Degree::Root)];
    let classes: Vec<PitchClass> = upper
        .into_iter()
        .flatten()
        .map(|degree| degree.class_over(chord.root().pitch_class()))
        .filter(|class| *class != bass)
        .collect();
    let choices = (0..=2).flat_map(|count| classes.iter().copied().permutations(count));
    choices
        .flat_map(|above| {
            LEFT_BOTTOM.step_by(12).filter_map(move |lowest| {
                let mut floor = lowest;
                let stack: Option<Vec<Pitch>> = std::iter::once(bass)
                    .chain(above.iter().copied())
                    .map(|class| {
                        let key = floor + (class.get() + 12 - floor % 12) % 12;
                        floor = key + 1;
                        let name = match chord.bass() {
                            Some(name) if name.pitch_class() == class => name,
                            _ => Spelling::default().name(chord, class),
                        };
                        Pitch::from_midi(key, name)
                    })
                    .collect();
                Hand::new(stack?).ok()
            })
        })
        .collect()
}

/// Every right hand under the melody note: triads with the note on top, the same with one note under it softened, fourths below
/// the note, and the note over up to three tones of the chord. Where the melody rests, the same under free notes, `following` being the melody note that comes next.
pub(super) fn rights(
    chord: Chord,
    melody: Option<Pitch>,
    following: Option<u8>,
    judge: &Judge<'_>,
) -> Vec<Shape> {
    let tones = Tones::new(chord);
    let pool = pool(chord, &tones);
    let (lowest, highest) = match following {
        Some(next) if next < FREE_TOP.1 => (next.saturating_sub(11).min(FREE_TOP.0), next),
        _ => FREE_TOP,
    };
    let tops: Vec<Pitch> = match melody {
        Some(note) => vec![note],
        None => (lowest..=highest)
            .filter_map(|key| tones.pitch(key))
            .filter(|top| pool.contains(tones.degree(top.pitch_class())))
            .collect(),
    };
    let mut hands: Vec<Hand> = Vec::new();
    for top in tops {
        let first = hands.len();
        triads_under(chord, top, &mut hands);
        for at in first..hands.len() {
            if let Some(triad) = hands.get(at).copied() {
                hands.extend(softened_from(&tones, &triad));
            }
        }
        hands.extend(fourths_under(&tones, top));
        stacks_under(chord, top, pool, &tones, &mut hands);
    }
    hands.retain(|hand| judge.within_reach(&keys(hand.pitches())));
    // A triad is spelled as one; where the same keys come up twice, the first spelling stays.
    let mut seen = std::collections::HashSet::new();
    hands.retain(|hand| seen.insert(keys(hand.pitches())));
    hands.into_iter().map(|hand| Shape::new(hand, melody.is_some())).collect()
}

/// Every triad with this note on top, close and open; the note keeps its own spelling.
fn triads_under(chord: Chord, top: Pitch, hands: &mut Vec<Hand>) {
    for triad in Triad::all_with(chord, top.pitch_class()) {
        for spacing in Spacing::ALL {
            let keys = triad.keys_below(top.midi(), spacing);
            if let Some(hand) = keys.and_then(|keys| triad.hand_over(chord, keys)) {
                hands.push(with_top(hand, top));
            }
        }
    }
}

/// A triad with one of its notes under the top moved by a step to something milder.
fn softened_from<'t>(tones: &'t Tones, triad: &Hand) -> impl Iterator<Item = Hand> + use<'t> {
    let pitches: SmallVec<[Pitch; 5]> = triad.pitches().into();
    itertools::iproduct!(0..pitches.len().saturating_sub(1), STEPS).filter_map(move |(at, step)| {
        let mut moved = pitches.clone();
        let place = moved.get_mut(at)?;
        *place = tones.stepped(*place, step)?;
        let rises = moved.iter().tuple_windows().all(|(low, high)| low.midi() < high.midi());
        rises.then(|| Hand::from_sorted(&moved))
    })
}

/// The note over one and over two fourths below it, one of which may be augmented, of notes that the chord does not avoid (fourth
/// voicings; Mantooth, *The Instrumentalist*, June 1984).
fn fourths_under(tones: &Tones, top: Pitch) -> SmallVec<[Hand; 5]> {
    let below = |from: u8, by: u8| {
        let key = from.checked_sub(by)?;
        let class = PitchClass::wrapping(i32::from(key));
        (tones.sharpness(class) < AVOIDED).then(|| tones.pitch(key)).flatten()
    };
    let mut hands = SmallVec::new();
    for by in [5, 6] {
        let Some(second) = below(top.midi(), by) else { continue };
        hands.push(Hand::from_sorted(&[second, top]));
        // Two augmented fourths make an octave.
        for third in
            [5, 6].into_iter().filter(|third| by + third < 12).filter_map(|third| below(second.midi(), third))
        {
            hands.push(Hand::from_sorted(&[third, second, top]));
        }
    }
    hands
}

fn with_top(hand: Hand, top: Pitch) -> Hand {
    let mut pitches: SmallVec<[Pitch; 5]> = hand.pitches().iter().copied().collect();
    if let Some(last) = pitches.last_mut() {
        *last = top;
    }
    Hand::from_sorted(&pitches)
}

/// The note over up to three others of the pool within the octave below it, close, and with the second voice dropped
/// an octave.
fn stacks_under(chord: Chord, top: Pitch, pool: DegreeSet, tones: &Tones, hands: &mut Vec<Hand>) {
    let root = chord.root().pitch_class();
    let below: Vec<Pitch> = pool
        .iter()
        .map(|degree| degree.class_over(root))
        .filter(|class| *class != top.pitch_class())
        .filter_map(|class| {
            let down = (top.pitch_class().get() + 12 - class.get()) % 12;
            tones.pitch(top.midi().checked_sub(down)?)
        })
        .sorted()
        .dedup_by(|a, b| a.midi() == b.midi())
        .collect();
    for count in 0..=MOST_UNDER_MELODY {
        for chosen in below.iter().copied().combinations(count) {
            let close: SmallVec<[Pitch; 5]> = chosen.iter().copied().chain([top]).collect();
            hands.push(Hand::from_sorted(&close));
            if let Some((second, rest)) = chosen.split_last().filter(|_| count > 1)
                && let Some(dropped) = second.shift_octaves(-1)
            {
                let open: SmallVec<[Pitch; 5]> =
                    std::iter::once(dropped).chain(rest.iter().copied()).chain([top]).collect();
                hands.push(Hand::from_sorted(&open));
            }
        }
    }
}

/// The degrees that a right hand without a triad draws from: the chord's own, and the natural tensions where the
/// chord is no dominant, whose tensions come as triads.
fn pool(chord: Chord, tones: &Tones) -> DegreeSet {
    let natural: &[Degree] = match (chord.family(), chord.quality().third) {
        (Family::Dominant, _) => &[],
        (_, Third::Major) => &[Degree::Nine, Degree::Thirteen],
        _ => &[Degree::Nine, Degree::Eleven, Degree::Thirteen],
    };
    chord.tones().union(
        natural
            .iter()
            .copied()
            .filter(|d| {
                // Over a chord that has the key as a tone of its own, the key is that tone.
                tones.degree(d.class_over(chord.root().pitch_class())) == *d
            })
            .collect(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;
    use crate::pitch::pitch;
    use crate::rules::{RuleSet, Situation};
    use crate::voicing::{HandSize, HandSpan};

    #[test]
    fn all_candidates_are_in_reach_and_hold_the_melody() {
        for symbol in
            ["C7", "Dm7", "Ebmaj7", "F#m7b5", "Bdim7", "A7sus4", "G", "C7/E", "Am7/G", "D5", "Gb7alt"]
        {
            let chord = chord(symbol);
            let judge = RuleSet::standard().judge_for(chord, &Situation::default());
            let within = |hand: &Hand| judge.within_reach(&keys(hand.pitches()));
            for key in 55..84 {
                let name = Spelling::default().name(chord, PitchClass::wrapping(key));
                let melody = Pitch::from_midi(key as u8, name).unwrap();
                let rights = rights(chord, Some(melody), None, &judge);
                assert!(!rights.is_empty());
                for shape in &rights {
                    assert_eq!(shape.hand.highest(), Some(melody));
                    assert!(within(&shape.hand));
                    assert_eq!(shape.inner().len() + 1, shape.keys.len());
                    assert!(shape.keys.windows(2).all(|w| w[0] < w[1]), "{symbol} {:?}", shape.hand);
                }
                for shape in lefts(chord, &judge, melody.midi()) {
                    assert!(within(&shape.hand));
                    assert!(shape.hand.highest().unwrap().midi() < melody.midi());
                    let bottom = shape.hand.lowest().unwrap().pitch_class();
                    assert!(chord.bass().is_none_or(|bass| bass.pitch_class() == bottom));
                }
            }
        }
    }

    /// Where nobody asks for the written bass, shells are offered beside it.
    #[test]
    fn ok_a_bass_player_frees_the_left_hand() {
        let chord = chord("C7/G");
        for (bass_player, symbol) in [(false, false), (true, true)] {
            let situation = Situation { bass_player, ..Situation::default() };
            let judge = RuleSet::standard().judge_for(chord, &situation);
            let lefts = lefts(chord, &judge, 72);
            let guide_tones: Hand = "E3 Bb3".parse().unwrap();
            assert_eq!(lefts.iter().any(|shape| shape.hand == guide_tones), symbol);
            assert!(lefts.iter().any(|shape| shape.hand == "G3 E4".parse().unwrap()));
        }
    }

    #[test]
    fn ok_every_triad_with_the_note_is_a_candidate() {
        let wide = HandSize::Custom(HandSpan::new(2_600, 1_645).unwrap());
        let large = Situation { hand_size: wide, ..Situation::default() };
        let judge = RuleSet::standard().judge_for(chord("C7"), &large);
        let rights = rights(chord("C7"), Some(pitch("D5")), None, &judge);
        for text in ["F#4 A4 D5", "A3 F#4 D5", "G4 Bb4 D5"] {
            let hand: Hand = text.parse().unwrap();
            assert!(rights.iter().any(|shape| shape.hand == hand), "{text}");
        }
    }
}
