//! How usual a quality is, and which tensions fight it.

use crate::chord::{Degree, Fifth, Quality, Seventh, Third};

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Usage {
    Usual,
    /// Usual, with an altered fifth where the plain chord has a perfect one.
    AlteredFifth,
    Rare,
    Unusual,
    Nameless,
}

/// How usual a quality is (common practice, no source).
pub(super) const fn usage(quality: Quality) -> Usage {
    match (quality.third, quality.fifth, quality.seventh) {
        (Third::Minor, Fifth::Perfect | Fifth::Flat, Seventh::Major) => Usage::Rare,
        (Third::Fourth, Fifth::Perfect, Seventh::Major) => Usage::Rare,
        (Third::Major | Third::Minor, Fifth::Perfect, _) => Usage::Usual,
        (Third::Fourth, Fifth::Perfect, Seventh::None | Seventh::Flat) => Usage::Usual,
        (Third::Second, Fifth::Perfect, Seventh::None) => Usage::Usual,
        (Third::None, Fifth::Perfect, Seventh::None | Seventh::Flat | Seventh::Major) => Usage::Usual,
        // The altered chord, which has no fifth of its own.
        (Third::Major, Fifth::None, Seventh::Flat) => Usage::Usual,
        (Third::Minor, Fifth::Flat, Seventh::None | Seventh::Flat | Seventh::DoubleFlat) => Usage::Usual,
        (Third::Major, Fifth::Sharp, Seventh::None) => Usage::Usual,
        (Third::Major, Fifth::Sharp, Seventh::Flat | Seventh::Major) => Usage::AlteredFifth,
        (Third::Major, Fifth::Flat, Seventh::Flat) => Usage::AlteredFifth,
        (Third::Major, Fifth::Flat, Seventh::None | Seventh::Major)
        | (Third::Minor, Fifth::Sharp, Seventh::None | Seventh::Flat)
        | (Third::Second, Fifth::Perfect, Seventh::Flat)
        | (Third::Fourth, Fifth::Perfect, Seventh::Sixth) => Usage::Unusual,
        _ => Usage::Nameless,
    }
}

/// Whether altered tensions are a quality's own: dominants, suspended ones too.
pub(super) const fn takes_altered(quality: Quality) -> bool {
    matches!((quality.third, quality.seventh), (Third::Major | Third::Fourth | Third::Second, Seventh::Flat))
}

/// Whether a thirteenth may take the finger of the fifth: in chords with a seventh.
pub(super) const fn thirteen_may_stand_in(quality: Quality) -> bool {
    matches!(quality.seventh, Seventh::Flat | Seventh::Major)
}

/// The keys a semitone above a chord tone, by which a tension fights it (Nettles, *Harmony 3*, 1987, p. 15). Altered
/// tensions are a dominant's own; over one with its third only the natural eleventh fights, over a suspended one the
/// raised.
pub(super) const fn fighting(quality: Quality, tones: u16) -> u16 {
    match (quality.third, takes_altered(quality)) {
        (Third::Major, true) => 1 << Degree::Eleven.semitones(),
        (_, true) => 1 << Degree::SharpEleven.semitones(),
        _ => (tones << 1 | tones >> 11) & 0xFFF,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The rule by bits is the rule by degrees that scales go by: the same keys fight in every scale over every quality
    /// whose altered tensions are not its own.
    #[test]
    fn all_fighting_keys_are_those_that_scales_avoid() {
        use crate::chord::scale::NoteReason;
        use crate::chord::{AvoidPolicy, Chord, Scale};
        use crate::pitch::NoteName;
        let mut fought = 0;
        for (_, quality) in Quality::NAMED.iter().filter(|(_, quality)| !takes_altered(*quality)) {
            let fights = fighting(*quality, quality.tones().keys());
            for scale in Scale::ALL {
                let notes = scale.notes_over(Chord::new(NoteName::C, *quality), AvoidPolicy::WholeStep);
                for note in notes.iter().filter(|note| note.reason != NoteReason::ChordTone) {
                    let avoided = matches!(note.reason, NoteReason::SemitoneAbove(_));
                    let key = note.degree.semitones();
                    assert_eq!(fights >> key & 1 == 1, avoided, "{scale} {quality:?} {}", note.degree);
                    fought += u32::from(avoided);
                }
            }
        }
        assert!(fought > 300, "{fought}");
    }

    #[test]
    fn all_qualities_without_a_name_are_nameless() {
        for quality in Quality::all() {
            let named = Quality::NAMED.iter().any(|(_, named)| *named == quality);
            let without_third = quality.third == Third::None && quality.fifth == Fifth::Perfect;
            let altered =
                (quality.third, quality.fifth, quality.seventh) == (Third::Major, Fifth::None, Seventh::Flat);
            let spoken_of = named || altered || (without_third && quality.seventh != Seventh::Sixth);
            assert_eq!(usage(quality) != Usage::Nameless, spoken_of, "{quality:?}");
        }
    }
}
