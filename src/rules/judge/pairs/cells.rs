//! Rows with a cell for each right hand.

use std::ops::Range;

use smallvec::SmallVec;

use super::super::sink::{Both, Source};
use super::members::{WORD, places, put, set, words_for};
use super::one_hand::OneHand;
use crate::registers::{Job, widest};

/// A cell for each right hand: what fires with it, and one bit for whether that forbids.
#[derive(Debug)]
pub(super) struct Row {
    pub(super) both: Vec<Both>,
    pub(super) clash: Vec<u64>,
}

impl Row {
    /// Nothing fires.
    pub(super) fn new(hands: usize) -> Self {
        Self { both: vec![Both::default(); hands], clash: vec![0; words_for(hands)] }
    }

    /// Puts something else in a cell.
    pub(super) fn set(&mut self, place: usize, both: Both, clash: bool) {
        if let Some(cell) = self.both.get_mut(place) {
            *cell = both;
            set(&mut self.clash, place, clash);
        }
    }

    /// Adds to a cell.
    pub(super) fn add(&mut self, place: usize, both: Both, clash: bool) {
        if let Some(cell) = self.both.get_mut(place) {
            cell.add(both);
            put(&mut self.clash, place, clash);
        }
    }

    /// Becomes the sum of rows and `more`, in as few passes as may be, and has what any of them forbids.
    pub(super) fn sum(&mut self, rows: &[Found<'_>], more: Both) {
        self.clash.fill(0);
        sum_of(rows, more, &mut self.both, &mut self.clash);
    }

    /// The same within these places, with a row that is repeated there.
    pub(super) fn sum_repeated(&mut self, rows: &[Found<'_>], repeated: &Self, within: Range<usize>) {
        for start in within.clone().step_by(repeated.both.len().max(1)) {
            let place = start..start + repeated.both.len();
            let here = rows.iter().filter_map(|row| row.both.get(place.clone()));
            let firing: SmallVec<[&[Both]; 16]> = std::iter::once(&repeated.both[..]).chain(here).collect();
            if let Some(both) = self.both.get_mut(place) {
                widest(SumUp { rows: &firing, more: Both::default(), both });
            }
        }
        self.clash.fill(0);
        for row in rows {
            self.clash.iter_mut().zip(row.clash).for_each(|(clash, own)| *clash |= own);
        }
        self.forbid_repeated(repeated, within);
    }

    /// Forbids what a row forbids, again and again from a place on until another.
    fn forbid_repeated(&mut self, row: &Self, within: Range<usize>) {
        let width = row.both.len().max(1);
        // What stands behind the last bit means nothing there, but would here.
        let last = u64::MAX >> (WORD - 1 - (width - 1) % WORD);
        for start in within.step_by(width) {
            let (first, shift) = (start / WORD, start % WORD);
            for (at, word) in row.clash.iter().enumerate().filter(|(_, word)| **word != 0) {
                let word = if at + 1 == row.clash.len() { word & last } else { *word };
                let mut put = |at: usize, bits: u64| {
                    self.clash.get_mut(first + at).into_iter().for_each(|word| *word |= bits);
                };
                put(at, word << shift);
                // What does not fit into the word.
                put(at + 1, word.checked_shr((WORD - shift) as u32).unwrap_or_default());
            }
        }
    }
}

/// Rows, one behind the other.
pub(super) struct Cells {
    width: usize,
    words: usize,
    /// Those of rows in which something fires.
    both: Vec<Both>,
    /// Those of all rows.
    clash: Vec<u64>,
    rows: Vec<Known>,
}

/// What is known of a row.
#[derive(Clone, Copy, Default)]
struct Known {
    /// Where its cells begin, if anything fires.
    both: Option<usize>,
    forbids: bool,
}

/// A row as it is read.
#[derive(Clone, Copy, Default)]
pub(super) struct Found<'a> {
    /// Empty where nothing fires.
    both: &'a [Both],
    /// Empty where nothing forbids.
    clash: &'a [u64],
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
            rows: Vec::with_capacity(rows),
        }
    }

    /// One more row, in which nothing fires; its number.
    pub(super) fn add_row(&mut self) -> usize {
        let row = self.rows.len();
        self.rows.push(Known::default());
        self.clash.resize((row + 1) * self.words, 0);
        row
    }

    /// One more row, the sum of others.
    pub(super) fn add_sum(&mut self, of: &[usize]) -> usize {
        let sum = self.add_row();
        let start = self.both.len();
        let mut known = Known::default();
        self.both.resize(start + self.width, Both::default());
        let (both, own) = self.both.split_at_mut(start);
        let (clash, own_clash) = self.clash.split_at_mut(sum * self.words);
        let all = (&*both, &*clash, &self.rows[..]);
        let rows: SmallVec<[Found<'_>; 16]> =
            of.iter().map(|row| row_in(all, (self.width, self.words), *row)).collect();
        let [fires, forbids] = sum_of(&rows, Both::default(), own, own_clash);
        (known.both, known.forbids) = (fires.then_some(start), forbids);
        self.rows.get_mut(sum).into_iter().for_each(|own| *own = known);
        sum
    }

    /// A row to read.
    #[inline]
    pub(super) fn row(&self, row: usize) -> Found<'_> {
        row_in((&self.both, &self.clash, &self.rows), (self.width, self.words), row)
    }

    /// The cells of a row, in which something fires from now on.
    fn cells_of(&mut self, row: usize) -> &mut [Both] {
        let Some(known) = self.rows.get_mut(row) else { return &mut [] };
        let start = *known.both.get_or_insert(self.both.len());
        if start == self.both.len() {
            self.both.resize(start + self.width, Both::default());
        }
        self.both.get_mut(start..start + self.width).unwrap_or_default()
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
        let Some(first) = hands.iter().position(|hand| times(hand) > 0) else { return };
        let once = Both::of(&weight);
        for (both, hand) in self.cells_of(row).iter_mut().zip(hands).skip(first) {
            both.add_product(once, times(hand).max(0).unsigned_abs());
        }
    }

    /// Adds what a source fires once for each of these right hands.
    pub(super) fn fire_for(&mut self, row: usize, source: &Source, hands: impl Iterator<Item = u64>) {
        let weight = source.weight();
        if weight.clash {
            return self.forbid(row, hands);
        }
        let once = Both::of(&weight);
        let width = self.width;
        let mut places = places(hands).take_while(|place| *place < width).peekable();
        if places.peek().is_some() {
            let cells = self.cells_of(row);
            places.for_each(|place| cells.get_mut(place).into_iter().for_each(|both| both.add(once)));
        }
    }

    /// Adds the first row of others that are as long.
    pub(super) fn add_first_of(&mut self, others: &Self, row: usize) {
        let Some(Known { both, forbids }) = others.rows.first() else { return };
        if both.is_some() {
            widest(Add { more: &others.both, both: self.cells_of(row) });
        }
        if *forbids {
            self.forbid(row, others.clash.iter().copied());
        }
    }

    fn forbid(&mut self, row: usize, hands: impl Iterator<Item = u64>) {
        let at = row * self.words..(row + 1) * self.words;
        let Some((clash, known)) = self.clash.get_mut(at).zip(self.rows.get_mut(row)) else { return };
        for (word, more) in clash.iter_mut().zip(hands) {
            *word |= more;
            known.forbids |= *word != 0;
        }
    }

    /// Adds to each cell from a place on the sum with its number.
    pub(super) fn put(&mut self, row: usize, from: usize, numbers: &[u16], sums: &[(Both, bool)]) {
        let sum = |number: u16| sums.get(usize::from(number)).copied().unwrap_or_default();
        if sums.iter().any(|(sum, _)| *sum != Both::default()) {
            let cells = self.cells_of(row);
            let cells = cells.iter_mut().skip(from).zip(numbers);
            cells.for_each(|(both, number)| both.add(sum(*number).0));
        }
        if sums.iter().any(|(_, clashes)| *clashes) {
            let at = row * self.words..(row + 1) * self.words;
            let Some((clash, known)) = self.clash.get_mut(at).zip(self.rows.get_mut(row)) else { return };
            (from..).zip(numbers).for_each(|(place, number)| put(clash, place, sum(*number).1));
            known.forbids = true;
        }
    }
}

