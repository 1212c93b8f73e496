//! Chord symbols read as one would first write it: sign by sign from the front, with a map from degrees to semitones.

use std::collections::HashMap;

/// What a symbol says: pitch classes of root, chord and bass.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Plain {
    pub(crate) root: i32,
    pub(crate) classes: Vec<i32>,
    pub(crate) bass: Option<i32>,
}

/// A note name at the start of a text, and the rest.
fn note(text: &str) -> Option<(i32, String)> {
    let mut chars = text.chars();
    let mut class = match chars.next()? {
        'C' => 0,
        'D' => 2,
        'E' => 4,
        'F' => 5,
        'G' => 7,
        'A' => 9,
        'B' => 11,
        _ => return None,
    };
    let mut rest: String = chars.collect();
    while let Some(shorter) = rest.strip_prefix('b') {
        class -= 1;
        rest = shorter.to_string();
    }
    while let Some(shorter) = rest.strip_prefix('#') {
        class += 1;
        rest = shorter.to_string();
    }
    Some(((class + 12) % 12, rest))
}

/// The signs, longer ones first where one starts another, and what they are called below.
const SIGNS: [(&str, &str); 34] = [
    ("maj", "major"),
    ("Maj", "major"),
    ("min", "minor"),
    ("mi", "minor"),
    ("m", "minor"),
    ("M", "major"),
    ("Δ", "triangle"),
    ("dim", "diminished"),
    ("°", "diminished"),
    ("aug", "augmented"),
    ("ø", "half-diminished"),
    ("sus4", "sus4"),
    ("sus2", "sus2"),
    ("sus", "sus4"),
    ("alt", "altered"),
    ("add9", "add9"),
    ("69", "69"),
    ("b5", "b5"),
    ("#5", "#5"),
    ("b9", "b9"),
    ("#9", "#9"),
    ("-9", "b9"),
    ("+9", "#9"),
    ("#11", "#11"),
    ("b13", "b13"),
    ("13", "13"),
    ("11", "11"),
    ("9", "9"),
    ("7", "7"),
    ("6", "6"),
    ("5", "power"),
    ("2", "add9"),
    ("-", "minor"),
    ("+", "augmented"),
];

fn signs(mut rest: String) -> Option<Vec<String>> {
    let mut found = Vec::new();
    let mut after_number = false;
    while !rest.is_empty() {
        let (sign, name) = *SIGNS.iter().find(|(sign, _)| {
            // Behind the root `-` is minor and `+` augmented, also where a number follows.
            rest.starts_with(sign) && (after_number || !matches!(*sign, "-9" | "+9"))
        })?;
        after_number = sign.ends_with(|c: char| c.is_ascii_digit());
        rest = rest[sign.len()..].to_string();
        found.push(name.to_string());
    }
    Some(found)
}

pub(crate) fn parse(text: &str) -> Option<Plain> {
    let text =
        text.replace('♭', "b").replace('♯', "#").replace("6/9", "69").replace(['(', ')', ',', ' '], "");
    let parts: Vec<&str> = text.split('/').collect();
    let (root, rest) = note(parts[0])?;
    let bass = parts.get(1).and_then(|part| note(part)).map(|(class, _)| class);
    let signs = signs(rest)?;
    let has = |name: &str| signs.iter().any(|sign| sign == name);

    let mut degrees: HashMap<String, i32> = HashMap::new();
    let mut put = |name: &str, semitones: i32| degrees.insert(name.to_string(), semitones);
    put("1", 0);
    put("3", if has("minor") || has("diminished") || has("half-diminished") { 3 } else { 4 });
    put("5", if has("diminished") || has("half-diminished") { 6 } else { 7 });
    if has("augmented") {
        put("5", 8);
    }
    let has_number = ["7", "9", "11", "13"].into_iter().any(&has);
    if has("triangle") || (has("major") && has_number) {
        put("7", 11);
    } else if has("diminished") && has_number {
        put("7", 9);
    } else if has_number || has("half-diminished") || has("altered") {
        put("7", 10);
    }
    if has("9") || has("11") || has("13") || has("69") || has("add9") {
        put("9", 2);
    }
    if has("11") || (has("13") && has("minor")) {
        put("11", 5);
    }
    if has("13") {
        put("13", 9);
    }
    if has("6") || has("69") {
        put("6", 9);
    }
    if has("b5") {
        put("5", 6);
    }
    if has("#5") {
        put("5", 8);
    }
    if has("sus4") {
        put("3", 5);
    }
    if has("sus2") {
        put("3", 2);
    }
    if has("#11") {
        put("11", 6);
    }
    if has("b13") {
        put("13", 8);
    }
    if has("b9") || has("#9") || has("altered") {
        degrees.remove("9");
    }
    if has("b9") || has("altered") {
        degrees.insert("b9".to_string(), 1);
    }
    if has("#9") || has("altered") {
        degrees.insert("#9".to_string(), 3);
    }
    if has("altered") {
        degrees.remove("5");
        degrees.insert("#11".to_string(), 6);
        degrees.insert("b13".to_string(), 8);
    }
    if has("power") {
        degrees.remove("3");
    }
    let mut classes: Vec<i32> = degrees.values().map(|semitones| (root + semitones) % 12).collect();
    classes.sort_unstable();
    classes.dedup();
    Some(Plain { root, classes, bass: bass.filter(|bass| *bass != root) })
}
