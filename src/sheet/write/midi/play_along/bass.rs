//! The bass: what is played on the strokes of each chord.

use std::ops::RangeInclusive;

use super::BassLine;
use super::ruled::{Ruled, strokes_of_chord};
use crate::chord::Chord;
use crate::pitch::PitchClass;
use crate::search::Arrangement;
use crate::sheet::LeadSheet;
use crate::sheet::write::midi::struck::Struck;

/// E1, the lowest string of a double bass, to G3 (common practice, no source).
pub(super) const RANGE: RangeInclusive<u8> = 28..=55;
/// Where the line tends to: D2, in the lower half, where it is out of the hands' way. Chosen by us.
const CENTRE: u8 = 38;
const VELOCITY: u8 = 80;

/// What a stroke plays.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Role {
    /// The root, or the bass that the symbol names.
    Root,
    Third,
    Fifth,
    /// A semitone beside what the next chord or bar starts with; the fifth where nothing follows.
    Approach,
}
use Role::{Approach, Fifth, Root, Third};

/// What the strokes of one chord in one bar play, by how many there are. Where there are more than the longest row has, it
/// starts again, its last one apart, which stays the last. Common practice, no source.
const TWO: [&[Role]; 3] = [&[Root], &[Root, Fifth], &[Root, Fifth, Third]];
const FOUR: [&[Role]; 6] = [
    &[Root],
    &[Root, Approach],
    &[Root, Fifth, Approach],
    &[Root, Third, Fifth, Approach],
    &[Root, Third, Fifth, Third, Approach],
    &[Root, Third, Fifth, Root, Fifth, Approach],
];

/// What stroke `at` of `count` plays.
fn role(line: BassLine, at: usize, count: usize) -> Role {
    let rows: &[&[Role]] = match line {
        BassLine::Silent => &[],
        BassLine::Two => &TWO,
        BassLine::Four => &FOUR,
    };
    let row = rows.get(count.saturating_sub(1)).or(rows.last()).copied().unwrap_or_default();
    let Some((last, turn)) = row.split_last() else { return Root };
    if at + 1 == count { *last } else { turn.get(at % turn.len().max(1)).copied().unwrap_or(Root) }
}

/// The strokes of one chord in one bar.
struct Group {
    chord: Chord,
    strokes: Vec<u32>,
    /// Where the chord stops, or the bar's last stroke is let go.
    end: u32,
    /// What the first stroke plays.
    root: u8,
}

/// The line, once through the tune, in order.
pub(super) fn bass(
    sheet: &LeadSheet,
    arrangement: &Arrangement,
    bars: &[Ruled],
    line: BassLine,
) -> Vec<Struck> {
    if line == BassLine::Silent {
        return Vec::new();
    }
    let groups = groups(sheet, arrangement, bars);
    let mut notes = Vec::new();
    let mut before = CENTRE;
    for (index, group) in groups.iter().enumerate() {
        // Only what follows at once is approached.
        let next = groups.get(index + 1).filter(|next| next.strokes.first() == Some(&group.end));
        for (at, start) in group.strokes.iter().enumerate() {
            let key = match role(line, at, group.strokes.len()) {
                Root if at == 0 => group.root,
                Approach => {
                    next.map_or_else(|| tone(group.chord, Fifth, before), |next| beside(next.root, before))
                }
                role => tone(group.chord, role, before),
            };
            let end = group.strokes.get(at + 1).copied().unwrap_or(group.end);
            notes.push(Struck::new(*start, end, key, VELOCITY));
            before = key;
        }
    }
    notes
}

fn groups(sheet: &LeadSheet, arrangement: &Arrangement, bars: &[Ruled]) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    let mut root = CENTRE;
    for (index, (placed, arranged)) in sheet.chords.iter().zip(&arrangement.chords).enumerate() {
        let Some(chord) = arranged.chord else { continue };
        let end = sheet.chord_end(index);
        // How far a key lies from the last root and from the centre, both together.
        let lowest = lowest(chord);
        root = keys(lowest)
            .min_by_key(|key| (key.abs_diff(root) + key.abs_diff(CENTRE), *key))
            .unwrap_or(CENTRE);
        let mut strokes =
            strokes_of_chord(bars, placed.start..end, |strokes| &strokes.bass).into_iter().peekable();
        while let Some(bar) = strokes.next() {
            let end = strokes.peek().and_then(|next| next.first()).copied().unwrap_or(end);
            groups.push(Group { chord, strokes: bar, end, root });
        }
    }
    groups
}

/// What the bass starts a chord with.
fn lowest(chord: Chord) -> PitchClass {
    chord.bass().unwrap_or(chord.root()).pitch_class()
}

/// The keys of a class that a bass has.
fn keys(class: PitchClass) -> impl Iterator<Item = u8> {
    let lowest = *RANGE.start();
    let from = PitchClass::constant(lowest % 12).semitones_up_to(class) + lowest;
    (from..=*RANGE.end()).step_by(12)
}

/// The key for a role that is nearest to the one before. A degree that the chord has not, or that its bass already is, gives way
/// to another.
fn tone(chord: Chord, role: Role, before: u8) -> u8 {
    let quality = chord.quality();
    let [third, fifth, seventh] = [quality.third_degree(), quality.fifth_degree(), quality.seventh_degree()]
        .map(|degree| degree.map(|degree| degree.class_over(chord.root().pitch_class())));
    let (root, bass) = (Some(chord.root().pitch_class()), lowest(chord));
    let wanted = match role {
        Third => [third, root, fifth, seventh],
        Fifth | Approach => [fifth, root, third, seventh],
        Root => [None; 4],
    };
    let class = wanted.into_iter().flatten().find(|class| *class != bass).unwrap_or(bass);
    keys(class).min_by_key(|key| (key.abs_diff(before), *key)).unwrap_or(CENTRE)
}

