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
            write_name(xml, "root", "root-step", "root-alter", *root);
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
    write_name(xml, "root", "root-step", "root-alter", chord.root());
    let harmony = musicxml::write(chord).value;
    xml.leaf("kind", &[("text", suffix_of(symbol))], harmony.kind);
    if let Some(bass) = symbol.bass().map(|part| part.value).or(chord.bass()) {
        write_name(xml, "bass", "bass-step", "bass-alter", bass);
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

/// What is written between root and bass.
fn suffix_of(symbol: &ChordSymbol) -> &str {
    let text = symbol.as_str();
    let start = symbol.root().map_or(0, |root| usize::from(root.end));
    let end = symbol.bass().map_or(text.len(), |bass| usize::from(bass.start).saturating_sub(1));
    text.get(start..end).unwrap_or_default()
}

fn write_name(xml: &mut Xml, name: &'static str, step: &str, alter: &str, value: NoteName) {
    xml.open(name, &[]);
    xml.leaf(step, &[], value.letter());
    let semitones = value.accidental().semitones();
    if semitones != 0 {
        xml.leaf(alter, &[], semitones);
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
    }
}
