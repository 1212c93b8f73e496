//! From lines to a sheet.

use super::bar::{Item, item, spread};
use super::melody::{self, Voice};
use super::road;
use crate::chord::Key;
use crate::error::{Error, Kind, Result, nearest};
use crate::pitch::shown;
use crate::sheet::barlines::is_ending_number;
use crate::sheet::draft::{Draft, Head, Line, Sign, lines, symbol};
use crate::sheet::road::Mark;
use crate::sheet::{Metre, ReadOptions, Reading};

/// The words of the head.
const WORDS: [&str; 4] = ["title", "key", "metre", "tempo"];

/// A part of a line of bars.
enum Part {
    Stroke(Sign, usize),
    Ending(String),
    Bar(Bar),
}

/// A bar as written.
struct Bar {
    byte: usize,
    key: Option<Key>,
    metre: Option<Metre>,
    marks: Vec<(Mark, usize)>,
    items: Vec<Item>,
}

/// A chart being read.
struct Chart<'a> {
    draft: Draft<'a>,
    head: Head,
    key: Key,
    metre: Metre,
    /// The bars of the last line, which wait for their melody.
    line: Vec<Part>,
    voices: Option<(usize, Vec<Voice<'a>>)>,
    /// The symbols of the bar before with their ticks, and its length.
    before: Option<(Vec<(u32, String)>, u32)>,
}

/// Reads a chart.
pub(super) fn read(text: &str, options: &ReadOptions) -> Result<Reading> {
    let mut chart = Chart {
        draft: Draft::new(text, options),
        head: Head::default(),
        key: Key::C_MAJOR,
        metre: Metre::COMMON,
        line: Vec::new(),
        voices: None,
        before: None,
    };
    for line in lines(text) {
        chart.line(line.trimmed())?;
    }
    chart.take_line()?;
    if chart.draft.is_start() {
        return Err(Error::new(Kind::Sheet, "the chart has no bars, expected a line such as `| Dm7 | G7 |`")
            .with_help("write chord symbols between `|`, or give MusicXML or ABC"));
    }
    chart.draft.finish(chart.head, false)
}

/// Whether a line is one of bars.
pub(in crate::sheet) fn is_bars(line: &str) -> bool {
    line.starts_with('|') || line.starts_with(":|")
}

/// A word of the head with what stands behind its colon.
fn head_of(line: &str) -> Option<(&str, &str)> {
    let (word, value) = line.split_once(':')?;
    let word = word.trim_end();
    (!word.is_empty() && word.bytes().all(|b| b.is_ascii_alphabetic())).then_some((word, value))
}

impl<'a> Chart<'a> {
    fn line(&mut self, line: Line<'a>) -> Result<()> {
        if line.text.is_empty() || line.text.starts_with('#') {
            return Ok(());
        }
        if is_bars(line.text) {
            self.take_line()?;
            return self.bars(line);
        }
        if let Some(melody) = line.text.strip_prefix('>') {
            if self.line.is_empty() || self.voices.is_some() {
                let message = "a line of melody without a line of bars above it is left out";
                self.draft.say(line.start, 0, message, "write one line that starts with `>` under its bars");
            } else {
                self.voices = Some((
                    line.start,
                    melody::voices(Line::new(melody, line.start + 1), self.draft.most_bars()),
                ));
            }
            return Ok(());
        }
        match head_of(line.text) {
            Some((word, value)) => {
                let start = line.start + line.text.len() - value.len();
                self.head_line(word, Line::new(value, start).trimmed(), line.start);
            }
            None => {
                let message =
                    format!("the line `{}` is left out, expected bars, melody or head", shown(line.text));
                self.draft.say_of_head(
                    line.start,
                    message,
                    "start bars with `|`, a melody with `>`, a remark with `#`, and the head with `title:`, `key:`, `metre:` or `tempo:`",
                );
            }
        }
        Ok(())
    }

    fn head_line(&mut self, word: &str, value: Line<'_>, byte: usize) {
        let text = value.text;
        let is_start = self.draft.is_start() && self.line.is_empty();
        match word {
            "title" => self.head.title = text.to_owned(),
            "tempo" => match text.parse::<u16>().ok().filter(|tempo| (1..=1000).contains(tempo)) {
                Some(tempo) => self.head.tempo = Some(tempo),
                None => {
                    let message = format!("the tempo `{}` is not read, expected 1 to 1000", shown(text));
                    self.draft.say_of_head(
                        value.start,
                        message,
                        "give the quarters a minute, such as `tempo: 120`",
                    );
                }
            },
            "key" | "metre" if !is_start => {
                let message = format!("`{word}:` behind the first bars is left out");
                let help = format!("change it in a bar: `| {word}={} Dm7 |`", shown(text));
                self.draft.say_of_head(byte, message, help);
            }
            "key" => match key(text) {
                Some(key) => self.key = key,
                None => self.draft.say_of_head(value.start, not_read("key", text), KEY_HELP),
            },
            "metre" => match metre(text) {
                Some(metre) => self.metre = metre,
                None => self.draft.say_of_head(value.start, not_read("metre", text), METRE_HELP),
            },
            other => {
                let meant = nearest(other, WORDS.iter());
                let help = meant.map_or_else(
                    || "the head says `title`, `key`, `metre` and `tempo`".to_owned(),
                    |word| format!("did you mean `{word}:`?"),
                );
                let message = format!("`{}:` is no word of the head and is left out", shown(other));
                self.draft.say_of_head(byte, message, help);
            }
        }
    }

