//! Rows with a cell for each right hand.

use smallvec::SmallVec;

use super::super::sink::{Both, Source};
use super::members::{WORD, places, put, words_for};
use super::one_hand::OneHand;
use crate::registers::{Job, widest};

/// Rows with a cell for each right hand, one behind the other.
pub(super) struct Cells {
    width: usize,
    words: usize,
    both: Vec<Both>,
    /// One bit for each right hand.
    clash: Vec<u64>,
    /// Whether anything fires in a row, and whether anything forbids there.
    fires: Vec<[bool; 2]>,
}

impl Cells {
    /// No row yet, and room for so many.
    pub(super) fn new(width: usize, rows: usize) -> Self {
        let words = words_for(width);
        Self {
            width,
            words,
            both: Vec::with_capacity(rows * width),
            clash: Vec::with_capacity(rows * words),
            fires: Vec::with_capacity(rows),
        }
    }

    /// One more row, in which nothing fires; its number.
    pub(super) fn add_row(&mut self) -> usize {
        let row = self.fires.len();
        self.fires.push([false; 2]);
        self.both.resize((row + 1) * self.width, Both::default());
        self.clash.resize((row + 1) * self.words, 0);
        row
    }

    /// One more row, the sum of others.
    pub(super) fn add_sum(&mut self, of: &[usize]) -> usize {
        let sum = self.add_row();
        let (both, own) = self.both.split_at_mut(sum * self.width);
        let (clash, own_clash) = self.clash.split_at_mut(sum * self.words);
        let fires =
            sum_of((self.width, self.words), (both, clash, &self.fires), of, Both::default(), own, own_clash);
        self.fires.get_mut(sum).into_iter().for_each(|own| *own = fires);
        sum
    }

    /// Sums rows up, in as few passes as may be: `both` becomes their sum and `more`, and `clash` has what any of them forbids.
    pub(super) fn sum(&self, rows: &[usize], more: Both, both: &mut [Both], clash: &mut [u64]) {
        sum_of((self.width, self.words), (&self.both, &self.clash, &self.fires), rows, more, both, clash);
    }

    /// Adds what a source fires so many times for each right hand.
    pub(super) fn fire(
        &mut self,
        row: usize,
        source: &Source,
        hands: &[OneHand],
        times: impl Fn(&OneHand) -> i32,
    ) {
        let weight = source.weight();
        if weight.clash {
            let word = |hands: &[OneHand]| {
                let bits = hands.iter().enumerate();
                bits.fold(0, |word, (at, hand)| word | u64::from(times(hand) > 0) << at)
            };
            return self.forbid(row, hands.chunks(WORD).map(word));
        }
        let at = row * self.width..(row + 1) * self.width;
        let Some(fires) = self.fires.get_mut(row) else { return };
        let once = Both::of(&weight);
        for (both, hand) in self.both.get_mut(at).unwrap_or_default().iter_mut().zip(hands) {
            let times = times(hand).max(0).unsigned_abs();
            both.add_product(once, times);
            fires[0] |= times > 0;
        }
    }

    /// Adds what a source fires once for each of these right hands.
    pub(super) fn fire_for(&mut self, row: usize, source: &Source, hands: impl Iterator<Item = u64>) {
        let weight = source.weight();
        if weight.clash {
            return self.forbid(row, hands);
        }
        let once = Both::of(&weight);
        let at = row * self.width..(row + 1) * self.width;
        let Some((both, fires)) = self.both.get_mut(at).zip(self.fires.get_mut(row)) else { return };
        for place in places(hands) {
            if let Some(both) = both.get_mut(place) {
                both.add(once);
                fires[0] = true;
            }
        }
    }

    fn forbid(&mut self, row: usize, hands: impl Iterator<Item = u64>) {
        let at = row * self.words..(row + 1) * self.words;
        let Some((clash, fires)) = self.clash.get_mut(at).zip(self.fires.get_mut(row)) else { return };
        for (word, more) in clash.iter_mut().zip(hands) {
            *word |= more;
            fires[1] |= *word != 0;
        }
    }

    /// Adds to each cell the sum with its number.
    pub(super) fn put(&mut self, row: usize, numbers: &[u16], sums: &[(Both, bool)]) {
        let at = row * self.width..(row + 1) * self.width;
        let words = row * self.words..(row + 1) * self.words;
        let cells = self.both.get_mut(at).zip(self.clash.get_mut(words)).zip(self.fires.get_mut(row));
        let Some(((both, clash), fires)) = cells else { return };
        let sum = |number: u16| sums.get(usize::from(number)).copied().unwrap_or_default();
        if sums.iter().any(|(sum, _)| *sum != Both::default()) {
            both.iter_mut().zip(numbers).for_each(|(both, number)| both.add(sum(*number).0));
            fires[0] = true;
        }
        if sums.iter().any(|(_, clashes)| *clashes) {
            numbers.iter().enumerate().for_each(|(place, number)| put(clash, place, sum(*number).1));
            fires[1] = true;
        }
    }
}

/// [`Cells::sum`], of rows in slices; whether anything fires and whether anything forbids.
fn sum_of(
    (width, words): (usize, usize),
    (known, clashes, fires): (&[Both], &[u64], &[[bool; 2]]),
    rows: &[usize],
    more: Both,
    both: &mut [Both],
    clash: &mut [u64],
) -> [bool; 2] {
    let mut firing: SmallVec<[&[Both]; 16]> = SmallVec::new();
    let mut forbid = false;
    for row in rows {
        let [fires, forbids] = fires.get(*row).copied().unwrap_or_default();
        if fires {
            firing.extend(known.get(row * width..(row + 1) * width));
        }
        if forbids {
            let own = clashes.get(row * words..(row + 1) * words).unwrap_or_default();
            clash.iter_mut().zip(own).for_each(|(clash, own)| *clash |= own);
            forbid = true;
        }
    }
    widest(SumUp { rows: &firing, more, both });
    [!firing.is_empty(), forbid]
}

/// The sum of some rows, each of which may be as long as `both`, and of `more`.
struct SumUp<'a> {
    rows: &'a [&'a [Both]],
    more: Both,
    both: &'a mut [Both],
}

impl Job for SumUp<'_> {
    type Answer = ();

    #[inline(always)]
    fn run(self) {
        sum_up(self.rows, self.more, self.both);
    }
}

#[inline(always)]
fn sum_up(rows: &[&[Both]], more: Both, both: &mut [Both]) {
    let (fours, rest) = rows.as_chunks::<4>();
    match *rest {
        [a] => {
            for (both, a) in both.iter_mut().zip(a) {
                *both = more.plus(*a);
            }
        }
        [a, b] => {
            for (both, (a, b)) in both.iter_mut().zip(a.iter().zip(b)) {
                *both = more.plus(*a).plus(*b);
            }
        }
        [a, b, c] => {
            for (both, ((a, b), c)) in both.iter_mut().zip(a.iter().zip(b).zip(c)) {
                *both = more.plus(*a).plus(*b).plus(*c);
            }
        }
        _ => both.fill(more),
    }
    for [a, b, c, d] in fours {
        for (both, (((a, b), c), d)) in both.iter_mut().zip(a.iter().zip(*b).zip(*c).zip(*d)) {
            *both = both.plus(*a).plus(*b).plus(c.plus(*d));
        }
    }
}
