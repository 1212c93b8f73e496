//! Forte's names of sets: `4-27B`, `6-Z29`.

use super::set_table::{CLASSES, FIRST, PRIME_FORMS};
use super::{Form, PitchSet, SetClass, shown};
use crate::error::{Error, Excerpt, Kind, Result};

/// Forte's name of a set up to transposition: the name of its class, with `A` for a transposition of the prime form and
/// `B` for one of its inversion where the two differ.
///
/// Two bytes, without text of its own. There are 352. Read with or without the Z, which some print and some do not.
///
/// Forte, *The Structure of Atonal Music*, Yale 1973; `A` and `B` as in music21 10.5.1.
///
/// # Example
///
/// ```
/// use overshell::pitch::{ForteName, PitchSet};
///
/// let major: PitchSet = "C E G".parse()?;
/// assert_eq!(major.forte_name().as_str(), "3-11B");
/// assert_eq!("4-29A".parse::<ForteName>()?.as_str(), "4-Z29A");
/// assert!("4-30A".parse::<ForteName>().unwrap_err().is_pitch());
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ForteName(u16);

/// How many names there are.
const COUNT: usize = 352;

/// The longest name, `6-Z29B`.
const LONGEST: usize = 6;

/// What a name says.
#[derive(Clone, Copy)]
struct Row {
    class: SetClass,
    form: Form,
    /// The name, filled up with blanks, and its length.
    letters: [u8; LONGEST],
    length: u8,
}

/// By name: in the order of the classes, of each the prime form first.
#[expect(clippy::indexing_slicing, reason = "const: an index out of bounds is a compile error")]
static ROWS: [Row; COUNT] = {
    let first = SetClass::of(PitchSet::EMPTY);
    let mut rows = [Row { class: first, form: Form::Symmetric, letters: [b' '; LONGEST], length: 0 }; COUNT];
    let mut class = 0;
    let mut name = 0;
    while class < CLASSES.len() {
        let prime = PitchSet::of_bits(PRIME_FORMS[class]);
        let plain = of_class(class);
        if matches!(prime.form(), Form::Symmetric) {
            rows[name] = row(prime, Form::Symmetric, plain);
            name += 1;
        } else {
            rows[name] = row(prime, Form::Prime, with(plain, b'A'));
            rows[name + 1] = row(prime, Form::Inverted, with(plain, b'B'));
            name += 2;
        }
        class += 1;
    }
    assert!(name == COUNT);
    rows
};

const fn row(prime: PitchSet, form: Form, (letters, length): ([u8; LONGEST], u8)) -> Row {
    Row { class: SetClass::of(prime), form, letters, length }
}

/// The name of a class, which has no letter.
#[expect(clippy::indexing_slicing, reason = "const: an index out of bounds is a compile error")]
const fn of_class(class: usize) -> ([u8; LONGEST], u8) {
    let cardinality = PRIME_FORMS[class].count_ones() as u8;
    let mut name = with(with_number(([b' '; LONGEST], 0), cardinality), b'-');
    if CLASSES[class].z_mate as usize != class {
        name = with(name, b'Z');
    }
    with_number(name, class as u8 - FIRST[cardinality as usize] + 1)
}

#[expect(clippy::indexing_slicing, reason = "const: an index out of bounds is a compile error")]
const fn with((mut text, length): ([u8; LONGEST], u8), letter: u8) -> ([u8; LONGEST], u8) {
    text[length as usize] = letter;
    (text, length + 1)
}

const fn with_number(text: ([u8; LONGEST], u8), number: u8) -> ([u8; LONGEST], u8) {
    let text = if number < 10 { text } else { with(text, b'0' + number / 10) };
    with(text, b'0' + number % 10)
}

/// [`ROWS`] as text: one lookup from the name.
#[expect(clippy::indexing_slicing, reason = "const: an index out of bounds is a compile error")]
static TEXTS: [&str; COUNT] = {
    let mut all = [""; COUNT];
    let mut name = 0;
    while name < COUNT {
        let Row { letters, length, .. } = &ROWS[name];
        if let Ok(text) = std::str::from_utf8(letters.split_at(*length as usize).0) {
            all[name] = text;
        }
        name += 1;
    }
    all
};

