//! Every left hand with every right hand at once.
//!
//! A search asks about hundreds of pairs of the same few hands. Most tests look at one hand, or at one key or pitch class of the
//! left against the right; what they fire is found once for each hand, once for each left key, once for each left pitch class
//! and so on, as a row with a cell for each right hand, and the rows are added up. [`Judge::score_keys`] is the slow twin.

use smallvec::SmallVec;

#[cfg(test)]
use super::Score;
use super::sink::{Both, Source, Sum};
use super::{Judge, Sink, Sound};
use crate::rules::kind::{Division, PairTest, Test};

/// The scores of a left hand with each right hand.
pub(crate) struct PairScores<'s> {
    both: &'s [Both],
    /// Whether a rule that forbids has fired.
    pub(crate) clash: &'s [bool],
}

impl PairScores<'_> {
    /// What each costs less its colour, up to `enough`.
    #[inline]
    pub(crate) fn points(&self, enough: i32) -> impl Iterator<Item = i32> {
        self.both.iter().map(move |both| both.points(enough))
    }

    /// What each costs, whatever its colour.
    pub(crate) fn costs(&self) -> impl Iterator<Item = i32> {
        self.both.iter().map(|both| both.points(0))
    }

    /// One after the other.
    #[cfg(test)]
    pub(crate) fn iter(&self) -> impl Iterator<Item = Score> {
        self.both.iter().zip(self.clash).map(|(both, clash)| both.score(*clash))
    }
}

/// A hand and what is often asked of it.
struct OneHand<'a> {
    keys: &'a [u8],
    /// Alone.
    sound: Sound,
    /// One bit for each key.
    bits: u128,
    /// One bit for each pitch class.
    classes: u16,
    /// For each pitch class those that lie above its lowest key.
    above: [u16; 12],
    /// The place of its lowest key among those of all right hands.
    low: usize,
}

/// The lowest keys of all right hands, each once, and whether some hand has no other key.
type Lows = SmallVec<[(u8, bool); 24]>;

impl<'a> OneHand<'a> {
    /// A right hand, its lowest key among those of all.
    fn right(keys: &'a [u8], lows: &mut Lows) -> Self {
        let lowest = keys.first().copied().unwrap_or_default();
        let low = lows.iter().position(|(known, _)| *known == lowest).unwrap_or_else(|| {
            lows.push((lowest, false));
            lows.len() - 1
        });
        if let Some((_, is_alone)) = lows.get_mut(low) {
            *is_alone |= keys.len() == 1;
        }
        Self { low, ..Self::new(keys, Sound::new(&[], keys)) }
    }

    /// A left hand.
    fn left(keys: &'a [u8]) -> Self {
        Self::new(keys, Sound::new(keys, &[]))
    }

    fn new(keys: &'a [u8], sound: Sound) -> Self {
        let (mut classes, mut bits, mut above) = (0u16, 0u128, [0u16; 12]);
        for key in keys.iter().rev() {
            let class = key % 12;
            // What stands for the lowest key of a class is written last.
            if let Some(above) = above.get_mut(usize::from(class)) {
                *above = classes;
            }
            classes |= 1 << class;
            bits |= 1 << (key % 128);
        }
        Self { keys, sound, bits, classes, above, low: 0 }
    }

    #[inline]
    fn has(&self, class: u8) -> bool {
        self.classes >> class & 1 == 1
    }

    /// Whether the pair sounds in this hand alone.
    #[inline]
    fn fires(&self, pair: &PairTest) -> bool {
        match pair.either_way {
            true => self.has(pair.lower) && self.has(pair.upper),
            false => {
                self.above.get(usize::from(pair.lower)).is_some_and(|above| above >> pair.upper & 1 == 1)
            }
        }
    }

    /// Whether the pair sounds where a left hand has its lower (its upper) degree.
    #[inline]
    fn fires_with(&self, pair: &PairTest, lower: bool) -> bool {
        self.fires(pair)
            || (if lower { self.has(pair.upper) } else { pair.either_way && self.has(pair.lower) })
    }
}

/// Rows with a cell for each right hand, one behind the other.
struct Cells {
    width: usize,
    both: Vec<Both>,
    clash: Vec<bool>,
    /// Whether anything fires in a row, and whether anything forbids there.
    fires: Vec<[bool; 2]>,
}

