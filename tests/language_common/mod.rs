//! Names of notes as music21 writes them, for the tests that hold ours against them.

#![allow(clippy::unwrap_used, reason = "tests")]

use overshell::pitch::NoteName;

/// The place on the line of fifths of a name with any number of accidentals.
pub(crate) fn fifths(name: &str) -> i32 {
    let (letter, signs) = name.split_at(1);
    let natural = i32::try_from("FCGDAEB".find(letter).unwrap()).unwrap() - 1;
    natural + signs.chars().map(|sign| if sign == '#' { 7 } else { -7 }).sum::<i32>()
}

/// Whether a name is ours; where it has a third accidental, ours is the same key under another name.
#[track_caller]
pub(crate) fn is_ours(ours: NoteName, theirs: &str) -> bool {
    let same = ours.to_string() == theirs;
    if !same {
        assert!(theirs.ends_with("bbb") || theirs.ends_with("###"), "{theirs} for {ours}");
        assert_eq!((i32::from(ours.fifths()) - fifths(theirs)).abs(), 12, "{theirs} for {ours}");
    }
    same
}
