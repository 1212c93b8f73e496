//! Where rule sets come from: files that extend one another, folders, and what is said where they cannot be read.

#![allow(missing_docs, clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "tests")]

use std::fs;
use std::path::Path;

use overshell::Error;
use overshell::chord::chord;
use overshell::rules::{Judgement, RuleSet, Situation, Verdict};
use overshell::voicing::Voicing;
use proptest::prelude::*;
use tempfile::TempDir;

/// A folder with these files.
fn folder(files: &[(&str, &str)]) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        fs::write(folder.path().join(name), text).unwrap();
    }
    folder
}

fn head(name: &str, more: &str) -> String {
    format!("format = 1\nname = \"{name}\"\n{more}\n")
}

fn rule(id: &str, lines: &str) -> String {
    format!(
        "[[rule]]\nid = \"{id}\"\n{lines}\nmessage = \"{id}\"\nhelp = \"none\"\nsource = \"invented for this test\"\n"
    )
}

const FIFTH: &str = "kind = \"tone\"\ndegrees = [\"5\"]\ncost = 3";
const NINTH: &str = "kind = \"tone\"\ndegrees = [\"9\"]\ncost = 4";

/// The message and what is underlined, without the folder's name.
fn told(error: &Error, folder: &Path) -> Vec<(String, String)> {
    let folder = format!("{}/", folder.display());
    let all = std::iter::once(error).chain(error.others());
    let marked = |error: &Error| error.excerpt().map(|excerpt| excerpt.marked()).unwrap_or_default();
    all.map(|error| (error.to_string().replace(&folder, ""), marked(error))).collect()
}

fn refused(path: &Path, folder: &Path) -> Vec<(String, String)> {
    told(&RuleSet::load(path.to_str().unwrap()).unwrap_err(), folder)
}

#[test]
fn ok_files_extend_files_beside_them() {
    let base = head("base", "colour-threshold = 7") + &rule("fifth", FIFTH);
    let middle = head("middle", "extends = [\"sub/base.toml\"]") + &rule("ninth", NINTH);
    let top = head("top", "extends = [\"standard\", \"./middle.toml\"]\noff = [\"fifth\"]");
    let folder = folder(&[("middle.toml", &middle), ("top.toml", &top)]);
    fs::create_dir(folder.path().join("sub")).unwrap();
    fs::write(folder.path().join("sub/base.toml"), base).unwrap();
    let set = RuleSet::from_file(folder.path().join("top.toml")).unwrap();
    assert_eq!((set.name(), set.colour_threshold()), ("top", 7));
    assert_eq!(set.ids().count(), RuleSet::standard().ids().count() + 1);
    assert_eq!(set.ids().last(), Some("ninth"));
    assert!(set.explain("ninth").unwrap().place.unwrap().ends_with("middle.toml:4"));
}

/// Two sets that extend the same third one do not undo each other.
#[test]
fn ok_what_several_extend_lies_below_all_of_them() {
    let one = head("one", "extends = [\"standard\"]\noff = [\"minor-ninth\"]");
    let two = head("two", "extends = [\"standard\"]") + &rule("semitone-inside", FIFTH);
    let both = head("both", "extends = [\"one.toml\", \"two.toml\"]");
    let folder = folder(&[("one.toml", &one), ("two.toml", &two), ("both.toml", &both)]);
    let set = RuleSet::from_file(folder.path().join("both.toml")).unwrap();
    assert!(set.explain("minor-ninth").is_none());
    assert_eq!(set.explain("semitone-inside").unwrap().kind, "tone");
}

/// Nor do they quarrel about a rule that both switch off; one that nobody has is a fault still.
#[test]
fn ok_what_one_switches_off_another_may_too() {
    let off = |name: &str, id: &str| head(name, &format!("extends = [\"standard\"]\noff = [\"{id}\"]"));
    let both = head("both", "extends = [\"one.toml\", \"two.toml\"]");
    let folder = folder(&[
        ("one.toml", &off("one", "minor-ninth")),
        ("two.toml", &off("two", "minor-ninth")),
        ("three.toml", &off("three", "minor-nineth")),
        ("both.toml", &both),
    ]);
    assert!(RuleSet::from_file(folder.path().join("both.toml")).unwrap().explain("minor-ninth").is_none());
    let found = refused(&folder.path().join("three.toml"), folder.path());
    assert_eq!(found[0].1, "\"minor-nineth\"");
    assert!(
        RuleSet::from_toml("x", &head("x", "extends = [\"first-lessons\", \"strict-diatonic\"]")).is_ok()
    );
}

