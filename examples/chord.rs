//! Explains a chord symbol: its parts, what it means, how others write it, which scales go with it.
//!
//! ```text
//! cargo run --release --example chord -- "Bb7(b9,#11)/D"
//! ```

#[macro_use]
mod shared;

use std::process::ExitCode;

use clap::Parser;
use overshell::chord::scale::ScaleChoice;
use overshell::chord::symbol::Layer;
use overshell::chord::vocabulary::{Loss, abc, harte, musicxml};
use overshell::chord::{AvoidPolicy, Chord, ChordSymbol, Function, Key, Style, scales_for, scales_in};
use serde_json::{Map, Value, json};

/// Says what a chord symbol means and how others write it
#[derive(Parser)]
struct Arguments {
    /// The symbol, such as "Bb7(b9,#11)/D"
    symbol: String,
    /// What the chord does in its key, such as "V7/ii", for the choice of scales
    #[arg(long)]
    function: Option<String>,
    /// The key that it stands in, for the choice of scales
    #[arg(long)]
    key: Option<String>,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    shared::run(|| explain(&arguments))
}

fn explain(arguments: &Arguments) -> overshell::Result<()> {
    let symbol: ChordSymbol = arguments.symbol.parse()?;
    let function = arguments.function.as_deref().map(str::parse::<Function>).transpose()?;
    let answers = match symbol.chord() {
        Some(chord) => {
            let key = arguments.key.as_deref().map(str::parse::<Key>).transpose()?;
            let scales =
                key.map_or_else(|| scales_for(chord, function), |key| scales_in(chord, function, key));
            of_chord(&symbol, chord, &scales)
        }
        None => vec![("means", vec!["no chord sounds".to_owned()])],
    };
    if arguments.json {
        let answers: Map<String, Value> =
            answers.into_iter().map(|(question, lines)| (question.to_owned(), lines.into())).collect();
        say!("{:#}", json!({ "symbol": symbol, "answers": answers }));
        return Ok(());
    }
    say!("{symbol}");
    for (question, lines) in answers {
        for (at, line) in lines.iter().enumerate() {
            say!("  {:14} {line}", if at == 0 { question } else { "" });
        }
    }
    Ok(())
}

fn of_chord(symbol: &ChordSymbol, chord: Chord, scales: &[ScaleChoice]) -> Vec<(&'static str, Vec<String>)> {
    let text = symbol.as_str();
    let parts = |layer: &Layer| {
        let root = std::iter::once((layer.root().start, layer.root().end));
        let signs = layer.elements().iter().map(|part| (part.start, part.end));
        let bass = layer.bass().map(|part| (part.start, part.end));
        let spans = root.chain(signs).chain(bass);
        itertools::join(spans.filter_map(|(start, end)| text.get(start.into()..end.into())), " · ")
    };
    let notes = chord
        .tones()
        .by_number()
        .into_iter()
        .map(|degree| format!("{degree} {}", degree.name_over(chord.root())));
    let lost = |text: &str, losses: &[Loss]| {
        let losses = losses.iter().map(|loss| format!("  not exact, {loss}"));
        std::iter::once(text.to_owned()).chain(losses).collect::<Vec<_>>()
    };
    let harmony = musicxml::write(chord);
    let degrees = itertools::join(&harmony.value.degrees, " ");
    let kind = format!("{} {degrees}", harmony.value.kind);
    let (label, plain) = (harte::write(chord), abc::write(chord));
    let scales = scales.iter().map(|choice| {
        let listed = |word: &str, degrees: String| match degrees.as_str() {
            "" => String::new(),
            _ => format!("; {word} {degrees}"),
        };
        format!(
            "{}: {}{}{}",
            choice.scale,
            choice.reason,
            listed("take", choice.scale.available(chord, AvoidPolicy::default()).to_string()),
            listed("avoid", choice.scale.avoid(chord, AvoidPolicy::default()).to_string())
        )
    });
    let mut means = vec![chord.to_string()];
    if !symbol.unsaid().is_empty() {
        let unsaid = itertools::join(symbol.unsaid().iter().map(|class| class.get()), " ");
        means.push(format!("  not exact, no symbol says the pitch classes {unsaid} as well"));
    }
    vec![
        ("parts", symbol.upper().into_iter().chain(symbol.lower()).map(parts).collect()),
        ("means", means),
        ("with signs", vec![symbol.in_style(Style::Unicode).to_string()]),
        ("in words", vec![symbol.in_style(Style::Long).to_string()]),
        ("notes", vec![notes.collect::<Vec<_>>().join(", ")]),
        ("set class", vec![chord.pitch_set().forte_name().to_string()]),
        ("MusicXML", lost(kind.trim(), &harmony.losses)),
        ("research label", lost(&label.value, &label.losses)),
        ("ABC", lost(&plain.value, &plain.losses)),
        ("scales", scales.collect()),
    ]
}
