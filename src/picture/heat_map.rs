//! What every triad does over one chord, at a glance.

use itertools::{Itertools, iproduct};

use super::lettering::{fitted, size};
use super::palette::{BLACK, FAINT, GREEN, Ground, VERMILION, WHITE};
use super::svg::{Anchor, Attributes, Look, Svg};
use super::width::Width;
use crate::chord::{Chord, Degree, DegreeSet};
use crate::rules::Verdict;
use crate::search::CatalogueEntry;
use crate::voicing::{Label, Triad, TriadKind};

/// How a heat map is drawn.
#[derive(Clone, Debug, Eq, PartialEq)]
pub struct HeatMapOptions {
    /// How wide. The picture grows as a whole; its smallest letters are 7 points high in `180mm`, the default.
    pub width: Width,
    /// The heading. `None`: `triads over C7`.
    pub heading: Option<String>,
}

impl Default for HeatMapOptions {
    fn default() -> Self {
        Self { width: Width::constant(180), heading: None }
    }
}

/// Units across, a hundredth of a millimetre each in the natural width.
const ACROSS: i64 = 18_000;
const MARGIN: i64 = 100;
/// The names of the rows, left of the cells.
const NAMES: i64 = 1_300;
/// From one cell to the next, and what of it stays free.
const COLUMN: i64 = 3_300;
const ROW: i64 = 900;
const GAP: i64 = 60;
/// The part of a cell that shows the verdict.
const SIGN: i64 = 620;
/// The verdicts from the best on.
const VERDICTS: [Verdict; 3] = [Verdict::Colour, Verdict::Plain, Verdict::Clash];

/// The entries of a catalogue over its chord as a map, as SVG: a row for each of the twelve roots, from the chord's own
/// upwards, a column for each kind of triad.
///
/// A cell says the verdict by a sign (a disc: colour; a bar: plain; a cross: clash), by hatch and by colour; the label and
/// name of the triad, and which tensions it holds. An augmented triad has three roots, and stands in three cells. A cell is
/// empty where no entry is about its triad; of several entries about one the first counts.
///
#[cfg_attr(doc, doc = include_str!("../../docs/heat-map.svg"))]
///
/// # Complexity
///
/// 60 cells, whatever there are entries; some 50 kB.
///
/// # Example
///
/// ```
/// use overshell::chord::chord;
/// use overshell::picture::{HeatMapOptions, heat_map};
/// use overshell::rules::RuleSet;
/// use overshell::search::catalogue;
///
/// let entries = catalogue(chord("C7"), RuleSet::standard(), &Default::default())?;
/// let svg = heat_map(chord("C7"), &entries, &HeatMapOptions::default());
/// assert!(svg.contains("Triads over C7"));
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn heat_map(chord: Chord, entries: &[CatalogueEntry], options: &HeatMapOptions) -> String {
    // What the entries mean, they mean over the chord as the catalogue takes it.
    let chord = chord.as_played().without_bass();
    let heading = options.heading.clone().unwrap_or_else(|| format!("Triads over {chord}"));
    let mut svg = Svg::new(heading.clone(), description(chord, entries));
    stripes(&mut svg);

    let line = MARGIN + size::HEADING * 4 / 5;
    let look = Look::of(size::HEADING).bold();
    svg.text(MARGIN, line, look, &fitted(&heading, look.size, look.bold, ACROSS - 2 * MARGIN));
    let top = line + 620;
    for (column, kind) in (0..).zip(TriadKind::ALL) {
        let x = MARGIN + NAMES + column * COLUMN;
        svg.text(x, top - 140, Look::of(size::USUAL), kind.name());
    }
    for (row, semitones) in (0..).zip(0..12u8) {
        let (degree, y) = (degree_at(chord, semitones), top + row * ROW);
        svg.text(MARGIN, y + 370, Look::of(size::LARGE).bold(), degree.as_str());
        svg.text(MARGIN, y + 700, Look::of(size::USUAL), &degree.name_over(chord.root()).to_string());
    }
    for ((row, semitones), (column, kind)) in iproduct!((0..).zip(0..12u8), (0..).zip(TriadKind::ALL)) {
        let place = (MARGIN + NAMES + column * COLUMN, top + row * ROW);
        cell(&mut svg, chord, Triad::over(chord, semitones, kind), entries, place);
    }
    let bottom = legend(&mut svg, entries, top + 12 * ROW + 120);
    svg.finish((ACROSS, bottom + MARGIN), options.width)
}

fn degree_at(chord: Chord, semitones: u8) -> Degree {
    chord.degree_of(chord.root().pitch_class().up(i32::from(semitones)))
}

/// The entry about a triad: the one with its keys.
fn entry_of(entries: &[CatalogueEntry], triad: Triad) -> Option<&CatalogueEntry> {
    let same = |entry: &&CatalogueEntry| {
        entry.triad.kind() == triad.kind() && entry.triad.pitch_set() == triad.pitch_set()
    };
    entries.iter().find(same)
}

