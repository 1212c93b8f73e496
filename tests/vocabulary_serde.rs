//! The values of the vocabularies as JSON: one shape each, and it reads back.

#![allow(missing_docs, clippy::unwrap_used, reason = "tests")]

use overshell::chord::chord;
use overshell::chord::vocabulary::abc::{Placement, Text};
use overshell::chord::vocabulary::harte::Label;
use overshell::chord::vocabulary::musicxml::{self, DegreeChange, DegreeChangeType, Kind};
use overshell::chord::vocabulary::{Part, harte};
use serde::{Serialize, de::DeserializeOwned};

#[track_caller]
fn check<T: Serialize + DeserializeOwned + PartialEq + std::fmt::Debug>(value: T, json: &str) {
    assert_eq!(serde_json::to_string(&value).unwrap(), json);
    assert_eq!(serde_json::from_str::<T>(json).unwrap(), value);
}

#[test]
fn ok_shapes() {
    check(Label::Chord(chord("Eb7(#9)/Bb")), r##""Eb:7(#9)/5""##);
    check(Label::NoChord, r#""N""#);
    check(Label::Unknown, r#""X""#);
    check(Text::NoChord, r#""no-chord""#);
    let [sounding, printed] = ["G7/B", "Em"].map(chord);
    let text = Text::Chord { chord: sounding, alternate: Some(printed) };
    check(text, r#"{"chord":{"chord":"G7/B","alternate":"Em"}}"#);
    let slower = Text::Annotation { placement: Placement::Above, text: "slower".into() };
    check(slower, r#"{"annotation":{"placement":"above","text":"slower"}}"#);
    check(
        musicxml::write(chord("C7b5(no3)/Bb")).value,
        &(r#"{"root":"C","kind":"dominant","bass":"Bb","degrees":["#.to_owned()
            + r#"{"kind":"subtract","number":3,"alter":0},{"kind":"alter","number":5,"alter":-1}]}"#),
    );
    check(DegreeChange::new(DegreeChangeType::Add, 9, 1), r#"{"kind":"add","number":9,"alter":1}"#);
    check(Part::Bass, r#""bass""#);
}

/// What serde writes for a word of a standard is that word.
#[test]
fn all_words_are_those_of_the_standard() {
    for kind in Kind::ALL {
        check(kind, &format!("\"{kind}\""));
    }
    for change in DegreeChangeType::ALL {
        check(change, &format!("\"{change}\""));
    }
    for placement in Placement::ALL {
        let json = serde_json::to_string(&placement).unwrap();
        check(placement, &json);
    }
}

#[test]
fn err_labels_are_refused_with_the_message_of_the_reader() {
    let error = serde_json::from_str::<Label>(r#""C:min8""#).unwrap_err().to_string();
    assert!(error.starts_with(&harte::read("C:min8").unwrap_err().to_string()), "{error}");
}
