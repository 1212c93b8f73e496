//! MusicXML's kinds of chord and what they hold, for reading and for writing.
//!
//! Source: MusicXML 4.0 schema, `kind-value` and `degree-value` (handbook of check values, part 1, section 8).
//!
//! The schema has the natural eleventh in every thirteenth. Over a major third it is left out here, as our `C13`
//! leaves it out; where a raised eleventh joins in, the writer says that it replaces the natural one.

use crate::chord::{Degree, DegreeSet, Fifth, Quality, Seventh, Third};

/// A kind whose content the schema defines.
#[derive(Clone, Copy, Debug)]
pub(super) struct KindRow {
    /// The value as written.
    pub(super) value: &'static str,
    quality: Quality,
    tensions: &'static [Degree],
}

/// Kinds that the schema names without defining what they hold.
pub(super) const UNDEFINED: [&str; 7] =
    ["Neapolitan", "Italian", "French", "German", "pedal", "Tristan", "other"];

/// The kind that says that no chord sounds.
pub(super) const NONE: &str = "none";

/// The kinds with defined content, simpler ones first: the writer prefers them in this order.
pub(super) const KINDS: [KindRow; 25] = {
    const fn row(value: &'static str, quality: Quality, tensions: &'static [Degree]) -> KindRow {
        KindRow { value, quality, tensions }
    }
    use Degree::{Eleven, Nine, Thirteen};
    [
        row("major", Quality::MAJOR, &[]),
        row("minor", Quality::MINOR, &[]),
        row("augmented", Quality::AUGMENTED, &[]),
        row("diminished", Quality::DIMINISHED, &[]),
        row("dominant", Quality::DOMINANT_SEVENTH, &[]),
        row("major-seventh", Quality::MAJOR_SEVENTH, &[]),
        row("minor-seventh", Quality::MINOR_SEVENTH, &[]),
        row("diminished-seventh", Quality::DIMINISHED_SEVENTH, &[]),
        row("augmented-seventh", Quality::AUGMENTED_SEVENTH, &[]),
        row("half-diminished", Quality::HALF_DIMINISHED, &[]),
        row("major-minor", Quality::MINOR_MAJOR_SEVENTH, &[]),
        row("major-sixth", Quality::SIXTH, &[]),
        row("minor-sixth", Quality::MINOR_SIXTH, &[]),
        row("dominant-ninth", Quality::DOMINANT_SEVENTH, &[Nine]),
        row("major-ninth", Quality::MAJOR_SEVENTH, &[Nine]),
        row("minor-ninth", Quality::MINOR_SEVENTH, &[Nine]),
        row("dominant-11th", Quality::DOMINANT_SEVENTH, &[Nine, Eleven]),
        row("major-11th", Quality::MAJOR_SEVENTH, &[Nine, Eleven]),
        row("minor-11th", Quality::MINOR_SEVENTH, &[Nine, Eleven]),
        row("dominant-13th", Quality::DOMINANT_SEVENTH, &[Nine, Thirteen]),
        row("major-13th", Quality::MAJOR_SEVENTH, &[Nine, Thirteen]),
        row("minor-13th", Quality::MINOR_SEVENTH, &[Nine, Eleven, Thirteen]),
        row("suspended-second", Quality::SUSPENDED_SECOND, &[]),
        row("suspended-fourth", Quality::SUSPENDED_FOURTH, &[]),
        row("power", Quality::POWER, &[]),
    ]
};

impl KindRow {
    /// The kind with this value.
    pub(super) fn named(value: &str) -> Option<&'static Self> {
        KINDS.iter().find(|row| row.value == value)
    }

    /// What it holds.
    pub(super) fn content(&self) -> Content {
        Content { quality: self.quality, tensions: self.tensions.iter().copied().collect() }
    }

    /// Whether other readers hear a natural eleventh that we leave out.
    pub(super) fn hides_eleventh(&self) -> bool {
        self.tensions.contains(&Degree::Thirteen) && !self.tensions.contains(&Degree::Eleven)
    }
}

/// What a `degree` element does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum StepType {
    Add,
    Alter,
    Subtract,
}

impl StepType {
    pub(super) const ALL: [Self; 3] = [Self::Add, Self::Alter, Self::Subtract];

    pub(super) const fn as_str(self) -> &'static str {
        match self {
            Self::Add => "add",
            Self::Alter => "alter",
            Self::Subtract => "subtract",
        }
    }
}

/// A `degree` element.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Step {
    pub(super) kind: StepType,
    pub(super) number: u8,
    pub(super) alter: i8,
}

