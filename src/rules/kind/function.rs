//! `function`: the tensions that suit what a chord does in its key.

use std::str::FromStr;

use super::{RuleKind, Test};
use crate::chord::{Degree, DegreeSet, Function as Place};
use crate::error::{Error, Kind};
use crate::rules::condition;
use crate::rules::format::{Faults, Fields, Holds, Key, Way};
use crate::rules::judge::Frame;

const TENSIONS: Key = Key::new("tensions", Holds::Degrees, "the tensions that suit; `[]` for none");
const LISTS: Key = Key::new(
    "lists",
    Holds::Texts,
    "functions, a colon and the tensions that suit them, line by line: `V7/iii, V7/vi: b9 #9 b13`; the line `otherwise: 9 13` \
     is for all functions that no line names, and for chords of which nothing is known",
);
const LISTED: Key =
    Key::new("listed", Holds::Flag, "`true`: fires for the tensions that suit instead of those that do not");

/// What a line is called that speaks of all functions that no line names.
const OTHERWISE: &str = "otherwise";

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) struct Function {
    lines: Vec<Line>,
    listed: bool,
}

/// Functions and the tensions that suit them.
#[derive(Clone, Debug, PartialEq)]
struct Line {
    of: Of,
    tensions: DegreeSet,
}

#[derive(Clone, Debug, PartialEq)]
enum Of {
    /// Whatever the conditions of the rule admit.
    Any,
    These(Vec<Place>),
    Otherwise,
}

impl FromStr for Line {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        let Some((of, tensions)) = text.split_once(':') else {
            let message = format!("`{}` has no colon", crate::pitch::shown(text));
            return Err(Error::new(Kind::Rules, message)
                .with_help("write functions, a colon and tensions, such as `V7/iii, V7/vi: b9 #9 b13`"));
        };
        let of = match of.trim() {
            OTHERWISE => Of::Otherwise,
            names => Of::These(names.split(',').map(|name| name.trim().parse()).collect::<Result<_, _>>()?),
        };
        let tensions = tensions.split_whitespace().map(str::parse).collect::<Result<DegreeSet, _>>()?;
        Ok(Self { of, tensions })
    }
}

impl RuleKind for Function {
    const NAME: &'static str = "function";
    const DOC: &'static str = "the tensions that suit what a chord does in its key";
    const WAYS: &'static [Way] = &[
        Way {
            needs: &[condition::FUNCTIONS, TENSIONS],
            may: &[LISTED],
            fires: "once for each tension that sounds, is not listed, and is not written in the symbol",
            example: "functions = [\"V7/iii\", \"V7/vi\"]\ntensions = [\"b9\", \"#9\", \"b13\"]\ncost = 6",
        },
        Way {
            needs: &[LISTS],
            may: &[LISTED],
            fires: "once for each tension that sounds, is not on the line of the chord's function, and is not written in the \
                    symbol; silent where there is no such line",
            example: "lists = [\"V7/I, V7/V: 9 13\", \"V7/iii, V7/vi: b9 #9 b13\", \"otherwise: 9\"]\ncost = 6",
        },
    ];

    fn read(way: usize, fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let listed = fields.flag(&LISTED, faults).unwrap_or(false);
        if way == 0 {
            let tensions = fields.list::<Degree>(&TENSIONS, faults)?.into_iter().collect();
            return Some(Self { lines: vec![Line { of: Of::Any, tensions }], listed });
        }
        let span = fields.span_of(&LISTS);
        let lines = fields.list::<Line>(&LISTS, faults)?;
        let mut told: Vec<Option<Place>> = Vec::new();
        for named in lines.iter().flat_map(Line::named) {
            if told.contains(&named) {
                let name = named.map_or_else(|| OTHERWISE.to_owned(), |function| function.to_string());
                faults.add(span.clone(), format!("`{name}` stands twice in `lists`"), "give it one line");
            }
            told.push(named);
        }
        Some(Self { lines, listed })
    }

    fn bake(&self, frame: &Frame, tests: &mut Vec<Test>) {
        let Some(line) = self.line(frame.function) else { return };
        let written = frame.chord.tones();
        let tensions = frame.degrees().filter(|degree| degree.is_tension() && !written.contains(*degree));
        let fires = tensions.filter(|degree| line.tensions.contains(*degree) == self.listed);
        tests.extend(fires.filter_map(|degree| frame.class_of(degree)).map(Test::Present));
    }
}

impl Line {
    /// The functions that it names, `None` for all others.
    fn named(&self) -> Vec<Option<Place>> {
        match &self.of {
            Of::Any => Vec::new(),
            Of::These(functions) => functions.iter().copied().map(Some).collect(),
            Of::Otherwise => vec![None],
        }
    }
}

