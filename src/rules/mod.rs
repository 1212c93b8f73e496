//! What is good, and why: rules as data.
//!
//! A [`RuleSet`] is read from a TOML file (`rules/standard.toml` is the default), checked as a whole, and prepared for
//! a chord by [`RuleSet::judge_for`]. The [`Judge`] says of a voicing whether it clashes, is plain or colours the
//! chord, what it costs and earns in integer points, and which rules said so.
//!
//! Verdict: [`Verdict::Clash`] if a rule that forbids has fired; otherwise [`Verdict::Plain`] where the colour gained
//! is under the set's threshold; otherwise [`Verdict::Colour`]. No float takes part, so the answer is the same on
//! every machine.
//!
//! # Kinds of rule
//!
//! | kind | looks at |
//! |---|---|
//! | `tone` | one degree over the chord |
//! | `pair` | two degrees, the one below the other |
//! | `interval` | a distance between voices, whatever their degrees |
//! | `needs` | something that must sound |
//! | `doubling` | a degree in more than one octave |
//! | `spacing` | how far apart voices lie |
//! | `register` | where on the keyboard; low interval limits |
//! | `reach` | how far a hand stretches |
//! | `melody` | the note on top and the notes that follow it |
//! | `function` | the tensions that suit what a chord does in its key |
//! | `structure` | a hand as a whole: one of these triads, or one of these shells |
//! | `roughness` | how rough the whole sounds, by a model of hearing |
//! | `motion` | the way from one chord to the next |
//!
//! The format is written down key by key in `rules/README.md`, which is [`format_reference`] with an introduction. Where
//! data does not suffice, a [`Rule`] or a [`MotionRule`] is written in code.
//!
//! # Sets
//!
//! [`RuleSet::standard`] is the default; [`RuleSet::names`] lists the others that ship. [`RuleSet::load`] takes a name, a
//! file or a folder; [`RuleSet::from_toml`] a text; [`RuleSet::over_toml`] lays a text on top of a set. What a set says:
//! [`RuleSet::describe`], [`RuleSet::explain`], [`RuleSet::diff`]; what it says in vain: [`RuleSet::warnings`].
//!
//! # Example
//!
//! ```
//! use overshell::chord::chord;
//! use overshell::rules::{RuleSet, Verdict};
//!
//! let rules = RuleSet::standard();
//! let d_over_c7 = rules.judge(chord("C7"), &"C3 E3 Bb3 | F#4 A4 D5".parse()?);
//! assert_eq!(d_over_c7.verdict, Verdict::Colour);
//! let f_over_c7 = rules.judge(chord("C7"), &"C3 E3 Bb3 | F4 A4 C5".parse()?);
//! assert_eq!(f_over_c7.verdict, Verdict::Clash);
//! println!("{}: {}", f_over_c7.findings[0].message, f_over_c7.findings[0].help);
//! # Ok::<(), overshell::Error>(())
//! ```

mod case;
mod condition;
mod embedded;
mod finding;
mod format;
mod judge;
mod kind;
mod plug_in;
mod rule;
mod set;
mod situation;

pub use finding::{Effect, Finding};
pub use format::format_reference;
#[cfg(feature = "schema")]
pub use format::json_schema;
pub(crate) use judge::{FiredRules, Memory, Rights, Runs, keys};
pub use judge::{Judge, Judgement, Score, Verdict};
pub use plug_in::{Context, MotionRule, Report, Rule};
pub use set::{Difference, RuleDescription, RuleSet, Warning};
pub use situation::{MovingNote, Situation};
