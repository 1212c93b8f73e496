//! Symbols: what is read, what is refused, and the laws.

use super::*;

fn canonical(text: &str) -> String {
    let symbol: ChordSymbol = text.parse().unwrap_or_else(|e| panic!("{e:?}"));
    assert_eq!(symbol.to_string(), text);
    symbol.chord().map_or_else(|| "N.C.".into(), |c| c.to_string())
}

#[test]
fn ok_spellings_of_the_usual_chords() {
    for (text, expected) in [
        ("C", "C"),
        ("CM", "C"),
        ("Cmaj", "C"),
        ("Cm", "Cm"),
        ("C-", "Cm"),
        ("Cmin", "Cm"),
        ("Cmi7", "Cm7"),
        ("C-7", "Cm7"),
        ("C7", "C7"),
        ("Cmaj7", "Cmaj7"),
        ("CMaj7", "Cmaj7"),
        ("CM7", "Cmaj7"),
        ("CΔ", "Cmaj7"),
        ("CΔ7", "Cmaj7"),
        ("C△9", "Cmaj9"),
        ("Cmaj6", "C6"),
        ("Cdim", "Cdim"),
        ("C°", "Cdim"),
        ("C°7", "Cdim7"),
        ("Co7", "Cdim7"),
        ("Cø", "Cm7b5"),
        ("Cø7", "Cm7b5"),
        ("Cm7b5", "Cm7b5"),
        ("C-7b5", "Cm7b5"),
        ("Cm7-5", "Cm7b5"),
        ("Cmin7(b5)", "Cm7b5"),
        ("C+", "C+"),
        ("Caug", "C+"),
        ("C+7", "C7#5"),
        ("C7+", "C7#5"),
        ("Caug7", "C7#5"),
        ("C7#5", "C7#5"),
        ("C7+5", "C7#5"),
        ("C7b5", "C7b5"),
        ("Cmaj7#5", "Cmaj7#5"),
        ("C+maj7", "Cmaj7#5"),
        ("Cm(maj7)", "Cm(maj7)"),
        ("CmMaj7", "Cm(maj7)"),
        ("C-Δ", "Cm(maj7)"),
        ("Csus", "Csus4"),
        ("Csus4", "Csus4"),
        ("Csus2", "Csus2"),
        ("C7sus", "C7sus4"),
        ("C9sus4", "C9sus4"),
        ("C7sus4(b9)", "C7sus4(b9)"),
        ("C13sus", "C13sus4"),
        ("C6", "C6"),
        ("Cm6", "Cm6"),
        ("C6/9", "C6/9"),
        ("C69", "C6/9"),
        ("C9", "C9"),
        ("C11", "C11"),
        ("C13", "C13"),
        ("Cm9", "Cm9"),
        ("Cm11", "Cm11"),
        ("Cm13", "Cm13"),
        ("Cmaj9", "Cmaj9"),
        ("Cmaj13(#11)", "Cmaj13(#11)"),
        ("C7b9", "C7(b9)"),
        ("C7(b9)", "C7(b9)"),
        ("C7-9", "C7(b9)"),
        ("C7+9", "C7(#9)"),
        ("C-9", "Cm9"),
        ("C7#9#5", "C7#5(#9)"),
        ("C7(b9,#11)", "C7(b9,#11)"),
        ("C7b9#11", "C7(b9,#11)"),
        ("C13b9", "C13(b9)"),
        ("C9#11", "C9(#11)"),
        ("C7alt", "C7alt"),
        ("Calt", "C7alt"),
        ("Cadd9", "C(add9)"),
        ("Cmadd9", "Cm(add9)"),
        ("C2", "C(add9)"),
        ("C4", "Csus4"),
        ("C5", "C5"),
        ("C7no5", "C7(no5)"),
        ("C(no3)", "C5"),
        ("C7/E", "C7/E"),
        ("D/C", "D/C"),
        ("F#m7b5/E", "F#m7b5/E"),
        ("Bb7", "Bb7"),
        ("Ebmaj7", "Ebmaj7"),
        ("E♭7♯9", "Eb7(#9)"),
        ("N.C.", "N.C."),
        ("NC", "N.C."),
        ("Cmaj7#11", "Cmaj7(#11)"),
        ("C7#4", "C7(#11)"),
        ("C7b6", "C7(b13)"),
        ("Cdim(maj7)", "Cdim(maj7)"),
        ("C 7 (b9)", "C7(b9)"),
        ("  C7 ", "C7"),
        ("C7−9", "C7(b9)"),
        ("C−7", "Cm7"),
        ("C–7", "Cm7"),
        ("C+9", "C9#5"),
        ("C+11", "C11#5"),
        ("C(+9)", "C(add#9)"),
        ("Cm(+7)", "Cm(maj7)"),
        ("C-5", "C(b5)"),
        ("C+5", "C+"),
        ("Cm-5", "Cdim"),
        ("C-7-5", "Cm7b5"),
        ("C7sus-9", "C7sus4(b9)"),
        ("C7M", "Cmaj7"),
        ("Cm7M", "Cm(maj7)"),
        ("C9M", "Cmaj9"),
        ("C∆7", "Cmaj7"),
        ("Cº7", "Cdim7"),
        ("C˚", "Cdim"),
        ("CØ7", "Cm7b5"),
        ("C⌀", "Cm7b5"),
        ("C°M7", "Cdim(maj7)"),
        ("C°Δ7", "Cdim(maj7)"),
        ("CMAJ7", "Cmaj7"),
        ("CMi7", "Cm7"),
        ("CMADD9", "C(add9)"),
        ("CDIM7", "Cdim7"),
        ("CSUS4", "Csus4"),
        ("Cdom7", "C7"),
        ("Cdom7sus4", "C7sus4"),
        ("C7/9", "C9"),
        ("C7/b9", "C7(b9)"),
        ("C7/♭9/♯11", "C7(b9,#11)"),
        ("C7/13", "C7(13)"),
        ("C7/6", "C7(13)"),
        ("Cm7/11", "Cm7(11)"),
        ("C7/4", "C7sus4"),
        ("C6(9)", "C6/9"),
        ("C6add9", "C6/9"),
        ("Cm69", "Cm6/9"),
        ("C13(no9)", "C7(13)"),
        ("C9omit7", "C(add9)"),
        ("Cm11(no9)", "Cm7(11)"),
        ("C(no3rd)", "C5"),
        ("C7 omit 5th", "C7(no5)"),
        ("C9th", "C9"),
        ("C7sus4add3", "C7(11)"),
        ("Csus2add3", "C(add9)"),
        ("C(b7)", "C7"),
        ("Cm(#7)", "Cm(maj7)"),
        ("Cdim(bb7)", "Cdim7"),
        ("C7(#4)", "C7(#11)"),
        ("C𝄪m7", "C##m7"),
        ("B𝄫7", "Bbb7"),
        ("Cx7", "C##7"),
        ("Bbbb5", "Bbb(b5)"),
        ("C#b9", "C#(addb9)"),
        ("E-flat minor seventh", "Ebm7"),
        ("F-sharp half-diminished seventh over E", "F#m7b5/E"),
        ("C dominant seventh flat ninth sharp eleventh", "C7(b9,#11)"),
        ("C sixth ninth", "C6/9"),
        ("C suspended fourth", "Csus4"),
        ("C major added ninth", "C(add9)"),
        ("C major sharp fifth", "C+"),
        ("C fifth", "C5"),
        ("no chord", "N.C."),
        ("(N.C.)", "N.C."),
        ("(G7)", "G7"),
        ("(C7(b9))", "C7(b9)"),
        (" ( G7 ) ", "G7"),
        ("D|C7", "C13(#11)"),
        ("D | C7", "C13(#11)"),
        ("F#m|C7/E", "C13(b9,#11)/E"),
        ("Gm|C", "C9"),
        ("B|C7", "C7(#9,#11)"), // no symbol says both sevenths
        // Signs behind their number, in a list or behind another number.
        ("C7(5+)", "C7#5"),
        ("C7/5+", "C7#5"),
        ("C7 5+", "C7#5"),
        ("C5+", "C+"),
        ("C7(11+)", "C7(#11)"),
        ("Cm7(5-)", "Cm7b5"),
        ("Cm7/5-", "Cm7b5"),
        ("Cm7 5b", "Cm7b5"),
        ("C7(9b)", "C7(b9)"),
        ("C7(9#)", "C7(#9)"),
        ("C7/9b", "C7(b9)"),
        ("C7/9-", "C7(b9)"),
        // Over a triad a number in a list is added.
        ("C(9)", "C(add9)"),
        ("Cm(11)", "Cm(add11)"),
        ("C/9", "C(add9)"),
        ("Cm/9", "Cm(add9)"),
        ("C5/9", "C5(add9)"),
        ("Csus2(13)", "Csus2(add13)"),
        ("Cmaj(9)", "Cmaj9"),
        ("C(7)", "C7"),
        // A plus before another sign joins; sevenths of minor chords.
        ("C7(b9+#11)", "C7(b9,#11)"),
        ("Cm(+7,9)", "Cm(maj9)"),
        ("C7aug5", "C7#5"),
        ("C7dim5", "C7b5"),
        ("Cm7°5", "Cm7b5"),
        ("C7dim", "Cdim7"),
        ("Cm7dim", "Cm7b5"),
        ("C6-9", "C6/9"),
        ("C9/6", "C6/9"),
        ("Cdim(𝄫7)", "Cdim7"),
        // Slashes before anything but a note.
        ("Cm/maj7", "Cm(maj7)"),
        ("Cm/M7", "Cm(maj7)"),
        ("C minor/major 7", "Cm(maj7)"),
        ("C7/add13", "C7(13)"),
        ("C/add9", "C(add9)"),
        ("C7/sus4", "C7sus4"),
        ("C7/alt", "C7alt"),
        ("C7/no5", "C7(no5)"),
        ("C7/ 9", "C9"),
        // A major sign behind the number raises its seventh.
        ("Cm9(maj7)", "Cm(maj9)"),
        ("Cm9M7", "Cm(maj9)"),
        ("Cm(maj7,9)", "Cm(maj9)"),
        ("C7maj", "Cmaj7"),
        ("C9Δ", "Cmaj9"),
        ("Cdim7(maj7)", "Cdim(maj7)(13)"),
        ("C°7(maj7)", "Cdim(maj7)(13)"),
        // The suspension takes the third's place; two of them are both there.
        ("Cm7sus4", "C7sus4"),
        ("C-7sus", "C7sus4"),
        ("Csus2sus4", "Csus4(add9)"),
        ("Csus24", "Csus4(add9)"),
        ("Csus2/4", "Csus4(add9)"),
        ("Csus4/2", "Csus4(add9)"),
        ("C7sus2sus4", "C9sus4"),
        // What changes nothing.
        ("Csus4(no3)", "Csus4"),
        ("C7sus4(11)", "C7sus4"),
        ("Csus2add9", "Csus2"),
        ("Cm7b5(#11)", "Cm7b5"),
        ("C6(13)", "C6"),
        ("C+7alt", "C7alt"),
        ("C7alt(b5)", "C7alt"),
        ("C7b5#5b9#9", "C7b5(b9,#9,b13)"),
        ("C7(♮9)", "C9"),
        ("C13(♮11)", "C13(11)"),
        // Dots, brackets, blanks.
        ("C7 alt.", "C7alt"),
        ("Cmaj.7", "Cmaj7"),
        ("Dm7.", "Dm7"),
        ("C7[b9]", "C7(b9)"),
        ("C7{b9;#11}", "C7(b9,#11)"),
        ("[C7]", "C7"),
        ("C7\t(b9)", "C7(b9)"),
        ("C7\u{a0}(b9)", "C7(b9)"),
        // More signs.
        ("Cj7", "Cmaj7"),
        ("Cmj7", "Cm(maj7)"),
        ("C⁷", "C7"),
        ("Cø⁷", "Cm7b5"),
        ("C⁶/₉", "C6/9"),
        ("C⁺", "C+"),
        ("C▵7", "Cmaj7"),
        ("C‐7", "Cm7"),
        ("F＃7", "F#7"),
        ("B♭︎7", "Bb7"),
        ("D∕C", "D/C"),
        ("C\\E", "C/E"),
        ("C on E", "C/E"),
        ("C(/E)", "C/E"),
        ("C/(E)", "C/E"),
        ("C7(b9/E)", "C7(b9)/E"),
        ("No Chord", "N.C."),
        ("n/c", "N.C."),
        ("tacet", "N.C."),
        ("optional G7", "G7"),
        ("D major above C dominant 7", "C13(#11)"),
        ("C suspended 4 sharp 5", "Csus4(#5)"),
        ("C major 6 add 9", "C6/9"),
    ] {
        assert_eq!(canonical(text), expected, "{text}");
    }
}

