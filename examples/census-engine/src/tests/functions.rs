//! Functions, against the rules asked directly.

use datafusion::arrow::array::{Array, AsArray, StringArray};
use datafusion::arrow::datatypes::{DataType, Field, Schema, UInt32Type};
use datafusion::datasource::MemTable;
use overshell::Chord;
use overshell::rules::Situation;
use overshell::voicing::Voicing;

use super::*;

const ALL: &str = "SELECT verdict(chord, voicing), cost(chord, voicing), colour(chord, voicing), \
                   sounding(chord, voicing) FROM asked";

/// A table of chords and voicings.
fn asked(context: &SessionContext, chords: Vec<Option<String>>, voicings: Vec<Option<String>>) {
    let field = |name| Field::new(name, DataType::Utf8, true);
    let schema = Arc::new(Schema::new(vec![field("chord"), field("voicing")]));
    let columns = [chords, voicings].map(|texts| Arc::new(StringArray::from(texts)) as _);
    let batch = RecordBatch::try_new(Arc::clone(&schema), columns.to_vec()).unwrap();
    context.register_table("asked", Arc::new(MemTable::try_new(schema, vec![vec![batch]]).unwrap())).unwrap();
}

/// Every combination over a few chords, also such as the census does not have.
#[test]
fn all_functions_agree_with_the_rules() {
    let rules = standard();
    let census = census(CensusSpace { roots: vec![note("F")], ..small() });
    let voicings = census.iter(0..census.len()).unwrap().step_by(17);
    let voicings: Vec<Voicing> =
        voicings.map(|(_, combination)| census.voicing(&combination).unwrap()).collect();
    let chords = ["F7", "F7(b9)", "Bb/D", "F#m7b5", "Esus4"];
    let pairs: Vec<(Chord, Voicing)> = voicings
        .iter()
        .zip(chords.into_iter().cycle())
        .map(|(v, chord)| (chord.parse().unwrap(), *v))
        .collect();
    for bass_player in [false, true] {
        let context = session(CensusSpace { bass_player, ..small() }, 2);
        let texts =
            |of: &dyn Fn(&(Chord, Voicing)) -> String| pairs.iter().map(|pair| Some(of(pair))).collect();
        asked(&context, texts(&|pair| pair.0.to_string()), texts(&|pair| pair.1.to_string()));
        let batch = answer(&context, ALL);
        assert_eq!(batch.num_rows(), pairs.len());
        let mut verdicts = std::collections::BTreeSet::new();
        for (at, (chord, voicing)) in pairs.iter().enumerate() {
            let situation = Situation { bass_player, ..Situation::default() };
            let judged = rules.judge_for(*chord, &situation).judge(voicing);
            if !bass_player {
                assert_eq!(judged, rules.judge(*chord, voicing));
            }
            let verdict = judged.verdict.to_string();
            assert_eq!(batch.column(0).as_string::<i32>().value(at), verdict, "{chord}: {voicing}");
            let points = |column: usize| batch.column(column).as_primitive::<UInt32Type>().value(at);
            assert_eq!(
                (points(1), points(2)),
                (judged.cost as u32, judged.colour as u32),
                "{chord}: {voicing}"
            );
            let sounding = chord.sounding(voicing.pitch_set()).map(|chord| chord.to_string());
            let found = batch.column(3).as_string::<i32>().iter().nth(at).unwrap();
            assert_eq!(found, sounding.as_deref(), "{chord}: {voicing}");
            verdicts.insert(verdict);
        }
        assert_eq!(verdicts.len(), 3);
    }
}

/// The functions say of every row of a census what its columns say.
#[test]
fn all_rows_say_what_the_functions_say() {
    for bass_player in [false, true] {
        let context = session(CensusSpace { bass_player, ..small() }, 2);
        let voicing = "\"left\" || ' | ' || \"right\"";
        let sql = format!(
            "SELECT count(*), count(*) FILTER (WHERE verdict(chord, {voicing}) <> verdict \
             OR cost(chord, {voicing}) <> cost OR colour(chord, {voicing}) <> colour \
             OR sounding(chord, {voicing}) IS DISTINCT FROM sounding) FROM census"
        );
        let found = cells(&answer(&context, &sql));
        assert_eq!(found, [[census(small()).len().to_string(), "0".to_owned()]]);
    }
}

#[test]
fn ok_one_question() {
    let context = session(small(), 1);
    let batch = answer(&context, "SELECT sounding('C7', 'C3 E3 Bb3 | F#4 A4 D5') AS sounds");
    let chord: Chord = "C7".parse().unwrap();
    let voicing: Voicing = "C3 E3 Bb3 | F#4 A4 D5".parse().unwrap();
    assert_eq!(cells(&batch), [[chord.sounding(voicing.pitch_set()).unwrap().to_string()]]);
    // One text beside a column of others.
    let batch = answer(
        &context,
        "SELECT DISTINCT verdict('C7', 'C3 E3 Bb3 | F#4 A4 D5') FROM census WHERE index < 9",
    );
    assert_eq!(cells(&batch), [[RuleSet::standard().judge(chord, &voicing).verdict.to_string()]]);
}

#[test]
fn ok_null_in_null_out() {
    let context = session(small(), 1);
    for (chord, voicing) in [("NULL", "NULL"), ("NULL", "'C3 | E4'"), ("'C7'", "NULL")] {
        for function in crate::Answer::ALL {
            let batch = answer(&context, &format!("SELECT {}({chord}, {voicing})", function.name()));
            assert_eq!((batch.num_rows(), batch.column(0).null_count()), (1, 1), "{batch:?}");
        }
    }
    let texts = |texts: [Option<&str>; 3]| texts.map(|text| text.map(str::to_owned)).to_vec();
    asked(
        &context,
        texts([None, Some("C7"), Some("C7")]),
        texts([Some("C3 | E4"), None, Some("C3 | E4 G4 Bb4")]),
    );
    let batch = answer(&context, ALL);
    for column in batch.columns().iter().take(3) {
        assert_eq!((column.null_count(), column.is_valid(2)), (2, true));
    }
}
