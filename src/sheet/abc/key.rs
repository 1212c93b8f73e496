//! `K:` — keys, modes, signatures with accidentals of their own, and what a clef does to the pitch.

use crate::chord::{Key, Mode};
use crate::pitch::{Accidental, Letter, NoteName, shown};
use crate::sheet::draft::Line;

/// The letters in the order in which sharps are added.
const SHARPS: [Letter; 7] = [Letter::F, Letter::C, Letter::G, Letter::D, Letter::A, Letter::E, Letter::B];

/// Semitones by letter, from C.
pub(super) type Signature = [i8; 7];

/// The modes by their first three letters, with the sharps that they have more than major on the same tonic
/// (ABC 2.1, section 3.1.14).
const MODES: [(&str, i8, Mode); 10] = [
    ("maj", 0, Mode::Major),
    ("ion", 0, Mode::Major),
    ("lyd", 1, Mode::Major),
    ("mix", -1, Mode::Major),
    ("dor", -2, Mode::Major),
    ("min", -3, Mode::Minor),
    ("aeo", -3, Mode::Minor),
    ("phr", -4, Mode::Major),
    ("loc", -5, Mode::Major),
    ("m", -3, Mode::Minor),
];

/// What a `K:` says.
#[derive(Debug, Default)]
pub(super) struct KeyField {
    /// The key and what its signature does to the letters, where it names one.
    pub(super) key: Option<(Key, Signature)>,
    /// Octaves by which the voice sounds higher than written, where it says so.
    pub(super) octaves: Option<i8>,
    /// What there is to say: message and help.
    pub(super) findings: Vec<(String, String)>,
}

/// The signature of so many sharps.
pub(super) fn signature_of(sharps: i8) -> Signature {
    let mut signature = Signature::default();
    let count = usize::from(sharps.unsigned_abs());
    let letters: Vec<Letter> =
        if sharps > 0 { SHARPS.to_vec() } else { SHARPS.iter().rev().copied().collect() };
    for letter in letters.into_iter().take(count) {
        if let Some(own) = signature.get_mut(usize::from(letter.steps())) {
            *own = sharps.signum();
        }
    }
    signature
}

/// Reads the value of a `K:`.
pub(super) fn read(value: Line<'_>) -> KeyField {
    let mut field = KeyField::default();
    let words = value.words();
    let mut words = words.iter().map(|word| word.text).peekable();
    let mut sharps = None;
    if let Some(first) = words.peek().copied() {
        sharps = tonic(first, &mut words, &mut field);
    }
    let mut own: Vec<(Letter, i8)> = Vec::new();
    let mut is_explicit = false;
    let mut clef_may_follow = true;
    for word in words {
        if let Some((name, value)) =
            word.split_once('=').filter(|(name, _)| !name.is_empty() && name.len() > 1)
        {
            property(name, value, &mut field);
        } else if word.eq_ignore_ascii_case("exp") {
            is_explicit = true;
        } else if let Some(found) = accidentals(word) {
            own.extend(found);
        } else if clef_may_follow && is_clef(word) {
            clef_may_follow = false;
            property("clef", word, &mut field);
        } else {
            let message = format!("`{}` in a key is not read", shown(word));
            let help = "write the tonic, a mode, then accidentals such as `^f` or `=c`";
            field.findings.push((message, help.into()));
        }
    }
    let Some((sharps, mode, written)) = sharps else { return field };
    let plain = Key::from_signature(sharps, mode);
    let mut signature = if is_explicit { Signature::default() } else { signature_of(sharps) };
    for (letter, semitones) in &own {
        if let Some(letter) = signature.get_mut(usize::from(letter.steps())) {
            *letter = *semitones;
        }
    }
    let key = if signature == signature_of(sharps) {
        plain
    } else if let Some(usual) = (-7..=7).find(|usual| signature_of(*usual) == signature) {
        Key::from_signature(usual, mode)
    } else {
        let key = plain.map(|key| key.to_string()).unwrap_or_default();
        let message = format!(
            "the signature of `{}` is no usual one; its accidentals hold for the notes, the key is read as `{key}`",
            shown(value.text)
        );
        field.findings.push((message, "write the accidentals at the notes".into()));
        plain
    };
    if let (Some(key), Some(written)) = (key, written) {
        let message =
            format!("the mode of `{written}` is read as the key `{key}`, which has the same signature");
        field.findings.push((message, "write the major or minor key of the same signature".into()));
    }
    field.key = key.map(|key| (key, signature));
    field
}

/// Sharps, mode, and the tonic with its mode where that is neither major nor minor.
type Tonic = (i8, Mode, Option<String>);

