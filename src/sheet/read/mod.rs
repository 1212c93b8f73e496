//! Readers: from the bytes of a file to a lead sheet.
//!
//! MusicXML 2.0 to 4.0, part by part (`score-partwise`) or bar by bar (`score-timewise`), plain (UTF-8, or UTF-16 with byte
//! order mark) or compressed (`.mxl`). The file is streamed, entities of a document type are never expanded, an archive is
//! unpacked up to a limit only.
//!
//! | in the source | in the sheet |
//! |---|---|
//! | several parts | the first with notes; chord symbols of all |
//! | a bar without a part that plays again later | an empty bar of it |
//! | several voices or staves | the voice of the first note |
//! | notes of a chord | the highest |
//! | grace and cue notes | left out |
//! | a transposing instrument | sounding pitch and key |
//! | a gap in the voice | rests |
//! | a bar of another length than its metre | its own length; that of the metre where it is empty |
//! | an `offset` of a chord symbol | moves the symbol |
//! | an `inversion` without bass | a bass |
//! | a kind that cannot be read | its text, and a finding |
//! | segno, coda, jumps | marks of their bar: as `sound` says, else as barlines, signs and words say |

mod attributes;
mod bar;
mod barline;
pub(super) mod chords;
mod clock;
mod cursor;
pub(super) mod finding;
pub(super) mod melody;
mod note;
mod options;
pub(super) mod raw;
mod road;
mod scan;
pub(super) mod score;
mod symbol;
pub(super) mod symbols;
pub(super) mod text;
mod timewise;
pub(super) mod unpack;

pub use finding::SheetFinding;
pub use options::{Limits, ReadOptions};

use super::LeadSheet;
use super::road::settle;
use crate::chord::Key;
use crate::error::{Error, Excerpt, Kind, Result};
use finding::{Entry, Log};

/// A tune as read, and all that was found odd about its source.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The tune.
    pub sheet: LeadSheet,
    /// The findings in the order of the bars; at most 10 000, and one that says how many more there were.
    pub findings: Vec<SheetFinding>,
}

/// Reads a tune from the bytes of a MusicXML file, plain or compressed (told apart by content, not by name).
///
/// [`read`](crate::sheet::read) takes other formats too.
///
/// # Errors
///
/// - [`Error::is_sheet`] where the bytes are no MusicXML or are damaged, with the line and the byte; and,
///   where `options.strict`, for the first finding.
/// - [`Error::is_limit`] where a limit is exceeded; the message names it.
///
/// # Example
///
/// ```
/// use overshell::sheet::{ReadOptions, read_musicxml};
///
/// let xml = r#"<score-partwise version="4.0">
///   <part-list><score-part id="P1"><part-name/></score-part></part-list>
///   <part id="P1"><measure number="1">
///     <attributes><divisions>1</divisions></attributes>
///     <harmony><root><root-step>C</root-step></root><kind text="7">dominant</kind></harmony>
///     <note><pitch><step>E</step><octave>5</octave></pitch><duration>4</duration></note>
///   </measure></part>
/// </score-partwise>"#;
/// let reading = read_musicxml(xml.as_bytes(), &ReadOptions::default())?;
/// assert_eq!(reading.sheet.chords[0].symbol.as_str(), "C7");
/// assert_eq!(reading.sheet.melody_at(0).unwrap().to_string(), "E5");
/// assert!(reading.findings.is_empty());
///
/// let error = read_musicxml(b"not a score", &ReadOptions::default()).unwrap_err();
/// assert!(error.is_sheet());
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn read_musicxml(bytes: &[u8], options: &ReadOptions) -> Result<Reading> {
    if bytes.len() > options.limits.bytes {
        return Err(unpack::too_large(options.limits.bytes));
    }
    let unpacked;
    let bytes = if bytes.starts_with(b"PK") {
        unpacked = unpack::unpack(bytes, options.limits.bytes)?;
        &unpacked
    } else {
        bytes
    };
    let text = text::decode(bytes)?;
    let reading = read_text(&text, options)?;
    match reading.findings.first() {
        Some(finding) if options.strict => Err(strict_error(&text, finding)),
        _ => Ok(reading),
    }
}

fn read_text(text: &str, options: &ReadOptions) -> Result<Reading> {
    let mut log = Log::default();
    let mut score = score::read_score(text, options.limits, &mut log)?;
    (log.bar, log.tick, log.byte) = (None, 0, 0);
    let chosen = melody::chosen_part(&score, &mut log);
    log.entries.retain(|entry| entry.part.is_none_or(|part| part == chosen));
    settle_road(&mut score, chosen, &mut log);
    let bars = match score.parts.get(chosen) {
        Some(part) => melody::place_bars(part)?,
        None => Vec::new(),
    };
    let notes = score.parts.get(chosen).map(|part| melody::melody(part, &bars, &mut log)).unwrap_or_default();
    let chords = symbols::place_symbols(&score, &bars, &mut log);
    let title = [score.movement_title, score.work_title].into_iter().find(|title| !title.is_empty());
    let sheet = LeadSheet {
        title: title.unwrap_or_default(),
        key: bars.first().map_or(Key::C_MAJOR, |bar| bar.key),
        tempo: score.tempo.sound.or(score.tempo.printed),
        bars,
        notes,
        chords,
    };
    log.say_left_out();
    let mut entries = log.entries;
    entries.sort_by_key(|entry| (entry.bar, entry.tick));
    let findings = entries.into_iter().map(|entry| place(&sheet, entry)).collect();
    Ok(Reading { sheet, findings })
}

/// Gives the chosen part its marks, or those of the first part that has any: they hold for all.
fn settle_road(score: &mut raw::RawScore, chosen: usize, log: &mut Log) {
    let has_any =
        |part: &raw::RawPart| part.bars.iter().any(|bar| !bar.road.is_empty() || bar.coda_sign.is_some());
    let from = match score.parts.get(chosen) {
        Some(part) if !has_any(part) => score.parts.iter().position(has_any),
        _ => None,
    };
    if let Some(other) = from.and_then(|from| score.parts.get(from)) {
        let marks: Vec<_> = other.bars.iter().map(|bar| (bar.road.clone(), bar.coda_sign)).collect();
        for (bar, marks) in score.parts.get_mut(chosen).into_iter().flat_map(|part| &mut part.bars).zip(marks)
        {
            (bar.road, bar.coda_sign) = marks;
        }
    }
    if let Some(part) = score.parts.get_mut(chosen) {
        road::drop_explained(&mut part.bars);
        settle(&mut part.bars, log);
        (log.bar, log.tick, log.byte) = (None, 0, 0);
    }
}

fn place(sheet: &LeadSheet, entry: Entry) -> SheetFinding {
    let bar = entry.bar.and_then(|index| Some((index, sheet.bars.get(index)?)));
    SheetFinding {
        bar: bar.map(|(_, bar)| bar.number.clone()).unwrap_or_default(),
        beat: bar.map_or(1.0, |(index, bar)| sheet.beat_of(index, bar.start.saturating_add(entry.tick))),
        byte: u64::try_from(entry.byte).ok().filter(|_| bar.is_some()),
        line: None,
        column: None,
        message: entry.message,
        help: entry.help,
        chord: entry.chord,
    }
}

pub(super) fn strict_error(text: &str, finding: &SheetFinding) -> Error {
    let error = Error::new(Kind::Sheet, finding.to_string()).with_help(finding.help.clone());
    match finding.byte.and_then(|byte| usize::try_from(byte).ok()) {
        Some(byte) => error.with_excerpt(Excerpt::of_text(None, text, byte..byte.saturating_add(1))),
        None => error,
    }
}
