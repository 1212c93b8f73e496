//! What two hands play: shells, triads, hands, voicings.
//!
//! A [`Shell`] is a selection of root, third and seventh for the left hand, a [`Triad`] is what the right hand puts
//! above it; a [`Voicing`] is both hands in sounding pitches, left below right.
//!
//! # Example
//!
//! ```
//! use overshell::chord::chord;
//! use overshell::voicing::{Inversion, Shell, Spacing, Triad, TriadKind, Voicing};
//! use overshell::pitch::{note, pitch};
//!
//! let c7 = chord("C7");
//! let left = Shell::RootThirdSeventh.hand_from(c7, 48).unwrap(); // C3 E3 Bb3
//! let d_major = Triad::new(note("D"), TriadKind::Major);
//! let right = d_major.hand_above(Inversion::First, Spacing::Close, 59).unwrap();
//! let voicing = Voicing::new(left, right)?;
//! assert_eq!(voicing.to_string(), "C3 E3 Bb3 | F#4 A4 D5");
//! assert_eq!(d_major.label_over(c7).to_string(), "II");
//! # Ok::<(), overshell::Error>(())
//! ```

mod finger_spans;
mod fingering;
mod hand;
mod hand_size;
mod inversion;
mod keyboard;
mod label;
mod low_limits;
mod named;
mod roughness;
mod shell;
mod triad;
mod two_hands;

pub use finger_spans::FingerSpans;
pub use fingering::{FingerTable, Fingering, Side, cheapest_fingering};
pub use hand::Hand;
pub use hand_size::{HandSize, HandSpan};
pub use inversion::{Inversion, Spacing};
pub use keyboard::Keyboard;
pub use label::Label;
pub use low_limits::LowLimits;
pub use roughness::{RoughnessModel, RoughnessTable};
pub use shell::Shell;
pub use triad::{Triad, TriadKind};
pub use two_hands::Voicing;

crate::pitch::serde_as_text!(
    FingerTable,
    Hand,
    HandSize,
    LowLimits,
    RoughnessModel,
    Voicing,
    Shell,
    Triad,
    Label
);