/// Reads tonic and mode; what is no tonic is left to be read.
fn tonic<'a>(
    first: &'a str,
    words: &mut std::iter::Peekable<impl Iterator<Item = &'a str>>,
    field: &mut KeyField,
) -> Option<Tonic> {
    if first.eq_ignore_ascii_case("none") || first == "HP" {
        words.next();
        return Some((0, Mode::Major, None));
    }
    if first == "Hp" {
        words.next();
        return Some((2, Mode::Major, None));
    }
    let (name, taken) = NoteName::read_prefix(first).filter(|(name, taken)| {
        // One accidental at most, in ASCII.
        *taken <= 2 && name.accidental().semitones().abs() <= 1 && first.is_char_boundary(*taken)
    })?;
    let behind = first.get(taken..)?;
    let mode_of = |word: &str| {
        let start: String = word.chars().take(3).collect::<String>().to_ascii_lowercase();
        MODES.iter().find(|(mode, ..)| *mode == start && (*mode != "m" || word.len() == 1)).copied()
    };
    words.next();
    let (said, mode) = if behind.is_empty() {
        match words.peek().and_then(|word| Some((*word, mode_of(word)?))) {
            Some((word, mode)) => {
                words.next();
                (format!("{name} {word}"), Some(mode))
            }
            None => (name.to_string(), Some(("maj", 0, Mode::Major))),
        }
    } else {
        (first.to_owned(), mode_of(behind))
    };
    let Some((word, more, mode)) = mode else {
        let message = format!("the key `{}` is not read, expected a tonic and a mode", shown(first));
        field.findings.push((message, "write the key as `Eb`, `Cm` or `Ddor`".into()));
        return None;
    };
    let sharps = name.fifths().saturating_add(more);
    if !(-7..=7).contains(&sharps) {
        let message =
            format!("the key `{}` is not read, it would have {} accidentals", shown(&said), sharps.abs());
        field.findings.push((message, "write a key of seven sharps or flats at most".into()));
        return None;
    }
    let is_other = !matches!(word, "maj" | "ion" | "min" | "aeo" | "m");
    Some((sharps, mode, is_other.then_some(said)))
}

/// Accidentals in front of letters: `^f`, `=c_b`, `__e`.
fn accidentals(word: &str) -> Option<Vec<(Letter, i8)>> {
    let mut found = Vec::new();
    let mut rest = word;
    while !rest.is_empty() {
        let (accidental, taken) = accidental(rest)?;
        rest = rest.get(taken..)?;
        let letter = rest.chars().next()?;
        found.push((Letter::from_char(letter.to_ascii_uppercase())?, accidental.semitones()));
        rest = rest.get(1..)?;
    }
    (!found.is_empty()).then_some(found)
}

/// Reads an accidental of a note at the start of a text and says how many bytes it took (ABC 2.1, section 4.2).
pub(super) fn accidental(text: &str) -> Option<(Accidental, usize)> {
    const SIGNS: [(&str, Accidental); 5] = [
        ("^^", Accidental::DoubleSharp),
        ("^", Accidental::Sharp),
        ("__", Accidental::DoubleFlat),
        ("_", Accidental::Flat),
        ("=", Accidental::Natural),
    ];
    let (sign, accidental) = SIGNS.into_iter().find(|(sign, _)| text.starts_with(sign))?;
    Some((accidental, sign.len()))
}

/// Whether a word alone is a clef.
fn is_clef(word: &str) -> bool {
    let names = ["treble", "alto", "tenor", "bass", "perc", "none", "soprano", "mezzosoprano", "baritone"];
    let name = word.trim_end_matches(['+', '-']).trim_end_matches("+8").trim_end_matches("-8");
    names.contains(&name.trim_end_matches(|c: char| c.is_ascii_digit()))
}

