//! What a set says without effect: rules that can never fire, that others make idle, that contradict each other.

use std::collections::BTreeSet;
use std::fmt;

use itertools::Itertools;

use super::RuleSet;
use crate::chord::{Chord, Degree, Function, Spelling};
use crate::error::{Error, Excerpt};
use crate::pitch::{Accidental, Letter, NoteName, Pitch, PitchClass};
use crate::rules::judge::Frame;
use crate::rules::kind::{PairTest, Test};
use crate::rules::rule::{Body, Points, Rule};
use crate::rules::{MovingNote, Situation};
use crate::voicing::{HandSize, HandSpan};

/// Something in a rule set that is allowed but hardly meant.
#[derive(Clone)]
pub struct Warning {
    rule: String,
    error: Error,
}

impl Warning {
    fn new(rule: &Rule, message: String, help: &str) -> Self {
        let message = format!("rule `{}` {message}", rule.id);
        let error = match &rule.origin {
            Some(origin) => origin.error(message),
            None => Error::new(crate::error::Kind::Rules, message),
        };
        Self { rule: rule.id.clone(), error: error.with_help(help) }
    }

    /// The id of the rule.
    pub fn rule(&self) -> &str {
        &self.rule
    }

    /// The place in the file.
    pub fn excerpt(&self) -> Option<&Excerpt> {
        self.error.excerpt()
    }

    /// What would help.
    pub fn help(&self) -> &str {
        self.error.help().unwrap_or_default()
    }

    /// The whole story on several lines: message, the marked text, help.
    pub fn report(&self) -> String {
        self.error.report().replacen("error: ", "warning: ", 1)
    }
}

/// The message as one line.
impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.error.fmt(f)
    }
}

impl fmt::Debug for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.report())
    }
}

/// What is known of a rule so far.
#[derive(Clone, Default)]
struct Seen {
    /// It tests something over some chord.
    active: bool,
    /// Some test of it is not forbidden by another rule anyway.
    free: bool,
    /// The rules that forbid what it tests.
    covered_by: BTreeSet<usize>,
    /// Rules about the same pair that do the contrary.
    contrary: BTreeSet<usize>,
}

/// What is forbidden over one chord, with the first rule that says so.
#[derive(Default)]
struct Forbidden {
    classes: [Option<usize>; 12],
    /// The one below the other.
    pairs: Vec<(PairTest, usize)>,
}

impl Forbidden {
    /// The rule, other than this one, that forbids whatever this test fires for. Of two that forbid the same, the first
    /// counts.
    fn covers(&self, test: &Test, rule: usize, forbids: bool) -> Option<usize> {
        let other = |found: usize| found != rule && (!forbids || found < rule);
        let class = |class: u8| self.classes.get(usize::from(class)).copied().flatten().filter(|r| other(*r));
        match test {
            Test::Present(one) => class(*one),
            Test::Pair(pair) => class(pair.lower).or_else(|| class(pair.upper)).or_else(|| {
                let same = |own: &PairTest| {
                    let ways = |p: &PairTest| [(p.lower, p.upper), (p.upper, p.lower)];
                    match (own.either_way, pair.either_way) {
                        (true, _) => ways(own).contains(&(pair.lower, pair.upper)),
                        (false, false) => (own.lower, own.upper) == (pair.lower, pair.upper),
                        (false, true) => false,
                    }
                };
                self.pairs.iter().find(|(own, found)| same(own) && other(*found)).map(|(_, found)| *found)
            }),
            _ => None,
        }
    }
}

