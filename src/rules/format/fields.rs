//! Reading a rule file key by key: every fault is collected with its place, none stops the reading.

use std::fmt::Display;
use std::ops::{Range, RangeInclusive};
use std::str::FromStr;

use itertools::Itertools;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::key::{Holds, Key, Way};
use crate::error::{Error, Excerpt, Kind, nearest};

/// The faults of one text.
pub(in crate::rules) struct Faults<'a> {
    name: &'a str,
    text: &'a str,
    found: Vec<Error>,
}

impl<'a> Faults<'a> {
    pub(in crate::rules) fn new(name: &'a str, text: &'a str) -> Self {
        Self { name, text, found: Vec::new() }
    }

    pub(in crate::rules) fn add(
        &mut self,
        span: Range<usize>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        if self.is_full() {
            return;
        }
        let (message, help) = match self.found.len() == MOST_FAULTS {
            true => (format!("there are more than {MOST_FAULTS} faults"), "mend these first".to_owned()),
            false => (message.into(), help.into()),
        };
        let error = Error::new(Kind::Rules, message)
            .with_excerpt(Excerpt::of_text(Some(self.name), self.text, span))
            .with_help(help)
            .context(format_args!("rule file `{}`", self.name));
        self.found.push(error);
    }

    /// Whether further faults are not listed.
    pub(in crate::rules) fn is_full(&self) -> bool {
        self.found.len() > MOST_FAULTS
    }

    pub(in crate::rules) fn into_found(self) -> Vec<Error> {
        self.found
    }
}

/// A file with more faults than these is none; each costs time to place.
const MOST_FAULTS: usize = 100;

/// What a list is called in messages.
const LIST: &str = "a list in brackets";
/// What a text is called in messages.
const TEXT: &str = "a text in quotes";

/// One table of the file. Asking for a key makes it known; [`Fields::finish`] reports the keys nobody asked for.
pub(in crate::rules) struct Fields<'t, 'a> {
    table: &'t DeTable<'a>,
    span: Range<usize>,
    known: Vec<&'static str>,
}

impl<'t, 'a> Fields<'t, 'a> {
    pub(in crate::rules) fn new(table: &'t DeTable<'a>, span: Range<usize>) -> Self {
        Self { table, span, known: Vec::new() }
    }

    /// Where the table stands.
    pub(in crate::rules) fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    fn get(&mut self, key: &Key) -> Option<&'t Spanned<DeValue<'a>>> {
        self.known.push(key.name);
        self.table.get(key.name)
    }

    /// Whether the key is there, without reading it.
    pub(in crate::rules) fn has(&self, key: &Key) -> bool {
        self.table.contains_key(key.name)
    }

    /// Where the value of a key stands, or else the table.
    pub(in crate::rules) fn span_of(&self, key: &Key) -> Range<usize> {
        self.table.get(key.name).map_or_else(|| self.span(), Spanned::span)
    }

    /// Keys and values as they are written, for those who compare and list rules; without the keys in `but`.
    pub(in crate::rules) fn said(&self, text: &str, but: &[&str]) -> Vec<(String, String)> {
        let written = |span: Range<usize>| {
            let raw = text.get(span).unwrap_or_default();
            // Most values are one word.
            let is_word = raw.bytes().all(|byte| byte.is_ascii_graphic());
            if is_word { raw.to_owned() } else { itertools::join(raw.split_whitespace(), " ") }
        };
        let entries = self.table.iter().filter(|(key, _)| !but.contains(&&**key.get_ref()));
        entries.map(|(key, value)| (key.get_ref().to_string(), written(value.span()))).collect()
    }

    /// Reports those of the keys that are not there.
    pub(in crate::rules) fn require(&mut self, keys: &[Key], faults: &mut Faults<'_>) {
        for key in keys.iter().filter(|key| !self.table.contains_key(key.name)) {
            self.known.push(key.name);
            let name = key.name;
            faults.add(
                self.span(),
                format!("`{name}` is missing"),
                format!("add `{name} = …` to this table"),
            );
        }
    }

    /// Which of the ways to write a rule of this kind is taken: the one whose needs are all there. Reports where there
    /// is none, and keys that belong to another way.
    pub(in crate::rules) fn way(
        &mut self,
        kind: &str,
        ways: &'static [Way],
        faults: &mut Faults<'_>,
    ) -> Option<usize> {
        self.known.extend(ways.iter().flat_map(Way::keys).map(|key| key.name));
        let there = |way: &Way| way.needs.iter().all(|key| self.has(key));
        let taken =
            ways.iter().enumerate().filter(|(_, way)| there(way)).max_by_key(|(_, way)| way.needs.len());
        let Some((at, way)) = taken else {
            let needs =
                |way: &Way| itertools::join(way.needs.iter().map(|key| format!("`{}`", key.name)), " and ");
            // The way that is meant is the one with most of its keys there.
            let meant = ways.iter().rev().max_by_key(|way| way.keys().filter(|key| self.has(key)).count());
            let example = meant.map_or("", |way| way.example);
            faults.add(
                self.span(),
                format!("a `{kind}` rule needs {}", itertools::join(ways.iter().map(needs), ", or ")),
                format!(
                    "for example {}",
                    itertools::join(example.lines().map(|line| format!("`{line}`")), ", ")
                ),
            );
            return None;
        };
        let strangers = ways.iter().flat_map(Way::keys).filter(|key| self.has(key) && !way.knows(key.name));
        let mut told: Vec<&str> = Vec::new();
        for key in strangers {
            if !told.contains(&key.name) {
                told.push(key.name);
                let beside = itertools::join(way.needs.iter().map(|key| format!("`{}`", key.name)), " and ");
                faults.add(
                    self.span_of(key),
                    format!("`{}` does not go with {beside}", key.name),
                    "make two rules of it, or leave one of the two out",
                );
            }
        }
        told.is_empty().then_some(at)
    }

