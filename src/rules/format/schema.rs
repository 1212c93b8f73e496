//! The format of rule files as JSON Schema, made of the same data as the reader, so that editors complete and underline.

use itertools::Itertools;
use serde_json::{Map, Value, json};

use super::key::{self, Holds, Key, Way};
use crate::chord::{Degree, Family, Function, Scale};
use crate::rules::kind::{KINDS, KindEntry};
use crate::rules::set::{HEAD, RULE_CASES, RULE_EFFECTS, RULE_NEEDED};
use crate::rules::{case, condition};
use crate::voicing::{HandSize, Label, LowLimits, Shell, TriadKind};

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
    let mut definitions = Definitions::default();
    for (name, words) in [
        ("degree", word(texts(&Degree::ALL))),
        ("family", word(texts(&Family::ALL))),
        ("function", functions()),
        ("label", labels()),
        ("shell", word(texts(&Shell::ALL))),
        ("pitch", pattern(PITCH)),
        // Read in any case and by other names too; the enumeration is for those who complete.
        ("scale", json!({ "anyOf": [word(texts(&Scale::ALL)), { "type": "string" }] })),
    ] {
        definitions.0.insert(name.into(), words);
    }
    let when = definitions.object("when", &[], &condition::WHEN_KEYS);
    definitions.0.insert("when".into(), when);
    let case = definitions.case();
    definitions.0.insert("case".into(), case);
    let rules: Vec<Value> = KINDS.iter().map(|kind| definitions.rules_of(kind)).collect();
    let names = word(KINDS.iter().map(|kind| kind.name.to_owned()));
    let items = json!({
        "type": "object",
        "required": ["kind"],
        "properties": { "kind": names },
        "allOf": rules,
    });
    let [needed, optional] = HEAD;
    let mut head = definitions.object("file", needed, optional);
    if let Some(properties) = head.get_mut("properties").and_then(Value::as_object_mut) {
        properties.insert("format".into(), json!({ "const": 1, "description": "the format of this file" }));
        let rules = json!({ "type": "array", "description": "the rules", "items": items });
        properties.insert("rule".into(), rules);
    }
    if let Some(head) = head.as_object_mut() {
        head.insert("$schema".into(), json!("http://json-schema.org/draft-07/schema#"));
        head.insert("title".into(), json!("Rule set, format 1"));
        head.insert("definitions".into(), json!(definitions.0));
    }
    format!("{head:#}\n")
}

/// What is said once and referred to.
#[derive(Default)]
struct Definitions(Map<String, Value>);

impl Definitions {
    /// A table with these keys, each defined once under `owner.key`.
    fn object(&mut self, owner: &str, needed: &[Key], optional: &[Key]) -> Value {
        let properties: Map<String, Value> = needed
            .iter()
            .chain(optional)
            .map(|key| (key.name.to_owned(), self.reference(owner, key)))
            .collect();
        json!({
            "type": "object",
            "required": needed.iter().map(|key| key.name).collect_vec(),
            "additionalProperties": false,
            "properties": properties,
        })
    }

    fn reference(&mut self, owner: &str, key: &Key) -> Value {
        let name = format!("{owner}.{}", key.name);
        let reference = json!({ "$ref": format!("#/definitions/{name}") });
        self.0.entry(name).or_insert_with(|| property(key));
        reference
    }

    fn case(&mut self) -> Value {
        let mut case = self.object("case", &case::NEEDED, &case::OPTIONAL);
        let claims =
            ["verdict", "fires", "spares"].iter().map(|key| json!({ "required": [key] })).collect_vec();
        if let Some(case) = case.as_object_mut() {
            case.insert("anyOf".into(), json!(claims));
        }
        case
    }

    /// What holds for rules of this kind: one of its ways.
    fn rules_of(&mut self, kind: &'static KindEntry) -> Value {
        let mut ways: Vec<Value> = kind.ways.iter().map(|way| self.rule(kind, way)).collect();
        let then = match ways.pop() {
            Some(only) if ways.is_empty() => only,
            last => json!({ "anyOf": ways.into_iter().chain(last).collect_vec() }),
        };
        json!({ "if": { "properties": { "kind": { "const": kind.name } } }, "then": then })
    }