impl RuleSet {
    /// What the set says without effect: rules that can never fire, rules that make no difference because another forbids
    /// the same already, rules that credit what another forbids, cases that look for rules which are not there. In the
    /// order of the rules.
    ///
    /// # Complexity
    ///
    /// All 4,704 chords on C, and some over another bass, are tried, in every function and under every melody degree that some rule
    /// names: some tenths of a second for a set of the size of the standard one.
    ///
    /// # Example
    ///
    /// ```
    /// use overshell::rules::RuleSet;
    ///
    /// let text = r#"
    ///     format = 1
    ///     name = "odd"
    ///     [[rule]]
    ///     id = "third-of-a-power-chord"
    ///     kind = "needs"
    ///     chords = ["power"]
    ///     one-of = ["3"]
    ///     cost = 10
    ///     message = "the third is missing"
    ///     help = "add it"
    ///     source = "invented for this example"
    /// "#;
    /// let warnings = RuleSet::from_toml("odd.toml", text)?.warnings();
    /// assert!(warnings[0].to_string().contains("can never fire"));
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn warnings(&self) -> Vec<Warning> {
        let mut seen = vec![Seen::default(); self.rules.len()];
        let mut chords: Vec<Chord> = Chord::all_on(NoteName::C).collect();
        let g = NoteName::new(Letter::G, Accidental::Natural);
        let plain = chords.iter().filter(|chord| chord.tensions().is_empty());
        let inverted: Vec<Chord> = plain.map(|chord| chord.with_bass(g)).collect();
        chords.extend(inverted);
        for situation in self.situations() {
            for chord in &chords {
                self.look_at(*chord, &situation, &mut seen);
            }
        }
        let about = self.rules.iter().zip(&seen).flat_map(|(rule, seen)| self.warn(rule, seen));
        about.collect()
    }

    fn warn(&self, rule: &Rule, seen: &Seen) -> Vec<Warning> {
        let mut warnings = Vec::new();
        let names = |rules: &BTreeSet<usize>| {
            let ids = rules.iter().filter_map(|at| self.rules.get(*at)).map(|rule| format!("`{}`", rule.id));
            itertools::join(ids, ", ")
        };
        let idle = rule.kind().is_some_and(|kind| kind.is_idle())
            || matches!(rule.points, Points::Cost(0) | Points::Colour(0));
        if idle {
            let help = "give it points, or leave it out";
            warnings.push(Warning::new(rule, "does nothing: it has no points".into(), help));
        } else if !seen.active {
            let help =
                "look at its conditions: no chord and no hands meet them and give it something to test";
            warnings.push(Warning::new(rule, "can never fire".into(), help));
        } else if !seen.free && !seen.covered_by.is_empty() {
            let others = names(&seen.covered_by);
            warnings.push(if matches!(rule.points, Points::Colour(_)) {
                let help = "leave one of them out, or narrow the one that forbids";
                Warning::new(rule, format!("credits what is forbidden by {others}"), help)
            } else {
                let help = "leave it out, or narrow the one that forbids";
                Warning::new(rule, format!("makes no difference: the same is forbidden by {others}"), help)
            });
        } else if !seen.contrary.is_empty() {
            let others = names(&seen.contrary);
            let help = "say of a pair that it is good or that it is bad";
            warnings.push(Warning::new(
                rule,
                format!("credits the pair that is charged or forbidden by {others}"),
                help,
            ));
        }
        for id in rule.cases.iter().flat_map(|case| case.looks_for()) {
            if self.rules.iter().all(|rule| rule.id != *id) {
                let message = format!(
                    "has a case that looks for `{}`, which is no rule of the set",
                    crate::pitch::shown(id)
                );
                let help = super::suggestion(id, self.ids());
                warnings.push(Warning::new(rule, message, &help));
            }
        }
        warnings
    }

    /// Enough situations to meet every condition of every rule.
    fn situations(&self) -> Vec<Situation> {
        let functions: Vec<Option<Function>> = self
            .rules
            .iter()
            .flat_map(|rule| rule.condition.functions.iter().flatten())
            .copied()
            .chain(self.rules.iter().filter_map(|rule| rule.kind()).flat_map(|kind| kind.functions()))
            .map(Some)
            .chain([None])
            .sorted()
            .dedup()
            .collect();
        let melodies: Vec<Option<Degree>> = self
            .rules
            .iter()
            .flat_map(|rule| rule.condition.melody.iter().flat_map(|degrees| degrees.iter()))
            .map(Some)
            .chain([None])
            .sorted()
            .dedup()
            .collect();
        let player_matters = self.rules.iter().any(|rule| rule.condition.bass_player.is_some());
        let players = if player_matters { vec![false, true] } else { vec![false] };
        // Both at once only where a rule asks for both.
        let both = self.rules.iter().any(|rule| names_functions(rule) && rule.condition.melody.is_some());
        let asked = itertools::iproduct!(functions, melodies)
            .filter(|(function, melody)| both || function.is_none() || melody.is_none());
        let asked: Vec<_> = asked.collect();
        let note = |degree: Degree| {
            let class = degree.class_over(PitchClass::wrapping(0));
            Pitch::from_midi(
                72 + class.get(),
                Spelling::default()
                    .name(Chord::new(NoteName::C, crate::chord::Quality::DOMINANT_SEVENTH), class),
            )
        };
        itertools::iproduct!(asked, players)
            .map(|((function, melody), bass_player)| Situation {
                function,
                melody: melody.and_then(note),
                moving: vec![MovingNote { key: 72, sixteenths: 16 }],
                hand_size: HandSize::default(),
                bass_player,
            })
            .collect()
    }

