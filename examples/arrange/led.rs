//! The arrangements of a sheet, and why they are as they are.

use itertools::Itertools;
use overshell::rules::RuleSet;
use overshell::search::{ArrangeOptions, Arrangement, Arranger, Comparison, Variety, arrange_tied};
use overshell::sheet::{LeadSheet, SheetFinding};

use crate::arguments::Arguments;

/// What is arranged, and what there is to say of it.
pub(crate) struct Led {
    pub(crate) arrangements: Vec<Arrangement>,
    pub(crate) whys: Vec<String>,
    pub(crate) remarks: Vec<String>,
    pub(crate) findings: Vec<SheetFinding>,
}

/// The arrangements of a sheet: where chords are played several times, led as they are played, unless somebody wants it otherwise.
pub(crate) fn led(
    arguments: &Arguments,
    sheet: &LeadSheet,
    rules: &RuleSet,
    options: ArrangeOptions,
) -> overshell::Result<Led> {
    let (mut remarks, mut of_signs) = (Vec::new(), Vec::new());
    if !arguments.as_played && !arguments.as_written {
        let in_order = "the page is arranged in the order in which it is written, as with --as-written";
        match as_one(arguments, sheet, rules, options) {
            One::Nothing(findings) => of_signs = findings,
            One::Arranged(led) => return Ok(led),
            One::NotWith(option) => remarks.push(format!(
                "{in_order}: {option} does not go with voicings that are led through the repeats\n  \
                 help: ask without {option}, or play the repeats out with --as-played"
            )),
            One::Refused(error) => remarks.push(format!(
                "{in_order}: {error}\n  help: {}",
                error.help().unwrap_or("play the repeats out with --as-played")
            )),
        }
    }
    let mut arranger = Arranger::new(&sheet.progression(), rules, options)?;
    for (chord, pin) in &arguments.pin {
        arranger.pin(chord.saturating_sub(1), *pin)?;
    }
    let variety = if arguments.structures { Variety::Structures } else { Variety::Chords }(arguments.differ);
    let arrangements = arranger.best_few(arguments.best.max(1), variety)?;
    let whys = arguments.why.iter().map(|chord| why(&arranger, *chord)).collect();
    Ok(Led { arrangements, whys, remarks, findings: of_signs })
}

/// One voicing for each written chord, led as it is played.
enum One {
    /// No chord is played twice; what is broken about the signs.
    Nothing(Vec<SheetFinding>),
    Arranged(Led),
    /// Somebody asks for more than that.
    NotWith(&'static str),
    Refused(overshell::Error),
}

fn as_one(arguments: &Arguments, sheet: &LeadSheet, rules: &RuleSet, options: ArrangeOptions) -> One {
    let played = match sheet.progression_as_played() {
        Ok(played) if !played.repeats() => return One::Nothing(played.findings),
        Ok(played) => played,
        Err(error) => return One::Refused(error),
    };
    let more = [
        (!arguments.pin.is_empty(), "--pin"),
        (arguments.best > 1, "--best"),
        (!arguments.why.is_empty(), "--why"),
        (!arguments.instead.is_empty(), "--instead"),
    ];
    if let Some((_, option)) = more.into_iter().find(|(is_asked, _)| *is_asked) {
        return One::NotWith(option);
    }
    match arrange_tied(&played.progression, &played.same, rules, options) {
        Ok(arrangement) => {
            let arrangements = vec![played.on_page(&arrangement)];
            let remark = format!(
                "repeats are led as played: one voicing for each of {} written chords, {} as played; the cost is that of all that is played",
                sheet.chords.len(),
                played.same.len()
            );
            One::Arranged(Led {
                arrangements,
                whys: Vec::new(),
                remarks: vec![remark],
                findings: played.findings,
            })
        }
        Err(error) => One::Refused(error),
    }
}

/// Why a chord is played as it is.
fn why(arranger: &Arranger<'_>, chord: usize) -> String {
    let best = arranger.best();
    let played = || best.chords.iter().filter(|own| own.slot + 1 == chord && own.voicing.is_some());
    if played().next().is_none() {
        return format!("why chord {chord} is played so: no chord is voiced there");
    }
    let names = played().filter_map(|own| own.chord).join(" ");
    match arranger.runner_up(chord.saturating_sub(1)) {
        Some(other) => {
            format!("why chord {chord} (`{names}`) is played so: {}", Comparison::new(&best, &other))
        }
        None => {
            format!("why chord {chord} (`{names}`) is played so: there is nothing else to be played there")
        }
    }
}
