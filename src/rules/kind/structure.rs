//! `structure`: a hand as a whole, one of these triads or shells and nothing else.

use itertools::iproduct;
use smallvec::SmallVec;

use super::RuleKind;
use crate::pitch::PitchClass;
use crate::rules::format::{Faults, Fields, Holds, Key, Way, names};
use crate::rules::judge::{Frame, Sound};
use crate::voicing::{Label, Shell, TriadKind};

const TRIAD_KINDS: [(&str, TriadKind); 5] = [
    ("major", TriadKind::Major),
    ("minor", TriadKind::Minor),
    ("diminished", TriadKind::Diminished),
    ("augmented", TriadKind::Augmented),
    ("suspended", TriadKind::Suspended),
];
const KIND_NAMES: [&str; 5] = names(&TRIAD_KINDS);

const LABELS: Key =
    Key::new("labels", Holds::Labels, "triads by the degree that they stand on (`II`, `bIII`, `#iv`)");
const TRIADS: Key = Key::new("triads", Holds::Words(&KIND_NAMES), "all triads of these kinds");
const SHELLS: Key = Key::new("shells", Holds::Shells, "shells by roles from the bottom (`1 3 7`)");
const OTHERS: Key = Key::new(
    "others",
    Holds::Flag,
    "`true`: all the others instead; of shells only where the chord can make one of those that are listed",
);

const NO_TRIAD: Key =
    Key::new("no-triad", Holds::Flag, "`true`: three notes in the right hand that are no triad");

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) enum Structure {
    NoTriad,
    Triads { labels: Vec<Label>, others: bool },
    Shells { shells: Vec<Shell>, others: bool },
}

impl RuleKind for Structure {
    const NAME: &'static str = "structure";
    const DOC: &'static str = "a hand as a whole: one of these triads, or one of these shells";
    const WAYS: &'static [Way] = &[
        Way {
            needs: &[LABELS],
            may: &[TRIADS, OTHERS],
            fires: "once, where the right hand is one of these triads and nothing else",
            example: "labels = [\"II\", \"bIII\", \"#iv\"]\ncolour = 10",
        },
        Way {
            needs: &[TRIADS],
            may: &[LABELS, OTHERS],
            fires: "once, where the right hand is a triad of such a kind and nothing else",
            example: "triads = [\"diminished\", \"augmented\"]\ncost = 8",
        },
        Way {
            needs: &[SHELLS],
            may: &[OTHERS],
            fires: "once, where the left hand is one of these shells and nothing else",
            example: "shells = [\"1 3 7\"]\nothers = true\ncost = 3",
        },
        Way {
            needs: &[NO_TRIAD],
            may: &[],
            fires: "once, where the right hand plays three notes that are no triad",
            example: "no-triad = true\ncost = 6",
        },
    ];

    fn read(way: usize, fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        if way == 3 {
            fields.only_true(&NO_TRIAD, faults)?;
            return Some(Self::NoTriad);
        }
        let others = fields.flag(&OTHERS, faults).unwrap_or(false);
        if way == 2 {
            return Some(Self::Shells { shells: fields.list::<Shell>(&SHELLS, faults)?, others });
        }
        let mut labels = fields.list::<Label>(&LABELS, faults).unwrap_or_default();
        for kind in fields.chosen(&TRIADS, &TRIAD_KINDS, faults).unwrap_or_default() {
            labels.extend((0..12).map(|semitones| Label::new(semitones, kind)));
        }
        Some(Self::Triads { labels, others })
    }

    fn bake(&self, frame: &Frame, tests: &mut Vec<super::Test>) {
        match self {
            Self::NoTriad => {
                let mut sets = Box::new([u64::MAX; 64]);
                for (root, kind) in iproduct!(PitchClass::ALL, TriadKind::ALL) {
                    let set = kind
                        .semitones()
                        .iter()
                        .fold(0, |bits: usize, by| bits | 1 << root.up(i32::from(*by)).get());
                    if let Some(word) = sets.get_mut(set / 64) {
                        *word &= !(1 << (set % 64));
                    }
                }
                tests.push(super::Test::Structure(Test { triads: sets }));
            }
            Self::Triads { labels, others } => {
                let root = frame.chord.root().pitch_class();
                let mut triads = Box::new([0; 64]);
                let mut put = |label: &Label, there: bool| {
                    let set = label.kind().semitones().iter().fold(0, |bits: usize, by| {
                        bits | 1 << root.up(i32::from(label.semitones()) + i32::from(*by)).get()
                    });
                    if let Some(word) = triads.get_mut(set / 64) {
                        *word = *word & !(1 << (set % 64)) | u64::from(there) << (set % 64);
                    }
                };
                // First all triads, then those that are listed.
                for (kind, semitones) in iproduct!(TriadKind::ALL, 0..12) {
                    put(&Label::new(semitones, kind), *others);
                }
                labels.iter().for_each(|label| put(label, !others));
                if triads.iter().any(|word| *word != 0) {
                    tests.push(super::Test::Structure(Test { triads }));
                }
            }
            Self::Shells { shells, others } => {
                let root = frame.chord.root().pitch_class();
                let classes = |shell: &Shell| {
                    let degrees = shell.degrees(frame.chord)?;
                    Some(degrees.into_iter().map(|degree| degree.class_over(root).get()).collect())
                };
                let listed = shells.iter().filter_map(classes).count();
                let chosen = Shell::ALL.iter().filter(|shell| shells.contains(shell) != *others);
                let shells: Vec<_> = chosen.filter_map(classes).collect();
                if listed > 0 && !shells.is_empty() {
                    tests.push(super::Test::Shells(Shells { shells }));
                }
            }
        }
    }
}

