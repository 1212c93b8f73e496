//! What is known around a chord when it is judged.

use crate::chord::Function;
use crate::pitch::Pitch;
use crate::voicing::HandSize;

/// A melody note that sounds while the chord is held.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
pub struct MovingNote {
    /// Its MIDI number.
    pub key: u8,
    /// Its share of the chord's time, in sixteenths of it, `1..=16`.
    pub sixteenths: u8,
}

/// What is known around a chord when it is judged. The default knows nothing: no function, no melody, nobody else
/// playing, medium hands.
///
/// # Example
///
/// ```
/// use overshell::chord::{chord, Function};
/// use overshell::rules::{RuleSet, Situation};
///
/// let rules = RuleSet::standard();
/// let going_to_e_minor = Situation { function: Some(Function::ToThree), ..Situation::default() };
/// let judge = rules.judge_for(chord("B7"), &going_to_e_minor);
/// // C#m holds 9 and 13 over B7... which fight the key on the way to E minor.
/// let judgement = judge.judge(&"B2 A3 | D#4 G#4 C#5".parse()?);
/// assert!(judgement.findings.iter().any(|f| f.rule == "tensions-to-minor"));
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Situation {
    /// What the chord does in its key.
    pub function: Option<Function>,
    /// The melody note that the right hand has on top.
    pub melody: Option<Pitch>,
    /// The melody notes that follow it while the chord sounds on.
    pub moving: Vec<MovingNote>,
    /// For what the hands reach.
    pub hand_size: HandSize,
    /// Whether somebody else plays the bass, so that the hands need not have the root.
    pub bass_player: bool,
}
