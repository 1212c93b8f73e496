//! Functions for queries: what the rules say of a chord and two hands, written as texts.

use std::any::Any;
use std::collections::HashMap;
use std::hash::{Hash, Hasher};
use std::sync::Arc;

use datafusion::arrow::array::{Array, ArrayRef, StringArray, UInt32Array};
use datafusion::arrow::datatypes::DataType;
use datafusion::common::cast::as_string_array;
use datafusion::common::exec_datafusion_err;
use datafusion::error::Result;
use datafusion::logical_expr::{
    ColumnarValue, ScalarFunctionArgs, ScalarUDF, ScalarUDFImpl, Signature, Volatility,
};
use datafusion::scalar::ScalarValue;
use overshell::census::{CensusRules, CensusSpace};
use overshell::chord::Chord;
use overshell::rules::{Judge, RuleSet, Situation};
use overshell::voicing::Voicing;
use serde::{Deserialize, Serialize};

use crate::error::through;

/// What a function answers.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Answer {
    /// `clash`, `plain` or `colour`.
    Verdict,
    /// What the rules charge, in points.
    Cost,
    /// What the rules credit, in points.
    Colour,
    /// The chord that sounds, null where no symbol can say it.
    Sounding,
}

impl Answer {
    /// All.
    pub const ALL: [Self; 4] = [Self::Verdict, Self::Cost, Self::Colour, Self::Sounding];

    /// The name of the function.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Verdict => "verdict",
            Self::Cost => "cost",
            Self::Colour => "colour",
            Self::Sounding => "sounding",
        }
    }

    fn data_type(self) -> DataType {
        match self {
            Self::Verdict | Self::Sounding => DataType::Utf8,
            Self::Cost | Self::Colour => DataType::UInt32,
        }
    }
}

/// The functions `verdict(chord, voicing)`, `cost`, `colour` and `sounding`, which judge by these rules as the census of this space
/// does: for its hands, with or without its bass player. A null gives a null; a text that is no chord or no voicing is an
/// error of the library, with its place.
pub fn functions(rules: &Arc<RuleSet>, space: &CensusSpace) -> Vec<ScalarUDF> {
    let rules_name = CensusRules::from(rules.as_ref());
    let of = |answer| {
        let situation =
            Situation { hand_size: space.hand_size, bass_player: space.bass_player, ..Situation::default() };
        let asked = Asked { answer, rules: rules_name.clone(), space: space.clone() };
        Judged { asked, set: Arc::clone(rules), situation, signature: signature() }.into()
    };
    Answer::ALL.into_iter().map(of).collect()
}

fn signature() -> Signature {
    Signature::exact(vec![DataType::Utf8, DataType::Utf8], Volatility::Immutable)
}

/// All that decides what a function answers.
#[derive(Clone, Debug, Eq, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub(crate) struct Asked {
    pub(crate) answer: Answer,
    pub(crate) rules: CensusRules,
    pub(crate) space: CensusSpace,
}

/// One of the functions.
#[derive(Debug)]
struct Judged {
    asked: Asked,
    set: Arc<RuleSet>,
    situation: Situation,
    signature: Signature,
}

/// What decides the answers of a function of this package; `None` of any other.
pub(crate) fn asked(function: &ScalarUDF) -> Option<&Asked> {
    let inner: &dyn Any = function.inner().as_ref();
    inner.downcast_ref::<Judged>().map(|judged| &judged.asked)
}

impl PartialEq for Judged {
    fn eq(&self, other: &Self) -> bool {
        self.asked == other.asked
    }
}

impl Eq for Judged {}

impl Hash for Judged {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.asked.answer.hash(state);
        self.asked.rules.fingerprint.hash(state);
    }
}

/// Judges chords that come again and again.
struct Judges<'a> {
    rules: &'a RuleSet,
    situation: &'a Situation,
    known: HashMap<&'a str, (Chord, Judge<'a>)>,
}

impl<'a> Judges<'a> {
    fn of(&mut self, chord: &'a str) -> Result<&(Chord, Judge<'a>)> {
        if !self.known.contains_key(chord) {
            let read: Chord = chord.parse().map_err(through)?;
            self.known.insert(chord, (read, self.rules.judge_for(read, self.situation)));
        }
        self.known.get(chord).ok_or_else(|| exec_datafusion_err!("the judge of `{chord}` is lost"))
    }
}

impl Judged {
    /// For each pair of texts what `answer` says, null where one is null.
    fn each<T>(
        &self,
        chords: &StringArray,
        voicings: &StringArray,
        answer: impl Fn(Chord, &Judge<'_>, &Voicing) -> Option<T>,
    ) -> Result<Vec<Option<T>>> {
        let mut judges = Judges { rules: &self.set, situation: &self.situation, known: HashMap::new() };
        let mut one = |chord: Option<_>, voicing: Option<&str>| {
            let Some((chord, voicing)) = chord.zip(voicing) else { return Ok(None) };
            let (chord, judge) = judges.of(chord)?;
            let voicing: Voicing = voicing.parse().map_err(through)?;
            Ok(answer(*chord, judge, &voicing))
        };
        chords.iter().zip(voicings).map(|(chord, voicing)| one(chord, voicing)).collect()
    }

    fn answers(&self, chords: &StringArray, voicings: &StringArray) -> Result<ArrayRef> {
        let points = |points: i32| points.max(0).unsigned_abs();
        Ok(match self.asked.answer {
            Answer::Verdict => {
                Arc::new(StringArray::from(self.each(chords, voicings, |_, judge, voicing| {
                    Some(judge.verdict(judge.score(voicing)).to_string())
                })?))
            }
            Answer::Cost => {
                Arc::new(UInt32Array::from(
                    self.each(chords, voicings, |_, judge, voicing| Some(points(judge.score(voicing).cost)))?,
                ))
            }
            Answer::Colour => Arc::new(UInt32Array::from(self.each(
                chords,
                voicings,
                |_, judge, voicing| Some(points(judge.score(voicing).colour)),
            )?)),
            Answer::Sounding => {
                Arc::new(StringArray::from(self.each(chords, voicings, |chord, _, voicing| {
                    chord.sounding(voicing.pitch_set()).map(|chord| chord.to_string())
                })?))
            }
        })
    }
}

impl ScalarUDFImpl for Judged {
    fn name(&self) -> &str {
        self.asked.answer.name()
    }

    fn signature(&self) -> &Signature {
        &self.signature
    }

    fn return_type(&self, _: &[DataType]) -> Result<DataType> {
        Ok(self.asked.answer.data_type())
    }

    fn invoke_with_args(&self, args: ScalarFunctionArgs) -> Result<ColumnarValue> {
        let one = args.args.iter().all(|arg| matches!(arg, ColumnarValue::Scalar(_)));
        let arrays = ColumnarValue::values_to_arrays(&args.args)?;
        let [chords, voicings] = arrays.as_slice() else {
            return Err(exec_datafusion_err!("`{}` takes a chord and a voicing", self.name()));
        };
        let answers = self.answers(as_string_array(chords)?, as_string_array(voicings)?)?;
        if one && answers.len() == 1 {
            return Ok(ColumnarValue::Scalar(ScalarValue::try_from_array(&answers, 0)?));
        }
        Ok(ColumnarValue::Array(answers))
    }
}
