//! From the tree of a symbol to the chord it means.

use super::element::{Element, Part};
use super::fault::{Fault, Wrong};
use super::items::tension;
use crate::chord::{Chord, Degree, DegreeSet, Fifth, Quality, Seventh, Third};
use crate::pitch::NoteName;

/// A choice that a symbol makes at most once, with the sign that made it.
#[derive(Clone, Copy)]
struct Choice<T> {
    value: T,
    by: Option<(u8, u8)>,
}

impl<T: Copy + PartialEq> Choice<T> {
    const fn default(value: T) -> Self {
        Self { value, by: None }
    }

    /// Makes the choice, or says that another sign made a different one.
    fn choose(&mut self, part: Part<Element>, value: T) -> Result<(), Fault> {
        match self.by {
            Some(by) if self.value != value => Err(contradiction(part, by)),
            _ => {
                *self = Self { value, by: Some((part.start, part.end)) };
                Ok(())
            }
        }
    }
}

const fn at(part: Part<Element>, wrong: Wrong) -> Fault {
    Fault { start: part.start as usize, end: part.end as usize, wrong }
}

const fn contradiction(part: Part<Element>, by: (u8, u8)) -> Fault {
    at(part, Wrong::Contradicts(by.0, by.1))
}

struct Lowering<'a> {
    text: &'a [u8],
    third: Choice<Third>,
    fifth: Choice<Fifth>,
    seventh: Choice<Seventh>,
    /// The highest number (7, 9, 11 or 13) and its sign.
    number: Option<(u8, Part<Element>)>,
    /// A `maj` that waits for its number.
    major: Option<Part<Element>>,
    explicit: DegreeSet,
    /// Numbers to leave out of what the symbol's number brings, as bits.
    omitted: u16,
    /// Whether `alt` was read, which has the altered fifths in it.
    altered: bool,
    /// Whether the fifth was altered by a sign of its own, so that another one is a tension.
    fifth_altered: bool,
}

/// Lowers the parts of a symbol.
pub(super) fn lower(
    text: &[u8],
    root: Part<NoteName>,
    elements: &[Part<Element>],
    bass: Option<Part<NoteName>>,
) -> Result<Chord, Fault> {
    let mut lowering = Lowering {
        text,
        third: Choice::default(Third::Major),
        fifth: Choice::default(Fifth::Perfect),
        seventh: Choice::default(Seventh::None),
        number: None,
        major: None,
        explicit: DegreeSet::EMPTY,
        omitted: 0,
        altered: false,
        fifth_altered: false,
    };
    for part in elements {
        lowering.element(*part)?;
    }
    let chord = lowering.finish(root.value, elements)?;
    Ok(match bass {
        Some(bass) => chord.with_bass(bass.value),
        None => chord,
    })
}