    fn look_at(&self, chord: Chord, situation: &Situation, seen: &mut [Seen]) {
        // A rule that asks for no function is looked at where none is known, and so on; what forbids counts anywhere.
        let about = |rule: &Rule| {
            let asks = &rule.condition;
            let in_function = match situation.function {
                Some(_) => names_functions(rule),
                None => asks.functions.is_none(),
            };
            in_function && asks.melody.is_some() == situation.melody.is_some()
        };
        if !self.rules.iter().any(|rule| about(rule) && rule.condition.admits_chord(chord)) {
            return;
        }
        let frame = Frame::new(chord, situation);
        let mut baked: Vec<(usize, Points, Vec<Test>)> = Vec::new();
        let mut forbidden = Forbidden::default();
        for (at, rule) in self.rules.iter().enumerate() {
            let about = about(rule);
            if !(about || rule.points == Points::Clash) || !rule.condition.admits(&frame) {
                continue;
            }
            let Some(seen) = seen.get_mut(at) else { continue };
            let Body::Data(kind) = &rule.body else {
                (seen.active, seen.free) = (true, true);
                continue;
            };
            let mut tests = Vec::new();
            // Kinds that do not look at the chord are baked once; hands of any size count.
            if kind.looks_at_chord() {
                kind.bake(&frame, &mut tests);
            } else if !seen.active {
                seen.free = true;
                seen.active = kind.motion().is_some()
                    || kind.outer().is_some()
                    || sizes().any(|hand_size| {
                        kind.bake(&Frame { hand_size, melody: Some(72), ..frame.clone() }, &mut tests);
                        tests.drain(..).any(|test| test.can_fire())
                    });
            }
            let gate = rule.condition.gate(&frame);
            if tests.is_empty() || gate.as_ref().is_some_and(|gate| gate.is_shut()) {
                continue;
            }
            seen.active |= tests.iter().any(Test::can_fire);
            if gate.is_none() && rule.points == Points::Clash {
                for test in &tests {
                    match test {
                        Test::Present(class) => {
                            if let Some(first) = forbidden.classes.get_mut(usize::from(*class)) {
                                first.get_or_insert(at);
                            }
                        }
                        Test::Pair(pair) => forbidden.pairs.push((*pair, at)),
                        _ => {}
                    }
                }
            }
            if about {
                baked.push((at, rule.points, tests));
            }
        }
        for (at, points, tests) in &baked {
            let Some(seen) = seen.get_mut(*at) else { continue };
            for test in tests {
                match forbidden.covers(test, *at, *points == Points::Clash) {
                    Some(other) => {
                        seen.covered_by.insert(other);
                    }
                    None => seen.free = true,
                }
                if let (Points::Colour(_), Test::Pair(pair)) = (points, test) {
                    let contrary = baked.iter().filter(|(_, points, _)| !matches!(points, Points::Colour(_)));
                    let meets = |other: &Test| matches!(other, Test::Pair(own) if own.meets(pair));
                    let contrary = contrary.filter(|(_, _, tests)| tests.iter().any(meets));
                    seen.contrary.extend(contrary.map(|(at, ..)| *at));
                }
            }
        }
    }
}

/// Whether the rule asks what a chord does, in its conditions or in its lines.
fn names_functions(rule: &Rule) -> bool {
    rule.condition.functions.is_some() || rule.kind().is_some_and(|kind| !kind.functions().is_empty())
}

