//! Rows of what fires, found once for all left hands that have something in common.

use smallvec::SmallVec;

use super::super::sink::{Both, Source, Sum};
use super::super::{Sink, Sound};
use super::between::{Between, Tests};
use super::cells::{Cells, Found, Row};
use super::members::places;
use super::memory::Memory;
use super::one_hand::OneHand;
use super::rights::Rights;
use crate::rules::kind::{Division, PairTest, Test};

/// A test of some pitch classes, these, and the rows for how much of them the left hand has.
type OfSet<'t> = (Source, &'t Test, u16, Vec<(u16, usize)>);

/// What fires for each right hand, whatever the left plays.
const RIGHT: usize = 0;
/// What comes with each pitch class in the left hand: the rows from here.
const CLASSES: usize = 1;

/// Room for so many rows is made at once: those of pitch classes, then some for each of what left hands have in common.
const USUAL_ROWS: usize = 100;

/// All rows of one question.
pub(super) struct Rows<'t, 'h> {
    rights: &'h Rights,
    memory: Option<&'h mut Memory>,
    /// What is the same in every octave of the right hand: a cell for each shape.
    shapes: Cells,
    /// The rest, where shapes have several octaves: a cell for each right hand.
    apart: Option<Cells>,
    /// What fires for each shape with a left hand, while that is added up.
    of_shapes: Row,
    /// What fires between the hands.
    between: Between,
    /// The tests that look there.
    tests: Tests,
    /// What comes where the left hand has so much of these pitch classes.
    sets: Vec<OfSet<'t>>,
    /// The rows that have been found for pitch classes of a left hand.
    known: Vec<(u16, usize)>,
    pairs: Vec<(Source, PairTest)>,
    left: Vec<(Source, &'t Test)>,
    pub(super) whole: Vec<(Source, &'t Test)>,
}

impl<'t, 'h> Rows<'t, 'h> {
    pub(super) fn new(rights: &'h Rights, memory: Option<&'h mut Memory>) -> Self {
        let count = rights.shapes().len();
        let mut shapes = Cells::new(count, USUAL_ROWS);
        (0..CLASSES + 12).for_each(|_| _ = shapes.add_row());
        let several = rights.octaves > 1;
        let apart = several.then(|| {
            let mut apart = Cells::new(rights.hands.len(), 1);
            _ = apart.add_row();
            apart
        });
        Self {
            rights,
            memory,
            shapes,
            apart,
            of_shapes: Row::new(if several { count } else { 0 }),
            between: Between::new(Tests::default(), rights),
            tests: Tests::default(),
            sets: Vec::new(),
            known: Vec::new(),
            pairs: Vec::new(),
            left: Vec::new(),
            whole: Vec::new(),
        }
    }

    pub(super) fn take(&mut self, source: Source, test: &'t Test) {
        let Rights { lows, members, .. } = self.rights;
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
                self.tests.across.push((source, test.clone()));
            }
            Division::Neighbours { .. } => {
                self.left.push((source, test));
                self.take_right(&source, test);
                self.tests.joins.push((source, test.clone()));
            }
            Division::Gap => self.tests.gaps.push((source, test.clone())),
            Division::Top => {
                let of_two = |hand: &OneHand| match hand.keys() {
                    [.., low, high] => test.joined(*low, *high),
                    _ => 0,
                };
                self.shapes.fire(RIGHT, &source, self.rights.shapes(), of_two);
                if lows.iter().any(|(_, is_alone)| *is_alone) {
                    self.tests.joins.push((source, test.clone()));
                }
            }
            Division::Class(class) => {
                let (with, without) = (members.with_class(class), members.without_class(class));
                self.shapes.fire_for(RIGHT, &source, with);
                self.shapes.fire_for(CLASSES + usize::from(class), &source, without);
            }
            Division::Classes(classes) => self.sets.push((source, test, classes, Vec::new())),
            Division::Doubled(classes) => {
                self.left.push((source, test));
                self.take_right(&source, test);
                for class in (0..12u8).filter(|class| classes >> class & 1 == 1) {
                    let both = members.with_class(class);
                    self.shapes.fire_for(CLASSES + usize::from(class), &source, both);
                }
            }
            Division::Pair(pair) if pair.lower != pair.upper => {
                self.shapes.fire_for(RIGHT, &source, members.with_pair(&pair));
                for (class, lower) in [(pair.lower, true), (pair.upper, false)] {
                    let more = members.completing(&pair, lower);
                    self.shapes.fire_for(CLASSES + usize::from(class), &source, more);
                }
                self.pairs.push((source, pair));
            }
            Division::Pair(_) | Division::Whole => self.whole.push((source, test)),
        }
    }

    /// All tests are taken.
    pub(super) fn ready(&mut self) {
        let tests = std::mem::take(&mut self.tests);
        let known = self.memory.as_mut().and_then(|memory| memory.between.take());
        let same = known.filter(|known| *known.tests() == tests);
        self.between = same.unwrap_or_else(|| Between::new(tests, self.rights));
    }

    /// No left hand will come any more: what may serve the next chord is kept.
    pub(super) fn done(self) {
        if let Some(memory) = self.memory {
            memory.between = Some(self.between);
        }
    }

    /// What a test finds in each right hand alone.
    fn take_right(&mut self, source: &Source, test: &Test) {
        let Self { rights, shapes, apart, memory, .. } = self;
        let cells = match apart {
            Some(apart) if !test.is_the_same_in_octaves() => apart,
            _ => shapes,
        };
        match memory.as_mut().and_then(|memory| memory.of(source, test, rights)) {
            Some(known) => cells.add_first_of(known, RIGHT),
            None => fire_alone(cells, RIGHT, rights.hands_for(test), source, test, rights),
        }
    }

