//! Chord symbols, their contents and their names against the handbook of check values: part 1, sections 7, 8 and 11;
//! part 2, section 6.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "tests"
)]

use overshell::chord::{Chord, Degree, DegreeSet, Fifth, Quality, Seventh, Third, chord};
use overshell::pitch::{NoteName, PitchClass, PitchSet, note};

fn names(text: &str) -> PitchSet {
    text.split(' ').map(|name| note(name).pitch_class()).collect()
}

fn keys(symbol: &str) -> PitchSet {
    let chord = chord(symbol);
    chord.bass().map_or(chord.pitch_set(), |bass| chord.pitch_set().with(bass.pitch_class()))
}

fn without(symbol: &str, left_out: &str) -> PitchSet {
    let chord = chord(symbol);
    let left_out: DegreeSet = left_out.parse().unwrap();
    let class = |degree: Degree| degree.class_over(chord.root().pitch_class());
    chord.tones().difference(left_out).iter().map(class).collect()
}

/// Open Music Theory v2, "Chord symbols" (Lavengood): the worked symbols with their notes.
#[test]
fn ok_worked_symbols_mean_the_published_notes() {
    for (symbol, notes) in [
        ("C", "C E G"),
        ("C7", "C E G Bb"),
        ("C9", "C E G Bb D"),
        ("C11", "C E G Bb D F"),
        ("Cadd9", "C E G D"),
        ("Cadd2", "C D E G"),
        ("C6", "C E G A"),
        ("Csus", "C F G"),
        ("Csus2", "C D G"),
        ("C7sus", "C F G Bb"),
        ("C7(#11)", "C E G Bb F#"),
        ("C/E", "C E G"),
        ("C/F#", "C E G F#"),
    ] {
        assert_eq!(keys(symbol), names(notes), "{symbol}");
    }
    assert_eq!(chord("C/E").bass(), Some(note("E")));
    assert_eq!(chord("C/F#").bass(), Some(note("F#")), "a bass need not be a member");
    // The seventh is minor unless the symbol says major; the other extensions are major or perfect.
    assert!(chord("C7").tones().contains(Degree::FlatSeven));
    assert!(chord("Cma7").tones().contains(Degree::MajorSeven));
    assert_eq!(chord("Cma13").tensions().to_string(), "9 13");
}

/// The one difference: "an extension implies all lower ones" makes C13 hold F; here the natural eleventh is left out of
/// a thirteenth with a major third, since it is that third's avoid note (part 1, section 2, every source; leaving it out
/// of a written 13 is common practice, no source). With a minor third it stays.
#[test]
fn ok_thirteenth_leaves_out_the_eleventh_over_a_major_third() {
    let published = names("C E G Bb D F A");
    assert_eq!(keys("C13"), published.difference(names("F")));
    assert_eq!(keys("Cm13"), names("C Eb G Bb D F A"));
    assert_eq!(keys("C13sus"), names("C F G Bb D A"));
    assert_eq!(chord("C11").as_played(), chord("C9sus4"));
}

/// `#` and `b` raise or lower the default, whatever accidental that takes on the note itself (Open Music Theory).
#[test]
fn ok_accidentals_in_a_symbol_alter_the_default() {
    assert_eq!(keys("Bb7(#11)"), names("Bb D F Ab E"));
    assert_eq!(keys("E7(b9)"), names("E G# B D F"));
    assert_eq!(keys("Eb7(b9)"), names("Eb G Bb Db Fb"));
    assert_eq!(Degree::FlatNine.name_over(note("Eb")), note("Fb"));
    assert_eq!(Degree::SharpEleven.name_over(note("Bb")), note("E"));
}

/// One chord under the signs of several vocabularies: MA and MI only, the small circle for the diminished seventh,
/// MI(b5) for the triad (Brandt & Roemer 1976, via one essay); triangle, minus, plus, circle and slashed circle of the
/// exchange format (MusicXML 4.0, use-symbols); m, min, +, aug (ABC 2.1, section 4.18).
#[test]
fn ok_vocabularies_agree() {
    for (canonical, others) in [
        ("Cmaj7", "CMA7 C△7 CΔ7 CM7 Cma7"),
        ("Cm7", "CMI7 C-7 Cmin7 Cmi7"),
        ("Cdim", "CMI(b5) Cm(b5) Cdim"),
        ("Cdim7", "C°7 Co7 Cdim7"),
        ("Cm7b5", "CMI7(b5) Cø7 Cø C-7b5"),
        ("C+", "Caug C+ C(#5)"),
        ("C7#5", "C+7 Caug7 C7(#5)"),
        ("Cm(maj7)", "CMI(MA7) C-△7 Cmin(maj7)"),
        ("Csus4", "Csus Csus4"),
        ("C6/9", "C69 C6/9 C6(add9)"),
        ("C7(b9)", "C7b9 C7-9 C7(b9)"),
    ] {
        for other in others.split(' ') {
            assert_eq!(other.parse::<Chord>().map_err(|e| e.to_string()), Ok(chord(canonical)), "{other}");
        }
        assert_eq!(chord(canonical).to_string(), canonical);
    }
}

