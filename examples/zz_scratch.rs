#![allow(
    missing_docs,
    clippy::all,
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::expect_used,
    clippy::panic
)]
use overshell::chord::*;
use overshell::rules::*;
use overshell::search::*;
fn main() {
    let which = std::env::args().nth(1).unwrap_or("arr".into());
    let rules = RuleSet::standard();
    if which == "cat" {
        let c = chord(&std::env::args().nth(2).unwrap());
        for e in catalogue(c, rules, &Default::default()).unwrap() {
            println!(
                "{:6} {:6} {:12} {:7} cost {:3} col {:3} {:28} {:?} {}",
                e.label,
                e.triad,
                itertools::join(e.degrees, " "),
                e.verdict,
                e.best.score.cost,
                e.best.score.colour,
                e.best.voicing,
                e.sounding,
                itertools::join(e.findings.iter().map(|f| format!("{}:{:?}", f.rule, f.effect)), " ")
            );
        }
        return;
    }
    if which == "under" {
        let c = chord(&std::env::args().nth(2).unwrap());
        let m = std::env::args().nth(3).unwrap().parse().unwrap();
        let u = under_melody(c, m, rules, &Default::default()).unwrap();
        for e in u.triads.iter().chain(&u.softened) {
            println!(
                "{:?} {:6} {:6} {:12} {:7} {:?} {} moved {:?} {}",
                e.member,
                e.label,
                e.triad,
                itertools::join(&e.degrees, " "),
                e.verdict,
                e.score,
                e.voicing.map_or("-".into(), |v| v.to_string()),
                e.moved,
                itertools::join(e.findings.iter().map(|f| &f.rule), " ")
            );
        }
        println!("{:?} {:?}", u.plain, u.suspension);
        return;
    }
    let tunes = [
        (
            "C",
            vec![
                ("Cmaj7", "E4"),
                ("A7", "G4"),
                ("Dm7", "F4"),
                ("G7", "D4"),
                ("Em7", "G4"),
                ("A7(b9)", "E4"),
                ("Dm7", "A4"),
                ("Db7", "Ab4"),
                ("Cmaj7", "G4"),
                ("Fm7", "Ab4"),
                ("Bb7", "F4"),
                ("Cmaj7", "E4"),
                ("B7", "F#4"),
                ("Em7", "G4"),
                ("G7", "F4"),
                ("C6", "E4"),
            ],
        ),
        (
            "C",
            vec![("C", "E5"), ("C", "G4"), ("F", "A4"), ("C", "C5"), ("G7", "B4"), ("G7", "C5"), ("C", "C5")],
        ),
        (
            "Eb",
            vec![
                ("Ebmaj7", "G4"),
                ("C7", "Bb4"),
                ("Fm7", "Ab4"),
                ("Bb7", "G4"),
                ("Gm7b5", "Db5"),
                ("C7", "C5"),
                ("Fm", "C5"),
                ("Bdim7", "D5"),
                ("Bb7sus4", "Eb5"),
                ("Bb7", "D5"),
                ("Eb6", "Bb4"),
                ("Eb/G", "G4"),
            ],
        ),
    ];
    for (k, t) in tunes {
        let p = Progression::from_symbols(k, t.clone()).unwrap();
        let s = std::time::Instant::now();
        let a = arrange(&p, rules, ArrangeOptions::default());
        let el = s.elapsed();
        println!("key {k} shift {} cost {} in {:?}", a.octave_shift, a.cost, el);
        for (c, (sym, _)) in a.chords.iter().zip(&t) {
            println!(
                "{:8} {:10} {:5} {:34} {:10} {:12} {:?} {} {} | {}",
                sym,
                c.function.unwrap().to_string(),
                c.melody.unwrap().to_string(),
                c.voicing.map_or("-".into(), |v| v.to_string()),
                c.structure.map_or("".into(), |s| format!("{} {}", s.label, s.triad)),
                itertools::join(&c.tensions, " "),
                c.sounding,
                c.cost,
                c.colour,
                itertools::join(c.findings.iter().map(|f| format!("{}:{:?}", f.rule, f.effect)), " ")
            );
        }
    }
}