impl Function {
    /// The line that speaks of this function.
    fn line(&self, function: Option<Place>) -> Option<&Line> {
        let named = |line: &&Line| match &line.of {
            Of::Any => true,
            Of::These(functions) => function.is_some_and(|function| functions.contains(&function)),
            Of::Otherwise => false,
        };
        let otherwise = || self.lines.iter().find(|line| line.of == Of::Otherwise);
        self.lines.iter().find(named).or_else(otherwise)
    }

    /// The functions that its lines name.
    pub(in crate::rules) fn named(&self) -> impl Iterator<Item = Place> {
        self.lines.iter().flat_map(Line::named).flatten()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;
    use crate::rules::{RuleSet, Situation};

    fn set(rule: &str) -> Result<RuleSet, Error> {
        RuleSet::from_toml(
            "lines",
            &format!(
                "format = 1\nname = \"lines\"\n[[rule]]\nid = \"lines\"\nkind = \"function\"\n{rule}\neffect = \"clash\"\n\
                 message = \"x\"\nhelp = \"y\"\nsource = \"invented for this test\"\n"
            ),
        )
    }

    /// The tensions that the rule forbids over a chord.
    fn forbidden(rules: &RuleSet, symbol: &str, function: Option<&str>) -> String {
        let chord = chord(symbol);
        let situation = Situation { function: function.map(|f| f.parse().unwrap()), ..Situation::default() };
        let judge = rules.judge_for(chord, &situation);
        let clashes = |key: &u8| judge.score_keys(&[], &[*key]).clash;
        let degree = |key: u8| judge.meaning_of(crate::pitch::PitchClass::wrapping(i32::from(key)));
        (60..72).filter(clashes).map(degree).collect::<DegreeSet>().to_string()
    }

    #[test]
    fn ok_lines_by_function() {
        let rules = set("lists = [\"V7/I, V7/V: 9 13\", \"iii: 11\", \"otherwise: b9\"]").unwrap();
        assert_eq!(forbidden(&rules, "C7", Some("V7/V")), "b9 #9 11 #11 b13");
        assert_eq!(forbidden(&rules, "C7", Some("subV7")), "9 #9 11 #11 b13 13");
        assert_eq!(forbidden(&rules, "C7", None), "9 #9 11 #11 b13 13");
        assert_eq!(forbidden(&rules, "C7(#11)", None), "9 #9 11 b13 13");
        assert_eq!(forbidden(&rules, "Cm7", Some("iii")), "b9 9 #11 b13 13");
        let silent = set("lists = [\"V7/I: 9 13\"]").unwrap();
        assert_eq!(forbidden(&silent, "C7", Some("V7/V")), "");
        assert_eq!(forbidden(&silent, "C7", None), "");
        let listed = set("lists = [\"V7/I: 9 13\", \"otherwise:\"]\nlisted = true").unwrap();
        assert_eq!(forbidden(&listed, "C7", Some("V7/I")), "9 13");
        assert_eq!(forbidden(&listed, "C7", None), "");
    }

    /// A line for one function says what a rule for that function says.
    #[test]
    fn all_functions_by_line_and_by_condition() {
        for function in Place::DOMINANT {
            let name = function.to_string();
            let by_line = set(&format!("lists = [\"{name}: 9 #11\"]")).unwrap();
            let by_condition =
                set(&format!("functions = [\"{name}\"]\ntensions = [\"9\", \"#11\"]")).unwrap();
            for other in Place::DOMINANT.map(|other| other.to_string()) {
                let found = forbidden(&by_line, "C7", Some(&other));
                assert_eq!(found, forbidden(&by_condition, "C7", Some(&other)));
                assert_eq!(found.is_empty(), other != name);
            }
        }
    }

    #[test]
    fn err_lines() {
        for (lists, marked, message) in [
            ("[\"V7/I 9 13\"]", "\"V7/I 9 13\"", "has no colon"),
            ("[\"V8: 9\"]", "\"V8: 9\"", "`V8` is not a function"),
            ("[\"V7/I: 10\"]", "\"V7/I: 10\"", "`10`"),
            ("[\"V7/I: 9\", \"ii, V7/I: 13\"]", "[\"V7/I: 9\", \"ii, V7/I: 13\"]", "`V7/I` stands twice"),
            (
                "[\"otherwise: 9\", \"otherwise: 13\"]",
                "[\"otherwise: 9\", \"otherwise: 13\"]",
                "`otherwise` stands twice",
            ),
        ] {
            let error = set(&format!("lists = {lists}")).unwrap_err();
            assert_eq!(error.excerpt().unwrap().marked(), marked);
            assert!(error.to_string().contains(message), "{error}");
        }
        assert!(set("lists = [\"V7/I: 9\"]\ntensions = [\"9\"]").is_err());
    }

    /// Functions that only a line names count as met.
    #[test]
    fn ok_no_warning_where_only_a_line_names_the_function() {
        assert!(set("lists = [\"iii: 11\"]").unwrap().warnings().is_empty());
    }
}