#[test]
fn err_files_that_extend_each_other() {
    let extends = |name: &str, other: &str| head(name, &format!("extends = [\"{other}\"]"));
    let files = [
        ("a.toml", extends("a", "b.toml")),
        ("b.toml", extends("b", "./c.toml")),
        ("c.toml", extends("c", "../x/a.toml")),
        ("self.toml", extends("self", "self.toml")),
    ];
    let outer = tempfile::tempdir().unwrap();
    let inner = outer.path().join("x");
    fs::create_dir(&inner).unwrap();
    for (name, text) in files {
        fs::write(inner.join(name), text).unwrap();
    }
    let found = refused(&inner.join("a.toml"), &inner);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].0.contains("which extends it again: a circle"), "{found:?}");
    assert!(found[0].0.contains("`b.toml`, which extends `./c.toml`"), "{found:?}");
    assert_eq!(found[0].1, "\"../x/a.toml\"");
    let found = refused(&inner.join("self.toml"), &inner);
    assert_eq!(
        found,
        [("rule file `self.toml`: the file extends itself".to_owned(), "\"self.toml\"".to_owned())]
    );
}

#[test]
fn err_a_long_chain_of_files() {
    let folder = tempfile::tempdir().unwrap();
    for at in 0..40 {
        let text = head(&format!("f{at}"), &format!("extends = [\"f{}.toml\"]", at + 1));
        fs::write(folder.path().join(format!("f{at}.toml")), text).unwrap();
    }
    let found = refused(&folder.path().join("f0.toml"), folder.path());
    assert_eq!(found.len(), 1);
    assert!(found[0].0.contains("more than 16 files extend one another"), "{found:?}");
}

/// Faults of the file and of all files below it come at once, each in its own place, and no part of a set.
#[test]
fn err_all_faults_of_all_files_at_once() {
    let below = head("below", "colur = 1") + &rule("fifth", "kind = \"tone\"\ndegrees = [\"15\"]\ncost = 3");
    let top = head("top", "extends = [\"below.toml\", \"gone.toml\", \"standrad\"]\noff = [\"fifth\"]")
        + &rule("x", "kind = \"pair\"\nlower = \"3\"\ncost = nan");
    let folder = folder(&[("below.toml", &below), ("top.toml", &top)]);
    let found = refused(&folder.path().join("top.toml"), folder.path());
    let expected = [
        ("rule file `top.toml`: cannot read `gone.toml`", "\"gone.toml\""),
        ("rule file `top.toml`: there is no rule set `standrad`", "\"standrad\""),
        ("rule file `top.toml`: a `pair` rule needs `lower` and `upper`", "[[rule]]"),
        ("rule file `top.toml`: `cost` holds a number with a point, expected a whole number", "nan"),
        ("rule file `below.toml`: unknown key `colur`", "colur"),
        ("rule file `below.toml`: `15` is not a degree", "\"15\""),
    ];
    for ((message, marked), (start, part)) in found.iter().zip(expected) {
        assert!(message.starts_with(start) && marked == part, "{message} {marked}, expected {start} {part}");
    }
    assert_eq!(found.len(), expected.len(), "{found:#?}");
}