/// What the tensions of an entry are called together.
fn tensions(entry: &CatalogueEntry) -> String {
    let tensions: DegreeSet = entry.degrees.into_iter().filter(|degree| degree.is_tension()).collect();
    match tensions.is_empty() {
        true => "no tension".to_owned(),
        false => tensions.by_number().iter().join(" "),
    }
}

/// All that the picture shows, by verdict.
fn description(chord: Chord, entries: &[CatalogueEntry]) -> String {
    let said = VERDICTS.map(|verdict| {
        let of_it = entries.iter().filter(|entry| entry.verdict == verdict);
        let mut said =
            of_it.map(|entry| format!("{} {} ({})", entry.label, entry.triad, tensions(entry))).join(", ");
        if said.is_empty() {
            said.push_str("none");
        }
        format!("{verdict}: {said}.")
    });
    format!("What each triad does over {chord}, by label, name and tensions. {}", said.join(" "))
}

fn cell(svg: &mut Svg, chord: Chord, triad: Triad, entries: &[CatalogueEntry], (x, y): (i64, i64)) {
    let (wide, tall) = (COLUMN - GAP, ROW - GAP);
    let Some(entry) = entry_of(entries, triad) else {
        let frame: Attributes<'_> = &[
            ("x", &x),
            ("y", &y),
            ("width", &wide),
            ("height", &tall),
            ("fill", &"none"),
            ("stroke", &FAINT),
            ("stroke-width", &10),
            ("stroke-dasharray", &"60 60"),
        ];
        svg.empty("rect", frame);
        return;
    };
    let label = triad.label_over(chord);
    let ground = ground(entry.verdict);
    svg.open("g", &[("data-label", &label), ("data-verdict", &entry.verdict)]);
    svg.hint(&hint(entry, label, triad));
    svg.outlined((x, y), (wide, tall), ground.fill());
    sign(svg, entry.verdict, (x, y), (SIGN, tall));
    let text = x + SIGN + 90;
    svg.text(text, y + 350, Look::of(size::LARGE).bold().on(ground), &label.to_string());
    let name = Look::of(size::USUAL).on(ground).anchored(Anchor::End);
    svg.text(x + wide - 70, y + 350, name, &triad.to_string());
    svg.text(text, y + 690, Look::of(size::USUAL).on(ground), &tensions(entry));
    svg.close();
}

/// What is shown to whoever points at a cell: the rules that fired.
fn hint(entry: &CatalogueEntry, label: Label, triad: Triad) -> String {
    let rules = entry.findings.iter().map(|finding| finding.rule.as_str()).join(", ");
    let of_rules = if rules.is_empty() { String::new() } else { format!(" ({rules})") };
    format!("{label}, {triad}: {}{of_rules}; {}", entry.verdict, entry.best.voicing)
}

const fn ground(verdict: Verdict) -> Ground {
    match verdict {
        Verdict::Colour => Ground::Colour,
        Verdict::Plain => Ground::Paper,
        Verdict::Clash => Ground::Clash,
    }
}

/// The hatch of what clashes: stripes on white.
fn stripes(svg: &mut Svg) {
    svg.open("defs", &[]);
    svg.stripes(VERMILION);
    svg.close();
}

/// The sign of a verdict on its ground: a white disc on solid green, a black bar on white, a black cross on stripes.
fn sign(svg: &mut Svg, verdict: Verdict, (x, y): (i64, i64), (wide, tall): (i64, i64)) {
    let stripes = format!("url(#{})", svg.id("stripes"));
    let fill = match verdict {
        Verdict::Colour => GREEN,
        Verdict::Plain => WHITE,
        Verdict::Clash => stripes.as_str(),
    };
    svg.outlined((x, y), (wide, tall), fill);
    let (middle, line) = (x + wide / 2, y + tall / 2);
    match verdict {
        Verdict::Colour => {
            svg.empty("circle", &[("cx", &middle), ("cy", &line), ("r", &150), ("fill", &WHITE)])
        }
        Verdict::Plain => svg.line((middle - 140, line), (middle + 140, line), BLACK, 60),
        Verdict::Clash => {
            svg.line((middle - 150, line - 150), (middle + 150, line + 150), BLACK, 80);
            svg.line((middle - 150, line + 150), (middle + 150, line - 150), BLACK, 80);
        }
    }
}

