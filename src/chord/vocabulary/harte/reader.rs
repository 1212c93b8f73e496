//! Reads a label.

use std::ops::Range;

use super::figure::Figure;
use super::settle::settle;
use super::shorthand::{self, SHORTHANDS};
use super::{Label, Translation};
use crate::chord::vocabulary::entry::Entry;
use crate::chord::vocabulary::{Loss, Part, Word};
use crate::chord::{Chord, Degree, DegreeSet};
use crate::error::{Error, Excerpt, Kind, Result, nearest};
use crate::pitch::{Accidental, Letter, NoteName, shown};

/// A degree of a list and where it stands.
struct Item {
    figure: Figure,
    omitted: bool,
    span: Range<usize>,
}

struct Reader<'a> {
    text: &'a str,
    at: usize,
    losses: Vec<Loss>,
}

/// Reads a chord: what is neither `N` nor `X`.
pub(super) fn read(text: &str) -> Result<Translation<Label>> {
    let mut reader = Reader { text, at: 0, losses: Vec::new() };
    let chord = reader.chord()?;
    Ok(Translation { value: Label::Chord(chord), losses: reader.losses })
}

impl<'a> Reader<'a> {
    fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or_default()
    }

    /// Takes the sign where it stands next.
    fn take(&mut self, sign: char) -> bool {
        let taken = self.rest().starts_with(sign);
        self.at += if taken { sign.len_utf8() } else { 0 };
        taken
    }

    fn wrong(&self, span: Range<usize>, message: String, help: &str) -> Error {
        let before = self.text.get(..span.start).unwrap_or_default();
        let marked = self.text.get(span).unwrap_or_default();
        Error::new(Kind::Symbol, message)
            .with_excerpt(Excerpt::of_line(self.text, before.chars().count(), marked.chars().count()))
            .with_help(help)
            .context(format_args!("chord label `{}`", shown(self.text)))
    }

    /// What stands next, as far as one sign goes.
    fn next_sign(&self) -> Range<usize> {
        self.at..self.at + self.rest().chars().next().map_or(0, char::len_utf8)
    }

    fn chord(&mut self) -> Result<Chord> {
        let (root, root_fifths) = self.root()?;
        let (mut shorthand, mut items) = (Some(shorthand::MAJOR), Vec::new());
        if self.take(':') {
            shorthand = self.shorthand()?;
            if self.rest().starts_with('(') {
                items = self.list()?;
            }
        }
        let bass = if self.take('/') { Some(self.figure("behind the slash")?.0) } else { None };
        if !self.rest().is_empty() {
            let (found, help) =
                (self.rest(), "a label is a root, `:` and a shorthand, a list, `/` and a bass: `Eb:7(#9)/5`");
            return Err(self.wrong(
                self.at..self.text.len(),
                format!("`{}` is too much", shown(found)),
                help,
            ));
        }
        let chord = self.meaning(root, shorthand, &items)?;
        Ok(match bass {
            Some(figure) => {
                chord.with_bass(self.name(Part::Bass, root_fifths + figure.fifths(), &format!("/{figure}")))
            }
            None => chord,
        })
    }

    /// The root, and its exact place on the line of fifths, which may lie beyond the names there are.
    fn root(&mut self) -> Result<(NoteName, i16)> {
        let Some(letter) = self.rest().chars().next().and_then(Letter::from_char) else {
            let found = if self.text.is_empty() { "the text is empty" } else { "no root found" };
            let help = "a label starts with its root in upper case, such as `Eb:7`; `N` is no chord, `X` an unknown one";
            return Err(self.wrong(self.next_sign(), format!("{found}, expected a letter A to G"), help));
        };
        self.at += 1;
        let fifths = i16::from(NoteName::new(letter, Accidental::Natural).fifths())
            + 7 * i16::from(self.accidentals());
        let written = self.text.get(..self.at).unwrap_or_default();
        Ok((self.name(Part::Root, fifths, written), fifths))
    }

    /// The name at a place on the line of fifths, or the nearest that sounds the same.
    fn name(&mut self, part: Part, fifths: i16, written: &str) -> NoteName {
        let name = NoteName::from_fifths_respelled(fifths);
        if i16::from(name.fifths()) != fifths {
            self.losses.push(Loss::NameReadAs { part, written: written.to_owned(), name });
        }
        name
    }

    /// Flats and sharps, in semitones. The limit of a label keeps them few.
    fn accidentals(&mut self) -> i8 {
        let mut semitones = 0i8;
        loop {
            semitones = match self.rest().chars().next() {
                Some('b') => semitones.saturating_sub(1),
                Some('#') => semitones.saturating_add(1),
                _ => return semitones,
            };
            self.at += 1;
        }
    }

    /// The shorthand behind the colon; `None` where a list stands there instead.
    fn shorthand(&mut self) -> Result<Option<&'static Entry>> {
        let word = self.rest().split(['(', '/']).next().unwrap_or_default();
        let span = self.at..self.at + word.len();
        if word.is_empty() && self.rest().starts_with('(') {
            return Ok(None);
        }
        let Some(shorthand) = shorthand::named(word) else {
            let known = SHORTHANDS.iter().map(|row| row.text);
            let all = format!("the shorthands are {}", itertools::join(known.clone(), " "));
            let help = match nearest(word, known) {
                Some(near) => format!("did you mean `{near}`? {all}"),
                None => all,
            };
            let message = if word.is_empty() {
                "no shorthand found behind the colon".to_owned()
            } else {
                format!("`{}` is no shorthand", shown(word))
            };
            return Err(self.wrong(span, message, &help));
        };
        self.at = span.end;
        Ok(Some(shorthand))
    }

    fn list(&mut self) -> Result<Vec<Item>> {
        let open = self.at;
        let mut items = Vec::new();
        self.at += 1;
        loop {
            let start = self.at;
            let omitted = self.take('*');
            let (figure, span) = self.figure("in the list")?;
            items.push(Item { figure, omitted, span: start..span.end });
            if self.take(')') {
                return Ok(items);
            }
            if self.rest().is_empty() {
                return Err(self.wrong(open..open + 1, "this parenthesis is never closed".into(), "add `)`"));
            }
            if !self.take(',') {
                let help = "degrees of a list stand between commas, such as `C:maj(9,*5)`";
                let message = format!("`{}` in a list, expected `,` or `)`", self.next_char());
                return Err(self.wrong(self.next_sign(), message, help));
            }
        }
    }

    fn next_char(&self) -> String {
        shown(self.text.get(self.next_sign()).unwrap_or_default())
    }

    /// A degree: accidentals and a number.
    fn figure(&mut self, place: &str) -> Result<(Figure, Range<usize>)> {
        let start = self.at;
        let alteration = self.accidentals();
        let digits = self.rest().find(|c: char| !c.is_ascii_digit()).unwrap_or(self.rest().len());
        let number = self.rest().get(..digits).and_then(|digits| {
            let number = digits.parse().ok().filter(|number| (1..=13).contains(number))?;
            (!digits.starts_with('0')).then_some(number)
        });
        let end = self.at + digits;
        let Some(number) = number else {
            let end = if digits == 0 { self.next_sign().end } else { end };
            let found = shown(self.text.get(start..end).unwrap_or_default());
            let message = format!("no degree found {place}, expected 1 to 13 with `b` or `#` before it");
            let message =
                if found.is_empty() { message } else { format!("`{found}` is no degree, expected 1 to 13") };
            return Err(self.wrong(start..end, message, "degrees are written such as `3`, `b7`, `#11`"));
        };
        self.at = end;
        Ok((Figure { number, alteration }, start..end))
    }

    /// The chord of a shorthand and a list.
    fn meaning(&mut self, root: NoteName, shorthand: Option<&Entry>, items: &[Item]) -> Result<Chord> {
        let own = shorthand.map_or(DegreeSet::EMPTY, Entry::degrees);
        let mut figures: Vec<Figure> = own.iter().map(Figure::of).collect();
        let speaks_of_eleventh = |item: &Item| match item.omitted {
            true => item.figure == Figure::ELEVENTH,
            false => item.figure.semitones() == Degree::Eleven.semitones(),
        };
        if let Some(shorthand) = shorthand.filter(|shorthand| shorthand.hides_eleventh())
            && !items.iter().any(speaks_of_eleventh)
        {
            self.losses.push(Loss::EleventhLeftOut { of: Word::Shorthand(shorthand.text) });
        }
        for item in items {
            match item {
                Item { figure, omitted: false, .. } if figures.contains(figure) => {}
                Item { figure, omitted: false, .. } => figures.push(*figure),
                Item { figure: Figure::ROOT, .. } => {
                    self.losses.push(Loss::RootKept { written: "*1".to_owned() });
                }
                Item { figure, .. } => {
                    let hidden =
                        *figure == Figure::ELEVENTH && shorthand.is_some_and(|row| row.hides_eleventh());
                    if !figures.contains(figure) && !hidden {
                        self.losses.push(Loss::NothingTakenAway { written: format!("*{figure}") });
                    }
                    figures.retain(|there| there != figure);
                }
            }
        }
        let degrees: DegreeSet = figures.iter().map(|figure| figure.degree()).collect();
        if let [Some(_), Some(_)] =
            [Degree::FlatSeven, Degree::MajorSeven].map(|d| degrees.contains(d).then_some(d))
        {
            return Err(self.two_sevenths(items));
        }
        let chord = settle(root, degrees)?;
        self.losses.extend(
            figures
                .iter()
                .filter_map(|figure| Loss::renamed(chord, figure, figure.number, figure.alteration)),
        );
        Ok(chord)
    }

    fn two_sevenths(&self, items: &[Item]) -> Error {
        let is_seventh = |item: &&Item| {
            !item.omitted && matches!(item.figure.degree(), Degree::FlatSeven | Degree::MajorSeven)
        };
        let span = items.iter().rfind(is_seventh).map_or(0..self.text.len(), |item| item.span.clone());
        let found = shown(self.text.get(span.clone()).unwrap_or_default());
        let help = "leave one of the two out: `*b7` takes the minor one away, `*7` the major one";
        self.wrong(span, format!("`{found}` stands beside another seventh, a chord has one"), help)
    }
}

