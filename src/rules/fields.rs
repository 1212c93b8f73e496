//! Reading a rule file key by key: every fault is collected with its place, none stops the reading.

use std::fmt::Display;
use std::ops::{Range, RangeInclusive};
use std::str::FromStr;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::error::{Error, Excerpt, Kind, nearest};

/// The faults of one text.
pub(super) struct Faults<'a> {
    name: &'a str,
    text: &'a str,
    found: Vec<Error>,
}

impl<'a> Faults<'a> {
    pub(super) fn new(name: &'a str, text: &'a str) -> Self {
        Self { name, text, found: Vec::new() }
    }

    pub(super) fn add(&mut self, span: Range<usize>, message: impl Into<String>, help: impl Into<String>) {
        let error = Error::new(Kind::Rules, message)
            .with_excerpt(Excerpt::of_text(Some(self.name), self.text, span))
            .with_help(help)
            .context(format_args!("rule file `{}`", self.name));
        self.found.push(error);
    }

    pub(super) fn into_result<T>(self, value: T) -> Result<T, Error> {
        match Error::of_all(self.found) {
            Some(error) => Err(error),
            None => Ok(value),
        }
    }
}

/// What a list is called in messages.
const LIST: &str = "a list in brackets";

/// One table of the file. Asking for a key makes it known; [`Fields::finish`] reports the keys nobody asked for.
pub(super) struct Fields<'t, 'a> {
    table: &'t DeTable<'a>,
    span: Range<usize>,
    known: Vec<&'static str>,
}

impl<'t, 'a> Fields<'t, 'a> {
    pub(super) fn new(table: &'t DeTable<'a>, span: Range<usize>) -> Self {
        Self { table, span, known: Vec::new() }
    }

    /// Where the table stands.
    pub(super) fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    fn get(&mut self, key: &'static str) -> Option<&'t Spanned<DeValue<'a>>> {
        self.known.push(key);
        self.table.get(key)
    }

    /// Whether the key is there, without reading it.
    pub(super) fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// Where the value of a key stands, or else the table.
    pub(super) fn span_of(&self, key: &str) -> Range<usize> {
        self.table.get(key).map_or_else(|| self.span(), Spanned::span)
    }

    pub(super) fn text(&mut self, key: &'static str, faults: &mut Faults<'_>) -> Option<String> {
        let value = self.get(key)?;
        let text = value.get_ref().as_str().map(str::to_owned);
        if text.is_none() {
            wrong_type(value, key, "a text in quotes", faults);
        }
        text
    }

    pub(super) fn required_text(&mut self, key: &'static str, faults: &mut Faults<'_>) -> Option<String> {
        if !self.has(key) {
            self.missing(key, faults);
        }
        let span = self.span_of(key);
        let text = self.text(key, faults)?;
        if text.trim().is_empty() {
            faults.add(span, format!("`{key}` is empty"), "say it in a few words");
            return None;
        }
        Some(text)
    }

    fn missing(&mut self, key: &'static str, faults: &mut Faults<'_>) {
        self.known.push(key);
        faults.add(self.span(), format!("`{key}` is missing"), format!("add `{key} = …` to this table"));
    }

    pub(super) fn integer(
        &mut self,
        key: &'static str,
        range: RangeInclusive<i32>,
        faults: &mut Faults<'_>,
    ) -> Option<i32> {
        let value = self.get(key)?;
        let Some(integer) = value.get_ref().as_integer() else {
            wrong_type(value, key, "a whole number", faults);
            return None;
        };
        let parsed = i32::from_str_radix(integer.as_str(), integer.radix()).ok();
        match parsed.filter(|n| range.contains(n)) {
            Some(n) => Some(n),
            None => {
                faults.add(
                    value.span(),
                    format!(
                        "`{key}` is {}, expected {} to {}",
                        crate::pitch::shown(integer.as_str()),
                        range.start(),
                        range.end()
                    ),
                    "points and sizes are whole numbers in this range",
                );
                None
            }
        }
    }

