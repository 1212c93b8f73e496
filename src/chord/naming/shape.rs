//! Qualities as the naming tests them: by bits.

use super::reason::Reason;
use super::usage::{Usage, fighting, takes_altered, thirteen_may_stand_in, usage};
use crate::chord::{Degree, Family, Fifth, Quality, Seventh, Third};

/// The keys of the natural and the altered tensions: 9 11 13, and b9 #9 #11 b13.
pub(super) const NATURAL_KEYS: u16 = 1 << 2 | 1 << 5 | 1 << 9;
pub(super) const ALTERED_KEYS: u16 = 1 << 1 | 1 << 3 | 1 << 6 | 1 << 8;

/// A quality as the naming tests it. Keys are bits by semitones above the root.
pub(super) struct Shape {
    pub(super) quality: Quality,
    pub(super) tones: u16,
    /// The keys of third and seventh.
    pub(super) guides: u16,
    /// Keys that must sound.
    needs: u16,
    /// Keys that must not.
    forbids: u16,
    /// Whether third and seventh sound, so that the root may be understood, where there is more than the two.
    guided: bool,
    /// Whether they are a tritone, which says it by itself.
    tritone: bool,
    /// Keys that it has tensions on. A thirteenth over a triad is a sixth.
    takes: u16,
    /// The key of the fifth.
    fifth: u16,
    /// Keys where a tension fights a chord tone.
    fights: u16,
    pub(super) has_altered_fifth: bool,
    /// Points of a tension of each kind.
    natural: i32,
    altered: i32,
    /// Points of the quality by itself.
    points: i32,
}

const THIRDS: [Third; 5] = [Third::Major, Third::Minor, Third::Fourth, Third::Second, Third::None];
const FIFTHS: [Fifth; 3] = [Fifth::Perfect, Fifth::Flat, Fifth::Sharp];
const SEVENTHS: [Seventh; 4] = [Seventh::None, Seventh::Sixth, Seventh::Flat, Seventh::Major];

/// Shapes by third, seventh and fifth; the altered dominant at the end.
const COUNT: usize = THIRDS.len() * SEVENTHS.len() * FIFTHS.len() + 1;

pub(super) const SHAPES: [Shape; COUNT] = {
    let mut shapes = [const { Shape::altered() }; COUNT];
    let mut index = 0;
    while index + 1 < shapes.len() {
        #[expect(clippy::indexing_slicing, reason = "const: an index out of bounds is a compile error")]
        {
            shapes[index] = Shape::of(Quality {
                third: THIRDS[index / FIFTHS.len() / SEVENTHS.len()],
                fifth: FIFTHS[index % FIFTHS.len()],
                seventh: SEVENTHS[index / FIFTHS.len() % SEVENTHS.len()],
            });
        }
        index += 1;
    }
    shapes
};

/// Places of the plain triads in [`SHAPES`], which stand first in it.
pub(super) const MAJOR_TRIAD: usize = 0;
pub(super) const MINOR_TRIAD: usize = SEVENTHS.len() * FIFTHS.len();

pub(super) const fn key_of(degree: Option<Degree>) -> u16 {
    match degree {
        Some(degree) => 1 << degree.semitones(),
        None => 0,
    }
}