/// The name of each set, in the order of their bits.
#[expect(clippy::indexing_slicing, reason = "const: an index out of bounds is a compile error")]
static OF_SETS: [u16; 4096] = {
    let mut first = [0; CLASSES.len()];
    let mut name = COUNT;
    while name > 0 {
        name -= 1;
        first[ROWS[name].class.index()] = name as u16;
    }
    let mut names = [0; 4096];
    let mut bits = 0;
    while bits < names.len() {
        let set = PitchSet::of_bits(bits as u16);
        names[bits] = first[SetClass::of(set).index()] + matches!(set.form(), Form::Inverted) as u16;
        bits += 1;
    }
    names
};

impl ForteName {
    #[expect(clippy::indexing_slicing, reason = "a row for every name")]
    const fn row(self) -> &'static Row {
        &ROWS[self.0 as usize]
    }

    /// The text.
    #[expect(clippy::indexing_slicing, reason = "a text for every name")]
    pub const fn as_str(self) -> &'static str {
        TEXTS[self.0 as usize]
    }

    /// The class, under inversion too.
    pub const fn class(self) -> SetClass {
        self.row().class
    }

    /// How the sets of this name lie to the prime form.
    pub const fn form(self) -> Form {
        self.row().form
    }

    /// The name without its letter.
    pub(super) fn of_class(class: SetClass) -> &'static str {
        let name = class.prime_form().forte_name().as_str();
        name.strip_suffix('A').unwrap_or(name)
    }

    /// Reads a class, and a form where a letter says one.
    pub(super) fn read(text: &str) -> Result<(SetClass, Option<Form>)> {
        let (name, form) = if let Some(name) = text.strip_suffix('A') {
            (name, Some(Form::Prime))
        } else if let Some(name) = text.strip_suffix('B') {
            (name, Some(Form::Inverted))
        } else {
            (text, None)
        };
        let parts = name.split_once('-').map(|(cardinality, number)| {
            let plain = number.strip_prefix('Z');
            (cardinality, plain.unwrap_or(number), plain.is_some())
        });
        let class = parts
            .and_then(|(cardinality, number, _)| SetClass::from_name(digits(cardinality)?, digits(number)?));
        match (class, parts) {
            (Some(class), Some((_, _, true))) if !class.is_z() => {
                Err(Self::wrong(text, "has a Z, but no other class has its interval vector".into())
                    .with_help(format!("write `{class}`")))
            }
            (Some(class), _) => {
                let symmetric = class.prime_form().form() == Form::Symmetric;
                match form {
                    Some(_) if symmetric => {
                        Err(Self::wrong(text, "has a letter, but the class is its own inversion".into())
                            .with_help(format!("write `{class}`")))
                    }
                    _ => Ok((class, form)),
                }
            }
            (None, _) => Err(Self::wrong(text, "is not a name of a set class".into())
                .with_help("a name is a cardinality and Forte's number, such as `3-11`, `4-Z29` or `4-27B`")),
        }
    }

    pub(super) fn wrong(text: &str, why: String) -> Error {
        Error::new(Kind::Pitch, format!("`{}` {why}", shown(text))).with_excerpt(Excerpt::of_line(
            text,
            0,
            usize::MAX,
        ))
    }
}

/// A number of one or two digits as a name writes it.
fn digits(text: &str) -> Option<u8> {
    let plain = text.bytes().all(|byte| byte.is_ascii_digit()) && (text == "0" || !text.starts_with('0'));
    plain.then(|| text.parse().ok()).flatten()
}

impl PitchSet {
    /// Forte's name of its class and form: `4-27B` for a dominant seventh, `3-11A` for a minor triad.
    #[expect(clippy::indexing_slicing, reason = "a set has twelve bits and the table 4,096 names")]
    pub const fn forte_name(self) -> ForteName {
        ForteName(OF_SETS[self.bits() as usize])
    }
}

impl std::fmt::Display for ForteName {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.as_str())
    }
}

impl std::fmt::Debug for ForteName {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.as_str())
    }
}

