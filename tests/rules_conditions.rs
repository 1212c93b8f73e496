//! Conditions at their edges, and for the kinds that are not asked voicing by voicing.

#![allow(missing_docs, clippy::unwrap_used, clippy::indexing_slicing, reason = "tests")]

use overshell::chord::{Function, chord};
use overshell::rules::{Judge, RuleSet, Situation};
use overshell::voicing::HandSize;

/// A set of one rule.
fn only(lines: &str) -> RuleSet {
    let text = format!(
        "format = 1\nname = \"x\"\n[[rule]]\nid = \"own\"\n{lines}\nmessage = \"m\"\nhelp = \"h\"\nsource = \"invented for this test\"\n"
    );
    RuleSet::from_toml("x.toml", &text).unwrap()
}

fn over<'r>(rules: &'r RuleSet, symbol: &str) -> Judge<'r> {
    rules.judge_for(chord(symbol), &Situation::default())
}

/// The root costs a point where the condition holds.
fn holds(when: &str, voicing: &str) -> bool {
    let rules = only(&format!("kind = \"tone\"\ndegrees = [\"1\"]\ncost = 1\nwhen = {{ {when} }}"));
    let voicing = voicing.parse().unwrap();
    let judge = over(&rules, "C7");
    assert_eq!(judge.judge(&voicing).cost, judge.score(&voicing).cost);
    judge.score(&voicing).cost == 1
}

#[test]
fn ok_the_ends_of_a_register_belong_to_it() {
    let voicing = "C3 E3 Bb3 | E4 A4 D5";
    for (when, expected) in [
        ("lowest-from = \"B2\"", true),
        ("lowest-from = \"C3\"", true),
        ("lowest-from = \"C#3\"", false),
        ("lowest-to = \"C#3\"", true),
        ("lowest-to = \"C3\"", true),
        ("lowest-to = \"B2\"", false),
        ("highest-from = \"C#5\"", true),
        ("highest-from = \"D5\"", true),
        ("highest-from = \"Eb5\"", false),
        ("highest-to = \"Eb5\"", true),
        ("highest-to = \"D5\"", true),
        ("highest-to = \"C#5\"", false),
        ("lowest-from = \"C3\", lowest-to = \"C3\"", true),
        ("lowest-from = \"C3\", highest-to = \"C5\"", false),
    ] {
        assert_eq!(holds(when, voicing), expected, "{when}");
    }
}

#[test]
fn ok_a_shell_is_the_whole_left_hand_from_the_bottom() {
    for (voicing, expected) in [
        ("C3 E3 Bb3 | A4 D5", true),
        ("C3 Bb3 E4 | A4 D5", false),
        ("C3 E3 | Bb4 D5", false),
        ("C3 E3 G3 Bb3 | A4 D5", false),
        ("| C4 E4 Bb4", false),
    ] {
        assert_eq!(holds("shells = [\"1 3 7\"]", voicing), expected, "{voicing}");
    }
    assert!(holds("shells = [\"3 7\", \"1 7\"]", "C3 Bb3 | E4 A4"));
}

/// A `motion` rule applies where the chord that is gone to meets its conditions.
#[test]
fn ok_motion_rules_have_conditions() {
    let way = ["F3 C4 | A4".parse().unwrap(), "G3 B3 | D5".parse().unwrap()];
    for lines in ["kind = \"motion\"\nhand = \"left\"\nper-semitone = 1", "kind = \"motion\"\nsimilar = 3"] {
        let rules = only(&format!("{lines}\nchords = [\"dominant\"]"));
        let (minor, dominant) = (over(&rules, "Dm7"), over(&rules, "G7"));
        assert_eq!(dominant.motion(&minor, &way[0], &way[1]).len(), 1, "{lines}");
        assert_eq!(minor.motion(&dominant, &way[0], &way[1]), [], "{lines}");
    }
    let rules = only("kind = \"motion\"\nhand = \"left\"\nper-semitone = 1\nwhen = { bass-player = true }");
    let alone = over(&rules, "G7");
    let with = rules.judge_for(chord("G7"), &Situation { bass_player: true, ..Situation::default() });
    assert_eq!((alone.motion_cost(true, &[53], &[55]), with.motion_cost(true, &[53], &[55])), (0, 2));
}

/// So does a `reach` rule, for what it charges and for what it lets a hand play at all.
#[test]
fn ok_reach_rules_have_conditions() {
    let reach = "kind = \"reach\"\ncomfortable = 4\nlargest = 7\ncost = 1";
    let rules = only(&format!("{reach}\nchords = [\"dominant\"]"));
    let voicing = "C3 A3 | E4".parse().unwrap();
    assert!(!over(&rules, "C7").within_reach(&[48, 57]) && over(&rules, "C7").score(&voicing).cost == 5);
    assert!(over(&rules, "Cm7").within_reach(&[48, 57]) && over(&rules, "Cm7").score(&voicing).cost == 0);
    let rules = only(&format!("{reach}\nfunctions = [\"V7/I\"]"));
    let home = Situation { function: Some(Function::ToTonicMajor), ..Situation::default() };
    assert!(!rules.judge_for(chord("C7"), &home).within_reach(&[48, 57]));
    assert!(over(&rules, "C7").within_reach(&[48, 57]));
    let large = Situation { hand_size: HandSize::Large, ..Situation::default() };
    let rules = only(&format!("{reach}\nhand-size = \"small\""));
    assert!(rules.judge_for(chord("C7"), &large).within_reach(&[48, 57]));
}

/// Where no two keys of a hand are further apart than the limit, both ends included.
#[test]
fn ok_the_largest_stretch_is_within_reach() {
    let rules = only("kind = \"reach\"\ncomfortable = 4\nlargest = 7\ncost = 1");
    let judge = over(&rules, "C7");
    assert!(judge.within_reach(&[48, 55]) && !judge.within_reach(&[48, 56]) && judge.within_reach(&[]));
    let rules = only("kind = \"reach\"\ncomfortable-mm = 94\nlargest-mm = 141\ncost = 1");
    let judge = over(&rules, "C7");
    // Six white keys of 23.5 mm: Wikipedia, "Musical keyboard".
    assert!(judge.within_reach(&[48, 59]) && !judge.within_reach(&[48, 60]));
}

#[test]
fn ok_settings_hold_until_a_text_above_says_otherwise() {
    let head = |more: &str| format!("format = 1\nname = \"x\"\n{more}\n");
    let one = RuleSet::from_toml("one", &head("colour-threshold = 7\ncolour-enough = 70")).unwrap();
    let silent = one.over_toml("two", &head("")).unwrap();
    assert_eq!((silent.colour_threshold(), silent.colour_enough()), (7, 70));
    let other = silent.over_toml("three", &head("colour-enough = 80")).unwrap();
    assert_eq!((other.colour_threshold(), other.colour_enough()), (7, 80));
    let told: Vec<String> = one.diff(&other).iter().map(ToString::to_string).collect();
    assert_eq!(told, ["colour-enough: 70 -> 80"]);
    assert!(one != other && one == one.clone());
}
