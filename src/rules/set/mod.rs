//! Rule sets: what they hold and what they say.

mod check;
mod describe;
mod diff;
mod fingerprint;
mod load;
mod pile;
mod read;

use std::sync::Arc;

pub use check::Warning;
pub use describe::RuleDescription;
pub use diff::Difference;
pub(super) use pile::Identity;
pub(super) use read::{File, HEAD, RULE_CASES, RULE_EFFECTS, RULE_NEEDED};

use super::condition::Condition;
use super::embedded;
use super::format::suggestion;
use super::judge::{Judge, Judgement, Score, Verdict};
use super::plug_in::{MotionRule, Rule as CodeRule};
use super::rule::{Body, Points, Rule};
use super::situation::Situation;
use crate::chord::Chord;
use crate::error::{Error, Kind as ErrorKind, Result};
use crate::voicing::Voicing;

/// A set of rules: what is good, as data. Read from TOML; see `rules/README.md` for the format.
///
/// # Example
///
/// ```
/// use overshell::chord::chord;
/// use overshell::rules::{RuleSet, Verdict};
///
/// let strict = RuleSet::from_toml("strict.toml", r#"
///     format = 1
///     name = "strict"
///     extends = ["standard"]
///
///     [[rule]]
///     id = "no-thirteenth"
///     kind = "tone"
///     degrees = ["13"]
///     effect = "clash"
///     message = "the thirteenth is left out in this school"
///     help = "play the fifth"
///     source = "invented for this example"
/// "#)?;
/// let voicing = "C3 E3 Bb3 | F#4 A4 D5".parse()?;
/// assert_eq!(RuleSet::standard().judge(chord("C7"), &voicing).verdict, Verdict::Colour);
/// assert_eq!(strict.judge(chord("C7"), &voicing).verdict, Verdict::Clash);
///
/// let error = RuleSet::from_toml("bad.toml", "format = 1\nnmae = \"x\"\n").unwrap_err();
/// assert!(error.is_rules() && error.others().len() == 1); // both faults are found
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Debug)]
pub struct RuleSet {
    name: String,
    threshold: Option<i32>,
    enough: Option<i32>,
    rules: Vec<Rule>,
    /// The files that it is made of.
    made_of: Vec<Identity>,
}

/// Sets are equal where they say and do the same, from whatever files they are made.
impl PartialEq for RuleSet {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
            && self.colour_threshold() == other.colour_threshold()
            && self.colour_enough() == other.colour_enough()
            && self.rules == other.rules
    }
}

/// Colour from which on a voicing counts as coloured, where no file says anything.
const THRESHOLD: i32 = 20;
/// Colour beyond which the searches see no gain, where no file says anything.
const ENOUGH: i32 = 40;

