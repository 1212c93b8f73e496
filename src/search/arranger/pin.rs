//! What a user fixes or forbids.

use crate::chord::Chord;
use crate::error::{Error, Kind, Result};
use crate::pitch::PitchSet;
use crate::search::candidates::Shape;
use crate::voicing::{Hand, Label, Shell, Voicing};

/// Something to be played over a chord, or to be avoided there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pin {
    /// What.
    pub what: Pinned,
    /// Whether it is to be avoided.
    pub avoid: bool,
}

/// What a [`Pin`] speaks of. Hands and voicings are told apart by their keys, not by spelling.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pinned {
    /// Both hands, note for note; need not be a candidate of its own.
    Voicing(Voicing),
    /// The left hand, note for note; need not be a candidate of its own.
    Left(Hand),
    /// The right hand, note for note; need not be a candidate of its own.
    Right(Hand),
    /// A shell in the left hand, in any octave.
    Shell(Shell),
    /// A triad in the right hand, in any inversion and spacing, by its label over the chord.
    Structure(Label),
}

impl Pin {
    /// This must be played.
    pub const fn play(what: Pinned) -> Self {
        Self { what, avoid: false }
    }

    /// This must not be played.
    pub const fn avoid(what: Pinned) -> Self {
        Self { what, avoid: true }
    }

    /// Whether two hands meet it.
    pub(super) fn allows(&self, chord: Chord, left: &Shape, right: &Shape) -> bool {
        self.what.is_played(chord, left, right) != self.avoid
    }
}

impl Pinned {
    /// The hands that it names.
    pub(super) fn hands(&self) -> [Option<Hand>; 2] {
        match self {
            Self::Voicing(voicing) => [Some(*voicing.left()), Some(*voicing.right())],
            Self::Left(hand) => [Some(*hand), None],
            Self::Right(hand) => [None, Some(*hand)],
            Self::Shell(_) | Self::Structure(_) => [None, None],
        }
    }

    fn is_played(&self, chord: Chord, left: &Shape, right: &Shape) -> bool {
        let same = |hand: &Hand, shape: &Shape| crate::rules::keys(hand.pitches()) == shape.keys;
        let set = |shape: &Shape| shape.hand.pitches().iter().map(|p| p.pitch_class()).collect::<PitchSet>();
        match self {
            Self::Voicing(voicing) => same(voicing.left(), left) && same(voicing.right(), right),
            Self::Left(hand) => same(hand, left),
            Self::Right(hand) => same(hand, right),
            Self::Shell(shell) => shell.degrees(chord).is_some_and(|degrees| {
                let root = chord.root().pitch_class();
                let classes = left.hand.pitches().iter().map(|p| p.pitch_class());
                degrees.iter().map(|degree| degree.class_over(root)).eq(classes)
            }),
            Self::Structure(label) => {
                right.hand.len() == 3 && label.triad_over(chord).pitch_set() == set(right)
            }
        }
    }
}

impl std::fmt::Display for Pin {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let verb = if self.avoid { "avoid" } else { "play" };
        match self.what {
            Pinned::Voicing(voicing) => write!(f, "{verb} `{voicing}`"),
            Pinned::Left(hand) => write!(f, "{verb} `{hand}` in the left hand"),
            Pinned::Right(hand) => write!(f, "{verb} `{hand}` in the right hand"),
            Pinned::Shell(shell) => write!(f, "{verb} the shell `{shell}`"),
            Pinned::Structure(label) => write!(f, "{verb} the structure `{label}`"),
        }
    }
}

impl std::str::FromStr for Pin {
    type Err = Error;

    /// Reads what is pinned, with `avoid` in front where it must not be played: a voicing (`C3 E3 Bb3 | F#4 A4 D5`), `left` or
    /// `right` and a hand, `shell` and a shell (`shell 1 3 7`), `structure` and a label (`avoid structure II`).
    fn from_str(text: &str) -> Result<Self> {
        let trimmed = text.trim();
        let (avoid, rest) = match trimmed.strip_prefix("avoid ") {
            Some(rest) => (true, rest),
            None => (false, trimmed.strip_prefix("play ").unwrap_or(trimmed)),
        };
        let (first, behind) = rest.trim().split_once(' ').unwrap_or((rest, ""));
        let what = match first {
            "left" if !behind.is_empty() => behind.parse().map(Pinned::Left),
            "right" if !behind.is_empty() => behind.parse().map(Pinned::Right),
            "shell" => behind.parse().map(Pinned::Shell),
            "structure" => behind.parse().map(Pinned::Structure),
            _ if rest.contains('|') => rest.parse().map(Pinned::Voicing),
            _ => Err(Error::new(Kind::Pitch, format!("`{}` is nothing to pin", crate::pitch::shown(text)))
                .with_help(
                    "pin a voicing (`C3 E3 Bb3 | F#4 A4 D5`), `left C3 Bb3`, `right F#4 A4 D5`, `shell 1 3 7` or `structure II`, \
                     with `avoid` in front where it must not be played",
                )),
        };
        Ok(Self { what: what?, avoid })
    }
}

/// Finds which pins cannot be met: one alone, or the first two that do not go together; `can(pins)` says whether some can.
pub(super) fn conflict(place: usize, chord: Chord, pins: &[Pin], can: impl Fn(&[Pin]) -> bool) -> Error {
    let here = |message: String| Error::new(Kind::NoAnswer, format!("chord {place} (`{chord}`): {message}"));
    if let Some(pin) = pins.iter().find(|pin| !can(&[**pin])) {
        return here(format!("no candidate meets the pin: {pin}")).with_help(
            "pin a voicing note for note, which need not be a candidate, or take the pin away; the melody note stays on top",
        );
    }
    let pairs = pins.iter().enumerate().flat_map(|(at, a)| pins.iter().skip(at + 1).map(move |b| (a, b)));
    for (a, b) in pairs {
        if !can(&[*a, *b]) {
            return here(format!("two pins conflict: {a}, and {b}")).with_help("take one of the two away");
        }
    }
    let all = itertools::join(pins, ", ");
    here(format!("no candidate meets all pins: {all}"))
        .with_help("any two of them go together; take one away")
}

/// A pinned hand must leave the melody note on top.
pub(super) fn meets_melody(place: usize, pin: &Pin, melody: Option<crate::pitch::Pitch>) -> Result<()> {
    let [left, right] = pin.what.hands();
    let top = right.and_then(|hand| hand.highest()).or_else(|| left.and_then(|hand| hand.highest()));
    let (Some(melody), Some(top), false) = (melody, top, pin.avoid) else { return Ok(()) };
    let fits = if right.is_some() { top.midi() == melody.midi() } else { top.midi() < melody.midi() };
    if fits {
        return Ok(());
    }
    let expected = if right.is_some() { "on top" } else { "above it" };
    Err(Error::new(
        Kind::NoAnswer,
        format!("chord {place}: {pin} ends on `{top}`, expected the melody note `{melody}` {expected}"),
    )
    .with_help("give the pinned hand the melody note, or the slot another melody"))
}
