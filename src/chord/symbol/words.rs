//! The fixed words of the grammar.

use super::Element;

/// What a word stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Word {
    /// A sign by itself.
    Sign(Element),
    /// `b`, `sharp`…: semitones up or down of the number behind it.
    Alter(i8),
    /// `-` and `+`: an alteration or a sign by itself, by what stands around it.
    Plain(i8, Element),
    /// `add`: a number behind it.
    Add,
    /// `no`, `omit`: a number behind it.
    Omit,
    /// `seventh`: a number in letters.
    Number(u8),
    /// `o`: diminished, right behind the root.
    Circle,
    /// `over`: a bass behind it.
    Over,
    /// `/`: a bass behind it, or something that is added.
    Slash,
    /// `|`: the lower one of two chords behind it.
    Above,
    /// A blank of some kind.
    Nothing,
}

const MAJOR: Word = Word::Sign(Element::Major { triangle: false });
const TRIANGLE: Word = Word::Sign(Element::Major { triangle: true });
const SUS2: Word = Word::Sign(Element::Suspended { second: true });
const SUS4: Word = Word::Sign(Element::Suspended { second: false });
const DIMINISHED: Word = Word::Sign(Element::Diminished);
const HALF_DIMINISHED: Word = Word::Sign(Element::HalfDiminished);

/// All words, by first byte, longer ones first. Those of one letter are read as they stand, longer ones in any case.
///
/// Signs in use: common practice, no source; the two systems of alteration: Open Music Theory v2, "Chord symbols".
#[rustfmt::skip]
const WORDS: &[(&str, Word)] = &[
    ("#", Word::Alter(1)),
    ("+", Word::Plain(1, Element::Augmented)),
    ("-", Word::Plain(-1, Element::Minor)),
    ("/", Word::Slash),
    ("M", MAJOR),
    ("\\", Word::Slash),
    ("above", Word::Above),
    ("added", Word::Add),
    ("add", Word::Add),
    ("altered", Word::Sign(Element::Altered)),
    ("alt", Word::Sign(Element::Altered)),
    ("augmented", Word::Sign(Element::Augmented)),
    ("aug", Word::Sign(Element::Augmented)),
    ("b", Word::Alter(-1)),
    ("diminished", DIMINISHED),
    ("dim", DIMINISHED),
    ("dominant", Word::Sign(Element::Dominant)),
    ("dom", Word::Sign(Element::Dominant)),
    ("eleventh", Word::Number(11)),
    ("fourth", Word::Number(4)),
    ("fifth", Word::Number(5)),
    ("flat", Word::Alter(-1)),
    ("half-diminished", HALF_DIMINISHED),
    ("half-dim", HALF_DIMINISHED),
    ("j", MAJOR),
    ("minor", Word::Sign(Element::Minor)),
    ("major", MAJOR),
    ("min", Word::Sign(Element::Minor)),
    ("maj", MAJOR),
    ("mi", Word::Sign(Element::Minor)),
    ("ma", MAJOR),
    ("m", Word::Sign(Element::Minor)),
    ("ninth", Word::Number(9)),
    ("no", Word::Omit),
    ("omit", Word::Omit),
    ("over", Word::Over),
    ("on", Word::Over),
    ("o", Word::Circle),
    ("suspended fourth", SUS4),
    ("suspended second", SUS2),
    ("suspended 2", SUS2),
    ("suspended 4", SUS4),
    ("suspended", SUS4),
    ("seventh", Word::Number(7)),
    ("second", Word::Number(2)),
    ("sharp", Word::Alter(1)),
    ("sixth", Word::Number(6)),
    ("sus24", Word::Sign(Element::SuspendedBoth)),
    ("sus42", Word::Sign(Element::SuspendedBoth)),
    ("sus2", SUS2),
    ("sus4", SUS4),
    ("sus", SUS4),
    ("thirteenth", Word::Number(13)),
    ("third", Word::Number(3)),
    ("without", Word::Omit),
    ("|", Word::Above),
    ("\u{a0}", Word::Nothing),                           // C2 A0, a blank that does not break
    ("°", DIMINISHED),                                  // C2 B0
    ("²", Word::Number(2)),                             // C2 B2
    ("¹¹", Word::Number(11)),                           // C2 B9
    ("¹³", Word::Number(13)),
    ("º", DIMINISHED),                                  // C2 BA
    ("Ø", HALF_DIMINISHED),                             // C3 98
    ("ø", HALF_DIMINISHED),                             // C3 B8
    ("˚", DIMINISHED),                                  // CB 9A
    ("Δ", TRIANGLE),                                    // CE 94
    ("\u{2009}", Word::Nothing),                         // E2 80 89, thin
    ("\u{200b}", Word::Nothing),                         // E2 80 8B, of no width
    ("\u{2010}", Word::Plain(-1, Element::Minor)),       // E2 80 90, hyphens and dashes
    ("\u{2011}", Word::Plain(-1, Element::Minor)),
    ("–", Word::Plain(-1, Element::Minor)),             // E2 80 93
    ("—", Word::Plain(-1, Element::Minor)),             // E2 80 94
    ("⁄", Word::Slash),                                 // E2 81 84
    ("⁴", Word::Number(4)),                             // E2 81 B4
    ("⁵", Word::Number(5)),
    ("⁶⁄₉", Word::Number(69)),
    ("⁶/₉", Word::Number(69)),
    ("⁶", Word::Number(6)),
    ("⁷", Word::Number(7)),
    ("⁹", Word::Number(9)),
    ("⁺", Word::Plain(1, Element::Augmented)),          // E2 81 BA
    ("⁻", Word::Plain(-1, Element::Minor)),             // E2 81 BB
    ("∅", HALF_DIMINISHED),                             // E2 88 85
    ("∆", TRIANGLE),                                    // E2 88 86
    ("−", Word::Plain(-1, Element::Minor)),             // E2 88 92
    ("∕", Word::Slash),                                 // E2 88 95
    ("⌀", HALF_DIMINISHED),                             // E2 8C 80
    ("▲", TRIANGLE),                                    // E2 96 B2
    ("△", TRIANGLE),                                    // E2 96 B3
    ("▵", TRIANGLE),                                    // E2 96 B5
    ("♭", Word::Alter(-1)),                             // E2 99 AD
    ("♮", Word::Alter(0)),                              // E2 99 AE
    ("♯", Word::Alter(1)),                              // E2 99 AF
    ("\u{fe0e}", Word::Nothing),                         // EF B8 8E, how a sign is drawn
    ("\u{fe0f}", Word::Nothing),                         // EF B8 8F
    ("＃", Word::Alter(1)),                             // EF BC 83
    ("＋", Word::Plain(1, Element::Augmented)),         // EF BC 8B
    ("𝄪", Word::Alter(2)),
    ("𝄫", Word::Alter(-2)),
];

