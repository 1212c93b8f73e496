//! A voicing on a keyboard.

use itertools::Itertools;

use super::keys::{Keys, is_black};
use super::lettering::{fitted, size};
use super::palette::{BLACK, BLUE, ORANGE, WHITE};
use super::spread::spread;
use super::svg::{Anchor, Look, Svg};
use super::width::Width;
use crate::chord::Chord;
use crate::pitch::Pitch;
use crate::voicing::{Hand, Voicing};

/// What is written at the keys that sound.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq, Hash)]
pub enum KeyText {
    /// What the note is in the chord, and its name: `b7` over `Bb3`.
    #[default]
    DegreesAndNames,
    /// Its name: `Bb3`.
    Names,
    /// What it is in the chord: `b7`.
    Degrees,
    /// Nothing: the description holds all of it, and so does what is shown to whoever points at a key.
    Nothing,
}

/// How a voicing is drawn on a keyboard.
#[derive(Clone, Debug, Eq, PartialEq)]
pub struct KeyboardOptions {
    /// How wide. The picture grows as a whole; its smallest letters are 7 points high in `60mm`, the default.
    pub width: Width,
    /// What is written at the keys that sound.
    pub text: KeyText,
    /// The heading. `None`: the chord symbol.
    pub heading: Option<String>,
}

impl Default for KeyboardOptions {
    fn default() -> Self {
        Self { width: Width::constant(60), text: KeyText::default(), heading: None }
    }
}

/// Which hand.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub(super) enum Side {
    Left,
    Right,
}

impl Side {
    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}

/// Units across, a hundredth of a millimetre each in the natural width.
const ACROSS: i64 = 6_000;
const MARGIN: i64 = 80;
/// From the labels to the keys.
const LEADERS: i64 = 240;
const LINE: i64 = size::USUAL + 30;

/// A voicing over a chord on a keyboard, as SVG.
///
/// The left hand is marked by dark squares, and what its notes are is written below the keys; the right hand by light
/// circles, written above. The keys are the whole octaves that hold the voicing.
///
#[cfg_attr(doc, doc = include_str!("../../docs/keyboard.svg"))]
///
/// # Complexity
///
/// Linear in the number of keys drawn, at most 132; 16 kB at the most, the heading apart.
///
/// # Example
///
/// ```
/// use overshell::chord::chord;
/// use overshell::picture::{KeyboardOptions, keyboard};
///
/// let svg = keyboard(chord("C7"), &"C3 E3 Bb3 | F#4 A4 D5".parse()?, &KeyboardOptions::default());
/// assert!(svg.contains("Right hand: F#4 (#11), A4 (13), D5 (9)."));
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn keyboard(chord: Chord, voicing: &Voicing, options: &KeyboardOptions) -> String {
    let heading = options.heading.clone().unwrap_or_else(|| chord.to_string());
    let mut svg = Svg::new(format!("Two hands on a keyboard: {heading}"), description(chord, voicing));
    let keys = Keys::around(voicing.pitches().map(Pitch::midi), MARGIN, ACROSS - 2 * MARGIN);
    let labels = [Side::Left, Side::Right].map(|side| Labels::new(chord, voicing, side, keys, options.text));
    let [below, above] = &labels;

    let line = MARGIN + size::HEADING * 4 / 5;
    let look = Look::of(size::HEADING).bold();
    svg.text(MARGIN, line, look, &fitted(&heading, look.size, look.bold, ACROSS - 2 * MARGIN));
    let top = line + 130 + above.height();
    let long = (4 * keys.white_width()).clamp(900, 1_700);
    let mut board = Board { svg, keys, top, long };
    board.draw();
    above.lines(&mut board);
    below.lines(&mut board);
    for side in [Side::Left, Side::Right] {
        for pitch in of(voicing, side).pitches() {
            let label = labels.iter().find(|labels| labels.side == side).and_then(|labels| labels.of(*pitch));
            board.note(chord, *pitch, side, label);
        }
    }
    let Board { mut svg, .. } = board;
    let bottom = legend(&mut svg, voicing, top + long + below.height() + 120);
    svg.finish((ACROSS, bottom + MARGIN), options.width)
}

fn of(voicing: &Voicing, side: Side) -> &Hand {
    match side {
        Side::Left => voicing.left(),
        Side::Right => voicing.right(),
    }
}

