//! From a heap of degrees to a chord.

use crate::chord::{Chord, Degree, DegreeSet, Fifth, Quality, Seventh, Third};
use crate::error::Result;
use crate::pitch::NoteName;

/// Which degrees may be the third, in order; those behind the first become the tension of the same key.
const THIRDS: [(Degree, Third, Option<Degree>); 4] = [
    (Degree::Three, Third::Major, None),
    (Degree::FlatThree, Third::Minor, Some(Degree::SharpNine)),
    (Degree::Fourth, Third::Fourth, Some(Degree::Eleven)),
    (Degree::Second, Third::Second, Some(Degree::Nine)),
];
const FIFTHS: [(Degree, Fifth, Option<Degree>); 3] = [
    (Degree::Five, Fifth::Perfect, None),
    (Degree::FlatFive, Fifth::Flat, Some(Degree::SharpEleven)),
    (Degree::SharpFive, Fifth::Sharp, Some(Degree::FlatThirteen)),
];
const SEVENTHS: [(Degree, Seventh, Option<Degree>); 4] = [
    (Degree::MajorSeven, Seventh::Major, None),
    (Degree::FlatSeven, Seventh::Flat, None),
    (Degree::DoubleFlatSeven, Seventh::DoubleFlat, Some(Degree::Thirteen)),
    (Degree::Six, Seventh::Sixth, Some(Degree::Thirteen)),
];

/// The chord that holds these degrees and no other key. A key that two degrees name is one.
///
/// # Errors
///
/// None where there is at most one of the major and the minor seventh.
pub(super) fn settle(root: NoteName, degrees: DegreeSet) -> Result<Chord> {
    let mut tensions: DegreeSet = degrees.iter().filter(|degree| degree.is_tension()).collect();
    let quality = Quality {
        third: first(&THIRDS, degrees, &mut tensions).unwrap_or(Third::None),
        fifth: first(&FIFTHS, degrees, &mut tensions).unwrap_or(Fifth::None),
        seventh: first(&SEVENTHS, degrees, &mut tensions).unwrap_or(Seventh::None),
    };
    let chord = Chord::new(root, quality);
    let tones = chord.tones();
    let is_tone = |tension: &Degree| tones.iter().any(|tone| tone.semitones() == tension.semitones());
    chord.with_tensions(tensions.iter().filter(|tension| !is_tone(tension)))
}

fn first<T: Copy>(
    roles: &[(Degree, T, Option<Degree>)],
    degrees: DegreeSet,
    tensions: &mut DegreeSet,
) -> Option<T> {
    let mut present = roles.iter().filter(|(degree, ..)| degrees.contains(*degree));
    let chosen = present.next().map(|(_, role, _)| *role);
    *tensions = present.filter_map(|(.., tension)| *tension).fold(*tensions, DegreeSet::with);
    chosen
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;
    use crate::chord::vocabulary::sweep::all_contents;

    fn settled(degrees: &str) -> Chord {
        settle(NoteName::C, degrees.parse().unwrap()).unwrap()
    }

    #[test]
    fn all_chords_settle_as_themselves() {
        for chord in all_contents() {
            assert_eq!(settle(chord.root(), chord.tones()).unwrap(), chord);
        }
    }

    /// Every heap of degrees without two sevenths: the chord has the same keys.
    #[test]
    fn all_heaps_keep_their_keys() {
        for bits in 0..1u32 << Degree::ALL.len() {
            let of_bits = Degree::ALL.into_iter().enumerate().filter(|(at, _)| bits >> at & 1 == 1);
            let degrees: DegreeSet = of_bits.map(|(_, degree)| degree).collect();
            if degrees.contains(Degree::MajorSeven) && degrees.contains(Degree::FlatSeven) {
                continue;
            }
            let keys = degrees.iter().map(|d| d.class_over(NoteName::C.pitch_class())).collect();
            let found = settle(NoteName::C, degrees.with(Degree::Root)).unwrap();
            let root = NoteName::C.pitch_class();
            assert_eq!(found.pitch_set(), crate::pitch::PitchSet::with(keys, root), "{degrees}");
        }
    }

    #[test]
    fn ok_what_stands_beside_a_chord_tone_is_a_tension() {
        assert_eq!(settled("1 b3 3 5 b7"), chord("C7(#9)"));
        assert_eq!(settled("1 3 4 5"), chord("C(add11)"));
        assert_eq!(settled("1 2 4 5"), chord("Csus4(add9)"));
        assert_eq!(settled("1 3 b5 5 b7"), chord("C7(#11)"));
        assert_eq!(settled("1 3 b5 #5 b7"), chord("C7b5(b13)"));
        assert_eq!(settled("1 3 5 6 b7"), chord("C7(13)"));
        assert_eq!(settled("1 b3 b5 6"), chord("Cdim7"));
        assert_eq!(settled("1 b3 #9 5"), chord("Cm"));
    }
}
