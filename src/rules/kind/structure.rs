//! `structure`: the right hand plays one of these triads, and nothing else.
//!
//! ```toml
//! kind = "structure"
//! labels = ["II", "bIII", "#iv"]     # by the degree they stand on; and/or
//! triads = ["suspended"]             # every triad of a kind
//! cost = 8
//! ```

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
        let mut triads = Box::new([0; 64]);
        for label in &self.labels {
            let set = usize::from(label.triad_over(frame.chord).pitch_set().bits());
            if let Some(word) = triads.get_mut(set / 64) {
                *word |= 1 << (set % 64);
            }
        }
        tests.push(super::Test::Structure(Test { triads }));
    }
}

/// Which of the 4,096 sets of pitch classes are such a triad, one bit each.
#[derive(Clone, Debug)]
pub(in crate::rules) struct Test {
    triads: Box<[u64; 64]>,
}

impl Test {
    #[inline]
    pub(super) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let right = sound.right();
        if right.len() == 3 {
            let classes = right.iter().fold(0u16, |bits, key| bits | 1 << (key % 12));
            let word = self.triads.get(usize::from(classes) / 64).copied().unwrap_or_default();
            if word >> (classes % 64) & 1 == 1 {
                fire(1, classes);
            }
        }
    }
}
