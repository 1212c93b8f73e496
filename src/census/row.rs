//! The rows of a census.

use std::cell::OnceCell;
use std::ops::{ControlFlow, Range};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use itertools::Itertools;
use smallvec::SmallVec;

use super::columns::{Column, TextList, Texts, Value};
use super::combination::Combination;
use super::near::Near;
use super::numbering::Census;
use super::work::{KnownHands, Left, Placing, RightHands, Work};
use crate::error::Result;
use crate::pitch::{PitchClass, PitchSet, SetClass};
use crate::rules::{FiredRules, Judge, Memory, RuleSet, Score, Verdict};
use crate::voicing::{Keyboard, RoughnessModel, RoughnessTable, Triad, Voicing};

/// Harmonics of each tone: as many as the published checks of the first model have.
const HARMONICS: u8 = 11;

/// Makes the rows of a census: what is the same for many rows is found once.
///
/// # Example
///
/// ```
/// use overshell::census::{Census, CensusRows, CensusSpace, Column, Value};
/// use overshell::rules::RuleSet;
/// use std::ops::ControlFlow;
///
/// let census = Census::new(CensusSpace::usual())?;
/// let rows = CensusRows::new(&census, RuleSet::standard());
/// rows.visit(624..625, |row| {
///     assert_eq!(row.value(Column::Chord), Value::Text("C5"));
///     println!("{}", serde_json::to_string(row).unwrap());
///     ControlFlow::<()>::Continue(())
/// })?;
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Debug)]
pub struct CensusRows<'c> {
    #[cfg_attr(
        not(feature = "parquet"),
        expect(dead_code, reason = "writers of files tell by it what rows share")
    )]
    number: u64,
    census: &'c Census,
    rules: &'c RuleSet,
    roughness: [RoughnessTable; 2],
    keyboard: Keyboard,
    /// Prime form and interval vector of every set class.
    classes: Vec<(SmallVec<[u8; 12]>, [u8; 6])>,
}

/// Numbers what has been begun: no two get the same while the program runs.
static BEGUN: AtomicU64 = AtomicU64::new(1);

fn next_begun() -> u64 {
    BEGUN.fetch_add(1, Ordering::Relaxed)
}

/// What all rows of one chord have in common.
struct ChordTexts<'r> {
    #[cfg_attr(
        not(feature = "parquet"),
        expect(dead_code, reason = "writers of files tell by it what rows share")
    )]
    number: u64,
    work: Work<'r>,
    root: String,
    quality: String,
    chord: String,
    triads: Vec<TriadTexts>,
    rights: Vec<RightTexts>,
    known: &'r [RightKnown],
}

/// What a right hand is over a chord.
struct RightTexts {
    degrees: [&'static str; 3],
    is_within_reach: bool,
    /// Where the quality of the chord has a say in it.
    spelled: OnceCell<String>,
    /// The rules that fire in it alone.
    fired: OnceCell<FiredRules>,
}

/// What a right hand is over all chords of a root.
#[derive(Default)]
struct RightKnown {
    spelled: OnceCell<String>,
    span: f64,
    /// What its keys amount to in each table of roughness.
    roughness: OnceCell<[u64; 2]>,
}

/// A triad over a chord.
struct TriadTexts {
    triad: String,
    label: String,
    set: PitchSet,
    /// The triad itself, for spelling its hands.
    value: Triad,
}

/// A left hand and what its rows have in common.
struct LeftTexts<'w> {
    /// Which of the left hands.
    #[cfg_attr(
        not(feature = "parquet"),
        expect(dead_code, reason = "writers of files tell by it what rows share")
    )]
    number: usize,
    left: &'w Left,
    shell: String,
    hand: String,
    degrees: SmallVec<[&'static str; 5]>,
    span: f64,
    is_within_reach: bool,
    /// What its keys amount to in each table of roughness.
    roughness: [u64; 2],
    set: PitchSet,
    /// The rules that fire in it alone.
    fired: OnceCell<FiredRules>,
    with_triads: Option<&'w WithTriads>,
}

/// The pitch classes of left hands, and what they make with each triad.
struct WithTriads {
    /// Which of them.
    #[cfg_attr(
        not(feature = "parquet"),
        expect(dead_code, reason = "writers of files tell by it what rows share")
    )]
    number: usize,
    set: PitchSet,
    of_triads: Vec<WithTriad>,
}

