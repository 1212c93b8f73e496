//! `roughness`: how rough the whole sounds, by a published model, in whole thousandths.

use std::sync::{Arc, OnceLock};

use super::RuleKind;
use crate::rules::format::{Faults, Fields, Holds, Key, Way, names};
use crate::rules::judge::{Frame, Sound};
use crate::voicing::{RoughnessModel, RoughnessTable};

const MODEL_NAMES: [&str; 3] = names(&RoughnessModel::NAMES);
const MODEL: Key = Key::new(
    "model",
    Holds::Word(&MODEL_NAMES),
    "Hutchinson and Knopoff 1978 in Mashinter's form, Sethares 1993/2005, or Vassilakis 2001",
);
const PARTIALS: Key = Key::new(
    "partials",
    Holds::Number(1, 12),
    "how many partials each note has, of amplitude 1/k; 10 where not said",
);
const FREE: Key =
    Key::new("free", Holds::Number(0, 1_000_000), "thousandths of roughness that cost nothing; 0");
const PER: Key = Key::new("per", Holds::Number(1, 1_000_000), "thousandths beyond for which it fires once");

/// Partials where a file says nothing.
const USUAL_PARTIALS: i32 = 10;

/// A roughness that is too much.
#[derive(Clone, Debug)]
pub(in crate::rules) struct Roughness {
    model: RoughnessModel,
    partials: u8,
    free: i32,
    per: i32,
    /// Made when a chord is first judged with it.
    table: Arc<OnceLock<RoughnessTable>>,
}

impl PartialEq for Roughness {
    fn eq(&self, other: &Self) -> bool {
        (self.model, self.partials, self.free, self.per)
            == (other.model, other.partials, other.free, other.per)
    }
}

impl RuleKind for Roughness {
    const NAME: &'static str = "roughness";
    const DOC: &'static str = "how rough the whole sounds, by a model of hearing";
    const WAYS: &'static [Way] = &[Way {
        needs: &[MODEL, PER],
        may: &[PARTIALS, FREE],
        fires: "once for each so many thousandths begun beyond those that are free",
        example: "model = \"hutchinson-knopoff\"\npartials = 10\nfree = 150\nper = 25\ncost = 2",
    }];

    fn read(_: usize, fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let partials = fields.number(&PARTIALS, faults).unwrap_or(USUAL_PARTIALS);
        let free = fields.number(&FREE, faults).unwrap_or(0);
        let (model, per) = (fields.parsed(&MODEL, faults), fields.number(&PER, faults));
        Some(Self {
            model: model?,
            partials: u8::try_from(partials).unwrap_or_default(),
            free,
            per: per?,
            table: Arc::default(),
        })
    }

    fn bake(&self, _: &Frame, tests: &mut Vec<super::Test>) {
        self.table.get_or_init(|| RoughnessTable::new(self.model, self.partials));
        let Self { free, per, .. } = *self;
        tests.push(super::Test::Roughness(Test { table: Arc::clone(&self.table), free, per }));
    }
}

/// The table, and what is too much.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) struct Test {
    table: Arc<OnceLock<RoughnessTable>>,
    free: i32,
    per: i32,
}

impl Test {
    #[inline]
    pub(in crate::rules) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let Some(table) = self.table.get() else { return };
        let thousandths = i32::try_from(table.of_keys(sound.keys())).unwrap_or(i32::MAX);
        let beyond = thousandths.saturating_sub(self.free);
        if beyond > 0 {
            fire(beyond / self.per + i32::from(beyond % self.per > 0), sound.classes);
        }
    }
}