#[test]
fn ok_layers_and_optional_chords() {
    let poly: ChordSymbol = "(D/F#|C7(b9)/E)".parse().unwrap();
    assert!(poly.is_optional());
    let upper = poly.upper().unwrap();
    assert_eq!((upper.chord().to_string(), poly.root().unwrap().start), ("D/F#".to_owned(), 6));
    assert_eq!(poly.lower().unwrap().chord().to_string(), "C7(b9)/E");
    assert_eq!(poly.pitch_set().to_string(), "{0 1 2 4 6 7 9 10}");
    let slash: ChordSymbol = "D/C".parse().unwrap();
    assert!(slash.upper().is_none() && !slash.is_optional());
    assert_eq!(slash.bass().unwrap().value.to_string(), "C");
    assert_eq!(slash.pitch_set().to_string(), "{0 2 6 9}");
    assert!("(C)7".parse::<ChordSymbol>().is_err());
}

#[track_caller]
fn expect_err(text: &str, marked: &str, message_has: &str) -> Error {
    let error = text.parse::<ChordSymbol>().unwrap_err();
    assert!(error.is_symbol(), "{error:?}");
    assert!(error.to_string().contains(message_has), "{error:?}");
    assert_eq!(error.excerpt().unwrap().marked(), marked, "{error:?}");
    assert!(error.help().is_some(), "{error:?}");
    error
}