/// Common chords of five and six notes (part 1, section 7): as many notes as their set class says, and the same keys
/// for the pairs that share a class by being the same chord on another root.
#[test]
fn ok_common_chords_have_the_size_of_their_set_class() {
    for (symbol, size) in [
        ("Cmaj9", 5),   // 5-27B
        ("Cm9", 5),     // 5-27B
        ("C9", 5),      // 5-34
        ("C7(b9)", 5),  // 5-31B
        ("C7(#9)", 5),  // 5-32B
        ("C6/9", 5),    // 5-35
        ("C13", 6),     // 6-33A: "13 without 11"
        ("C7sus4", 4),  // 4-23
        ("Cmaj7b5", 4), // 4-16A
    ] {
        assert_eq!(chord(symbol).pitch_set().len(), size, "{symbol}");
    }
    // Rootless 13: 3 13 b7 9, 4-16A.
    assert_eq!(without("C13", "1 5"), names("E A Bb D"));
}

/// Same notes under two names, and rootless readings (part 2, section 6, computed there; part 2, section 4).
#[test]
fn ok_same_notes_under_other_names() {
    assert_eq!(keys("Dm7"), keys("F6"));
    assert_eq!(keys("Bm7b5"), keys("Dm6"));
    assert_eq!(keys("Bm7b5"), without("G9", "1"));
    assert_eq!(keys("Dm7b5"), keys("Fm6"));
    assert_eq!(keys("Dm7b5"), without("Bb9", "1"));
    assert_eq!(keys("Em7"), without("Cmaj9", "1"));
    assert_eq!(keys("Fmaj7"), without("Dm9", "1"));
    assert_eq!(keys("Ebmaj7#5"), without("Cm(maj9)", "1"));
    assert_eq!(keys("E/C"), keys("Cmaj7#5"));
    for dominant in ["G7(b9)", "Bb7(b9)", "Db7(b9)", "E7(b9)"] {
        assert_eq!(without(dominant, "1"), keys("Bdim7"), "{dominant}");
    }
    // "Lower one note of a dim7 by a semitone: the dominant on that note."
    let diminished = keys("Bdim7");
    for root in diminished.iter().map(|class| class.up(-1)) {
        let dominant = Chord::new(simple_name(root), Quality::DOMINANT_SEVENTH);
        let lowered = diminished.difference([root.up(1)].into_iter().collect()).with(root);
        assert_eq!(dominant.pitch_set(), lowered, "{dominant}");
    }
    // Rootless forms start as another chord on the 3rd: maj9 = m7, 9 = m7b5, m9 = maj7 on b3.
    assert_eq!(without("Cmaj9", "1"), keys("Em7"));
    assert_eq!(without("C9", "1"), keys("Em7b5"));
    assert_eq!(without("Cm9", "1"), keys("Ebmaj7"));
}

fn simple_name(class: PitchClass) -> NoteName {
    NoteName::all()
        .find(|name| name.pitch_class() == class && name.accidental().semitones().abs() < 2)
        .unwrap()
}

/// Suspensions as slash chords, and the ii over its V (part 2, section 6).
#[test]
fn ok_two_five_identities() {
    assert_eq!(keys("Dm7/G"), keys("G9sus4"));
    assert_eq!(keys("F/G"), without("G9sus4", "5"));
    assert_eq!(keys("Fmaj7/G"), without("G13sus4", "5"));
    // Dm7 and G7 share D F; together every note of C major but E.
    assert_eq!(keys("Dm7").intersection(keys("G7")), names("D F"));
    assert_eq!(keys("Dm7").union(keys("G7")), names("C D F G A B"));
    // Dm7b5 with G7: C harmonic minor without Eb.
    assert_eq!(keys("Dm7b5").union(keys("G7")), names("C D F G Ab B"));
    // Abm7 over G = b9 3 b13 maj7: the substitute's own ii carries the avoid note.
    let over_g: DegreeSet = keys("Abm7").iter().map(|class| chord("G7").degree_of(class)).collect();
    assert_eq!(over_g, "b9 3 b13 maj7".parse().unwrap());
}