    /// A text that is not empty; `None` where the key is absent.
    pub(in crate::rules) fn text(&mut self, key: &Key, faults: &mut Faults<'_>) -> Option<String> {
        let (value, text) = self.raw_text(key, faults)?;
        if text.trim().is_empty() {
            faults.add(value.span(), format!("`{}` is empty", key.name), "say it in a few words");
            return None;
        }
        Some(text.to_owned())
    }

    fn raw_text(
        &mut self,
        key: &Key,
        faults: &mut Faults<'_>,
    ) -> Option<(&'t Spanned<DeValue<'a>>, &'t str)> {
        let value = self.get(key)?;
        let text = value.get_ref().as_str();
        if text.is_none() {
            wrong_type(value, key, TEXT, faults);
        }
        text.map(|text| (value, text))
    }

    /// A whole number in the key's range.
    pub(in crate::rules) fn number(&mut self, key: &Key, faults: &mut Faults<'_>) -> Option<i32> {
        let value = self.get(key)?;
        let Some(integer) = value.get_ref().as_integer() else {
            wrong_type(value, key, "a whole number", faults);
            return None;
        };
        let range = range_of(key);
        let number = whole(value).filter(|n| range.contains(n));
        if number.is_none() {
            faults.add(
                value.span(),
                format!(
                    "`{}` is {}, expected {} to {}",
                    key.name,
                    crate::pitch::shown(integer.as_str()),
                    range.start(),
                    range.end()
                ),
                "points and sizes are whole numbers in this range",
            );
        }
        number
    }

    pub(in crate::rules) fn flag(&mut self, key: &Key, faults: &mut Faults<'_>) -> Option<bool> {
        let value = self.get(key)?;
        let flag = value.get_ref().as_bool();
        if flag.is_none() {
            wrong_type(value, key, "`true` or `false`", faults);
        }
        flag
    }

    /// A flag that says something only where it is `true`.
    pub(in crate::rules) fn only_true(&mut self, key: &Key, faults: &mut Faults<'_>) -> Option<()> {
        if !self.flag(key, faults)? {
            let message = format!("`{}` is `false`", key.name);
            faults.add(self.span_of(key), message, "leave the rule out, or write `true`");
        }
        Some(())
    }

    /// A text that one of our types reads.
    pub(in crate::rules) fn parsed<T: FromStr<Err = Error>>(
        &mut self,
        key: &Key,
        faults: &mut Faults<'_>,
    ) -> Option<T> {
        let (value, text) = self.raw_text(key, faults)?;
        parse_at(value, text, faults)
    }

