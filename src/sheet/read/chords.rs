//! What a `harmony` means: a chord symbol, or a text that we cannot read.

use super::raw::RawSymbol;
use crate::chord::vocabulary::musicxml::{self, DegreeChange, Harmony, Kind};
use crate::chord::{Chord, ChordSymbol, Degree};
use crate::error::Error;
use crate::pitch::{NoteName, shown};
use crate::sheet::PlacedSymbol;

/// A symbol with what there is to say about it: messages and helps.
#[derive(Clone)]
pub(in crate::sheet) struct Understood {
    pub(in crate::sheet) symbol: PlacedSymbol,
    pub(in crate::sheet) findings: Vec<(String, String)>,
}

impl Understood {
    pub(in crate::sheet) fn read(symbol: ChordSymbol) -> Self {
        Self { symbol: PlacedSymbol::Read(symbol), findings: Vec::new() }
    }
}

/// Reads a chord symbol.
pub(in crate::sheet) fn understand(raw: &RawSymbol) -> Understood {
    let kind = raw.kind.trim();
    if kind == Kind::NoChord.as_str() {
        return no_chord(raw);
    }
    let Some(root) = raw.root else { return without_root(raw) };
    let mut findings = Vec::new();
    let meaning = match chord_of(raw, root) {
        Ok(chord) => Ok(chord),
        Err(why) => match from_text(raw, root) {
            Some(symbol) => {
                let help = "give it a kind of MusicXML, so that every program reads it alike".to_owned();
                let message = format!("{why}; its text is read as `{symbol}`");
                return Understood { symbol: PlacedSymbol::Read(symbol), findings: vec![(message, help)] };
            }
            None => Err(why),
        },
    };
    match meaning {
        Ok(chord) => {
            let chord = match (raw.bass, &raw.inversion) {
                (Some(bass), _) => chord.with_bass(bass),
                (None, Some(inversion)) => inverted(chord, inversion, &mut findings),
                (None, None) => chord,
            };
            let mut understood = Understood::read(symbol_for(raw, chord));
            understood.findings = findings;
            understood
        }
        Err(why) => {
            let text = unread_text(raw, root);
            let help = format!("write a chord symbol such as `{root}7`, or leave it out");
            let message = format!("the chord `{}` is not read, {why}", shown(&text));
            Understood {
                symbol: PlacedSymbol::Unread { root: Some(root), text },
                findings: vec![(message, help)],
            }
        }
    }
}

fn no_chord(raw: &RawSymbol) -> Understood {
    let written = raw.text.as_deref().and_then(|text| text.parse::<ChordSymbol>().ok());
    let symbol = written.filter(|symbol| symbol.chord().is_none()).or_else(|| "N.C.".parse().ok());
    match symbol {
        Some(symbol) => Understood::read(symbol),
        None => without_root(raw),
    }
}

fn without_root(raw: &RawSymbol) -> Understood {
    let suffix = raw.text.as_deref().unwrap_or_else(|| raw.kind.trim());
    let mut text = format!("{}{suffix}", raw.instead_of_root);
    if text.trim().is_empty() {
        text = "?".into();
    }
    let message = if raw.instead_of_root.is_empty() {
        format!("the chord `{}` has no root", shown(&text))
    } else {
        format!("the chord `{}` has a numeral or function for its root", shown(&text))
    };
    Understood {
        symbol: PlacedSymbol::Unread { root: None, text },
        findings: vec![(message, "give the root as a note name".into())],
    }
}

/// The chord of root, kind and degrees, or why there is none.
fn chord_of(raw: &RawSymbol, root: NoteName) -> Result<Chord, String> {
    let kind = raw.kind.trim();
    if kind.is_empty() {
        return Err("its kind is empty".into());
    }
    let kind: Kind = kind.parse().map_err(|error: Error| error.to_string())?;
    let read = |degrees: Vec<DegreeChange>| {
        let harmony = Harmony::new(root, kind).with_degrees(degrees);
        musicxml::read(&harmony).map_err(|error| error.to_string())
    };
    let known = |change: &Result<DegreeChange, String>| {
        change.clone().map_err(|text| format!("the degree `{text}` is not known"))
    };
    read(raw.degrees.iter().map(known).collect::<Result<_, _>>()?)?
        .value
        .ok_or_else(|| "no chord sounds".into())
}