fn description(chord: Chord, voicing: &Voicing) -> String {
    let hand = |hand: &Hand| match hand.is_empty() {
        true => "nothing".to_owned(),
        false => {
            hand.pitches().iter().map(|p| format!("{p} ({})", chord.degree_of(p.pitch_class()))).join(", ")
        }
    };
    format!("Chord {chord}. Left hand: {}. Right hand: {}.", hand(voicing.left()), hand(voicing.right()))
}

/// What is written at the notes of one hand.
struct Labels {
    side: Side,
    lines: usize,
    labels: Vec<Label>,
}

/// What is written at one note.
struct Label {
    pitch: Pitch,
    /// The middle of the label, and of the key.
    x: i64,
    key: i64,
    texts: Vec<(Look, String)>,
}

impl Labels {
    fn new(chord: Chord, voicing: &Voicing, side: Side, keys: Keys, text: KeyText) -> Self {
        let degree = Look::of(size::USUAL).bold().anchored(Anchor::Middle);
        let name = Look::of(size::USUAL).anchored(Anchor::Middle);
        let texts = |pitch: Pitch| {
            let (number, letter) = (chord.degree_of(pitch.pitch_class()).to_string(), pitch.to_string());
            match text {
                KeyText::DegreesAndNames => vec![(degree, number), (name, letter)],
                KeyText::Names => vec![(name, letter)],
                KeyText::Degrees => vec![(degree, number)],
                KeyText::Nothing => Vec::new(),
            }
        };
        let mut labels: Vec<Label> = of(voicing, side)
            .pitches()
            .iter()
            .map(|pitch| Label { pitch: *pitch, x: 0, key: keys.middle(pitch.midi()), texts: texts(*pitch) })
            .collect();
        let wide =
            |label: &Label| label.texts.iter().map(|(look, text)| look.width(text)).max().unwrap_or(0) + 70;
        let wanted: Vec<(i64, i64)> = labels.iter().map(|label| (label.key, wide(label))).collect();
        for (label, x) in labels.iter_mut().zip(spread(&wanted, 0, ACROSS)) {
            label.x = x;
        }
        let lines = labels.iter().map(|label| label.texts.len()).max().unwrap_or(0);
        Self { side, lines, labels }
    }

    /// With the lines that lead to the keys.
    fn height(&self) -> i64 {
        if self.lines == 0 { 0 } else { LINE * i64::try_from(self.lines).unwrap_or(0) + LEADERS }
    }

    fn of(&self, pitch: Pitch) -> Option<&Label> {
        self.labels.iter().find(|label| label.pitch == pitch)
    }

    /// The lines from the labels to the keys.
    fn lines(&self, board: &mut Board) {
        if self.lines == 0 {
            return;
        }
        for Label { pitch, x, key, .. } in &self.labels {
            let mark = board.mark(pitch.midi());
            let (edge, far, to) = match self.side {
                // Down to the top of the keys, and on a white key down to the mark.
                Side::Right => (
                    board.top,
                    board.top - LEADERS + 40,
                    if is_black(pitch.midi()) { board.top } else { mark.1 },
                ),
                // Up to the lower end of the keys, and for a black one on between the white ones.
                Side::Left => (board.top + board.long, board.top + board.long + LEADERS - 40, mark.1),
            };
            board.svg.line((*x, far), (*key, edge), BLACK, 14);
            if to != edge {
                board.svg.line((*key, edge), (*key, to), BLACK, 14);
            }
        }
    }
}

/// The keys, drawn from `top` on.
struct Board {
    svg: Svg,
    keys: Keys,
    top: i64,
    /// The length of a white key.
    long: i64,
}

impl Board {
    /// The length of a black key: some two thirds of a white one's.
    fn short(&self) -> i64 {
        self.long * 16 / 25
    }

    fn draw(&mut self) {
        let (top, long, short) = (self.top, self.long, self.short());
        let line = (self.keys.white_width() / 20).clamp(4, 10);
        for (black, fill, length) in [(false, WHITE, long), (true, BLACK, short)] {
            self.svg.open("g", &[("fill", &fill), ("stroke", &BLACK), ("stroke-width", &line)]);
            for key in self.keys.all().filter(|key| is_black(*key) == black) {
                let (from, to) = self.keys.edges(key);
                let wide = to - from;
                let place: super::svg::Attributes<'_> =
                    &[("x", &from), ("y", &top), ("width", &wide), ("height", &length)];
                self.svg.empty("rect", place);
            }
            self.svg.close();
        }
    }