#[test]
fn err_symbols_are_located() {
    for (text, marked, message) in [
        ("H7", "H", "no root"),
        ("c7", "c", "no root"),
        ("|C7", "|", "no chord found on one side"),
        ("D||C7", "|", "no chord found on one side"),
        ("(C7", "(", "never closed"),
        ("(C7)b9", "b9", "behind the parenthesis"),
        ("C/5", "/5", "no bass note"),
        ("C/b7", "/b7", "no bass note"),
        ("C7/3", "/3", "no bass note"),
        ("C/e", "/e", "no bass note"),
        ("C/E bass", "E bass", "more than a bass note"),
        ("C7|", "|", "no chord found on one side"),
        ("D|E|C7", "|", "a third chord"),
        ("C7(b9", "(", "never closed"),
        ("C7(b9(#11))", "(", "inside a parenthesis"),
        ("C7b9)", ")", "too many"),
        ("C7/", "/", "no bass note"),
        ("C7/H", "/H", "no bass note"),
        ("C7(/E", "(", "never closed"),
        ("D/C7", "C7", "more than a bass note"),
    ] {
        let error = expect_err(text, marked, message);
        assert!(!error.is_unknown_sign() && !error.is_contradiction() && !error.is_accidentals());
    }
    for (text, marked, message) in [
        ("C7q", "q", "unknown sign `q`"),
        ("C70", "70", "unknown number `70`"),
        ("C1", "1", "unknown number `1`"),
        ("C third", "third", "unknown number"),
        ("C99999999999999999999", "99999999999999999999", "unknown number"),
        ("C7b8", "b8", "is not an alteration"),
        ("C7b11", "b11", "is not an alteration"),
        ("C7#13", "#13", "is not an alteration"),
        ("C7b", "b", "unknown sign `b`"),
        ("Cadd7", "add7", "is not a note to add"),
        ("Cadd", "add", "is not a note to add"),
        ("C7-", "-", "unknown sign `-`"),
        ("Cmaj7-", "-", "unknown sign `-`"),
        ("Cdim(--7)", "-", "unknown sign `-`"),
        ("C07", "07", "unknown number `07`"),
        ("C013", "013", "unknown number"),
        ("C7b09", "b09", "is not an alteration"),
        ("Cmino7", "o", "unknown sign `o`"),
        ("C7o", "o", "unknown sign `o`"),
        ("Dom7", "om", "unknown sign `om`"),
        ("Csusb2", "b2", "is not an alteration"),
        ("Cdtm7", "dtm", "unknown sign `dtm`"),
        ("C^7", "^", "unknown sign `^`"),
        ("C7no1", "no1", "is not a note to leave out"),
        ("C7no", "no", "unknown sign `no`"),
    ] {
        let error = expect_err(text, marked, message);
        assert!(error.is_unknown_sign(), "{error:?}");
    }
    for (text, marked, message) in [
        ("Cm7#9", "#9", "same key"),
        ("C7#9m", "#9", "same key"),
        ("Cmaj7b7", "b7", "`b7` contradicts `7`"),
        ("C7maj7", "7", "contradicts `7`"),
        ("C7Mmaj", "maj", "contradicts `M`"),
        ("CMm7", "m", "contradicts `M`"),
        ("CMaj-7", "-", "contradicts `Maj`"),
        ("Csus4m7", "m", "contradicts `sus4`"),
        ("Cø(maj7)", "maj", "contradicts `ø`"),
        ("Cdim7(13)", "13", "same key"),
        ("Csus4omit4", "omit4", "contradicts `sus4`"),
        ("Csus2no2", "no2", "contradicts `sus2`"),
        ("C7no7", "no7", "contradicts `7`"),
        ("C9no9", "no9", "contradicts `9`"),
        ("C9 7", "7", "contradicts `9`"),
        ("C6 7", "7", "contradicts `6`"),
        ("Caltmaj7", "maj", "contradicts `alt`"),
        ("Cno4", "no4", "does not have"),
        ("C7no9", "no9", "does not have"),
        ("Cdomm7maj7", "7", "contradicts"),
        ("Cdommaj7", "maj", "contradicts `dom`"),
    ] {
        let error = expect_err(text, marked, message);
        assert!(error.is_contradiction(), "{error:?}");
    }
    for (text, marked) in [
        ("Cbbb", "Cbbb"),
        ("C###", "C###"),
        ("C####5", "C####"),
        ("Cbbb7", "Cbbb"),
        ("E♭♭♭7", "E♭♭♭"),
        ("C7/Bbbb", "Bbbb"),
        ("C#sharp", "C#sharp"),
    ] {
        let error = expect_err(text, marked, "more than two accidentals");
        assert!(error.is_accidentals(), "{error:?}");
    }
    assert!("".parse::<ChordSymbol>().is_err());
    let long = "C".repeat(65).parse::<ChordSymbol>().unwrap_err();
    assert!(long.is_limit() && !long.is_symbol());
    assert!(long.to_string().contains("65 bytes"), "{long:?}");
    assert!("C".repeat(64).parse::<ChordSymbol>().unwrap_err().is_symbol());
}

