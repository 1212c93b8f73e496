//! The voices of a tune, chord by chord.

mod columns;
mod voices;

use std::collections::BTreeMap;

use itertools::Itertools;

use self::columns::{Column, Part, STRUCTURE, SYMBOL};
use super::lettering::{CAPITALS, fitted, size};
use super::palette::{BLACK, BLUE, FAINT, Ground, VERMILION};
use super::svg::{Anchor, Attributes, Look, Svg};
use super::width::Width;
use crate::pitch::Pitch;
use crate::search::Arrangement;

/// How the voices of a tune are drawn.
#[derive(Clone, Debug, Eq, PartialEq)]
pub struct StripOptions {
    /// How wide a row is: more chords stand in a wider one, the letters stay as they are (at least 6 points). The default:
    /// `180mm`.
    pub width: Width,
    /// The heading; none where it is empty.
    pub heading: String,
    /// The chord symbols as written, by slot. A chord without one, or played otherwise than asked, has its own.
    pub symbols: Vec<String>,
}

impl Default for StripOptions {
    fn default() -> Self {
        Self { width: Width::constant(180), heading: String::new(), symbols: Vec::new() }
    }
}

const MARGIN: i64 = 100;
/// Left of the first column: the names of the Cs.
const AXIS: i64 = 600;
/// A semitone upwards.
const STEP: i64 = 200;
/// The height of a note.
const TALL: i64 = 190;
/// From the top of a row, where the numbers stand, to the highest note; and from the lowest one to the next row.
const ABOVE: i64 = 400;
const BELOW: i64 = 1_050;
/// From the lowest note to the lines under it.
const TO_SYMBOL: i64 = 460;
const TO_STRUCTURE: i64 = 770;
const NAME: Look = Look::of(size::SMALL).bold().anchored(Anchor::Middle);
const NUMBER: Look = Look::of(size::SMALL).anchored(Anchor::Middle).on(Ground::Aside);

/// The voices of an arrangement, as SVG: a column for each chord from left to right, in as many rows as it takes; pitch
/// upwards, each C with a line; a line from each note to where its voice goes in the next chord.
///
/// The left hand has dark boxes and plain lines, the right hand light round ones and broken lines, the melody on top a
/// thick edge and a thick line. Voices are matched as rules on motion match them: hand by hand, without crossings, the melody
/// by itself; where there are more notes on one side, a voice splits or two join. Under each chord stand its symbol and its
/// upper structure, above it its number, counted from 1.
///
#[cfg_attr(doc, doc = include_str!("../../../docs/strip.svg"))]
///
/// # Complexity
///
/// Linear in the number of chords, in time and in size: two to three kB a chord of six notes.
///
/// # Example
///
/// ```
/// use overshell::picture::{StripOptions, strip};
/// use overshell::rules::RuleSet;
/// use overshell::search::{Progression, arrange};
///
/// let chords = [("Gm7", "Bb4"), ("C7", "A4"), ("Fmaj7", "A4")];
/// let progression = Progression::from_symbols("F", chords)?;
/// let arrangement = arrange(&progression, RuleSet::standard(), Default::default())?;
/// let options = StripOptions { heading: "Home to F".to_owned(), ..StripOptions::default() };
/// assert!(strip(&arrangement, &options).contains("Home to F"));
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn strip(arrangement: &Arrangement, options: &StripOptions) -> String {
    let columns: Vec<Column> =
        arrangement.chords.iter().map(|chord| Column::new(chord, &options.symbols)).collect();
    let title = match options.heading.trim() {
        "" => "The voices of a tune".to_owned(),
        heading => format!("The voices of a tune: {heading}"),
    };
    let across = i64::from(options.width.millimetres()) * 100;
    let mut svg = Svg::new(title, description(&columns));
    let mut y = MARGIN;
    if !options.heading.trim().is_empty() {
        let look = Look::of(size::HEADING).bold();
        svg.text(MARGIN, y + 300, look, &fitted(&options.heading, look.size, look.bold, across - 2 * MARGIN));
        y += 500;
    }
    if columns.is_empty() {
        svg.text(MARGIN, y + 250, Look::of(size::USUAL), "no chords");
        return svg.finish((across, y + 400), options.width);
    }
    y = legend(&mut svg, across, y) + 200;
    for row in rows(&columns, across - AXIS - 2 * MARGIN) {
        let (low, high) = range(&columns, &row);
        let frame = Frame { across, top: y, low, high };
        frame.draw(&mut svg, &columns, row);
        y += frame.height();
    }
    svg.finish((across, y), options.width)
}

/// From the lowest to the highest key of a row and the chords beside it, to which its lines lead; middle C where none sounds.
fn range(columns: &[Column], row: &std::ops::Range<usize>) -> (u8, u8) {
    let around = columns.iter().take(row.end + 1).skip(row.start.saturating_sub(1));
    let keys = around.flat_map(|column| column.notes.iter().map(|(_, pitch)| pitch.midi()));
    keys.minmax().into_option().unwrap_or((60, 60))
}

/// All that the picture shows.
fn description(columns: &[Column]) -> String {
    let chords = columns.iter().map(Column::description).join(" ");
    format!("{} chords from left to right, pitch upwards. {chords}", columns.len()).trim_end().to_owned()
}

/// Where each row of columns starts and ends: as many in each as there is room for, at least one.
fn rows(columns: &[Column], room: i64) -> Vec<std::ops::Range<usize>> {
    let mut rows = Vec::new();
    let (mut start, mut taken) = (0, 0);
    for (at, column) in columns.iter().enumerate() {
        if at > start && taken + column.width() > room {
            rows.push(start..at);
            (start, taken) = (at, 0);
        }
        taken += column.width();
    }
    rows.push(start..columns.len());
    rows
}

