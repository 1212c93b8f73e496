//! How usual a quality is, and which tensions fight it.

use crate::chord::{Degree, Family, Fifth, Quality, Seventh, Third};

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
        (Third::Major | Third::Minor, Fifth::Perfect, _) => Usage::Usual,
        (Third::Fourth, Fifth::Perfect, Seventh::None | Seventh::Flat) => Usage::Usual,
        (Third::Second | Third::None, Fifth::Perfect, Seventh::None) => Usage::Usual,
        (Third::Minor, Fifth::Flat, Seventh::None | Seventh::Flat | Seventh::DoubleFlat) => Usage::Usual,
        (Third::Major, Fifth::Sharp, Seventh::None) => Usage::Usual,
        (Third::Major, Fifth::Sharp, Seventh::Flat | Seventh::Major) => Usage::AlteredFifth,
        (Third::Major, Fifth::Flat, Seventh::Flat) => Usage::AlteredFifth,
        (Third::Major, Fifth::Flat, Seventh::None | Seventh::Major)
        | (Third::Minor, Fifth::Sharp, Seventh::None | Seventh::Flat)
        | (Third::Second, Fifth::Perfect, Seventh::Flat)
        | (Third::Fourth, Fifth::Perfect, Seventh::Major | Seventh::Sixth) => Usage::Unusual,
        _ => Usage::Nameless,
    }
}

/// The keys a semitone above a chord tone, by which a tension fights it (Nettles, *Harmony 3*, 1987, p. 15). Over a
/// dominant only the natural eleventh does: altered tensions are its own.
pub(super) const fn fighting(quality: Quality, tones: u16) -> u16 {
    match quality.family() {
        Family::Dominant => 1 << Degree::Eleven.semitones(),
        _ => (tones << 1 | tones >> 11) & 0xFFF,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_qualities_without_a_name_are_nameless() {
        for quality in Quality::all() {
            let named = Quality::NAMED.iter().any(|(_, named)| *named == quality);
            assert_eq!(usage(quality) != Usage::Nameless, named, "{quality:?}");
        }
    }
}
