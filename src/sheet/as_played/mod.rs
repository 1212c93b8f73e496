//! A lead sheet as it is played: repeats, endings and jumps written out.

mod follow;
mod numbers;
mod order;
mod seams;
mod signs;
#[cfg(test)]
mod tests;

use super::{LeadSheet, Road, SheetFinding};
use crate::error::Result;

/// How many bars a sheet has at most once its repeats and jumps are played out: twice as many as a reader reads by default, so
/// that the longest page can be repeated as a whole. More is an error that names this limit.
pub const MOST_BARS_PLAYED: usize = 20_000;

/// A sheet as it is played, where each bar and each symbol of it stands on the page, and what was odd about the signs.
///
/// The places are there so that what is known of the page can be carried over; the findings, so that no broken sign
/// is guessed at in silence.
#[derive(Clone, Debug, PartialEq)]
pub struct Played {
    /// The bars in the order in which they are played, no repeat signs, endings or marks left.
    pub sheet: LeadSheet,
    /// For each bar played, its index into the bars of the page.
    pub bars: Vec<usize>,
    /// For each chord symbol of [`sheet`](Self::sheet), its index into the symbols of the page. One that is said again
    /// at a place without a symbol has the index of the symbol that is said again.
    pub chords: Vec<usize>,
    /// Signs and marks that were broken, in the order of the page, and how they were understood; and bars that are never played.
    pub findings: Vec<SheetFinding>,
}

