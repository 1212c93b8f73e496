//! A lead sheet as ABC.

use super::key::signature_of;
use super::quoted::{Quoted, quoted};
use super::road::{self, Marks};
use crate::error::Result;
use crate::pitch::{Accidental, Pitch, shown};
use crate::sheet::draft::Ratio;
use crate::sheet::write::lines::{self, Edges, LeadText, Out};
use crate::sheet::{Bar, LeadSheet, Note, NoteValue, PlacedSymbol, Repeat, TICKS_PER_QUARTER};

/// ABC 2.1, section 4.8.
const EDGES: Edges = Edges {
    right: &[
        (None, None, "|"),
        (Some("light-light"), None, "||"),
        (Some("light-heavy"), None, "|]"),
        (Some("light-heavy"), Some(Repeat::Backward), ":|"),
        (Some("dotted"), None, ".|"),
        (Some("none"), None, "[|]"),
    ],
    left: &[
        (None, None, ""),
        (Some("heavy-light"), Some(Repeat::Forward), "|:"),
        (Some("heavy-light"), None, "[|"),
    ],
    both: "::",
};

/// Ticks of the unit of length, an eighth.
const UNIT: u32 = TICKS_PER_QUARTER / 2;

/// Bars in a line of text.
const BARS: usize = 4;

/// Writes the melody with its chord symbols as a tune of ABC 2.1.
///
/// Marks such as `D.S.` are decorations of section 4.14, those that name `al Coda` and `al Fine` in one word as many programs have
/// them, and words where there is none.
///
/// Every accidental that is not the key's is written at its note, also where it still holds, so that the tune means the same
/// to readers that disagree how far one holds. Chord symbols are written as they are: section 4.18 of the standard asks readers to
/// be liberal.
///
/// # What it cannot hold
///
/// Numbers of bars other than counted ones, barlines other than `| || |] [| [|] .| |: :|`, brackets that stop elsewhere than at a
/// sign that divides the page, printed values that the length does not say, repeats that are taken again after a jump, labels of marks other than
/// numbers and every label of `D.S.`, a symbol that starts inside a note (the note is cut
/// in two and tied), ties without a partner. [`LeadText::lost`] says what was lost where; where it is empty, reading gives the
/// same sheet.
///
/// # Errors
///
/// [`Error::is_sheet`](crate::Error::is_sheet) where the sheet does not [`validate`](LeadSheet::validate).
///
/// # Example
///
/// ```
/// use overshell::sheet::{ReadOptions, read_abc, write_abc};
///
/// let tune = "X:1\nM:3/4\nL:1/4\nK:F\n\"Gm7\"B2 ^c|\"C7\"(3G/A/B/ G-G|\n";
/// let sheet = read_abc(tune.as_bytes(), &ReadOptions::default())?.sheet;
/// let written = write_abc(&sheet)?;
/// assert!(written.text.ends_with("\"Gm7\" B4 ^c2 | \"C7\" (3GAB G2- G2 |\n"));
/// assert_eq!(read_abc(written.text.as_bytes(), &ReadOptions::default())?.sheet, sheet);
/// assert!(written.is_exact());
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn write_abc(sheet: &LeadSheet) -> Result<LeadText> {
    sheet.validate()?;
    let mut out = Out::new(sheet, &EDGES)?;
    let (title, tempo) = lines::head(&mut out);
    let notes = lines::notes(&mut out, true);
    let mut text = format!("%abc-2.1\nX:1\nT:{}\n", escaped(&title, false));
    // What is in force, the key beside the one that is written for it.
    let (mut key, mut metre) = (None, None);
    if let Some(bar) = sheet.bars.first() {
        let first = lines::key(&mut out, 0, bar.key);
        text.push_str(&format!("M:{}/{}\nL:1/8\n", bar.metre.beats, bar.metre.unit));
        if let Some(tempo) = tempo {
            text.push_str(&format!("Q:1/4={tempo}\n"));
        }
        text.push_str(&format!("K:{first}\n"));
        (key, metre) = (Some((bar.key, first)), Some(bar.metre));
    }
    let mut line = Vec::new();
    let first = out.first_stroke(&EDGES);
    if !first.is_empty() {
        line.push(first.to_owned());
    }
    // Of several coda signs the first would be read as that which leaves.
    let codas_are_signs = sheet.bars.iter().any(|bar| bar.road.to_coda.is_some())
        || sheet.bars.iter().filter(|bar| bar.road.coda.is_some()).count() < 2;
    let (mut note, mut chord) = (0, 0);
    for (index, bar) in sheet.bars.iter().enumerate() {
        if let Some(numbers) = out.ending(index) {
            line.push(format!("[{numbers}"));
        }
        if metre != Some(bar.metre) {
            line.push(format!("[M:{}/{}]", bar.metre.beats, bar.metre.unit));
        }
        let written_key = match key {
            Some((own, written)) if own == bar.key => written,
            _ => {
                let written = lines::key(&mut out, index, bar.key);
                line.push(format!("[K:{written}]"));
                written
            }
        };
        (key, metre) = (Some((bar.key, written_key)), Some(bar.metre));
        let own: Vec<&Note> = notes.iter().skip(note).take_while(|note| note.start < bar.end()).collect();
        let before = note.checked_sub(1).and_then(|before| notes.get(before));
        note += own.len();
        let symbols = sheet.chords.iter().skip(chord).take_while(|chord| chord.start < bar.end());
        let symbols: Vec<(u32, &PlacedSymbol)> = symbols.map(|chord| (chord.start, &chord.symbol)).collect();
        chord += symbols.len();
        let Marks { start, end, lost } = road::marks(&bar.road, codas_are_signs);
        for (message, help) in lost {
            out.lose(index, bar.start, message, help);
        }
        line.extend(start);
        let mut page = Page { out: &mut out, index, bar, signature: signature_of(written_key.signature()) };
        line.push(page.notes(before, &own, &symbols));
        line.extend(end);
        line.push(out.stroke(index, &EDGES));
        if (index + 1) % BARS == 0 || index + 1 == sheet.bars.len() {
            text.push_str(&line.join(" "));
            text.push('\n');
            line.clear();
        }
    }
    Ok(LeadText { text, lost: out.lost })
}

