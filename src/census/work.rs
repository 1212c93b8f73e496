//! What stands ready for one chord while its combinations are judged.

use std::ops::Range;

use itertools::iproduct;

use super::numbering::{Census, LeftPlace};
use crate::chord::Chord;
use crate::pitch::Pitch;
use crate::rules::{Judge, Rights, RuleSet, keys};
use crate::voicing::{Hand, Inversion, Spacing, Triad};

/// A chord with its judge and every right hand that comes over one of its left hands.
pub(super) struct Work<'r> {
    pub(super) chord: Chord,
    pub(super) judge: Judge<'r>,
    /// In the order of the census.
    pub(super) triads: Vec<Triad>,
    /// The ways to play each triad in one octave, triad by triad.
    placings: Vec<Placing>,
    /// The octave in which the lowest of the right hands have their lowest note, as MIDI counts octaves.
    first_octave: u8,
    octaves: usize,
    /// The right hands: placing by placing, octave by octave.
    rights: Vec<[u8; 3]>,
}

/// A triad in an inversion and a spacing.
#[derive(Clone, Copy, Debug)]
pub(super) struct Placing {
    /// Its place among the triads.
    pub(super) triad: usize,
    pub(super) inversion: Inversion,
    pub(super) spacing: Spacing,
    /// The pitch class of its lowest note.
    class: u8,
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
    pub(super) fn new(census: &Census, chord: Chord, lefts: &[Left], rules: &'r RuleSet) -> Self {
        let space = census.space();
        let triads: Vec<Triad> = census.labels.iter().map(|label| label.triad_over(chord)).collect();
        let tops = || lefts.iter().map(Left::top);
        let lift = 12 * space.right_octaves.saturating_sub(1);
        let first_octave = (tops().min().unwrap_or_default() + 1) / 12;
        let last_octave = tops().max().unwrap_or_default().saturating_add(12 + lift) / 12;
        let octaves = usize::from(last_octave - first_octave) + 1;
        let ways = iproduct!(triads.iter().enumerate(), &space.inversions, &space.spacings);
        let mut placings = Vec::with_capacity(triads.len() * 6);
        let mut rights = Vec::with_capacity(triads.len() * 6 * octaves);
        for ((number, triad), inversion, spacing) in ways {
            let [low, middle, high] = triad.keys_from(*inversion, *spacing);
            placings.push(Placing { triad: number, inversion: *inversion, spacing: *spacing, class: low });
            // Those beyond MIDI come over no left hand; one within stands for them.
            let fits =
                |octave: &u8| u16::from(high) + 12 * u16::from(*octave) <= u16::from(Pitch::HIGHEST_MIDI);
            let highest = (0..=last_octave).rev().find(fits).unwrap_or_default();
            rights.extend((first_octave..=last_octave).map(|octave| {
                let up = 12 * octave.min(highest);
                [low + up, middle + up, high + up]
            }));
        }
        let judge = rules.judge_for_pairs(chord, &census.situation());
        Self { chord, judge, triads, placings, first_octave, octaves, rights }
    }

    /// The right hands.
    pub(super) fn rights(&self) -> &[[u8; 3]] {
        &self.rights
    }

    /// Over this left hand, for each way to play a triad, the places of its right hands octave by octave, in the order of the census.
    #[inline]
    pub(super) fn runs_over<'s>(
        &'s self,
        left: &Left,
        right_octaves: u8,
    ) -> impl Iterator<Item = (Range<usize>, &'s Placing)> + use<'s, 'r> {
        let above = left.top() + 1;
        let (octave, class) = (usize::from((above / 12).saturating_sub(self.first_octave)), above % 12);
        let octaves = self.octaves;
        self.placings.iter().enumerate().map(move |(number, placing)| {
            let first = number * octaves + octave + usize::from(placing.class < class);
            (first..first + usize::from(right_octaves), placing)
        })
    }

    /// Over this left hand the place of each combination's right hand among the right hands, in the order of the census.
    #[inline]
    pub(super) fn over<'s>(
        &'s self,
        left: &Left,
        right_octaves: u8,
    ) -> impl Iterator<Item = (usize, Placing)> + use<'s, 'r> {
        let runs = self.runs_over(left, right_octaves);
        runs.flat_map(|(places, placing)| places.map(move |place| (place, *placing)))
    }
}

/// The right hands of the chord before, which those of the next often are again.
#[derive(Default)]
pub(super) struct KnownRights {
    known: Option<(Vec<[u8; 3]>, Rights)>,
}

impl KnownRights {
    /// The right hands of this work.
    pub(super) fn of(&mut self, work: &Work<'_>) -> &Rights {
        let same = self.known.take().filter(|(keys, _)| keys == work.rights());
        let new = || (work.rights().to_vec(), Rights::new(work.rights().iter().map(|keys| &keys[..])));
        let (_, rights) = self.known.insert(same.unwrap_or_else(new));
        rights
    }
}
