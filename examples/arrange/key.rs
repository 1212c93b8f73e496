//! In which keys a tune is arranged.

use overshell::chord::{Key, Mode};
use overshell::pitch::NoteName;
use overshell::rules::RuleSet;
use overshell::sheet::{KeyOrder, LeadSheet, Reading, Six};

use crate::arguments::Arguments;
use crate::option;
use crate::tune::{Tune, tune};

/// The keys that are asked for.
#[derive(Clone, Copy)]
pub(crate) enum InKeys {
    /// All twelve, from that of the tune by fourths.
    All,
    /// One by its tonic; a tune in minor stays in minor.
    One(NoteName),
}

impl InKeys {
    /// Reads `all` or a tonic.
    pub(crate) fn read(text: &str) -> Result<Self, String> {
        if text == "all" {
            return Ok(Self::All);
        }
        option::value(text).map(Self::One).map_err(|error| format!("{error}; say `all` for all twelve keys"))
    }

    /// The tune in each of them. In its own key it stays as it is written. An error says the key.
    fn of(self, sheet: &LeadSheet) -> overshell::Result<Vec<LeadSheet>> {
        let tonics: Vec<NoteName> = match self {
            Self::All => KeyOrder::Fourths.keys(sheet.key, Six::Flats).into_iter().map(Key::tonic).collect(),
            Self::One(tonic) => vec![tonic],
        };
        let moved = |tonic: NoteName| {
            if tonic == sheet.key.tonic() {
                return Ok(sheet.clone());
            }
            sheet.transposed(tonic).map_err(|error| error.context(format_args!("in {tonic}")))
        };
        tonics.into_iter().map(moved).collect()
    }

    /// All stems that the results of a tune may have, in whatever key it comes.
    fn stems(self, stem: &str) -> Vec<String> {
        let keys = (-7..=7).flat_map(|signature| {
            [Mode::Major, Mode::Minor]
                .into_iter()
                .filter_map(move |mode| Key::from_signature(signature, mode))
        });
        let is_asked = |key: &Key| match self {
            Self::All => true,
            Self::One(tonic) => tonic.pitch_class() == key.tonic().pitch_class(),
        };
        keys.filter(is_asked).map(|key| in_key(stem, key)).collect()
    }
}

fn in_key(stem: &str, key: Key) -> String {
    format!("{stem}.in-{key}")
}

/// All stems that the results of a tune may have.
pub(crate) fn stems(arguments: &Arguments, stem: &str) -> Vec<String> {
    arguments.key.map_or_else(|| vec![stem.to_owned()], |keys| keys.stems(stem))
}

/// Arranges a tune in each key that is asked for, in its own where none is; there is at least one. Where keys are asked for, an
/// error says its own.
pub(crate) fn in_keys(
    arguments: &Arguments,
    rules: &RuleSet,
    reading: Reading,
    stem: &str,
) -> overshell::Result<Vec<Tune>> {
    let Some(keys) = arguments.key else { return Ok(vec![tune(arguments, rules, reading, stem)?]) };
    let arranged = |sheet: LeadSheet| {
        let (key, stem) = (sheet.key, in_key(stem, sheet.key));
        tune(arguments, rules, Reading { sheet, findings: reading.findings.clone() }, &stem)
            .map_err(|error| error.context(format_args!("in {key}")))
    };
    keys.of(&reading.sheet)?.into_iter().map(arranged).collect()
}

#[cfg(test)]
mod tests {
    use clap::Parser;
    use overshell::pitch::note;
    use overshell::sheet::{ReadOptions, read};

    use super::*;

    #[test]
    fn all_stems_are_foreseen() {
        for home in ["C", "Eb", "F#", "Am", "Ebm"] {
            let text = format!("key: {home}\n| {home} |\n> r |\n");
            let sheet = read(text.as_bytes(), &ReadOptions::default()).unwrap().sheet;
            let all = InKeys::All.of(&sheet).unwrap();
            assert_eq!((all.len(), &all[0]), (12, &sheet));
            let mut classes: Vec<_> = all.iter().map(|sheet| sheet.key.tonic().pitch_class()).collect();
            classes.sort();
            classes.dedup();
            assert_eq!(classes.len(), 12);
            for sheet in &all {
                assert!(InKeys::All.stems("a").contains(&in_key("a", sheet.key)), "{}", sheet.key);
            }
            for tonic in (-15..=19).map(NoteName::from_fifths).map(Option::unwrap) {
                let one = InKeys::One(tonic).of(&sheet).unwrap();
                assert_eq!((one.len(), one[0].key.mode()), (1, sheet.key.mode()));
                let stems = InKeys::One(tonic).stems("a");
                assert!(stems.contains(&in_key("a", one[0].key)), "{} in {stems:?}", one[0].key);
            }
        }
    }

    #[test]
    fn err_the_key_is_said() {
        let read = |text: &str| read(text.as_bytes(), &ReadOptions::default()).unwrap();
        let told = |arguments: &[&str], text: &str| {
            let arguments = Arguments::parse_from(["arrange"].iter().chain(arguments));
            in_keys(&arguments, RuleSet::standard(), read(text), "a").err().map(|error| error.to_string())
        };
        // The highest pitch there is: none lies an octave above it.
        let high = "key: C\n| C7 |\n> G9 |\n";
        let own = told(&["--octave", "1"], high).unwrap();
        for keys in ["C", "all"] {
            assert_eq!(told(&["--octave", "1", "--key", keys], high), Some(format!("in C: {own}")));
        }
        // In another key it lies lower, and still too high.
        let moved = told(&["--octave", "1", "--key", "D"], high).unwrap();
        assert_eq!(moved, format!("in D: {}", own.replace("G9", "A8")));
    }

    #[test]
    fn ok_keys_as_they_are_asked_for() {
        assert!(matches!(InKeys::read("all"), Ok(InKeys::All)));
        assert!(matches!(InKeys::read("Eb"), Ok(InKeys::One(tonic)) if tonic == note("Eb")));
        for text in ["H", "", "ALL", "Ebm", "e"] {
            assert!(InKeys::read(text).is_err_and(|error| error.contains("say `all`")), "{text}");
        }
    }
}
