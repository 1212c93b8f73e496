//! Left hands without a root, beside the shells: as data.

use itertools::Itertools;
use smallvec::SmallVec;

use super::tones::Tones;
use crate::chord::{Chord, Degree, Family, Third};
use crate::voicing::Hand;

/// A left hand from the bottom up, by members of the chord.
struct Form {
    members: &'static [Member],
    /// Over which chords it is usual.
    over: fn(Chord) -> bool,
    #[expect(dead_code, reason = "the source stands beside the fact")]
    source: &'static str,
}

/// A member of a chord.
#[derive(Clone, Copy)]
enum Member {
    Root,
    /// What the chord has in place of it: its own third, fourth, fifth, seventh or sixth.
    Third,
    Fifth,
    Seventh,
    /// The ninth, which is natural or, over a dominant, altered too; the root over a half-diminished chord.
    Ninth,
    /// The natural eleventh.
    Eleventh,
    /// The thirteenth, which is natural or, over a dominant, flat too.
    Thirteenth,
}

use Member::{Eleventh, Fifth, Ninth, Root, Seventh, Third as ThirdMember, Thirteenth};

const RICHARDS: &str =
    "Richards, Exploring Jazz Piano 2 (the author's summary): three notes with 3 or with 7 at the bottom";
const TWO_FORMS: &str = "two forms for each chord, 3 lowest or 7 lowest: Tymoczko, A Geometry of Music (2011), fig. 10.1.2; the table common practice";
const FOURTHS: &str =
    "Mantooth, The Instrumentalist, June 1984: fourths downward from the root (major) or the third (minor)";
const TRIADS: &str = "common practice, no source";

const FORMS: &[Form] = &[
    Form { members: &[ThirdMember, Seventh, Ninth], over: any, source: RICHARDS },
    Form { members: &[Seventh, ThirdMember, Fifth], over: any, source: RICHARDS },
    Form { members: &[Seventh, ThirdMember, Thirteenth], over: any, source: RICHARDS },
    Form { members: &[ThirdMember, Fifth, Seventh, Ninth], over: any, source: TWO_FORMS },
    Form { members: &[Seventh, Ninth, ThirdMember, Fifth], over: any, source: TWO_FORMS },
    Form { members: &[ThirdMember, Thirteenth, Seventh, Ninth], over: dominant, source: TWO_FORMS },
    Form { members: &[Seventh, Ninth, ThirdMember, Thirteenth], over: dominant, source: TWO_FORMS },
    Form { members: &[ThirdMember, Thirteenth, Ninth], over: major, source: FOURTHS },
    Form { members: &[Fifth, Root, Eleventh], over: minor, source: FOURTHS },
    Form { members: &[Root, Eleventh, Seventh], over: minor, source: FOURTHS },
    Form { members: &[ThirdMember, Fifth], over: any, source: TRIADS },
    Form { members: &[Fifth, ThirdMember], over: any, source: TRIADS },
    Form { members: &[Root, Fifth, ThirdMember], over: plain, source: TRIADS },
];

/// Four-note left-hand forms lie roughly from D3 on (common practice, no source); each form stands once, its lowest note within
/// an octave from here, where it stays below the other end.
const LOWEST: u8 = 50;
/// And reach up to G4 (the same).
const HIGHEST: u8 = 67;

fn any(_: Chord) -> bool {
    true
}

fn dominant(chord: Chord) -> bool {
    chord.family() == Family::Dominant
}

fn major(chord: Chord) -> bool {
    chord.quality().third == Third::Major
}

fn minor(chord: Chord) -> bool {
    chord.quality().third == Third::Minor
}

fn plain(chord: Chord) -> bool {
    chord.quality().seventh_degree().is_none()
}

/// The degrees that a member may be over a chord, as far as the chord gives these keys this meaning.
fn degrees(member: Member, chord: Chord, tones: &Tones) -> SmallVec<[Degree; 3]> {
    let quality = chord.quality();
    let own = |degree: Option<Degree>| degree.into_iter().collect();
    let tensions = |degrees: &[Degree]| {
        let root = chord.root().pitch_class();
        degrees.iter().copied().filter(|degree| tones.degree(degree.class_over(root)) == *degree).collect()
    };
    let is_dominant = dominant(chord);
    match member {
        Root => own(Some(Degree::Root)),
        ThirdMember => own(quality.third_degree()),
        Fifth => own(quality.fifth_degree()),
        Seventh => own(quality.seventh_degree()),
        Ninth if chord.family() == Family::HalfDiminished => own(Some(Degree::Root)),
        Ninth if is_dominant => tensions(&[Degree::Nine, Degree::FlatNine, Degree::SharpNine]),
        Ninth => tensions(&[Degree::Nine]),
        Eleventh => tensions(&[Degree::Eleven]),
        Thirteenth if is_dominant => tensions(&[Degree::Thirteen, Degree::FlatThirteen]),
        Thirteenth => tensions(&[Degree::Thirteen]),
    }
}

/// The forms over a chord, spelled by degree.
pub(super) fn hands(chord: Chord, tones: &Tones) -> impl Iterator<Item = Hand> {
    let forms = FORMS.iter().filter(move |form| (form.over)(chord));
    let stacks = forms.flat_map(move |form| {
        form.members.iter().map(|member| degrees(*member, chord, tones)).multi_cartesian_product()
    });
    let hands = stacks.filter_map(move |stack| tones.stacked(chord, &stack, LOWEST));
    hands.filter(|hand| hand.highest().is_some_and(|top| top.midi() <= HIGHEST))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;

    fn texts(symbol: &str) -> Vec<String> {
        hands(chord(symbol), &Tones::new(chord(symbol))).map(|hand| hand.to_string()).collect()
    }

    /// The rootless left hands of a ii V I, 3 lowest, 7 lowest, 3 lowest, and a half-diminished chord with its root: the published
    /// line F3 A3 C4 E4, F3 A3 B3 E4, E3 G3 B3 D4 (common practice; moves counted in `rules::kind::motion`).
    #[test]
    fn ok_the_two_forms() {
        assert!(texts("Dm7").contains(&"F3 A3 C4 E4".to_owned()));
        assert!(texts("G7").contains(&"F3 A3 B3 E4".to_owned()));
        assert!(texts("Cmaj7").contains(&"E3 G3 B3 D4".to_owned()));
        let of_two = texts("Bm7b5");
        assert!(of_two.contains(&"D3 F3 A3 B3".to_owned()), "{of_two:?}");
        assert!(texts("G7").contains(&"F3 Ab3 B3 Eb4".to_owned())); // b9 and b13
        assert!(texts("C").iter().any(|hand| hand == "E3 G3"));
    }

    #[test]
    fn all_forms_lie_in_the_tenor() {
        for chord in Chord::all_on(crate::pitch::note("F#")) {
            for hand in hands(chord, &Tones::new(chord)) {
                assert!((LOWEST..LOWEST + 12).contains(&hand.lowest().unwrap().midi()));
                assert!(hand.highest().unwrap().midi() <= HIGHEST);
                assert!((2..=4).contains(&hand.len()));
            }
        }
    }
}
