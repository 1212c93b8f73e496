//! The format of rule files in words, made of the same data as the reader.

use std::fmt::Write;

use super::key::{Holds, Key, Way, names};
use crate::chord::{Degree, Family, Function, Scale};
use crate::rules::kind::{KINDS, KindEntry};
use crate::rules::set::{HEAD, RULE_CASES, RULE_EFFECTS, RULE_NEEDED};
use crate::rules::{case, condition};
use crate::voicing::{HandSize, LowLimits, Shell};

/// The format of rule files key by key, as Markdown: the head, what every rule has, the conditions, the cases, and each
/// kind of rule with the ways to write it. `rules/README.md` holds this text.
///
/// # Example
///
/// ```
/// let text = overshell::rules::format_reference();
/// assert!(text.contains("### `tone`"));
/// ```
pub fn format_reference() -> String {
    let mut out = String::new();
    let [needed, optional] = HEAD;
    section(&mut out, "## The head", [needed, optional]);
    section(&mut out, "## Every rule (`[[rule]]`)", [&RULE_NEEDED, &[]]);
    para(
        &mut out,
        "Exactly one of these says what the rule does; a `motion` rule has points of its own instead:",
    );
    table(&mut out, [&RULE_EFFECTS]);
    para(&mut out, "A rule may have conditions; all must hold, absent ones always do:");
    table(&mut out, [&condition::KEYS[..]]);
    para(&mut out, "The table `when`, for example `when = { bass-player = true, shells = [\"3 7\"] }`:");
    table(&mut out, [&condition::WHEN_KEYS[..]]);
    para(&mut out, "and cases that test it:");
    table(&mut out, [&[RULE_CASES][..]]);
    section(&mut out, "## Cases (`[[rule.case]]`)", [&case::NEEDED, &case::OPTIONAL]);
    para(&mut out, "A case claims something: it has `verdict`, `fires` or `spares`.");
    words(&mut out);
    heading(&mut out, "## Kinds");
    for kind in KINDS {
        kind_section(&mut out, kind);
    }
    out.truncate(out.trim_end().len());
    out.push('\n');
    out
}

fn heading(out: &mut String, title: &str) {
    out.push_str(title);
    out.push_str("\n\n");
}

fn para(out: &mut String, text: &str) {
    out.push_str(text);
    out.push_str("\n\n");
}

fn section<const N: usize>(out: &mut String, title: &str, keys: [&[Key]; N]) {
    heading(out, title);
    table(out, keys);
}

fn table<const N: usize>(out: &mut String, keys: [&[Key]; N]) {
    out.push_str("| key | holds | meaning |\n|---|---|---|\n");
    for Key { name, holds, doc } in keys.into_iter().flatten() {
        let _ = writeln!(out, "| `{name}` | {} | {doc} |", holds.in_words());
    }
    out.push('\n');
}

/// What the texts in the tables may say.
fn words(out: &mut String) {
    heading(out, "## Words");
    let quoted =
        |words: &mut dyn Iterator<Item = String>| itertools::join(words.map(|word| format!("`{word}`")), " ");
    let all = [
        ("degree", quoted(&mut Degree::ALL.iter().map(Degree::to_string))),
        ("family", quoted(&mut Family::ALL.iter().map(Family::to_string))),
        (
            "function",
            format!(
                "{}, or a Roman numeral (`I`, `ii`, `bVII`) for a chord that is no dominant",
                quoted(&mut Function::DOMINANT.iter().map(Function::to_string))
            ),
        ),
        ("shell", quoted(&mut Shell::ALL.iter().map(Shell::to_string))),
        ("label", "the degree on which a triad stands: `II` major, `#iv` minor, and so on".to_owned()),
        ("scale", quoted(&mut Scale::ALL.iter().map(Scale::to_string))),
        ("pitch", "a note name with its octave, `C4` is middle C".to_owned()),
    ];
    for (what, words) in all {
        let _ = writeln!(out, "- **{what}**: {words}");
    }
    para(
        out,
        "\nWhat a key means is decided by the chord: over `Cm7` the key E flat is `b3`, over `C7` it is `#9`; over `C7sus4` F is \
         `4`, over `C7` it is `11`.",
    );
}

fn kind_section(out: &mut String, kind: &KindEntry) {
    let _ = writeln!(out, "### `{}`\n\nLooks at {}.\n", kind.name, kind.doc);
    let mut told: Vec<&str> = Vec::new();
    for way in kind.ways {
        let _ = writeln!(out, "- {}: fires {}", ways_keys(way), way.fires);
    }
    out.push('\n');
    let keys = kind.ways.iter().flat_map(Way::keys).filter(|key| {
        let new = !told.contains(&key.name);
        told.push(key.name);
        new && condition::KEYS.iter().all(|common| common.name != key.name)
    });
    let keys: Vec<Key> = keys.copied().collect();
    table(out, [&keys[..]]);
    for way in kind.ways {
        let _ = writeln!(out, "```toml\nkind = \"{}\"\n{}\n```\n", kind.name, way.example);
    }
}

fn ways_keys(way: &Way) -> String {
    let list = |keys: &[Key]| itertools::join(keys.iter().map(|key| format!("`{}`", key.name)), ", ");
    match way.may {
        [] => list(way.needs),
        may => format!("{} (and {} if need be)", list(way.needs), list(may)),
    }
}

impl Holds {
    fn in_words(self) -> String {
        let words = |words: &[&str]| itertools::join(words.iter().map(|word| format!("`{word}`")), " ");
        match self {
            Self::Text => "text".into(),
            Self::Flag => "`true` or `false`".into(),
            Self::Number(from, i32::MAX) => format!("number from {from}"),
            Self::Number(from, to) => format!("number {from} to {to}"),
            Self::Numbers(from, to) => format!("list of numbers {from} to {to}"),
            Self::Word(names) => words(names),
            Self::Words(names) => format!("list of {}", words(names)),
            Self::Texts => "list of texts".into(),
            Self::Degree => "degree".into(),
            Self::Degrees => "list of degrees".into(),
            Self::DegreePairs => "list of pairs of degrees".into(),
            Self::Families => "list of families".into(),
            Self::Function => "function".into(),
            Self::Functions => "list of functions".into(),
            Self::Pitch => "pitch".into(),
            Self::Labels => "list of labels".into(),
            Self::Shells => "list of shells".into(),
            Self::Scale => "scale".into(),
            Self::Chord => "chord symbol".into(),
            Self::HandSize => {
                format!("{}, or a span such as `205mm` or `205mm/152mm`", words(&names(&HandSize::NAMES)))
            }
            Self::Hand => "pitches".into(),
            Self::Limits => format!("{}, or a table of interval and pitch", words(&names(&LowLimits::NAMES))),
            Self::When => "table".into(),
            Self::Tables => "list of tables".into(),
        }
    }
}
