//! A table of counts: how much of each cell colours, is plain, clashes.

use itertools::{Itertools, iproduct};

use super::lettering::{fitted, size};
use super::palette::{GREEN, VERMILION, WHITE};
use super::svg::{Anchor, Attributes, Look, Svg};
use super::width::Width;

/// How a table of shares is drawn.
#[derive(Clone, Debug, Eq, PartialEq)]
pub struct SharesOptions {
    /// How wide. The picture grows as a whole; its smallest letters are 7 points high in `180mm`, the default, with up to 13 columns.
    pub width: Width,
    /// The heading.
    pub heading: String,
}

impl Default for SharesOptions {
    fn default() -> Self {
        Self { width: Width::constant(180), heading: "Verdicts".to_owned() }
    }
}

/// Units across, a hundredth of a millimetre each in the natural width.
const ACROSS: i64 = 18_000;
const MARGIN: i64 = 100;
/// The names of the rows, left of the cells.
const NAMES: i64 = 1_700;
const ROW: i64 = 460;
const GAP: i64 = 60;
/// What the number of a cell takes of it.
const NUMBER: i64 = 620;
/// A column is at least as wide; where there are many, the picture has more of them across, and smaller.
const NARROWEST: i64 = 1_200;
/// What the parts of a bar are called.
const PARTS: [&str; 3] = ["colour", "plain", "clash"];

/// How much of each cell colours, is plain and clashes, as a bar of three parts beside how many of a hundred colour, as SVG: a
/// line for each of `rows`, a column for each of `columns`; `counts(row, column)` gives how many colour, are plain, clash. A
/// cell of which there is nothing is empty; names that are too wide are cut.
///
/// The parts stand in the same order everywhere and differ in hatch and lightness as well as in colour.
///
/// # Complexity
///
/// Some 400 bytes for each cell.
///
/// # Example
///
/// ```
/// use overshell::picture::{SharesOptions, shares};
///
/// let rows = ["II".to_owned(), "IV".to_owned()];
/// let svg = shares(&rows, &["dominant".to_owned()], |row, _| [[3, 1, 0], [0, 0, 4]][row], &SharesOptions::default());
/// assert!(svg.contains("II over dominant: 75 of 100 colour, 25 are plain, 0 clash"));
/// ```
pub fn shares(
    rows: &[String],
    columns: &[String],
    counts: impl Fn(usize, usize) -> [u64; 3],
    options: &SharesOptions,
) -> String {
    let heading = &options.heading;
    let said = format!(
        "How many of 100 colour, are plain or clash. Rows: {}. Columns: {}.",
        rows.iter().join(", "),
        columns.iter().join(", ")
    );
    let mut svg = Svg::new(heading.clone(), said);
    stripes(&mut svg);
    let look = Look::of(size::HEADING).bold();
    let line = MARGIN + size::HEADING * 4 / 5;
    svg.text(MARGIN, line, look, &fitted(heading, size::HEADING, true, ACROSS - 2 * MARGIN));
    let top = legend(&mut svg, line + 260) + 500;
    let count = i64::try_from(columns.len().max(1)).unwrap_or(i64::MAX);
    let wide = ((ACROSS - 2 * MARGIN - NAMES) / count).max(NARROWEST);
    let usual = Look::of(size::USUAL);
    for (name, x) in columns.iter().zip((MARGIN + NAMES..).step_by(step(wide))) {
        svg.text(x, top - 120, usual, &fitted(name, size::USUAL, false, wide - GAP));
    }
    for (name, y) in rows.iter().zip((top..).step_by(step(ROW))) {
        svg.text(
            MARGIN,
            y + 300,
            Look::of(size::LARGE).bold(),
            &fitted(name, size::LARGE, true, NAMES - GAP),
        );
    }
    for ((row, name), (column, of)) in iproduct!(rows.iter().enumerate(), columns.iter().enumerate()) {
        let place = |at: usize, each: i64| i64::try_from(at).unwrap_or_default() * each;
        let corner = (MARGIN + NAMES + place(column, wide), top + place(row, ROW));
        cell(&mut svg, &format!("{name} over {of}"), counts(row, column), corner, wide - GAP);
    }
    let height = top + i64::try_from(rows.len()).unwrap_or_default() * ROW + MARGIN;
    let across = (2 * MARGIN + NAMES).saturating_add(wide.saturating_mul(count)).max(ACROSS);
    svg.finish((across, height), options.width)
}

fn step(each: i64) -> usize {
    usize::try_from(each.max(1)).unwrap_or(1)
}

