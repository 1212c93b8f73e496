//! One rule file: raw → checked, all faults at once.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

use toml::de::DeTable;

use crate::error::{Error, Kind as ErrorKind, Result};
use crate::rules::case::Case;
use crate::rules::condition::{self, Condition};
use crate::rules::format::{Faults, Fields, Holds, Key, suggestion};
use crate::rules::kind::{KINDS, Kind};
use crate::rules::rule::{Body, Origin, Points, Rule, Text};

/// The highest `format` this version reads.
const NEWEST_FORMAT: i32 = 1;
/// The largest rule file that is read, in bytes.
pub(in crate::rules) const LARGEST_FILE: usize = 1 << 20;
/// More points than this for one rule would drown every other.
const MOST_POINTS: i32 = 1_000;

const FORMAT: Key = Key::new(
    "format",
    Holds::Number(0, i32::MAX),
    "needed: 1; a file with another number is refused by name",
);
const NAME: Key = Key::new("name", Holds::Text, "needed: what the set calls itself");
const EXTENDS: Key = Key::new(
    "extends",
    Holds::Texts,
    "sets that lie below this one, in order: those that ship by name, others as paths beside this file (`./mine.toml`); a set \
     that several of them extend is laid down once",
);
const OFF: Key = Key::new("off", Holds::Texts, "ids of rules from below that do not apply");
const THRESHOLD: Key = Key::new(
    "colour-threshold",
    Holds::Number(0, MOST_POINTS),
    "colour in points from which on a voicing without a clash counts as colour; 20, or what lies below says",
);
const ENOUGH: Key = Key::new(
    "colour-enough",
    Holds::Number(0, MOST_POINTS),
    "colour in points beyond which the searches see no gain; 40, or what lies below says",
);
const RULE: Key = Key::new("rule", Holds::Tables, "the rules, each under `[[rule]]`");

/// What every file has at its head, and what it may have.
pub(in crate::rules) const HEAD: [&[Key]; 2] = [&[FORMAT, NAME], &[EXTENDS, OFF, THRESHOLD, ENOUGH, RULE]];

const ID: Key = Key::new("id", Holds::Text, "needed: unique in the file; findings carry it");
const KIND: Key = Key::new("kind", Holds::Text, "needed: one of the kinds below");
const MESSAGE: Key =
    Key::new("message", Holds::Text, "needed: what is so, in one sentence, lower case, no full stop");
const HELP: Key = Key::new("help", Holds::Text, "needed: what would help");
const SOURCE: Key =
    Key::new("source", Holds::Text, "needed: where it is published, or `common practice, no source`");
const EFFECT: Key = Key::new("effect", Holds::Word(&["clash"]), "`clash`: the rule forbids");
const COST: Key =
    Key::new("cost", Holds::Number(0, MOST_POINTS), "points that it charges each time it fires");
const COLOUR: Key =
    Key::new("colour", Holds::Number(0, MOST_POINTS), "points of colour that it credits each time");
const CASE: Key = Key::new("case", Holds::Tables, "cases that test the file, each under `[[rule.case]]`");

/// What every rule has; one of the effects, where its kind has no points of its own; and its cases.
pub(in crate::rules) const RULE_NEEDED: [Key; 5] = [ID, KIND, MESSAGE, HELP, SOURCE];
pub(in crate::rules) const RULE_EFFECTS: [Key; 3] = [EFFECT, COST, COLOUR];
pub(in crate::rules) const RULE_CASES: Key = CASE;

/// A rule file as checked, not yet laid on top of others.
#[derive(Debug)]
pub(in crate::rules) struct File {
    pub(super) name: String,
    pub(super) extends: Vec<(Range<usize>, String)>,
    pub(super) off: Vec<(Range<usize>, String)>,
    pub(super) threshold: Option<i32>,
    pub(super) enough: Option<i32>,
    pub(super) rules: Vec<Rule>,
    pub(super) text: Arc<Text>,
}

impl File {
    /// Reads what can be read of a file, with all of its faults.
    ///
    /// # Errors
    ///
    /// [`Error::is_limit`] where it is too large.
    pub(in crate::rules) fn read(name: &str, text: &str) -> Result<(Self, Vec<Error>)> {
        if text.len() > LARGEST_FILE {
            return Err(Error::new(
                ErrorKind::Limit,
                format!("rule file `{name}` has {} bytes, the limit is {LARGEST_FILE}", text.len()),
            )
            .with_help("divide it into several files of one folder"));
        }
        let origin = Arc::new(Text { name: name.to_owned(), text: text.to_owned() });
        let mut faults = Faults::new(name, text);
        match DeTable::parse(text) {
            Ok(table) => {
                let file = Self::checked(Fields::new(table.get_ref(), 0..0), &origin, &mut faults);
                Ok((file, faults.into_found()))
            }
            Err(error) => {
                let message = error.message().lines().next().unwrap_or("not TOML").to_owned();
                faults.add(
                    error.span().unwrap_or(0..0),
                    message,
                    "a rule file is TOML: `key = value` lines, and `[[rule]]` above each rule",
                );
                Ok((Self::empty(origin), faults.into_found()))
            }
        }
    }

    fn empty(text: Arc<Text>) -> Self {
        Self {
            name: String::new(),
            extends: Vec::new(),
            off: Vec::new(),
            threshold: None,
            enough: None,
            rules: Vec::new(),
            text,
        }
    }