/// A row: as high as its notes need, from `top` on.
struct Frame {
    across: i64,
    top: i64,
    low: u8,
    high: u8,
}

impl Frame {
    fn height(&self) -> i64 {
        ABOVE + i64::from(self.high - self.low) * STEP + BELOW
    }

    /// The middle of a note's height.
    fn y(&self, midi: u8) -> i64 {
        self.top + ABOVE + (i64::from(self.high) - i64::from(midi)) * STEP
    }

    fn draw(&self, svg: &mut Svg, columns: &[Column], row: std::ops::Range<usize>) {
        let (left, right) = (MARGIN + AXIS, self.across - MARGIN);
        for midi in (self.low..=self.high).filter(|midi| midi % 12 == 0) {
            let y = self.y(midi);
            svg.line((left, y), (right, y), FAINT, 12);
            let look = Look::of(size::SMALL).on(Ground::Aside);
            svg.text(MARGIN, y + half_letter(look), look, &format!("C{}", i32::from(midi) / 12 - 1));
        }
        let mut x = left;
        let middles: BTreeMap<usize, i64> = row
            .clone()
            .zip(columns.get(row.clone()).unwrap_or_default())
            .map(|(at, column)| {
                let middle = x + column.width() / 2;
                x += column.width();
                (at, middle)
            })
            .collect();
        // From the chord before the row to its first, from chord to chord, and from its last to the one after it.
        for at in row.start.saturating_sub(1)..row.end {
            let (Some(column), Some(next)) = (columns.get(at), columns.get(at + 1)) else { continue };
            for (part, from, to) in column.voices_to(next) {
                let (y, next_y) = (self.y(from.midi()), self.y(to.midi()));
                let seam = (y + next_y) / 2;
                let ends = match (middles.get(&at), middles.get(&(at + 1))) {
                    (Some(x), Some(next_x)) => [(x + wide(from) / 2, y), (next_x - wide(to) / 2, next_y)],
                    (Some(x), None) => [(x + wide(from) / 2, y), (right, seam)],
                    (None, Some(next_x)) => [(left, seam), (next_x - wide(to) / 2, next_y)],
                    (None, None) => continue,
                };
                voice(svg, part, ends);
            }
        }
        for (at, x) in middles {
            if let Some(column) = columns.get(at) {
                self.column(svg, column, x);
            }
        }
    }

    fn column(&self, svg: &mut Svg, column: &Column, x: i64) {
        svg.text(x, self.top + 160, NUMBER, &column.number.to_string());
        for (part, pitch) in &column.notes {
            svg.open("g", &[("data-key", &pitch.midi()), ("data-hand", &part.side().name())]);
            svg.hint(&format!("{pitch}, {}, chord {}", part.name(), column.number));
            note(svg, *part, (x, self.y(pitch.midi())), wide(*pitch), &pitch.to_string());
            svg.close();
        }
        let line = self.y(self.low);
        svg.text(x, line + TO_SYMBOL, SYMBOL, &column.short_symbol());
        if !column.structure.is_empty() {
            svg.text(x, line + TO_STRUCTURE, STRUCTURE, &column.structure);
        }
    }
}

/// From the middle of a line of capitals to its foot.
const fn half_letter(look: Look) -> i64 {
    look.size * CAPITALS / 200
}

/// How wide the box of a note is.
fn wide(pitch: Pitch) -> i64 {
    boxed(&pitch.to_string())
}

/// How wide the box of a text is.
fn boxed(text: &str) -> i64 {
    (NAME.width(text) + 130).max(560)
}

/// The box of a note: dark and square for the left hand, light and round for the right, with a thick edge for the melody,
/// which takes nothing from the room within.
fn note(svg: &mut Svg, part: Part, (x, y): (i64, i64), wide: i64, text: &str) {
    let (ground, round, edge, more) = match part {
        Part::Left => (Ground::Left, 0, 8, 0),
        Part::Right => (Ground::Right, TALL / 2, 10, 0),
        Part::Melody => (Ground::Right, TALL / 2 + 15, 30, 15),
    };
    let (left, top, fill) = (x - wide / 2 - more, y - TALL / 2 - more, ground.fill());
    let place: Attributes<'_> = &[
        ("x", &left),
        ("y", &top),
        ("width", &(wide + 2 * more)),
        ("height", &(TALL + 2 * more)),
        ("rx", &round),
        ("fill", &fill),
        ("stroke", &BLACK),
        ("stroke-width", &edge),
    ];
    svg.empty("rect", place);
    svg.text(x, y + half_letter(NAME), NAME.on(ground), text);
}

/// The line of a voice.
fn voice(svg: &mut Svg, part: Part, [from, to]: [(i64, i64); 2]) {
    let (stroke, thickness, dashes) = match part {
        Part::Left => (BLUE, 28, None),
        Part::Right => (VERMILION, 28, Some("90 60")),
        Part::Melody => (BLACK, 44, None),
    };
    svg.dashed_line(from, to, stroke, thickness, dashes);
}

/// Who is who. Gives back where it ends.
fn legend(svg: &mut Svg, across: i64, top: i64) -> i64 {
    let (mut x, mut y) = (MARGIN, top);
    for part in Part::ALL {
        let wide = boxed(part.name());
        if x > MARGIN && x + wide + 500 > across - MARGIN {
            (x, y) = (MARGIN, y + TALL + 120);
        }
        let middle = y + 120;
        voice(svg, part, [(x, middle), (x + wide + 500, middle)]);
        note(svg, part, (x + 250 + wide / 2, middle), wide, part.name());
        x += wide + 900;
    }
    y + 240
}

#[cfg(test)]
mod tests;
