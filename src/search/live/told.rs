//! What was answered, and why.

use std::sync::Arc;

use super::LiveAnswer;
use super::known::Known;
use crate::chord::{Chord, Key};
use crate::rules::RuleSet;
use crate::search::ArrangedChord;
use crate::search::arranger::{Half, Part, Place, Question, Setting, arranged, lack, no_room};
use crate::search::options::ArrangeOptions;
use crate::search::progression::{Progression, Slot};
use crate::voicing::Voicing;

/// An answer with what explains it.
#[derive(Debug)]
pub(super) struct Told {
    pub(super) answer: LiveAnswer,
    /// The chord as it was judged; `None` where none sounds.
    pub(super) setting: Option<Arc<Setting>>,
    pub(super) too_many: Option<usize>,
    /// The chord that it was known to go to.
    pub(super) goes_to: Option<Chord>,
    /// What sounded before.
    pub(super) before: Option<(Arc<Setting>, Voicing)>,
}

impl Told {
    pub(super) fn new(answer: LiveAnswer, known: Option<&Known<'_>>, goes_to: Option<Chord>) -> Self {
        Self {
            answer,
            setting: known.map(|known| Arc::clone(&known.setting)),
            too_many: known.and_then(|known| known.too_many),
            goes_to,
            before: None,
        }
    }

    /// The answer with its reasons.
    pub(super) fn explained(&self, key: Key, rules: &RuleSet, options: &ArrangeOptions) -> ArrangedChord {
        let LiveAnswer { slot, chord, function, melody, voicing, .. } = self.answer;
        let mut out = ArrangedChord::empty(slot, chord, function, melody);
        let Some(setting) = self.setting.as_deref() else { return out };
        let own = Slot { chord, melody, moving: setting.moving.clone() };
        let Some(voicing) = voicing else {
            out.findings.push(match self.too_many {
                Some(pairs) => {
                    let finding = no_room();
                    let limit = options.limits.pairs;
                    let message = format!("{pairs} pairs of hands, expected at most {limit} (limit `pairs`)");
                    crate::rules::Finding {
                        message,
                        help: "raise the limit `pairs` of the search".into(),
                        ..finding
                    }
                }
                None => {
                    // The chord with the one it goes to, so that it does what it was known to do.
                    let then = Slot { chord: self.goes_to, ..Slot::default() };
                    let progression = Progression { key, slots: vec![own, then] };
                    lack(&Question { progression: &progression, rules, options, pins: &[] }, 0, 0)
                }
            });
            return out;
        };
        let part = Part { slot, place: 0, setting: setting.clone(), by: None, half: Half::Whole, toll: 0 };
        let judged = |setting: &Setting| Place::without_candidates(setting, rules, options);
        let before = self.before.as_ref().map(|(setting, voicing)| (judged(setting), *voicing));
        let place = judged(setting);
        let out = arranged(&own, &part, &place, voicing, rules);
        let moves = before.map(|(before, from)| place.judge.motion(&before.judge, &from, &voicing));
        ArrangedChord { moves: moves.unwrap_or_default(), ..out }
    }
}