    /// The middle of the mark on a key.
    fn mark(&self, key: u8) -> (i64, i64) {
        let y = if is_black(key) { self.short() - self.short() / 5 } else { self.long - self.long / 6 };
        (self.keys.middle(key), self.top + y)
    }

    /// The mark on a key that sounds, and what is written at it.
    fn note(&mut self, chord: Chord, pitch: Pitch, side: Side, label: Option<&Label>) {
        let (key, black) = (pitch.midi(), is_black(pitch.midi()));
        let (x, y) = self.mark(key);
        let wide = self.keys.white_width();
        let half = if black { wide * 26 / 100 } else { wide * 36 / 100 }.clamp(20, 190);
        let outline = (half / 5).clamp(5, 30);
        self.svg.open("g", &[("data-key", &key), ("data-hand", &side.name())]);
        self.svg.hint(&format!("{pitch}, {}, {} hand", chord.degree_of(pitch.pitch_class()), side.name()));
        mark(&mut self.svg, side, (x, y), half, (if black { WHITE } else { BLACK }, outline));
        if let Some(label) = label {
            let (up, down) = (self.top - LEADERS, self.top + self.long + LEADERS + size::USUAL * 3 / 4);
            let lines = i64::try_from(label.texts.len()).unwrap_or(0);
            for (at, (look, text)) in (0..).zip(&label.texts) {
                let y = match side {
                    Side::Right => up - (lines - 1 - at) * LINE,
                    Side::Left => down + at * LINE,
                };
                self.svg.text(label.x, y, *look, text);
            }
        }
        self.svg.close();
    }
}

/// The mark of a hand: a dark square, a light circle.
fn mark(svg: &mut Svg, side: Side, (x, y): (i64, i64), half: i64, (stroke, thickness): (&str, i64)) {
    match side {
        Side::Left => {
            let (left, top, across) = (x - half, y - half, 2 * half);
            let place: super::svg::Attributes<'_> = &[
                ("x", &left),
                ("y", &top),
                ("width", &across),
                ("height", &across),
                ("fill", &BLUE),
                ("stroke", &stroke),
                ("stroke-width", &thickness),
            ];
            svg.empty("rect", place);
        }
        Side::Right => {
            let place: super::svg::Attributes<'_> = &[
                ("cx", &x),
                ("cy", &y),
                ("r", &half),
                ("fill", &ORANGE),
                ("stroke", &stroke),
                ("stroke-width", &thickness),
            ];
            svg.empty("circle", place);
        }
    }
}

