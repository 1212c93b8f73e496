//! The texts of errors, as people see them. Message grammar: see the developers' guide.

#![allow(missing_docs, clippy::unwrap_used, reason = "tests")]

use std::fmt::Debug;
use std::str::FromStr;

use overshell::chord::vocabulary::{abc, harte, musicxml};
use overshell::chord::{Chord, Degree, Function, Key};
use overshell::pitch::{Interval, NoteName, Pitch, PitchSet};
use overshell::rules::RuleSet;
use overshell::voicing::{Hand, HandSize, Label, Shell, Triad, Voicing};
use overshell::{Error, Result};
use rstest::rstest;

fn report<T: Debug>(result: Result<T>) -> String {
    result.unwrap_err().report()
}

fn refuses<T: FromStr<Err = Error> + Debug>(text: &str) -> String {
    report(text.parse::<T>())
}

#[test]
fn err_symbols() {
    insta::assert_snapshot!(refuses::<Chord>("C7(b9,q)"), @"
    error: chord symbol `C7(b9,q)`: unknown sign `q`, expected a quality, a number or an alteration
      C7(b9,q)
            ^
    help: did you mean `C7(b9)`? for example `Cm7`, `Cmaj9`, `C7(b9)`, `Cdim7`, `C7sus4`, `C7/E`
    ");
    insta::assert_snapshot!(refuses::<Chord>("E♭m7♯9"), @r"
    error: chord symbol `E♭m7♯9`: `#9` is the same key as the chord's own `b3`
      E♭m7♯9
          ^^
    help: leave it out, or write the chord whose tone it is
    ");
    insta::assert_snapshot!(refuses::<Chord>("C7/H"), @r"
    error: chord symbol `C7/H`: no bass note found behind the slash, expected a letter A to G
      C7/H
        ^^
    help: did you mean `C7/B`? write the bass as a note name, such as `C7/E`
    ");
    insta::assert_snapshot!(refuses::<Chord>("Csus4omit4"), @r"
    error: chord symbol `Csus4omit4`: `omit4` contradicts `sus4`
      Csus4omit4
           ^^^^^
    help: leave one of the two out
    ");
    insta::assert_snapshot!(refuses::<Chord>("Cmaj7b7"), @"
    error: chord symbol `Cmaj7b7`: `b7` contradicts `7`
      Cmaj7b7
           ^^
    help: leave one of the two out
    ");
    insta::assert_snapshot!(refuses::<Chord>("Camj7"), @"
    error: chord symbol `Camj7`: unknown sign `amj`, expected a quality, a number or an alteration
      Camj7
       ^^^
    help: did you mean `Cmaj7`? for example `Cm7`, `Cmaj9`, `C7(b9)`, `Cdim7`, `C7sus4`, `C7/E`
    ");
    insta::assert_snapshot!(refuses::<Chord>("D/C7"), @"
    error: chord symbol `D/C7`: `C7` is more than a bass note
      D/C7
        ^^
    help: did you mean `D|C7`? write the bass as a note name, such as `C7/E`, and a chord above a chord with `|`, such as `D|C7`
    ");
    insta::assert_snapshot!(refuses::<Chord>("E♭♭♭7"), @"
    error: chord symbol `E♭♭♭7`: the note `E♭♭♭` has more than two accidentals
      E♭♭♭7
      ^^^^
    help: write a nearer note, such as `Bb` for `Cbb`
    ");
    insta::assert_snapshot!(refuses::<Chord>(&"C".repeat(65)), @"
    error: a chord symbol of 65 bytes is too long, the limit is 64
    help: give one symbol, such as `C7(b9)`
    ");
    insta::assert_snapshot!(refuses::<Chord>(""), @"
    error: chord symbol ``: the text is empty, expected a letter A to G
      
      ^
    help: a symbol starts with its root in upper case, such as `Eb7`; `N.C.` is no chord
    ");
}

#[test]
fn err_pitches() {
    insta::assert_snapshot!(refuses::<Pitch>("Eb"), @"
    error: `Eb` has no octave
      Eb
      ^^
    help: write a note name and an octave, such as `Eb4` (middle C is `C4`)
    ");
    insta::assert_snapshot!(refuses::<Pitch>("A12"), @"
    error: pitch `A12` is out of range, expected MIDI number 0 to 127
    help: the lowest pitch is C-1, the highest G9; a piano has A0 to C8
    ");
    insta::assert_snapshot!(refuses::<NoteName>("Ebbb"), @"
    error: `Ebbb` has more than a note name
      Ebbb
         ^
    help: a note name is a letter A to G with at most two accidentals, such as `Eb` or `F##`
    ");
    insta::assert_snapshot!(refuses::<Interval>("P3"), @"
    error: `P3` is not an interval
      P3
      ^^
    help: write a quality (P M m A d) and a number, such as `m3`, `P5` or `m9`
    ");
}

#[test]
fn err_vocabularies() {
    insta::assert_snapshot!(report(harte::read("Eb:mn7/5")), @r"
    error: chord label `Eb:mn7/5`: `mn7` is no shorthand
      Eb:mn7/5
         ^^^
    help: did you mean `min7`? the shorthands are maj min dim aug maj7 min7 7 dim7 hdim7 minmaj7 maj6 min6 9 maj9 min9 sus2 sus4 aug7 11 maj11 min11 13 maj13 min13 1 5
    ");
    insta::assert_snapshot!(report(harte::read("C:maj7(9,b7)")), @r"
    error: chord label `C:maj7(9,b7)`: `b7` stands beside another seventh, a chord has one
      C:maj7(9,b7)
               ^^
    help: leave one of the two out: `*b7` takes the minor one away, `*7` the major one
    ");
    insta::assert_snapshot!(report(harte::read("C:maj(14)")), @r"
    error: chord label `C:maj(14)`: `14` is no degree, expected 1 to 13
      C:maj(14)
            ^^
    help: degrees are written such as `3`, `b7`, `#11`
    ");
    insta::assert_snapshot!(report(harte::read("Cm7")), @r"
    error: chord label `Cm7`: `m7` is too much
      Cm7
       ^^
    help: did you mean `C:min7`?
    ");
    insta::assert_snapshot!(report(harte::read(&"C".repeat(65))), @r"
    error: a chord label of 65 bytes is too long, the limit is 64
    help: give one chord at a time
    ");
    insta::assert_snapshot!(report(abc::read("F#q/c")), @r"
    error: chord symbol `F#q`: unknown sign `q`, expected a quality, a number or an alteration
      F#q/c
        ^
    help: did you mean `F#`? for example `Cm7`, `Cmaj9`, `C7(b9)`, `Cdim7`, `C7sus4`, `C7/E`
    ");
    insta::assert_snapshot!(report(abc::read("G(Em")), @r"
    error: chord text `G(Em`: this alternate does not end with `)`
      G(Em
       ^^^
    help: an alternate stands at the end, in parentheses of its own, such as `G(Em)`
    ");
}

#[test]
fn err_voicings() {
    insta::assert_snapshot!(refuses::<Hand>("C4 B#3"), @"
    error: `C4` and `B#3` are the same key
    help: leave one of the two out
    ");
    insta::assert_snapshot!(refuses::<Voicing>("C4 E4 | D4 F4"), @"
    error: the left hand's `E4` is above the right hand's `D4`
    help: move the note to the other hand, or a hand to another octave
    ");
    insta::assert_snapshot!(report(Shell::for_chord("1 b3 b7", "C7".parse().unwrap())), @"
    error: `1 b3 b7` is not a shell
      1 b3 b7
      ^^^^^^^
    help: over `C7` the shells are `1 3 b7`, `1 b7 3`, `1 3`, `1 b7`, `3 b7`, `b7 3`, `3`, `b7`, `1 5`, `1`
    ");
}

#[test]
fn err_rule_files() {
    let text = "format = 1\nname = \"mine\"\n\n[[rule]]\nid = \"x\"\nkind = \"tone\"\ndegrees = [\"9\", \"10\"]\ncots = 5\ncost = 5\nmessage = \"m\"\nhelp = \"h\"\nsource = \"s\"\n";
    insta::assert_snapshot!(report(RuleSet::from_toml("mine.toml", text)), @r#"
    error: rule file `mine.toml`: `10` is not a degree
      --> mine.toml:7:17
      degrees = ["9", "10"]
                      ^^^^
    help: the degrees are 1 b9 2 9 #9 b3 3 4 11 #11 b5 5 #5 b13 6 13 bb7 b7 maj7
    error: rule file `mine.toml`: unknown key `cots`
      --> mine.toml:8:1
      cots = 5
      ^^^^
    help: did you mean `cost`? known are `id`, `message`, `help`, `source`, `kind`, `chords`, `has`, `has-one-of`, `lacks`, `functions`, `when`, `effect`, `cost`, `colour`, `degrees`, `hand`, `beyond`, `against-symbol`, `scale`, `avoid`, `case`
    "#);
    insta::assert_snapshot!(report(RuleSet::from_toml("mine.toml", "format = 9\nname = \"x\"")), @"
    error: rule file `mine.toml`: format 9 is not known, this version reads format 1
      --> mine.toml:1:10
      format = 9
               ^
    help: use a newer version of the library, or write the file in this format
    ");
}

/// Every type that is read from text refuses rubbish with a message that shows it and a help that says what to write.
#[rstest]
#[case::chord(refuses::<Chord>)]
#[case::kind(refuses::<musicxml::Kind>)]
#[case::label_of_a_chord(|text: &str| report(harte::read(text)))]
#[case::text_of_a_chord(|text: &str| report(abc::read(text)))]
#[case::pitch(refuses::<Pitch>)]
#[case::note(refuses::<NoteName>)]
#[case::interval(refuses::<Interval>)]
#[case::set(refuses::<PitchSet>)]
#[case::degree(refuses::<Degree>)]
#[case::key(refuses::<Key>)]
#[case::function(refuses::<Function>)]
#[case::hand(refuses::<Hand>)]
#[case::label(refuses::<Label>)]
#[case::shell(refuses::<Shell>)]
#[case::triad(refuses::<Triad>)]
#[case::voicing(refuses::<Voicing>)]
#[case::size(refuses::<HandSize>)]
fn err_rubbish_is_shown_and_helped(#[case] refuse: fn(&str) -> String) {
    for rubbish in ["?!", "zz zz", "♭♭♭", "\u{0}"] {
        let report = refuse(rubbish);
        assert!(report.starts_with("error: "), "{report}");
        assert!(report.contains("help: "), "{report}");
        let message = report.lines().next().unwrap();
        assert!(message.contains('`'), "{report}");
        assert!(!message.ends_with('.') && !message.chars().any(char::is_control), "{report}");
    }
}
