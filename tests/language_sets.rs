//! All 4,096 sets of pitch classes against music21 and against Rahn's definitions (`tests/data/language/sets.tsv`, made
//! by `tests/outside/language_fixture.py`).

#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests")]

use overshell::pitch::{Form, ForteName, NormalOrder, PitchClass, PitchSet, SetClass};

struct Row {
    set: PitchSet,
    normal_order: &'static str,
    prime_form: &'static str,
    name: &'static str,
    vector: &'static str,
    z_mate: &'static str,
    normal_order_rahn: &'static str,
    prime_form_rahn: &'static str,
}

fn rows() -> Vec<Row> {
    let rows: Vec<Row> = include_str!("data/language/sets.tsv")
        .lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| {
            let cells: Vec<&str> = line.split('\t').collect();
            assert_eq!(cells.len(), 8, "{line}");
            Row {
                set: PitchSet::from_bits(u16::from_str_radix(cells[0], 16).unwrap()).unwrap(),
                normal_order: cells[1],
                prime_form: cells[2],
                name: cells[3],
                vector: cells[4],
                z_mate: cells[5],
                normal_order_rahn: cells[6],
                prime_form_rahn: cells[7],
            }
        })
        .collect();
    assert_eq!(rows.len(), 4096);
    for (bits, row) in rows.iter().enumerate() {
        assert_eq!(usize::from(row.set.bits()), bits);
    }
    rows
}

fn digits(classes: impl Iterator<Item = PitchClass>) -> String {
    classes.map(|class| char::from(b"0123456789TE"[usize::from(class.get())])).collect()
}

fn order_digits(order: NormalOrder) -> String {
    digits(order.iter())
}

/// music21 has no name for the empty set: the one empty cell. Its order and forms are empty because it is.
#[test]
fn all_names_orders_forms_and_vectors_are_music21s() {
    let mut unnamed = Vec::new();
    for row in rows() {
        let class = SetClass::of(row.set);
        assert_eq!(order_digits(row.set.normal_order()), row.normal_order, "{}", row.set);
        assert_eq!(digits(class.prime_form().iter()), row.prime_form, "{}", row.set);
        let vector: String = class.interval_vector().iter().map(|n| format!("{n:X}")).collect();
        assert_eq!(vector, row.vector, "{}", row.set);
        assert_eq!(row.set.interval_vector(), class.interval_vector());
        if row.name.is_empty() {
            unnamed.push(row.set);
            continue;
        }
        // music21 leaves the Z out.
        assert_eq!(row.set.forte_name().as_str().replace('Z', ""), row.name, "{}", row.set);
        assert_eq!(row.name.parse::<ForteName>().unwrap(), row.set.forte_name());
    }
    assert_eq!(unnamed, [PitchSet::EMPTY]);
}

/// The Z that music21 leaves out of its names is where it knows another class of the same vector.
#[test]
fn all_z_names_stand_where_music21_has_a_mate() {
    let mut sets = 0;
    for row in rows() {
        let class = SetClass::of(row.set);
        assert!(!row.name.contains('Z') && !row.z_mate.contains('Z'));
        let mate: Option<SetClass> = (!row.z_mate.is_empty()).then(|| row.z_mate.parse().unwrap());
        assert_eq!(class.z_mate(), mate, "{}", row.set);
        assert_eq!(class.is_z(), mate.is_some());
        assert_eq!(class.to_string().contains("-Z"), mate.is_some(), "{class}");
        sets += usize::from(mate.is_some());
    }
    // As many as the 46 Z classes have sets.
    let z_classes: Vec<SetClass> = SetClass::all().filter(|class| class.is_z()).collect();
    let in_class = |class: &SetClass| {
        let prime = class.prime_form();
        24 / usize::from(prime.transpositional_symmetry() + prime.inversional_symmetry())
    };
    assert_eq!(z_classes.len(), 46);
    assert_eq!(z_classes.iter().map(in_class).sum::<usize>(), sets);
}

/// Rahn's orders and prime forms, worked out by his definitions in another language.
#[test]
fn all_orders_and_forms_of_rahn() {
    let mut differ = 0;
    for row in rows() {
        assert_eq!(order_digits(row.set.normal_order_rahn()), row.normal_order_rahn, "{}", row.set);
        assert_eq!(
            digits(SetClass::of(row.set).prime_form_rahn().iter()),
            row.prime_form_rahn,
            "{}",
            row.set
        );
        differ += usize::from(row.normal_order != row.normal_order_rahn);
    }
    assert_eq!(differ, 204);
}

/// The six classes whose prime forms differ: Rahn's column as Open Music Theory prints it, Forte's as music21 does.
#[test]
fn ok_the_six_prime_forms_that_differ() {
    const SIX: [(&str, &str, &str); 6] = [
        ("5-20", "01378", "01568"),
        ("6-Z29", "013689", "023679"),
        ("6-31", "013589", "014579"),
        ("7-Z18", "0123589", "0145679"),
        ("7-20", "0124789", "0125679"),
        ("8-26", "0124579T", "0134578T"),
    ];
    let mut found = std::collections::BTreeSet::new();
    for row in rows().iter().filter(|row| row.prime_form != row.prime_form_rahn) {
        let class = SetClass::of(row.set);
        let (_, forte, rahn) = SIX.iter().find(|(name, ..)| *name == class.to_string()).unwrap();
        assert_eq!((row.prime_form, row.prime_form_rahn), (*forte, *rahn), "{class}");
        found.insert(class);
    }
    assert_eq!(found.len(), 6);
}

/// The letters of the names: A for a transposition of Forte's prime form, B for one of its inversion.
#[test]
fn all_letters_say_how_the_set_lies() {
    let mut counts = [0; 3];
    for row in rows().iter().skip(1) {
        let expected = match row.name.chars().last() {
            Some('A') => Form::Prime,
            Some('B') => Form::Inverted,
            _ => Form::Symmetric,
        };
        assert_eq!(row.set.form(), expected, "{}", row.set);
        counts[expected as usize] += 1;
    }
    // As many sets are inversions as they are inverted.
    assert_eq!(counts[1], counts[2]);
    assert_eq!(counts.iter().sum::<u32>(), 4095);
}
