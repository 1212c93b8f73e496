//! Rule sets: read, checked, layered.

use std::collections::BTreeMap;
use std::io::Read;

use toml::de::DeTable;

use super::case::Case;
use super::embedded;
use super::fields::{Faults, Fields};
use super::filter::Filter;
use super::judge::{HandSize, Judge, Judgement, Situation};
use super::kind::{Kind, Motion};
use super::sound::HandName;
use crate::chord::Chord;
use crate::error::{Error, Kind as ErrorKind, Result};
use crate::voicing::Voicing;

/// What a rule does when it fires.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Points {
    Clash,
    Cost(i32),
    Colour(i32),
    /// A motion rule has points of its own.
    None,
}

/// A rule as checked.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Rule {
    pub(super) id: String,
    pub(super) message: String,
    pub(super) help: String,
    pub(super) source: String,
    pub(super) filter: Filter,
    pub(super) points: Points,
    pub(super) kind: Kind,
    pub(super) cases: Vec<Case>,
}

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
#[derive(Clone, Debug, PartialEq)]
pub struct RuleSet {
    name: String,
    colour_threshold: i32,
    colour_enough: i32,
    rules: Vec<Rule>,
}

/// The highest `format` this version reads.
pub(super) const FORMAT: i32 = 1;
/// The largest rule file that is read, in bytes.
const LARGEST_FILE: usize = 1 << 20;
/// Colour from which on a voicing counts as coloured, where a file says nothing.
const THRESHOLD: i32 = 20;
/// Colour beyond which the searches see no gain, where a file says nothing.
const ENOUGH: i32 = 40;
/// More points than this for one rule would drown every other.
const MOST_POINTS: i32 = 1_000;