impl Shape {
    const fn of(quality: Quality) -> Self {
        let quality = quality.normalized();
        let (third, fifth) = (key_of(quality.third_degree()), key_of(quality.fifth_degree()));
        let seventh = key_of(quality.seventh_degree());
        let tones = 1 | third | fifth | seventh;
        let stacked = matches!(quality.third, Third::Major | Third::Minor);
        // A perfect fifth may be understood where there is a third or a seventh to go by.
        let fifth_needed = !matches!(quality.fifth, Fifth::Perfect | Fifth::None)
            || (!stacked && matches!(quality.seventh, Seventh::None));
        let usage = usage(quality);
        let has_altered_fifth = matches!(usage, Usage::AlteredFifth);
        let standing = match quality.third {
            Third::None => Reason::NoThird.points(),
            Third::Second => Reason::Suspended(Degree::Second).points(),
            Third::Fourth => Reason::Suspended(Degree::Fourth).points(),
            Third::Minor | Third::Major => 0,
        };
        let altered = if takes_altered(quality) {
            Reason::Altered(Degree::FlatNine)
        } else {
            Reason::AlteredElsewhere(Degree::SharpEleven)
        };
        let altered = altered.points();
        // What any tension costs beside.
        let over_triad = if matches!(quality.seventh, Seventh::None) {
            Reason::OverTriad(Degree::Nine).points()
        } else {
            0
        };
        let anywhere = over_triad
            + match quality.family() {
                Family::Diminished => Reason::OverDiminished(Degree::Nine).points(),
                Family::HalfDiminished => Reason::OverHalfDiminished(Degree::Nine).points(),
                _ => 0,
            };
        let sixth = if matches!(quality.seventh, Seventh::Sixth) { Reason::Sixth.points() } else { 0 };
        let usage = match usage {
            Usage::Usual => 0,
            Usage::AlteredFifth => Reason::AlteredFifth(Degree::SharpFive).points(),
            Usage::Rare => Reason::Rare.points(),
            Usage::Unusual => Reason::Unusual.points(),
            Usage::Nameless => Reason::Nameless.points(),
        };
        Self {
            quality,
            tones,
            guides: third | seventh,
            needs: third | seventh | if fifth_needed { fifth } else { 0 },
            // What has a third, or a fourth in its place, is no chord without one.
            forbids: if matches!(quality.third, Third::None) { 1 << 3 | 1 << 4 | 1 << 5 } else { 0 },
            tritone: matches!((quality.third, quality.seventh), (Third::Major, Seventh::Flat)),
            guided: stacked && matches!(quality.seventh, Seventh::Flat | Seventh::Major),
            takes: match quality.seventh {
                Seventh::None => (NATURAL_KEYS | ALTERED_KEYS) & !(1 << Degree::Thirteen.semitones()),
                _ => NATURAL_KEYS | ALTERED_KEYS,
            },
            fifth,
            fights: fighting(quality, tones),
            has_altered_fifth,
            natural: Reason::Natural(Degree::Nine).points() + anywhere,
            altered: altered + anywhere,
            points: standing + sixth + usage,
        }
    }

    /// The altered dominant: all four altered tensions, and no fifth.
    const fn altered() -> Self {
        let quality = Quality { third: Third::Major, fifth: Fifth::None, seventh: Seventh::Flat };
        let shape = Self::of(quality);
        Self { needs: shape.needs | ALTERED_KEYS, forbids: !(shape.tones | ALTERED_KEYS), ..shape }
    }

    /// The keys that are tensions, where the shape accounts for all keys.
    pub(super) const fn tension_keys(&self, keys: u16) -> Option<u16> {
        let fits = keys & self.needs == self.needs
            && keys & self.forbids == 0
            && (keys & 1 == 1 || (self.guided && (keys.count_ones() > 2 || self.tritone)))
            && keys & !self.tones & !self.takes == 0;
        if fits { Some(keys & !self.tones) } else { None }
    }

    /// The sum of what `explain` says, the bass apart, by counting bits.
    pub(super) fn points(&self, keys: u16, tensions: u16) -> i32 {
        let count = |keys: u16| keys.count_ones() as i32;
        let mut points = self.points
            + count(tensions & NATURAL_KEYS) * self.natural
            + count(tensions & ALTERED_KEYS) * self.altered
            + count(tensions & self.fights) * Reason::Fights(Degree::Eleven).points();
        if self.fifth != 0 && keys & self.fifth == 0 {
            let stands_in =
                thirteen_may_stand_in(self.quality) && tensions >> Degree::Thirteen.semitones() & 1 == 1;
            points += if stands_in { Reason::ThirteenForFifth } else { Reason::NoFifth }.points();
        }
        if self.has_altered_fifth && tensions != 0 {
            points += Reason::BesideAlteredFifth.points();
        }
        if keys & 1 == 0 {
            points += Reason::NoRoot.points();
        }
        points
    }
}