/// A hand of each size.
fn sizes() -> impl Iterator<Item = HandSize> {
    let custom = HandSpan::new(2_000, 1_645).ok().map(HandSize::Custom);
    HandSize::NAMES.into_iter().map(|(_, size)| size).chain(custom)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The warnings of a set of these rules, each given by id and lines.
    fn warnings(rules: &[(&str, &str)]) -> Vec<String> {
        let rule = |(id, lines): &(&str, &str)| {
            format!(
                "[[rule]]\nid = \"{id}\"\nmessage = \"m\"\nhelp = \"h\"\nsource = \"invented for this test\"\n{lines}\n"
            )
        };
        let rules: String = rules.iter().map(rule).collect();
        let set = RuleSet::from_toml("x.toml", &format!("format = 1\nname = \"x\"\n{rules}")).unwrap();
        for warning in set.warnings() {
            assert_eq!(warning.excerpt().unwrap().name(), Some("x.toml"));
            assert!(warning.report().starts_with("warning: rule `") && !warning.help().is_empty());
        }
        set.warnings().iter().map(ToString::to_string).collect()
    }

    const FORBIDS_NINTH: (&str, &str) = ("forbids", "kind = \"tone\"\ndegrees = [\"9\"]\neffect = \"clash\"");

    #[test]
    fn ok_rules_that_can_never_fire() {
        let never = |lines: &str| warnings(&[("a", lines)]) == ["rule `a` can never fire"];
        // No chord is both; no chord has it; no key means it over these chords; no such left hand; no limit at all.
        assert!(never("kind = \"tone\"\nhas = [\"3\", \"b3\"]\ndegrees = [\"9\"]\ncost = 1"));
        assert!(never("kind = \"tone\"\nchords = []\ndegrees = [\"9\"]\ncost = 1"));
        assert!(never("kind = \"needs\"\nchords = [\"power\"]\none-of = [\"3\"]\ncost = 1"));
        assert!(never("kind = \"tone\"\nchords = [\"minor\"]\ndegrees = [\"#9\"]\ncost = 1"));
        assert!(never("kind = \"pair\"\nchords = [\"dominant\"]\nlower = \"b3\"\nupper = \"5\"\ncost = 1"));
        assert!(never(
            "kind = \"tone\"\nchords = [\"power\"]\nwhen = { shells = [\"1 3\"] }\ndegrees = [\"5\"]\ncost = 1"
        ));
        assert!(never(
            "kind = \"tone\"\nchords = [\"minor\"]\nwhen = { melody = [\"#9\"] }\ndegrees = [\"5\"]\ncost = 1"
        ));
        assert!(never("kind = \"spacing\"\nbetween = \"hands\"\nat-least = 0\ncost = 1"));
        assert!(never("kind = \"register\"\nlimits = {}\ncost = 1"));
        assert!(never("kind = \"structure\"\nlabels = []\ncost = 1"));
        // What needs a situation can fire in it.
        for lines in [
            "kind = \"function\"\nfunctions = [\"iii\"]\ntensions = []\ncost = 1",
            "kind = \"tone\"\nfunctions = [\"bVII7\"]\nwhen = { melody = [\"13\"], bass-player = true }\ndegrees = [\"9\"]\ncost = 1",
            "kind = \"melody\"\nabove = [1]\ncost = 1",
            "kind = \"needs\"\nbass = true\ncost = 1",
            "kind = \"reach\"\nhand-size = \"custom\"\nmargin-mm = 24\ncost = 1",
            "kind = \"needs\"\nwritten = true\ncost = 1",
        ] {
            assert_eq!(warnings(&[("a", lines)]), [""; 0], "{lines}");
        }
    }

    #[test]
    fn ok_rules_without_points() {
        let nothing = ["rule `a` does nothing: it has no points"];
        assert_eq!(warnings(&[("a", "kind = \"tone\"\ndegrees = [\"9\"]\ncost = 0")]), nothing);
        assert_eq!(warnings(&[("a", "kind = \"motion\"\nhand = \"left\"\nleap-over = 5")]), nothing);
        assert_eq!(warnings(&[("a", "kind = \"motion\"\nsimilar = 0")]), nothing);
    }

    #[test]
    fn ok_rules_that_others_make_idle() {
        let charge = ("charges", "kind = \"tone\"\ndegrees = [\"9\"]\ncost = 3");
        assert_eq!(
            warnings(&[charge, FORBIDS_NINTH]),
            ["rule `charges` makes no difference: the same is forbidden by `forbids`"]
        );
        // Wider than what is forbidden, in degrees or in chords, it still makes a difference.
        let wider = ("wider", "kind = \"tone\"\ndegrees = [\"9\", \"13\"]\ncost = 3");
        assert_eq!(warnings(&[wider, FORBIDS_NINTH]), [""; 0]);
        let narrow =
            ("narrow", "kind = \"tone\"\nchords = [\"minor\"]\ndegrees = [\"9\"]\neffect = \"clash\"");
        assert_eq!(warnings(&[charge, narrow]), [""; 0]);
        // Two halves make a whole; of two that are the same, the later one is told.
        let lacks = ("lacks", "kind = \"tone\"\nlacks = [\"b7\"]\ndegrees = [\"9\"]\neffect = \"clash\"");
        let has = ("has", "kind = \"tone\"\nhas = [\"b7\"]\ndegrees = [\"9\"]\neffect = \"clash\"");
        assert_eq!(
            warnings(&[lacks, charge, has]),
            ["rule `charges` makes no difference: the same is forbidden by `lacks`, `has`"]
        );
        let again = ("again", FORBIDS_NINTH.1);
        assert_eq!(
            warnings(&[FORBIDS_NINTH, again]),
            ["rule `again` makes no difference: the same is forbidden by `forbids`"]
        );
        // A degree that is forbidden makes its pairs idle; a pair in one direction is not the pair in both.
        let pair = ("pair", "kind = \"pair\"\nlower = \"9\"\nupper = \"3\"\ncost = 3");
        assert_eq!(warnings(&[pair, FORBIDS_NINTH]).len(), 1);
        let one_way = ("one-way", "kind = \"pair\"\nlower = \"9\"\nupper = \"3\"\neffect = \"clash\"");
        let both = ("both", "kind = \"pair\"\nlower = \"3\"\nupper = \"9\"\neither-way = true\ncost = 3");
        assert_eq!(warnings(&[one_way, both]), [""; 0]);
        assert_eq!(warnings(&[one_way, pair]).len(), 1);
        // What is forbidden only with a bass player, or only to some hands, is free elsewhere.
        for when in [
            "when = { bass-player = true }",
            "when = { bass-player = false }",
            "when = { shells = [\"1 3 7\"] }",
        ] {
            let lines = format!("{}\n{when}", FORBIDS_NINTH.1);
            assert_eq!(warnings(&[charge, ("sometimes", &lines)]), [""; 0], "{when}");
        }
    }

    #[test]
    fn ok_rules_that_contradict_each_other() {
        let credit = ("credits", "kind = \"tone\"\ndegrees = [\"9\"]\ncolour = 3");
        assert_eq!(
            warnings(&[credit, FORBIDS_NINTH]),
            ["rule `credits` credits what is forbidden by `forbids`"]
        );
        let good = ("good", "kind = \"pair\"\nlower = \"9\"\nupper = \"13\"\ncolour = 3");
        let bad = (
            "bad",
            "kind = \"pair\"\nchords = [\"minor\"]\nlower = \"13\"\nupper = \"9\"\neither-way = true\ncost = 3",
        );
        assert_eq!(
            warnings(&[good, bad]),
            ["rule `good` credits the pair that is charged or forbidden by `bad`"]
        );
        // The one below the other is good, the other way round is not: no contradiction.
        let turned = ("turned", "kind = \"pair\"\nlower = \"13\"\nupper = \"9\"\ncost = 3");
        assert_eq!(warnings(&[good, turned]), [""; 0]);
    }

    #[test]
    fn ok_cases_that_look_for_nobody() {
        let lines = format!(
            "{}\n[[rule.case]]\nchord = \"C7\"\nleft = \"C3\"\nright = \"D4\"\nspares = [\"forbid\"]",
            FORBIDS_NINTH.1
        );
        assert_eq!(
            warnings(&[("forbids", &lines)]),
            ["rule `forbids` has a case that looks for `forbid`, which is no rule of the set"]
        );
    }
}