/// A semitone beside a key, on the side of the key before, which is not played again.
fn beside(key: u8, before: u8) -> u8 {
    let sides = [key.saturating_sub(1), key.saturating_add(1)].into_iter();
    sides
        .filter(|side| RANGE.contains(side) && *side != before)
        .min_by_key(|side| (side.abs_diff(before), *side))
        .or_else(|| Some(key.saturating_add(1)).filter(|side| RANGE.contains(side)))
        .unwrap_or_else(|| key.saturating_sub(1))
}

#[cfg(test)]
mod tests {
    use super::super::{PlayAlong, ruled::ruled};
    use super::*;
    use crate::chord::chord;
    use crate::pitch::NoteName;
    use crate::rules::RuleSet;
    use crate::search::{ArrangeOptions, arrange};
    use crate::sheet::{ReadOptions, TICKS_PER_QUARTER, read};

    /// The keys of the line of a chart.
    fn line(chart: &str, bass: BassLine) -> Vec<(u32, u8)> {
        let sheet = read(chart.as_bytes(), &ReadOptions::default()).unwrap().sheet;
        let arrangement =
            arrange(&sheet.progression(), RuleSet::standard(), ArrangeOptions::default()).unwrap();
        let bars = ruled(&sheet, &PlayAlong { bass, ..PlayAlong::default() });
        super::bass(&sheet, &arrangement, &bars, bass)
            .iter()
            .map(|note| (note.start / u32::from(super::super::super::RESOLUTION), note.key))
            .collect()
    }

    #[test]
    fn ok_a_turn_in_four() {
        // D F A approach, G B D approach, C E G and the fifth at the end instead of an approach.
        let keys = line("| Dm7 | G7 | Cmaj7 |", BassLine::Four);
        assert_eq!(keys.len(), 12);
        assert_eq!(keys.iter().map(|(at, _)| *at).collect::<Vec<_>>(), (0..12).collect::<Vec<_>>());
        let classes: Vec<u8> = keys.iter().map(|(_, key)| key % 12).collect();
        assert_eq!([&classes[..3], &classes[4..7], &classes[8..11]], [[2, 5, 9], [7, 11, 2], [0, 4, 7]]);
        assert_eq!(keys[3].1.abs_diff(keys[4].1), 1);
        assert_eq!(keys[7].1.abs_diff(keys[8].1), 1);
        assert_eq!(classes[11], 7);
    }

    #[test]
    fn ok_a_turn_in_two_with_a_bass_of_its_own() {
        let classes: Vec<(u32, u8)> = line("| Dm7 G7/B | N.C. | C/E |", BassLine::Two)
            .iter()
            .map(|(at, key)| (*at, key % 12))
            .collect();
        assert_eq!(classes, [(0, 2), (2, 11), (8, 4), (10, 7)]);
    }

    #[test]
    fn all_classes_have_two_keys_or_three_and_stay_in_range() {
        for class in 0..12 {
            let class = PitchClass::new(class).unwrap();
            let found: Vec<u8> = keys(class).collect();
            // The slow twin.
            let twin: Vec<u8> = RANGE.filter(|key| PitchClass::constant(key % 12) == class).collect();
            assert_eq!(found, twin);
            assert!((2..=3).contains(&found.len()));
        }
        for (key, before) in itertools::iproduct!(RANGE, RANGE) {
            let side = beside(key, before);
            assert!(RANGE.contains(&side) && side.abs_diff(key) == 1);
            let both = RANGE.contains(&(key - 1)) && RANGE.contains(&(key + 1));
            assert!(!both || side != before, "{key} {before}");
        }
    }

    #[test]
    fn all_tones_belong_to_their_chord_and_are_not_its_bass() {
        for (own, role) in itertools::iproduct!(Chord::all_on(NoteName::C), [Third, Fifth]) {
            for bass in
                [None, Some(NoteName::C), own.quality().fifth_degree().map(|d| d.name_over(NoteName::C))]
            {
                let own = bass.map_or(own, |bass| own.with_bass(bass));
                for before in RANGE {
                    let key = tone(own, role, before);
                    let class = PitchClass::constant(key % 12);
                    assert!(RANGE.contains(&key) && own.pitch_set().contains(class), "{own} {role:?}");
                    let alone = own.quality().tones().len() == 1;
                    assert!(alone || class != lowest(own), "{own} {role:?}");
                    assert!(keys(class).all(|other| other.abs_diff(before) >= key.abs_diff(before)));
                }
            }
        }
        assert_eq!(tone(chord("C7alt"), Fifth, 40) % 12, 4);
    }

    #[test]
    fn all_counts_start_with_the_root_and_stand_on_no_note_twice() {
        for (line, count) in itertools::iproduct!([BassLine::Two, BassLine::Four], 1..40) {
            let roles: Vec<Role> = (0..count).map(|at| role(line, at, count)).collect();
            assert_eq!(roles[0], Root);
            assert_eq!(
                roles.iter().filter(|role| **role == Approach).count(),
                usize::from(line == BassLine::Four && count > 1)
            );
            assert!(roles.windows(2).all(|pair| pair[0] != pair[1]), "{roles:?}");
        }
        assert_eq!(u32::from(super::super::super::RESOLUTION) * 21, TICKS_PER_QUARTER);
    }
}
