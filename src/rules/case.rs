//! The cases by which a rule file tests itself.

use super::fields::{Faults, Fields};
use super::judge::{Judgement, Situation, Verdict};
use super::set::RuleSet;
use crate::chord::{Chord, Function};
use crate::pitch::Pitch;
use crate::voicing::{Hand, Voicing};

/// A voicing with what the set must say of it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Case {
    chord: Chord,
    voicing: Voicing,
    function: Option<Function>,
    melody: Option<Pitch>,
    verdict: Option<Verdict>,
    fires: Vec<String>,
    spares: Vec<String>,
}

const VERDICTS: [(&str, Verdict); 3] =
    [("clash", Verdict::Clash), ("plain", Verdict::Plain), ("colour", Verdict::Colour)];

impl Case {
    pub(super) fn read(fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        for key in ["chord", "left", "right"] {
            if !fields.has(key) {
                faults.add(
                    fields.span(),
                    format!("a case needs `{key}`"),
                    "a case has chord, left and right",
                );
            }
        }
        let chord = fields.parsed::<Chord>("chord", faults);
        let left = fields.parsed::<Hand>("left", faults);
        let right = fields.parsed::<Hand>("right", faults);
        let function = fields.parsed::<Function>("function", faults);
        let melody = fields.parsed::<Pitch>("melody", faults);
        let verdict = fields.word("verdict", &VERDICTS, faults);
        let fires = fields.words("fires", faults).unwrap_or_default();
        let spares = fields.words("spares", faults).unwrap_or_default();
        if verdict.is_none() && fires.is_empty() && spares.is_empty() {
            faults.add(
                fields.span(),
                "a case claims nothing",
                "add `verdict`, `fires` (rules that must fire) or `spares` (rules that must not)",
            );
        }
        let voicing = Voicing::new(left?, right?).map_err(|error| {
            faults.add(fields.span(), error.to_string(), error.help().unwrap_or_default());
        });
        Some(Self { chord: chord?, voicing: voicing.ok()?, function, melody, verdict, fires, spares })
    }

    /// Whether the set says what the case claims, and what else it says where not.
    pub(super) fn run(&self, rules: &RuleSet) -> Result<(), String> {
        let situation = Situation { function: self.function, melody: self.melody, ..Situation::default() };
        let Judgement { verdict, findings, .. } =
            rules.judge_for(self.chord, &situation).judge(&self.voicing);
        let fired = |id: &String| findings.iter().any(|finding| finding.rule == *id);
        let all = || itertools::join(findings.iter().map(|finding| &finding.rule), ", ");
        let what = format!("{} as {}", self.chord, self.voicing);
        match (self.verdict, self.fires.iter().find(|id| !fired(id)), self.spares.iter().find(|id| fired(id)))
        {
            (Some(expected), ..) if expected != verdict => {
                Err(format!("{what} is {verdict}, expected {expected}; fired: {}", all()))
            }
            (_, Some(missing), _) => Err(format!("{what} does not fire `{missing}`; fired: {}", all())),
            (_, _, Some(extra)) => Err(format!("{what} fires `{extra}`, which it should not")),
            _ => Ok(()),
        }
    }
}
