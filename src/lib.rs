//! Two-hand keyboard voicings: a shell in the left hand, a triad above it in the right.
//!
//! A plain dominant becomes a rich chord by an easy thought: play root, third and seventh in the left hand, and another
//! triad above. Which triads colour a chord, which fight it, which add nothing; what results; which go under a melody
//! note; what ten fingers can play and how the lines run; and all of it for a whole lead sheet: that is what this crate
//! answers, with a reason for every answer.
//!
//! ```
//! use overshell::chord::chord;
//! use overshell::rules::{RuleSet, Verdict};
//! use overshell::search::catalogue;
//!
//! let entries = catalogue(chord("C7"), RuleSet::standard(), &Default::default())?;
//! let colours = entries.iter().filter(|entry| entry.verdict == Verdict::Colour);
//! let names: Vec<String> = colours.map(|entry| entry.label.to_string()).collect();
//! assert!(["II", "bIII", "bV", "bVI", "VI", "i", "bii", "biii", "#iv"].iter().all(|l| names.contains(&l.to_string())));
//! # Ok::<(), overshell::Error>(())
//! ```
//!
//! # The layers
//!
//! | module | answers |
//! |---|---|
//! | [`pitch`] | what a note is |
//! | [`chord`] | what a symbol asks for, what keys are called, what a chord does in its key |
//! | [`voicing`] | what two hands play |
//! | [`rules`] | what is good, and why: data in TOML, integer points, findings with a rule id |
//! | [`search`] | which is best: over a chord, under a melody note, through a tune |
//! | [`census`] | what there is: every triad over every shell, numbered |
//! | [`picture`] | what it looks like: keys, catalogues and voices as SVG |
//! | `sheet` | tunes in, pages and sound out (feature `sheet`) |
//!
//! Each uses only those above it (`sheet` no pictures).
//!
//! # Cookbook
//!
//! **Judge a voicing.** [`rules::RuleSet::judge`]; many voicings of one chord: [`rules::RuleSet::judge_for`].
//!
//! ```
//! use overshell::chord::chord;
//! use overshell::rules::RuleSet;
//!
//! let judgement = RuleSet::standard().judge(chord("C7"), &"C3 E3 Bb3 | F4 A4 C5".parse()?);
//! assert_eq!(judgement.verdict.to_string(), "clash");
//! assert_eq!(judgement.findings[0].help, "raise it to the sharp eleventh, or make the chord a suspension");
//! # Ok::<(), overshell::Error>(())
//! ```
//!
//! **Bring your own taste.** [`rules::RuleSet::load`] takes a rule file, [`rules::RuleSet::with_rule`] a rule in code.
//!
//! **Find the triads under a melody note.** [`search::under_melody`].
//!
//! **Arrange a progression.** [`search::arrange`].
//!
//! ```
//! use overshell::rules::RuleSet;
//! use overshell::search::{Progression, arrange};
//!
//! let progression =
//!     Progression::from_symbols("F", [("Gm7", "Bb4"), ("C7", "G4"), ("Fmaj7", "A4")])?;
//! let arrangement = arrange(&progression, RuleSet::standard(), Default::default())?;
//! for chord in &arrangement.chords {
//!     println!("{}", chord.voicing.unwrap());
//! }
//! # Ok::<(), overshell::Error>(())
//! ```
//!
//! **Answer while the chords come.** [`search::Live`].
//!
//! **Read a chord symbol, and write it as others do.** [`ChordSymbol`], [`chord::Style`], [`chord::vocabulary`].
//!
//! **Name what sounds.** [`chord::readings`]. **Find scales and avoid notes.** [`chord::scales_for`]. **Find keys and
//! functions.** [`chord::analyse`]. **Reharmonise.** [`chord::reharmonise`], [`search::Progression::reharmonised`].
//!
//! ```
//! use overshell::chord::{NamingOptions, analyse, chord, readings, scales_for};
//! use overshell::pitch::PitchSet;
//!
//! let keys: PitchSet = "C E Bb D F# A".parse()?;
//! let name = readings(keys, &NamingOptions::played_for(chord("C7"))).next().unwrap();
//! assert_eq!(name.chord().to_string(), "C13(#11)");
//! assert_eq!(scales_for(name.chord(), None)[0].scale.to_string(), "Lydian b7");
//! let tune = ["Abm7", "Db7", "Cmaj7"].map(|symbol| Some(chord(symbol)));
//! assert_eq!(analyse(&tune, None).chords[1].unwrap().function.to_string(), "subV7");
//! # Ok::<(), overshell::Error>(())
//! ```
//!
//! **Change the taste.** Write a rule file that extends the standard set: [`rules::RuleSet::from_toml`].
//!
//! **Arrange a lead sheet.** `sheet::read`, `LeadSheet::progression`, [`search::arrange`], `sheet::write_musicxml`; the
//! example `arrange` is just that.
//!
//! **Have all of it.** [`census::Census`].
//!
//! **Draw it.** [`picture::keyboard`], [`picture::heat_map`], [`picture::strip`].
//!
//! ```
//! use overshell::chord::chord;
//! use overshell::picture::{KeyboardOptions, keyboard};
//!
//! let svg = keyboard(chord("C7"), &"C3 E3 Bb3 | F#4 A4 D5".parse()?, &KeyboardOptions::default());
//! assert!(svg.starts_with("<svg ") && svg.contains("Left hand: C3 (1), E3 (3), Bb3 (b7)."));
//! # Ok::<(), overshell::Error>(())
//! ```
//!
//! # What it does not do
//!
//! It does not play, draw notation, finger a passage, or recognise chords in audio. It does not know what sounds good to
//! you: it knows rules, and says which of them spoke.
//!
//! # Features
//!
//! Features gate dependencies; none changes an answer. `sheet` (default): readers and writers. `parallel` (default): many
//! tunes at once. `arrow`: the census as record batches. `engraving`: pages as pictures, by an engraver that is built from source.

pub mod census;
mod characters;
pub mod chord;
#[cfg(feature = "engraving")]
pub mod engraving;
pub mod error;
pub mod picture;
pub mod pitch;
mod registers;
pub mod rules;
pub mod search;
#[cfg(feature = "sheet")]
pub mod sheet;
pub mod voicing;

pub use chord::{Chord, ChordSymbol, Degree};
pub use error::{Error, Result};
pub use pitch::Pitch;
pub use rules::{RuleSet, Verdict};
pub use voicing::{Shell, Triad, Voicing};

/// The example of the README compiles and runs.
#[cfg(doctest)]
#[doc = include_str!("../README.md")]
struct Readme;