/// The chord with the bass of an inversion, as far as that makes sense.
fn inverted(chord: Chord, inversion: &str, findings: &mut Vec<(String, String)>) -> Chord {
    let quality = chord.quality();
    let degree = match inversion {
        "0" => return chord,
        "1" => quality.third_degree(),
        "2" => quality.fifth_degree(),
        "3" => quality.seventh_degree(),
        "4" => chord.tensions().iter().find(|degree| degree.number() == Degree::Nine.number()),
        _ => None,
    };
    match degree {
        Some(degree) => chord.with_bass(degree.name_over(chord.root())),
        None => {
            findings.push((
                format!("`{chord}` has no inversion `{}`, it is read in root position", shown(inversion)),
                "write the bass itself".into(),
            ));
            chord
        }
    }
}

/// The symbol as written where that means the chord, the canonical one otherwise.
fn symbol_for(raw: &RawSymbol, chord: Chord) -> ChordSymbol {
    let root = chord.root();
    let bass = &raw.bass.or(chord.bass()).map(|bass| format!("/{bass}")).unwrap_or_default();
    let degrees = &itertools::join(raw.degrees.iter().flatten(), ",");
    // What is printed before the letter: a chord above it, or what makes the symbol optional.
    let letter = raw.root_text.as_deref().and_then(|text| text.strip_suffix(root.letter().as_char()));
    let before = letter.unwrap_or_default();
    let texts = raw.text.iter().flat_map(|text| {
        let closed =
            text.strip_suffix([')', ']', '}']).map(|open| (open, text.get(open.len()..).unwrap_or_default()));
        let (open, close) = closed.filter(|_| !before.is_empty()).unwrap_or((text, ""));
        // The first is nearly always the one, and the others are not even made.
        (0..5).map(move |way| match way {
            0 => format!("{before}{root}{open}{bass}{close}"),
            1 => format!("{before}{root}{text}{bass}"),
            2 => format!("{root}{text}{bass}"),
            3 => format!("{root}{text}{degrees}{bass}"),
            _ => format!("{root}{text}({degrees}){bass}"),
        })
    });
    let means =
        |text: String| text.parse::<ChordSymbol>().ok().filter(|symbol| symbol.chord() == Some(chord));
    texts.into_iter().find_map(means).unwrap_or_else(|| ChordSymbol::of_chord(chord))
}

/// A symbol made of what is printed, for kinds that say nothing.
fn from_text(raw: &RawSymbol, root: NoteName) -> Option<ChordSymbol> {
    let kind = raw.kind.trim();
    if kind.parse::<Kind>().is_ok_and(|kind| kind != Kind::Other) {
        return None;
    }
    let bass = raw.bass.map(|bass| format!("/{bass}")).unwrap_or_default();
    let value = if kind == "other" { "" } else { kind };
    [raw.text.as_deref().unwrap_or_default(), value]
        .into_iter()
        .filter(|suffix| !suffix.trim().is_empty())
        .find_map(|suffix| {
            let symbol: ChordSymbol = format!("{root}{suffix}{bass}").parse().ok()?;
            (symbol.root()?.value == root).then_some(symbol)
        })
}