#[test]
fn err_what_is_no_rule_file() {
    let folder = folder(&[("empty.toml", ""), ("note.txt", "not a rule file")]);
    fs::write(folder.path().join("bytes.toml"), b"format = 1\nname = \"\xff\"\n").unwrap();
    fs::write(folder.path().join("big.toml"), vec![b'#'; 10 << 20]).unwrap();
    let error = |name: &str| RuleSet::load(folder.path().join(name).to_str().unwrap()).unwrap_err();
    assert!(error("gone.toml").is_io() && error("gone.toml").help().unwrap().contains("`standard`"));
    assert!(
        error("bytes.toml").is_rules() && error("bytes.toml").to_string().contains("line 2 is not UTF-8")
    );
    assert!(error("big.toml").is_limit() && error("big.toml").to_string().contains("the limit is 1048576"));
    let empty = told(&error("empty.toml"), folder.path());
    assert!(
        empty[0].0.contains("`format` is missing") && empty[1].0.contains("`name` is missing"),
        "{empty:?}"
    );
    let nothing = tempfile::tempdir().unwrap();
    assert!(RuleSet::from_folder(nothing.path()).unwrap_err().to_string().contains("holds no rule file"));
    assert!(RuleSet::from_folder(nothing.path().join("gone")).unwrap_err().is_io());
    let in_text = RuleSet::from_toml("text", &head("x", "extends = [\"mine.toml\"]")).unwrap_err();
    assert!(in_text.to_string().contains("a text has no folder to look in"), "{in_text:?}");
}

/// A case that does not hold shows what was expected and what was found, and the file gives no set.
#[test]
fn err_cases_that_do_not_hold() {
    let case = "[[rule.case]]\nchord = \"C7\"\nleft = \"C3 E3 Bb3\"\nright = \"D4 F#4 A4\"\n";
    let text = head("mine", "extends = [\"standard\"]")
        + &rule("ninth", NINTH)
        + case
        + "verdict = \"clash\"\n"
        + case
        + "fires = [\"nimth\"]\n"
        + case
        + "spares = [\"ninth\"]\n"
        + case
        + "fires = [\"ninth\"]\nverdict = \"colour\"\n";
    let folder = folder(&[("mine.toml", &text)]);
    let error = RuleSet::from_file(folder.path().join("mine.toml")).unwrap_err();
    let found = told(&error, folder.path());
    let reasons = "for `ninth` (cost 4), `altered-tension` (colour 20), `natural-tension` (colour 20)";
    let what = "rule file `mine.toml`: case of `ninth`: C7 as C3 E3 Bb3 | D4 F#4 A4: expected ";
    assert_eq!(
        found.iter().map(|(message, _)| message.as_str()).collect::<Vec<_>>(),
        [
            format!("{what}clash, found colour, {reasons}"),
            format!("{what}`nimth` to fire, found colour, {reasons}"),
            format!("{what}`ninth` not to fire, found colour, {reasons}"),
        ]
    );
    assert!(error.others()[0].help().unwrap().contains("did you mean `ninth`?"), "{error:?}");
    assert_eq!(error.excerpt().unwrap().line_number(), Some(12));
}

#[test]
fn ok_a_folder_is_one_set() {
    let one = head("one", "extends = [\"standard\"]\ncolour-threshold = 7") + &rule("ninth", NINTH);
    let two = head("two", "off = [\"minor-ninth\"]\nextends = [\"standard\"]") + &rule("fifth", FIFTH);
    let folder = folder(&[("b.toml", &one), ("a.toml", &two), ("readme.md", "# not a rule file")]);
    let set = RuleSet::load(folder.path().to_str().unwrap()).unwrap();
    assert_eq!(set.name(), folder.path().file_name().unwrap().to_str().unwrap());
    assert_eq!(set.colour_threshold(), 7);
    assert!(
        set.explain("minor-ninth").is_none()
            && set.explain("ninth").is_some()
            && set.explain("fifth").is_some()
    );
    assert_eq!(set.ids().count(), RuleSet::standard().ids().count() + 1);
}

/// A file of the folder that another one extends is laid down once, and its cases count.
#[test]
fn ok_files_of_a_folder_may_extend_each_other() {
    let case = "[[rule.case]]\nchord = \"C7\"\nleft = \"C3\"\nright = \"D4\"\nfires = [\"ninth\"]\n";
    let above = head("above", "extends = [\"below.toml\"]") + &rule("fifth", FIFTH);
    let below = head("below", "") + &rule("ninth", NINTH) + case;
    let folder = folder(&[("above.toml", &above), ("below.toml", &below)]);
    let set = RuleSet::from_folder(folder.path()).unwrap();
    assert_eq!(set.ids().collect::<Vec<_>>(), ["fifth", "ninth"]);
    assert_eq!(set.case_count(), 1);
}

