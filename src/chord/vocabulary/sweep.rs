//! Every chord there is, for sweeps in tests.

use itertools::iproduct;

use crate::chord::{Chord, Degree, Fifth, Quality, Seventh, Third};
use crate::pitch::NoteName;

/// Every quality with every set of tensions that it can take, on C.
pub(super) fn all_contents() -> Vec<Chord> {
    let thirds = [Third::None, Third::Second, Third::Minor, Third::Major, Third::Fourth];
    let fifths = [Fifth::None, Fifth::Flat, Fifth::Perfect, Fifth::Sharp];
    let sevenths = [Seventh::None, Seventh::Sixth, Seventh::DoubleFlat, Seventh::Flat, Seventh::Major];
    let tensions: Vec<Degree> = Degree::ALL.into_iter().filter(|degree| degree.is_tension()).collect();
    let mut all = std::collections::BTreeSet::new();
    for (third, fifth, seventh) in iproduct!(thirds, fifths, sevenths) {
        let bare = Chord::new(NoteName::C, Quality { third, fifth, seventh });
        for bits in 0..1u32 << tensions.len() {
            let chosen =
                tensions.iter().enumerate().filter(|(at, _)| bits >> at & 1 == 1).map(|(_, degree)| *degree);
            all.extend(bare.with_tensions(chosen));
        }
    }
    assert!(all.len() > 4_000, "{}", all.len());
    all.into_iter().collect()
}

/// The chord over each of the 35 basses; its root as bass is no bass.
pub(super) fn all_basses(chord: Chord) -> impl Iterator<Item = Chord> {
    NoteName::all().map(move |bass| chord.with_bass(bass))
}
