//! Chord symbols as `harmony`: shown as written, meant as the chord that they are.

use super::xml::Xml;
use crate::chord::ChordSymbol;
use crate::chord::vocabulary::musicxml;
use crate::pitch::NoteName;
use crate::sheet::PlacedSymbol;

/// Writes a symbol, `offset` ticks behind the present place.
pub(super) fn write(xml: &mut Xml, symbol: &PlacedSymbol, offset: u32, staff: Option<&str>) {
    xml.open("harmony", &[("placement", "above")]);
    match symbol {
        PlacedSymbol::Read(symbol) => write_read(xml, symbol),
        PlacedSymbol::Unread { root: Some(root), text } => {
            write_name(xml, &ROOT, *root, &root.to_string());
            let suffix = text.strip_prefix(&root.to_string()).unwrap_or(text);
            xml.leaf("kind", &[("text", suffix)], "other");
        }
        PlacedSymbol::Unread { root: None, text } => {
            // Programs expect a numeral in `function`; any other text needs a root that is not printed.
            if !text.is_empty() && text.chars().all(|c| "IVXivx".contains(c)) {
                xml.leaf("function", &[], text);
                xml.leaf("kind", &[("text", "")], "other");
            } else {
                write_hidden_root(xml);
                xml.leaf("kind", &[("text", text)], "other");
            }
        }
    }
    if offset > 0 {
        xml.leaf("offset", &[("sound", "yes")], offset);
    }
    if let Some(staff) = staff {
        xml.leaf("staff", &[], staff);
    }
    xml.close();
}

/// The schema wants a root even where there is none; its text is empty so that nothing is printed.
fn write_hidden_root(xml: &mut Xml) {
    xml.open("root", &[]);
    xml.leaf("root-step", &[("text", "")], "C");
    xml.close();
}

fn write_read(xml: &mut Xml, symbol: &ChordSymbol) {
    let Some(chord) = symbol.chord() else {
        write_hidden_root(xml);
        xml.leaf("kind", &[("text", symbol.as_str())], "none");
        return;
    };
    let [root, suffix, bass] = printed(symbol);
    write_name(xml, &ROOT, chord.root(), root);
    let harmony = musicxml::write(chord).value;
    xml.leaf("kind", &[("text", suffix)], harmony.kind);
    if let Some(name) = symbol.bass().map(|part| part.value).or(chord.bass()) {
        write_name(xml, &BASS, name, bass);
    }
    for step in harmony.degrees {
        // The text says it already.
        xml.open("degree", &[("print-object", "no")]);
        xml.leaf("degree-value", &[], step.number);
        xml.leaf("degree-alter", &[], step.alter);
        xml.leaf("degree-type", &[], step.kind);
        xml.close();
    }
}

/// What is printed for the root (with a chord above it, or a parenthesis), between root and bass, and for the bass.
fn printed(symbol: &ChordSymbol) -> [&str; 3] {
    let text = symbol.as_str();
    let root = symbol.root().map_or(0, |root| usize::from(root.end));
    let bass = symbol.bass().map_or(text.len(), |bass| usize::from(bass.start));
    let between = text.get(root..bass).unwrap_or_default();
    let suffix = match symbol.bass() {
        // Programs print the slash themselves.
        Some(_) => between.trim_end().trim_end_matches("over").trim_end_matches('/').trim_end(),
        None => between,
    };
    [text.get(..root).unwrap_or_default(), suffix, text.get(bass..).unwrap_or_default()]
}

/// The names of the elements of a note name.
struct Elements {
    whole: &'static str,
    step: &'static str,
    alter: &'static str,
}

const ROOT: Elements = Elements { whole: "root", step: "root-step", alter: "root-alter" };
const BASS: Elements = Elements { whole: "bass", step: "bass-step", alter: "bass-alter" };

/// Writes a note name; where another text is printed for it, that text stands for its accidental as well.
fn write_name(xml: &mut Xml, elements: &Elements, name: NoteName, printed: &str) {
    let plain = printed.is_empty() || printed == name.to_string();
    let (text, hidden): (&[_], &[_]) =
        if plain { (&[], &[]) } else { (&[("text", printed)], &[("print-object", "no")]) };
    xml.open(elements.whole, &[]);
    xml.leaf(elements.step, text, name.letter());
    let semitones = name.accidental().semitones();
    if semitones != 0 {
        xml.leaf(elements.alter, hidden, semitones);
    }
    xml.close();
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(symbol: &str) -> String {
        let mut xml = Xml::new();
        write(&mut xml, &PlacedSymbol::Read(symbol.parse().unwrap()), 0, None);
        xml.finish().split_whitespace().collect::<Vec<_>>().join("")
    }

    #[test]
    fn ok_text_kind_bass_and_degrees() {
        let found = written("Bb9sus/F");
        for part in [
            "<root-step>B</root-step><root-alter>-1</root-alter>",
            "<kindtext=\"9sus\">suspended-fourth</kind>",
            "<bass-step>F</bass-step>",
            "<degree-value>7</degree-value><degree-alter>0</degree-alter><degree-type>add</degree-type>",
            "<degree-value>9</degree-value><degree-alter>0</degree-alter><degree-type>add</degree-type>",
        ] {
            assert!(found.contains(part), "{part} in {found}");
        }
        assert!(written("N.C.").contains("<kindtext=\"N.C.\">none</kind>"));
        for (symbol, parts) in [
            (
                "D|Eb7",
                ["<root-steptext=\"D|Eb\">E</root-step>", "<root-alterprint-object=\"no\">-1<", "text=\"7\""],
            ),
            (
                "(G7/B)",
                ["<root-steptext=\"(G\">G</root-step>", "<kindtext=\"7\">", "<bass-steptext=\"B)\">B<"],
            ),
            ("Cm over E♭", ["<root-step>C<", "<kindtext=\"m\">", "<bass-steptext=\"E♭\">E<"]),
        ] {
            let found = written(symbol);
            assert!(parts.iter().all(|part| found.contains(part)), "{found}");
        }
    }
}
