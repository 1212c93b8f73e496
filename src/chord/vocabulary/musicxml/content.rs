//! What a kind and its degrees hold.

use super::{DegreeChange, DegreeChangeType, Kind};
use crate::chord::{Chord, Degree, DegreeSet, Fifth, Quality, Seventh, Third};

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

    /// What the kind holds, where the schema defines it.
    pub(super) fn of_kind(kind: Kind) -> Option<Self> {
        let entry = kind.entry()?;
        Some(Self { quality: entry.quality, tensions: entry.tensions.iter().copied().collect() })
    }

    /// What a chord holds.
    pub(super) fn of_chord(chord: Chord) -> Self {
        Self { quality: chord.quality(), tensions: chord.tensions() }
    }

    /// Whether it has a degree of this number; a second is a ninth here.
    pub(super) fn has(self, number: u8) -> bool {
        let tones = self.quality.tones().union(self.tensions);
        tones.iter().any(|degree| degree.number() % 7 == number % 7)
    }

    /// Applies a degree; `None` where it asks for what no chord of ours has.
    pub(super) fn apply(mut self, change: DegreeChange) -> Option<Self> {
        let DegreeChange { kind, number, alter } = change;
        match (kind, number) {
            (DegreeChangeType::Subtract, 3) => self.quality.third = Third::None,
            (DegreeChangeType::Subtract, 5) => self.quality.fifth = Fifth::None,
            (DegreeChangeType::Subtract, 6) if self.quality.seventh == Seventh::Sixth => {
                self.quality.seventh = Seventh::None;
            }
            (DegreeChangeType::Subtract, 7) if self.quality.seventh != Seventh::Sixth => {
                self.quality.seventh = Seventh::None;
            }
            (DegreeChangeType::Subtract, 7) => {}
            (DegreeChangeType::Subtract, 2 | 4)
                if matches!(self.quality.third, Third::Second | Third::Fourth) =>
            {
                self.quality.third = Third::None;
            }
            (DegreeChangeType::Subtract, _) => self = self.without(tension_number(number)?),
            (DegreeChangeType::Add, 3) => self = self.add_third(alter)?,
            (DegreeChangeType::Alter, 3) => {
                self.quality.third = match (self.quality.third, alter) {
                    (third, 0) => third,
                    (Third::Major | Third::None, -1) => Third::Minor,
                    (Third::Minor, 1) => Third::Major,
                    _ => return None,
                };
            }
            (DegreeChangeType::Add, 5) => self = self.add_fifth(alter)?,
            (DegreeChangeType::Alter, 5) => {
                let now = match self.quality.fifth {
                    Fifth::Flat => -1,
                    Fifth::Sharp => 1,
                    Fifth::None | Fifth::Perfect => 0,
                };
                self.quality.fifth = fifth(alter.checked_add(now)?)?;
            }
            (DegreeChangeType::Add, 6) if alter == 0 && self.quality.seventh == Seventh::None => {
                self.quality.seventh = Seventh::Sixth;
            }
            (DegreeChangeType::Add, 7) => self = self.add_seventh(alter)?,
            (DegreeChangeType::Alter, 7) => {
                let now = match self.quality.seventh {
                    Seventh::DoubleFlat => -2,
                    Seventh::Flat | Seventh::None => -1,
                    Seventh::Major => 0,
                    Seventh::Sixth => return None,
                };
                self.quality.seventh = seventh(alter.checked_add(now)?)?;
            }
            (DegreeChangeType::Add, _) => {
                self.tensions = self.tensions.with(Degree::from_number(tension_number(number)?, alter)?);
            }
            (DegreeChangeType::Alter, _) => {
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
pub(super) fn describe(target: Content) -> (Kind, Vec<DegreeChange>) {
    let from_kind = |kind: Kind| {
        let start = Content::of_kind(kind)?;
        let changes = changes_from(kind, start, target)?;
        let reached = changes.iter().try_fold(start, |content, change| content.apply(*change));
        (reached == Some(target)).then_some((kind, changes))
    };
    let best = Kind::ALL.into_iter().filter_map(from_kind).min_by_key(|(_, changes)| changes.len());
    best.unwrap_or((Kind::Other, Vec::new()))
}

/// The degrees that turn a kind into the content; `None` where the third cannot be reached.
fn changes_from(kind: Kind, start: Content, target: Content) -> Option<Vec<DegreeChange>> {
    let mut changes = Vec::new();
    let mut change = |kind, number, alter| changes.push(DegreeChange { kind, number, alter });
    let (have, want) = (start.quality, target.quality);
    if have.third != want.third {
        if want.third != Third::None || have.third != Third::Major {
            return None;
        }
        change(DegreeChangeType::Subtract, 3, 0);
    }
    match (have.fifth, want.fifth) {
        (a, b) if a == b => {}
        (_, Fifth::None) => change(DegreeChangeType::Subtract, 5, 0),
        (Fifth::Perfect, Fifth::Flat) => change(DegreeChangeType::Alter, 5, -1),
        (Fifth::Perfect, Fifth::Sharp) => change(DegreeChangeType::Alter, 5, 1),
        _ => return None,
    }
    match (have.seventh, want.seventh) {
        (a, b) if a == b => {}
        (Seventh::None, Seventh::Sixth) => change(DegreeChangeType::Add, 6, 0),
        (Seventh::None, Seventh::DoubleFlat) => change(DegreeChangeType::Add, 7, -1),
        (Seventh::None, Seventh::Flat) => change(DegreeChangeType::Add, 7, 0),
        (Seventh::None, Seventh::Major) => change(DegreeChangeType::Add, 7, 1),
        _ => return None,
    }
    let own = start.tensions;
    let missing = target.tensions.difference(own);
    let mut replaced = DegreeSet::EMPTY;
    for degree in missing.by_number() {
        let natural = own.iter().find(|d| {
            d.number() == degree.number() && !target.tensions.contains(*d) && !replaced.contains(*d)
        });
        let hidden = kind.hides_eleventh() && degree == Degree::SharpEleven;
        let change_type =
            if natural.is_some() || hidden { DegreeChangeType::Alter } else { DegreeChangeType::Add };
        if let Some(natural) = natural {
            replaced = replaced.with(natural);
        }
        change(change_type, degree.number(), degree.alteration());
    }
    for degree in own.difference(target.tensions).difference(replaced).iter() {
        change(DegreeChangeType::Subtract, degree.number(), 0);
    }
    Some(changes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;

    fn content(symbol: &str) -> Content {
        Content::of_chord(chord(symbol))
    }

    fn kind(text: &str) -> Kind {
        text.parse().unwrap()
    }

    #[test]
    fn all_defined_kinds_need_no_degrees() {
        for kind in Kind::ALL.into_iter().filter(|kind| kind.is_defined()) {
            assert_eq!(describe(Content::of_kind(kind).unwrap()), (kind, vec![]));
        }
        assert_eq!(Content::of_kind(kind("dominant-13th")), Some(content("C13")));
        assert_eq!(Content::of_kind(kind("augmented-seventh")), Some(content("C7#5")));
    }

    #[test]
    fn ok_degrees() {
        use DegreeChangeType::{Add, Alter, Subtract};
        for (name, changes, symbol) in [
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
            ("dominant-13th", &[(Subtract, 6, 0)], "C9"),
            ("major-sixth", &[(Subtract, 6, 0)], "C"),
            ("major-sixth", &[(Subtract, 7, 0)], "C6"),
        ] {
            let start = Content::of_kind(kind(name)).unwrap();
            let reached = changes.iter().try_fold(start, |c, (kind, number, alter)| {
                c.apply(DegreeChange { kind: *kind, number: *number, alter: *alter })
            });
            assert_eq!(reached, Some(content(symbol)), "{name} {changes:?}");
        }
        let other = [(Add, 3, -1), (Add, 5, 0), (Add, 7, 0)];
        let spelled = other.iter().try_fold(Content::BARE, |c, (kind, number, alter)| {
            c.apply(DegreeChange { kind: *kind, number: *number, alter: *alter })
        });
        assert_eq!(spelled, Some(content("Cm7")));
        for (kind, number, alter) in
            [(Add, 1, 0), (Add, 8, 0), (Alter, 5, 3), (Add, 7, 2), (Add, 9, -2), (Add, 200, 0)]
        {
            assert_eq!(content("C7").apply(DegreeChange { kind, number, alter }), None);
        }
    }
}
