//! From a lead sheet to what an arranger is asked.

use super::lead_sheet::LeadSheet;
use crate::search::{Progression, Slot};

impl LeadSheet {
    /// The progression of this sheet: one slot for each chord symbol, in order of the page, with the melody note that
    /// sounds when the chord starts and those that follow while it sounds on.
    pub fn progression(&self) -> Progression {
        let slots = self.chords.iter().enumerate().map(|(index, placed)| {
            let end = self.chord_end(index);
            let length = u64::from(end.saturating_sub(placed.start)).max(1);
            let first = self.notes.partition_point(|note| note.start <= placed.start);
            let following = self.notes.iter().skip(first).take_while(|note| note.start < end);
            let moving = following
                .filter(|note| !note.tied_from)
                .filter_map(|note| {
                    let sounds = u64::from(note.end().min(end) - note.start);
                    let sixteenths = (16 * sounds).div_ceil(length).clamp(1, 16);
                    Some((note.pitch?, u8::try_from(sixteenths).unwrap_or(16)))
                })
                .collect();
            Slot { chord: placed.symbol.chord(), melody: self.melody_at(placed.start), moving }
        });
        Progression { key: self.key, slots: slots.collect() }
    }
}