/// Which mark is which hand's, for those that play. Gives back where it ends.
fn legend(svg: &mut Svg, voicing: &Voicing, top: i64) -> i64 {
    let mut x = MARGIN + 100;
    let mut bottom = top;
    for side in [Side::Left, Side::Right] {
        if of(voicing, side).is_empty() {
            continue;
        }
        mark(svg, side, (x, top + 110), 80, (BLACK, 14));
        let (look, text) = (Look::of(size::USUAL), format!("{} hand", side.name()));
        svg.text(x + 170, top + 200, look, &text);
        x += 170 + look.width(&text) + 400;
        bottom = top + 240;
    }
    bottom
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::{Quality, chord};
    use crate::picture::check;
    use crate::pitch::NoteName;

    const TEXTS: [KeyText; 4] =
        [KeyText::DegreesAndNames, KeyText::Names, KeyText::Degrees, KeyText::Nothing];

    /// Everything that a diagram promises.
    fn hold(chord: Chord, voicing: &Voicing, text: KeyText) {
        let svg = keyboard(chord, voicing, &KeyboardOptions { text, ..KeyboardOptions::default() });
        let elements = check::laws(&svg);
        let expected: Vec<(String, u8, Vec<String>)> = [Side::Left, Side::Right]
            .into_iter()
            .flat_map(|side| of(voicing, side).pitches().iter().map(move |pitch| (side, *pitch)))
            .map(|(side, pitch)| {
                let (degree, name) = (chord.degree_of(pitch.pitch_class()).to_string(), pitch.to_string());
                let texts = match text {
                    KeyText::DegreesAndNames => vec![degree, name],
                    KeyText::Names => vec![name],
                    KeyText::Degrees => vec![degree],
                    KeyText::Nothing => vec![],
                };
                (side.name().to_owned(), pitch.midi(), texts)
            })
            .collect();
        assert_eq!(check::notes(&elements), expected);
        for (at, group) in
            elements.iter().enumerate().filter(|(_, element)| element.get("data-key").is_some())
        {
            let shape = if group.get("data-hand") == Some("left") { "rect" } else { "circle" };
            let inside =
                |name: &str| elements.iter().filter(|e| e.name == name && e.within.contains(&at)).count();
            assert_eq!((inside("rect") + inside("circle"), inside(shape)), (1, 1));
        }
        assert!(svg.len() < 16_000, "{}", svg.len());
        assert_eq!(svg, keyboard(chord, voicing, &KeyboardOptions { text, ..KeyboardOptions::default() }));
    }

    /// Single notes, the widest and the thickest hands, hands at both ends of MIDI, and nothing at all.
    #[test]
    fn ok_odd_voicings() {
        for text in TEXTS {
            for voicing in [
                " | ",
                "C3 | ",
                " | C8",
                "C-1 | G9",
                "C3 C#3 D3 D#3 E3 | F3 F#3 G3 G#3 A3",
                "Ebb3 Fbb3 Gbb3 Abb3 Bbb3 | Cbb5 Dbb5 Ebb5 Fbb5 Gbb5",
                "B3 | C4",
                "C-1 C#-1 D-1 D#-1 E-1 | D#9 E9 F9 F#9 G9",
                "C3 E3 Bb3 | F#4 A4 D5",
            ] {
                hold(chord("C7"), &voicing.parse().unwrap(), text);
            }
        }
    }

    /// Every chord that is named, on every root, in a voicing of its tones.
    #[test]
    fn all_chords_are_drawn() {
        for root in NoteName::all() {
            for (_, quality) in Quality::NAMED {
                let chord = Chord::new(root, *quality);
                let mut keys = chord.tones().iter().filter_map(|degree| {
                    let name = degree.name_over(root);
                    Pitch::from_midi(48 + name.pitch_class().get(), name)
                });
                let left = Hand::new(keys.by_ref().take(1)).unwrap();
                let right = Hand::new(keys.filter_map(|pitch| pitch.shift_octaves(1)).take(5)).unwrap();
                hold(chord, &Voicing::new(left, right).unwrap(), KeyText::default());
            }
        }
    }

    #[test]
    fn ok_headings_are_held_whatever_they_say() {
        for heading in
            ["", "<&\"'>", "A very long heading that nobody could read on so narrow a picture", "\u{0}\n"]
        {
            let options = KeyboardOptions { heading: Some(heading.to_owned()), ..KeyboardOptions::default() };
            check::laws(&keyboard(chord("C7"), &"C3 | E4".parse().unwrap(), &options));
        }
    }

    fn hand() -> impl proptest::strategy::Strategy<Value = Vec<u8>> {
        proptest::collection::vec(0u8..=127, 0..10)
    }

    proptest::proptest! {
        #[test]
        fn prop_any_voicing(mut keys in hand(), split in 0usize..6, fifths in -15i8..=19) {
            keys.sort_unstable();
            keys.dedup();
            let chord = Chord::new(NoteName::from_fifths(fifths).unwrap(), Quality::DOMINANT_SEVENTH);
            let pitches: Vec<Pitch> = keys
                .iter()
                .filter_map(|key| {
                    let class = crate::pitch::PitchClass::wrapping(i32::from(*key));
                    Pitch::from_midi(*key, chord.degree_of(class).name_over(chord.root()))
                })
                .collect();
            let split = split.min(pitches.len()).min(5);
            let left = Hand::new(pitches[..split].iter().copied()).unwrap();
            let right = Hand::new(pitches[split..].iter().copied().take(5)).unwrap();
            for text in TEXTS {
                hold(chord, &Voicing::new(left, right).unwrap(), text);
            }
        }
    }
}