#[test]
fn err_helps_know_what_was_meant() {
    for (text, meant) in [
        ("c7", "C7"),
        ("bb7", "Bb7"),
        ("H7", "B7"),
        ("Camj7", "Cmaj7"),
        ("Cmjaor7", "Cmajor7"),
        ("Cuss2", "Csus2"),
        ("F#idm7", "F#dim7"),
        ("F#m75", "F#m7b5"),
        ("C713", "C7(13)"),
        ("C79", "C7(9)"),
        ("Es7", "Eb7"),
        ("As7", "Ab7"),
        ("Bes7", "Bb7"),
        ("Cis7", "C#7"),
        ("C/e", "C/E"),
        ("(C7", "(C7)"),
        ("(C7)b9", "(C7b9)"),
        ("C7(b9,q)", "C7(b9)"),
        ("Cdimn7", "Cdim7"),
        ("Csuss4", "Csus4"),
        ("Caudg", "Caug"),
        ("C7q", "C7"),
        ("C70", "C7"),
        ("C12", "C13"),
        ("C7#12", "C7#11"),
        ("C7b8", "C7b9"),
        ("C7(b9", "C7(b9)"),
        ("C7b9)", "C7b9"),
        ("D/C7", "D|C7"),
        ("C7(b9(#11)", "C7(b9,#11)"),
    ] {
        let error = text.parse::<ChordSymbol>().unwrap_err();
        let help = error.help().unwrap();
        assert!(help.starts_with(&format!("did you mean `{meant}`?")), "{error:?}");
        assert!(meant.parse::<ChordSymbol>().is_ok());
    }
    // Nothing is better than a symbol that means something else.
    for text in ["Cmaj7b7", "C^7", "CO7", "Ch7", "C/3", "C7#13q9", "C7b10", "C7 mixo", "Cdim(q7)"] {
        let error = text.parse::<ChordSymbol>().unwrap_err();
        assert!(!error.help().unwrap().contains("did you mean"), "{error:?}");
    }
}