struct Add<'a> {
    more: &'a [Both],
    both: &'a mut [Both],
}

impl Job for Add<'_> {
    type Answer = ();

    #[inline(always)]
    fn run(self) {
        for (both, more) in self.both.iter_mut().zip(self.more) {
            *both = both.plus(*more);
        }
    }
}

#[inline]
fn row_in<'a>(
    (both, clash, rows): (&'a [Both], &'a [u64], &[Known]),
    (width, words): (usize, usize),
    row: usize,
) -> Found<'a> {
    let known = rows.get(row).copied().unwrap_or_default();
    let own = known.forbids.then(|| clash.get(row * words..(row + 1) * words)).flatten();
    Found {
        both: known.both.and_then(|start| both.get(start..start + width)).unwrap_or_default(),
        clash: own.unwrap_or_default(),
    }
}

/// [`Row::sum`] of slices, adding to `clash`; whether anything fires and whether anything forbids.
fn sum_of(rows: &[Found<'_>], more: Both, both: &mut [Both], clash: &mut [u64]) -> [bool; 2] {
    let firing: SmallVec<[&[Both]; 16]> =
        rows.iter().map(|row| row.both).filter(|both| !both.is_empty()).collect();
    for row in rows {
        clash.iter_mut().zip(row.clash).for_each(|(clash, own)| *clash |= own);
    }
    widest(SumUp { rows: &firing, more, both });
    [!firing.is_empty(), rows.iter().any(|row| !row.clash.is_empty())]
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
    let (mut fours, rest) = rows.as_chunks::<4>();
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
        _ => match fours.split_first() {
            Some(([a, b, c, d], others)) => {
                for (both, (((a, b), c), d)) in both.iter_mut().zip(a.iter().zip(*b).zip(*c).zip(*d)) {
                    *both = more.plus(*a).plus(*b).plus(c.plus(*d));
                }
                fours = others;
            }
            None => both.fill(more),
        },
    }
    for [a, b, c, d] in fours {
        for (both, (((a, b), c), d)) in both.iter_mut().zip(a.iter().zip(*b).zip(*c).zip(*d)) {
            *both = both.plus(*a).plus(*b).plus(c.plus(*d));
        }
    }
}
