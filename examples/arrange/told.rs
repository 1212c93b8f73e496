//! An arrangement as a table.

use overshell::search::{ArrangedChord, Arrangement};
use overshell::sheet::{Report, ReportChord};

/// Prints all chords of an arrangement.
pub(crate) fn print(report: &Report, arrangement: &Arrangement) {
    let title = if report.title.is_empty() { "untitled" } else { &report.title };
    let octave = if report.octave_shift == 0 { "as written" } else { "an octave above the page" };
    say!("{title}, key {}, melody {octave}, total cost {}\n", report.key, report.cost);
    say!(
        "{:>5} {:>4} {:>5}  {:10} {:12} {:6}  {:18} {:20} {:12} tensions",
        "chord",
        "bar",
        "beat",
        "symbol",
        "function",
        "melody",
        "left",
        "right",
        "structure"
    );
    for (chord, arranged) in report.chords.iter().zip(&arrangement.chords) {
        say!("{:>5} {}", arranged.slot + 1, row(chord, arranged));
    }
    say!();
}

/// What a reader must not miss in a row.
fn remark(chord: &ReportChord, arranged: &ArrangedChord) -> String {
    match arranged.played_as {
        _ if chord.clash => "(clash)".to_owned(),
        _ if chord.left.is_empty() => "(not voiced)".to_owned(),
        Some(way) => format!("(played as {way})"),
        None => String::new(),
    }
}

fn row(chord: &ReportChord, arranged: &ArrangedChord) -> String {
    let beat = format!("{:.2}", chord.beat);
    format!(
        "{:>4} {:>5}  {:10} {:12} {:6}  {:18} {:20} {:12} {} {}",
        chord.bar,
        beat.trim_end_matches('0').trim_end_matches('.'),
        chord.symbol,
        chord.function.as_deref().unwrap_or("-"),
        chord.melody.map_or_else(|| "-".to_owned(), |m| m.to_string()),
        itertools::join(&chord.left, " "),
        itertools::join(&chord.right, " "),
        chord.structure.as_ref().map_or_else(String::new, |s| format!("{} {}", s.label, s.triad)),
        itertools::join(&chord.tensions, " "),
        remark(chord, arranged),
    )
    .trim_end()
    .to_owned()
}