/// A bar being written.
struct Page<'o, 'a> {
    out: &'o mut Out<'a>,
    index: usize,
    bar: &'o Bar,
    signature: super::key::Signature,
}

impl Page<'_, '_> {
    fn notes(&mut self, last: Option<&Note>, notes: &[&Note], symbols: &[(u32, &PlacedSymbol)]) -> String {
        let mut text = String::new();
        let mut altered = [false; 7];
        let mut symbols = symbols.iter().peekable();
        let mut tuplet_left = 0usize;
        for (at, note) in notes.iter().enumerate() {
            let before = at.checked_sub(1).and_then(|before| notes.get(before)).copied();
            if before.is_some_and(|before| !self.is_beamed(before, note)) {
                text.push(' ');
            }
            while let Some((_, symbol)) = symbols.next_if(|(start, _)| *start <= note.start) {
                text.push_str(&self.symbol(note.start, symbol));
                text.push(' ');
            }
            let tuplet = self.tuplet(note);
            if tuplet_left == 0 && tuplet != (1, 1) {
                let most = usize::from(tuplet.0);
                let rest = notes.iter().skip(at).take(most);
                tuplet_left = rest.take_while(|other| self.tuplet(other) == tuplet).count();
                text.push_str(&self.tuplet_text(tuplet, tuplet_left));
            }
            tuplet_left = tuplet_left.saturating_sub(1);
            match note.pitch {
                Some(pitch) => {
                    let tied =
                        before.or(last).filter(|before| before.tied_to).and_then(|before| before.pitch);
                    text.push_str(&self.pitch(pitch, tied, &mut altered));
                }
                None => text.push('z'),
            }
            text.push_str(&length(note, tuplet));
            if note.value != read_again(note.duration, tuplet) {
                let message = "the printed value of a note is left out, its length is written";
                self.out.lose(self.index, note.start, message, "print notes as their lengths say");
            }
            if note.tied_to {
                text.push('-');
            }
        }
        text
    }

    /// Whether two notes share a beam: both short, in one beat.
    fn is_beamed(&self, one: &Note, next: &Note) -> bool {
        let beat = self.bar.metre.beat_ticks().max(TICKS_PER_QUARTER);
        let short = |note: &Note| note.pitch.is_some() && note.duration < TICKS_PER_QUARTER;
        let beat_of = |note: &Note| (note.start - self.bar.start) / beat;
        short(one) && short(next) && beat_of(one) == beat_of(next)
    }

    /// The tuplet that a note is written in.
    fn tuplet(&self, note: &Note) -> (u8, u8) {
        match note.value {
            Some(value) if is_written(value, note.duration) => value.tuplet,
            _ => NoteValue::of_ticks(note.duration).map_or((1, 1), |value| value.tuplet),
        }
    }