impl std::fmt::Display for Step {
    /// As a symbol would say it: `add9`, `b5`, `no3`.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let sign =
            if self.alter < 0 { "b" } else { "#" }.repeat(usize::from(self.alter.unsigned_abs().min(2)));
        match self.kind {
            StepType::Add if self.alter == 0 => write!(f, "add{}", self.number),
            StepType::Add | StepType::Alter => write!(f, "{sign}{}", self.number),
            StepType::Subtract => write!(f, "no{}", self.number),
        }
    }
}

/// What a chord holds while degrees are applied to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Content {
    pub(super) quality: Quality,
    pub(super) tensions: DegreeSet,
}

impl Content {
    /// The root alone: what `other` starts from.
    pub(super) const BARE: Self = Self {
        quality: Quality { third: Third::None, fifth: Fifth::None, seventh: Seventh::None },
        tensions: DegreeSet::EMPTY,
    };

    /// Applies a degree; `None` where it asks for what no chord of ours has.
    pub(super) fn apply(mut self, step: Step) -> Option<Self> {
        let Step { kind, number, alter } = step;
        match (kind, number) {
            (StepType::Subtract, 3) => self.quality.third = Third::None,
            (StepType::Subtract, 5) => self.quality.fifth = Fifth::None,
            (StepType::Subtract, 6 | 7) => self.quality.seventh = Seventh::None,
            (StepType::Subtract, 2 | 4) if matches!(self.quality.third, Third::Second | Third::Fourth) => {
                self.quality.third = Third::None;
            }
            (StepType::Subtract, _) => self = self.without(tension_number(number)?),
            (StepType::Add, 3) => self = self.add_third(alter)?,
            (StepType::Alter, 3) => {
                self.quality.third = match (self.quality.third, alter) {
                    (third, 0) => third,
                    (Third::Major | Third::None, -1) => Third::Minor,
                    (Third::Minor, 1) => Third::Major,
                    _ => return None,
                };
            }
            (StepType::Add, 5) => self = self.add_fifth(alter)?,
            (StepType::Alter, 5) => {
                let now = match self.quality.fifth {
                    Fifth::Flat => -1,
                    Fifth::Sharp => 1,
                    Fifth::None | Fifth::Perfect => 0,
                };
                self.quality.fifth = fifth(alter.checked_add(now)?)?;
            }
            (StepType::Add, 6) if alter == 0 && self.quality.seventh == Seventh::None => {
                self.quality.seventh = Seventh::Sixth;
            }
            (StepType::Add, 7) => self = self.add_seventh(alter)?,
            (StepType::Alter, 7) => {
                let now = match self.quality.seventh {
                    Seventh::DoubleFlat => -2,
                    Seventh::Flat | Seventh::None => -1,
                    Seventh::Major => 0,
                    Seventh::Sixth => return None,
                };
                self.quality.seventh = seventh(alter.checked_add(now)?)?;
            }
            (StepType::Add, _) => {
                self.tensions = self.tensions.with(Degree::from_number(tension_number(number)?, alter)?);
            }
            (StepType::Alter, _) => {
                let number = tension_number(number)?;
                let now = self.tensions.iter().find(|d| d.number() == number).map_or(0, Degree::alteration);
                let changed = Degree::from_number(number, alter.checked_add(now)?)?;
                self = self.without(number);
                self.tensions = self.tensions.with(changed);
            }
        }
        Some(self)
    }

    fn without(mut self, number: u8) -> Self {
        self.tensions = self.tensions.iter().filter(|d| d.number() != number).collect();
        self
    }

    /// A third beside a suspension makes the suspended note a tension.
    fn add_third(mut self, alter: i8) -> Option<Self> {
        match self.quality.third {
            Third::Second => self.tensions = self.tensions.with(Degree::Nine),
            Third::Fourth => self.tensions = self.tensions.with(Degree::Eleven),
            Third::None | Third::Minor | Third::Major => {}
        }
        self.quality.third = match (self.quality.third, alter) {
            (Third::None | Third::Second | Third::Fourth | Third::Major, 0) => Third::Major,
            (Third::None | Third::Second | Third::Fourth | Third::Minor, -1) => Third::Minor,
            _ => return None,
        };
        Some(self)
    }

    /// A second fifth beside the perfect one is a tension.
    fn add_fifth(mut self, alter: i8) -> Option<Self> {
        match (self.quality.fifth, alter) {
            (Fifth::Perfect, -1) => self.tensions = self.tensions.with(Degree::SharpEleven),
            (Fifth::Perfect, 1) => self.tensions = self.tensions.with(Degree::FlatThirteen),
            (Fifth::None, _) => self.quality.fifth = fifth(alter)?,
            (now, _) if Some(now) == fifth(alter) => {}
            _ => return None,
        }
        Some(self)
    }