    /// Reads a line of bars; it takes its place once its melody is known.
    fn bars(&mut self, mut line: Line<'a>) -> Result<()> {
        let mut words = 0;
        loop {
            line.while_some(char::is_whitespace);
            let byte = line.byte();
            let Some(sign) = line.peek() else { break };
            // A bar has a stroke and may have an ending.
            self.draft.bars_ahead(self.line.len() / 4, byte)?;
            if let Some(sign) = stroke(&mut line) {
                // A bar between two strokes with nothing in it.
                if sign == Sign::default() && matches!(self.line.last(), Some(Part::Stroke(..))) {
                    let message = "a bar with nothing in it: the chord before goes on";
                    self.draft.say(
                        byte,
                        0,
                        message,
                        "write `-` where a chord goes on, `=` to play the bar before again",
                    );
                    self.line.push(Part::Bar(Bar {
                        byte,
                        key: None,
                        metre: None,
                        marks: Vec::new(),
                        items: vec![goes_on(byte)],
                    }));
                    self.draft.ahead += 1;
                }
                self.line.push(Part::Stroke(sign, byte));
            } else if sign == '{' {
                self.ending(&mut line);
            } else {
                let bar = self.bar(&mut line, &mut words)?;
                self.line.push(Part::Bar(bar));
                self.draft.ahead += 1;
            }
        }
        if matches!(self.line.last(), Some(Part::Bar(_))) {
            self.draft.ahead = self.draft.ahead.saturating_sub(1);
            let message = "the line does not end with a stroke, its last bar ends there";
            self.draft.say(line.byte(), 0, message, "write `|` behind the last bar");
            self.line.push(Part::Stroke(Sign::default(), line.byte()));
        }
        self.draft.ahead = 0;
        Ok(())
    }

    fn ending(&mut self, line: &mut Line<'a>) {
        let byte = line.byte();
        line.next();
        let text: String = match line.until('}') {
            Some(text) => text.text.chars().filter(|c| !c.is_whitespace()).collect(),
            None => {
                line.skip_all();
                "{".to_owned()
            }
        };
        if is_ending_number(&text) && !text.is_empty() && text.len() < 100 {
            self.line.push(Part::Ending(text));
        } else {
            let message = format!("the ending `{}` is left out, expected numbers", shown(&text));
            self.draft.say(byte, 0, message, "write endings as `{1}` or `{1,2}`");
        }
    }

    /// Reads a bar up to its stroke.
    fn bar(&mut self, line: &mut Line<'a>, words: &mut usize) -> Result<Bar> {
        let mut bar = Bar { byte: line.byte(), key: None, metre: None, marks: Vec::new(), items: Vec::new() };
        loop {
            line.while_some(char::is_whitespace);
            let byte = line.byte();
            if line.peek().is_none_or(|c| c == '|' || c == '{') || line.rest().starts_with(":|") {
                break;
            }
            *words += 1;
            self.draft.notes_ahead(*words, byte)?;
            if line.eat("<") {
                let text = line.until('>').map_or_else(
                    || {
                        let rest = line.rest();
                        line.skip_all();
                        rest
                    },
                    |part| part.text,
                );
                let is_closed = line.before() == Some('>');
                match road::read_mark(text).filter(|_| is_closed) {
                    Some(mark) => bar.marks.push((mark, byte)),
                    None => {
                        let message = format!("the mark `<{}>` is not read and left out", shown(text));
                        self.draft.say(byte, 0, message, MARK_HELP);
                    }
                }
                continue;
            }
            let Some(item) = item(line, &mut self.draft) else {
                // A sign that begins no word.
                line.next();
                let message = "a sign that means nothing here is left out";
                self.draft.once(byte, 0, message, "put symbols with odd signs into quotes");
                continue;
            };
            match item.text.split_once('=').filter(|(word, _)| !item.is_quoted && !word.is_empty()) {
                Some(("key", value)) => match key(value) {
                    Some(key) => bar.key = Some(key),
                    None => self.draft.say(byte, 0, not_read("key", value), KEY_HELP),
                },
                Some(("metre", value)) => match metre(value) {
                    Some(metre) => bar.metre = Some(metre),
                    None => self.draft.say(byte, 0, not_read("metre", value), METRE_HELP),
                },
                _ => bar.items.push(item),
            }
        }
        if bar.items.is_empty() {
            bar.items.push(goes_on(bar.byte));
        }
        Ok(bar)
    }

