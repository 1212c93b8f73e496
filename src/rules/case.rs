//! The cases by which a rule file tests itself.

use std::sync::Arc;

use itertools::Itertools;

use super::format::{Faults, Fields, Holds, Key, names};
use super::judge::{Judgement, Verdict};
use super::rule::{Origin, Text};
use super::set::RuleSet;
use super::situation::Situation;
use super::{Effect, Finding};
use crate::chord::{Chord, Function};
use crate::error::Error;
use crate::pitch::Pitch;
use crate::voicing::{Hand, HandSize, Voicing};

const VERDICTS: [(&str, Verdict); 3] =
    [("clash", Verdict::Clash), ("plain", Verdict::Plain), ("colour", Verdict::Colour)];
const VERDICT_NAMES: [&str; 3] = names(&VERDICTS);

const CHORD: Key = Key::new("chord", Holds::Chord, "needed: the chord symbol");
const LEFT: Key =
    Key::new("left", Holds::Hand, "needed: what the left hand plays, from the bottom; empty for nothing");
const RIGHT: Key = Key::new("right", Holds::Hand, "needed: what the right hand plays");
const FUNCTION: Key = Key::new("function", Holds::Function, "what the chord does in its key");
const MELODY: Key = Key::new("melody", Holds::Pitch, "the melody note on top");
const SIZE: Key = Key::new("hand-size", Holds::HandSize, "how large the hands are; `medium` where not said");
const BASS_PLAYER: Key = Key::new("bass-player", Holds::Flag, "whether somebody else plays the bass");
const VERDICT: Key = Key::new("verdict", Holds::Word(&VERDICT_NAMES), "what the set must say of it");
const FIRES: Key = Key::new("fires", Holds::Texts, "ids of rules that must fire");
const SPARES: Key = Key::new("spares", Holds::Texts, "ids of rules that must not fire");

pub(super) const NEEDED: [Key; 3] = [CHORD, LEFT, RIGHT];
pub(super) const OPTIONAL: [Key; 7] = [FUNCTION, MELODY, SIZE, BASS_PLAYER, VERDICT, FIRES, SPARES];

/// A voicing with what the set must say of it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Case {
    chord: Chord,
    voicing: Voicing,
    situation: Situation,
    verdict: Option<Verdict>,
    fires: Vec<String>,
    spares: Vec<String>,
    origin: Origin,
}

impl Case {
    pub(super) fn read(
        fields: &mut Fields<'_, '_>,
        text: &Arc<Text>,
        faults: &mut Faults<'_>,
    ) -> Option<Self> {
        fields.require(&NEEDED, faults);
        let chord = fields.parsed::<Chord>(&CHORD, faults);
        let left = fields.parsed::<Hand>(&LEFT, faults);
        let right = fields.parsed::<Hand>(&RIGHT, faults);
        let situation = Situation {
            function: fields.parsed::<Function>(&FUNCTION, faults),
            melody: fields.parsed::<Pitch>(&MELODY, faults),
            moving: Vec::new(),
            hand_size: fields.parsed::<HandSize>(&SIZE, faults).unwrap_or_default(),
            bass_player: fields.flag(&BASS_PLAYER, faults).unwrap_or(false),
        };
        let verdict = fields.word(&VERDICT, &VERDICTS, faults);
        let claims = fields.has(&VERDICT) || fields.has(&FIRES) || fields.has(&SPARES);
        let mut ids = |key: &Key| {
            let ids = fields.words(key, faults).unwrap_or_default();
            ids.into_iter().map(|(_, id)| id).collect::<Vec<String>>()
        };
        let (fires, spares) = (ids(&FIRES), ids(&SPARES));
        if !claims {
            faults.add(
                fields.span(),
                "a case claims nothing",
                "add `verdict`, `fires` (rules that must fire) or `spares` (rules that must not)",
            );
        }
        let voicing = Voicing::new(left?, right?).map_err(|error| {
            faults.add(fields.span(), error.to_string(), error.help().unwrap_or_default());
        });
        let origin = Origin { text: Arc::clone(text), span: fields.span(), said: Vec::new() };
        Some(Self { chord: chord?, voicing: voicing.ok()?, situation, verdict, fires, spares, origin })
    }

    /// The ids that it looks for.
    pub(super) fn looks_for(&self) -> impl Iterator<Item = &String> {
        self.fires.iter().chain(&self.spares)
    }

    /// Whether the set says what the case claims; where not, what was expected and what was found, with the place.
    pub(super) fn run(&self, rule: &str, rules: &RuleSet) -> Result<(), Error> {
        let Judgement { verdict, findings, .. } =
            rules.judge_for(self.chord, &self.situation).judge(&self.voicing);
        let fired = |id: &str| findings.iter().any(|finding| finding.rule == id);
        let missing = self.fires.iter().find(|id| !fired(id));
        let extra = self.spares.iter().find(|id| fired(id));
        let why = match (self.verdict, missing, extra) {
            (Some(expected), ..) if expected != verdict => format!("expected {expected}, found {verdict}"),
            (_, Some(missing), _) => format!("expected `{missing}` to fire, found {verdict}"),
            (_, _, Some(extra)) => format!("expected `{extra}` not to fire, found {verdict}"),
            _ => return Ok(()),
        };
        let reasons = match findings.is_empty() {
            true => "and nothing fires".to_owned(),
            false => format!("for {}", findings.iter().map(reason).join(", ")),
        };
        let what = format!("case of `{rule}`: {} as {}: {why}, {reasons}", self.chord, self.voicing);
        Err(self.origin.error(what).with_help(self.help(missing, rules)))
    }

    fn help(&self, missing: Option<&String>, rules: &RuleSet) -> String {
        match missing.filter(|id| rules.explain(id).is_none()) {
            Some(id) => {
                format!("the set has no rule `{id}`; {}", super::format::suggestion(id, rules.ids()))
            }
            None => "mend the rule, or what the case claims of it".to_owned(),
        }
    }
}

/// A rule that fired and what it did.
fn reason(finding: &Finding) -> String {
    let Finding { rule, effect, .. } = finding;
    match effect {
        Effect::Clash => format!("`{rule}` (clash)"),
        Effect::Cost(points) => format!("`{rule}` (cost {points})"),
        Effect::Colour(points) => format!("`{rule}` (colour {points})"),
    }
}

/// Several failures as one error.
pub(super) fn failures(name: &str, failed: Vec<Error>) -> Option<Error> {
    let failed = failed.into_iter().map(|error| error.context(format_args!("rule file `{name}`"))).collect();
    Error::of_all(failed)
}