impl Cells {
    /// One more row, in which nothing fires; its number.
    fn add_row(&mut self) -> usize {
        let row = self.fires.len();
        self.fires.push([false; 2]);
        self.both.resize((row + 1) * self.width, Both::default());
        self.clash.resize((row + 1) * self.width, false);
        row
    }

    /// One more row, the sum of others.
    fn add_sum(&mut self, of: impl Iterator<Item = usize>) -> usize {
        let sum = self.add_row();
        let start = sum * self.width;
        let (both, own_both) = self.both.split_at_mut(start);
        let (clash, own_clash) = self.clash.split_at_mut(start);
        for row in of {
            let Some(fires) = self.fires.get(row).copied() else { continue };
            let at = row * self.width..(row + 1) * self.width;
            let (both, clash) = (both.get(at.clone()), clash.get(at));
            add(own_both, own_clash, both.unwrap_or_default(), clash.unwrap_or_default(), fires);
            if let Some(own) = self.fires.get_mut(sum) {
                *own = [own[0] | fires[0], own[1] | fires[1]];
            }
        }
        sum
    }

    /// Adds a row to others of the same width.
    fn add_to(&self, row: usize, both: &mut [Both], clash: &mut [bool]) {
        let at = row * self.width..(row + 1) * self.width;
        let own = self.both.get(at.clone()).zip(self.clash.get(at)).zip(self.fires.get(row));
        if let Some(((own_both, own_clash), fires)) = own {
            add(both, clash, own_both, own_clash, *fires);
        }
    }

    /// Adds what a source fires so many times for each right hand.
    fn fire<'h>(
        &mut self,
        row: usize,
        source: &Source,
        hands: &'h [OneHand<'h>],
        times: impl Fn(&OneHand<'h>) -> i32,
    ) {
        let at = row * self.width..(row + 1) * self.width;
        let Some(fires) = self.fires.get_mut(row) else { return };
        let weight = source.weight();
        if weight.clash {
            for (clash, hand) in self.clash.get_mut(at).unwrap_or_default().iter_mut().zip(hands) {
                *clash |= times(hand) > 0;
                fires[1] |= *clash;
            }
            return;
        }
        let once = Both::of(&weight);
        for (both, hand) in self.both.get_mut(at).unwrap_or_default().iter_mut().zip(hands) {
            let times = times(hand).max(0).unsigned_abs();
            both.add_product(once, times);
            fires[0] |= times > 0;
        }
    }

    /// Adds to each cell the sum that stands for it.
    fn put(&mut self, row: usize, sums: impl Iterator<Item = (Both, bool)>) {
        let at = row * self.width..(row + 1) * self.width;
        let cells = self.both.get_mut(at.clone()).zip(self.clash.get_mut(at)).zip(self.fires.get_mut(row));
        let Some(((both, clash), fires)) = cells else { return };
        for ((both, clash), (more, clashes)) in both.iter_mut().zip(clash).zip(sums) {
            both.add(more);
            *clash |= clashes;
            *fires = [fires[0] | (more != Both::default()), fires[1] | clashes];
        }
    }
}

/// Adds cells to cells.
#[inline]
fn add(both: &mut [Both], clash: &mut [bool], more: &[Both], clashes: &[bool], fires: [bool; 2]) {
    if fires[0] {
        for (both, more) in both.iter_mut().zip(more) {
            both.add(*more);
        }
    }
    if fires[1] {
        for (clash, more) in clash.iter_mut().zip(clashes) {
            *clash |= more;
        }
    }
}

/// A test of some pitch classes, these, and the rows for how much of them the left hand has.
type OfSet<'t> = (Source, &'t Test, u16, Vec<(u16, usize)>);

/// What fires for each right hand, whatever the left plays.
const RIGHT: usize = 0;
/// What comes with each pitch class in the left hand: the rows from here.
const CLASSES: usize = 1;

/// Room for so many rows is made at once: those of pitch classes, then some for each of what left hands have in common.
const USUAL_ROWS: usize = 100;