/// What the signs mean, and how many triads have each. Gives back where it ends.
fn legend(svg: &mut Svg, entries: &[CatalogueEntry], top: i64) -> i64 {
    let mut x = MARGIN + NAMES;
    for verdict in VERDICTS {
        let count = entries.iter().filter(|entry| entry.verdict == verdict).count();
        sign(svg, verdict, (x, top), (SIGN, 460));
        let (look, text) = (Look::of(size::USUAL), format!("{verdict}: {count}"));
        svg.text(x + SIGN + 90, top + 320, look, &text);
        x += SIGN + 90 + look.width(&text) + 500;
    }
    if entries.iter().any(|entry| entry.triad.kind() == TriadKind::Augmented) {
        svg.text(
            x,
            top + 320,
            Look::of(size::USUAL).on(Ground::Aside),
            "an augmented triad stands on three roots",
        );
    }
    top + 460
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::{Quality, chord};
    use crate::picture::check;
    use crate::pitch::NoteName;
    use crate::rules::RuleSet;
    use crate::search::catalogue;

    fn entries(chord: Chord) -> Vec<CatalogueEntry> {
        catalogue(chord, RuleSet::standard(), &Default::default()).unwrap()
    }

    /// Every cell says what its entry says, in text and by the sign that belongs to the verdict.
    fn hold(over: Chord, entries: &[CatalogueEntry]) {
        let svg = heat_map(over, entries, &HeatMapOptions::default());
        let elements = check::laws(&svg);
        let cells: Vec<_> =
            elements.iter().enumerate().filter(|(_, element)| element.get("data-label").is_some()).collect();
        let roots = |entry: &CatalogueEntry| if entry.triad.kind() == TriadKind::Augmented { 3 } else { 1 };
        assert_eq!(cells.len(), entries.iter().map(roots).sum::<usize>());
        for (at, cell) in cells {
            let label: Label = cell.get("data-label").unwrap().parse().unwrap();
            let set = label.triad_over(over).pitch_set();
            let entry = entries
                .iter()
                .find(|e| e.triad.kind() == label.kind() && e.triad.pitch_set() == set)
                .unwrap();
            assert_eq!(cell.get("data-verdict"), Some(entry.verdict.to_string().as_str()));
            let inside = |name: &str| {
                elements.iter().filter(|e| e.within.contains(&at) && e.name == name).collect::<Vec<_>>()
            };
            let signs = (inside("circle").len(), inside("line").len());
            assert_eq!(
                signs,
                match entry.verdict {
                    Verdict::Colour => (1, 0),
                    Verdict::Plain => (0, 1),
                    Verdict::Clash => (0, 2),
                }
            );
            let texts: Vec<&str> = inside("text").iter().map(|e| e.text.as_str()).collect();
            assert_eq!(texts, [label.to_string(), label.triad_over(over).to_string(), tensions(entry)]);
        }
        assert!(svg.len() < 80_000, "{}", svg.len());
        assert_eq!(svg, heat_map(over, entries, &HeatMapOptions::default()));
    }

    #[test]
    fn all_roots_of_usual_chords() {
        for root in NoteName::all().filter(|name| name.accidental().semitones().abs() < 2) {
            for quality in [Quality::DOMINANT_SEVENTH, chord("Cmaj7").quality(), chord("Cm7b5").quality()] {
                let over = Chord::new(root, quality);
                hold(over, &entries(over));
            }
        }
    }

    #[test]
    fn ok_tensions_by_hand() {
        let entries = entries(chord("C7"));
        let of =
            |label: &str| tensions(entries.iter().find(|entry| entry.label.to_string() == label).unwrap());
        // Published results of the structures: Wikipedia, "Upper structure", citing Levine, *The Jazz Piano Book*, ch. 14.
        assert_eq!(
            (of("II"), of("bVI"), of("#iv")),
            ("9 #11 13".into(), "#9 b13".into(), "b9 #11 13".into())
        );
        assert_eq!(of("I"), "no tension");
    }

    #[test]
    fn ok_parts_of_a_catalogue_leave_cells_empty() {
        let all = entries(chord("C7"));
        hold(chord("C7"), &[]);
        hold(chord("C7"), &all[..7]);
        let svg = heat_map(chord("C7"), &[], &HeatMapOptions::default());
        assert!(svg.contains("colour: none. plain: none. clash: none."));
        // The first of two entries about one triad counts.
        let mut twice = all.clone();
        twice.extend(all.iter().rev().cloned());
        let count = |svg: &str| svg.matches("data-verdict").count();
        let options = HeatMapOptions::default();
        assert_eq!(
            count(&heat_map(chord("C7"), &twice, &options)),
            count(&heat_map(chord("C7"), &all, &options))
        );
    }

    /// What a chord is over another bass, or as an eleventh chord, it is in its catalogue.
    #[test]
    fn ok_the_chord_is_the_one_of_the_catalogue() {
        for symbol in ["C7/E", "C11", "Db7alt", "F#m7b5", "C5", "Bbdim7"] {
            let over = chord(symbol);
            hold(over.as_played().without_bass(), &entries(over));
            assert_eq!(
                heat_map(over, &entries(over), &HeatMapOptions::default()),
                heat_map(over.as_played().without_bass(), &entries(over), &HeatMapOptions::default())
            );
        }
    }
}