/// The text of a symbol that cannot be read. It never reads as a chord: it would, when written and read again.
fn unread_text(raw: &RawSymbol, root: NoteName) -> String {
    let kind = raw.kind.trim();
    let suffix = raw.text.as_deref().unwrap_or(kind);
    let bass = raw.bass.map(|bass| format!("/{bass}")).unwrap_or_default();
    let degrees: Vec<String> = raw
        .degrees
        .iter()
        .map(|change| change.as_ref().map_or_else(Clone::clone, ToString::to_string))
        .collect();
    let listed = if degrees.is_empty() { String::new() } else { format!("({})", degrees.join(",")) };
    let plain = suffix.is_empty() && bass.is_empty() && degrees.is_empty();
    let candidates = [
        format!("{root}{suffix}{bass}"),
        format!("{root}{suffix}{listed}{bass}"),
        format!("{root}{suffix} ({kind}){bass}"),
    ];
    let unreadable = |text: &String| plain || text.parse::<ChordSymbol>().is_err();
    candidates.into_iter().find(unreadable).unwrap_or_else(|| format!("{root}{suffix}{bass}?"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::vocabulary::musicxml::DegreeChangeType;
    use crate::pitch::note;

    fn raw(root: &str, kind: &str, text: Option<&str>) -> RawSymbol {
        RawSymbol {
            tick: 0,
            byte: 0,
            root: (!root.is_empty()).then(|| note(root)),
            root_text: None,
            instead_of_root: String::new(),
            kind: kind.into(),
            text: text.map(Into::into),
            inversion: None,
            bass: None,
            degrees: Vec::new(),
        }
    }

    fn change(kind: DegreeChangeType, number: u8, alter: i8) -> Result<DegreeChange, String> {
        Ok(DegreeChange { kind, number, alter })
    }

    fn check(raw: &RawSymbol, expected: &str, findings: usize) {
        let found = understand(raw);
        assert_eq!(found.symbol.as_str(), expected, "{raw:?}");
        assert_eq!(found.findings.len(), findings, "{:?}", found.findings);
    }

    #[test]
    fn ok_text_is_kept_where_it_means_the_same() {
        check(&raw("C", "major", None), "C", 0);
        check(&raw("Bb", "minor-seventh", Some("-7")), "Bb-7", 0);
        check(&raw("C", "major-seventh", Some("Maj7")), "CMaj7", 0);
        check(&raw("C", "dominant-13th", Some("13")), "C13", 0);
        check(&raw("C", "major-seventh", Some("7")), "Cmaj7", 0); // the text contradicts the kind
        check(&raw("C", "minor", Some("what?")), "Cm", 0);
        check(&raw("C", "none", None), "N.C.", 0);
        check(&raw("C", "none", Some("NC")), "NC", 0);
    }

    #[test]
    fn ok_degrees_join_the_text() {
        let mut symbol = raw("C", "suspended-fourth", Some("7sus"));
        symbol.degrees = vec![change(DegreeChangeType::Add, 7, 0)];
        check(&symbol, "C7sus", 0);
        symbol.text = None;
        check(&symbol, "C7sus4", 0);
        let mut symbol = raw("C", "dominant", Some("7"));
        symbol.degrees = vec![change(DegreeChangeType::Add, 9, -1), change(DegreeChangeType::Add, 11, 1)];
        check(&symbol, "C7b9,#11", 0);
        symbol.bass = Some(note("E"));
        check(&symbol, "C7b9,#11/E", 0);
    }

    #[test]
    fn ok_inversions() {
        for (inversion, expected, findings) in [
            ("0", "C7", 0),
            ("1", "C7/E", 0),
            ("2", "C7/G", 0),
            ("3", "C7/Bb", 0),
            ("4", "C7", 1),
            ("6", "C7", 1),
            ("x", "C7", 1),
        ] {
            let mut symbol = raw("C", "dominant", Some("7"));
            symbol.inversion = Some(inversion.into());
            check(&symbol, expected, findings);
        }
        let mut ninth = raw("C", "dominant-ninth", Some("9"));
        ninth.inversion = Some("4".into());
        check(&ninth, "C9/D", 0);
        ninth.bass = Some(note("F")); // the bass wins
        check(&ninth, "C9/F", 0);
    }

    #[test]
    fn ok_what_cannot_be_read_is_kept_and_said() {
        for kind in Kind::ALL.into_iter().filter(|kind| !kind.is_defined() && *kind != Kind::NoChord) {
            check(&raw("C", kind.as_str(), Some("strange")), "Cstrange", 1);
        }
        check(&raw("C", "", None), "C", 1);
        check(&raw("C", "German", None), "CGerman", 1);
        check(&raw("C", "Tristan", Some("m7")), "Cm7 (Tristan)", 1);
        check(&raw("", "major", None), "major", 1);
        let mut function = raw("", "major", Some(""));
        function.instead_of_root = "IV".into();
        check(&function, "IV", 1);
        let mut clash = raw("C", "minor-seventh", Some("m7"));
        clash.degrees = vec![change(DegreeChangeType::Add, 9, 1)];
        check(&clash, "Cm7(#9)", 1);
        clash.degrees = vec![Err("mul 9".into())];
        check(&clash, "Cm7(mul 9)", 1);
        for symbol in [raw("C", "Tristan", Some("m7")), clash] {
            assert!(understand(&symbol).symbol.chord().is_none());
        }
    }

    #[test]
    fn ok_odd_kinds_with_a_good_text_are_read() {
        check(&raw("C", "", Some("m7b5")), "Cm7b5", 1);
        check(&raw("C", "other", Some("7alt")), "C7alt", 1);
        check(&raw("C", "min7", None), "Cmin7", 1);
        let mut other = raw("C", "other", None);
        other.degrees = vec![
            change(DegreeChangeType::Add, 3, -1),
            change(DegreeChangeType::Add, 5, 0),
            change(DegreeChangeType::Add, 7, 0),
        ];
        check(&other, "Cm7", 0);
        let mut bare = raw("C", "power", None);
        bare.degrees = vec![change(DegreeChangeType::Subtract, 5, 0)];
        check(&bare, "C(no3,no5)", 0);
    }
}
