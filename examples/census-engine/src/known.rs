//! What the columns can say that are about the combination itself.

use overshell::Chord;
use overshell::census::{Census, Combination};
use overshell::chord::Family;
use overshell::pitch::NoteName;
use overshell::voicing::{Inversion, Label, Shell, Spacing};

/// Values with what their column says.
type Said<T> = Vec<(T, String)>;

/// All values of a space, each with what its column says, so that a filter can be asked about texts instead of rows.
#[derive(Clone, Debug)]
pub(crate) struct Known {
    pub(crate) roots: Said<NoteName>,
    /// As they are on C.
    pub(crate) qualities: Said<Chord>,
    /// Root, chord as it is on C, and the text of the chord on its root.
    pub(crate) chords: Said<(NoteName, Chord)>,
    pub(crate) families: Said<Family>,
    pub(crate) shells: Said<Shell>,
    pub(crate) labels: Said<Label>,
    pub(crate) inversions: Said<Inversion>,
    pub(crate) spacings: Said<Spacing>,
}

/// Each once, in order of appearance.
fn once<T: PartialEq>(values: impl Iterator<Item = T>) -> Vec<T> {
    values.fold(Vec::new(), |mut seen, value| {
        if !seen.contains(&value) {
            seen.push(value);
        }
        seen
    })
}

fn said<T: Copy + ToString>(values: &[T]) -> Said<T> {
    values.iter().map(|value| (*value, value.to_string())).collect()
}

impl Known {
    pub(crate) fn new(census: &Census) -> Self {
        let space = census.space();
        let pairs = space.roots.iter().flat_map(|root| space.chords.iter().map(|chord| (*root, *chord)));
        let families = once(space.chords.iter().map(|chord| chord.family()));
        // All labels stand over the first left hand.
        let left = |c: &Combination| (c.chord, c.shell, c.left_octave);
        let first = census.get(0);
        let over_first = (0..census.len()).map_while(|index| census.get(index));
        let over_first = over_first.take_while(|c| first.as_ref().map(left) == Some(left(c)));
        Self {
            roots: said(&space.roots),
            qualities: said(&space.chords),
            chords: pairs.map(|(root, c)| ((root, c), c.on_root(root).to_string())).collect(),
            families: families.into_iter().map(|family| (family, family.as_str().to_owned())).collect(),
            shells: said(&space.shells),
            labels: said(&once(over_first.map(|c| c.label))),
            inversions: space.inversions.iter().map(|i| (*i, i.name().to_owned())).collect(),
            spacings: space.spacings.iter().map(|s| (*s, s.as_str().to_owned())).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use overshell::census::CensusSpace;

    #[test]
    fn ok_the_full_space_is_known() {
        let known = Known::new(&Census::new(CensusSpace::full()).unwrap());
        assert_eq!((known.roots.len(), known.qualities.len(), known.chords.len()), (12, 80, 960));
        assert_eq!((known.labels.len(), known.inversions.len(), known.spacings.len()), (52, 3, 2));
        assert!(known.families.len() > 3 && known.shells.len() == 10);
    }
}