    /// A seventh beside a sixth makes the sixth a thirteenth. Added sevenths count from the minor one.
    fn add_seventh(mut self, alter: i8) -> Option<Self> {
        let added = seventh(alter.checked_sub(1)?)?;
        match self.quality.seventh {
            Seventh::None => self.quality.seventh = added,
            Seventh::Sixth => {
                self.quality.seventh = added;
                self.tensions = self.tensions.with(Degree::Thirteen);
            }
            now if now == added => {}
            _ => return None,
        }
        Some(self)
    }
}

const fn fifth(alteration: i8) -> Option<Fifth> {
    Some(match alteration {
        -1 => Fifth::Flat,
        0 => Fifth::Perfect,
        1 => Fifth::Sharp,
        _ => return None,
    })
}

const fn seventh(alteration: i8) -> Option<Seventh> {
    Some(match alteration {
        -2 => Seventh::DoubleFlat,
        -1 => Seventh::Flat,
        0 => Seventh::Major,
        _ => return None,
    })
}

/// The number of the tension that a degree means: a second is a ninth.
const fn tension_number(number: u8) -> Option<u8> {
    Some(match number {
        2 | 9 => 9,
        4 | 11 => 11,
        6 | 13 => 13,
        _ => return None,
    })
}

/// The kind and the degrees that spell a chord's content, as few degrees as possible.
pub(super) fn describe(target: Content) -> (&'static str, Vec<Step>) {
    let from_row = |row: &KindRow| {
        let steps = steps_from(row, target)?;
        let reached = steps.iter().try_fold(row.content(), |content, step| content.apply(*step));
        (reached == Some(target)).then_some((row.value, steps))
    };
    let best = KINDS.iter().filter_map(from_row).min_by_key(|(_, steps)| steps.len());
    best.unwrap_or(("other", Vec::new()))
}

