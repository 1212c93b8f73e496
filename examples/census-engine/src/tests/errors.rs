//! What cannot be asked.

use datafusion::error::DataFusionError;

use super::*;
use crate::report;

fn refused(sql: &str) -> DataFusionError {
    match ask(&session(small(), 2), sql) {
        Ok((batch, _)) => panic!("{sql}: {}", shown(&batch)),
        Err(error) => error,
    }
}

/// Questions that cannot be answered are errors with a text, whatever is wrong.
#[test]
fn err_bad_sql() {
    for (sql, says) in [
        ("", "No SQL statements"),
        ("SELEC", "SELEC"),
        ("SELECT", ""),
        ("SELECT chrod FROM census", "chrod"),
        ("SELECT * FROM consensus", "consensus"),
        ("SELECT verdict('C7') FROM census", "verdict"),
        ("SELECT verdict('C7', 'C3 | E4', 3)", "verdict"),
        ("SELECT judge('C7')", "judge"),
        ("SELECT chord FROM census GROUP BY label", "chord"),
        ("SELECT sum(label) FROM census", "sum"),
        ("SELECT index / 0 FROM census", "ivide by zero"),
        ("SELECT (SELECT index FROM census) FROM census", ""),
        ("SELECT 1; SELECT 2", "only supports a single SQL statement"),
        ("SELECT '", ""),
        ("\u{0}\u{1f3b9}", ""),
        ("SELECT index FROM census WHERE index = 'x'", ""),
        ("SELECT index FROM census LIMIT -1", ""),
    ] {
        let told = report(&refused(sql));
        assert!(told.starts_with("error: ") && told.contains(says), "{sql}: {told}");
    }
}

/// Nothing is written, defined or set.
#[test]
fn err_statements_that_are_no_questions() {
    for sql in [
        "CREATE TABLE t AS SELECT 1",
        "CREATE VIEW v AS SELECT 1",
        "CREATE EXTERNAL TABLE t STORED AS CSV LOCATION 'x.csv'",
        "DROP TABLE census",
        "INSERT INTO census SELECT * FROM census",
        "DELETE FROM census",
        "UPDATE census SET cost = 1",
        "COPY (SELECT 1) TO 'x.csv'",
        "SET datafusion.execution.batch_size = 1",
    ] {
        let told = report(&refused(sql));
        assert!(told.starts_with("error: the query fails: "), "{sql}: {told}");
    }
}

/// Texts that are no chord or no voicing: the error of the library with its mark and help.
#[test]
fn err_bad_texts_are_located() {
    let library = |chord: &str, voicing: &str| {
        let chord = chord.parse::<overshell::Chord>().map(|_| ());
        chord.and_then(|()| voicing.parse::<overshell::voicing::Voicing>().map(|_| ())).unwrap_err().report()
    };
    for function in crate::Answer::ALL {
        for (chord, voicing) in [
            ("C7q", "C3 E3 Bb3 | F#4 A4 D5"),
            ("", "C3 | E4"),
            ("C7(b9,#", "C3 | E4"),
            ("\u{1f3b9}", "C3 | E4"),
            ("C7", ""),
            ("C7", "C3 E3 Bb3"),
            ("C7", "C3 | C2"),
            ("C7", "C3 X3 | E4"),
            ("C7", "C3 C3 | E4"),
            ("C7", "C3 | E4 | G4"),
            ("C7", "C99 | E4"),
        ] {
            let literal = refused(&format!("SELECT {}('{chord}', '{voicing}')", function.name()));
            assert_eq!(report(&literal), library(chord, voicing), "{chord} {voicing}");
        }
    }
    // In the middle of many rows.
    let error = refused("SELECT cost(chord, \"left\") FROM census WHERE root = 'C'");
    assert!(report(&error).contains("has no bar between the hands"), "{}", report(&error));
}

#[test]
fn ok_no_partition_is_one() {
    let (batch, plan) = ask(&session(small(), 0), "SELECT cost FROM census WHERE index < 20").unwrap();
    assert_eq!((batch.num_rows(), scan_of(&plan).unwrap().description().partitions.len()), (20, 1));
}