impl std::str::FromStr for ForteName {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        let (class, form) = Self::read(text)?;
        let prime = class.prime_form();
        match form {
            Some(Form::Inverted) => Ok(prime.invert().forte_name()),
            Some(Form::Prime | Form::Symmetric) => Ok(prime.forte_name()),
            None if prime.form() == Form::Symmetric => Ok(prime.forte_name()),
            None => Err(Self::wrong(text, "names a class of two forms, expected one of them".into())
                .with_help(format!("write `{class}A` or `{class}B`"))),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pitch::PitchClass;

    /// The slow twin: put together from its parts; and every name is read back, with its Z and without.
    #[test]
    fn all_names_are_put_together_and_read_back() {
        let mut names = std::collections::BTreeSet::new();
        for bits in 0..4096 {
            let set = PitchSet::from_bits(bits).unwrap();
            let class = SetClass::of(set);
            let z = if class.is_z() { "Z" } else { "" };
            let of_class = format!("{}-{z}{}", class.cardinality(), class.number());
            let letter = match set.form() {
                Form::Symmetric => "",
                Form::Prime => "A",
                Form::Inverted => "B",
            };
            assert_eq!(class.to_string(), of_class);
            assert_eq!(set.forte_name().to_string(), format!("{of_class}{letter}"));
            assert_eq!((set.forte_name().class(), set.forte_name().form()), (class, set.form()));
            for text in [set.forte_name().to_string(), set.forte_name().to_string().replace('Z', "")] {
                assert_eq!(text.parse::<ForteName>().unwrap(), set.forte_name());
                let text = text.trim_end_matches(['A', 'B']);
                assert_eq!(text.parse::<SetClass>().unwrap(), class);
            }
            names.insert(set.forte_name());
        }
        assert_eq!(names.len(), 352);
        // In the order of their classes, prime forms first.
        assert!(names.iter().map(|name| (name.class(), name.form())).is_sorted());
        assert_eq!(size_of::<ForteName>(), 2);
    }

    #[test]
    fn err_names_say_what_is_wrong() {
        for (text, message, help) in [
            ("4-30", "`4-30` is not a name of a set class", "a name is"),
            ("4-0", "`4-0` is not a name of a set class", "a name is"),
            ("13-1", "`13-1` is not a name of a set class", "a name is"),
            ("+4-1", "`+4-1` is not a name of a set class", "a name is"),
            ("04-1", "`04-1` is not a name of a set class", "a name is"),
            ("", "`` is not a name of a set class", "a name is"),
            ("4-Z27B", "`4-Z27B` has a Z, but no other class has its interval vector", "write `4-27`"),
            ("3-10A", "`3-10A` has a letter, but the class is its own inversion", "write `3-10`"),
            ("3-11", "`3-11` names a class of two forms, expected one of them", "write `3-11A` or `3-11B`"),
        ] {
            let error = text.parse::<ForteName>().unwrap_err();
            assert!(error.is_pitch(), "{error:?}");
            assert_eq!(error.to_string(), message);
            assert!(error.help().unwrap().starts_with(help), "{error:?}");
        }
        let error = "3-11A".parse::<SetClass>().unwrap_err();
        assert_eq!(error.to_string(), "`3-11A` names a form, expected a class");
    }

    /// Names of common chords: music21 10.5.1, with the Z that it leaves out.
    #[test]
    fn ok_published_names_of_chords() {
        for (members, name) in [
            (&[0, 4, 7][..], "3-11B"),
            (&[0, 3, 7], "3-11A"),
            (&[0, 3, 6], "3-10"),
            (&[0, 4, 8], "3-12"),
            (&[0, 5, 7], "3-9"),
            (&[0, 4, 7, 11], "4-20"),
            (&[0, 4, 7, 10], "4-27B"),
            (&[0, 3, 6, 10], "4-27A"),
            (&[0, 3, 7, 10], "4-26"),
            (&[0, 3, 6, 9], "4-28"),
            (&[0, 3, 7, 11], "4-19A"),
            (&[0, 4, 8, 11], "4-19B"),
            (&[0, 4, 8, 10], "4-24"),
            (&[0, 4, 6, 10], "4-25"),
            (&[0, 5, 7, 10], "4-23"),
            (&[0, 4, 6, 11], "4-16A"),
            (&[0, 2, 4, 7, 11], "5-27A"),
            (&[0, 2, 3, 7, 10], "5-27B"),
            (&[0, 2, 4, 7, 10], "5-34"),
            (&[0, 1, 4, 7, 10], "5-31B"),
            (&[0, 3, 4, 7, 10], "5-32B"),
            (&[0, 2, 4, 7, 9], "5-35"),
            (&[0, 2, 4, 7, 9, 10], "6-33A"),
            (&[4, 9, 10, 2], "4-16A"),
            (&[0, 4, 10], "3-8A"),
        ] {
            let set: PitchSet = members.iter().map(|n| PitchClass::constant(*n)).collect();
            assert_eq!(set.forte_name().as_str(), name, "{members:?}");
        }
    }
}