/// A word of the grammar, any of them, or a number, a sign with a number, a separator.
fn piece() -> impl proptest::strategy::Strategy<Value = String> {
    use proptest::prelude::*;
    let others =
        ["m", "M", "o", "-", "+", "°", "ø", "△", "Δ", "j", "sus2", "sus4", "sus24", "bb7", "𝄫7", "−", "⁷"];
    let words: Vec<&'static str> = words::spelled().chain(others).collect();
    let sign = prop::sample::select(vec!["b", "#", "♭", "♯", "♮", "-", "+", "−", "flat ", "sharp "]);
    let number = prop::sample::select(vec![
        "2", "4", "5", "6", "6/9", "69", "6-9", "7", "9", "11", "13", "9th", "ninth", "⁹",
    ]);
    prop_oneof![
        prop::sample::select(words).prop_map(str::to_owned),
        number.clone().prop_map(str::to_owned),
        (sign.clone(), number.clone()).prop_map(|(sign, number)| format!("{sign}{number}")),
        (number.clone(), sign).prop_map(|(number, sign)| format!("({number}{sign})")),
        (prop::sample::select(vec!["add", "no", "omit", "added ", "no "]), number)
            .prop_map(|(word, number)| format!("{word}{number}")),
        prop::sample::select(vec![" ", ",", ".", ";", "(", ")", "[", "]", "/"]).prop_map(str::to_owned),
    ]
}