/// What the files of a folder extend lies below all of them, what they switch off does not lie in one of them, whatever
/// the files are called.
#[test]
fn ok_names_of_files_in_a_folder_change_nothing() {
    let setting = head("setting", "colour-threshold = 7") + &rule("altered-tension", NINTH);
    let extending = head("extending", "extends = [\"dense-altered\"]");
    let both =
        ["strict-diatonic", "dense-altered"].map(|name| head(name, &format!("extends = [\"{name}\"]")));
    let mut seen = Vec::new();
    for [one, two, three, four] in [["a", "b", "c", "d"], ["d", "c", "b", "a"], ["b", "d", "a", "c"]] {
        let named = |name: &str| format!("{name}.toml");
        let names = [one, two, three, four].map(named);
        let texts = [&setting, &extending, &both[0], &both[1]];
        let files: Vec<(&str, &str)> =
            names.iter().map(String::as_str).zip(texts.iter().map(|text| text.as_str())).collect();
        let folder = folder(&files);
        let set = RuleSet::from_folder(folder.path()).unwrap();
        assert_eq!((set.colour_threshold(), set.colour_enough()), (7, 80));
        assert_eq!(set.explain("altered-tension").unwrap().effect, "cost 4");
        seen.push(judged(&set));
    }
    assert!(seen.iter().all(|judgements| *judgements == seen[0]));

    let ninth = head("ninth", "") + &rule("ninth", NINTH);
    let off = head("off", "off = [\"ninth\"]");
    for names in [["a.toml", "b.toml"], ["b.toml", "a.toml"]] {
        let folder = folder(&[(names[0], &ninth), (names[1], &off)]);
        let found = refused(folder.path(), folder.path());
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(found[0].0.ends_with("there is no rule `ninth` to switch off"));
    }
}

/// A file full of faults is told in short time, and not in full.
#[test]
fn err_very_many_faults() {
    let many = itertools::join((0..60_000).map(|at| format!("\"r{at}\"")), ", ");
    let off = RuleSet::from_toml("x", &head("x", &format!("extends = [\"standard\"]\noff = [{many}]")))
        .unwrap_err();
    let degrees = rule("x", &format!("kind = \"tone\"\ncost = 1\ndegrees = [{many}]"));
    let degrees = RuleSet::from_toml("x", &(head("x", "") + &degrees)).unwrap_err();
    for error in [off, degrees] {
        assert_eq!(error.others().len(), 100);
        let all: Vec<String> =
            std::iter::once(&error).chain(error.others()).map(ToString::to_string).collect();
        assert_eq!(all.iter().filter(|text| text.ends_with("there are more than 100 faults")).count(), 1);
    }
}

#[test]
fn err_a_newer_format_is_told_alone() {
    let text = "format = 2\nname = 7\nfoo = 1\n[[rule]]\nkind = \"dream\"\n";
    let error = RuleSet::from_toml("x", text).unwrap_err();
    assert!(error.others().is_empty() && error.to_string().contains("format 2 is not known"), "{error:?}");
}

#[test]
fn err_files_of_a_folder_that_quarrel() {
    let one = head("one", "colour-threshold = 7") + &rule("ninth", NINTH);
    let two =
        head("two", "colour-threshold = 8") + &rule("ninth", FIFTH) + &rule("x", "kind = \"tnoe\"\ncost = 1");
    let folder = folder(&[("a.toml", &one), ("b.toml", &two)]);
    let found = refused(folder.path(), folder.path());
    let messages: Vec<&str> = found.iter().map(|(message, _)| message.as_str()).collect();
    assert_eq!(
        messages,
        [
            "there are two rules `ninth` in this folder, in a.toml:4 and b.toml:4",
            "rule file `b.toml`: `tnoe` is not a kind of rule",
            "`colour-threshold` is 7 in `a.toml` and 8 in `b.toml`",
        ]
    );
}

