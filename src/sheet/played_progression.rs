//! The chords of a page in the order in which they are played, and back to the page.

use std::sync::Arc;

use super::{LeadSheet, Played, SheetFinding};
use crate::error::Result;
use crate::search::{ArrangedChord, Arrangement, Progression};

/// What an arranger is asked for a page with repeats or jumps: the chords in the order in which they are played, and which of them are
/// the same on the page.
#[derive(Clone, Debug, PartialEq)]
pub struct PlayedProgression {
    /// One slot for each time that a chord symbol is played, and one for each that never is.
    pub progression: Progression,
    /// For each slot, the symbol as an index into the symbols of the page.
    pub same: Vec<usize>,
    /// Signs and marks that were broken, and how they were understood.
    pub findings: Vec<SheetFinding>,
}

impl LeadSheet {
    /// The progression as it is played ([`as_played`](Self::as_played)), with the written chord of each slot, as
    /// [`arrange_tied`](crate::search::arrange_tied) asks for them. Chords of bars that are never played, such as those between a `to
    /// coda` and its coda behind the last jump, stand behind the others, in the order of the page, so that every chord has a voicing.
    ///
    /// A symbol that `as_played` says again where the page has none is left out: nothing is written there that the hands could play anew.
    ///
    /// # Errors
    ///
    /// Those of [`as_played`](Self::as_played).
    ///
    /// # Example
    ///
    /// ```
    /// use overshell::rules::RuleSet;
    /// use overshell::search::{ArrangeOptions, arrange_tied};
    /// use overshell::sheet::{ReadOptions, read};
    ///
    /// let tune = include_bytes!("../../tests/data/harbour_steps.musicxml");
    /// let page = read(tune, &ReadOptions::default())?.sheet;
    /// let played = page.progression_as_played()?;
    /// assert!(played.same.len() > page.chords.len());
    /// let options = ArrangeOptions::default();
    /// let arrangement = arrange_tied(&played.progression, &played.same, RuleSet::standard(), options)?;
    /// let of_page = played.on_page(&arrangement);
    /// assert_eq!(of_page.chords.len(), page.chords.len());
    /// assert_eq!(of_page.cost, arrangement.cost); // as played
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn progression_as_played(&self) -> Result<PlayedProgression> {
        let Played { sheet, bars, chords, findings } = self.as_played()?;
        let Progression { key, slots } = sheet.progression();
        let mut played = PlayedProgression {
            progression: Progression { key, slots: Vec::with_capacity(slots.len()) },
            same: Vec::with_capacity(slots.len()),
            findings,
        };
        for ((slot, placed), of_page) in slots.into_iter().zip(&sheet.chords).zip(chords) {
            // Where a symbol stands in its bar, here and on the page.
            let here = sheet.bars.get(placed.bar).zip(bars.get(placed.bar));
            let here = here.map(|(bar, index)| (*index, placed.start.saturating_sub(bar.start)));
            let written = self.chords.get(of_page);
            let there = written.and_then(|chord| Some((chord, self.bars.get(chord.bar)?)));
            let there = there.map(|(chord, bar)| (chord.bar, chord.start.saturating_sub(bar.start)));
            if here == there {
                played.progression.slots.push(slot);
                played.same.push(of_page);
            }
        }
        let mut is_asked = vec![false; self.chords.len()];
        for chord in &played.same {
            if let Some(is_asked) = is_asked.get_mut(*chord) {
                *is_asked = true;
            }
        }
        if is_asked.contains(&false) {
            let of_page = self.progression().slots.into_iter().zip(is_asked).enumerate();
            for (chord, (slot, _)) in of_page.filter(|(_, (_, is_asked))| !is_asked) {
                played.progression.slots.push(slot);
                played.same.push(chord);
            }
        }
        Ok(played)
    }
}

impl PlayedProgression {
    /// Whether some chord is played more than once.
    pub fn repeats(&self) -> bool {
        let mut seen = std::collections::HashSet::new();
        !self.same.iter().all(|chord| seen.insert(*chord))
    }

    /// The arrangement of the page: one entry for each written chord, as it is played the first time, with what leads to it then. The cost is
    /// that of all that is played.
    pub fn on_page(&self, arrangement: &Arrangement) -> Arrangement {
        let count = self.same.iter().max().map_or(0, |last| last + 1);
        let mut of_page: Vec<Option<Arc<ArrangedChord>>> = vec![None; count];
        for chord in &arrangement.chords {
            let Some(written) = self.same.get(chord.slot).copied() else { continue };
            if let Some(place) = of_page.get_mut(written) {
                place.get_or_insert_with(|| {
                    let mut chord = Arc::clone(chord);
                    Arc::make_mut(&mut chord).slot = written;
                    chord
                });
            }
        }
        Arrangement { chords: of_page.into_iter().flatten().collect(), ..arrangement.clone() }
    }
}