/// The tritone substitute (part 2, section 6): x over V7 is x - 6 over subV7; the sets 3 b7 and 11 maj7 are fixed.
/// Every root, every degree.
#[test]
fn all_degrees_move_a_tritone_over_the_substitute() {
    let pairs = [("1", "#11"), ("b9", "5"), ("9", "b13"), ("#9", "13"), ("3", "b7"), ("11", "maj7")]
        .map(|(one, other)| [one, other].map(|degree| degree.parse::<Degree>().unwrap()));
    for root in PitchClass::ALL {
        let over = Chord::new(simple_name(root), Quality::DOMINANT_SEVENTH);
        let substitute = Chord::new(simple_name(root.up(6)), Quality::DOMINANT_SEVENTH);
        for class in PitchClass::ALL {
            let pair = pairs.iter().find(|pair| pair.contains(&over.degree_of(class))).unwrap();
            let other = if pair[0] == over.degree_of(class) { pair[1] } else { pair[0] };
            assert_eq!(substitute.degree_of(class), other, "{class} over {over} and {substitute}");
        }
    }
    // G7 and Db7 share B and F only; their union has 6 notes.
    assert_eq!(keys("G7").intersection(keys("Db7")), names("B F"));
    assert_eq!(keys("G7").union(keys("Db7")).len(), 6);
}

/// Rootless substitutes (part 2, section 6): G13 = Db7(#9,b13), G13(b9) = Db7(#9), G7(b9,b13) = Fm7b5 = Db9, without
/// roots.
#[test]
fn ok_rootless_substitutes() {
    assert_eq!(without("G13", "1 5"), names("B E F A"));
    assert_eq!(without("Db7(#9,b13)", "1 5"), names("B E F A"));
    assert_eq!(without("G13(b9)", "1 5"), without("Db7(#9)", "1"));
    assert_eq!(without("Db7(#9)", "1"), names("F Cb E Ab"));
    assert_eq!(without("G7(b9,b13)", "1 5"), keys("Fm7b5"));
    assert_eq!(keys("Fm7b5"), without("Db9", "1"));
}

/// Shells: in a sixth chord the 6 stands for the 7, in a suspended chord the 4 for the 3 (part 2, section 4).
#[test]
fn ok_stand_ins_for_third_and_seventh() {
    use overshell::voicing::Shell;
    let shell = |symbol: &str| itertools::join(Shell::RootThirdSeventh.degrees(chord(symbol)).unwrap(), " ");
    assert_eq!(shell("C7"), "1 3 b7");
    assert_eq!(shell("C6"), "1 3 6");
    assert_eq!(shell("Cm6"), "1 b3 6");
    assert_eq!(shell("C7sus4"), "1 4 b7");
    assert_eq!(shell("Cdim7"), "1 b3 bb7");
    assert_eq!(shell("Cm(maj7)"), "1 b3 maj7");
}

/// Every quality there is prints a symbol that reads back as the same chord, with every single tension it can take, on
/// every root.
#[test]
fn all_chords_of_one_tension_roundtrip_through_their_symbol() {
    let thirds = [Third::None, Third::Second, Third::Minor, Third::Major, Third::Fourth];
    let fifths = [Fifth::None, Fifth::Flat, Fifth::Perfect, Fifth::Sharp];
    let sevenths = [Seventh::None, Seventh::Sixth, Seventh::DoubleFlat, Seventh::Flat, Seventh::Major];
    let mut checked = 0;
    for (third, fifth, seventh) in itertools::iproduct!(thirds, fifths, sevenths) {
        for name in NoteName::all() {
            let plain = Chord::new(name, Quality { third, fifth, seventh });
            let tensions = Degree::ALL.into_iter().filter(|degree| degree.is_tension());
            for chord in tensions.filter_map(|d| plain.with_tensions([d]).ok()).chain([plain]) {
                let symbol = chord.to_string();
                assert_eq!(symbol.parse::<Chord>().map_err(|e| e.to_string()), Ok(chord), "{symbol}");
                checked += 1;
            }
        }
    }
    assert!(checked > 35 * 100);
}
