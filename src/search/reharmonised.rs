//! A progression with one chord reharmonised.

use super::progression::{Progression, Slot};
use crate::chord::reharmonise::refusal;
use crate::chord::{Chord, Degree, Family, Reharmonisation};
use crate::error::{Error, Kind, Result};
use crate::pitch::Pitch;

/// What shares of a chord's time are counted in.
const SIXTEENTHS: u32 = 16;

impl Progression {
    /// The progression with the chord at this place (from 0) reharmonised. Where two chords come for one, each takes half
    /// of its time, with what the melody does in that half.
    ///
    /// The target of the dominant is the chord that follows on another root. The first melody note is taken to last until
    /// the notes behind it begin, which share what is left in order.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`] where there is no such place; [`Error::is_no_answer`] where no chord stands there, one that
    /// the reharmonisation has no answer for, or where the melody note that sounds when a dominant on another root would
    /// start is its natural fourth or major seventh: the two keys a minor ninth above its third and seventh, each the
    /// other over the dominant a tritone away (arithmetic). Notes that move while it sounds on may pass through them.
    ///
    /// # Example
    ///
    /// ```
    /// use overshell::chord::Reharmonisation;
    /// use overshell::search::Progression;
    ///
    /// let plain = Progression::from_symbols("C", [("Cmaj7", "E5"), ("G7", "F5"), ("Cm6", "Eb5")])?;
    /// let richer = plain.reharmonised(1, Reharmonisation::TwoFive)?;
    /// let symbols: Vec<String> = richer.slots.iter().map(|s| s.chord.unwrap().to_string()).collect();
    /// assert_eq!(symbols, ["Cmaj7", "Dm7b5", "G7(b9)", "Cm6"]);
    /// assert_eq!(richer.slots[2].melody, plain.slots[1].melody); // the F sounds on
    ///
    /// assert!(plain.reharmonised(0, Reharmonisation::Substitute).unwrap_err().is_no_answer());
    ///
    /// let held = Progression::from_symbols("C", [("G7", "C5"), ("Cmaj7", "E5")])?;
    /// let error = held.reharmonised(0, Reharmonisation::Substitute).unwrap_err();
    /// assert!(error.to_string().ends_with("the melody holds the `maj7` of `Db7`, expected a note that suits it"));
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn reharmonised(&self, at: usize, by: Reharmonisation) -> Result<Self> {
        let place = at.saturating_add(1);
        let slot = self.slots.get(at).ok_or_else(|| {
            let count = self.slots.len();
            Error::new(Kind::Range, format!("there is no chord {place}, expected one of {count}"))
        })?;
        let chord = slot.chord.ok_or_else(|| {
            Error::new(Kind::NoAnswer, format!("no chord sounds at place {place}, expected a dominant"))
        })?;
        let following = self.slots.iter().skip(at + 1).filter_map(|slot| slot.chord);
        let root = chord.root().pitch_class();
        let target = following.into_iter().find(|next| next.root().pitch_class() != root);
        let melody = slot.melody.map(Pitch::pitch_class);
        let refused = |error: Error| error.context(format!("reharmonising chord {place} by `{by}`"));
        let new = by.of(chord, target, melody).map_err(refused)?;
        let slots: Vec<Slot> = match new.chords.as_slice() {
            [first, second] => {
                let [before, behind] = halves(slot);
                vec![Slot { chord: Some(*first), ..before }, Slot { chord: Some(*second), ..behind }]
            }
            chords => chords.iter().map(|chord| Slot { chord: Some(*chord), ..slot.clone() }).collect(),
        };
        for slot in &slots {
            suits(slot, chord).map_err(refused)?;
        }
        let mut progression = self.clone();
        progression.slots.splice(at..=at, slots);
        Ok(progression)
    }
}

/// Whether the melody note that sounds when the slot starts leaves the third and seventh of its chord alone, where that is
/// a dominant in place of this one.
fn suits(slot: &Slot, replaced: Chord) -> Result<()> {
    let new = |chord: &Chord| chord.family() == Family::Dominant && chord.root() != replaced.root();
    let (Some(chord), Some(melody)) = (slot.chord.filter(new), slot.melody) else { return Ok(()) };
    let held = chord.degree_of(melody.pitch_class());
    if matches!(held, Degree::Eleven | Degree::MajorSeven) {
        let message = format!("the melody holds the `{held}` of `{chord}`, expected a note that suits it");
        return Err(refusal(chord, message));
    }
    Ok(())
}