    pub(super) fn required_integer(
        &mut self,
        key: &'static str,
        range: RangeInclusive<i32>,
        faults: &mut Faults<'_>,
    ) -> Option<i32> {
        if !self.has(key) {
            self.missing(key, faults);
        }
        self.integer(key, range, faults)
    }

    pub(super) fn flag(&mut self, key: &'static str, faults: &mut Faults<'_>) -> bool {
        match self.get(key) {
            None => false,
            Some(value) => value.get_ref().as_bool().unwrap_or_else(|| {
                wrong_type(value, key, "`true` or `false`", faults);
                false
            }),
        }
    }

    /// A text that one of our types reads.
    pub(super) fn parsed<T: FromStr<Err = Error>>(
        &mut self,
        key: &'static str,
        faults: &mut Faults<'_>,
    ) -> Option<T> {
        let value = self.get(key)?;
        let Some(text) = value.get_ref().as_str() else {
            wrong_type(value, key, "a text in quotes", faults);
            return None;
        };
        parse_at(value, text, faults)
    }

    /// One of a few words.
    pub(super) fn word<T: Copy>(
        &mut self,
        key: &'static str,
        words: &[(&'static str, T)],
        faults: &mut Faults<'_>,
    ) -> Option<T> {
        let value = self.get(key)?;
        let Some(text) = value.get_ref().as_str() else {
            wrong_type(value, key, "a text in quotes", faults);
            return None;
        };
        one_of(value, key, text, words, faults)
    }

    /// A list of some of a few words; `None` where the key is absent.
    pub(super) fn chosen<T: Copy>(
        &mut self,
        key: &'static str,
        words: &[(&'static str, T)],
        faults: &mut Faults<'_>,
    ) -> Option<Vec<T>> {
        let mut chosen = Vec::new();
        for (item, text) in self.texts(key, faults)? {
            chosen.extend(one_of(item, key, text, words, faults));
        }
        Some(chosen)
    }

    /// A list of texts that one of our types reads; `None` where the key is absent.
    pub(super) fn list<T: FromStr<Err = Error>>(
        &mut self,
        key: &'static str,
        faults: &mut Faults<'_>,
    ) -> Option<Vec<T>> {
        self.texts(key, faults)
            .map(|texts| texts.iter().filter_map(|(value, text)| parse_at(value, text, faults)).collect())
    }

    /// The items of a list.
    fn items(
        &mut self,
        key: &'static str,
        expected: &str,
        faults: &mut Faults<'_>,
    ) -> Option<impl Iterator<Item = &'t Spanned<DeValue<'a>>> + use<'t, 'a>> {
        let value = self.get(key)?;
        let items = value.get_ref().as_array();
        if items.is_none() {
            wrong_type(value, key, expected, faults);
        }
        items.map(|items| items.iter())
    }

    /// A list of texts with their places.
    fn texts(
        &mut self,
        key: &'static str,
        faults: &mut Faults<'_>,
    ) -> Option<Vec<(&'t Spanned<DeValue<'a>>, &'t str)>> {
        let mut texts = Vec::new();
        for item in self.items(key, LIST, faults)? {
            match item.get_ref().as_str() {
                Some(text) => texts.push((item, text)),
                None => wrong_type(item, key, "a text in quotes", faults),
            }
        }
        Some(texts)
    }

    /// A list of words as they stand.
    pub(super) fn words(&mut self, key: &'static str, faults: &mut Faults<'_>) -> Option<Vec<String>> {
        Some(self.texts(key, faults)?.into_iter().map(|(_, text)| text.to_owned()).collect())
    }

    /// A list of small whole numbers.
    pub(super) fn integers(
        &mut self,
        key: &'static str,
        range: RangeInclusive<i32>,
        faults: &mut Faults<'_>,
    ) -> Option<Vec<i32>> {
        let mut numbers = Vec::new();
        for item in self.items(key, LIST, faults)? {
            let number =
                item.get_ref().as_integer().and_then(|i| i32::from_str_radix(i.as_str(), i.radix()).ok());
            match number.filter(|n| range.contains(n)) {
                Some(n) => numbers.push(n),
                None => faults.add(
                    item.span(),
                    format!(
                        "`{key}` holds something else than a whole number {} to {}",
                        range.start(),
                        range.end()
                    ),
                    "write the numbers without quotes, such as `[13]`",
                ),
            }
        }
        Some(numbers)
    }

    /// The tables of a list of tables (`[[key]]`).
    pub(super) fn tables(&mut self, key: &'static str, faults: &mut Faults<'_>) -> Vec<Fields<'t, 'a>> {
        let mut tables = Vec::new();
        for item in self.items(key, "tables, each under `[[…]]`", faults).into_iter().flatten() {
            match item.get_ref().as_table() {
                Some(table) => tables.push(Fields::new(table, item.span())),
                None => wrong_type(item, key, "a table", faults),
            }
        }
        tables
    }

    /// One table as pairs of key and text value, with the places of both.
    #[expect(clippy::type_complexity, reason = "used by the one kind that has a table of its own")]
    pub(super) fn pairs(
        &mut self,
        key: &'static str,
        faults: &mut Faults<'_>,
    ) -> Option<Vec<(Range<usize>, String, Range<usize>, String)>> {
        let value = self.get(key)?;
        let Some(table) = value.get_ref().as_table() else {
            wrong_type(value, key, "a table in braces", faults);
            return None;
        };
        let mut pairs = Vec::new();
        for (name, value) in table.iter() {
            match value.get_ref().as_str() {
                Some(text) => {
                    pairs.push((name.span(), name.get_ref().to_string(), value.span(), text.to_owned()));
                }
                None => wrong_type(value, key, "a text in quotes", faults),
            }
        }
        Some(pairs)
    }

    /// Reports the keys that nobody asked for; of a table whose kind is not known only those that look misspelled.
    pub(super) fn finish(self, whole: bool, faults: &mut Faults<'_>) {
        for (key, _) in self.table.iter() {
            let name: &str = key.get_ref();
            let misspelled = || nearest(name, self.known.iter()).is_some();
            if !self.known.contains(&name) && (whole || misspelled()) {
                faults.add(
                    key.span(),
                    format!("unknown key `{}`", crate::pitch::shown(name)),
                    suggestion(name, self.known.iter().copied()),
                );
            }
        }
    }
}

fn one_of<T: Copy>(
    value: &Spanned<DeValue<'_>>,
    key: &str,
    text: &str,
    words: &[(&'static str, T)],
    faults: &mut Faults<'_>,
) -> Option<T> {
    let found = words.iter().find(|(word, _)| *word == text).map(|(_, value)| *value);
    if found.is_none() {
        let names = words.iter().map(|(word, _)| *word);
        faults.add(
            value.span(),
            format!("`{key}` says `{}`, which is not known here", crate::pitch::shown(text)),
            suggestion(text, names),
        );
    }
    found
}

fn wrong_type(value: &Spanned<DeValue<'_>>, key: &str, expected: &str, faults: &mut Faults<'_>) {
    faults.add(
        value.span(),
        format!("`{key}` holds {}, expected {expected}", value.get_ref().type_str()),
        format!("write {expected}"),
    );
}

fn parse_at<T: FromStr<Err = Error>>(
    value: &Spanned<DeValue<'_>>,
    text: &str,
    faults: &mut Faults<'_>,
) -> Option<T> {
    match text.parse() {
        Ok(parsed) => Some(parsed),
        Err(error) => {
            faults.add(value.span(), error.to_string(), error.help().unwrap_or_default());
            None
        }
    }
}

/// "Did you mean", and all there is to choose from.
pub(super) fn suggestion<S: Display + AsRef<str>>(
    found: &str,
    known: impl Iterator<Item = S> + Clone,
) -> String {
    let all = itertools::join(known.clone().map(|word| format!("`{word}`")), ", ");
    match nearest(found, known) {
        Some(word) => format!("did you mean `{word}`? known are {all}"),
        None => format!("known are {all}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_suggestions() {
        assert!(suggestion("colur", ["cost", "colour"].iter()).starts_with("did you mean `colour`?"));
        assert!(suggestion("zzzzzz", ["cost", "colour"].iter()).starts_with("known are"));
    }
}
