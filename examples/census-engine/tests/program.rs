//! The program as it is called.

#![expect(clippy::unwrap_used, reason = "a test that cannot run its program has failed")]

use std::process::{Command, Output};

fn run(arguments: &[&str]) -> (Output, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_census-engine")).args(arguments).output().unwrap();
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    let (out, err) = (text(&output.stdout), text(&output.stderr));
    (output, out, err)
}

#[test]
fn ok_a_table_is_printed() {
    let sql = "SELECT chord, label FROM census WHERE root = 'F' AND quality = 'C7' AND label = 'II' LIMIT 1";
    let (output, out, err) = run(&[sql, "--partitions", "3"]);
    assert!(output.status.success(), "{err}");
    let lines = [
        "+-------+-------+",
        "| chord | label |",
        "+-------+-------+",
        "| F7    | II    |",
        "+-------+-------+",
    ];
    assert_eq!(out.lines().collect::<Vec<_>>(), lines);
    // As the files of questions begin.
    assert_eq!(run(&[&format!("-- a comment\n{sql}")]).1, out);
    // An empty answer has its columns.
    let (_, out, _) = run(&["SELECT chord FROM census WHERE root = 'H'"]);
    assert!(out.contains("chord"), "{out}");
}

#[test]
fn ok_spaces_and_rules() {
    let count = |arguments: &[&str]| {
        let all: Vec<&str> = ["SELECT count(*) AS n FROM census"].iter().chain(arguments).copied().collect();
        let (_, out, err) = run(&all);
        out.lines().nth(3).unwrap_or_else(|| panic!("{err}")).trim_matches(['|', ' ']).to_owned()
    };
    assert_eq!(count(&["--space", "full"]), "8686080");
    let folder = std::env::temp_dir().join(format!("census-engine-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let file = folder.join("space.json");
    let mut space = overshell::census::CensusSpace::usual();
    space.roots.truncate(1);
    std::fs::write(&file, serde_json::to_string(&space).unwrap()).unwrap();
    let one_root = overshell::census::Census::new(space).unwrap().len();
    assert_eq!(count(&["--space", file.to_str().unwrap()]), one_root.to_string());
    std::fs::write(&file, "{").unwrap();
    let (output, _, err) = run(&["SELECT 1", "--space", file.to_str().unwrap()]);
    assert!(output.status.code() == Some(2) && err.contains("is no space: "), "{err}");
    std::fs::remove_dir_all(&folder).unwrap();
    let verdict = |rules: &str| run(&["SELECT sum(cost) FROM census WHERE index < 9000", "--rules", rules]).1;
    assert_ne!(verdict("standard"), verdict("first-lessons"));
}

#[test]
fn err_are_printed_with_what_would_help() {
    for (arguments, says) in [
        (&["SELECT cost('C7q', 'C3 | E4')"][..], "help: "),
        (&["SELECT 1", "--rules", "standart"], "standard"),
        (&["SELECT 1", "--space", "nowhere.json"], "cannot read `nowhere.json`"),
        (&["SELEC"], "error: the query fails: "),
        (&["SELECT 1", "--partitions", "0"], "partitions"),
        (&[], "Usage"),
    ] {
        let (output, out, err) = run(arguments);
        assert!(
            output.status.code() == Some(2) && out.is_empty() && err.contains(says),
            "{arguments:?}: {err}"
        );
        assert!(!err.contains("panicked"), "{err}");
    }
}