/// Place in [`WORDS`] of the first word with each first byte or a higher one.
const FIRST: [u8; 257] = {
    let mut first = [WORDS.len() as u8; 257];
    let mut index = WORDS.len();
    let mut byte = 256;
    while byte > 0 {
        byte -= 1;
        #[expect(clippy::indexing_slicing, reason = "const: an index out of bounds is a compile error")]
        {
            while index > 0 && WORDS[index - 1].0.as_bytes()[0] as usize >= byte {
                index -= 1;
            }
            first[byte] = index as u8;
        }
    }
    first
};

/// The longest word at the start of a text, and its length in bytes.
pub(super) fn word_at(text: &[u8]) -> Option<(Word, usize)> {
    let byte = *text.first()?;
    let found = words_from(byte).iter().find(|(word, _)| starts_with(text, word));
    let found = match found {
        // Longer words in upper case stand under their lower-case letter.
        None if byte.is_ascii_uppercase() => {
            words_from(byte.to_ascii_lowercase()).iter().find(|(word, _)| starts_with(text, word))
        }
        // `M` begins `Maj` and `Min`.
        Some((word, _)) if word.len() == 1 && byte.is_ascii_uppercase() => {
            words_from(byte.to_ascii_lowercase()).iter().find(|(word, _)| starts_with(text, word)).or(found)
        }
        found => found,
    };
    found.map(|(word, meaning)| (*meaning, word.len()))
}

/// The words with this first byte.
fn words_from(byte: u8) -> &'static [(&'static str, Word)] {
    let at = usize::from(byte);
    let range = |at| FIRST.get(at).map_or(0, |i: &u8| usize::from(*i));
    WORDS.get(range(at)..range(at + 1)).unwrap_or_default()
}

fn starts_with(text: &[u8], word: &str) -> bool {
    let word = word.as_bytes();
    match text.get(..word.len()) {
        Some(start) if word.len() == 1 => start == word,
        // `madd9` is a minor chord with an addition, not `ma` with something behind it.
        Some(start) => {
            start.eq_ignore_ascii_case(word)
                && !(word == b"ma" && text.get(2..4).is_some_and(|next| next.eq_ignore_ascii_case(b"dd")))
        }
        None => false,
    }
}

/// The words of letters only, for suggestions.
pub(super) fn spelled() -> impl Iterator<Item = &'static str> + Clone {
    WORDS
        .iter()
        .map(|(word, _)| *word)
        .filter(|word| word.len() > 1 && word.bytes().all(|byte| byte.is_ascii_alphabetic() || byte == b'-'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_words_are_found_and_none_hides_another() {
        for (index, (word, meaning)) in WORDS.iter().enumerate() {
            assert_eq!(word_at(word.as_bytes()), Some((*meaning, word.len())), "{word}");
            let behind = format!("{word}7");
            assert_eq!(word_at(behind.as_bytes()), Some((*meaning, word.len())), "{behind}");
            if word.len() > 1 && word.is_ascii() {
                let (first, rest) = word.split_at(1);
                for text in [word.to_uppercase(), first.to_uppercase() + rest] {
                    assert_eq!(word_at(text.as_bytes()), Some((*meaning, word.len())), "{text}");
                }
            }
            for (earlier, _) in &WORDS[..index] {
                assert!(earlier.as_bytes()[0] <= word.as_bytes()[0], "{earlier} {word}");
                assert!(!word.starts_with(earlier), "{earlier} hides {word}");
            }
        }
        assert_eq!(word_at(b""), None);
        assert_eq!(word_at(b"q"), None);
        assert_eq!(word_at(b"madd9"), Some((Word::Sign(Element::Minor), 1)));
        assert_eq!(word_at(b"MADD9"), Some((MAJOR, 1)));
        assert_eq!(word_at(b"Ma7"), Some((MAJOR, 2)));
        assert_eq!(word_at("△7".as_bytes()), Some((TRIANGLE, 3)));
    }
}
