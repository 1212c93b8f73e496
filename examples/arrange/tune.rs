//! From a tune as read to the files of its arrangements, nothing written yet.

use itertools::Itertools;
use overshell::rules::RuleSet;
use overshell::search::{Arrangement, SearchLimits};
use overshell::sheet::{
    LeadSheet, Reading, Report, ReportFinding, SheetFinding, write_midi, write_musicxml_with,
    write_play_along,
};

use crate::arguments::Arguments;
use crate::key::stems;
use crate::led::{Led, led};
use crate::played::as_played;

/// Files by name.
pub(crate) type Files = Vec<(String, Vec<u8>)>;

/// A tune that has been arranged.
pub(crate) struct Tune {
    /// The best first, as many as were asked for.
    pub(crate) arrangements: Vec<Arrangement>,
    /// One for each arrangement.
    pub(crate) reports: Vec<Report>,
    pub(crate) whys: Vec<String>,
    pub(crate) remarks: Vec<String>,
    /// What is played several times is said once.
    pub(crate) findings: Vec<SheetFinding>,
    /// What is to be written.
    pub(crate) files: Files,
}

/// Arranges a tune; its files are called after `stem`.
pub(crate) fn tune(
    arguments: &Arguments,
    rules: &RuleSet,
    reading: Reading,
    stem: &str,
) -> overshell::Result<Tune> {
    let Reading { sheet, mut findings } = if arguments.as_played { as_played(&reading)? } else { reading };
    let Led { arrangements, whys, remarks, findings: of_signs } =
        led(arguments, &sheet, rules, arguments.arranging())?;
    findings.extend(of_signs);
    let of_chords: Vec<(usize, ReportFinding)> = findings
        .iter()
        .filter_map(|f| {
            let finding = ReportFinding {
                rule: "reading".to_owned(),
                message: f.message.clone(),
                help: f.help.clone(),
            };
            Some((f.chord?, finding))
        })
        .collect();
    let mut files = Vec::new();
    let mut reports = Vec::new();
    for (at, arrangement) in arrangements.iter().enumerate() {
        let (report, own) = made(&sheet, arrangement, &of_chords, &numbered(stem, at), arguments)?;
        reports.push(report);
        files.extend(own);
    }
    let findings = findings
        .into_iter()
        .dedup_by(|one, next| one.byte.is_some() && one.byte == next.byte && one.message == next.message)
        .collect();
    Ok(Tune { arrangements, reports, whys, remarks, findings, files })
}

/// What an arrangement is called, by its place from 0: the first as the tune itself, the others numbered.
fn numbered(stem: &str, at: usize) -> String {
    if at == 0 { stem.to_owned() } else { format!("{stem}-{}", at + 1) }
}

/// The names of all files that a tune of this stem may be written to.
pub(crate) fn names(arguments: &Arguments, stem: &str) -> Vec<String> {
    let ends = [".musicxml", ".mid", ".json", PLAY_ALONG];
    let count = if arguments.play_along.is_some() { ends.len() } else { ends.len() - 1 };
    let best = arguments.best.clamp(1, SearchLimits::default().arrangements);
    let stems = stems(arguments, stem);
    let numbered = stems.iter().flat_map(|stem| (0..best).map(|at| numbered(stem, at)));
    numbered.flat_map(|name| ends.iter().take(count).map(move |end| format!("{name}{end}"))).collect()
}

/// How the name of a track to play along with ends.
const PLAY_ALONG: &str = "-play-along.mid";

/// What is written of an arrangement.
fn made(
    sheet: &LeadSheet,
    arrangement: &Arrangement,
    of_chords: &[(usize, ReportFinding)],
    stem: &str,
    arguments: &Arguments,
) -> overshell::Result<(Report, Files)> {
    let sheet = sheet.as_arranged(arrangement);
    // What the reader found stands at the chord that it found it at, wherever that is now.
    let moved: Vec<(usize, ReportFinding)> = of_chords
        .iter()
        .filter_map(|(slot, finding)| {
            let place = arrangement.chords.iter().position(|chord| chord.slot == *slot)?;
            Some((place, finding.clone()))
        })
        .collect();
    let report = Report::new(&sheet, arrangement, &moved);
    let mut files = vec![
        (
            format!("{stem}.musicxml"),
            write_musicxml_with(&sheet, arrangement, &arguments.page())?.into_bytes(),
        ),
        (format!("{stem}.mid"), write_midi(&sheet, arrangement)?),
        (format!("{stem}.json"), report.to_json()?.into_bytes()),
    ];
    if let Some(options) = arguments.band() {
        files.push((format!("{stem}{PLAY_ALONG}"), write_play_along(&sheet, arrangement, &options)?));
    }
    Ok((report, files))
}
