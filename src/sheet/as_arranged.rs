//! The sheet of an arrangement in which some dominants are played otherwise.

use super::lead_sheet::{LeadSheet, PlacedChord, PlacedSymbol};
use crate::search::Arrangement;

impl LeadSheet {
    /// The sheet with the chord symbols that an arrangement of its [`progression`](LeadSheet::progression) plays, one for each of
    /// its chords: where a dominant is played as two chords, each has half of its time. Without such chords, the sheet as it is.
    ///
    /// # Example
    ///
    /// ```
    /// use overshell::chord::Reharmonisation;
    /// use overshell::rules::RuleSet;
    /// use overshell::search::{ArrangeOptions, Instead, arrange};
    /// use overshell::sheet::{ReadOptions, read};
    ///
    /// let tune = include_bytes!("../../examples/tunes/nine-lamps.musicxml");
    /// let sheet = read(tune, &ReadOptions::default())?.sheet;
    /// let instead = Instead::of([Reharmonisation::TwoFive]).with_toll(0);
    /// let options = ArrangeOptions { instead, ..ArrangeOptions::default() };
    /// let arrangement = arrange(&sheet.progression(), RuleSet::standard(), options)?;
    /// let richer = sheet.as_arranged(&arrangement);
    /// assert_eq!(richer.chords.len(), arrangement.chords.len());
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn as_arranged(&self, arrangement: &Arrangement) -> Self {
        let mut chords = Vec::with_capacity(arrangement.chords.len());
        let mut rest = arrangement.chords.iter().peekable();
        for (slot, placed) in self.chords.iter().enumerate() {
            let played: Vec<_> = std::iter::from_fn(|| rest.next_if(|chord| chord.slot <= slot)).collect();
            let length = self.chord_end(slot).saturating_sub(placed.start);
            let parts = u32::try_from(played.len()).unwrap_or(1).max(1);
            if played.iter().all(|chord| chord.played_as.is_none()) {
                chords.push(placed.clone());
                continue;
            }
            for (part, chord) in (0..).zip(&played) {
                let start = placed.start + length / parts * part;
                let symbol = chord.chord.and_then(|chord| chord.to_string().parse().ok());
                let symbol = symbol.map_or_else(|| placed.symbol.clone(), PlacedSymbol::Read);
                let bar =
                    self.bars.partition_point(|bar| bar.start <= start).checked_sub(1).unwrap_or(placed.bar);
                chords.push(PlacedChord { start, bar, symbol });
            }
        }
        Self { chords, ..self.clone() }
    }
}