impl Lowering<'_> {
    fn element(&mut self, part: Part<Element>) -> Result<(), Fault> {
        match part.value {
            Element::Minor => match self.major {
                // `maj` waits for a number, and gets `m`.
                Some(major) if self.number.is_none() => Err(contradiction(part, (major.start, major.end))),
                _ => self.third.choose(part, Third::Minor),
            },
            Element::Major { triangle } => self.major(part, triangle),
            Element::Dominant => self.seventh.choose(part, Seventh::Flat),
            Element::Diminished => {
                // `7dim` is `dim7`; `m7dim` has its fifth lowered.
                if self.third.value == Third::Major && self.is_by_number(Seventh::Flat) {
                    self.seventh.value = Seventh::DoubleFlat;
                }
                self.third.choose(part, Third::Minor)?;
                self.fifth.choose(part, Fifth::Flat)
            }
            Element::Augmented => self.fifth.choose(part, Fifth::Sharp),
            Element::HalfDiminished => {
                self.third.choose(part, Third::Minor)?;
                self.fifth.choose(part, Fifth::Flat)?;
                self.seventh.choose(part, Seventh::Flat)
            }
            Element::Number(number) => self.number(part, number),
            Element::Suspended { second } => {
                self.suspend(part, if second { Third::Second } else { Third::Fourth })
            }
            Element::SuspendedBoth => {
                self.suspend(part, Third::Second)?;
                self.suspend(part, Third::Fourth)
            }
            // A suspension has no third anyway.
            Element::Omit(3) if matches!(self.third.value, Third::Second | Third::Fourth) => Ok(()),
            Element::Omit(3) => self.third.choose(part, Third::None),
            Element::Omit(5) => self.fifth.choose(part, Fifth::None),
            Element::Omit(number) => self.omit(part, number),
            Element::Altered => {
                self.fifth = Choice { value: Fifth::None, by: Some((part.start, part.end)) };
                self.seventh.choose(part, Seventh::Flat)?;
                self.explicit = self.explicit.union(Chord::ALTERED);
                self.altered = true;
                Ok(())
            }
            Element::Alter { alteration, number: 5 } => self.alter_fifth(part, alteration),
            Element::Alter { alteration, number: 7 } => self.seventh.choose(
                part,
                match alteration {
                    -2 => Seventh::DoubleFlat,
                    -1 => Seventh::Flat,
                    _ => Seventh::Major,
                },
            ),
            Element::Add { alteration: 0, number: 3 } => {
                // The suspended note stays, beside the third.
                match self.third.value {
                    Third::Second => self.explicit = self.explicit.with(Degree::Nine),
                    Third::Fourth => self.explicit = self.explicit.with(Degree::Eleven),
                    Third::None | Third::Minor | Third::Major => {}
                }
                self.third = Choice { value: Third::Major, by: Some((part.start, part.end)) };
                Ok(())
            }
            Element::Add { alteration: 0, number: 6 } if self.seventh.by.is_none() => {
                self.seventh.choose(part, Seventh::Sixth)
            }
            Element::Alter { alteration, number } | Element::Add { alteration, number } => {
                self.explicit = self.explicit.union(tension(number, alteration).into_iter().collect());
                Ok(())
            }
        }
    }

    /// Whether the seventh is this one, and no sign but the number chose it.
    fn is_by_number(&self, seventh: Seventh) -> bool {
        let by_number = self.number.is_some_and(|(_, part)| self.seventh.by == Some((part.start, part.end)));
        self.seventh.value == seventh && by_number
    }

    /// A suspension takes the place of a minor third; of two, the second is a ninth.
    fn suspend(&mut self, part: Part<Element>, third: Third) -> Result<(), Fault> {
        let by = Some((part.start, part.end));
        match self.third.value {
            Third::Minor => self.third = Choice { value: third, by },
            Third::Second | Third::Fourth if self.third.value != third => {
                self.third = Choice { value: Third::Fourth, by };
                self.explicit = self.explicit.with(Degree::Nine);
            }
            _ => self.third.choose(part, third)?,
        }
        Ok(())
    }

    /// The first altered fifth is the chord's, a second one the tension on its key.
    fn alter_fifth(&mut self, part: Part<Element>, alteration: i8) -> Result<(), Fault> {
        let (fifth, key) = match alteration {
            ..=-1 => (Fifth::Flat, Degree::SharpEleven),
            _ => (Fifth::Sharp, Degree::FlatThirteen),
        };
        if self.altered {
            return Ok(());
        }
        if self.fifth_altered && self.fifth.value != fifth {
            self.explicit = self.explicit.with(key);
            return Ok(());
        }
        self.fifth_altered = true;
        self.fifth.choose(part, fifth)
    }

    /// A `maj` in front of the number waits for it; behind it, it raises the seventh that the number brought (`7M`,
    /// `m9(maj7)`). A diminished seventh stays beside the major one, as a thirteenth.
    fn major(&mut self, part: Part<Element>, triangle: bool) -> Result<(), Fault> {
        if let Some(earlier) = self.major {
            return Err(contradiction(part, (earlier.start, earlier.end)));
        }
        if self.is_by_number(Seventh::Flat) || self.is_by_number(Seventh::DoubleFlat) {
            if self.seventh.value == Seventh::DoubleFlat {
                self.explicit = self.explicit.with(Degree::Thirteen);
            }
            self.seventh = Choice { value: Seventh::Major, by: Some((part.start, part.end)) };
        } else if let Some(by) = self.seventh.by {
            return Err(contradiction(part, by));
        }
        self.major = Some(part);
        if triangle { self.seventh.choose(part, Seventh::Major) } else { Ok(()) }
    }

    fn number(&mut self, part: Part<Element>, number: u8) -> Result<(), Fault> {
        match (number, self.number) {
            (2, _) => self.explicit = self.explicit.with(Degree::Nine),
            (4, _) if self.third.value == Third::Second => self.suspend(part, Third::Fourth)?,
            (4, _) => self.third.choose(part, Third::Fourth)?,
            (5, _) => self.third.choose(part, Third::None)?,
            // A number that stands behind another one adds its note: `7(9)`, `m9(13)`, `7/6`.
            (6, Some(_)) => self.explicit = self.explicit.with(Degree::Thirteen),
            (9 | 11 | 13, _) if self.number.is_some() || self.seventh.value == Seventh::Sixth => {
                self.explicit = self.explicit.union(tension(number, 0).into_iter().collect());
            }
            (6, _) => self.seventh.choose(part, Seventh::Sixth)?,
            (69, _) => {
                self.seventh.choose(part, Seventh::Sixth)?;
                self.explicit = self.explicit.with(Degree::Nine);
            }
            // The seventh of a `maj` that came behind the number: `m9(maj7)`, `dim7(maj7)`.
            (7, Some((first, sign)))
                if self.major.is_some_and(|major| major.start > sign.start)
                    && (first > 7 || self.explicit.contains(Degree::Thirteen)) => {}
            (_, Some((_, earlier))) => return Err(contradiction(part, (earlier.start, earlier.end))),
            // A sign has said which seventh it is: `m(#7,9)`.
            (_, None) if number > 7 && self.seventh.by.is_some() => self.number = Some((number, part)),
            (_, None) => {
                self.number = Some((number, part));
                let diminished = (self.third.value, self.fifth.value) == (Third::Minor, Fifth::Flat);
                let seventh = match (self.major, self.seventh.by) {
                    (Some(_), _) => Seventh::Major,
                    (None, None) if diminished => Seventh::DoubleFlat,
                    _ => Seventh::Flat,
                };
                self.seventh.choose(part, seventh)?;
            }
        }
        Ok(())
    }

    /// Leaves out what a number or a suspension brings; what a sign of its own brings cannot be left out.
    fn omit(&mut self, part: Part<Element>, number: u8) -> Result<(), Fault> {
        let higher = self.number.is_some_and(|(highest, _)| highest > number);
        match (number, self.third.by, self.seventh.by) {
            (2, Some(by), _) if self.third.value == Third::Second => Err(contradiction(part, by)),
            (4, Some(by), _) if self.third.value == Third::Fourth => Err(contradiction(part, by)),
            (7, _, Some((start, end))) if higher => {
                self.seventh = Choice { value: Seventh::None, by: Some((start, end)) };
                Ok(())
            }
            (6 | 7, _, Some(by)) => Err(contradiction(part, by)),
            (9 | 11, ..) if higher => {
                self.omitted |= 1 << number;
                Ok(())
            }
            _ => match self.number {
                Some((same, sign)) if same == number => Err(contradiction(part, (sign.start, sign.end))),
                _ => Err(at(part, Wrong::NotThere)),
            },
        }
    }

    fn finish(mut self, root: NoteName, elements: &[Part<Element>]) -> Result<Chord, Fault> {
        // A `maj` without a number: the major triad, except behind `m`, where it can only mean the seventh.
        if let (Some(major), None) = (self.major, self.number)
            && self.third.value == Third::Minor
        {
            self.seventh.choose(major, Seventh::Major)?;
        }
        let quality =
            Quality { third: self.third.value, fifth: self.fifth.value, seventh: self.seventh.value };
        let chord = Chord::new(root, quality);
        let tones = chord.quality().tones();
        let implied = self.number.map_or(DegreeSet::EMPTY, |(number, _)| Chord::implied(quality, number));
        let implied = Chord::unreplaced(implied, self.explicit).without_keys_of(tones);
        let implied = implied.iter().filter(|degree| self.omitted >> degree.number() & 1 == 0).collect();
        // What is there already under another name changes nothing, but for a ninth that fights for the third's key and
        // a thirteenth for the seventh's.
        const RIVALS: DegreeSet = DegreeSet::EMPTY.with(Degree::FlatThree).with(Degree::DoubleFlatSeven);
        let rivals = tones.difference(tones.difference(RIVALS));
        if self.explicit.shares_a_key_with(rivals) {
            return Err(self.same_key(rivals, elements));
        }
        Ok(chord.with_checked_tensions(self.explicit.without_keys_of(tones).union(implied)))
    }

    /// The sign that brings a chord tone under another name.
    fn same_key(&self, tones: DegreeSet, elements: &[Part<Element>]) -> Fault {
        let tone_of = |degree: Degree| tones.iter().find(|tone| tone.semitones() == degree.semitones());
        let wrong = self.explicit.iter().find_map(|degree| Some((degree, tone_of(degree)?)));
        let (degree, tone) = wrong.unwrap_or((Degree::Root, Degree::Root));
        let brings = |element: Element| match element {
            Element::Alter { alteration, number } | Element::Add { alteration, number } => {
                tension(number, alteration) == Some(degree)
            }
            Element::Number(69) => degree == Degree::Nine,
            Element::Number(number) => tension(number, 0) == Some(degree),
            Element::Altered => Chord::ALTERED.contains(degree),
            _ => false,
        };
        let part = elements.iter().rev().find(|part| brings(part.value));
        let (start, end) = part.map_or((0, self.text.len()), |part| (part.start.into(), part.end.into()));
        Fault { start, end, wrong: Wrong::SameKey(degree, tone) }
    }
}
