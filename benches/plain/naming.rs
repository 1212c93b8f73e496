//! The plain way to name what sounds: every quality on every root that a stranger would accept, tone by tone.

use overshell::chord::{Degree, DegreeSet, Fifth, Quality, Seventh, Third};
use overshell::pitch::{PitchClass, PitchSet};

/// Root, quality and tensions of every reading, in no order that matters.
pub(crate) fn readings(set: PitchSet) -> Vec<(PitchClass, Quality, DegreeSet)> {
    let mut found = Vec::new();
    for root in PitchClass::ALL {
        let sounds = |degree: Degree| set.contains(degree.class_over(root));
        for quality in Quality::all().filter(|quality| quality.fifth != Fifth::None) {
            let third = quality.third_degree();
            let stacked = matches!(quality.third, Third::Minor | Third::Major);
            let tritone = (quality.third, quality.seventh) == (Third::Major, Seventh::Flat);
            let guided = stacked
                && matches!(quality.seventh, Seventh::Flat | Seventh::Major)
                && (set.len() > 2 || tritone);
            let fifth = quality.fifth_degree().unwrap();
            let accepted = (sounds(Degree::Root) || guided)
                && third.is_none_or(sounds)
                && (third.is_some()
                    || ![Degree::Three, Degree::FlatThree, Degree::Eleven].into_iter().any(sounds))
                && quality.seventh_degree().is_none_or(sounds)
                && (sounds(fifth)
                    || (fifth == Degree::Five && (stacked || quality.seventh != Seventh::None)));
            let tones = quality.tones();
            let rest = set.iter().filter(|class| !tones.iter().any(|tone| tone.class_over(root) == *class));
            let tensions: Option<DegreeSet> = rest
                .map(|class| {
                    let degree = Degree::DEFAULTS[usize::from(root.semitones_up_to(class))];
                    // A thirteenth over a triad is a sixth.
                    let sixth = degree == Degree::Thirteen && quality.seventh == Seventh::None;
                    (degree.is_tension() && !sixth).then_some(degree)
                })
                .collect();
            if let (true, Some(tensions)) = (accepted, tensions) {
                found.push((root, quality, tensions));
            }
        }
        // The altered chord: third, minor seventh, the four altered tensions, and no other key but the root.
        let altered = [Degree::FlatNine, Degree::SharpNine, Degree::SharpEleven, Degree::FlatThirteen];
        let needed = [Degree::Three, Degree::FlatSeven].into_iter().chain(altered);
        let others = set.iter().filter(|class| *class != root).count();
        if needed.clone().all(sounds) && others == needed.count() {
            let quality = Quality { third: Third::Major, fifth: Fifth::None, seventh: Seventh::Flat };
            found.push((root, quality, altered.into_iter().collect()));
        }
    }
    found
}
