//! Rules in code beside rules in files.

#![allow(missing_docs, clippy::unwrap_used, clippy::indexing_slicing, reason = "tests")]

use overshell::chord::{Degree, Function, chord};
use overshell::pitch::pitch;
use overshell::rules::{
    Context, Effect, Judgement, MotionRule, MovingNote, Report, Rule, RuleSet, Situation, Verdict,
};
use overshell::voicing::HandSize;

/// A rule that does what it is told.
struct Say<F>(&'static str, F);

impl<F: Fn(&Context<'_>, &mut Report<'_>) + Send + Sync> Rule for Say<F> {
    fn id(&self) -> &str {
        self.0
    }
    fn message(&self) -> &str {
        "it was told to say so"
    }
    fn help(&self) -> &str {
        "tell it otherwise"
    }
    fn source(&self) -> &str {
        "invented for this test"
    }
    fn judge(&self, context: &Context<'_>, report: &mut Report<'_>) {
        (self.1)(context, report);
    }
}

const VOICING: &str = "C3 E3 Bb3 | F#4 A4 D5";

fn judged(rules: &RuleSet) -> Judgement {
    rules.judge(chord("C7"), &VOICING.parse().unwrap())
}

#[test]
fn ok_findings_from_code_are_findings() {
    let say = Say("say", |_: &Context<'_>, report: &mut Report<'_>| {
        report.cost(3, [Degree::SharpEleven]);
        report.cost(3, [Degree::Nine]);
        report.cost(4, []);
        report.colour(5, [Degree::Nine, Degree::FlatThree]); // no key is b3 over C7
        report.cost(0, [Degree::Root]);
        report.colour(0, [Degree::Root]);
    });
    let rules = RuleSet::standard().clone().with_rule(say);
    let (with, without) = (judged(&rules), judged(RuleSet::standard()));
    assert_eq!((with.cost, with.colour), (without.cost + 10, without.colour + 5));
    let own: Vec<_> = with.findings.iter().filter(|finding| finding.rule == "say").collect();
    let said: Vec<(Effect, Vec<Degree>)> = own.iter().map(|f| (f.effect, f.degrees.clone())).collect();
    assert_eq!(
        said,
        [
            (Effect::Cost(6), vec![Degree::Nine, Degree::SharpEleven]),
            (Effect::Cost(4), vec![]),
            (Effect::Colour(5), vec![Degree::Nine]),
        ]
    );
    assert_eq!(
        (own[0].message.as_str(), own[0].help.as_str()),
        ("it was told to say so", "tell it otherwise")
    );
    let score = rules.judge_for(chord("C7"), &Situation::default()).score(&VOICING.parse().unwrap());
    assert_eq!((score.cost, score.colour), (with.cost, with.colour));
}

#[test]
fn ok_a_rule_in_code_may_forbid_and_is_told_first() {
    let rules = RuleSet::standard()
        .clone()
        .with_rule(Say("zz", |_: &Context<'_>, report: &mut Report<'_>| report.clash([Degree::Root])));
    let judgement = judged(&rules);
    assert_eq!(judgement.verdict, Verdict::Clash);
    assert_eq!((judgement.findings[0].rule.as_str(), judgement.findings[0].effect), ("zz", Effect::Clash));
}

/// It is a rule like any other: listed, explained, replaced by its id from code and from a file, switched off.
#[test]
fn ok_a_rule_in_code_has_an_id_like_any_other() {
    let silent = |_: &Context<'_>, _: &mut Report<'_>| {};
    let count = RuleSet::standard().ids().count();
    let rules =
        RuleSet::standard().clone().with_rule(Say("minor-ninth", silent)).with_rule(Say("mine", silent));
    assert_eq!(rules.ids().count(), count + 1);
    let said = rules.explain("minor-ninth").unwrap();
    assert_eq!((said.kind, said.effect.as_str(), said.place), ("code", "own points", None));
    assert!(rules.warnings().is_empty() && rules.self_test().is_empty());
    let told: Vec<String> = RuleSet::standard().diff(&rules).iter().map(ToString::to_string).collect();
    assert_eq!(told.len(), 2);
    assert!(told[0] == "+ mine (own points)" && told[1].starts_with("~ minor-ninth: "), "{told:?}");

    let text = "format = 1\nname = \"x\"\noff = [\"mine\"]\n[[rule]]\nid = \"minor-ninth\"\nkind = \"tone\"\n\
                degrees = [\"9\"]\ncost = 2\nmessage = \"m\"\nhelp = \"h\"\nsource = \"s\"\n";
    let over = rules.over_toml("x.toml", text).unwrap();
    assert_eq!(over.ids().count(), count);
    assert_eq!(over.explain("minor-ninth").unwrap().kind, "tone");
    assert_eq!(rules.off(["mine"]).unwrap().ids().count(), count);
}

#[test]
fn ok_the_context_is_what_is_known() {
    let looks = |context: &Context<'_>, report: &mut Report<'_>| {
        assert_eq!(context.chord(), chord("C7"));
        assert_eq!(context.function(), Some(Function::ToFour));
        assert_eq!((context.melody(), context.moving().len()), (Some(74), 1));
        assert_eq!((context.hand_size(), context.bass_player()), (HandSize::Large, true));
        assert_eq!((context.left(), context.right()), (&[48, 52, 58][..], &[66, 69, 74][..]));
        assert_eq!(context.keys(), [48, 52, 58, 66, 69, 74]);
        assert_eq!(context.degree_of(66), Degree::SharpEleven);
        assert_eq!(context.degrees().to_string(), "1 9 3 #11 13 b7");
        report.cost(1, context.degrees().iter());
    };
    let situation = Situation {
        function: Some(Function::ToFour),
        melody: Some(pitch("D5")),
        moving: vec![MovingNote { key: 72, sixteenths: 4 }],
        hand_size: HandSize::Large,
        bass_player: true,
    };
    let rules = RuleSet::standard().clone().with_rule(Say("looks", looks));
    let judgement = rules.judge_for(chord("C7"), &situation).judge(&VOICING.parse().unwrap());
    assert!(judgement.findings.iter().any(|finding| finding.rule == "looks" && finding.degrees.len() == 6));
}

/// Free for the first chord, dear for every further one.
struct Toll;

impl MotionRule for Toll {
    fn id(&self) -> &str {
        "toll"
    }
    fn message(&self) -> &str {
        "the way costs a toll"
    }
    fn help(&self) -> &str {
        "stay"
    }
    fn source(&self) -> &str {
        "invented for this test"
    }
    fn cost(&self, from: &Context<'_>, to: &Context<'_>) -> u16 {
        if from.chord() == to.chord() { 0 } else { 5 }
    }
}

#[test]
fn ok_ways_are_told_from_code_and_from_files_alike() {
    let rules = RuleSet::standard().clone().with_motion_rule(Toll);
    let judge = |symbol| rules.judge_for(chord(symbol), &Situation::default());
    let (from, to) = ("D3 F3 C4 | E4 A4".parse().unwrap(), "G2 F3 B3 | E4 A4".parse().unwrap());
    let moves = judge("G7").motion(&judge("Dm7"), &from, &to);
    let told: Vec<(&str, i32)> = moves.iter().map(|f| (f.rule.as_str(), f.effect.cost())).collect();
    assert_eq!(told, [("left-hand-motion", 8), ("toll", 5)]);
    assert_eq!(moves[1].message, "the way costs a toll");
    assert!(judge("Dm7").motion(&judge("Dm7"), &from, &from).is_empty());
}
