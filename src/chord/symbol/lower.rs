//! From the tree of a symbol to the chord it means.

use super::element::{Element, Part};
use super::fault::{Fault, Wrong};
use super::read::tension;
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
            Element::Minor => self.third.choose(part, Third::Minor),
            Element::Major { triangle } => self.major(part, triangle),
            Element::Dominant => self.seventh.choose(part, Seventh::Flat),
            Element::Diminished => {
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
                let third = if second { Third::Second } else { Third::Fourth };
                self.third.choose(part, third)
            }
            Element::Omit(3) => self.third.choose(part, Third::None),
            Element::Omit(5) => self.fifth.choose(part, Fifth::None),
            Element::Omit(number) => self.omit(part, number),
            Element::Altered => {
                self.fifth.choose(part, Fifth::None)?;
                self.seventh.choose(part, Seventh::Flat)?;
                self.explicit = self.explicit.union(ALTERED);
                Ok(())
            }
            Element::Alter { alteration, number: 5 } => {
                self.fifth.choose(part, if alteration < 0 { Fifth::Flat } else { Fifth::Sharp })
            }
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

    fn major(&mut self, part: Part<Element>, triangle: bool) -> Result<(), Fault> {
        let letter = self.text.get(part.start.into()..part.end.into()) == Some(b"M".as_slice());
        match (self.number, self.major) {
            // `C7M`
            (Some((_, number)), None)
                if letter && number.end == part.start && self.seventh.value == Seventh::Flat =>
            {
                self.seventh = Choice { value: Seventh::Major, by: Some((part.start, part.end)) };
            }
            (_, Some(earlier)) => return Err(contradiction(part, (earlier.start, earlier.end))),
            _ => {
                if let Some(by) = self.seventh.by {
                    return Err(contradiction(part, by));
                }
            }
        }
        self.major = Some(part);
        if triangle { self.seventh.choose(part, Seventh::Major) } else { Ok(()) }
    }

    fn number(&mut self, part: Part<Element>, number: u8) -> Result<(), Fault> {
        match number {
            2 => self.explicit = self.explicit.with(Degree::Nine),
            4 => self.third.choose(part, Third::Fourth)?,
            5 => self.third.choose(part, Third::None)?,
            // A number that stands behind another one adds its note: `7(9)`, `m9(13)`, `7/6`.
            6 if self.number.is_some() => self.explicit = self.explicit.with(Degree::Thirteen),
            9 | 11 | 13 if self.number.is_some() || self.seventh.value == Seventh::Sixth => {
                self.explicit = self.explicit.union(tension(number, 0).into_iter().collect());
            }
            6 => self.seventh.choose(part, Seventh::Sixth)?,
            69 => {
                self.seventh.choose(part, Seventh::Sixth)?;
                self.explicit = self.explicit.with(Degree::Nine);
            }
            _ => {
                if let Some((_, earlier)) = self.number {
                    return Err(contradiction(part, (earlier.start, earlier.end)));
                }
                self.number = Some((number, part));
                let seventh = if self.major.is_some() {
                    Seventh::Major
                } else if (self.third.value, self.fifth.value) == (Third::Minor, Fifth::Flat)
                    && self.seventh.by.is_none()
                {
                    Seventh::DoubleFlat
                } else {
                    Seventh::Flat
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
        if self.explicit.shares_a_key_with(tones) {
            return Err(self.same_key(tones, elements));
        }
        Ok(chord.with_checked_tensions(self.explicit.union(implied)))
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
            Element::Altered => ALTERED.contains(degree),
            _ => false,
        };
        let part = elements.iter().rev().find(|part| brings(part.value));
        let (start, end) = part.map_or((0, self.text.len()), |part| (part.start.into(), part.end.into()));
        Fault { start, end, wrong: Wrong::SameKey(degree, tone) }
    }
}

/// The tensions of `alt`.
const ALTERED: DegreeSet = DegreeSet::EMPTY
    .with(Degree::FlatNine)
    .with(Degree::SharpNine)
    .with(Degree::SharpEleven)
    .with(Degree::FlatThirteen);