/// What sounds with a triad, and the rules that fire by the pitch classes of both hands.
#[derive(Clone, Default)]
struct WithTriad {
    sounding: OnceCell<Option<String>>,
    fired: OnceCell<FiredRules>,
}

/// One row. What costs time is found when it is asked for.
pub struct CensusRow<'r> {
    index: u64,
    score: Score,
    rows: &'r CensusRows<'r>,
    chord: &'r ChordTexts<'r>,
    left: &'r LeftTexts<'r>,
    placing: Placing,
    /// Which of the right hands.
    right: usize,
}

impl<'c> CensusRows<'c> {
    /// Prepares rows judged by these rules. Takes some 20 ms for the tables of roughness.
    pub fn new(census: &'c Census, rules: &'c RuleSet) -> Self {
        let table = |model| RoughnessTable::new(model, HARMONICS);
        Self {
            number: next_begun(),
            census,
            rules,
            roughness: [RoughnessModel::HutchinsonKnopoff, RoughnessModel::Sethares].map(table),
            keyboard: census.space().hand_size.keyboard(),
            classes: SetClass::all()
                .map(|class| {
                    (class.prime_form().iter().map(PitchClass::get).collect(), class.interval_vector())
                })
                .collect(),
        }
    }

    /// From the middle of the lowest key of a hand to that of the highest, in millimetres.
    fn span(&self, hand: &[u8]) -> f64 {
        let ends = hand.first().zip(hand.last());
        ends.map_or(0.0, |(low, high)| f64::from(self.keyboard.distance(*low, *high)) / 100.0)
    }

    fn sums_of_hand(&self, hand: &[u8]) -> [u64; 2] {
        self.roughness.each_ref().map(|table| table.sum_of_hand(hand))
    }