    /// A rule of this kind written in this way.
    fn rule(&mut self, kind: &KindEntry, way: &'static Way) -> Value {
        let mut rule = self.object(kind.name, way.needs, way.may);
        let common = condition::KEYS
            .iter()
            .filter(|key| kind.ways.iter().all(|way| !way.knows(key.name)))
            .copied()
            .collect_vec();
        let effects: &[Key] = if kind.own_points { &[] } else { &RULE_EFFECTS };
        let others = self.object("rule", &RULE_NEEDED, &[&common, effects].concat());
        let fields = rule.as_object_mut().zip(others.as_object());
        if let Some((rule, others)) = fields {
            for (name, list) in [("required", "required"), ("properties", "properties")] {
                match (rule.get_mut(name), others.get(list)) {
                    (Some(Value::Array(own)), Some(Value::Array(more))) => own.extend(more.iter().cloned()),
                    (Some(Value::Object(own)), Some(Value::Object(more))) => own.extend(more.clone()),
                    _ => {}
                }
            }
            if let Some(properties) = rule.get_mut("properties").and_then(Value::as_object_mut) {
                properties.insert("kind".into(), json!({ "const": kind.name, "description": kind.doc }));
                let items = json!({ "$ref": "#/definitions/case" });
                properties.insert(
                    "case".into(),
                    json!({ "type": "array", "description": doc(&RULE_CASES), "items": items }),
                );
            }
            rule.insert("title".into(), json!(format!("{}: fires {}", kind.name, way.fires)));
            if !effects.is_empty() {
                let one = effects.iter().map(|key| json!({ "required": [key.name] })).collect_vec();
                rule.insert("oneOf".into(), json!(one));
            }
        }
        rule
    }
}

fn functions() -> Value {
    let degrees = itertools::iproduct!(0..12, [false, true])
        .map(|(semitones, minor)| Function::Degree { semitones, minor }.to_string());
    word(texts(&Function::DOMINANT).chain(degrees))
}

fn labels() -> Value {
    let labels = itertools::iproduct!(TriadKind::ALL, 0..12)
        .map(|(kind, semitones)| Label::new(semitones, kind).to_string());
    word(labels)
}

fn doc(key: &Key) -> &'static str {
    key.doc.trim_start_matches("needed: ")
}

/// What a key holds and means. Beside a reference nothing else is read, hence the list of one.
fn property(key: &Key) -> Value {
    let mut value = key.holds.schema();
    if value.get("$ref").is_some() {
        value = json!({ "allOf": [value] });
    }
    if let Some(value) = value.as_object_mut() {
        value.insert("description".into(), json!(doc(key)));
    }
    value
}

fn defined(name: &str) -> Value {
    json!({ "$ref": format!("#/definitions/{name}") })
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
        match self {
            Self::Text => json!({ "type": "string", "pattern": "\\S" }),
            Self::Flag => json!({ "type": "boolean" }),
            Self::Number(from, to) => number(from, to),
            Self::Numbers(from, to) => list(number(from, to)),
            Self::Word(words) => word(texts(words)),
            Self::Words(words) => list(word(texts(words))),
            Self::Texts => list(json!({ "type": "string" })),
            Self::Degree => defined("degree"),
            Self::Degrees => list(defined("degree")),
            Self::DegreePairs => {
                let one = texts(&Degree::ALL).join("|");
                list(pattern(&format!("^({one}) +({one})$")))
            }
            Self::Families => list(defined("family")),
            Self::Function => defined("function"),
            Self::Functions => list(defined("function")),
            Self::Pitch => defined("pitch"),
            Self::Labels => list(defined("label")),
            Self::Shells => list(defined("shell")),
            Self::Scale => defined("scale"),
            Self::HandSize => json!({ "anyOf": [
                word(texts(&key::names(&HandSize::NAMES))),
                pattern("^[0-9]+(\\.[0-9])?mm(/[0-9]+(\\.[0-9])?mm)?$"),
            ] }),
            Self::Chord | Self::Hand => json!({ "type": "string" }),
            Self::Limits => json!({ "anyOf": [
                word(texts(&key::names(&LowLimits::NAMES))),
                { "type": "object", "patternProperties": { "^[PMmAd][0-9]+$": defined("pitch") }, "additionalProperties": false },
            ] }),
            Self::When => defined("when"),
            Self::Tables => json!({ "type": "array" }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The committed schema is the one that the code makes: `cargo run --features schema --example rules -- schema`.
    #[test]
    fn ok_the_committed_schema_is_up_to_date() {
        assert!(
            include_str!("../../../rules/schema.json") == json_schema(),
            "write it again: cargo run --features schema --example rules -- schema > rules/schema.json"
        );
    }
}