    /// The line read last takes its place, with its melody.
    fn take_line(&mut self) -> Result<()> {
        let parts = std::mem::take(&mut self.line);
        let (byte, voices) = self.voices.take().map_or((0, None), |(byte, voices)| (byte, Some(voices)));
        let first = self.draft.closed();
        let count = parts.iter().filter(|part| matches!(part, Part::Bar(_))).count();
        let mut voices_left = voices.iter().flatten();
        for part in parts {
            match part {
                Part::Stroke(sign, byte) => self.draft.barline(sign, byte, self.key, self.metre)?,
                Part::Ending(numbers) => self.draft.ending(numbers),
                Part::Bar(bar) => self.take_bar(&bar, voices_left.next())?,
            }
        }
        if let Some(voices) = voices.filter(|voices| voices.len() != count) {
            let message = format!("the melody has {} bars, the line above it {count}", voices.len());
            self.draft.say_at((first, 0), byte, message, "write a stroke between the bars of the melody too");
        }
        Ok(())
    }

    fn take_bar(&mut self, bar: &Bar, voice: Option<&Voice<'_>>) -> Result<()> {
        self.key = bar.key.unwrap_or(self.key);
        self.metre = bar.metre.unwrap_or(self.metre);
        self.draft.set_key(self.key, bar.byte);
        self.draft.set_metre(self.metre, bar.byte);
        for (mark, byte) in &bar.marks {
            self.draft.mark(mark.clone(), *byte);
        }
        let again = bar.items.iter().find(|item| item.text == "=" && !item.is_quoted);
        let (symbols, length) = match (again, self.before.take()) {
            (Some(_), Some(before)) if bar.items.len() == 1 => {
                let symbols = before.0.into_iter().map(|(tick, text)| (tick, bar.byte, text));
                (symbols.collect::<Vec<_>>(), before.1)
            }
            (again, _) => {
                if let Some(item) = again {
                    let message =
                        "`=` plays the bar before again, and there is none, or it does not stand alone";
                    self.draft.say(
                        item.byte,
                        0,
                        message,
                        "write `=` alone in a bar behind another one, or the chords themselves",
                    );
                }
                self.symbols(bar)
            }
        };
        self.draft.reach(length, bar.byte);
        for (tick, byte, text) in &symbols {
            self.draft.count(*byte)?;
            self.draft.symbol(*tick, *byte, symbol(text));
        }
        self.before = Some((symbols.into_iter().map(|(tick, _, text)| (tick, text)).collect(), length));
        if let Some(voice) = voice {
            melody::fill(voice, self.metre, length, &mut self.draft)?;
        }
        Ok(())
    }

    /// The symbols of a bar with their ticks and places, and its length.
    fn symbols(&mut self, bar: &Bar) -> (Vec<(u32, usize, String)>, u32) {
        let spread = spread(&bar.items, self.metre, self.metre.bar_ticks(), &mut self.draft);
        let mut symbols = Vec::new();
        for (item, (start, end)) in bar.items.iter().zip(spread.places) {
            if item.is_tied {
                self.draft.say(
                    item.byte,
                    start,
                    "`~` behind a chord is left out",
                    "write `-` where a chord goes on",
                );
            }
            let is_sign = !item.is_quoted && (item.text.is_empty() || item.text == "-" || item.text == "=");
            if end > start && !is_sign {
                symbols.push((start, item.byte, item.text.clone()));
            }
        }
        (symbols, spread.length.max(1))
    }
}

const KEY_HELP: &str =
    "write the tonic, and `m` for minor, such as `Eb` or `Cm`, with seven sharps or flats at most";
const MARK_HELP: &str =
    "write `<segno>`, `<coda>`, `<to coda>`, `<fine>`, `<da capo al fine>` or `<dal segno al coda>`";
const METRE_HELP: &str = "write beats of 1 to 255 over 1, 2, 4, 8, 16 or 32, such as `3/4`";

fn not_read(what: &str, text: &str) -> String {
    format!("the {what} `{}` is not read, the {what} before stays in force", shown(text))
}

/// An item in which the chord before goes on.
fn goes_on(byte: usize) -> Item {
    Item { byte, text: "-".into(), is_quoted: false, beats: None, is_tied: false }
}

fn key(text: &str) -> Option<Key> {
    text.parse::<Key>().ok().filter(|key| (-7..=7).contains(&key.signature()))
}

fn metre(text: &str) -> Option<Metre> {
    let (beats, unit) = text.split_once('/')?;
    let (beats, unit) = (beats.trim().parse().ok()?, unit.trim().parse().ok()?);
    (beats > 0 && [1, 2, 4, 8, 16, 32].contains(&unit)).then_some(Metre { beats, unit })
}

/// Reads a stroke where one comes next.
fn stroke(line: &mut Line<'_>) -> Option<Sign> {
    let plain = Sign::default();
    let signs = [
        (":|:", Sign { backward: true, forward: true, ..plain }),
        (":|", Sign { backward: true, ..plain }),
        ("||", Sign { ends: Some("light-light"), ..plain }),
        ("|:", Sign { forward: true, ..plain }),
        ("|.", Sign { ends: Some("light-heavy"), ..plain }),
        ("|", plain),
    ];
    signs.into_iter().find(|(text, _)| line.eat(text)).map(|(_, sign)| sign)
}