fn cell(svg: &mut Svg, name: &str, counts: [u64; 3], (x, y): (i64, i64), wide: i64) {
    let Some(hundredths) = hundredths(counts) else { return };
    let [colour, plain, clash] = hundredths;
    svg.open("g", &[("data-cell", &name), ("data-colour", &colour), ("data-clash", &clash)]);
    svg.hint(&format!("{name}: {colour} of 100 colour, {plain} are plain, {clash} clash"));
    svg.text(x + NUMBER - 120, y + 300, Look::of(size::USUAL).anchored(Anchor::End), &colour.to_string());
    bar(svg, hundredths, (x + NUMBER, y), wide - NUMBER);
    svg.close();
}

/// How many of a hundred; `None` where there is nothing.
fn hundredths([colour, plain, clash]: [u64; 3]) -> Option<[u64; 3]> {
    let counts = crate::census::CensusCounts { colour, plain, clash };
    (counts.all() > 0).then(|| counts.hundredths())
}

fn bar(svg: &mut Svg, hundredths: [u64; 3], (x, y): (i64, i64), wide: i64) {
    let tall = ROW - GAP;
    let stripes = format!("url(#{})", svg.id("stripes"));
    let mut before = 0;
    for (fill, share) in [GREEN, WHITE, stripes.as_str()].into_iter().zip(hundredths) {
        let at = |hundredths: u64| x + wide * i64::try_from(hundredths).unwrap_or_default() / 100;
        let (from, to) = (at(before), at(before + share));
        before += share;
        if to > from {
            let part: Attributes<'_> =
                &[("x", &from), ("y", &y), ("width", &(to - from)), ("height", &tall), ("fill", &fill)];
            svg.empty("rect", part);
        }
    }
    svg.outlined((x, y), (wide, tall), "none");
}

/// What the parts mean. Gives back where it ends.
fn legend(svg: &mut Svg, top: i64) -> i64 {
    let look = Look::of(size::USUAL);
    let mut x = MARGIN;
    for (place, part) in PARTS.into_iter().enumerate() {
        let mut whole = [0; 3];
        if let Some(own) = whole.get_mut(place) {
            *own = 100;
        }
        bar(svg, whole, (x, top), 620);
        svg.text(x + 710, top + 300, look, part);
        x += 710 + look.width(part) + 500;
    }
    svg.text(x, top + 300, look, "number: how many of 100 colour");
    top + ROW
}

/// The hatch of what clashes: stripes on white.
fn stripes(svg: &mut Svg) {
    svg.open("defs", &[]);
    svg.stripes(VERMILION);
    svg.close();
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::picture::check;

    fn names(count: usize) -> Vec<String> {
        (0..count).map(|at| format!("row {at}")).collect()
    }

    /// Every cell says its shares, and its bar is as long as they are.
    #[test]
    fn ok_bars_are_as_long_as_their_shares() {
        let (rows, columns) =
            (names(5), ["dominant".to_owned(), "a family with quite a long name".to_owned()]);
        let counts = |row: usize, column: usize| {
            [[row as u64, 1, column as u64], [0, 0, 0], [7, 0, 0], [0, 0, 9], [1, 1, 1]][row]
        };
        let svg = shares(&rows, &columns, counts, &SharesOptions::default());
        let elements = check::laws(&svg);
        let cells: Vec<_> =
            elements.iter().enumerate().filter(|(_, e)| e.get("data-cell").is_some()).collect();
        assert_eq!(cells.len(), 2 * 4);
        for (at, element) in cells {
            let colour: i64 = element.get("data-colour").unwrap().parse().unwrap();
            let parts: Vec<_> =
                elements.iter().filter(|e| e.within.contains(&at) && e.name == "rect").collect();
            let wide = |of: &str| {
                parts
                    .iter()
                    .filter(|e| e.get("fill") == Some(of))
                    .map(|e| e.get("width").unwrap().parse::<i64>().unwrap())
                    .sum::<i64>()
            };
            let whole = wide("none");
            assert!(
                (wide(GREEN) * 100 - colour * whole).abs() <= 100,
                "{}",
                element.get("data-cell").unwrap()
            );
            let texts: Vec<_> =
                elements.iter().filter(|e| e.within.contains(&at) && e.name == "text").collect();
            assert_eq!(texts[0].text, colour.to_string());
        }
        assert_eq!(svg, shares(&rows, &columns, counts, &SharesOptions::default()));
    }

    #[test]
    fn ok_nothing_at_all() {
        check::laws(&shares(&[], &[], |_, _| [1; 3], &SharesOptions::default()));
        check::laws(&shares(
            &names(2),
            &names(30),
            |_, _| [1, 2, 3],
            &SharesOptions { heading: "x".repeat(300), ..Default::default() },
        ));
    }
}