#[cfg(test)]
mod tests {
    use super::super::read;
    use super::*;
    use crate::chord::chord;

    #[test]
    fn ok_labels() {
        for (label, symbol) in [
            ("C", "C"),
            ("C/3", "C/E"),
            ("C/b7", "C/Bb"),
            ("C/9", "C/D"),
            ("Eb:7(#9)/5", "Eb7(#9)/Bb"),
            ("F#:hdim7/b5", "F#m7b5/C"),
            ("Cbb:min", "Cbbm"),
            ("C:maj", "C"),
            ("C:maj7", "Cmaj7"),
            ("C:maj(7)", "Cmaj7"),
            ("C:maj(b7)", "C7"),
            ("C:minmaj7", "Cm(maj7)"),
            ("C:11", "C11"),
            ("C:min13", "Cm13"),
            ("C:13(11)", "C13(11)"),
            ("C:13(*11)", "C13"),
            ("C:aug7", "C7#5"),
            ("C:1", "C(no3,no5)"),
            ("C:5", "C5"),
            ("C:(1,5)", "C5"),
            ("C:(1,b3,5,b7)", "Cm7"),
            ("C:(b3,5)", "Cm"),
            ("C:(1,4,5)", "Csus4"),
            ("C:(1,2,5)", "Csus2"),
            ("C:sus4(b7,9)", "C9sus4"),
            ("C:maj(*5)", "C(no5)"),
            ("C:min(*b3,*5)", "C(no3,no5)"),
            ("C:7(*5,b5)", "C7b5"),
            ("C:maj(9,11)", "C(add9,add11)"),
        ] {
            let found = read(label).unwrap();
            assert_eq!(found.value, Label::Chord(chord(symbol)), "{label}");
            assert!(found.is_exact(), "{label}: {:?}", found.losses);
        }
        assert_eq!(read("N").unwrap().value, Label::NoChord);
        assert_eq!(read("X").unwrap().value, Label::Unknown);
    }

