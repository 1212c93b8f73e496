//! `structure`: the right hand plays one of these triads, and nothing else.
//!
//! ```toml
//! kind = "structure"
//! labels = ["II", "bIII", "#iv"]     # by the degree they stand on; and/or
//! triads = ["suspended"]             # every triad of a kind
//! cost = 8
//! ```

use smallvec::SmallVec;

use crate::rules::fields::{Faults, Fields};
use crate::rules::judge::Frame;
use crate::rules::sound::Sound;
use crate::voicing::{Label, TriadKind};

const TRIADS: [(&str, TriadKind); 5] = [
    ("major", TriadKind::Major),
    ("minor", TriadKind::Minor),
    ("diminished", TriadKind::Diminished),
    ("augmented", TriadKind::Augmented),
    ("suspended", TriadKind::Suspended),
];

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) struct Structure {
    labels: Vec<Label>,
}

impl Structure {
    pub(super) fn read(fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        if !fields.has("labels") && !fields.has("triads") {
            faults.add(
                fields.span(),
                "a `structure` rule needs `labels` or `triads`",
                "write `labels = [\"II\"]` or `triads = [\"suspended\"]`",
            );
        }
        let mut labels = fields.list::<Label>("labels", faults).unwrap_or_default();
        for kind in fields.chosen("triads", &TRIADS, faults).unwrap_or_default() {
            labels.extend((0..12).map(|semitones| Label::new(semitones, kind)));
        }
        (!labels.is_empty()).then_some(Self { labels })
    }

    pub(super) fn bake(&self, frame: &Frame, tests: &mut Vec<super::Test>) {
        let triads = self.labels.iter().map(|label| label.triad_over(frame.chord).pitch_set().bits());
        tests.push(super::Test::Structure(Test { triads: triads.collect() }));
    }
}

/// Triads as twelve bits.
#[derive(Clone, Debug)]
pub(in crate::rules) struct Test {
    triads: SmallVec<[u16; 12]>,
}

impl Test {
    #[inline]
    pub(super) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let right = sound.right();
        if right.len() == 3 {
            let classes = right.iter().fold(0u16, |bits, key| bits | 1 << (key % 12));
            if self.triads.contains(&classes) {
                fire(1, classes);
            }
        }
    }
}
