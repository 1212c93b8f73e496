//! The chord that sounds when notes are added to a chord.

use super::{Chord, Degree, DegreeSet, Fifth, Quality, Seventh, Third};
use crate::pitch::PitchSet;

impl Chord {
    /// The chord that names what sounds when these keys are played for this chord: its root, third, fifth and
    /// seventh as written, with the tensions that are there.
    ///
    /// A fifth, root or seventh that nobody plays is taken as understood; a third that nobody plays is not, where
    /// something stands in for it. A triad takes the seventh that sounds. `None` where no symbol can say it (both
    /// sevenths at once, say).
    ///
    /// ```
    /// use overshell::chord::chord;
    /// use overshell::voicing::Triad;
    ///
    /// let c7 = chord("C7");
    /// let over = |triad: &str| {
    ///     let set = triad.parse::<Triad>().unwrap().pitch_set().union(c7.pitch_set());
    ///     c7.sounding(set).unwrap().to_string()
    /// };
    /// assert_eq!(over("D"), "C13(#11)");
    /// assert_eq!(over("F#m"), "C13(b9,#11)");
    /// ```
    pub fn sounding(self, keys: PitchSet) -> Option<Self> {
        let (map, root) = (self.degree_map(), self.root().pitch_class());
        let meaning = |class| map.get(usize::from(root.semitones_up_to(class))).copied();
        let degrees: DegreeSet = keys.iter().filter_map(meaning).collect();
        let mut quality = self.quality();
        if quality.seventh == Seventh::None {
            quality.seventh = seventh_that_sounds(quality, degrees);
        }
        if quality.third == Third::Major
            && !degrees.contains(Degree::Three)
            && degrees.contains(Degree::Eleven)
        {
            quality.third = Third::Fourth;
        }
        let base = Self::new(self.root(), quality);
        let tones = base.quality().tones();
        let is_tone = |d: &Degree| tones.iter().any(|tone| tone.semitones() == d.semitones());
        let mut tensions = DegreeSet::EMPTY;
        for degree in degrees.iter().filter(|d| !is_tone(d)) {
            // A fifth beside an altered one, a third beside a suspension: heard, but no symbol has a place for it.
            match degree {
                Degree::Five if quality.fifth != Fifth::None => {}
                Degree::Three if quality.third == Third::Fourth || quality.third == Third::Second => {}
                Degree::Five => {}
                d if d.is_tension() => tensions = tensions.with(d),
                _ => return None,
            }
        }
        let sounding = base.with_tensions(tensions.iter()).ok()?;
        // `alt` has no fifth of its own; a part of its tensions is a dominant with a fifth that nobody plays.
        if self.is_altered() && !sounding.is_altered() {
            return Some(sounding.with_quality(Quality { fifth: Fifth::Perfect, ..sounding.quality() }));
        }
        Some(sounding)
    }
}

fn seventh_that_sounds(quality: Quality, degrees: DegreeSet) -> Seventh {
    let diminished = (quality.third, quality.fifth) == (Third::Minor, Fifth::Flat);
    match (degrees.contains(Degree::FlatSeven), degrees.contains(Degree::MajorSeven)) {
        (true, false) => Seventh::Flat,
        (false, true) => Seventh::Major,
        (false, false) if degrees.contains(Degree::Thirteen) && !diminished => Seventh::Sixth,
        (false, false) if degrees.contains(Degree::Thirteen) => Seventh::DoubleFlat,
        _ => Seventh::None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;
    use crate::voicing::Triad;

    /// The published results of the nine: Wikipedia, "Upper structure", citing Levine, *The Jazz Piano Book*, ch. 14.
    #[test]
    fn all_published_results() {
        for (triad, result) in [
            ("D", "C13(#11)"),
            ("Eb", "C7(#9)"),
            ("Gb", "C7(b9,#11)"),
            ("Ab", "C7(#9,b13)"),
            ("A", "C13(b9)"),
            ("Cm", "C7(#9)"),
            ("Dbm", "C7(b9,b13)"),
            ("Ebm", "C7(#9,#11)"),
            ("F#m", "C13(b9,#11)"),
        ] {
            let set = triad.parse::<Triad>().unwrap().pitch_set().union(chord("C7").pitch_set());
            assert_eq!(chord("C7").sounding(set).unwrap().to_string(), result, "{triad}");
        }
    }

    #[test]
    fn ok_other_soundings() {
        let sounding = |symbol: &str, notes: &str| {
            let set: PitchSet = notes.split(' ').map(|n| crate::pitch::note(n).pitch_class()).collect();
            chord(symbol).sounding(set).map(|c| c.to_string())
        };
        assert_eq!(sounding("C7", "C Bb F G").as_deref(), Some("C7sus4"));
        assert_eq!(sounding("C", "C E G B D").as_deref(), Some("Cmaj9"));
        assert_eq!(sounding("C", "C E G A").as_deref(), Some("C6"));
        assert_eq!(sounding("C7", "C E Bb B"), None);
        assert_eq!(sounding("Cm7", "C Eb Bb D F").as_deref(), Some("Cm11"));
        assert_eq!(sounding("Cdim", "C Eb Gb A").as_deref(), Some("Cdim7"));
        assert_eq!(sounding("C7#5", "C E G# Bb").as_deref(), Some("C7#5"));
        assert_eq!(sounding("C7alt", "C E Bb Eb Ab").as_deref(), Some("C7(#9,b13)"));
        assert_eq!(sounding("C7alt", "C E Bb Db Eb Gb Ab").as_deref(), Some("C7alt"));
    }
}