const VOICINGS: [(&str, &str); 5] = [
    ("C7", "C3 E3 Bb3 | F#4 A4 D5"),
    ("C7", "C3 E3 Bb3 | F4 A4 C5"),
    ("Dm7", "D3 F3 C4 | E4 G4 B4"),
    ("Ebmaj7", "Eb3 D4 | G4 Bb4 F5"),
    ("F#m7b5", "F#2 E3 | A3 C4 E4 A4"),
];

fn judged(set: &RuleSet) -> Vec<Judgement> {
    let judge =
        |(symbol, voicing): &(&str, &str)| set.judge(chord(symbol), &voicing.parse::<Voicing>().unwrap());
    VOICINGS.iter().map(judge).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// Files that speak of different ids may be laid down in any order, by `extends` and in a folder.
    #[test]
    fn prop_the_order_of_files_changes_nothing(
        rules in prop::collection::vec(
            (prop::sample::select(vec!["1", "3", "5", "b7", "9", "#11", "13", "11", "b3", "maj7"]), 0..3u8, 1..40u16),
            2..9,
        ),
        order in Just((0..4usize).collect::<Vec<_>>()).prop_shuffle(),
        split in prop::collection::vec(0..4usize, 9),
    ) {
        let mut texts: Vec<String> = (0..4).map(|file| head(&format!("f{file}"), "")).collect();
        for (at, (degree, effect, points)) in rules.iter().enumerate() {
            let effect = match effect {
                0 => "effect = \"clash\"".to_owned(),
                1 => format!("cost = {points}"),
                _ => format!("colour = {points}"),
            };
            texts[split[at]].push_str(&rule(&format!("r{at}"), &format!("kind = \"tone\"\ndegrees = [\"{degree}\"]\n{effect}")));
        }
        let names: Vec<String> = (0..4).map(|file| format!("f{file}.toml")).collect();
        let list = |order: &[usize]| itertools::join(order.iter().map(|file| format!("\"{}\"", names[*file])), ", ");
        let straight = head("set", &format!("extends = [{}]", list(&[0, 1, 2, 3])));
        let shuffled = head("set", &format!("extends = [{}]", list(&order)));
        let mut files: Vec<(&str, &str)> = names.iter().map(String::as_str).zip(texts.iter().map(String::as_str)).collect();
        let parts = folder(&files);
        // The same files under names that sort the other way round.
        let renamed: Vec<String> = order.iter().map(|at| format!("g{at}.toml")).collect();
        let elsewhere: Vec<(&str, &str)> = renamed.iter().map(String::as_str).zip(texts.iter().map(String::as_str)).collect();
        let elsewhere = folder(&elsewhere);
        files.extend([("one.toml", straight.as_str()), ("two.toml", shuffled.as_str())]);
        let all = folder(&files);
        let one = judged(&RuleSet::from_file(all.path().join("one.toml")).unwrap());
        prop_assert_eq!(&one, &judged(&RuleSet::from_file(all.path().join("two.toml")).unwrap()));
        prop_assert_eq!(&one, &judged(&RuleSet::from_folder(parts.path()).unwrap()));
        prop_assert_eq!(&one, &judged(&RuleSet::from_folder(elsewhere.path()).unwrap()));
    }
}

#[test]
fn ok_a_text_on_top_of_a_set() {
    let calm = RuleSet::standard()
        .over_toml("calm", &(head("calm", "off = [\"minor-ninth\"]") + &rule("ninth", NINTH)));
    let calm = calm.unwrap();
    // Laid down once: to extend what lies there already does not bring it back.
    let again = calm
        .over_toml("again", &(head("again", "extends = [\"standard\"]") + &rule("fifth", FIFTH)))
        .unwrap();
    assert!(again.explain("minor-ninth").is_none() && again.explain("ninth").is_some());
    let judgement =
        again.judge_for(chord("C7"), &Situation::default()).judge(&"C3 E3 Bb3 | D4 G4 A4".parse().unwrap());
    assert_eq!(judgement.verdict, Verdict::Colour);
    let own = ["ninth", "fifth", "natural-tension"];
    let fired = judgement.findings.iter().map(|finding| finding.rule.as_str()).filter(|id| own.contains(id));
    assert_eq!(fired.collect::<Vec<_>>(), own);
}
