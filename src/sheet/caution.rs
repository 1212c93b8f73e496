//! The usual caution for players, printed on the first page of what is written for two hands.

/// The usual caution: common teaching practice, no medical advice.
///
/// Wide stretches held or repeated with force, and long practice without a break, are reported risk factors for
/// playing-related pain (Furuya et al., *Medical Problems of Performing Artists* 21, 2006; that the evidence on hand size
/// itself is mixed: Chi, Halaki & Ackermann, *Applied Ergonomics* 88, 2020; both read as abstracts).
pub const CAUTION: &str = "The usual caution: wide stretches held or repeated with force, and long practice without \
a break, are reported risk factors. Stop if it hurts. Roll a chord, share it between the hands or leave notes out. \
If in doubt, ask a teacher or a doctor.";
