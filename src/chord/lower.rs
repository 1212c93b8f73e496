//! From the tree of a symbol to the chord it means.

use super::symbol::{Element, Part, wrong};
use super::{Chord, Degree, DegreeSet, Fifth, Quality, Seventh, Third};
use crate::error::{Error, Result};
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
    fn choose(&mut self, text: &str, part: Part<Element>, value: T) -> Result<()> {
        match self.by {
            Some(_) if self.value != value => Err(contradiction(text, part, self.by)),
            _ => {
                *self = Self { value, by: Some((part.start, part.end)) };
                Ok(())
            }
        }
    }
}

fn contradiction(text: &str, part: Part<Element>, earlier: Option<(u8, u8)>) -> Error {
    let sign = |(start, end): (u8, u8)| text.get(start.into()..end.into()).unwrap_or_default().to_owned();
    let this = (part.start, part.end);
    let other = earlier.map_or_else(|| "the rest".to_owned(), |by| format!("`{}`", sign(by)));
    wrong(text, part.start.into(), part.end.into(), format!("`{}` contradicts {other}", sign(this)))
        .with_help("leave one of the two out")
}

struct Lowering<'a> {
    text: &'a str,
    third: Choice<Third>,
    fifth: Choice<Fifth>,
    seventh: Choice<Seventh>,
    /// The highest number: 7, 9, 11 or 13.
    number: Option<u8>,
    /// A `maj` that waits for its number.
    major: Option<Part<Element>>,
    explicit: DegreeSet,
    places: [Option<Part<Element>>; Degree::ALL.len()],
}

/// Lowers the parts of a symbol.
pub(super) fn lower(
    text: &str,
    root: Part<NoteName>,
    elements: &[Part<Element>],
    bass: Option<Part<NoteName>>,
) -> Result<Chord> {
    let mut lowering = Lowering {
        text,
        third: Choice::default(Third::Major),
        fifth: Choice::default(Fifth::Perfect),
        seventh: Choice::default(Seventh::None),
        number: None,
        major: None,
        explicit: DegreeSet::EMPTY,
        places: [None; Degree::ALL.len()],
    };
    for part in elements {
        lowering.element(*part)?;
    }
    let chord = lowering.finish(root.value)?;
    Ok(match bass {
        Some(bass) => chord.with_bass(bass.value),
        None => chord,
    })
}