    /// One of a few words.
    pub(in crate::rules) fn word<T: Copy>(
        &mut self,
        key: &Key,
        words: &[(&'static str, T)],
        faults: &mut Faults<'_>,
    ) -> Option<T> {
        let (value, text) = self.raw_text(key, faults)?;
        one_of(value, key, text, words, faults)
    }

    /// A list of some of a few words; `None` where the key is absent.
    pub(in crate::rules) fn chosen<T: Copy>(
        &mut self,
        key: &Key,
        words: &[(&'static str, T)],
        faults: &mut Faults<'_>,
    ) -> Option<Vec<T>> {
        let texts = self.texts(key, faults)?;
        Some(texts.into_iter().filter_map(|(item, text)| one_of(item, key, text, words, faults)).collect())
    }

    /// A list of texts that one of our types reads; `None` where the key is absent.
    pub(in crate::rules) fn list<T: FromStr<Err = Error>>(
        &mut self,
        key: &Key,
        faults: &mut Faults<'_>,
    ) -> Option<Vec<T>> {
        let texts = self.texts(key, faults)?;
        Some(texts.iter().filter_map(|(value, text)| parse_at(value, text, faults)).collect())
    }

    /// A list of texts as they stand, with their places.
    pub(in crate::rules) fn words(
        &mut self,
        key: &Key,
        faults: &mut Faults<'_>,
    ) -> Option<Vec<(Range<usize>, String)>> {
        Some(
            self.texts(key, faults)?.into_iter().map(|(item, text)| (item.span(), text.to_owned())).collect(),
        )
    }

    /// The items of a list.
    fn items(
        &mut self,
        key: &Key,
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
        key: &Key,
        faults: &mut Faults<'_>,
    ) -> Option<Vec<(&'t Spanned<DeValue<'a>>, &'t str)>> {
        let mut texts = Vec::new();
        for item in self.items(key, LIST, faults)? {
            match item.get_ref().as_str() {
                Some(text) => texts.push((item, text)),
                None => wrong_type(item, key, TEXT, faults),
            }
        }
        Some(texts)
    }

    /// A list of whole numbers in the key's range.
    pub(in crate::rules) fn numbers(&mut self, key: &Key, faults: &mut Faults<'_>) -> Option<Vec<i32>> {
        let range = range_of(key);
        let mut numbers = Vec::new();
        for item in self.items(key, LIST, faults)? {
            match whole(item).filter(|n| range.contains(n)) {
                Some(n) => numbers.push(n),
                None => faults.add(
                    item.span(),
                    format!(
                        "`{}` holds something else than a whole number {} to {}",
                        key.name,
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
    pub(in crate::rules) fn tables(&mut self, key: &Key, faults: &mut Faults<'_>) -> Vec<Fields<'t, 'a>> {
        let mut tables = Vec::new();
        for item in self.items(key, "tables, each under `[[…]]`", faults).into_iter().flatten() {
            match item.get_ref().as_table() {
                Some(table) => tables.push(Fields::new(table, item.span())),
                None => wrong_type(item, key, "a table", faults),
            }
        }
        tables
    }

    /// One table in braces.
    pub(in crate::rules) fn table(&mut self, key: &Key, faults: &mut Faults<'_>) -> Option<Fields<'t, 'a>> {
        let value = self.get(key)?;
        let table = value.get_ref().as_table();
        if table.is_none() {
            wrong_type(value, key, "a table in braces", faults);
        }
        table.map(|table| Fields::new(table, value.span()))
    }

    /// Whether the key holds a text.
    pub(in crate::rules) fn is_text(&self, key: &Key) -> bool {
        self.table.get(key.name).is_some_and(|value| value.get_ref().is_str())
    }

    /// All keys and text values of this table, with the places of both.
    pub(in crate::rules) fn pairs(&self, faults: &mut Faults<'_>) -> Vec<[(Range<usize>, String); 2]> {
        let mut pairs = Vec::new();
        for (name, value) in self.table.iter() {
            match value.get_ref().as_str() {
                Some(text) => {
                    pairs.push([(name.span(), name.get_ref().to_string()), (value.span(), text.to_owned())])
                }
                None => faults.add(
                    value.span(),
                    format!(
                        "`{}` holds {}, expected {TEXT}",
                        crate::pitch::shown(name.get_ref()),
                        type_in_words(value.get_ref())
                    ),
                    format!("write {TEXT}"),
                ),
            }
        }
        pairs
    }

    /// Reports the keys that nobody asked for; of a table whose kind is not known only those that look misspelled.
    pub(in crate::rules) fn finish(self, whole: bool, faults: &mut Faults<'_>) {
        for (key, _) in self.table.iter() {
            let name: &str = key.get_ref();
            let misspelled = || nearest(name, self.known.iter()).is_some();
            if !self.known.contains(&name) && (whole || misspelled()) {
                faults.add(
                    key.span(),
                    format!("unknown key `{}`", crate::pitch::shown(name)),
                    suggestion(name, self.known.iter().copied().unique()),
                );
            }
        }
    }
}

/// What a value is, in words for people.
fn type_in_words(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number with a point",
        DeValue::Boolean(_) => "`true` or `false`",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

fn range_of(key: &Key) -> RangeInclusive<i32> {
    match key.holds {
        Holds::Number(from, to) | Holds::Numbers(from, to) => from..=to,
        _ => i32::MIN..=i32::MAX,
    }
}

fn whole(value: &Spanned<DeValue<'_>>) -> Option<i32> {
    value.get_ref().as_integer().and_then(|n| i32::from_str_radix(n.as_str(), n.radix()).ok())
}

fn one_of<T: Copy>(
    value: &Spanned<DeValue<'_>>,
    key: &Key,
    text: &str,
    words: &[(&'static str, T)],
    faults: &mut Faults<'_>,
) -> Option<T> {
    let found = words.iter().find(|(word, _)| *word == text).map(|(_, value)| *value);
    if found.is_none() {
        let names = words.iter().map(|(word, _)| *word);
        faults.add(
            value.span(),
            format!("`{}` says `{}`, which is not known here", key.name, crate::pitch::shown(text)),
            suggestion(text, names),
        );
    }
    found
}

fn wrong_type(value: &Spanned<DeValue<'_>>, key: &Key, expected: &str, faults: &mut Faults<'_>) {
    faults.add(
        value.span(),
        format!("`{}` holds {}, expected {expected}", key.name, type_in_words(value.get_ref())),
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
pub(in crate::rules) fn suggestion<S: Display + AsRef<str>>(
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