    fn checked(mut fields: Fields<'_, '_>, text: &Arc<Text>, faults: &mut Faults<'_>) -> Self {
        let [needed, _] = HEAD;
        fields.require(needed, faults);
        match fields.number(&FORMAT, faults) {
            Some(NEWEST_FORMAT) | None => {}
            Some(other) => {
                faults.add(
                    fields.span_of(&FORMAT),
                    format!("format {other} is not known, this version reads format {NEWEST_FORMAT}"),
                    "use a newer version of the library, or write the file in this format",
                );
                // What another format means by the rest is not known either.
                return Self::empty(Arc::clone(text));
            }
        }
        let mut file = Self {
            name: fields.text(&NAME, faults).unwrap_or_default(),
            extends: fields.words(&EXTENDS, faults).unwrap_or_default(),
            off: fields.words(&OFF, faults).unwrap_or_default(),
            threshold: fields.number(&THRESHOLD, faults),
            enough: fields.number(&ENOUGH, faults),
            ..Self::empty(Arc::clone(text))
        };
        let mut seen: BTreeMap<String, ()> = BTreeMap::new();
        for mut rule_fields in fields.tables(&RULE, faults) {
            let id_span = rule_fields.span_of(&ID);
            let rule = Rule::read(&mut rule_fields, text, faults);
            rule_fields.finish(rule.is_some(), faults);
            let Some(rule) = rule else { continue };
            if seen.insert(rule.id.clone(), ()).is_some() {
                faults.add(
                    id_span,
                    format!("there are two rules `{}` in this file", rule.id),
                    "give one of them another id",
                );
            }
            file.rules.push(rule);
        }
        fields.finish(true, faults);
        file
    }

    /// A place for faults of this file that show later.
    pub(super) fn faults(&self) -> Faults<'_> {
        Faults::new(&self.text.name, &self.text.text)
    }
}

impl Rule {
    fn read(fields: &mut Fields<'_, '_>, text: &Arc<Text>, faults: &mut Faults<'_>) -> Option<Self> {
        fields.require(&RULE_NEEDED, faults);
        let id = fields.text(&ID, faults);
        let message = fields.text(&MESSAGE, faults);
        let help = fields.text(&HELP, faults);
        let source = fields.text(&SOURCE, faults);
        let kind_span = fields.span_of(&KIND);
        let kind_name = fields.text(&KIND, faults);
        let entry = kind_name.as_ref().and_then(|name| KINDS.iter().find(|entry| entry.name == name));
        if let (Some(name), None) = (&kind_name, entry) {
            faults.add(
                kind_span,
                format!("`{}` is not a kind of rule", crate::pitch::shown(name)),
                suggestion(name, KINDS.iter().map(|entry| entry.name)),
            );
        }
        let condition = Condition::read(fields, faults);
        let own_points = entry.is_some_and(|entry| entry.own_points);
        let points = Self::read_points(fields, own_points, faults);
        let kind = entry.and_then(|entry| {
            let way = fields.way(entry.name, entry.ways, faults)?;
            (entry.read)(way, fields, faults)
        });
        if let Some(kind @ (Kind::Motion(_) | Kind::Reach(_))) = &kind
            && condition.hands != condition::HandCondition::default()
        {
            faults.add(
                fields.span_of(&condition::WHEN),
                format!("a `{}` rule does not ask what the hands play", kind.name()),
                "leave `shells`, `lowest-from` and their like out",
            );
        }
        let cases = fields
            .tables(&CASE, faults)
            .into_iter()
            .filter_map(|mut case| {
                let read = Case::read(&mut case, text, faults);
                case.finish(true, faults);
                read
            })
            .collect();
        let said = fields.said(&text.text, &["id", "message", "help", "source", "case"]);
        Some(Self {
            id: id?,
            message: message?,
            help: help?,
            source: source?,
            condition,
            points: points?,
            body: Body::Data(kind?),
            cases,
            origin: Some(Origin { text: Arc::clone(text), span: fields.span(), said }),
        })
    }

    fn read_points(fields: &mut Fields<'_, '_>, own: bool, faults: &mut Faults<'_>) -> Option<Points> {
        let clash = fields.word(&EFFECT, &[("clash", Points::Clash)], faults);
        let cost = fields.number(&COST, faults).map(Points::Cost);
        let colour = fields.number(&COLOUR, faults).map(Points::Colour);
        let mut said = [clash, cost, colour].into_iter().flatten();
        let there: Vec<&Key> = RULE_EFFECTS.iter().filter(|key| fields.has(key)).collect();
        match (own, there.as_slice()) {
            (true, []) => return Some(Points::Own),
            // What is wrong with the value has been said.
            (false, [_]) => return said.next(),
            (true, [key, ..]) => faults.add(
                fields.span_of(key),
                "a rule of this kind has points of its own",
                "leave `effect`, `cost` and `colour` out",
            ),
            (false, []) => faults.add(
                fields.span(),
                "a rule needs one of `effect = \"clash\"`, `cost` and `colour`",
                "say once what the rule does: forbid, charge or credit",
            ),
            (false, [_, key, ..]) => faults.add(
                fields.span_of(key),
                "a rule does one thing: one of `effect = \"clash\"`, `cost` and `colour`",
                "make two rules of it, or leave one of the two out",
            ),
        }
        None
    }
}
