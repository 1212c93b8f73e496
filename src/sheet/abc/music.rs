//! Lines of music, sign by sign (ABC 2.1, section 4).

use super::bars::{self, Bars};
use super::fields::usual_time;
use super::key::accidental;
use super::quoted::{Quoted, quoted};
use super::road::{self, Turn};
use super::state::{Tuplet, Written};
use super::tune::Tune;
use crate::error::Result;
use crate::pitch::{Accidental, Letter, Pitch, shown};
use crate::sheet::draft::{Line, Ratio};
use crate::sheet::road::{CodaSign, Mark};

/// Signs of one letter that the standard defines and that do not sound (section 4.14), segno and coda apart.
const ORNAMENTS: &str = "~HLMPTuv";

impl Tune<'_> {
    /// Reads a line of music.
    pub(super) fn music(&mut self, mut line: Line<'_>) -> Result<()> {
        while let Some(sign) = line.peek() {
            if self.is_silent {
                match line.rest().find("[V:") {
                    Some(at) => {
                        let skipped = line.rest().get(..at).unwrap_or_default().len();
                        line =
                            Line::new(line.rest().get(skipped..).unwrap_or_default(), line.byte() + skipped);
                    }
                    None => return Ok(()),
                }
            } else if self.in_overlay {
                line.while_some(|c| c != '|' && c != ':');
                self.in_overlay = line.peek().is_none();
                continue;
            }
            self.sign(line.peek().unwrap_or(sign), &mut line)?;
        }
        Ok(())
    }

    /// Reads what comes next; always at least one sign.
    fn sign(&mut self, sign: char, line: &mut Line<'_>) -> Result<()> {
        let byte = line.byte();
        match sign {
            'A'..='G' | 'a'..='g' | '^' | '_' | '=' => return self.note(line),
            'z' | 'x' => {
                line.next();
                let length = self.length(line);
                return self.state.hold(byte, length, None);
            }
            'Z' | 'X' => return self.bars_of_rest(line),
            '|' | ':' => return self.barline(line),
            '.' if line.rest().starts_with(".|") => return self.barline(line),
            '[' => return self.bracket(line),
            '"' => return self.quoted(line),
            '!' | '+' => self.decoration(sign, line),
            '{' => self.grace(line),
            '(' => self.parenthesis(line),
            '-' => {
                let is_apart = line.before().is_none_or(char::is_whitespace);
                line.next();
                if !self.state.tie() {
                    self.state.say(
                        byte,
                        "a tie without a note in front of it is left out",
                        "write `-` right behind the note",
                    );
                } else if is_apart {
                    self.state.say(
                        byte,
                        "a tie stands apart from its note",
                        "write `-` right behind the note",
                    );
                }
            }
            '<' | '>' => {
                let steps = line.while_some(|c| c == sign).len();
                if !self.state.broken(steps, sign == '>') {
                    let help = "write one to three signs between two notes, such as `a>b`";
                    self.state.say(byte, "a broken rhythm that makes no sense is left out", help);
                }
            }
            '&' => {
                line.next();
                self.in_overlay = true;
                self.state.once(
                    byte,
                    "other voices than the melody are left out",
                    "put the melody into the first voice",
                );
            }
            'y' => {
                line.next();
                line.while_some(|c| c.is_ascii_digit());
            }
            'S' | 'O' => {
                line.next();
                self.turn(
                    byte,
                    if sign == 'S' { Turn::Mark(Mark::Segno(String::new())) } else { Turn::CodaSign },
                );
            }
            'H'..='W' | 'h'..='w' | '~' => {
                line.next();
                if !ORNAMENTS.contains(sign) && !self.defined.contains(&sign) {
                    let message = "a letter that no `U:` defines is left out";
                    self.state.once(
                        byte,
                        message,
                        "define it with `U:`, or write the decoration as `!trill!`",
                    );
                }
            }
            // Blanks, slurs, staccato, ends of lines, and what is reserved for later versions (section 8.1).
            ')' | '.' | '\\' | '$' | '`' | '#' | '*' | ';' | '?' | '@' => {
                line.next();
            }
            _ if sign.is_whitespace() => {
                line.next();
            }
            _ => {
                line.next();
                let message = format!("the sign `{}` is left out, expected music", shown(&sign.to_string()));
                if self.odd_bar != Some(self.state.draft.closed()) {
                    self.odd_bar = Some(self.state.draft.closed());
                    self.state.say(
                        byte,
                        message,
                        "put words into quotes with `^` in front, such as `\"^slowly\"`",
                    );
                }
            }
        }
        Ok(())
    }

    /// A length behind a note: `2`, `/2`, `3/2`, `//`.
    fn length(&mut self, line: &mut Line<'_>) -> Ratio {
        let byte = line.byte();
        let text = line.while_some(|c| c.is_ascii_digit() || c == '/');
        match Ratio::read_length(text).filter(|length| *length != Ratio::ZERO) {
            Some(length) => length,
            None => {
                let message = format!("the length `{}` is not read, 1 was taken", shown(text));
                self.state.say(byte, message, "write lengths such as `A2`, `A/2` or `A3/2`");
                Ratio::ONE
            }
        }
    }

    /// A note name with accidental and octave; `None`, said, where an accidental stands alone.
    fn name(&mut self, line: &mut Line<'_>) -> Option<Written> {
        let byte = line.byte();
        let own = accidental(line.rest());
        for _ in 0..own.map_or(0, |(_, length)| length) {
            line.next();
        }
        if own.is_some() && !line.while_some(|c| c.is_ascii_digit() || c == '/').is_empty() {
            let message = "a pitch between the keys is read as one semitone";
            self.state.once(byte, message, "a keyboard has no quarter tones");
        }
        let letter = line.peek().filter(|c| matches!(c, 'A'..='G' | 'a'..='g'));
        let Some((sign, letter)) = letter.and_then(|c| Some((c, Letter::from_char(c.to_ascii_uppercase())?)))
        else {
            self.state.say(
                byte,
                "an accidental without a note is left out",
                "write the accidental before the letter",
            );
            return None;
        };
        line.next();
        let marks = line.while_some(|c| c == '\'' || c == ',');
        let up = marks.bytes().map(|mark| if mark == b'\'' { 1i8 } else { -1 });
        let octave = up.fold(if sign.is_ascii_uppercase() { 4 } else { 5 }, i8::saturating_add);
        Some(Written { letter, octave, accidental: own.map(|(accidental, _)| accidental) })
    }

    /// The pitch of a name; a name that no keyboard has is said and gives none.
    fn pitch(&mut self, written: Written, byte: usize) -> Option<(Pitch, Written)> {
        let pitch = self.state.pitch(written);
        if pitch.is_none() {
            let name = format!(
                "{}{}{}",
                written.letter.as_char(),
                written.accidental.map_or("", Accidental::as_str),
                written.octave
            );
            let message = format!("the pitch `{name}` is read as a rest, no keyboard has it");
            self.state.say(byte, message, "write pitches from `C,,,,,` to `g''''`");
        }
        pitch.map(|pitch| (pitch, written))
    }

    fn note(&mut self, line: &mut Line<'_>) -> Result<()> {
        let byte = line.byte();
        let Some(written) = self.name(line) else { return Ok(()) };
        let pitch = self.pitch(written, byte);
        let length = self.length(line);
        self.state.hold(byte, length, pitch)
    }

    /// `Z4`: bars of rest.
    fn bars_of_rest(&mut self, line: &mut Line<'_>) -> Result<()> {
        let byte = line.byte();
        line.next();
        let digits = line.while_some(|c| c.is_ascii_digit());
        let count =
            if digits.is_empty() { Some(1) } else { digits.parse::<u32>().ok().filter(|count| *count > 0) };
        let Some(count) = count else {
            let message = format!("`{}` bars of rest are left out, expected a number", shown(digits));
            self.state.say(byte, message, "write `Z4` for four bars");
            return Ok(());
        };
        if !self.state.is_bar_empty() && self.state.tick() > 0 {
            self.state.say(byte, "bars of rest begin inside a bar", "put a bar line in front of them");
            self.state.barline(Bars::default(), byte)?;
        }
        for bar in 0..count {
            if bar > 0 {
                self.state.barline(Bars::default(), byte)?;
            }
            self.state.hold_bar(byte)?;
        }
        Ok(())
    }

    fn barline(&mut self, line: &mut Line<'_>) -> Result<()> {
        let byte = line.byte();
        let Some(found) = bars::read(line) else {
            line.next();
            self.state.once(byte, "a lone `:` is left out", "repeats are written `|:` and `:|`");
            return Ok(());
        };
        self.state.barline(found, byte)?;
        if line.peek().is_some_and(|c| c.is_ascii_digit()) {
            return self.ending(line);
        }
        Ok(())
    }

    /// The numbers of an ending.
    fn ending(&mut self, line: &mut Line<'_>) -> Result<()> {
        let byte = line.byte();
        let mut probe = *line;
        let text = probe.while_some(|c| c.is_ascii_digit() || c == ',' || c == '-');
        // A comma or dash that no number follows belongs to what comes next.
        let text = text.trim_end_matches([',', '-']);
        for _ in 0..text.len() {
            line.next();
        }
        match bars::ending_numbers(text) {
            Some(numbers) => self.state.ending(numbers, byte),
            None => {
                let message = format!(
                    "the ending `{}` is left out, expected numbers such as `1,3` or `1-3`",
                    shown(text)
                );
                self.state.say(byte, message, "number the endings from 1");
                Ok(())
            }
        }
    }

    /// `[`: an inline field, a barline, an ending or notes together.
    fn bracket(&mut self, line: &mut Line<'_>) -> Result<()> {
        let byte = line.byte();
        let mut signs = line.rest().chars().skip(1);
        let (first, second) = (signs.next(), signs.next());
        if first.is_some_and(|c| c.is_ascii_alphabetic()) && second == Some(':') {
            line.next();
            return match line.until(']') {
                Some(mut field) => {
                    let letter = field.next().unwrap_or('r');
                    field.next();
                    self.field(letter, Line::new(field.rest(), field.byte()).trimmed(), byte)
                }
                None => {
                    self.state.say(byte, "a field in the line is not closed", "write `]` behind the field");
                    line.skip_all();
                    Ok(())
                }
            };
        }
        if let Some(found) = bars::read(line) {
            self.state.barline(found, byte)?;
            return if line.peek().is_some_and(|c| c.is_ascii_digit()) { self.ending(line) } else { Ok(()) };
        }
        line.next();
        if first.is_some_and(|c| c.is_ascii_digit()) {
            return self.ending(line);
        }
        if first == Some('"') {
            line.next();
            let text = line.until('"').map(|text| text.text).unwrap_or_default();
            let message = format!("the ending `{}` is left out, expected numbers such as `[1`", shown(text));
            self.state.say(byte, message, "number the endings from 1");
            return Ok(());
        }
        self.together(line, byte)
    }

    /// Notes together, behind `[`: the highest is the melody.
    fn together(&mut self, line: &mut Line<'_>, byte: usize) -> Result<()> {
        let Some(mut inside) = line.until(']') else {
            self.state.once(byte, "notes together are not closed", "write `]` behind the last of them");
            line.skip_all();
            return Ok(());
        };
        let mut first_length = None;
        let mut best: Option<(Pitch, Written)> = None;
        let (mut count, mut is_tied) = (0, false);
        while let Some(sign) = inside.peek() {
            match sign {
                'A'..='G' | 'a'..='g' | '^' | '_' | '=' => {
                    let at = inside.byte();
                    let Some(written) = self.name(&mut inside) else { continue };
                    let pitch = self.pitch(written, at);
                    let length = self.length(&mut inside);
                    first_length.get_or_insert(length);
                    count += 1;
                    if let Some(found) = pitch.filter(|(pitch, _)| best.is_none_or(|(best, _)| best < *pitch))
                    {
                        best = Some(found);
                    }
                }
                '-' => {
                    is_tied = true;
                    inside.next();
                }
                '!' | '"' => {
                    inside.next();
                    if inside.until(sign).is_none() {
                        inside.skip_all();
                    }
                }
                _ => {
                    inside.next();
                }
            }
        }
        let outer = self.length(line);
        let Some(length) = first_length.and_then(|length| length.times(outer)) else {
            let message = format!("`[{}]` has no notes and is left out", shown(inside.text));
            self.state.say(byte, message, "write notes together as `[CEG]`");
            return Ok(());
        };
        if count > 1 {
            self.state.once(
                byte,
                "of notes together the highest is kept",
                "write the melody as single notes",
            );
        }
        self.state.hold(byte, length, best)?;
        if is_tied {
            self.state.tie();
        }
        Ok(())
    }

    fn quoted(&mut self, line: &mut Line<'_>) -> Result<()> {
        let byte = line.byte();
        line.next();
        let mut is_escaped = false;
        let inside = line.rest();
        let end = inside.bytes().position(|b| {
            let ends = b == b'"' && !is_escaped;
            is_escaped = b == b'\\' && !is_escaped;
            ends
        });
        let Some(text) = end.and_then(|end| inside.get(..end)) else {
            self.state.once(byte, "a text in quotes is not closed", "write `\"` behind the text");
            line.skip_all();
            return Ok(());
        };
        *line = Line::new(inside.get(text.len() + 1..).unwrap_or_default(), line.byte() + text.len() + 1);
        match quoted(text) {
            Quoted::Chord(understood) => self.state.symbol(byte, understood)?,
            Quoted::Words => {}
            Quoted::Mark(mark) => self.turn(byte, Turn::Mark(mark)),
            Quoted::Unclear => {
                let message =
                    format!("the jump `{}` is left out, it goes on otherwise than known", shown(text));
                self.state.say(byte, message, "write it as `D.S. al Coda` or `D.C. al Fine`");
            }
            Quoted::Neither => {
                let message = format!("the text `{}` is no chord symbol and is left out", shown(text));
                self.state.say(
                    byte,
                    message,
                    "put `^` in front of words for the player, such as `\"^slowly\"`",
                );
            }
        }
        Ok(())
    }

    /// `!trill!`, or `+trill+` of older tunes.
    fn decoration(&mut self, sign: char, line: &mut Line<'_>) {
        let byte = line.byte();
        line.next();
        let mut probe = *line;
        match probe.until(sign).filter(|name| !name.text.contains(['|', ' ']) && !name.text.is_empty()) {
            Some(name) => {
                *line = probe;
                if let Some(turn) = road::decoration(name.text) {
                    self.turn(byte, turn);
                }
            }
            None => self.state.once(
                byte,
                "a decoration that is not closed is left out",
                "write decorations between two signs, such as `!trill!`",
            ),
        }
    }

    fn turn(&mut self, byte: usize, turn: Turn) {
        let is_inside = self.state.tick() > 0;
        match turn {
            Turn::Mark(mark) => {
                if is_inside && mark.is_place() {
                    self.state.once(
                        byte,
                        "a segno or coda inside a bar counts from its start",
                        "put it at the start of a bar, or divide the bar",
                    );
                }
                self.state.draft.mark(mark, byte);
            }
            Turn::CodaSign => {
                let sign = if is_inside { CodaSign::End } else { CodaSign::Start };
                self.state.draft.coda_sign(sign, byte);
            }
        }
    }

    fn grace(&mut self, line: &mut Line<'_>) {
        let byte = line.byte();
        line.next();
        match line.until('}') {
            Some(_) => {
                self.state.once(byte, "grace notes are left out", "write them as full notes if they matter");
            }
            None => {
                self.state.once(byte, "grace notes are not closed", "write `}` behind them");
                line.skip_all();
            }
        }
    }

    /// `(`: a tuplet or a slur.
    fn parenthesis(&mut self, line: &mut Line<'_>) {
        let byte = line.byte();
        line.next();
        let start = line.rest();
        if !start.starts_with(|c: char| c.is_ascii_digit()) {
            return;
        }
        let mut parts = [None, None, None];
        let mut is_sound = true;
        for (at, part) in parts.iter_mut().enumerate() {
            if at > 0 && !line.eat(":") {
                break;
            }
            let digits = line.while_some(|c| c.is_ascii_digit());
            if !digits.is_empty() {
                *part = digits.parse::<u8>().ok().filter(|number| (1..=64).contains(number));
                is_sound &= part.is_some();
            }
        }
        let [notes, time, count] = parts;
        let time = time.or_else(|| usual_time(notes?, self.state.metre));
        match (notes, time) {
            (Some(notes), Some(time)) if is_sound => {
                let left = u32::from(count.unwrap_or(notes));
                self.state.tuplet = Some(Tuplet { notes, time, left });
            }
            _ => {
                let written = start.get(..start.len() - line.rest().len()).unwrap_or_default();
                let message = format!("the tuplet `({}` is left out", shown(written));
                self.state.say(
                    byte,
                    message,
                    "write `(3` up to `(9`, or `(p:q:r` for p notes in the time of q over r notes",
                );
            }
        }
    }

    /// What a line or a tune ends with: nothing stays open.
    pub(super) fn end_of_music(&mut self, byte: usize) -> Result<()> {
        self.state.end(byte)?;
        if let Some(tuplet) = self.state.tuplet.take() {
            let message = format!("the last tuplet of the tune lacks {} notes", tuplet.left);
            self.state.say(byte, message, "write all notes of the tuplet");
        }
        Ok(())
    }
}