/// What the melody does in each half of a slot's time. Shares are rounded up, as those of the whole are.
fn halves(slot: &Slot) -> [Slot; 2] {
    let shares = || slot.moving.iter().map(|(_, share)| u32::from(*share).max(1));
    // Shares rounded up may be more than there is: then they are parts of what they sum to.
    let all = shares().sum::<u32>();
    let whole = SIXTEENTHS.max(all + u32::from(slot.melody.is_some()));
    // Twice the time, so that a half is a whole number: notes from `start` to `end` of `2 * whole`.
    let share =
        |time: u32| u8::try_from((SIXTEENTHS * time).div_ceil(whole).clamp(1, SIXTEENTHS)).unwrap_or(1);
    let mut before = Slot { melody: slot.melody, ..Slot::default() };
    let mut behind = Slot { melody: slot.melody, ..Slot::default() };
    let mut start = 2 * (whole - all);
    for ((pitch, _), length) in slot.moving.iter().zip(shares()) {
        let end = start + 2 * length;
        if start < whole {
            before.moving.push((*pitch, share(end.min(whole) - start)));
        }
        if start <= whole {
            // It sounds when the second half begins, or is the last so far to have sounded.
            behind.melody = if end > whole { Some(*pitch) } else { behind.melody };
        } else {
            behind.moving.push((*pitch, share(end - start)));
        }
        start = end;
    }
    [before, behind]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pitch::pitch;

    fn slot(melody: &str, moving: &[(&str, u8)]) -> Slot {
        Slot {
            chord: None,
            melody: (melody != "-").then(|| pitch(melody)),
            moving: moving.iter().map(|(name, share)| (pitch(name), *share)).collect(),
        }
    }

    #[test]
    fn ok_halves() {
        for (whole, before, behind) in [
            (slot("C5", &[]), slot("C5", &[]), slot("C5", &[])),
            (slot("-", &[]), slot("-", &[]), slot("-", &[])),
            // Half and half: the second note starts with the second chord.
            (slot("C5", &[("D5", 8)]), slot("C5", &[]), slot("D5", &[])),
            // Quarters: C D | E F.
            (
                slot("C5", &[("D5", 4), ("E5", 4), ("F5", 4)]),
                slot("C5", &[("D5", 8)]),
                slot("E5", &[("F5", 8)]),
            ),
            // A note across the middle moves in the first half and is held into the second.
            (slot("C5", &[("D5", 8), ("E5", 4)]), slot("C5", &[("D5", 8)]), slot("D5", &[("E5", 8)])),
            // A dotted half holds on.
            (slot("C5", &[("D5", 4)]), slot("C5", &[]), slot("C5", &[("D5", 8)])),
            // A rest in front.
            (slot("-", &[("D5", 4)]), slot("-", &[]), slot("-", &[("D5", 8)])),
            (slot("-", &[("D5", 12)]), slot("-", &[("D5", 8)]), slot("D5", &[])),
            // Triplets, rounded up: 6 + 6 of 16 with the first of 4, which is a little early.
            (slot("C5", &[("D5", 6), ("E5", 6)]), slot("C5", &[("D5", 8)]), slot("D5", &[("E5", 12)])),
        ] {
            assert_eq!(halves(&whole), [before, behind], "{whole:?}");
        }
    }

    /// The slow twin: what sounds in each of many small steps. All ways to share sixteen sixteenths among up to four notes.
    #[test]
    fn all_shares_sound_in_their_half() {
        let names = ["D5", "E5", "F5"];
        let mut checked = 0;
        for (a, b, c) in itertools::iproduct!(0..=15u8, 0..=15u8, 0..=15u8) {
            let shares: Vec<u8> = [a, b, c].into_iter().filter(|share| *share > 0).collect();
            let all: u8 = shares.iter().sum();
            if all > 15 {
                continue;
            }
            let moving: Vec<(&str, u8)> = names.iter().copied().zip(shares).collect();
            let whole = slot("C5", &moving);
            let line = |slot: &Slot, all: usize| {
                let moving =
                    slot.moving.iter().flat_map(|(p, n)| vec![Some(*p); usize::from(*n)]).collect::<Vec<_>>();
                let mut line = vec![slot.melody; all - moving.len()];
                line.extend(moving);
                line
            };
            // Sixteen steps of the whole; each half has sixteen steps of its own, two for each.
            let expected: Vec<Option<Pitch>> = line(&whole, 16).into_iter().flat_map(|p| [p, p]).collect();
            let [before, behind] = halves(&whole);
            let found = [line(&before, 16), line(&behind, 16)].concat();
            assert_eq!(found, expected, "{moving:?}");
            checked += 1;
        }
        assert!(checked > 500, "{checked}");
    }

    /// Shares that say more than there is, as rounding up may.
    #[test]
    fn ok_too_many_shares() {
        let names = ["D5"; 40].map(|name| (name, 16));
        let [before, behind] = halves(&slot("C5", &names));
        assert_eq!(before.melody, Some(pitch("C5")));
        assert_eq!(behind.melody, Some(pitch("D5")));
        let all = before.moving.len() + behind.moving.len();
        assert!((39..=40).contains(&all), "{all}");
        assert!(before.moving.iter().chain(&behind.moving).all(|(_, share)| (1..=16).contains(share)));
    }
}