    #[test]
    fn ok_losses_are_said() {
        for (label, symbol, loss) in [
            ("C:13", "C13", "the `11` of `13` is left out: it fights the major third"),
            ("C:maj13", "Cmaj13", "the `11` of `maj13` is left out: it fights the major third"),
            ("C:maj(2)", "C(add9)", "`2` is read as `9`: a chord has one name for a key"),
            ("C:maj(4)", "C(add11)", "`4` is read as `11`: a chord has one name for a key"),
            ("C:7(b3)", "C7(#9)", "`b3` is read as `#9`: a chord has one name for a key"),
            ("C:7(6)", "C7(13)", "`6` is read as `13`: a chord has one name for a key"),
            ("C:maj(b5)", "C(add#11)", "`b5` is read as `#11`: a chord has one name for a key"),
            ("C:maj(#4)", "C(add#11)", "`#4` is read as `#11`: a chord has one name for a key"),
            ("C:min(#9)", "Cm", "`#9` is read as `b3`: a chord has one name for a key"),
            ("C:dim(6)", "Cdim7", "`6` is read as `bb7`: a chord has one name for a key"),
            ("C:sus4(10)", "C(add11)", "`10` is read as `3`: a chord has one name for a key"),
            ("C:maj(*b7)", "C", "`*b7` takes nothing away: the chord has no such degree"),
            ("C:maj(*1)", "C", "`*1` is not carried out: a chord always has its root"),
            ("Cbbb:7", "Bbb7", "the root `Cbbb` is read as `Bbb`: a note name has at most two accidentals"),
            ("Abb/b9", "Abb", "the bass `/b9` is read as `Ab`: a note name has at most two accidentals"),
        ] {
            let found = read(label).unwrap();
            let said = itertools::join(&found.losses, "; ");
            assert!(said.contains(loss), "{label}: {said}");
            assert_eq!(
                found.value.chord().map(|c| c.without_bass()),
                Some(chord(symbol).without_bass()),
                "{label}"
            );
        }
    }