/// The degrees that turn a kind into the content; `None` where the third cannot be reached.
fn steps_from(row: &KindRow, target: Content) -> Option<Vec<Step>> {
    let mut steps = Vec::new();
    let mut step = |kind, number, alter| steps.push(Step { kind, number, alter });
    let (have, want) = (row.content().quality, target.quality);
    if have.third != want.third {
        if want.third != Third::None || have.third != Third::Major {
            return None;
        }
        step(StepType::Subtract, 3, 0);
    }
    match (have.fifth, want.fifth) {
        (a, b) if a == b => {}
        (_, Fifth::None) => step(StepType::Subtract, 5, 0),
        (Fifth::Perfect, Fifth::Flat) => step(StepType::Alter, 5, -1),
        (Fifth::Perfect, Fifth::Sharp) => step(StepType::Alter, 5, 1),
        _ => return None,
    }
    match (have.seventh, want.seventh) {
        (a, b) if a == b => {}
        (Seventh::None, Seventh::Sixth) => step(StepType::Add, 6, 0),
        (Seventh::None, Seventh::DoubleFlat) => step(StepType::Add, 7, -1),
        (Seventh::None, Seventh::Flat) => step(StepType::Add, 7, 0),
        (Seventh::None, Seventh::Major) => step(StepType::Add, 7, 1),
        _ => return None,
    }
    let own = row.content().tensions;
    let missing = target.tensions.difference(own);
    let mut replaced = DegreeSet::EMPTY;
    for degree in missing.by_number() {
        let natural = own.iter().find(|d| {
            d.number() == degree.number() && !target.tensions.contains(*d) && !replaced.contains(*d)
        });
        let hidden = row.hides_eleventh() && degree == Degree::SharpEleven;
        let kind = if natural.is_some() || hidden { StepType::Alter } else { StepType::Add };
        if let Some(natural) = natural {
            replaced = replaced.with(natural);
        }
        step(kind, degree.number(), degree.alteration());
    }
    for degree in own.difference(target.tensions).difference(replaced).iter() {
        step(StepType::Subtract, degree.number(), 0);
    }
    Some(steps)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::{Chord, chord};
    use crate::pitch::NoteName;

    fn content(symbol: &str) -> Content {
        let chord = chord(symbol);
        Content { quality: chord.quality(), tensions: chord.tensions() }
    }

    /// The 33 values of the schema, each once.
    #[test]
    fn all_kinds_of_the_schema() {
        let all: std::collections::BTreeSet<_> =
            KINDS.iter().map(|row| row.value).chain(UNDEFINED).chain([NONE]).collect();
        assert_eq!(all.len(), 33);
        assert_eq!(KINDS.len() + UNDEFINED.len() + 1, 33);
    }

    /// Semitones of the kinds: handbook of check values, part 1, section 8; 13ths over a major third without the 11th.
    #[test]
    fn ok_published_contents() {
        for (kind, symbol) in [
            ("dominant", "C7"),
            ("major-minor", "Cm(maj7)"),
            ("dominant-11th", "C11"),
            ("minor-13th", "Cm13"),
            ("dominant-13th", "C13"),
            ("augmented-seventh", "C7#5"),
            ("power", "C5"),
        ] {
            assert_eq!(KindRow::named(kind).unwrap().content(), content(symbol), "{kind}");
            assert_eq!(describe(content(symbol)), (kind, vec![]));
        }
    }

    #[test]
    fn ok_degrees() {
        use StepType::{Add, Alter, Subtract};
        for (kind, steps, symbol) in [
            ("suspended-fourth", &[(Add, 7, 0)][..], "C7sus4"),
            ("suspended-fourth", &[(Add, 7, 0), (Add, 9, 0)], "C9sus4"),
            ("dominant", &[(Alter, 5, -1)], "C7b5"),
            ("dominant", &[(Add, 7, 0)], "C7"),
            ("dominant", &[(Add, 9, -1)], "C7(b9)"),
            ("dominant-ninth", &[(Alter, 9, -1)], "C7(b9)"),
            ("dominant-ninth", &[(Add, 11, 1)], "C9(#11)"),
            ("minor-seventh", &[(Add, 13, -1)], "Cm7(b13)"),
            ("dominant", &[(Alter, 5, -1), (Subtract, 3, 0)], "C7b5(no3)"),
            ("augmented", &[(Alter, 5, -1)], "C"),
            ("major", &[(Add, 7, 1)], "Cmaj7"),
            ("major", &[(Add, 2, 0)], "C(add9)"),
            ("major-sixth", &[(Add, 9, 0)], "C6/9"),
            ("major-sixth", &[(Add, 7, 0)], "C7(13)"),
            ("dominant-13th", &[(Alter, 11, 1)], "C13(#11)"),
        ] {
            let start = KindRow::named(kind).unwrap().content();
            let reached = steps.iter().try_fold(start, |c, (kind, number, alter)| {
                c.apply(Step { kind: *kind, number: *number, alter: *alter })
            });
            assert_eq!(reached, Some(content(symbol)), "{kind} {steps:?}");
        }
        let other = [(Add, 3, -1), (Add, 5, 0), (Add, 7, 0)];
        let spelled = other.iter().try_fold(Content::BARE, |c, (kind, number, alter)| {
            c.apply(Step { kind: *kind, number: *number, alter: *alter })
        });
        assert_eq!(spelled, Some(content("Cm7")));
        for (kind, number, alter) in
            [(Add, 1, 0), (Add, 8, 0), (Alter, 5, 3), (Add, 7, 2), (Add, 9, -2), (Add, 200, 0)]
        {
            assert_eq!(content("C7").apply(Step { kind, number, alter }), None);
        }
    }

    /// Every chord there is can be spelled by a kind and degrees.
    #[test]
    fn all_chords_roundtrip() {
        let tensions: Vec<Degree> = Degree::ALL.into_iter().filter(|d| d.is_tension()).collect();
        let mut count = 0;
        for third in [Third::None, Third::Second, Third::Minor, Third::Major, Third::Fourth] {
            for fifth in [Fifth::None, Fifth::Flat, Fifth::Perfect, Fifth::Sharp] {
                for seventh in
                    [Seventh::None, Seventh::Sixth, Seventh::DoubleFlat, Seventh::Flat, Seventh::Major]
                {
                    for bits in 0..1u32 << tensions.len() {
                        let chosen = tensions.iter().enumerate().filter(|(i, _)| bits >> i & 1 == 1);
                        let bare = Chord::new(NoteName::C, Quality { third, fifth, seventh });
                        let Ok(chord) = bare.with_tensions(chosen.map(|(_, d)| *d)) else { continue };
                        let target = Content { quality: chord.quality(), tensions: chord.tensions() };
                        let (kind, steps) = describe(target);
                        let row = KindRow::named(kind).unwrap_or_else(|| panic!("no kind for {chord}"));
                        let reached = steps.iter().try_fold(row.content(), |c, s| c.apply(*s)).unwrap();
                        assert_eq!(reached, target, "{chord}");
                        count += 1;
                    }
                }
            }
        }
        assert!(count > 4_000, "{count}");
    }
}
