//! Several arrangements one after the other as one page of music, such as a tune in all keys.

use std::sync::Arc;

use super::lead_sheet::{Bar, LeadSheet, PlacedChord, Repeat};
use super::road::JumpTo;
use super::transpose::Transposition;
use super::write::{write_musicxml, write_parts_musicxml};
use crate::characters::is_allowed;
use crate::error::{Error, Kind, Result};
use crate::pitch::Interval;
use crate::search::Arrangement;

/// A part of a book: a tune for two hands under a heading.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// What stands above its first bar.
    pub heading: String,
    /// The tune.
    pub sheet: LeadSheet,
    /// How it is played.
    pub arrangement: Arrangement,
}

/// Writes all sections one after the other as MusicXML 4.0, as [`write_musicxml`] does, each on a new system under its heading (a
/// rehearsal mark), with its own key and metre.
///
/// Bars are numbered through; a pick-up keeps the number 0 where it is the first bar and counts no beat elsewhere. A section that
/// goes back to its start gets the sign that says so, and every section ends with a double bar. The tempo is that of the first.
/// Jumps stay in their section: its labels become its own, and `D.C.` behind the first section is `D.S.` to a segno at the start of its
/// own. A `fine` that counts ends the playing of the book too.
///
/// # Errors
///
/// [`Error::is_sheet`] where there is no section, and for each what [`write_musicxml`] refuses, with its heading in front;
/// [`Error::is_limit`] where all together are too long to be counted in ticks.
///
/// # Example
///
/// ```
/// use overshell::rules::RuleSet;
/// use overshell::search::arrange;
/// use overshell::sheet::{KeyOrder, ReadOptions, Section, Six, read, write_book_musicxml};
///
/// let chart = "key: C\nmetre: 4/4\n\n| Dm7 G7 | C |\n> F5*2 D5 | E5 |\n";
/// let tune = read(chart.as_bytes(), &ReadOptions::default())?.sheet;
/// let keys = KeyOrder::Fifths.keys(tune.key, Six::Flats);
/// let sections: Vec<Section> = keys.iter().take(2).map(|key| {
///     let sheet = tune.transposed(key.tonic())?;
///     let arrangement = arrange(&sheet.progression(), RuleSet::standard(), Default::default())?;
///     Ok(Section { heading: format!("Key of {key}"), sheet, arrangement })
/// }).collect::<overshell::Result<_>>()?;
/// let page = write_book_musicxml("Two keys", &sections)?;
/// assert_eq!(page.matches("<rehearsal").count(), 2);
/// assert!(page.contains("<fifths>1</fifths>"));
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn write_book_musicxml(title: &str, sections: &[Section]) -> Result<String> {
    let (sheet, arrangement, starts) = joined(title, sections)?;
    let page = write_parts_musicxml(&sheet, &arrangement, &starts)?;
    let headings: Vec<(usize, &str)> =
        starts.into_iter().zip(sections).map(|(bar, section)| (bar, section.heading.as_str())).collect();
    Ok(with_headings(&page, &headings))
}

/// All sections as one, and the index of each one's first bar.
fn joined(title: &str, sections: &[Section]) -> Result<(LeadSheet, Arrangement, Vec<usize>)> {
    let Some(first) = sections.first() else {
        return Err(Error::new(Kind::Sheet, "the book has no sections"));
    };
    let mut sheet = LeadSheet {
        title: title.to_owned(),
        bars: vec![],
        notes: vec![],
        chords: vec![],
        ..first.sheet.clone()
    };
    let mut arrangement = Arrangement { chords: vec![], octave_shift: 0, cost: 0 };
    let mut starts = Vec::with_capacity(sections.len());
    for section in sections {
        starts.push(sheet.bars.len());
        let sections = starts.len() - 1;
        append(&mut sheet, &mut arrangement, section, sections)
            .map_err(|error| error.context(&section.heading))?;
    }
    if let Some(last) = sheet.bars.last_mut().filter(|bar| bar.right.repeat.is_none()) {
        last.right.style = Some("light-heavy".to_owned());
    }
    Ok((sheet, arrangement, starts))
}