impl RuleSet {
    /// The set that ships as the default: `rules/standard.toml`.
    pub fn standard() -> &'static Self {
        embedded::standard()
    }

    /// The names of the sets that ship, the default first.
    pub fn names() -> impl Iterator<Item = &'static str> + Clone {
        embedded::names()
    }

    /// The name that the file gives itself.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The ids of its rules, in order.
    pub fn ids(&self) -> impl Iterator<Item = &str> + Clone {
        self.rules.iter().map(|rule| rule.id.as_str())
    }

    /// Colour in points from which on a voicing without a clash counts as [`Verdict::Colour`](super::Verdict::Colour).
    pub fn colour_threshold(&self) -> i32 {
        self.threshold.unwrap_or(THRESHOLD)
    }

    /// Colour in points beyond which the searches see no gain in still more.
    pub fn colour_enough(&self) -> i32 {
        self.enough.unwrap_or(ENOUGH)
    }

    /// The id of the rule at this place.
    pub(crate) fn id_at(&self, place: u16) -> Option<&str> {
        self.rules.get(usize::from(place)).map(|rule| rule.id.as_str())
    }

    /// The verdict that a score amounts to.
    pub fn verdict(&self, score: Score) -> Verdict {
        if score.clash {
            Verdict::Clash
        } else if score.colour >= self.colour_threshold() {
            Verdict::Colour
        } else {
            Verdict::Plain
        }
    }

    pub(super) fn rules(&self) -> &[Rule] {
        &self.rules
    }

    /// Adds a rule in code; one of the same id is replaced.
    #[must_use]
    pub fn with_rule(self, rule: impl CodeRule + 'static) -> Self {
        let texts = [rule.id(), rule.message(), rule.help(), rule.source()].map(str::to_owned);
        self.with_body(texts, Body::Code(Arc::new(rule)))
    }

    /// Adds a rule in code about the way from one voicing to the next; one of the same id is replaced.
    #[must_use]
    pub fn with_motion_rule(self, rule: impl MotionRule + 'static) -> Self {
        let texts = [rule.id(), rule.message(), rule.help(), rule.source()].map(str::to_owned);
        self.with_body(texts, Body::MotionCode(Arc::new(rule)))
    }

    fn with_body(mut self, [id, message, help, source]: [String; 4], body: Body) -> Self {
        let rule = Rule {
            id,
            message,
            help,
            source,
            condition: Condition::default(),
            points: Points::Own,
            body,
            cases: Vec::new(),
            origin: None,
        };
        match self.rules.iter_mut().find(|own| own.id == rule.id) {
            Some(own) => *own = rule,
            None => self.rules.push(rule),
        }
        self
    }

    /// The same set without these rules, from files or from code.
    ///
    /// # Errors
    ///
    /// [`Error::is_rules`] where there is no such rule; the help has the nearest id.
    ///
    /// ```
    /// use overshell::rules::RuleSet;
    ///
    /// let rules = RuleSet::standard().clone().off(["minor-ninth"])?;
    /// assert!(rules.ids().all(|id| id != "minor-ninth"));
    /// assert!(rules.off(["minor-nith"]).unwrap_err().help().unwrap().contains("minor-ninth-and-octave"));
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn off<'i>(mut self, ids: impl IntoIterator<Item = &'i str>) -> Result<Self> {
        for id in ids {
            let before = self.rules.len();
            self.rules.retain(|rule| rule.id != id);
            if self.rules.len() == before {
                let message = format!("there is no rule `{}` in `{}`", crate::pitch::shown(id), self.name);
                return Err(Error::new(ErrorKind::Rules, message).with_help(suggestion(id, self.ids())));
            }
        }
        Ok(self)
    }

    /// Prepares the set for one chord.
    pub fn judge_for(&self, chord: Chord, situation: &Situation) -> Judge<'_> {
        self.judge_for_pairs(chord, situation).prepared()
    }

    /// The same for who asks for all pairs of many hands at once, or for reasons: the tables for single sums are made when a sum is
    /// asked for.
    pub(crate) fn judge_for_pairs(&self, chord: Chord, situation: &Situation) -> Judge<'_> {
        Judge::new(self, chord, situation)
    }

    /// Judges one voicing of a chord, of which nothing else is known.
    pub fn judge(&self, chord: Chord, voicing: &Voicing) -> Judgement {
        self.judge_for(chord, &Situation::default()).judge(voicing)
    }

    /// Runs the cases that the file's own rules bring with them (not those of sets it extends): an error for each that
    /// does not hold, with its place, what was expected and what was found; empty when all hold.
    pub fn self_test(&self) -> Vec<Error> {
        self.rules
            .iter()
            .flat_map(|rule| rule.cases.iter().map(move |case| case.run(&rule.id, self)))
            .filter_map(Result::err)
            .collect()
    }

    /// How many cases [`RuleSet::self_test`] runs.
    pub fn case_count(&self) -> usize {
        self.rules.iter().map(|rule| rule.cases.len()).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::voicing::HandSize;

    /// The example of the format's documentation is a rule file, and its tables name every kind and key.
    #[test]
    fn ok_the_documentation_of_the_format() {
        let readme = include_str!("../../../rules/README.md");
        let example = readme
            .split("## An example")
            .nth(1)
            .unwrap()
            .split("```toml\n")
            .nth(1)
            .unwrap()
            .split("```")
            .next()
            .unwrap();
        let set = RuleSet::from_toml("rules/README.md", example).unwrap();
        assert_eq!((set.case_count(), set.self_test().len()), (1, 0));
        assert!(
            readme.contains(&crate::rules::format_reference()),
            "write it again: cargo run --example rules -- format"
        );
    }

    /// Each fault of a file is found in one go, with the text that is wrong marked.
    #[test]
    fn err_all_faults_of_a_file_at_once() {
        let text = r#"
format = 1
name = "bad"
extends = ["standrad"]
off = ["nobody"]

[[rule]]
id = "a"
kind = "tnoe"
cost = 5000
mesage = "x"
help = "y"
source = "z"

[[rule]]
id = "b"
kind = "pair"
lower = "3"
upper = "12"
cost = 1
colour = 1
message = "x"
help = "y"
source = "z"

[[rule.case]]
chord = "C7q"
left = "C3"
right = "E9000"
"#;
        let error = RuleSet::from_toml("bad.toml", text).unwrap_err();
        assert!(error.is_rules());
        let all: Vec<&Error> = std::iter::once(&error).chain(error.others()).collect();
        let marked: Vec<String> = all.iter().map(|e| e.excerpt().unwrap().marked()).collect();
        for text in ["\"standrad\"", "\"tnoe\"", "5000", "mesage", "\"12\"", "\"C7q\"", "\"E9000\""] {
            assert!(marked.iter().any(|m| m == text), "{text} among {marked:?}");
        }
        for (message, help) in [
            ("there is no rule set `standrad`", "did you mean `standard`?"),
            ("`tnoe` is not a kind of rule", "did you mean `tone`?"),
            ("unknown key `mesage`", "did you mean `message`?"),
            ("`message` is missing", "add `message = …`"),
            ("a rule does one thing", "make two rules of it"),
            ("a case claims nothing", "add `verdict`"),
        ] {
            let found = all
                .iter()
                .find(|e| e.to_string().contains(message))
                .unwrap_or_else(|| panic!("{message}: {error:?}"));
            assert!(found.help().unwrap().contains(help), "{found:?}");
        }
        assert!(error.report().contains("--> bad.toml:4:12"), "{error:?}");
        // What is to be switched off may be in what could not be found.
        assert!(!error.report().contains("nobody"), "{error:?}");
        let nobody = RuleSet::from_toml("x", "format = 1\nname = \"x\"\noff = [\"nobody\"]").unwrap_err();
        assert_eq!(nobody.excerpt().unwrap().marked(), "\"nobody\"");
        assert!(nobody.to_string().ends_with("there is no rule `nobody` to switch off"));
    }

    #[test]
    fn err_files_that_are_no_rule_files() {
        for text in [
            "",
            "format = 2\nname = \"x\"",
            "= 1",
            "format = \"1\"",
            "[[rule]]",
            "format = 1\nname = \"\"",
            "\u{0}",
        ] {
            assert!(RuleSet::from_toml("x", text).unwrap_err().is_rules(), "{text}");
        }
        assert!(
            RuleSet::from_toml("x", "format = 2\nname = \"x\"").unwrap_err().to_string().contains("format 2")
        );
        assert!(RuleSet::from_toml("x", &" ".repeat(read::LARGEST_FILE + 1)).unwrap_err().is_limit());
        assert!(RuleSet::from_file("no/such/file.toml").unwrap_err().is_io());
        assert!(RuleSet::named("nothing").unwrap_err().help().unwrap().contains("standard"));
    }

    #[test]
    fn ok_layers_replace_and_switch_off() {
        let text = r#"
format = 1
name = "layered"
extends = ["standard"]
off = ["reach-small"]
colour-threshold = 5

[[rule]]
id = "natural-tension"
kind = "tone"
chords = ["dominant"]
degrees = ["9"]
colour = 7
message = "x"
help = "y"
source = "z"
"#;
        let set = RuleSet::from_toml("layered.toml", text).unwrap();
        let standard: Vec<&str> = RuleSet::standard().ids().filter(|id| *id != "reach-small").collect();
        assert_eq!(set.ids().collect::<Vec<_>>(), standard);
        let small = Situation { hand_size: HandSize::Small, ..Situation::default() };
        assert!(set.judge_for("C7".parse().unwrap(), &small).within_reach(&[0, 127]));
        let voicing = "C3 E3 Bb3 | D4 G4 Bb4".parse().unwrap();
        let judgement = set.judge("C7".parse().unwrap(), &voicing);
        assert_eq!((judgement.colour, judgement.verdict), (7, super::super::Verdict::Colour));
        let said = set.explain("natural-tension").unwrap();
        assert_eq!((said.message, said.help, said.source), ("x", "y", "z"));
    }

    proptest::proptest! {
        #[test]
        fn prop_any_text_gives_a_set_or_faults(text in "\\PC*") {
            let _ = RuleSet::from_toml("any", &text).map_err(|error| assert!(error.is_rules()));
        }

        /// The shipped file with a few characters changed: a set or located faults, never a panic.
        #[test]
        fn prop_a_damaged_file_gives_a_set_or_faults(
            name in proptest::sample::select(RuleSet::names().collect::<Vec<_>>()),
            at in 0.0..1.0,
            with in "\\PC{0,3}",
            drop in 0usize..6,
        ) {
            let chars: Vec<char> = embedded::text(name).unwrap().chars().collect();
            let at = (chars.len() as f64 * at) as usize;
            let rest = (at + drop).min(chars.len());
            let damaged: String = chars[..at].iter().chain(&with.chars().collect::<Vec<_>>()).chain(&chars[rest..]).collect();
            if let Err(error) = RuleSet::from_toml("damaged", &damaged) {
                assert!(error.excerpt().is_some() && !error.report().is_empty());
            }
        }
    }

    #[test]
    fn ok_shipped_sets_hold_their_own_cases() {
        for name in embedded::names() {
            let set = RuleSet::named(name).unwrap();
            assert!(set.case_count() > 0);
            assert!(set.self_test().is_empty(), "{name}: {:?}", set.self_test());
        }
    }
}