impl RuleSet {
    /// The set that ships as the default: `rules/standard.toml`.
    pub fn standard() -> &'static Self {
        embedded::standard()
    }

    /// The set that ships under this name.
    ///
    /// # Errors
    ///
    /// [`Error::is_rules`] where there is none; the help lists those there are.
    pub fn named(name: &str) -> Result<Self> {
        match embedded::text_of(name) {
            Some(text) => Self::from_toml(&format!("{name}.toml"), text),
            None => Err(Error::new(
                ErrorKind::Rules,
                format!("there is no rule set `{}`", crate::pitch::shown(name)),
            )
            .with_help(super::fields::suggestion(name, embedded::names()))),
        }
    }

    /// Reads a set from the text of a rule file; `name` is what messages call it.
    ///
    /// # Errors
    ///
    /// [`Error::is_rules`] with every fault of the file ([`Error::others`]), each with line, column and help;
    /// [`Error::is_limit`] for a text over 1 MiB.
    pub fn from_toml(name: &str, text: &str) -> Result<Self> {
        if text.len() > LARGEST_FILE {
            return Err(Error::new(
                ErrorKind::Limit,
                format!("rule file `{name}` has {} bytes, the limit is {LARGEST_FILE}", text.len()),
            ));
        }
        let mut faults = Faults::new(name, text);
        let table = match DeTable::parse(text) {
            Ok(table) => table,
            Err(error) => {
                let message = error.message().lines().next().unwrap_or("not TOML").to_owned();
                faults.add(
                    error.span().unwrap_or(0..0),
                    message,
                    "a rule file is TOML: `key = value` lines, and `[[rule]]` above each rule",
                );
                return faults.into_result(()).map(|()| Self::empty());
            }
        };
        let set = Self::read(Fields::new(table.get_ref(), 0..0), &mut faults);
        faults.into_result(set)
    }

    /// Reads a set from a rule file, and runs the file's own cases.
    ///
    /// # Errors
    ///
    /// As [`RuleSet::from_toml`]; [`Error::is_rules`] where a case does not hold; and [`Error::is_io`] where the file cannot be read.
    pub fn from_file(path: impl AsRef<std::path::Path>) -> Result<Self> {
        let path = path.as_ref();
        let name = path.display().to_string();
        // One byte more than the limit is enough to see that it is exceeded.
        let limit = u64::try_from(LARGEST_FILE).unwrap_or(u64::MAX).saturating_add(1);
        let mut text = String::new();
        std::fs::File::open(path)
            .and_then(|file| file.take(limit).read_to_string(&mut text))
            .map_err(|e| Error::new(ErrorKind::Io, format!("cannot read `{name}`: {e}")))?;
        let set = Self::from_toml(&name, &text)?;
        let failed = set.self_test().into_iter().map(|why| {
            Error::new(ErrorKind::Rules, format!("rule file `{name}`: a case does not hold: {why}"))
                .with_help("mend the rule, or what the case claims of it")
        });
        Error::of_all(failed.collect()).map_or(Ok(set), Err)
    }

    /// The set that ships under this name, or else the one in this file.
    ///
    /// # Errors
    ///
    /// As [`RuleSet::from_file`]; where there is no such file either, the help lists the sets that ship.
    pub fn named_or_file(name_or_path: &str) -> Result<Self> {
        if embedded::text_of(name_or_path).is_some() {
            return Self::named(name_or_path);
        }
        Self::from_file(name_or_path).map_err(|error| {
            if error.is_io() {
                let names = itertools::join(embedded::names().map(|name| format!("`{name}`")), ", ");
                error.with_help(format!("give a rule file, or a set that ships: {names}"))
            } else {
                error
            }
        })
    }

    fn empty() -> Self {
        Self { name: String::new(), colour_threshold: THRESHOLD, colour_enough: ENOUGH, rules: Vec::new() }
    }

    fn read(mut fields: Fields<'_, '_>, faults: &mut Faults<'_>) -> Self {
        match fields.required_integer("format", 0..=i32::MAX, faults) {
            Some(FORMAT) | None => {}
            Some(other) => faults.add(
                fields.span_of("format"),
                format!("format {other} is not known, this version reads format {FORMAT}"),
                "use a newer version of the library, or write the file in this format",
            ),
        }
        let name = fields.required_text("name", faults).unwrap_or_default();
        let mut set = Self::empty();
        let extends_span = fields.span_of("extends");
        for base in fields.words("extends", faults).unwrap_or_default() {
            match Self::named(&base) {
                Ok(mut base) => {
                    // Its cases hold for the set as it ships; what stands on top may well change them.
                    base.rules.iter_mut().for_each(|rule| rule.cases.clear());
                    set.layer(base);
                }
                Err(error) => {
                    faults.add(extends_span.clone(), error.to_string(), error.help().unwrap_or_default());
                }
            }
        }
        set.name = name;
        if let Some(points) = fields.integer("colour-threshold", 0..=MOST_POINTS, faults) {
            set.colour_threshold = points;
        }
        if let Some(points) = fields.integer("colour-enough", 0..=MOST_POINTS, faults) {
            set.colour_enough = points;
        }
        let off_span = fields.span_of("off");
        for id in fields.words("off", faults).unwrap_or_default() {
            let before = set.rules.len();
            set.rules.retain(|rule| rule.id != id);
            if set.rules.len() == before {
                faults.add(
                    off_span.clone(),
                    format!("there is no rule `{}` to switch off", crate::pitch::shown(&id)),
                    super::fields::suggestion(&id, set.rules.iter().map(|rule| &rule.id)),
                );
            }
        }
        let mut seen: BTreeMap<String, ()> = BTreeMap::new();
        let mut own = Vec::new();
        for mut rule_fields in fields.tables("rule", faults) {
            let id_span = rule_fields.span_of("id");
            let rule = Rule::read(&mut rule_fields, faults);
            rule_fields.finish(rule.is_some(), faults);
            let Some(rule) = rule else { continue };
            if seen.insert(rule.id.clone(), ()).is_some() {
                faults.add(
                    id_span,
                    format!("there are two rules `{}` in this file", rule.id),
                    "give one of them another id",
                );
            }
            own.push(rule);
        }
        set.layer(Self { rules: own, ..set.clone() });
        fields.finish(true, faults);
        set
    }

    /// Puts the rules of another set on top: same id replaces in place, others are added behind.
    fn layer(&mut self, upper: Self) {
        for rule in upper.rules {
            match self.rules.iter_mut().find(|own| own.id == rule.id) {
                Some(own) => *own = rule,
                None => self.rules.push(rule),
            }
        }
        self.colour_threshold = upper.colour_threshold;
        self.colour_enough = upper.colour_enough;
    }

    /// The name that the file gives itself.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The ids of its rules, in order.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        self.rules.iter().map(|rule| rule.id.as_str())
    }

    /// Message, help and source of a rule; `None` where there is no such id.
    pub fn explain(&self, id: &str) -> Option<[&str; 3]> {
        let rule = self.rules.iter().find(|rule| rule.id == id)?;
        Some([&rule.message, &rule.help, &rule.source])
    }

    /// Colour in points from which on a voicing without a clash counts as [`Verdict::Colour`](super::Verdict::Colour).
    pub fn colour_threshold(&self) -> i32 {
        self.colour_threshold
    }

    /// Colour in points beyond which the searches see no gain in still more.
    pub fn colour_enough(&self) -> i32 {
        self.colour_enough
    }

    pub(super) fn rules(&self) -> &[Rule] {
        &self.rules
    }

    /// Prepares the set for one chord.
    pub fn judge_for(&self, chord: Chord, situation: &Situation) -> Judge<'_> {
        Judge::new(self, chord, situation)
    }

    /// Judges one voicing of a chord, of which nothing else is known.
    pub fn judge(&self, chord: Chord, voicing: &Voicing) -> Judgement {
        self.judge_for(chord, &Situation::default()).judge(voicing)
    }

    /// The widest stretch in semitones that the set offers to hands of this size.
    pub fn largest_stretch(&self, size: HandSize) -> u8 {
        let limits = self.rules.iter().filter_map(|rule| match &rule.kind {
            Kind::Reach(reach) => reach.largest_for(size),
            _ => None,
        });
        limits.min().unwrap_or(u8::MAX)
    }

    /// What it costs the left hand (or the right) to go from one shape to another, in points; both ascending MIDI
    /// numbers, of at most five keys. The right hand's shapes are given without the melody note.
    pub fn motion_cost(&self, left: bool, from: &[u8], to: &[u8]) -> i32 {
        let hand = if left { HandName::Left } else { HandName::Right };
        self.motions(hand).map(|motion| motion.cost(from, to)).sum()
    }

    fn motions(&self, hand: HandName) -> impl Iterator<Item = &Motion> {
        self.rules.iter().filter_map(move |rule| match &rule.kind {
            Kind::Motion(motion) if motion.hand == hand => Some(motion),
            _ => None,
        })
    }

    /// Runs the cases that the file's own rules bring with them (not those of sets it extends) and says what is not as they claim; empty when all hold.
    pub fn self_test(&self) -> Vec<String> {
        self.rules
            .iter()
            .flat_map(|rule| rule.cases.iter().map(move |case| (rule, case)))
            .filter_map(|(rule, case)| case.run(self).err().map(|why| format!("{}: {why}", rule.id)))
            .collect()
    }

    /// How many cases [`RuleSet::self_test`] runs.
    pub fn case_count(&self) -> usize {
        self.rules.iter().map(|rule| rule.cases.len()).sum()
    }
}