fn append(
    sheet: &mut LeadSheet,
    arrangement: &mut Arrangement,
    section: &Section,
    sections: usize,
) -> Result<()> {
    // Written once by itself, so that what is wrong is said under its heading.
    write_musicxml(&section.sheet, &section.arrangement)?;
    let (from, bars, slots) = (sheet.end(), sheet.bars.len(), arrangement.chords.len());
    if from.checked_add(section.sheet.end()).is_none() {
        return Err(Error::new(Kind::Limit, "the book is too long to be counted in ticks")
            .with_help("make several books"));
    }
    // The octave of each arrangement goes into its notes, since the book has one for all.
    let octaves = section.arrangement.octave_shift / 12;
    let own = section.sheet.transposed(Transposition::up(Interval::UNISON).with_octaves(octaves))?;
    let pick_up = |bar: &Bar| bar.length < bar.metre.bar_ticks();
    let opening = sheet.bars.first().or(own.bars.first());
    let number = bars + usize::from(!opening.is_some_and(pick_up));
    let mut new: Vec<Bar> = own
        .bars
        .iter()
        .enumerate()
        .map(|(at, bar)| Bar {
            number: (number + at).to_string(),
            implicit: bar.implicit || (at == 0 && pick_up(bar)),
            start: from + bar.start,
            ..bar.clone()
        })
        .collect();
    close(&mut new);
    own_road(&mut new, sections);
    sheet.bars.extend(new);
    sheet.notes.extend(own.notes.into_iter().map(|note| super::Note { start: from + note.start, ..note }));
    sheet.chords.extend(own.chords.into_iter().map(|placed| PlacedChord {
        start: from + placed.start,
        bar: bars + placed.bar,
        ..placed
    }));
    let chords = section.arrangement.chords.iter();
    arrangement.chords.extend(chords.map(|chord| {
        let mut chord = Arc::clone(chord);
        Arc::make_mut(&mut chord).slot += slots;
        chord
    }));
    arrangement.cost = arrangement.cost.saturating_add(section.arrangement.cost);
    Ok(())
}

/// Gives a section its edges: what goes back goes back to its start, and it ends with a double bar.
fn close(bars: &mut [Bar]) {
    let signs = bars.iter().flat_map(|bar| [bar.left.repeat, bar.right.repeat]).flatten();
    let goes_back = signs.into_iter().next() == Some(Repeat::Backward);
    if let Some(first) = bars.first_mut().filter(|_| goes_back) {
        first.left.repeat = Some(Repeat::Forward);
    }
    if let Some(last) = bars.last_mut().filter(|bar| bar.right.repeat.is_none()) {
        last.right.style = Some("light-light".to_owned());
    }
}

/// Keeps the jumps of a section inside it: its labels are its own, and what goes to the start goes to a segno at its first bar.
fn own_road(bars: &mut [Bar], sections: usize) {
    if sections == 0 {
        return;
    }
    for label in bars.iter_mut().flat_map(|bar| bar.road.labels_mut()) {
        *label = format!("section-{}{}{label}", sections + 1, if label.is_empty() { "" } else { "-" });
    }
    let start = bars.first().and_then(|bar| bar.road.segno.clone());
    let start = start.unwrap_or_else(|| format!("section-{}-start", sections + 1));
    let mut goes_to_start = false;
    for jump in bars.iter_mut().filter_map(|bar| bar.road.jump.as_mut()) {
        if jump.to == JumpTo::Start {
            jump.to = JumpTo::Segno(start.clone());
            goes_to_start = true;
        }
    }
    if let Some(first) = bars.first_mut().filter(|_| goes_to_start) {
        first.road.segno = Some(start);
    }
}

/// A page with headings above some of its bars, which our own writer has written: one element on each line.
fn with_headings(page: &str, headings: &[(usize, &str)]) -> String {
    let mut out = String::with_capacity(page.len() + 400 * headings.len());
    let (mut headings, mut bar, mut waiting) = (headings.iter().peekable(), 0usize, None);
    for line in page.lines() {
        let element = line.trim_start();
        let begins = |names: &[&str]| {
            names.iter().any(|name| {
                let behind = element.strip_prefix('<').and_then(|rest| rest.strip_prefix(name));
                behind.is_some_and(|rest| rest.starts_with([' ', '>', '/']))
            })
        };
        // A heading stands behind key and metre, before all that sounds.
        let sounds =
            begins(&["direction", "harmony", "note", "forward", "backup"]) || element == "</measure>";
        if let Some(heading) = waiting.take_if(|_| sounds) {
            out.push_str(&rehearsal(heading));
        }
        out.push_str(line);
        out.push('\n');
        if begins(&["measure"]) {
            if let Some((_, heading)) = headings.next_if(|(at, _)| *at == bar) {
                waiting = Some(*heading);
            }
            bar += 1;
        }
    }
    out
}

