//! A lead sheet as a chart.

use super::road;
use crate::error::Result;
use crate::pitch::shown;
use crate::sheet::draft::{Ratio, symbol};
use crate::sheet::write::lines::{self, Edges, LeadText, Out};
use crate::sheet::{Bar, LeadSheet, Metre, Note, NoteValue, PlacedChord, Repeat};

const EDGES: Edges = Edges {
    right: &[
        (None, None, "|"),
        (Some("light-light"), None, "||"),
        (Some("light-heavy"), None, "|."),
        (Some("light-heavy"), Some(Repeat::Backward), ":|"),
    ],
    left: &[(None, None, ""), (Some("heavy-light"), Some(Repeat::Forward), "|:")],
    both: ":|:",
};

/// Bars in a line of text.
const BARS: usize = 4;

/// Writes a lead sheet as a chart: chord symbols, and the melody where there is one.
///
/// # What it cannot hold
///
/// Numbers of bars other than counted ones, barlines other than plain, double, final and repeats, brackets that stop elsewhere
/// than at a sign that divides the page, printed values that the length does not say, repeats that are taken again after a jump, ties without a partner.
/// [`LeadText::lost`] says what was lost where; where it is empty, reading gives the same sheet.
///
/// # Errors
///
/// [`Error::is_sheet`](crate::Error::is_sheet) where the sheet does not [`validate`](LeadSheet::validate).
///
/// # Example
///
/// ```
/// use overshell::sheet::{ReadOptions, read_chart, write_chart};
///
/// let text = "key: F\nmetre: 4/4\n\n|: Gm7 | C7*3 Gb7*1 | Fmaj7 :|\n>  Bb4*4 | A4*1 G4*3~ | G4*4 |\n";
/// let sheet = read_chart(text.as_bytes(), &ReadOptions::default())?.sheet;
/// let written = write_chart(&sheet)?;
/// assert_eq!(written.text, text);
/// assert!(written.is_exact());
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn write_chart(sheet: &LeadSheet) -> Result<LeadText> {
    sheet.validate()?;
    let mut out = Out::new(sheet, &EDGES)?;
    let (title, tempo) = lines::head(&mut out);
    let notes = lines::notes(&mut out, false);
    let mut text = String::new();
    if !title.is_empty() {
        text.push_str(&format!("title: {title}\n"));
    }
    let (mut key, mut metre) = (None, None);
    if let Some(bar) = sheet.bars.first() {
        let first = lines::key(&mut out, 0, bar.key);
        text.push_str(&format!("key: {first}\nmetre: {}\n", shown_metre(bar.metre)));
        (key, metre) = (Some(bar.key), Some(bar.metre));
    }
    if let Some(tempo) = tempo {
        text.push_str(&format!("tempo: {tempo}\n"));
    }
    text.push('\n');
    let (mut above, mut below) = (out.first_stroke(&EDGES).to_owned(), Vec::new());
    let (mut note, mut chord) = (0, 0);
    for (index, bar) in sheet.bars.iter().enumerate() {
        if above.is_empty() {
            above.push('|');
        }
        if let Some(numbers) = out.ending(index) {
            above.push_str(&format!("{{{numbers}}}"));
        }
        if metre != Some(bar.metre) {
            above.push_str(&format!(" metre={}", shown_metre(bar.metre)));
        }
        if key != Some(bar.key) {
            let written = lines::key(&mut out, index, bar.key);
            above.push_str(&format!(" key={written}"));
        }
        (key, metre) = (Some(bar.key), Some(bar.metre));
        let symbols: Vec<&PlacedChord> =
            sheet.chords.iter().skip(chord).take_while(|chord| chord.start < bar.end()).collect();
        chord += symbols.len();
        let (start, end) = road::marks(&bar.road);
        let stroke = out.stroke(index, &EDGES);
        above.push_str(&format!("{start} {}{end} {stroke}", chords(&mut out, index, bar, &symbols)));
        let own: Vec<&Note> = notes.iter().skip(note).take_while(|note| note.start < bar.end()).collect();
        note += own.len();
        below.push(melody(&mut out, index, bar, &own));
        if (index + 1) % BARS == 0 || index + 1 == sheet.bars.len() {
            text.push_str(&above);
            text.push('\n');
            if below.iter().any(|bar| !bar.is_empty()) {
                let rest = |bar: &String| if bar.is_empty() { "r".to_owned() } else { bar.clone() };
                text.push_str(&format!(">  {} |\n", itertools::join(below.iter().map(rest), " | ")));
            }
            above.clear();
            below.clear();
        }
    }
    Ok(LeadText { text, lost: out.lost })
}

