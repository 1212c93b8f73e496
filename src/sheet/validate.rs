//! What must hold in every lead sheet.

use super::road::is_label;
use super::{LeadSheet, Repeat, barlines};
use crate::error::{Error, Kind, Result};

impl LeadSheet {
    /// Checks what readers promise and writers rely on: bars follow each other without gaps from tick 0 and are
    /// longer than nothing; notes fill them from the first tick to the last, none across a barline; chord symbols are
    /// in order, one at a tick, each in the bar that it names; barlines and labels of marks hold only what can be written.
    ///
    /// # Errors
    ///
    /// [`Error::is_sheet`] for the first thing that does not hold.
    ///
    /// # Example
    ///
    /// ```
    /// use overshell::chord::Key;
    /// use overshell::sheet::LeadSheet;
    /// let empty = LeadSheet {
    ///     title: "Nothing".into(),
    ///     key: Key::C_MAJOR,
    ///     tempo: None,
    ///     bars: vec![],
    ///     notes: vec![],
    ///     chords: vec![],
    /// };
    /// assert!(empty.validate().unwrap_err().to_string().contains("no bars"));
    /// ```
    pub fn validate(&self) -> Result<()> {
        let wrong = |message: String| Err(Error::new(Kind::Sheet, message));
        if self.bars.is_empty() {
            return wrong("the sheet has no bars".into());
        }
        let mut at = 0u32;
        for (index, bar) in self.bars.iter().enumerate() {
            let ends = bar.start.checked_add(bar.length);
            let Some(end) = ends.filter(|_| bar.start == at && bar.length > 0) else {
                return wrong(format!(
                    "the bar of index {index} starts at tick {}, expected {at}",
                    bar.start
                ));
            };
            if bar.metre.beats == 0 || ![1, 2, 4, 8, 16, 32].contains(&bar.metre.unit) {
                return wrong(format!("the bar of index {index} has no possible metre"));
            }
            for edge in [&bar.left, &bar.right] {
                let style = edge.style.as_deref().is_none_or(|style| barlines::STYLES.contains(&style));
                let after_jump = !edge.after_jump || edge.repeat == Some(Repeat::Backward);
                let ending = edge.ending.as_ref().is_none_or(|e| barlines::is_ending_number(&e.numbers));
                if !style || !ending || !after_jump {
                    return wrong(format!("the bar of index {index} has a barline that cannot be written"));
                }
            }
            if !bar.road.labels().all(|label| is_label(label)) {
                return wrong(format!("the bar of index {index} has a mark whose label cannot be written"));
            }
            at = end;
        }
        self.validate_notes()?;
        self.validate_chords()
    }

    fn validate_notes(&self) -> Result<()> {
        let wrong = |message: String| Err(Error::new(Kind::Sheet, message));
        let mut at = 0u32;
        for (index, note) in self.notes.iter().enumerate() {
            let bar = self.bars.partition_point(|bar| bar.start <= note.start).checked_sub(1);
            let bar_end = bar.and_then(|bar| self.bars.get(bar)).map_or(0, super::Bar::end);
            let ends = note.start.checked_add(note.duration);
            match ends {
                Some(end) if note.start == at && note.duration > 0 && end <= bar_end => at = end,
                _ => {
                    return wrong(format!(
                        "the note of index {index} goes from tick {} for {}, expected from {at} and not beyond {bar_end}",
                        note.start, note.duration
                    ));
                }
            }
        }
        if at != self.end() {
            return wrong(format!("the notes end at tick {at}, expected {}", self.end()));
        }
        Ok(())
    }

    fn validate_chords(&self) -> Result<()> {
        let mut least = 0u32;
        for (index, chord) in self.chords.iter().enumerate() {
            let inside =
                self.bars.get(chord.bar).is_some_and(|bar| (bar.start..bar.end()).contains(&chord.start));
            if !inside || chord.start < least {
                return Err(Error::new(
                    Kind::Sheet,
                    format!(
                        "the chord symbol of index {index} is at tick {}, expected {least} or later in its bar",
                        chord.start
                    ),
                ));
            }
            least = chord.start.saturating_add(1);
        }
        Ok(())
    }
}
