//! The pictures of the documentation are those that the code draws.
#![cfg(feature = "sheet")]

use overshell::chord::chord;
use overshell::picture::{HeatMapOptions, KeyboardOptions, StripOptions, Width, heat_map, keyboard, strip};
use overshell::rules::RuleSet;
use overshell::search::{arrange, catalogue};
use overshell::sheet::{ReadOptions, read};

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
    let tune = include_bytes!("data/harbour_steps.musicxml");
    let sheet = read(tune, &ReadOptions::default()).unwrap().sheet;
    let arrangement = arrange(&sheet.progression(), RuleSet::standard(), Default::default()).unwrap();
    let symbols = sheet.chords.iter().map(|chord| chord.symbol.as_str().to_owned()).collect();
    let options = StripOptions { heading: sheet.title, symbols, ..StripOptions::default() };
    let command = "tune tests/data/harbour_steps.musicxml --out docs/strip.svg";
    same("strip.svg", &strip(&arrangement, &options), include_str!("../docs/strip.svg"), command);
}
