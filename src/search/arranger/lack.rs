//! Why a chord has no candidate, and what would help.

use super::lattice::Question;
use super::place::{Place, Setting};
use crate::pitch::Pitch;
use crate::rules::Finding;
use crate::search::candidates::Material;
use crate::search::options::ArrangeOptions;
use crate::voicing::HandSize;

/// A chord that cannot be voiced at all counts as much as this many points when octaves are compared.
pub(in crate::search) const NO_VOICING: i32 = 1_000;

/// The finding that says which rule or what else took the last candidate of a chord away, and the nearest relaxation.
pub(in crate::search) fn lack(question: &Question<'_, '_>, shift: i8, slot: usize) -> Finding {
    let functions = question.progression.functions();
    let function = functions.get(slot).copied().flatten();
    let setting = question.progression.slots.get(slot).and_then(|slot| Setting::new(slot, function, shift));
    let Some(setting) = setting else { return super::no_room() };
    let (rules, options) = (question.rules, question.options);
    let place =
        |setting: &Setting, options: &ArrangeOptions| !Place::new(setting, &[], rules, options).is_empty();

    // What each hand could play, with and without the rules about reach.
    let judge = rules.judge_for(setting.chord, &setting.situation(options));
    let under = setting.melody.map_or(Pitch::HIGHEST_MIDI, Pitch::midi);
    let material = Material::new(setting.chord);
    let no_left = material.lefts(&judge, under).is_empty();
    let no_right = material.rights(setting.melody, None, &judge, |_| true).is_empty();
    let reach = judge.reach_rules().join("`, `");
    let which = match (no_left, no_right) {
        (true, _) if !reach.is_empty() && under > 60 => format!("; `{reach}` took the last left hand away"),
        (_, true) if !reach.is_empty() => format!("; `{reach}` took the last right hand away"),
        (true, _) => "; the melody lies lower than any left hand".to_owned(),
        _ => "; every left hand that there is crosses every right hand".to_owned(),
    };

    // The nearest relaxation that gives a candidate: the tune an octave higher, then larger hands, then both.
    let larger = [HandSize::Medium, HandSize::Large]
        .into_iter()
        .filter(|size| size.largest() > options.hand.largest());
    let sizes: Vec<HandSize> = std::iter::once(options.hand).chain(larger).collect();
    for (hand, octaves) in itertools::iproduct!(&sizes, [0i8, 1]) {
        if (*hand, octaves) == (options.hand, 0) {
            continue;
        }
        let up = setting.melody.map(|note| note.shift_octaves(octaves));
        let Some(melody) = up.map_or(Some(None), |up| up.map(Some)) else { continue };
        let (setting, options) =
            (Setting { melody, ..setting.clone() }, ArrangeOptions { hand: *hand, ..*options });
        if place(&setting, &options) {
            let higher = (octaves == 1).then(|| "the tune an octave higher".to_owned());
            let larger = (*hand != question.options.hand).then(|| format!("`{hand}` hands"));
            let help: Vec<String> = higher.into_iter().chain(larger).collect();
            return no_room(which, format!("there is room with {}", help.join(" and ")));
        }
    }
    no_room(
        which,
        "no octave and no size of hands gives it room; leave the chord to the melody alone".to_owned(),
    )
}

fn no_room(which: String, help: String) -> Finding {
    let finding = super::no_room();
    Finding { message: format!("{}{which}", finding.message), help, ..finding }
}