    fn tuplet_text(&self, (notes, time): (u8, u8), count: usize) -> String {
        if (notes, time) == (3, 2) && count == 3 {
            "(3".to_owned()
        } else {
            format!("({notes}:{time}:{count}")
        }
    }

    fn pitch(&self, pitch: Pitch, tied: Option<Pitch>, altered: &mut [bool; 7]) -> String {
        let letter = usize::from(pitch.letter().steps());
        let of_key = self.signature.get(letter).copied().unwrap_or(0);
        let own = pitch.accidental();
        let was_altered = altered.get(letter).copied().unwrap_or(false);
        let mut text = String::new();
        // A tie in front would carry its accidental to a note of this letter.
        let is_other = |tied: Pitch| tied.name() != pitch.name() && tied.letter() == pitch.letter();
        if own.semitones() != of_key || was_altered || tied.is_some_and(is_other) {
            text.push_str(match own {
                Accidental::DoubleFlat => "__",
                Accidental::Flat => "_",
                Accidental::Natural => "=",
                Accidental::Sharp => "^",
                Accidental::DoubleSharp => "^^",
            });
            if let Some(altered) = altered.get_mut(letter) {
                *altered = true;
            }
        }
        let (name, octave) = (pitch.letter().as_char(), pitch.octave());
        if octave >= 5 {
            text.push(name.to_ascii_lowercase());
            text.extend(std::iter::repeat_n('\'', usize::from(octave.abs_diff(5))));
        } else {
            text.push(name);
            text.extend(std::iter::repeat_n(',', usize::from(octave.abs_diff(4))));
        }
        text
    }

    fn symbol(&mut self, tick: u32, symbol: &PlacedSymbol) -> String {
        let text = escaped(symbol.as_str(), true);
        let (is_chord, is_same) = match quoted(&text) {
            Quoted::Chord(found) => (true, found.symbol == *symbol),
            Quoted::Words | Quoted::Mark(_) | Quoted::Unclear | Quoted::Neither => (false, false),
        };
        if !is_chord {
            let message = format!("`{}` is no chord and is written as words", shown(symbol.as_str()));
            self.out.lose(self.index, tick, message, "write it as a chord symbol");
            return format!("\"^{text}\"");
        }
        if !is_same {
            let message = format!("the symbol `{}` is read otherwise from ABC", shown(symbol.as_str()));
            self.out.lose(self.index, tick, message, "write it as a chord symbol");
        }
        format!("\"{text}\"")
    }
}

/// Whether a printed value can be written so that it is read again.
fn is_written(value: NoteValue, duration: u32) -> bool {
    let plain = NoteValue { tuplet: (1, 1), ..value };
    let sound = |number: u8| (1..=64).contains(&number);
    value.ticks() == Some(duration)
        && sound(value.tuplet.0)
        && sound(value.tuplet.1)
        && plain.ticks().and_then(NoteValue::of_ticks) == Some(plain)
}

/// The printed value that a reader gives to a note in a tuplet.
fn read_again(duration: u32, tuplet: (u8, u8)) -> Option<NoteValue> {
    let plain = Ratio::of_ticks(duration)?.times(Ratio::new(tuplet.0.into(), tuplet.1.into())?)?.ticks();
    let plain = u32::try_from(plain.0).ok().filter(|_| plain.1).and_then(NoteValue::of_ticks);
    let value = plain.filter(|value| value.tuplet == (1, 1)).map(|value| NoteValue { tuplet, ..value });
    value.filter(|value| value.ticks() == Some(duration)).or_else(|| NoteValue::of_ticks(duration))
}

/// The length of a note in units, inside its tuplet.
fn length(note: &Note, (notes, time): (u8, u8)) -> String {
    let scaled = Ratio::new(u64::from(note.duration) * u64::from(notes), u64::from(UNIT) * u64::from(time));
    let length = scaled.unwrap_or(Ratio::ONE);
    match (length.over(), length.under()) {
        (1, 1) => String::new(),
        (over, 1) => over.to_string(),
        (1, 2) => "/".to_owned(),
        (1, under) => format!("/{under}"),
        (over, under) => format!("{over}/{under}"),
    }
}

/// A text with the signs escaped that mean something (ABC 2.1, section 8.2).
fn escaped(text: &str, is_quoted: bool) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\\' => out.push_str("\\\\"),
            '%' => out.push_str("\\%"),
            '&' => out.push_str("\\&"),
            '"' if is_quoted => out.push_str("\\u0022"),
            _ if c.is_control() => out.push_str(&format!("\\u{:04x}", u32::from(c))),
            _ => out.push(c),
        }
    }
    out
}