fn rehearsal(heading: &str) -> String {
    let mut text = String::with_capacity(heading.len());
    for c in heading.chars() {
        match c {
            '&' => text.push_str("&amp;"),
            '<' => text.push_str("&lt;"),
            '>' => text.push_str("&gt;"),
            c if is_allowed(c) && !c.is_control() => text.push(c),
            _ => {}
        }
    }
    format!(
        "      <direction placement=\"above\">\n        <direction-type>\n          <rehearsal>{text}</rehearsal>\n        \
         </direction-type>\n        <staff>1</staff>\n      </direction>\n"
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::RuleSet;
    use crate::search::{ArrangeOptions, Octave, arrange};
    use crate::sheet::{KeyOrder, ReadOptions, Six, read};

    fn tune(text: &str) -> LeadSheet {
        read(text.as_bytes(), &ReadOptions::default()).unwrap().sheet
    }

    fn sections(tune: &LeadSheet, octave: Octave) -> Vec<Section> {
        let keys = KeyOrder::Fourths.keys(tune.key, Six::Flats);
        let section = |key: &crate::chord::Key| {
            let sheet = tune.transposed(key.tonic()).unwrap();
            let options = ArrangeOptions { octave, ..ArrangeOptions::default() };
            let arrangement = arrange(&sheet.progression(), RuleSet::standard(), options).unwrap();
            Section { heading: format!("<{key}> & so on"), sheet, arrangement }
        };
        keys.iter().map(section).collect()
    }

    /// Read again, the book is the tunes one after the other, each an octave up where its arrangement says so.
    #[test]
    fn ok_a_book_holds_every_section() {
        let tune = tune("key: F\nmetre: 3/4\n\n| -*1 | Gm7 C7*2 | F :|\n> C5 | Bb4 G4 E4 | A4 |\n");
        for octave in [Octave::AsWritten, Octave::Up] {
            let sections = sections(&tune, octave);
            let page = write_book_musicxml("Book", &sections).unwrap();
            let book = read(page.as_bytes(), &ReadOptions::default()).unwrap().sheet;
            assert_eq!(book.bars.len(), 12 * tune.bars.len());
            assert_eq!(book.title, "Book");
            let (mut notes, mut chords) = (book.notes.iter(), book.chords.iter());
            for (section, bars) in sections.iter().zip(book.bars.chunks(tune.bars.len())) {
                let by = section.arrangement.octave_shift / 12;
                for (note, read) in section.sheet.notes.iter().zip(&mut notes) {
                    assert_eq!(read.pitch, note.pitch.and_then(|pitch| pitch.shift_octaves(by)));
                }
                for (chord, read) in section.sheet.chords.iter().zip(&mut chords) {
                    assert_eq!(read.symbol, chord.symbol);
                }
                assert!(bars.iter().all(|bar| bar.key == section.sheet.key));
                assert_eq!(bars[0].left.repeat, Some(Repeat::Forward));
            }
            assert_eq!((notes.next(), chords.next()), (None, None));
            let mut numbers: Vec<usize> = book.bars.iter().map(|bar| bar.number.parse().unwrap()).collect();
            assert_eq!(numbers, (0..book.bars.len()).collect::<Vec<_>>());
            numbers.dedup();
            assert_eq!(numbers.len(), book.bars.len());
            // Played, every key is played twice before the next begins.
            let played = book.as_played().unwrap();
            assert_eq!(played.sheet.bars.len(), 2 * book.bars.len());
        }
    }

    #[test]
    fn ok_headings_stand_at_the_first_bars() {
        let sections = sections(&tune("key: C\nmetre: 4/4\n\n| C | G7 |\n> C5 | B4 |\n"), Octave::Auto);
        let page = write_book_musicxml("Book", &sections).unwrap();
        let bars: Vec<&str> = page.split("<measure ").skip(1).collect();
        assert_eq!(bars.len(), 24);
        for (at, bar) in bars.iter().enumerate() {
            let heading = bar.find("<rehearsal>");
            assert_eq!(heading.is_some(), at % 2 == 0, "{at}");
            assert_eq!(bar.contains("new-system"), at % 2 == 0 && at > 0);
            if let Some(heading) = heading {
                assert!(bar.find("</attributes>").unwrap() < heading && heading < bar.find("<note").unwrap());
            }
        }
        assert!(bars[0].contains("<rehearsal>&lt;C&gt; &amp; so on</rehearsal>"));
        assert!(bars[23].contains("light-heavy") && bars[21].contains("light-light"));
    }

    /// Played, every key goes its whole road before the next begins.
    #[test]
    fn ok_jumps_stay_in_their_section() {
        for jump in ["dal segno al coda", "da capo al coda"] {
            let tune = tune(&format!(
                "key: C\nmetre: 4/4\n\n| C | <segno> F <to coda> | G7 <{jump}> | <coda> C |\n> C5 | A4 | B4 | C5 |\n"
            ));
            let own = tune.as_played().unwrap().bars;
            assert_eq!(own.len(), if jump.starts_with("dal") { 5 } else { 6 });
            let page = write_book_musicxml("Book", &sections(&tune, Octave::Auto)).unwrap();
            let book = read(page.as_bytes(), &ReadOptions::default()).unwrap().sheet;
            let played = book.as_played().unwrap();
            assert!(played.findings.is_empty(), "{:?}", played.findings);
            let expected: Vec<usize> =
                (0..12).flat_map(|section| own.iter().map(move |bar| 4 * section + bar)).collect();
            assert_eq!(played.bars, expected, "{jump}");
        }
    }

    #[test]
    fn err_books() {
        assert!(write_book_musicxml("", &[]).unwrap_err().is_sheet());
        let mut sections = sections(&tune("key: C\nmetre: 4/4\n\n| C | G7 |\n> C5 | B4 |\n"), Octave::Auto);
        sections[3].arrangement.chords.pop();
        let error = write_book_musicxml("", &sections).unwrap_err();
        assert!(
            error.is_sheet() && error.to_string().starts_with("<Eb> & so on: the arrangement has 1 chords")
        );
    }
}
