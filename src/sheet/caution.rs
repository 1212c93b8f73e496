//! The usual caution for players, printed on the first page of what is written for two hands.

/// The usual caution: common teaching practice, no medical advice.
///
/// Wide stretches held or repeated with force, and long practice without a break, are reported risk factors for
/// playing-related pain (handbook of check values, part 1, section 12).
pub const CAUTION: &str = "The usual caution: wide stretches held or repeated with force, and long practice without \
a break, are reported risk factors. Stop if it hurts. Roll a chord, share it between the hands or leave notes out. \
If in doubt, ask a teacher or a doctor.";