proptest::proptest! {
    #![proptest_config(proptest::test_runner::Config::with_cases(4_000))]

    #[test]
    fn prop_any_text_gives_a_symbol_or_a_located_error(text in "([A-G][b#]?)?\\PC{0,70}") {
        match text.parse::<ChordSymbol>() {
            Ok(symbol) => assert_eq!(symbol.to_string(), text),
            Err(error) => assert!(error.is_limit() || (error.is_symbol() && error.excerpt().is_some())),
        }
    }

    /// Whatever the grammar allows: the text is kept, every part stands where it says, and each style of the
    /// meaning reads back as the same meaning.
    #[test]
    fn prop_print_and_parse_are_inverse(
        roots in proptest::collection::vec("[A-G](b|#|bb|##|x|♭|♯|𝄫|𝄪|-flat|-sharp|-double-flat|-double-sharp)?", 1..3),
        pieces in proptest::collection::vec(piece(), 0..6),
        bass in "((/|\\\\| over | on )[A-G](b|#|♭|-flat)?|\\(/[A-G]\\)|/\\([A-G]\\))?",
        optional in proptest::bool::weighted(0.2),
    ) {
        let body = format!("{}{}{bass}", roots.join("|"), pieces.concat());
        let text = if optional { format!("({body})") } else { body };
        match text.parse::<ChordSymbol>() {
            Ok(symbol) => {
                assert_eq!(symbol.to_string(), text);
                assert_eq!(symbol.is_optional(), optional);
                for layer in [symbol.upper(), symbol.lower()].into_iter().flatten() {
                    let mut end = layer.root().end;
                    for part in layer.elements() {
                        assert!(end <= part.start && part.start < part.end, "{text} {part:?}");
                        end = part.end;
                    }
                    let root = text.get(layer.root().start.into()..layer.root().end.into()).unwrap();
                    assert_eq!(format!("{root}7").parse::<Chord>().unwrap().root(), layer.root().value);
                }
                for style in crate::chord::Style::ALL {
                    let printed = symbol.in_style(style).to_string();
                    let read: ChordSymbol = printed.parse().unwrap_or_else(|e| panic!("{text}: {e:?}"));
                    assert_eq!(read.chord(), symbol.chord(), "{text} as {printed}");
                    assert_eq!(read.is_optional(), optional);
                    assert_eq!(
                        read.upper().map(Layer::chord), symbol.upper().map(Layer::chord), "{text} as {printed}"
                    );
                }
            }
            Err(error) => assert!(error.is_symbol() || error.is_limit(), "{error:?}"),
        }
    }
}

/// The property above would say little if hardly any text were a symbol.
#[test]
fn ok_enough_texts_of_the_property_are_symbols() {
    use proptest::strategy::{Strategy, ValueTree};
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let strategy = proptest::collection::vec(piece(), 0..6);
    let read = (0..1_000)
        .filter(|_| {
            let pieces = strategy.new_tree(&mut runner).unwrap().current();
            format!("C{}", pieces.concat()).parse::<ChordSymbol>().is_ok()
        })
        .count();
    assert!(read > 300, "{read}");
}
