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
            write_name(xml, &ROOT, *root, "");
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
    write_name(xml, &ROOT, chord.root(), before_root(symbol));
    let harmony = musicxml::write(chord).value;
    xml.leaf("kind", &[("text", &behind_root(symbol))], harmony.kind);
    if let Some(bass) = symbol.bass().map(|part| part.value).or(chord.bass()) {
        write_name(xml, &BASS, bass, "");
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

/// What is printed before the root: a chord above it, or what makes the symbol optional.
fn before_root(symbol: &ChordSymbol) -> &str {
    let start = symbol.root().map_or(0, |root| usize::from(root.start));
    symbol.as_str().get(..start).unwrap_or_default()
}

/// What is printed between root and bass, with every parenthesis closed: programs print the slash and the bass themselves.
fn behind_root(symbol: &ChordSymbol) -> String {
    let text = symbol.as_str();
    let start = symbol.root().map_or(0, |root| usize::from(root.end));
    let Some(bass) = symbol.bass() else { return text.get(start..).unwrap_or_default().to_owned() };
    let between = text.get(start..bass.start.into()).unwrap_or_default().trim_end();
    let words = ["over", "on", "/", "\\", "⁄", "∕"];
    let opens = |c: char| "([{ ".contains(c);
    let between = between.trim_end_matches(opens);
    let between = words.iter().find_map(|word| between.strip_suffix(word)).unwrap_or(between);
    let mut between = between.trim_end_matches(opens).to_owned();
    if between.contains('(') && !between.contains(')') {
        between.push(')');
    }
    let behind = text.get(bass.end.into()..).unwrap_or_default().trim_start();
    if symbol.is_optional() {
        between.push_str(behind);
    }
    between
}

/// The names of the elements of a note name.
struct Elements {
    whole: &'static str,
    step: &'static str,
    alter: &'static str,
}

const ROOT: Elements = Elements { whole: "root", step: "root-step", alter: "root-alter" };
const BASS: Elements = Elements { whole: "bass", step: "bass-step", alter: "bass-alter" };

/// Writes a note name, and what is printed before it. Its accidental is printed by programs themselves.
fn write_name(xml: &mut Xml, elements: &Elements, name: NoteName, before: &str) {
    let text = format!("{before}{}", name.letter());
    let printed: &[_] = if before.is_empty() { &[] } else { &[("text", text.as_str())] };
    xml.open(elements.whole, &[]);
    xml.leaf(elements.step, printed, name.letter());
    let semitones = name.accidental().semitones();
    if semitones != 0 {
        xml.leaf(elements.alter, &[], semitones);
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
            ("D|Eb7", ["<root-steptext=\"D|E\">E</root-step>", "<root-alter>-1<", "text=\"7\""]),
            ("(G7/Bb)", ["<root-steptext=\"(G\">G</root-step>", "<kindtext=\"7)\">", "<bass-step>B<"]),
            ("C♯m over E♭", ["<root-step>C<", "<kindtext=\"m\">", "<bass-step>E<"]),
            ("C7(b9/E)", ["<root-step>C<", "<kindtext=\"7(b9)\">", "<bass-step>E<"]),
            ("C(/E)", ["<root-step>C<", "<kindtext=\"\">", "<bass-step>E<"]),
        ] {
            let found = written(symbol);
            assert!(parts.iter().all(|part| found.contains(part)), "{found}");
        }
    }
}
