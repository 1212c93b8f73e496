//! Left hands: shells, forms without a root, and what stands over a written bass.

use itertools::Itertools;

use super::{Shape, Tones, forms};
use crate::chord::{Chord, Degree, Spelling};
use crate::pitch::{Pitch, PitchClass};
use crate::voicing::{Hand, Shell};

/// The left hand's bottom notes lie between C2 and C4.
const LEFT_BOTTOM: std::ops::RangeInclusive<u8> = 36..=60;

/// Every shell, in every octave, and every form without a root ([`forms`]); over a written bass the bass with chord tones, and
/// shells too unless a rule asks for that bass, since somebody else plays it. Ascending by keys.
pub(super) fn all(chord: Chord, tones: &Tones, asks_for_bass: bool) -> Vec<Shape> {
    let mut hands: Vec<Hand> = Vec::new();
    if chord.bass().is_none() || !asks_for_bass {
        for degrees in Shell::ALL.into_iter().filter_map(|shell| shell.degrees(chord)) {
            hands.extend(LEFT_BOTTOM.step_by(12).filter_map(|lowest| tones.stacked(chord, &degrees, lowest)));
        }
        hands.extend(forms::hands(chord, tones));
    }
    if let Some(bass) = chord.bass() {
        hands.extend(over_bass(chord, bass.pitch_class()));
    }
    // What is the same on the keys is one candidate, the first spelling of it.
    let mut shapes: Vec<Shape> = hands.into_iter().map(|hand| Shape::new(hand, false)).collect();
    shapes.sort_unstable_by(|a, b| (&a.keys, &a.hand).cmp(&(&b.keys, &b.hand)));
    shapes.dedup_by(|a, b| a.keys == b.keys);
    shapes
}

/// The written bass with up to two of third, seventh, fifth and root above it.
fn over_bass(chord: Chord, bass: PitchClass) -> Vec<Hand> {
    let quality = chord.quality();
    let upper =
        [quality.third_degree(), quality.seventh_degree(), quality.fifth_degree(), Some(Degree::Root)];
    let classes: Vec<PitchClass> = upper
        .into_iter()
        .flatten()
        .map(|degree| degree.class_over(chord.root().pitch_class()))
        .filter(|class| *class != bass)
        .collect();
    let choices = (0..=2).flat_map(|count| classes.iter().copied().permutations(count));
    choices
        .flat_map(|above| {
            LEFT_BOTTOM.step_by(12).filter_map(move |lowest| {
                let mut floor = lowest;
                let stack: Option<Vec<Pitch>> = std::iter::once(bass)
                    .chain(above.iter().copied())
                    .map(|class| {
                        let key = floor + (class.get() + 12 - floor % 12) % 12;
                        floor = key + 1;
                        let name = match chord.bass() {
                            Some(name) if name.pitch_class() == class => name,
                            _ => Spelling::default().name(chord, class),
                        };
                        Pitch::from_midi(key, name)
                    })
                    .collect();
                Hand::new(stack?).ok()
            })
        })
        .collect()
}