    #[track_caller]
    fn expect_err(text: &str, marked: &str, message_has: &str) {
        let error = read(text).unwrap_err();
        assert!(error.is_symbol(), "{error:?}");
        assert!(error.to_string().contains(message_has), "{error:?}");
        assert_eq!(error.excerpt().unwrap().marked(), marked, "{error:?}");
        assert!(error.help().is_some(), "{error:?}");
    }

    #[test]
    fn err_labels_are_located() {
        expect_err("", "", "the text is empty");
        expect_err("H:maj", "H", "no root");
        expect_err("c:maj", "c", "no root");
        expect_err("♭", "♭", "no root");
        expect_err("C:", "", "no shorthand found");
        expect_err("C:Maj7", "Maj7", "`Maj7` is no shorthand");
        expect_err("C:m7/5", "m7", "`m7` is no shorthand");
        expect_err("Cm7", "m7", "`m7` is too much");
        expect_err("C(9)", "(9)", "`(9)` is too much");
        expect_err("C:maj(9", "(", "never closed");
        expect_err("C:maj(9;11)", ";", "expected `,` or `)`");
        expect_err("C:maj()", ")", "`)` is no degree");
        expect_err("C:maj(14)", "14", "`14` is no degree");
        expect_err("C:maj(b0)", "b0", "`b0` is no degree");
        expect_err("C:maj(*)", ")", "`)` is no degree");
        expect_err("C/", "", "no degree found behind the slash");
        expect_err("C/E", "E", "`E` is no degree");
        expect_err("C/3x", "x", "`x` is too much");
        expect_err("C:7(7)", "7", "beside another seventh");
        expect_err("C:maj7(9,b7)/3", "b7", "beside another seventh");
        expect_err("N:maj", "N", "no root");
        let help = |text: &str| read(text).unwrap_err().help().unwrap().to_owned();
        assert!(help("C:mnmaj7").starts_with("did you mean `minmaj7`?"));
        for (symbol, label) in
            [("Cm7", "C:min7"), ("C:M7/E", "C:maj7/3"), ("C7b9", "C:7(b9)"), ("C(9)", "C:maj(9)")]
        {
            assert_eq!(help(symbol), format!("did you mean `{label}`?"));
        }
        assert!(read(&format!("C{}", "b".repeat(64))).unwrap_err().is_limit());
        assert!(read(&format!("C{}", "b".repeat(63))).is_ok());
    }

    proptest::proptest! {
        #[test]
        fn prop_any_text_gives_a_label_or_a_located_error(text in "\\PC*") {
            if let Err(error) = read(&text) {
                assert!(error.is_limit() || error.excerpt().is_some(), "{error:?}");
            }
        }

        #[test]
        fn prop_texts_like_labels_keep_their_keys(
            text in "[A-G](b{0,3}|#{0,3})(:(maj|min|dim|aug|7|hdim7|sus4|13)?(\\(\\*?[b#]{0,2}[1-9](,\\*?[b#]{0,2}(1[0-3]|[1-9])){0,3}\\))?)?(/[b#]{0,3}[1-9])?"
        ) {
            if let Ok(found) = read(&text) {
                let chord = found.value.chord().unwrap();
                let again = read(&super::super::write(found.value).value).unwrap();
                assert_eq!(again, Translation { value: Label::Chord(chord), losses: Vec::new() }, "{text}");
            }
        }
    }
}
