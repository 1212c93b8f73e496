//! `function`: the tensions that suit what a chord does in its key.

use super::{RuleKind, Test};
use crate::chord::{Degree, DegreeSet};
use crate::rules::condition;
use crate::rules::format::{Faults, Fields, Holds, Key, Way};
use crate::rules::judge::Frame;

const TENSIONS: Key = Key::new("tensions", Holds::Degrees, "the tensions that suit; `[]` for none");
const LISTED: Key =
    Key::new("listed", Holds::Flag, "`true`: fires for the tensions that suit instead of those that do not");

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) struct Function {
    tensions: DegreeSet,
    listed: bool,
}

impl RuleKind for Function {
    const NAME: &'static str = "function";
    const DOC: &'static str = "the tensions that suit what a chord does in its key";
    const WAYS: &'static [Way] = &[Way {
        needs: &[condition::FUNCTIONS, TENSIONS],
        may: &[LISTED],
        fires: "once for each tension that sounds, is not listed, and is not written in the symbol",
        example: "functions = [\"V7/iii\", \"V7/vi\"]\ntensions = [\"b9\", \"#9\", \"b13\"]\ncost = 6",
    }];

    fn read(_: usize, fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let listed = fields.flag(&LISTED, faults).unwrap_or(false);
        let tensions = fields.list::<Degree>(&TENSIONS, faults)?;
        Some(Self { tensions: tensions.into_iter().collect(), listed })
    }

    fn bake(&self, frame: &Frame, tests: &mut Vec<Test>) {
        let written = frame.chord.tones();
        let tensions = frame.degrees().filter(|degree| degree.is_tension() && !written.contains(*degree));
        let fires = tensions.filter(|degree| self.tensions.contains(*degree) == self.listed);
        tests.extend(fires.filter_map(|degree| frame.class_of(degree)).map(Test::Present));
    }
}