/// Reads a property of a voice: what it does to the pitch (ABC 2.1, section 4.6).
pub(super) fn property(name: &str, value: &str, field: &mut KeyField) {
    let value = value.trim_matches('"');
    let mut add = |octaves: i8| {
        field.octaves = Some(field.octaves.unwrap_or(0).saturating_add(octaves).clamp(-9, 9));
    };
    match name {
        "clef" if value.ends_with("+8") => add(1),
        "clef" if value.ends_with("-8") => add(-1),
        "clef" => add(0),
        "octave" => match value.parse::<i8>().ok().filter(|octaves| (-9..=9).contains(octaves)) {
            Some(octaves) => add(octaves),
            None => field.findings.push((
                format!("the octave `{}` is not read, expected a number from -9 to 9", shown(value)),
                "write `octave=-1` for an octave lower".into(),
            )),
        },
        "transpose" => match value.parse::<i8>() {
            Ok(semitones) if semitones % 12 == 0 => add(semitones / 12),
            _ => field.findings.push((
                format!("the transposition `{}` is left out, the tune is read as written", shown(value)),
                "write the tune in the key in which it sounds".into(),
            )),
        },
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pitch::Letter;

    fn field(text: &str) -> KeyField {
        read(Line::new(text, 0))
    }

    fn shown_key(text: &str) -> (String, String) {
        let (key, signature) = field(text).key.unwrap_or_else(|| panic!("{text}"));
        let letters = SHARPS.iter().chain(SHARPS.iter().rev());
        let mut signs: Vec<String> = letters
            .filter_map(|letter| {
                let semitones = signature[usize::from(letter.steps())];
                (semitones != 0).then(|| {
                    format!("{}{}", letter.as_char(), Accidental::from_semitones(semitones).unwrap())
                })
            })
            .collect();
        signs.sort();
        signs.dedup();
        (key.to_string(), signs.join(" "))
    }

    /// ABC 2.1, section 3.1.14: seven modes that share each signature, from seven sharps to seven flats.
    #[test]
    fn all_modes_of_the_table() {
        const ROWS: [(i8, &str); 15] = [
            (7, "C# A#m G#Mix D#Dor E#Phr F#Lyd B#Loc"),
            (6, "F# D#m C#Mix G#Dor A#Phr BLyd E#Loc"),
            (5, "B G#m F#Mix C#Dor D#Phr ELyd A#Loc"),
            (4, "E C#m BMix F#Dor G#Phr ALyd D#Loc"),
            (3, "A F#m EMix BDor C#Phr DLyd G#Loc"),
            (2, "D Bm AMix EDor F#Phr GLyd C#Loc"),
            (1, "G Em DMix ADor BPhr CLyd F#Loc"),
            (0, "C Am GMix DDor EPhr FLyd BLoc"),
            (-1, "F Dm CMix GDor APhr BbLyd ELoc"),
            (-2, "Bb Gm FMix CDor DPhr EbLyd ALoc"),
            (-3, "Eb Cm BbMix FDor GPhr AbLyd DLoc"),
            (-4, "Ab Fm EbMix BbDor CPhr DbLyd GLoc"),
            (-5, "Db Bbm AbMix EbDor FPhr GbLyd CLoc"),
            (-6, "Gb Ebm DbMix AbDor BbPhr CbLyd FLoc"),
            (-7, "Cb Abm GbMix DbDor EbPhr FbLyd BbLoc"),
        ];
        for (sharps, names) in ROWS {
            for name in names.split(' ') {
                let (key, signature) = field(name).key.unwrap();
                assert_eq!((key.signature(), signature), (sharps, signature_of(sharps)), "{name}");
                let is_usual = !name.contains(|c: char| c.is_ascii_lowercase() && !"bm".contains(c));
                assert_eq!(field(name).findings.is_empty(), is_usual, "{name}");
            }
        }
    }

    #[test]
    fn ok_spellings() {
        for (text, key) in [
            ("Am", "Am"),
            ("A minor", "Am"),
            ("AMINOR", "Am"),
            ("a", ""),
            ("F# min", "F#m"),
            ("Bb major", "Bb"),
            ("Bb", "Bb"),
            ("none", "C"),
            ("HP", "C"),
            ("Hp", "D"),
            ("D exp ^f ^c", "D"),
            ("C clef=bass", "C"),
            ("G treble-8", "G"),
        ] {
            let found = field(text).key.map(|(key, _)| key.to_string()).unwrap_or_default();
            assert_eq!(found, key, "{text}");
        }
    }

    /// The examples of ABC 2.1, section 3.1.14.
    #[test]
    fn ok_accidentals_of_its_own() {
        assert_eq!(shown_key("D Phr ^f"), ("Bb".into(), "Bb Eb F#".into()));
        assert_eq!(shown_key("D maj =c"), ("G".into(), "F#".into()));
        assert_eq!(shown_key("D =c"), ("G".into(), "F#".into()));
        assert_eq!(shown_key("D exp _b _e ^f"), ("D".into(), "Bb Eb F#".into()));
        assert_eq!(shown_key("C ^^f"), ("C".into(), "F##".into()));
        assert_eq!(field("D exp _b _e ^f").findings.len(), 1);
        assert_eq!(signature_of(-1)[usize::from(Letter::B.steps())], -1);
    }

    #[test]
    fn ok_octaves() {
        for (text, octaves) in [
            ("C", None),
            ("C clef=treble", Some(0)),
            ("C clef=treble-8", Some(-1)),
            ("C bass+8", Some(1)),
            ("C octave=-2", Some(-2)),
            ("clef=treble-8 octave=1", Some(0)),
            ("C transpose=-12", Some(-1)),
        ] {
            assert_eq!(field(text).octaves, octaves, "{text}");
        }
    }

    #[test]
    fn err_findings() {
        for text in ["H", "G#", "Cq", "C quux", "Fb", "C octave=x", "C transpose=2", "C octave=99"] {
            let is_no_key = !text.starts_with(|c: char| ('A'..='G').contains(&c));
            assert!(!field(text).findings.is_empty() || is_no_key, "{text}");
        }
        assert!(field("G#").key.is_none());
    }
}
