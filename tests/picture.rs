//! The pictures of the documentation are those that the code draws.

use overshell::chord::chord;
use overshell::picture::{HeatMapOptions, KeyboardOptions, StripOptions, Width, heat_map, keyboard, strip};
use overshell::rules::RuleSet;
use overshell::search::{ArrangeOptions, Octave, Progression, arrange, catalogue};

/// Compares without printing both, which would fill the screen.
fn same(name: &str, drawn: &str, kept: &str, command: &str) {
    let line = drawn.lines().zip(kept.lines()).position(|(drawn, kept)| drawn != kept);
    assert!(
        drawn == kept,
        "docs/{name} differs at line {line:?}; make it again: cargo run --example picture -- {command}"
    );
}

#[test]
fn ok_keyboard_of_the_documentation() {
    let voicing = "C3 E3 Bb3 | F#4 A4 D5".parse().unwrap();
    let options = KeyboardOptions { width: Width::new(120).unwrap(), ..KeyboardOptions::default() };
    let drawn = keyboard(chord("C7"), &voicing, &options);
    let command = "keyboard C7 \"C3 E3 Bb3\" \"F#4 A4 D5\" --width 120mm --out docs/keyboard.svg";
    same("keyboard.svg", &drawn, include_str!("../docs/keyboard.svg"), command);
}

#[test]
fn ok_heat_map_of_the_documentation() {
    let entries = catalogue(chord("C7"), RuleSet::standard(), &Default::default()).unwrap();
    let drawn = heat_map(chord("C7"), &entries, &HeatMapOptions::default());
    same(
        "heat-map.svg",
        &drawn,
        include_str!("../docs/heat-map.svg"),
        "catalogue C7 --out docs/heat-map.svg",
    );
}

#[test]
fn ok_strip_of_the_documentation() {
    let chords = [
        ("Gm7", "Bb4"),
        ("C7", "A4"),
        ("Am7", "G4"),
        ("D7", "F#4"),
        ("Gm7", "F4"),
        ("C7", "E4"),
        ("F7", "D5"),
        ("Bbmaj7", "D5"),
        ("C7", "Bb4"),
        ("Fmaj7", "A4"),
    ];
    let progression = Progression::from_symbols("F", chords).unwrap();
    let written = ArrangeOptions { octave: Octave::AsWritten, ..ArrangeOptions::default() };
    let arrangement = arrange(&progression, RuleSet::standard(), written).unwrap();
    let options = StripOptions { heading: "Once round the pond".to_owned(), ..StripOptions::default() };
    let texts = chords.map(|(symbol, melody)| format!("\"{symbol} {melody}\"")).join(" ");
    let command = format!("chords {texts} --key F --heading \"Once round the pond\" --out docs/strip.svg");
    same("strip.svg", &strip(&arrangement, &options), include_str!("../docs/strip.svg"), &command);
}
