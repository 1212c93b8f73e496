//! What stands ready for one chord while its combinations are judged.

use std::ops::{Range, RangeInclusive};
use std::sync::Arc;

use itertools::iproduct;

use super::numbering::{Census, LeftPlace};
use crate::chord::Chord;
use crate::pitch::{NoteName, Pitch};
use crate::rules::{Judge, Memory, Rights, RuleSet, Runs, keys};
use crate::voicing::{Hand, Inversion, Spacing, Triad};

/// A chord with its judge and every right hand that comes over one of its left hands.
pub(super) struct Work<'r> {
    pub(super) chord: Chord,
    pub(super) judge: Judge<'r>,
    pub(super) hands: Arc<RightHands>,
}

/// Every right hand that comes over some left hands.
pub(super) struct RightHands {
    /// The root of the chord under which they are.
    root: NoteName,
    /// In the order of the census.
    pub(super) triads: Vec<Triad>,
    /// The ways to play each triad in one octave, triad by triad.
    placings: Vec<Placing>,
    /// For each pitch class the placings whose lowest note has a lower one, one bit for each.
    below: [Vec<u64>; 12],
    /// The octaves in which they have their lowest note, as MIDI counts octaves.
    octaves: RangeInclusive<u8>,
    /// Octave by octave, placing by placing.
    keys: Vec<[u8; 3]>,
    rights: Rights,
}

/// A triad in an inversion and a spacing.
#[derive(Clone, Copy, Debug)]
pub(super) struct Placing {
    /// Its place among the triads.
    pub(super) triad: usize,
    pub(super) inversion: Inversion,
    pub(super) spacing: Spacing,
}

/// A left hand of the census, with the numbers of its combinations.
pub(super) struct Left {
    pub(super) place: LeftPlace,
    pub(super) hand: Hand,
    pub(super) keys: [u8; 5],
    pub(super) count: usize,
    /// The numbers that are asked for.
    pub(super) range: Range<u64>,
    /// How far behind the left hand's first combination they begin.
    pub(super) skip: usize,
}

impl Left {
    pub(super) fn keys(&self) -> &[u8] {
        self.keys.get(..self.count).unwrap_or_default()
    }

    fn top(&self) -> u8 {
        self.keys().last().copied().unwrap_or_default()
    }
}

impl Census {
    /// The left hands of a range that stand under one chord, beginning with the one at `start`; and where the next chord begins.
    pub(super) fn lefts_from(&self, range: &Range<u64>) -> Option<(Chord, Vec<Left>, u64)> {
        let first = range.start / self.rights;
        let at = self.left_place(first)?;
        let chord = self.chord(at.root, at.chord)?;
        let mut lefts = Vec::new();
        let mut number = first;
        loop {
            let begins = number * self.rights;
            let Some(place) = self.left_place(number).filter(|_| begins < range.end) else { break };
            if (place.root, place.chord) != (at.root, at.chord) {
                break;
            }
            let lowest = self.space().lowest.checked_add(place.octave.checked_mul(12)?)?;
            let hand = place.shell.hand_from(chord, lowest)?;
            let mut own = [0; 5];
            let found = keys(hand.pitches());
            own.iter_mut().zip(&found).for_each(|(own, key)| *own = *key);
            let range = range.start.max(begins)..range.end.min(begins + self.rights);
            let skip = usize::try_from(range.start - begins).ok()?;
            lefts.push(Left { place, hand, keys: own, count: found.len(), range, skip });
            number += 1;
        }
        Some((chord, lefts, (number * self.rights).min(range.end)))
    }
}

impl<'r> Work<'r> {
    pub(super) fn new(census: &Census, chord: Chord, rules: &'r RuleSet, hands: &Arc<RightHands>) -> Self {
        let judge = rules.judge_for_pairs(chord, &census.situation());
        Self { chord, judge, hands: Arc::clone(hands) }
    }
}

/// The right hands met last, which those of the next chord often are again.
#[derive(Default)]
pub(super) struct KnownHands {
    known: Option<(Arc<RightHands>, Memory)>,
}

impl KnownHands {
    /// Those over these left hands under this chord.
    pub(super) fn over(
        &mut self,
        census: &Census,
        chord: Chord,
        lefts: &[Left],
    ) -> &mut (Arc<RightHands>, Memory) {
        self.serving(census, chord, lefts, |known, wanted| known == wanted)
    }

    /// The same, with others besides that were met before.
    pub(super) fn at_least_over(
        &mut self,
        census: &Census,
        chord: Chord,
        lefts: &[Left],
    ) -> &mut (Arc<RightHands>, Memory) {
        self.serving(census, chord, lefts, |known, wanted| {
            known.start() <= wanted.start() && known.end() >= wanted.end()
        })
    }

