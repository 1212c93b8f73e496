//! Every chord as a chord label. Where the variable `OVERSHELL_LABELS` names a file, the labels are left there with the
//! keys that they mean, for programs of others to check.

#![allow(missing_docs, clippy::unwrap_used, reason = "tests")]

use std::fmt::Write;

use overshell::chord::vocabulary::harte;
use overshell::chord::{Chord, Quality};
use overshell::pitch::NoteName;

/// Root, keys above it as bits with the bass, key of the bass above the root: as mir_eval prints them.
fn row(chord: Chord) -> String {
    let root = chord.root().pitch_class();
    let bass = chord.bass().map_or(root, NoteName::pitch_class);
    let keys = chord.pitch_set().with(bass).transpose(-i32::from(root.get()));
    let bits: String = (0..12).map(|key| if keys.bits() >> key & 1 == 1 { '1' } else { '0' }).collect();
    format!(
        "{}\t{root}\t{bits}\t{}",
        harte::write(chord).value,
        root.semitones_up_to(bass),
        root = root.get()
    )
}

/// Every chord on C, each quality on every root, and a chord over every bass on every root; all labels differ.
#[test]
fn all_chords_have_a_label_of_their_own() {
    let roots = || NoteName::all();
    let on_c = Chord::all_on(NoteName::C);
    let qualities = roots().flat_map(|root| Quality::all().map(move |quality| Chord::new(root, quality)));
    let slashes = roots()
        .flat_map(|root| roots().map(move |bass| Chord::new(root, Quality::HALF_DIMINISHED).with_bass(bass)));
    let chords: std::collections::BTreeSet<Chord> = on_c.chain(qualities).chain(slashes).collect();
    let rows: Vec<String> = chords.iter().map(|chord| row(*chord)).collect();
    let labels: std::collections::BTreeSet<&str> =
        rows.iter().filter_map(|row| row.split('\t').next()).collect();
    assert_eq!(labels.len(), chords.len());
    // The chords on C hold its 80 qualities; a root as its own bass is no slash chord.
    assert_eq!(chords.len(), 4_704 + 34 * 80 + 35 * 34);
    if let Some(path) = std::env::var_os("OVERSHELL_LABELS") {
        let text = rows.iter().fold(String::new(), |mut text, row| {
            writeln!(text, "{row}").unwrap();
            text
        });
        std::fs::write(path, text).unwrap();
    }
}