/// All rows of one question.
struct Rows<'t, 'h> {
    hands: &'h [OneHand<'h>],
    cells: Cells,
    /// The rows of what comes with each key in the left hand, where it has been asked for.
    keys: [Option<u16>; 128],
    /// The rows of what comes with each highest key of a left hand.
    tops: [Option<u16>; 128],
    /// What comes where the left hand has so much of these pitch classes.
    sets: Vec<OfSet<'t>>,
    /// The rows that have been found for pitch classes of a left hand.
    known: Vec<(u16, usize)>,
    pairs: Vec<(Source, PairTest)>,
    left: Vec<(Source, &'t Test)>,
    across: Vec<(Source, &'t Test)>,
    joins: Vec<(Source, &'t Test)>,
    gaps: Vec<(Source, &'t Test)>,
    /// What comes with each distance between the hands, where it has been asked for.
    of_gaps: [Option<Sum>; 128],
    whole: Vec<(Source, &'t Test)>,
    lows: Lows,
    /// All keys of the right hands, one bit each.
    all_keys: u128,
}

impl<'t, 'h> Rows<'t, 'h> {
    fn new(hands: &'h [OneHand<'h>], lows: Lows) -> Self {
        let width = hands.len();
        let mut cells = Cells {
            width,
            both: Vec::with_capacity(USUAL_ROWS * width),
            clash: Vec::with_capacity(USUAL_ROWS * width),
            fires: Vec::with_capacity(USUAL_ROWS),
        };
        (0..CLASSES + 12).for_each(|_| _ = cells.add_row());
        let all_keys = hands.iter().fold(0, |all, hand| all | hand.bits);
        Self {
            hands,
            cells,
            keys: [None; 128],
            tops: [None; 128],
            sets: Vec::new(),
            known: Vec::new(),
            pairs: Vec::new(),
            left: Vec::new(),
            across: Vec::new(),
            joins: Vec::new(),
            gaps: Vec::new(),
            of_gaps: [None; 128],
            whole: Vec::new(),
            lows,
            all_keys,
        }
    }

    fn take(&mut self, source: Source, test: &'t Test) {
        let hands = self.hands;
        match test.division() {
            Division::Left => self.left.push((source, test)),
            Division::Right => self.take_right(&source, test),
            Division::Each => {
                self.left.push((source, test));
                self.take_right(&source, test);
            }
            Division::Across { within } => {
                if within {
                    self.left.push((source, test));
                    self.take_right(&source, test);
                }
                self.across.push((source, test));
            }
            Division::Neighbours { .. } => {
                self.left.push((source, test));
                let alone = |(low, _): &(u8, bool)| times(test, &Sound::new(&[], &[*low]));
                let of_lows: SmallVec<[i32; 24]> = self.lows.iter().map(alone).collect();
                let low = |hand: &OneHand<'_>| of_lows.get(hand.low).copied().unwrap_or_default();
                self.cells.fire(RIGHT, &source, hands, |hand| times(test, &hand.sound) - low(hand));
                self.joins.push((source, test));
            }
            Division::Gap => self.gaps.push((source, test)),
            Division::Top => {
                let of_two =
                    |hand: &OneHand<'_>| if hand.keys.len() > 1 { times(test, &hand.sound) } else { 0 };
                self.cells.fire(RIGHT, &source, hands, of_two);
                if self.lows.iter().any(|(_, is_alone)| *is_alone) {
                    self.joins.push((source, test));
                }
            }
            Division::Class(class) => {
                self.cells.fire(RIGHT, &source, hands, |hand| i32::from(hand.has(class)));
                let more = |hand: &OneHand<'_>| i32::from(!hand.has(class));
                self.cells.fire(CLASSES + usize::from(class), &source, hands, more);
            }
            Division::Classes(classes) => self.sets.push((source, test, classes, Vec::new())),
            Division::Doubled(classes) => {
                self.left.push((source, test));
                self.take_right(&source, test);
                for class in (0..12u8).filter(|class| classes >> class & 1 == 1) {
                    let both = |hand: &OneHand<'_>| i32::from(hand.has(class));
                    self.cells.fire(CLASSES + usize::from(class), &source, hands, both);
                }
            }
            Division::Pair(pair) if pair.lower != pair.upper => {
                self.cells.fire(RIGHT, &source, hands, |hand| i32::from(hand.fires(&pair)));
                for (class, lower) in [(pair.lower, true), (pair.upper, false)] {
                    let more =
                        |hand: &OneHand<'_>| i32::from(hand.fires_with(&pair, lower) && !hand.fires(&pair));
                    if lower || pair.either_way {
                        self.cells.fire(CLASSES + usize::from(class), &source, hands, more);
                    }
                }
                self.pairs.push((source, pair));
            }
            Division::Pair(_) | Division::Whole => self.whole.push((source, test)),
        }
    }

    fn take_right(&mut self, source: &Source, test: &Test) {
        self.cells.fire(RIGHT, source, self.hands, |hand| times(test, &hand.sound));
    }

    /// The row of what fires with these pitch classes in the left hand, whichever keys they are.
    fn of_classes(&mut self, classes: u16) -> usize {
        if let Some((_, row)) = self.known.iter().find(|(known, _)| *known == classes) {
            return *row;
        }
        let (cells, hands) = (&mut self.cells, self.hands);
        let mut rows: SmallVec<[usize; 16]> = SmallVec::new();
        rows.push(RIGHT);
        rows.extend((0..12).filter(|class| classes >> class & 1 == 1).map(|class| CLASSES + class));
        for (source, test, asked, known) in &mut self.sets {
            let held = classes & *asked;
            let row = known.iter().find(|(known, _)| *known == held).map(|(_, row)| *row);
            rows.push(row.unwrap_or_else(|| {
                let row = cells.add_row();
                cells.fire(row, source, hands, |hand| test.times_of_classes(held | hand.classes));
                known.push((held, row));
                row
            }));
        }
        let row = cells.add_sum(rows.into_iter());
        self.known.push((classes, row));
        row
    }

    /// The row of what fires between a left key and the right hand's keys.
    fn of_key(&mut self, key: u8) -> Option<usize> {
        let known = self.keys.get_mut(usize::from(key))?;
        let (cells, hands, across, all_keys) = (&mut self.cells, self.hands, &self.across, self.all_keys);
        let row = known.get_or_insert_with(|| {
            let row = cells.add_row();
            for (source, test) in across {
                if let Some(upper) = test.across(key).filter(|upper| all_keys >> upper & 1 == 1) {
                    cells.fire(row, source, hands, |hand| (hand.bits >> upper) as i32 & 1);
                }
            }
            row as u16
        });
        Some(usize::from(*row))
    }

    /// The row of what fires between the highest left key and the right hand's lowest.
    fn of_top(&mut self, top: u8) -> Option<usize> {
        let known = self.tops.get_mut(usize::from(top))?;
        let (cells, hands, lows) = (&mut self.cells, self.hands, &self.lows);
        let (joins, gaps, of_gaps) = (&self.joins, &self.gaps, &mut self.of_gaps);
        let row = known.get_or_insert_with(|| {
            let row = cells.add_row();
            let alone = Sound::new(&[top], &[]);
            let joins: SmallVec<[_; 8]> = joins
                .iter()
                .filter_map(|(source, test)| match test.division() {
                    Division::Neighbours { below } if top >= below => None,
                    Division::Top => Some((source, test, 0, true)),
                    _ => Some((source, test, times(test, &alone), false)),
                })
                .collect();
            // All that is found depends on the lowest right key, and on whether it is the only one.
            let of_lows = lows.iter().map(|(low, is_alone)| {
                let mut of_more = Sum::default();
                if let Some(of_gap) = low.checked_sub(top).and_then(|gap| of_gaps.get_mut(usize::from(gap))) {
                    let found = of_gap.get_or_insert_with(|| {
                        let (sound, mut sum) = (Sound::new(&[top], &[*low]), Sum::default());
                        for (source, test) in gaps {
                            test.run(&sound, |times, _| sum.fire(source, times, 0));
                        }
                        sum
                    });
                    of_more.add(found, 1);
                }
                let mut of_one = of_more;
                for (source, test, less, is_top) in joins.iter().filter(|(.., is_top)| !is_top || *is_alone) {
                    let found = times(test, &Sound::new(&[top], &[*low])) - less;
                    if found > 0 {
                        of_one.fire(source, found, 0);
                        if !is_top {
                            of_more.fire(source, found, 0);
                        }
                    }
                }
                [of_more, of_one].map(|sum| (Both::of(&sum), sum.clash))
            });
            let of_lows: SmallVec<[[(Both, bool); 2]; 24]> = of_lows.collect();
            let of_hand = |hand: &OneHand<'_>| {
                let [of_more, of_one] = of_lows.get(hand.low).copied().unwrap_or_default();
                if hand.keys.len() == 1 { of_one } else { of_more }
            };
            cells.put(row, hands.iter().map(of_hand));
            row as u16
        });
        Some(usize::from(*row))
    }

    /// What fires for a left hand with each right hand, added to what is there.
    fn of(&mut self, left: &[u8], both: &mut [Both], clash: &mut [bool]) {
        let own = OneHand::left(left);
        let row = self.of_classes(own.classes);
        self.cells.add_to(row, both, clash);
        // Where a pair sounds in the left hand alone, it fires once, whatever the right hand plays.
        let sounding = |(_, pair): &&(Source, PairTest)| own.fires(pair);
        let mut everywhere = Sum::default();
        for (source, pair) in self.pairs.iter().filter(sounding) {
            everywhere.fire(source, 1, 0);
            let weight = source.weight();
            if weight.clash {
                continue;
            }
            for (both, hand) in both.iter_mut().zip(self.hands) {
                let alone = hand.fires(pair);
                let again = |lower| u32::from(hand.fires_with(pair, lower) && !alone);
                let upper = if pair.either_way && own.has(pair.upper) { again(false) } else { 0 };
                both.take_times(&weight, u32::from(alone) + again(true) + upper);
            }
        }
        for (source, test) in &self.left {
            test.run(&own.sound, |times, _| everywhere.fire(source, times, 0));
        }
        let more = Both::of(&everywhere);
        both.iter_mut().for_each(|both| both.add(more));
        if everywhere.clash {
            clash.fill(true);
        }
        for key in left {
            if let Some(row) = self.of_key(*key) {
                self.cells.add_to(row, both, clash);
            }
        }
        if let Some(row) = left.last().and_then(|top| self.of_top(*top)) {
            self.cells.add_to(row, both, clash);
        }
    }
}

/// How often a test fires.
fn times(test: &Test, sound: &Sound) -> i32 {
    let mut all = 0i32;
    test.run(sound, |times, _| all = all.saturating_add(times));
    all
}

/// What forbids a right hand whatever the left plays.
pub(crate) struct Alone<'j> {
    classes: u16,
    pairs: SmallVec<[PairTest; 8]>,
    others: SmallVec<[&'j Test; 4]>,
}

impl Alone<'_> {
    /// Whether a right hand clashes by itself, and so with every left hand that there is.
    pub(crate) fn clashes(&self, right: &[u8]) -> bool {
        let classes = right.iter().fold(0u16, |bits, key| bits | 1 << (key % 12));
        let sounds = |pair: &PairTest| {
            let lowest = right.iter().position(|key| key % 12 == pair.lower);
            let highest = right.iter().rposition(|key| key % 12 == pair.upper);
            lowest.zip(highest).is_some_and(|(lowest, highest)| pair.either_way || lowest < highest)
        };
        classes & self.classes != 0
            || self.pairs.iter().any(|pair| classes & pair.classes() == pair.classes() && sounds(pair))
            || (!self.others.is_empty() && {
                let sound = Sound::new(&[], right);
                self.others.iter().any(|test| times(test, &sound) > 0)
            })
    }
}

impl Judge<'_> {
    /// What forbids a right hand by itself.
    pub(crate) fn alone(&self) -> Alone<'_> {
        let mut alone = Alone { classes: 0, pairs: SmallVec::new(), others: SmallVec::new() };
        for (_, test) in self.always.all().iter().filter(|(source, _)| source.weight().clash) {
            match test.division() {
                Division::Class(class) => alone.classes |= 1 << class,
                Division::Pair(pair) => alone.pairs.push(pair),
                Division::Right
                | Division::Each
                | Division::Across { within: true }
                | Division::Doubled(_) => alone.others.push(test),
                _ => {}
            }
        }
        alone
    }

    /// Calls `each` for every left hand with its scores with every right hand, as [`Judge::score_keys`] gives them one by one.
    /// Hands are ascending; where a left hand does not lie below a right one, the score means nothing.
    ///
    /// # Complexity
    ///
    /// For each pair some ten additions; for each hand, each left key and each left pitch class what its tests take. Tests that
    /// look at all voices together, those with conditions on hands and rules in code are asked for every pair.
    pub(crate) fn score_pairs<'l>(
        &self,
        lefts: impl Iterator<Item = &'l [u8]>,
        rights: &[&[u8]],
        mut each: impl FnMut(&PairScores<'_>),
    ) {
        let mut row = (vec![Both::default(); rights.len()], vec![false; rights.len()]);
        let mut lows = Lows::new();
        let hands: Vec<OneHand<'_>> = rights.iter().map(|keys| OneHand::right(keys, &mut lows)).collect();
        let mut known = Rows::new(&hands, lows);
        for (source, test) in self.always.all() {
            known.take(*source, test);
        }
        let whole = std::mem::take(&mut known.whole);
        let is_rare = self.is_rare || !whole.is_empty();
        let one_is_empty = rights.iter().any(|hand| hand.is_empty());
        for left in lefts {
            let (both, clash) = &mut row;
            if one_is_empty || left.is_empty() {
                for ((both, clash), right) in both.iter_mut().zip(clash).zip(rights) {
                    let sum = self.sum_of(left, right);
                    (*both, *clash) = (Both::of(&sum), sum.clash);
                }
                each(&PairScores { both: &row.0, clash: &row.1 });
                continue;
            }
            both.fill(Both::default());
            clash.fill(false);
            known.of(left, both, clash);
            if is_rare {
                for ((both, clash), right) in both.iter_mut().zip(clash).zip(rights) {
                    let (sound, mut sum) = (Sound::new(left, right), Sum::default());
                    for (source, test) in &whole {
                        test.run(&sound, |times, classes| sum.fire(source, times, classes));
                    }
                    self.run_rare(&sound, &mut sum);
                    both.add(Both::of(&sum));
                    *clash |= sum.clash;
                }
            }
            each(&PairScores { both: &row.0, clash: &row.1 });
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::grouped::tests::{more, situation};
    use crate::chord::Chord;
    use crate::rules::RuleSet;

    fn hands() -> impl Strategy<Value = Vec<Vec<u8>>> {
        let near = prop::collection::btree_set(36u8..84, 1..=5usize);
        let far = prop::collection::btree_set(0u8..=127, 0..=5usize);
        let hand = prop_oneof![9 => near, 1 => far].prop_map(|keys| keys.into_iter().collect::<Vec<u8>>());
        prop::collection::vec(hand, 1..7)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(60))]

        /// A right hand that clashes by itself clashes with every left hand.
        #[test]
        fn prop_what_clashes_alone_clashes(chord in 0usize..4_704, at in 0usize..4, (lefts, rights) in (hands(), hands())) {
            let chord = Chord::all_on(crate::pitch::note("Eb")).nth(chord).unwrap();
            for rules in RuleSet::names().map(|name| RuleSet::named(name).unwrap()).chain([more()]) {
                let judge = rules.judge_for(chord, &situation(at));
                let alone = judge.alone();
                for right in rights.iter().filter(|right| alone.clashes(right)) {
                    for left in &lefts {
                        let below: Vec<u8> = left.iter().copied().filter(|key| right.first().is_some_and(|low| key < low)).collect();
                        prop_assert!(judge.score_keys(&below, right).clash, "{} {:?} {:?}", rules.name(), below, right);
                    }
                }
            }
        }

        /// The slow twin: one pair after the other. All sets that ship, and every kind of test.
        #[test]
        fn prop_as_one_by_one(
            chord in 0usize..4_704,
            at in 0usize..4,
            (lefts, rights) in (hands(), hands()),
            raised in any::<bool>(),
        ) {
            let chord = Chord::all_on(crate::pitch::note("Eb")).nth(chord).unwrap();
            let chord = if raised { chord } else { chord.with_bass(crate::pitch::note("G")) };
            // Mostly one hand below the other.
            let up = |key: u8| if raised { (key + 24).min(127) } else { key };
            let rights: Vec<Vec<u8>> = rights.into_iter().map(|hand| hand.into_iter().map(up).collect::<std::collections::BTreeSet<_>>().into_iter().collect()).collect();
            let sets = RuleSet::names().map(|name| RuleSet::named(name).unwrap()).chain([more()]);
            for rules in sets {
                let judge = rules.judge_for(chord, &situation(at));
                let right_keys: Vec<&[u8]> = rights.iter().map(|keys| &keys[..]).collect();
                let mut scores: Vec<Vec<crate::rules::Score>> = Vec::new();
                judge.score_pairs(lefts.iter().map(|keys| &keys[..]), &right_keys, |row| scores.push(row.iter().collect()));
                prop_assert_eq!(scores.len(), lefts.len());
                for (l, left) in lefts.iter().enumerate() {
                    for (r, right) in rights.iter().enumerate() {
                        if left.last().zip(right.first()).is_none_or(|(low, high)| low < high) {
                            prop_assert_eq!(scores[l][r], judge.score_keys(left, right), "{} {:?} {:?}", rules.name(), left, right);
                        }
                    }
                }
            }
        }
    }
}