    fn serving(
        &mut self,
        census: &Census,
        chord: Chord,
        lefts: &[Left],
        serve: impl Fn(&RangeInclusive<u8>, &RangeInclusive<u8>) -> bool,
    ) -> &mut (Arc<RightHands>, Memory) {
        let tops = || lefts.iter().map(Left::top);
        let lift = 12 * census.space().right_octaves.saturating_sub(1);
        let first = (tops().min().unwrap_or_default() + 1) / 12;
        let last = tops().max().unwrap_or_default().saturating_add(12 + lift) / 12;
        let wanted = first..=last;
        // Triads are spelled by the chord's root alone.
        let known = self.known.take().filter(|(known, _)| known.root == chord.root());
        let both = |known: &RangeInclusive<u8>| first.min(*known.start())..=last.max(*known.end());
        let new = |octaves| (Arc::new(RightHands::new(census, chord, octaves)), Memory::default());
        let hands = match known {
            Some((known, memory)) if serve(&known.octaves, &wanted) => (known, memory),
            // Wide enough for those met before too, where that will do.
            Some((known, _)) if serve(&both(&known.octaves), &wanted) => new(both(&known.octaves)),
            _ => new(wanted),
        };
        self.known.insert(hands)
    }
}

impl RightHands {
    fn new(census: &Census, chord: Chord, octaves: RangeInclusive<u8>) -> Self {
        let triads: Vec<Triad> = census.labels.iter().map(|label| label.triad_over(chord)).collect();
        let space = census.space();
        let ways = iproduct!(triads.iter().enumerate(), &space.inversions, &space.spacings);
        let mut placings = Vec::with_capacity(triads.len() * 6);
        let mut closest = Vec::with_capacity(triads.len() * 6);
        for ((number, triad), inversion, spacing) in ways {
            let [low, middle, high] = triad.keys_from(*inversion, *spacing);
            placings.push(Placing { triad: number, inversion: *inversion, spacing: *spacing });
            closest.push([low, middle, high]);
        }
        let in_octave = |(octave, [low, middle, high]): (u8, &[u8; 3])| {
            // Those beyond MIDI come over no left hand; one within stands for them.
            let fits =
                |octave: &u8| u16::from(*high) + 12 * u16::from(*octave) <= u16::from(Pitch::HIGHEST_MIDI);
            let up = 12 * (0..=octave).rev().find(fits).unwrap_or_default();
            [low + up, middle + up, high + up]
        };
        let keys: Vec<[u8; 3]> = iproduct!(octaves.clone(), &closest).map(in_octave).collect();
        // From the lowest octave on in which some hand lies above the left hand, others do only in the next.
        let most = usize::from(space.right_octaves) + 1;
        let rights = Rights::in_octaves(keys.iter().map(|keys| &keys[..]), octaves.len(), most);
        let words_below = |class: u8| {
            let word = |closest: &[[u8; 3]]| {
                let bits = closest.iter().zip(0..).filter(|([low, ..], _)| *low < class);
                bits.fold(0, |word, (_, at)| word | 1 << at)
            };
            closest.chunks(Runs::WORD).map(word).collect()
        };
        let below = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11].map(words_below);
        Self { root: chord.root(), triads, placings, below, octaves, keys, rights }
    }

    /// One after the other.
    pub(super) fn keys(&self) -> &[[u8; 3]] {
        &self.keys
    }

    /// As a judge wants them.
    pub(super) fn rights(&self) -> &Rights {
        &self.rights
    }

    /// Over this left hand the right hands of all combinations, in the order of the census: a run for each way to play a triad.
    #[inline]
    pub(super) fn runs_over(&self, left: &Left, right_octaves: u8) -> Runs<'_> {
        let above = left.top() + 1;
        let (octave, class) = (usize::from((above / 12).saturating_sub(*self.octaves.start())), above % 12);
        let step = self.placings.len();
        let higher = self.below.get(usize::from(class)).map_or(&[][..], Vec::as_slice);
        Runs { start: octave * step, step, len: right_octaves.into(), higher }
    }

    /// Over this left hand the place of each combination's right hand among the right hands, in the order of the census.
    #[inline]
    pub(super) fn over<'s>(
        &'s self,
        left: &Left,
        right_octaves: u8,
    ) -> impl Iterator<Item = (usize, Placing)> + use<'s> {
        let runs = self.runs_over(left, right_octaves);
        let (up, step) = (runs.len, runs.step);
        runs.firsts()
            .zip(&self.placings)
            .flat_map(move |(first, placing)| (0..up).map(move |octave| (first + octave * step, *placing)))
    }
}
