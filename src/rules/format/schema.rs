//! The format of rule files as JSON Schema, made of the same data as the reader, so that editors complete and underline.

use itertools::Itertools;
use serde_json::{Map, Value, json};

use super::key::{self, Holds, Key, Way};
use crate::chord::{Degree, Family, Function, Scale};
use crate::rules::kind::{KINDS, KindEntry};
use crate::rules::set::{HEAD, RULE_CASES, RULE_EFFECTS, RULE_NEEDED};
use crate::rules::{case, condition};
use crate::voicing::{Label, LowLimits, Shell, TriadKind};

/// The JSON Schema (draft 7, which editors of TOML know) of rule files, `format = 1`. `rules/schema.json` holds this text.
///
/// It checks shape, words and ranges. What only the reader sees is left to it: whether a chord symbol can be read, whether
/// ids are unique, whether what is extended is there.
///
/// # Example
///
/// ```
/// let schema: serde_json::Value = serde_json::from_str(&overshell::rules::json_schema())?;
/// assert_eq!(schema["properties"]["format"]["const"], 1);
/// # Ok::<(), serde_json::Error>(())
/// ```
pub fn json_schema() -> String {
    let [needed, optional] = HEAD;
    let mut head = properties(needed.iter().chain(optional));
    head.insert("format".into(), json!({ "const": 1, "description": "the format of this file" }));
    let rules = KINDS.iter().flat_map(|kind| kind.ways.iter().flat_map(move |way| rule(kind, way)));
    let items = json!({ "oneOf": rules.collect::<Vec<Value>>() });
    head.insert("rule".into(), json!({ "type": "array", "description": doc(&RULES), "items": items }));
    let schema = json!({
        "$schema": "http://json-schema.org/draft-07/schema#",
        "title": "Rule set, format 1",
        "type": "object",
        "required": names(needed),
        "additionalProperties": false,
        "properties": head,
        "definitions": { "when": object(&[], &condition::WHEN_KEYS), "case": the_case() },
    });
    format!("{schema:#}\n")
}

const RULES: Key = Key::new("rule", Holds::Tables, "the rules");

fn the_case() -> Value {
    let mut case = object(&case::NEEDED, &case::OPTIONAL);
    let claims: Vec<Value> =
        ["verdict", "fires", "spares"].iter().map(|key| json!({ "required": [key] })).collect();
    if let Some(case) = case.as_object_mut() {
        case.insert("anyOf".into(), json!(claims));
    }
    case
}

/// A rule of this kind written in this way, once for each effect that it may have.
fn rule(kind: &KindEntry, way: &'static Way) -> Vec<Value> {
    let effects: &[Option<Key>] = if kind.own_points { &[None] } else { &RULE_EFFECTS.map(Some) };
    let one = |effect: &Option<Key>| {
        let needs = RULE_NEEDED.iter().chain(way.needs).chain(effect);
        let common = condition::KEYS.iter().filter(|key| !way.knows(key.name));
        let keys = needs.clone().chain(way.may).chain(common);
        let mut properties = properties(keys);
        properties.insert("kind".into(), json!({ "const": kind.name, "description": kind.doc }));
        let case = json!({ "type": "array", "description": doc(&RULE_CASES), "items": { "$ref": "#/definitions/case" } });
        properties.insert("case".into(), case);
        json!({
            "type": "object",
            "title": format!("{}: fires {}", kind.name, way.fires),
            "required": needs.map(|key| key.name).collect::<Vec<_>>(),
            "additionalProperties": false,
            "properties": properties,
        })
    };
    effects.iter().map(one).collect()
}

fn object(needed: &[Key], optional: &[Key]) -> Value {
    json!({
        "type": "object",
        "required": names(needed),
        "additionalProperties": false,
        "properties": properties(needed.iter().chain(optional)),
    })
}

fn names(keys: &[Key]) -> Vec<&'static str> {
    keys.iter().map(|key| key.name).collect()
}

fn properties<'k>(keys: impl Iterator<Item = &'k Key>) -> Map<String, Value> {
    keys.map(|key| (key.name.to_owned(), property(key))).collect()
}

fn doc(key: &Key) -> &'static str {
    key.doc.trim_start_matches("needed: ")
}

fn property(key: &Key) -> Value {
    let mut value = key.holds.schema();
    if let Some(value) = value.as_object_mut() {
        value.insert("description".into(), json!(doc(key)));
    }
    value
}

fn word(words: impl Iterator<Item = String>) -> Value {
    json!({ "type": "string", "enum": words.collect_vec() })
}

fn list(items: Value) -> Value {
    json!({ "type": "array", "items": items })
}

fn number(from: i32, to: i32) -> Value {
    json!({ "type": "integer", "minimum": from, "maximum": to })
}

fn texts<T: ToString>(values: &[T]) -> impl Iterator<Item = String> {
    values.iter().map(T::to_string)
}

fn pattern(pattern: &str) -> Value {
    json!({ "type": "string", "pattern": pattern })
}

/// What a note name with an octave looks like.
const PITCH: &str = "^[A-G](#|b|##|bb|x|♯|♭|𝄪|𝄫)?-?[0-9]$";

impl Holds {
    fn schema(self) -> Value {
        let degree = || word(texts(&Degree::ALL));
        let functions = || {
            let degrees = itertools::iproduct!(0..12, [false, true])
                .map(|(semitones, minor)| Function::Degree { semitones, minor }.to_string());
            word(texts(&Function::DOMINANT).chain(degrees))
        };
        match self {
            Self::Text => json!({ "type": "string", "pattern": "\\S" }),
            Self::Flag => json!({ "type": "boolean" }),
            Self::Number(from, to) => number(from, to),
            Self::Numbers(from, to) => list(number(from, to)),
            Self::Word(words) => word(texts(words)),
            Self::Words(words) => list(word(texts(words))),
            Self::Texts => list(json!({ "type": "string" })),
            Self::Degree => degree(),
            Self::Degrees => list(degree()),
            Self::DegreePairs => {
                let one = texts(&Degree::ALL).join("|");
                list(pattern(&format!("^({one}) +({one})$")))
            }
            Self::Families => list(word(texts(&Family::ALL))),
            Self::Function => functions(),
            Self::Functions => list(functions()),
            Self::Pitch => pattern(PITCH),
            Self::Labels => {
                let labels = itertools::iproduct!(TriadKind::ALL, 0..12)
                    .map(|(kind, semitones)| Label::new(semitones, kind).to_string());
                list(word(labels))
            }
            Self::Shells => list(word(texts(&Shell::ALL))),
            // Read in any case and by other names too; the enumeration is for those who complete.
            Self::Scale => json!({ "anyOf": [word(texts(&Scale::ALL)), { "type": "string" }] }),
            Self::Chord | Self::Hand => json!({ "type": "string" }),
            Self::Limits => json!({ "anyOf": [
                word(texts(&key::names(&LowLimits::NAMES))),
                { "type": "object", "patternProperties": { "^[PMmAd][0-9]+$": pattern(PITCH) }, "additionalProperties": false },
            ] }),
            Self::When => json!({ "$ref": "#/definitions/when" }),
            Self::Tables => json!({ "type": "array" }),
        }
    }
}