impl Lowering<'_> {
    fn element(&mut self, part: Part<Element>) -> Result<()> {
        match part.value {
            Element::Minor => self.third.choose(self.text, part, Third::Minor),
            Element::Major { triangle } => {
                if self.major.is_some() || self.seventh.by.is_some() {
                    return Err(contradiction(self.text, part, self.seventh.by));
                }
                self.major = Some(part);
                if triangle { self.seventh.choose(self.text, part, Seventh::Major) } else { Ok(()) }
            }
            Element::Diminished => {
                self.third.choose(self.text, part, Third::Minor)?;
                self.fifth.choose(self.text, part, Fifth::Flat)
            }
            Element::Augmented => self.fifth.choose(self.text, part, Fifth::Sharp),
            Element::HalfDiminished => {
                self.third.choose(self.text, part, Third::Minor)?;
                self.fifth.choose(self.text, part, Fifth::Flat)?;
                self.seventh.choose(self.text, part, Seventh::Flat)
            }
            Element::Number(number) => self.number(part, number),
            Element::Suspended { second } => {
                let third = if second { Third::Second } else { Third::Fourth };
                self.third.choose(self.text, part, third)
            }
            Element::Omit(3) => self.third.choose(self.text, part, Third::None),
            Element::Omit(_) => self.fifth.choose(self.text, part, Fifth::None),
            Element::Altered => {
                self.fifth.choose(self.text, part, Fifth::None)?;
                if self.seventh.value != Seventh::Flat {
                    self.seventh.choose(self.text, part, Seventh::Flat)?;
                }
                for degree in [Degree::FlatNine, Degree::SharpNine, Degree::SharpEleven, Degree::FlatThirteen]
                {
                    self.add(part, degree);
                }
                Ok(())
            }
            Element::Alter { alteration: -1, number: 5 } => self.fifth.choose(self.text, part, Fifth::Flat),
            Element::Alter { alteration: 1, number: 5 } => self.fifth.choose(self.text, part, Fifth::Sharp),
            Element::Add { alteration: 0, number: 6 } if self.seventh.by.is_none() => {
                self.seventh.choose(self.text, part, Seventh::Sixth)
            }
            Element::Alter { alteration, number } | Element::Add { alteration, number } => {
                let tension = if number < 7 { number + 7 } else { number };
                match Degree::from_number(tension, alteration) {
                    Some(degree) => {
                        self.add(part, degree);
                        Ok(())
                    }
                    None => Err(wrong(
                        self.text,
                        part.start.into(),
                        part.end.into(),
                        "no chord has this alteration".to_owned(),
                    )
                    .with_help("the alterations are b5 #5 b9 #9 #11 b13")),
                }
            }
        }
    }

    fn add(&mut self, part: Part<Element>, degree: Degree) {
        self.explicit = self.explicit.with(degree);
        if let Some(place) = self.places.get_mut(degree as usize) {
            *place = Some(part);
        }
    }

    fn number(&mut self, part: Part<Element>, number: u8) -> Result<()> {
        match number {
            2 => self.add(part, Degree::Nine),
            4 => self.third.choose(self.text, part, Third::Fourth)?,
            5 => self.third.choose(self.text, part, Third::None)?,
            6 => self.seventh.choose(self.text, part, Seventh::Sixth)?,
            69 => {
                self.seventh.choose(self.text, part, Seventh::Sixth)?;
                self.add(part, Degree::Nine);
            }
            // A number that stands behind another one adds its note: `7(9)`, `m9(13)`.
            _ if self.number.is_some() || self.seventh.value == Seventh::Sixth => {
                match Degree::from_number(number, 0).filter(|d| d.is_tension()) {
                    Some(degree) => self.add(part, degree),
                    None => return Err(contradiction(self.text, part, self.seventh.by)),
                }
            }
            _ => {
                self.number = Some(number);
                let seventh = if self.major.is_some() {
                    Seventh::Major
                } else if (self.third.value, self.fifth.value) == (Third::Minor, Fifth::Flat)
                    && self.seventh.by.is_none()
                {
                    Seventh::DoubleFlat
                } else {
                    Seventh::Flat
                };
                self.seventh.choose(self.text, part, seventh)?;
            }
        }
        Ok(())
    }

    fn finish(mut self, root: NoteName) -> Result<Chord> {
        // A `maj` without a number: the major triad, except behind `m`, where it can only mean the seventh.
        if let (Some(major), None) = (self.major, self.number)
            && self.third.value == Third::Minor
        {
            self.seventh.choose(self.text, major, Seventh::Major)?;
        }
        let quality =
            Quality { third: self.third.value, fifth: self.fifth.value, seventh: self.seventh.value };
        let chord = Chord::new(root, quality);
        let tones = chord.quality().tones();
        let implied = Chord::unreplaced(
            self.number.map_or(DegreeSet::EMPTY, |number| Chord::implied(quality, number)),
            self.explicit,
        );
        let clashes = |d: &Degree| tones.iter().any(|tone| tone.semitones() == d.semitones());
        let implied: DegreeSet = implied.iter().filter(|d| !clashes(d)).collect();
        if let Some(bad) = self.explicit.iter().find(clashes) {
            let tone = tones.iter().find(|tone| tone.semitones() == bad.semitones()).unwrap_or(Degree::Root);
            let place = self.places.get(bad as usize).copied().flatten();
            let (start, end) = place.map_or((0, self.text.len()), |p| (p.start.into(), p.end.into()));
            return Err(wrong(
                self.text,
                start,
                end,
                format!("`{bad}` is the same key as the chord's own `{tone}`"),
            )
            .with_help("leave it out, or write the chord whose tone it is"));
        }
        chord.with_tensions(implied.union(self.explicit).iter())
    }
}