    /// The row of what fires with these pitch classes in the left hand, whichever keys they are.
    fn of_classes(&mut self, classes: u16) -> usize {
        if let Some((_, row)) = self.known.iter().find(|(known, _)| *known == classes) {
            return *row;
        }
        let (cells, hands) = (&mut self.shapes, self.rights.shapes());
        let mut rows: SmallVec<[usize; 16]> = SmallVec::new();
        rows.push(RIGHT);
        rows.extend((0..12).filter(|class| classes >> class & 1 == 1).map(|class| CLASSES + class));
        for (source, test, asked, known) in &mut self.sets {
            let held = classes & *asked;
            if test.is_met_by(held) {
                continue;
            }
            let row = known.iter().find(|(known, _)| *known == held).map(|(_, row)| *row);
            rows.push(row.unwrap_or_else(|| {
                let row = cells.add_row();
                cells.fire(row, source, hands, |hand| test.times_of_classes(held | hand.classes));
                known.push((held, row));
                row
            }));
        }
        let row = cells.add_sum(&rows);
        self.known.push((classes, row));
        row
    }

    /// What fires for a left hand with each right hand.
    pub(super) fn of(&mut self, left: &[u8], into: &mut Row) {
        let own = OneHand::left(left);
        // Where a pair sounds in the left hand alone, it fires once, whatever the right hand plays.
        let mut everywhere = Sum::default();
        for (source, _) in self.pairs.iter().filter(|(_, pair)| own.fires(pair)) {
            everywhere.fire(source, 1, 0);
        }
        for (source, test) in &self.left {
            test.run(&own.sound, |times, _| everywhere.fire(source, times, 0));
        }
        let of_classes = self.of_classes(own.classes);
        let Self { rights, pairs, between, shapes, apart, of_shapes, .. } = self;
        between.ask(left, rights);
        let of_classes = shapes.row(of_classes);
        let mut rows: SmallVec<[Found<'_>; 8]> = SmallVec::new();
        rows.push(apart.as_ref().map_or(of_classes, |apart| apart.row(RIGHT)));
        rows.extend(between.of(left));
        if apart.is_some() {
            of_shapes.sum(&[of_classes], Both::of(&everywhere));
            take_pairs(pairs, rights, &own, &mut of_shapes.both);
            let above = rights.above(left.last().copied().unwrap_or_default());
            into.sum_repeated(&rows, of_shapes, above);
        } else {
            into.sum(&rows, Both::of(&everywhere));
            take_pairs(pairs, rights, &own, &mut into.both);
        }
        if everywhere.clash {
            into.clash.fill(u64::MAX);
        }
    }
}

/// Takes away what pairs that sound in the left hand alone have fired again.
fn take_pairs(pairs: &[(Source, PairTest)], rights: &Rights, left: &OneHand, both: &mut [Both]) {
    for (source, pair) in pairs.iter().filter(|(_, pair)| left.fires(pair)) {
        let weight = source.weight();
        if weight.clash {
            continue;
        }
        let either_way = pair.either_way && left.has(pair.upper);
        let completing = [Some(true), either_way.then_some(false)].into_iter().flatten();
        let completing = completing.flat_map(|lower| places(rights.members.completing(pair, lower)));
        for place in places(rights.members.with_pair(pair)).chain(completing) {
            if let Some(both) = both.get_mut(place) {
                both.take_times(&weight, 1);
            }
        }
    }
}

/// Adds what a test finds in each of these right hands alone; of neighbours, what the lowest key alone gives is left out. What
/// kind of test it is, is asked once for all hands.
pub(super) fn fire_alone(
    cells: &mut Cells,
    row: usize,
    hands: &[OneHand],
    source: &Source,
    test: &Test,
    rights: &Rights,
) {
    macro_rules! each {
        ($test:ident) => {
            cells.fire(row, source, hands, |hand| {
                let mut all = 0i32;
                $test.run(&hand.sound, |times, _| all = all.saturating_add(times));
                all
            })
        };
    }
    match test {
        // Where no hand has a class twice, none is doubled.
        Test::Doubling(test) if !test.looks_at(rights.doubled) => {}
        Test::Doubling(test) => each!(test),
        Test::Interval(test) => each!(test),
        Test::Outside(test) => each!(test),
        Test::Voices(test) => each!(test),
        Test::Reach(test) => each!(test),
        Test::Structure(test) => each!(test),
        Test::Spacing(test) => each!(test),
        Test::Melody(test) => each!(test),
        _ => match test.division() {
            Division::Neighbours { below } => {
                let alone = |(low, _): &(u8, bool)| times(test, &Sound::new(&[], &[*low]));
                let of_lows: SmallVec<[i32; 24]> = rights.lows.iter().map(alone).collect();
                let low = |hand: &OneHand| of_lows.get(hand.low).copied().unwrap_or_default();
                cells.fire(row, source, hands, |hand| match hand.keys() {
                    [lowest, ..] if *lowest < below => times(test, &hand.sound) - low(hand),
                    _ => 0,
                });
            }
            _ => cells.fire(row, source, hands, |hand| times(test, &hand.sound)),
        },
    }
}

/// How often a test fires.
pub(super) fn times(test: &Test, sound: &Sound) -> i32 {
    let mut all = 0i32;
    test.run(sound, |times, _| all = all.saturating_add(times));
    all
}
