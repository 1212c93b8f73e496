//! A tune as it is played.

use overshell::sheet::{Played, Reading, SheetFinding};

/// The tune with its repeats played out; what was found at a symbol is said wherever it is played.
pub(crate) fn as_played(reading: &Reading) -> overshell::Result<Reading> {
    let Played { sheet, chords, findings: of_signs, .. } = reading.sheet.as_played()?;
    let mut findings = Vec::new();
    for finding in &reading.findings {
        let Some(of_page) = finding.chord else {
            findings.push(finding.clone());
            continue;
        };
        let places = chords.iter().enumerate().filter(|(_, chord)| **chord == of_page);
        findings.extend(places.map(|(place, _)| SheetFinding { chord: Some(place), ..finding.clone() }));
    }
    findings.extend(of_signs);
    Ok(Reading { sheet, findings })
}