fn shown_metre(metre: Metre) -> String {
    format!("{}/{}", metre.beats, metre.unit)
}

/// Ticks as beats behind `*`.
fn beats(ticks: u32, metre: Metre) -> String {
    let beats = Ratio::new(ticks.into(), metre.beat_ticks().into()).unwrap_or(Ratio::ONE);
    if beats.under() == 1 {
        format!("*{}", beats.over())
    } else {
        format!("*{}/{}", beats.over(), beats.under())
    }
}

/// The symbols of a bar with their beats, where they do not share it equally and on half beats.
fn chords(out: &mut Out<'_>, index: usize, bar: &Bar, symbols: &[&PlacedChord]) -> String {
    let mut items: Vec<(String, u32)> = Vec::new();
    let first = symbols.first().map_or(bar.end(), |chord| chord.start);
    if first > bar.start {
        items.push(("-".to_owned(), first - bar.start));
    }
    for (at, chord) in symbols.iter().enumerate() {
        let end = symbols.get(at + 1).map_or(bar.end(), |next| next.start);
        items.push((word(out, index, chord), end.saturating_sub(chord.start)));
    }
    let (_, share) = items.first().cloned().unwrap_or_default();
    let half = (bar.metre.beat_ticks() / 2).max(1);
    let is_equal = bar.length == bar.metre.bar_ticks()
        && items.iter().all(|(_, length)| *length == share)
        && (items.len() == 1 || share % half == 0);
    let words = items.iter().map(|(word, length)| {
        if is_equal { word.clone() } else { format!("{word}{}", beats(*length, bar.metre)) }
    });
    itertools::join(words, " ")
}

/// A symbol as a word of a chart, in quotes where it needs them.
fn word(out: &mut Out<'_>, index: usize, chord: &PlacedChord) -> String {
    let text: String = chord.symbol.as_str().chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    if symbol(&text).symbol != chord.symbol {
        let message = format!("the symbol `{}` is read otherwise from a chart", shown(chord.symbol.as_str()));
        out.lose(index, chord.start, message, "write it as a chord symbol");
    }
    let means_something = |c: char| c.is_whitespace() || "|*\"{}~=:#<>".contains(c);
    // A sharp is no remark behind a letter.
    let is_plain = text.starts_with(|c: char| c.is_ascii_alphabetic())
        && !text.chars().any(|c| c != '#' && means_something(c));
    if is_plain { text } else { format!("\"{}\"", text.replace('"', "\"\"")) }
}

/// The melody of a bar; nothing where it rests from stroke to stroke.
fn melody(out: &mut Out<'_>, index: usize, bar: &Bar, notes: &[&Note]) -> String {
    for note in notes {
        if note.value != NoteValue::of_ticks(note.duration) {
            let message = "the printed value of a note is left out, its length is written";
            out.lose(index, note.start, message, "print notes as their lengths say");
        }
    }
    if notes.len() == 1 && notes.iter().all(|note| note.pitch.is_none()) {
        return String::new();
    }
    let words = notes.iter().map(|note| {
        let name = note.pitch.map_or_else(|| "r".to_owned(), |pitch| pitch.to_string());
        format!("{name}{}{}", beats(note.duration, bar.metre), if note.tied_to { "~" } else { "" })
    });
    itertools::join(words, " ")
}