/// Left hands as pitch classes from the bottom.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) struct Shells {
    shells: Vec<SmallVec<[u8; 4]>>,
}

impl Shells {
    #[inline]
    pub(in crate::rules) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let left = || sound.left().iter().map(|key| key % 12);
        if let Some(shell) = self.shells.iter().find(|shell| left().eq(shell.iter().copied())) {
            fire(1, shell.iter().fold(0, |bits, class| bits | 1 << class));
        }
    }
}

/// Which of the 4,096 sets of pitch classes fire, where the right hand plays three notes; one bit each.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) struct Test {
    triads: Box<[u64; 64]>,
}

impl Test {
    #[inline]
    pub(in crate::rules) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        if sound.right().len() == 3 {
            let classes = sound.right_classes;
            let word = self.triads.get(usize::from(classes) / 64).copied().unwrap_or_default();
            if word >> (classes % 64) & 1 == 1 {
                fire(1, classes);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Test as Baked;
    use super::*;
    use crate::chord::{Chord, Quality};
    use crate::pitch::NoteName;
    use crate::voicing::Triad;

    /// The slow way: each of the 52 triads over a chord against each label, spelled.
    #[test]
    fn all_triads_are_listed_or_not() {
        let one = |text: &str| text.parse::<Label>().unwrap();
        let kinds = |kind| (0..12).map(move |semitones| Label::new(semitones, kind));
        let lists: [Vec<Label>; 4] = [
            vec![one("II"), one("#iv"), one("bVII+"), one("Vsus")],
            kinds(TriadKind::Augmented).chain(kinds(TriadKind::Suspended)).collect(),
            kinds(TriadKind::Diminished).chain([one("I")]).collect(),
            vec![],
        ];
        for root in NoteName::all() {
            let chord = Chord::new(root, Quality::DOMINANT_SEVENTH);
            let frame = Frame::new(chord, &crate::rules::Situation::default());
            for (labels, others) in iproduct!(&lists, [false, true]) {
                let mut expected = Box::new([0u64; 64]);
                for triad in Triad::all_over(chord) {
                    let means = |label: &Label| label.triad_over(chord).pitch_set() == triad.pitch_set();
                    let set = usize::from(triad.pitch_set().bits());
                    if labels.iter().any(means) != others {
                        expected[set / 64] |= 1 << (set % 64);
                    }
                }
                let mut baked = Vec::new();
                Structure::Triads { labels: labels.clone(), others }.bake(&frame, &mut baked);
                match baked.as_slice() {
                    [Baked::Structure(test)] => {
                        assert_eq!(test.triads, expected, "{chord} {labels:?} {others}")
                    }
                    [] => assert!(expected.iter().all(|word| *word == 0)),
                    other => panic!("{other:?}"),
                }
            }
        }
    }
}
