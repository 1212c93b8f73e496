//! Says what each chord of a progression does, in which key, and what else could stand there.
//!
//! ```text
//! cargo run --release --example analyse -- Dm7 G7 Cmaj7 Em7b5 A7 Dm7 G7 C6
//! ```

#[macro_use]
mod shared;

use std::process::ExitCode;

use clap::Parser;
use itertools::Itertools;
use overshell::Result;
use overshell::chord::{Chord, ChordSymbol, Key, Reharmonisation, analyse};
use serde_json::json;

/// Says what each chord does in its key, why, and what else could stand there
#[derive(Parser)]
struct Arguments {
    /// The chords in order, such as Dm7 G7 Cmaj7
    #[arg(required = true)]
    chords: Vec<String>,
    /// The key; estimated where none is given
    #[arg(long)]
    key: Option<String>,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    shared::run(|| progression(&arguments))
}

fn progression(arguments: &Arguments) -> Result<()> {
    let symbols: Vec<ChordSymbol> = arguments
        .chords
        .iter()
        .flat_map(|text| text.split_whitespace())
        .map(str::parse)
        .collect::<Result<_>>()?;
    let key = arguments.key.as_deref().map(str::parse::<Key>).transpose()?;
    let chords: Vec<Option<Chord>> = symbols.iter().map(ChordSymbol::chord).collect();
    let analysis = analyse(&chords, key);
    let mut rows = Vec::new();
    for (at, (symbol, found)) in symbols.iter().zip(&analysis.chords).enumerate() {
        let Some(found) = found else {
            rows.push(json!({ "symbol": symbol, "function": null }));
            continue;
        };
        let root = found.chord.root().pitch_class();
        let target =
            chords.iter().skip(at + 1).flatten().copied().find(|next| next.root().pitch_class() != root);
        let instead: Vec<_> = Reharmonisation::ALL
            .into_iter()
            .filter_map(|identity| {
                let new = identity.of(found.chord, target, None).ok()?;
                Some(json!({ "by": identity, "chords": new.chords, "reason": new.reason.to_string() }))
            })
            .collect();
        rows.push(json!({
            "symbol": symbol, "key": found.key, "function": found.function, "reason": found.reason.to_string(),
            "instead": instead,
        }));
    }
    // Where nothing sounds, an estimate says nothing.
    let key = (key.is_some() || chords.iter().any(Option::is_some)).then_some(analysis.key);
    if arguments.json {
        let origin = key.map(|_| analysis.origin.to_string());
        say!("{:#}", json!({ "key": key, "key_is": origin, "chords": rows }));
        return Ok(());
    }
    match key {
        Some(key) => say!("in {key}, {}", analysis.origin),
        None => say!("no chord sounds, so there is no key to find"),
    }
    for row in &rows {
        let text = |key: &str| row.get(key).and_then(|value| value.as_str()).unwrap_or("-").to_owned();
        say!("  {:12} {:4} {:12} {}", text("symbol"), text("key"), text("function"), text("reason"));
        let instead = row.get("instead").and_then(|value| value.as_array()).into_iter().flatten();
        let instead = instead
            .filter_map(|new| {
                let chords =
                    new.get("chords")?.as_array()?.iter().filter_map(|chord| chord.as_str()).join(" ");
                Some(format!("{chords} ({})", new.get("by")?.as_str()?))
            })
            .join(", ");
        if !instead.is_empty() {
            say!("  {:12} {:4} {:12} or {instead}", "", "", "");
        }
    }
    Ok(())
}