impl LeadSheet {
    /// The sheet with its bars in the order in which they are played.
    ///
    /// Bars keep their printed numbers, so that a number may come twice, their metre and key. Repeat signs, endings and
    /// marks are gone, and with a repeat sign the style of its barline. A sheet without any comes back as it is.
    ///
    /// # Repeats
    ///
    /// Common practice, no source, where nothing else is said:
    ///
    /// - A backward sign goes back once: to the last forward sign in front of it; where there is none, to the end of the
    ///   last repeat; where there is none either, to the start (`A :| B :|` is A A B B).
    /// - Signs do not nest. A forward sign that is followed by another before it is closed, or never closed, means nothing:
    ///   `|: A |: B :| C :|` is A B B C C.
    /// - A sign at the wrong side of a barline counts as if it stood at the right one. A backward sign in front of the first
    ///   bar and a forward sign behind the last mean nothing.
    ///
    /// # Endings
    ///
    /// - An ending goes from the start of its bracket to the backward sign, also where the bracket is shorter. The next
    ///   ending must follow at once. The last one needs no backward sign, and then lasts as long as its bracket.
    /// - The numbers (`1`, `1,2`, `1, 3`, `1-2`) say in which pass an ending is played. A number that no ending has is passed
    ///   over. Where a number stands twice, cannot be read, or an ending would never be played, each ending is played once, in
    ///   the order of the page.
    /// - The endings say how often: a backward sign behind the last of several goes back no further.
    /// - An ending that is alone in front of more music is left out the last time: `|: A [1 B :| C` is A B A C. Alone at the
    ///   end it is played every time, at least twice.
    /// - Two endings that touch need no backward sign between them: the first goes back all the same. Any other ending
    ///   that no backward sign closes is played like other bars, and so is one whose start is missing.
    ///
    /// # Jumps
    ///
    /// What the [marks](crate::sheet::Road) do; the usual way of reading them, as the MusicXML 4.0 schema has it in the elements `sound`
    /// and `repeat`, and where these say nothing common practice, no source:
    ///
    /// - A mark counts at the end of its bar, where a repeat plays that bar several times, the last time: repeats first, then the jump.
    /// - A jump is taken once, the first time through. `D.C.` goes to the first bar, `D.S.` to the last segno of its label in front of
    ///   it. Passed again, it means nothing.
    /// - After a jump `fine` ends the tune and `to coda` goes to the next coda of its label, where the jump does not say otherwise: `al
    ///   Fine` passes over `to coda`, `al Coda` passes over `fine` in front of the coda. A `to coda` is taken once. Without a jump
    ///   before it neither means anything.
    /// - A label that no sign has means the only sign there is.
    /// - Repeats that were played are not taken again after a jump. Of their endings the one is played in which the tune then ends or
    ///   leaves for the coda, otherwise the last. They are taken where the jump says `con replica`, or the backward sign that it
    ///   counts [`after_jump`](crate::sheet::Barline::after_jump). A repeat that is come to for the first time, as in a coda, is taken.
    /// - A jump into the middle of a repeat starts there; into an ending that is not taken again, it goes on behind the last
    ///   ending.
    /// - `D.S.` without a segno and `to coda` without a coda behind it mean nothing, and the music goes on; so it does where `al
    ///   Fine` or `al Coda` comes to none. Each is a finding, and so are bars that are never played.
    ///
    /// Every jump and every `to coda` is taken once and between them the way only leads on, so that it ends whatever the marks
    /// are.
    ///
    /// # Chords and ties across a seam
    ///
    /// A seam is where two bars follow each other that are no neighbours on the page.
    ///
    /// - Where a section is gone back to that has no symbol of its own at its start, it sounds as it did the first time:
    ///   the symbol that was in force then is said again, unless the same symbol sounds already. Where none was in force
    ///   the first time, as in a pick-up, the chord that sounds goes on.
    /// - Where an ending is skipped, the chord in front of the skip goes on into an ending without a symbol at its
    ///   start. The chord of the ending that was skipped plays no part, although it stands in front on the page.
    /// - A note is held over a seam where the same pitch stands on both sides and both are tied; or where one is, and has no
    ///   partner on the page, like the half tie in front of a second ending. Every other tie over a barline that leads
    ///   nowhere is cut. Lengths do not change.
    ///
    /// # Errors
    ///
    /// [`Error::is_sheet`](crate::Error::is_sheet) where the sheet, its signs and marks apart, does not
    /// [`validate`](LeadSheet::validate); [`Error::is_limit`](crate::Error::is_limit) where more than
    /// [`MOST_BARS_PLAYED`] bars would be played, or more ticks than a time holds.
    ///
    /// # Example
    ///
    /// ```
    /// use overshell::sheet::{ReadOptions, read};
    ///
    /// let bar = |number: u8, step: char, barline: &str| {
    ///     format!(
    ///         "<measure number='{number}'><attributes><divisions>1</divisions></attributes>{barline}
    ///          <note><pitch><step>{step}</step><octave>5</octave></pitch><duration>4</duration></note></measure>"
    ///     )
    /// };
    /// let first = "<barline location='left'><ending number='1' type='start'/></barline>
    ///              <barline location='right'><ending number='1' type='stop'/><repeat direction='backward'/></barline>";
    /// let second = "<barline location='left'><ending number='2' type='start'/></barline>";
    /// let bars = [bar(1, 'E', ""), bar(2, 'F', first), bar(3, 'G', second)].concat();
    /// let xml = format!("<score-partwise><part-list/><part id='P1'>{bars}</part></score-partwise>");
    /// let played = read(xml.as_bytes(), &ReadOptions::default())?.sheet.as_played()?;
    /// let numbers: Vec<&str> = played.sheet.bars.iter().map(|bar| bar.number.as_str()).collect();
    /// assert_eq!(numbers, ["1", "2", "1", "3"]);
    /// assert_eq!(played.bars, [0, 1, 0, 2]);
    /// assert!(played.findings.is_empty());
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn as_played(&self) -> Result<Played> {
        let signs = signs::of_bars(&self.bars);
        let mut page = self.clone();
        let had_signs = signs::take_away(&mut page.bars);
        page.validate()?;
        if !had_signs {
            let (bars, chords) = ((0..page.bars.len()).collect(), (0..page.chords.len()).collect());
            return Ok(Played { sheet: page, bars, chords, findings: Vec::new() });
        }
        let (stretches, mut remarks) = order::stretches(&signs);
        let roads: Vec<&Road> = self.bars.iter().map(|bar| &bar.road).collect();
        let bars = follow::follow(&stretches, &roads, &mut remarks)?;
        remarks.sort_by_key(|remark| remark.bar);
        let (sheet, chords) = seams::join(&page, &bars)?;
        let findings = remarks.into_iter().map(|remark| SheetFinding {
            bar: page.bars.get(remark.bar).map(|bar| bar.number.clone()).unwrap_or_default(),
            beat: 1.0,
            byte: None,
            line: None,
            column: None,
            message: remark.message,
            help: remark.help,
            chord: None,
        });
        Ok(Played { sheet, bars, chords, findings: findings.collect() })
    }
}