    /// The rows of a range, one after the other, until all are seen or the visitor has enough. Memory does not depend on the length
    /// of the range.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`](crate::Error::is_range) as [`Census::checked`] has it.
    pub fn visit<B>(
        &self,
        range: Range<u64>,
        mut each: impl FnMut(&CensusRow<'_>) -> ControlFlow<B>,
    ) -> Result<ControlFlow<B>> {
        let mut range = self.census.checked(range)?;
        let mut known = KnownHands::default();
        let mut known_rights: Option<(Arc<RightHands>, Vec<RightKnown>)> = None;
        while range.start < range.end {
            let Some((chord, lefts, next)) = self.census.lefts_from(&range) else { break };
            let (hands, memory) = known.over(self.census, chord, &lefts);
            let same = known_rights.take().filter(|(known, _)| Arc::ptr_eq(known, hands));
            let new =
                || (Arc::clone(hands), hands.keys().iter().map(|keys| RightKnown::new(self, keys)).collect());
            let (_, rights) = known_rights.insert(same.unwrap_or_else(new));
            let work = Work::new(self.census, chord, self.rules, hands);
            let texts = ChordTexts::new(self, work, rights);
            if let ControlFlow::Break(with) = self.visit_chord(&texts, &lefts, memory, &mut each) {
                return Ok(ControlFlow::Break(with));
            }
            range.start = next;
        }
        Ok(ControlFlow::Continue(()))
    }

    /// The same for many ranges, such as a [`CensusFilter`](super::CensusFilter) gives, ascending: what stands ready for a chord serves
    /// all that lie near each other.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`](crate::Error::is_range) as [`Census::checked`] has it; of the ranges before, those near it are not visited
    /// then.
    ///
    /// # Complexity
    ///
    /// What lies between near ranges is judged too, and passed over; memory does not depend on how many ranges there are.
    ///
    /// # Example
    ///
    /// ```
    /// use std::ops::ControlFlow;
    ///
    /// use overshell::census::{Census, CensusFilter, CensusRows, CensusSpace};
    /// use overshell::rules::RuleSet;
    ///
    /// let census = Census::new(CensusSpace::usual())?;
    /// let on_two = CensusFilter { labels: vec!["II".parse()?], ..CensusFilter::default() };
    /// let rows = CensusRows::new(&census, RuleSet::standard());
    /// let mut count = 0;
    /// let ended = rows.visit_ranges(on_two.ranges(&census, 0..10_000), |row| {
    ///     assert_eq!(row.combination().unwrap().label, on_two.labels[0]);
    ///     count += 1;
    ///     ControlFlow::<()>::Continue(())
    /// })?;
    /// assert!(ended.is_continue());
    /// assert_eq!(count, on_two.count(&census, 0..10_000));
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn visit_ranges<B>(
        &self,
        ranges: impl IntoIterator<Item = Range<u64>>,
        mut each: impl FnMut(&CensusRow<'_>) -> ControlFlow<B>,
    ) -> Result<ControlFlow<B>> {
        for together in Near::new(ranges) {
            let mut parts = together.parts();
            let ended = self.visit(together.whole(), |row| {
                let mut belongs = false;
                parts(row.index()..row.index() + 1, &mut |_| belongs = true);
                if belongs { each(row) } else { ControlFlow::Continue(()) }
            })?;
            if ended.is_break() {
                return Ok(ended);
            }
        }
        Ok(ControlFlow::Continue(()))
    }

    fn visit_chord<B>(
        &self,
        texts: &ChordTexts<'_>,
        lefts: &[Left],
        memory: &mut Memory,
        each: &mut impl FnMut(&CensusRow<'_>) -> ControlFlow<B>,
    ) -> ControlFlow<B> {
        let sets = WithTriads::of(lefts, texts.triads.len());
        let lefts: Vec<LeftTexts<'_>> =
            lefts.iter().enumerate().map(|left| LeftTexts::new(self, &texts.work, left, &sets)).collect();
        let mut of_lefts = lefts.iter();
        let mut ended = ControlFlow::Continue(());
        let (keys, hands) = (lefts.iter().map(|left| left.left.keys()), &texts.work.hands);
        texts.work.judge.score_pairs(keys, hands.rights(), Some(memory), |pairs| {
            let Some(left) = of_lefts.next().filter(|_| ended.is_continue()) else { return };
            let over = hands.over(left.left, self.census.space().right_octaves).skip(left.left.skip);
            for (index, (right, placing)) in left.left.range.clone().zip(over) {
                let score = pairs.at(right);
                let row = CensusRow { index, score, rows: self, chord: texts, left, placing, right };
                ended = each(&row);
                if ended.is_break() {
                    break;
                }
            }
        });
        ended
    }
}

impl<'r> ChordTexts<'r> {
    fn new(rows: &CensusRows<'_>, work: Work<'r>, known: &'r [RightKnown]) -> Self {
        let chord = work.chord;
        let c = rows.census.space().chords.iter().find(|own| own.on_root(chord.root()) == chord);
        let of_triad = |triad: &Triad| TriadTexts {
            triad: triad.to_string(),
            label: triad.label_over(chord).to_string(),
            set: triad.pitch_set(),
            value: *triad,
        };
        Self {
            number: next_begun(),
            root: chord.root().to_string(),
            quality: c.map_or_else(String::new, ToString::to_string),
            chord: chord.to_string(),
            triads: work.hands.triads.iter().map(of_triad).collect(),
            rights: work.hands.keys().iter().map(|keys| RightTexts::new(&work.judge, keys)).collect(),
            known,
            work,
        }
    }
}

/// The pitch classes of a left hand.
fn classes_of(left: &Left) -> PitchSet {
    left.keys().iter().map(|key| PitchClass::wrapping(i32::from(*key))).collect()
}

impl WithTriads {
    /// Those of these left hands, each once.
    fn of(lefts: &[Left], triads: usize) -> Vec<Self> {
        let sets = lefts.iter().map(classes_of).unique().enumerate();
        sets.map(|(number, set)| Self { number, set, of_triads: vec![WithTriad::default(); triads] })
            .collect()
    }
}

impl RightTexts {
    fn new(judge: &Judge<'_>, keys: &[u8; 3]) -> Self {
        Self {
            degrees: keys.map(|key| judge.meaning_of(PitchClass::wrapping(i32::from(key))).as_str()),
            is_within_reach: judge.within_reach(keys),
            spelled: OnceCell::new(),
            fired: OnceCell::new(),
        }
    }
}

impl RightKnown {
    fn new(rows: &CensusRows<'_>, keys: &[u8; 3]) -> Self {
        Self { span: rows.span(keys), ..Self::default() }
    }
}

impl<'w> LeftTexts<'w> {
    fn new(
        rows: &CensusRows<'_>,
        work: &Work<'_>,
        (number, left): (usize, &'w Left),
        sets: &'w [WithTriads],
    ) -> Self {
        let set = classes_of(left);
        let classes = left.keys().iter().map(|key| PitchClass::wrapping(i32::from(*key)));
        Self {
            number,
            left,
            shell: left.place.shell.to_string(),
            hand: left.hand.to_string(),
            degrees: classes.map(|class| work.judge.meaning_of(class).as_str()).collect(),
            span: rows.span(left.keys()),
            is_within_reach: work.judge.within_reach(left.keys()),
            roughness: rows.sums_of_hand(left.keys()),
            set,
            fired: OnceCell::new(),
            with_triads: sets.iter().find(|with| with.set == set),
        }
    }
}

#[cfg(feature = "parquet")]
impl CensusRow<'_> {
    /// What makes the rows, and what they have in common while one chord lasts: different numbers for different ones.
    pub(super) fn origin(&self) -> [u64; 2] {
        [self.rows.number, self.chord.number]
    }

    pub(super) fn left_number(&self) -> usize {
        self.left.number
    }

    /// Which of the sets of pitch classes that left hands have.
    pub(super) fn left_set_number(&self) -> usize {
        self.left.with_triads.map_or(0, |with| with.number)
    }

    pub(super) fn right_number(&self) -> usize {
        self.right
    }

    pub(super) fn placing(&self) -> Placing {
        self.placing
    }

    /// How many triads there are.
    pub(super) fn triads(&self) -> usize {
        self.chord.triads.len()
    }
}

impl CensusRow<'_> {
    /// The number of the combination.
    pub fn index(&self) -> u64 {
        self.index
    }

    /// The combination.
    pub fn combination(&self) -> Option<Combination> {
        self.rows.census.get(self.index)
    }

    /// Both hands, spelled.
    pub fn voicing(&self) -> Option<Voicing> {
        let right = self.triad()?.value.hand_over(self.chord.work.chord, self.right_keys())?;
        Voicing::new(self.left.left.hand, right).ok()
    }

    /// The keys of both hands, ascending.
    pub fn keys(&self) -> SmallVec<[u8; 8]> {
        self.left.left.keys().iter().copied().chain(self.right_keys()).collect()
    }

    /// Verdict and points.
    pub fn score(&self) -> Score {
        self.score
    }

    /// Clash, plain or colour.
    pub fn verdict(&self) -> Verdict {
        self.chord.work.judge.verdict(self.score)
    }

    /// The pitch classes that sound.
    pub fn pitch_set(&self) -> PitchSet {
        self.left.set.union(self.triad().map_or_else(PitchSet::default, |triad| triad.set))
    }

    fn right_keys(&self) -> [u8; 3] {
        self.chord.work.hands.keys().get(self.right).copied().unwrap_or_default()
    }

    fn triad(&self) -> Option<&TriadTexts> {
        self.chord.triads.get(self.placing.triad)
    }

    fn right(&self) -> Option<&RightTexts> {
        self.chord.rights.get(self.right)
    }

    fn with_triad(&self) -> Option<&WithTriad> {
        self.left.with_triads?.of_triads.get(self.placing.triad)
    }

    fn known_right(&self) -> Option<&RightKnown> {
        self.chord.known.get(self.right)
    }

    fn right_text(&self) -> &str {
        let Some(triad) = self.triad() else { return "" };
        let spelled = match triad.value.is_named_by_quality() {
            true => self.right().map(|right| &right.spelled),
            false => self.known_right().map(|known| &known.spelled),
        };
        let Some(spelled) = spelled else { return "" };
        spelled.get_or_init(|| {
            let hand = triad.value.hand_over(self.chord.work.chord, self.right_keys());
            hand.map_or_else(String::new, |hand| hand.to_string())
        })
    }

    fn sounding(&self) -> Option<&str> {
        let text = &self.with_triad()?.sounding;
        let chord = self.chord.work.chord;
        text.get_or_init(|| chord.sounding(self.pitch_set()).map(|chord| chord.to_string())).as_deref()
    }

    fn roughness(&self, model: usize) -> f64 {
        let (Some(table), Some(right)) = (self.rows.roughness.get(model), self.known_right()) else {
            return 0.0;
        };
        let keys = self.right_keys();
        let of_right = right.roughness.get_or_init(|| self.rows.sums_of_hand(&keys));
        let sums = [&self.left.roughness, of_right].iter().filter_map(|sums| sums.get(model)).sum();
        f64::from(table.of_hands([self.left.left.keys(), &keys], sums)) / 1_000.0
    }

    fn class(&self) -> Option<&(SmallVec<[u8; 12]>, [u8; 6])> {
        self.rows.classes.get(SetClass::of(self.pitch_set()).index())
    }

    pub(super) fn prime_form(&self) -> &[u8] {
        self.class().map_or(&[], |(form, _)| form)
    }

    pub(super) fn interval_vector(&self) -> &[u8] {
        self.class().map_or(&[], |(_, vector)| vector)
    }

    pub(super) fn keys_of_left(&self) -> &[u8] {
        self.left.left.keys()
    }

    pub(super) fn keys_of_right(&self) -> &[u8] {
        self.chord.work.hands.keys().get(self.right).map_or(&[], |keys| &keys[..])
    }

    /// The rules that fired, by their places in the set, ascending.
    pub(super) fn fired(&self) -> SmallVec<[u16; 16]> {
        let (judge, left, right) = (&self.chord.work.judge, self.keys_of_left(), self.keys_of_right());
        let mut fired = judge.fired_by_rest(left, right);
        fired.add(self.left.fired.get_or_init(|| judge.fired_in_left(left)));
        if let Some((texts, with)) = self.right().zip(self.with_triad()) {
            fired.add(texts.fired.get_or_init(|| judge.fired_in_right(right)));
            fired.add(with.fired.get_or_init(|| judge.fired_by_classes(left, right)));
        }
        fired.iter().collect()
    }

    fn points(points: i32) -> u32 {
        points.max(0).unsigned_abs()
    }

    /// What the row says in a column.
    pub fn value(&self, column: Column) -> Value<'_> {
        let (left, right) = (self.left.left.keys(), self.right_keys());
        let lowest = |keys: &[u8]| Value::Number(keys.first().copied().unwrap_or_default().into());
        match column {
            Column::Index => Value::Count(self.index),
            Column::Root => Value::Text(&self.chord.root),
            Column::Quality => Value::Text(&self.chord.quality),
            Column::Family => Value::Text(self.chord.work.chord.family().as_str()),
            Column::Chord => Value::Text(&self.chord.chord),
            Column::Shell => Value::Text(&self.left.shell),
            Column::Triad => Value::Text(self.triad().map_or("", |triad| &triad.triad)),
            Column::Label => Value::Text(self.triad().map_or("", |triad| &triad.label)),
            Column::Inversion => Value::Text(self.placing.inversion.name()),
            Column::Spacing => Value::Text(self.placing.spacing.as_str()),
            Column::LeftLowest => lowest(left),
            Column::RightLowest => lowest(&right),
            Column::Midi => Value::Keys([left, self.keys_of_right()]),
            Column::Left => Value::Text(&self.left.hand),
            Column::Right => Value::Text(self.right_text()),
            Column::Degrees => {
                let of_right = self.right().map_or(&[][..], |right| &right.degrees);
                Value::Texts(TextList(Texts::OfHands([&self.left.degrees, of_right])))
            }
            Column::Verdict => Value::Text(self.verdict().as_str()),
            Column::Colour => Value::Number(Self::points(self.score.colour)),
            Column::Cost => Value::Number(Self::points(self.score.cost)),
            Column::Rules => Value::Texts(TextList(Texts::OfRules(self.fired(), self.rows.rules))),
            Column::Sounding => Value::MaybeText(self.sounding()),
            Column::Forte => Value::Text(self.pitch_set().forte_name().as_str()),
            Column::PrimeForm => Value::Keys([self.prime_form(), &[]]),
            Column::IntervalVector => Value::Keys([self.interval_vector(), &[]]),
            Column::RoughnessHutchinsonKnopoff => Value::Measure(self.roughness(0)),
            Column::RoughnessSethares => Value::Measure(self.roughness(1)),
            Column::LeftSpan => Value::Measure(self.left.span),
            Column::RightSpan => Value::Measure(self.known_right().map_or(0.0, |right| right.span)),
            Column::Reachable => {
                let right = self.right().is_some_and(|right| right.is_within_reach);
                Value::Truth(self.left.is_within_reach && right)
            }
        }
    }
}

/// A map from the names of all columns to their values.
impl serde::Serialize for CensusRow<'_> {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(Column::ALL.iter().map(|column| (column.name(), self.value(*column))))
    }
}

impl std::fmt::Debug for CensusRow<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let values = Column::ALL.iter().map(|column| (column.name(), self.value(*column)));
        f.debug_map().entries(values).finish()
    }
}