impl Rule {
    fn read(fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let id = fields.required_text("id", faults);
        let message = fields.required_text("message", faults);
        let help = fields.required_text("help", faults);
        let source = fields.required_text("source", faults);
        let kind_name = fields.required_text("kind", faults);
        let filter = Filter::read(fields, faults);
        let points = Self::read_points(fields, kind_name.as_deref() == Some("motion"), faults);
        let kind = kind_name.and_then(|name| Kind::read(&name, fields, faults));
        if matches!(kind, Some(Kind::Motion(_))) && filter.names_functions() {
            faults.add(fields.span(), "a `motion` rule has no `functions`", "leave `functions` out");
        }
        let cases = fields
            .tables("case", faults)
            .into_iter()
            .filter_map(|mut case| {
                let read = Case::read(&mut case, faults);
                case.finish(true, faults);
                read
            })
            .collect();
        Some(Self {
            id: id?,
            message: message?,
            help: help?,
            source: source?,
            filter,
            points: points?,
            kind: kind?,
            cases,
        })
    }

    fn read_points(fields: &mut Fields<'_, '_>, motion: bool, faults: &mut Faults<'_>) -> Option<Points> {
        let clash = fields.word("effect", &[("clash", Points::Clash)], faults);
        let cost = fields.integer("cost", 0..=MOST_POINTS, faults).map(Points::Cost);
        let colour = fields.integer("colour", 0..=MOST_POINTS, faults).map(Points::Colour);
        let mut said = [clash, cost, colour].into_iter().flatten();
        match (said.next(), said.next(), motion) {
            (None, None, true) => Some(Points::None),
            (Some(points), None, false) => Some(points),
            _ => {
                let message = if motion {
                    "a `motion` rule has points of its own"
                } else {
                    "a rule needs one of `effect = \"clash\"`, `cost` and `colour`"
                };
                let wrong_value = ["effect", "cost", "colour"].iter().any(|key| fields.has(key));
                if !(wrong_value && !motion && [clash, cost, colour].iter().flatten().count() == 0) {
                    faults.add(
                        fields.span(),
                        message,
                        "say once what the rule does: forbid, charge or credit",
                    );
                }
                None
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The example of the format's documentation is a rule file, and its tables name every kind and key.
    #[test]
    fn ok_the_documentation_of_the_format() {
        let readme = include_str!("../../rules/README.md");
        let example = readme.split("```toml\n").nth(1).unwrap().split("```").next().unwrap();
        let set = RuleSet::from_toml("rules/README.md", example).unwrap();
        assert_eq!((set.case_count(), set.self_test()), (1, Vec::new()));
        for kind in super::super::kind::NAMES {
            assert!(readme.contains(&format!("| `{kind}` |")), "{kind}");
        }
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
        for text in
            ["[\"standrad\"]", "[\"nobody\"]", "\"tnoe\"", "5000", "mesage", "\"12\"", "\"C7q\"", "\"E9000\""]
        {
            assert!(marked.iter().any(|m| m == text), "{text} among {marked:?}");
        }
        for (message, help) in [
            ("there is no rule set `standrad`", "did you mean `standard`?"),
            ("`tnoe` is not a kind of rule", "did you mean `tone`?"),
            ("unknown key `mesage`", "did you mean `message`?"),
            ("`message` is missing", "add `message = …`"),
            ("a rule needs one of", "say once"),
            ("a case claims nothing", "add `verdict`"),
        ] {
            let found = all
                .iter()
                .find(|e| e.to_string().contains(message))
                .unwrap_or_else(|| panic!("{message}: {error:?}"));
            assert!(found.help().unwrap().contains(help), "{found:?}");
        }
        assert!(error.report().contains("--> bad.toml:4:11"), "{error:?}");
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
        assert!(RuleSet::from_toml("x", &" ".repeat(LARGEST_FILE + 1)).unwrap_err().is_limit());
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
        assert_eq!(set.largest_stretch(HandSize::Small), u8::MAX);
        let voicing = "C3 E3 Bb3 | D4 G4 Bb4".parse().unwrap();
        let judgement = set.judge("C7".parse().unwrap(), &voicing);
        assert_eq!((judgement.colour, judgement.verdict), (7, super::super::Verdict::Colour));
        assert_eq!(set.explain("natural-tension"), Some(["x", "y", "z"]));
    }

    proptest::proptest! {
        #[test]
        fn prop_any_text_gives_a_set_or_faults(text in "\\PC*") {
            let _ = RuleSet::from_toml("any", &text).map_err(|error| assert!(error.is_rules()));
        }

        /// The shipped file with a few characters changed: a set or located faults, never a panic.
        #[test]
        fn prop_a_damaged_file_gives_a_set_or_faults(at in 0usize..12_000, with in "\\PC{0,3}", drop in 0usize..6) {
            let text = embedded::text_of("standard").unwrap();
            let chars: Vec<char> = text.chars().collect();
            let at = at.min(chars.len());
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
            assert_eq!(set.self_test(), Vec::<String>::new(), "{name}");
        }
    }
}
