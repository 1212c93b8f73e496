//! The page around the bars, for one staff and for two.

use std::sync::Arc;

use super::bar::{
    Line, Symbol, write_attributes, write_backup, write_barline, write_hand, write_melody, write_tempo,
};
use super::line::{Voice, held, left_hand, make_printable, melody, right_hand};
use super::xml::Xml;
use super::{accidentals, groups, road, systems};
use crate::error::{Error, Kind, Result};
use crate::search::Arrangement;
use crate::sheet::caution::CAUTION;
use crate::sheet::{Bar, LeadSheet};

const DOCTYPE: &str = "<!DOCTYPE score-partwise PUBLIC \"-//Recordare//DTD MusicXML 4.0 Partwise//EN\" \
\"http://www.musicxml.org/dtds/partwise.dtd\">";

/// Tenths in which A4 is 297 by 210 mm when a staff is 7 mm high (40 tenths), rounded.
const PAGE_HEIGHT: u32 = 1697;
const PAGE_WIDTH: u32 = 1200;
const MARGIN: u32 = 80;
/// Tenths below the page's upper margin: the caution's first line, its lines apart, the first system.
const CAUTION_TOP: u32 = 50;
const CAUTION_LINE: u32 = 16;
const FIRST_SYSTEM: u32 = 190;
/// Characters in a line of the caution: fits the page also where a program prints it larger than asked.
const CAUTION_WIDTH: usize = 90;

/// What two hands play.
#[derive(Clone, Copy)]
pub(super) struct Hands<'a> {
    pub(super) arrangement: &'a Arrangement,
    /// By how many octaves the melody is moved.
    pub(super) octaves: i8,
    /// Whether it says which chord sounds.
    pub(super) sounding: bool,
}

/// Writes a sheet: alone, or for two hands, in lines that begin at `parts` among others.
pub(super) fn write(sheet: &LeadSheet, hands: Option<Hands<'_>>, parts: &[usize]) -> Result<String> {
    let mut xml = Xml::new();
    xml.line(DOCTYPE);
    xml.open("score-partwise", &[("version", "4.0")]);
    write_head(&mut xml, sheet, hands.is_some());
    xml.open("part", &[("id", "P1")]);
    let mut begins = line_starts(sheet, hands.is_some(), parts)?.into_iter();
    let mut before = None;
    for (index, bar) in sheet.bars.iter().enumerate() {
        let begins_line = begins.next().unwrap_or(false);
        write_bar(&mut xml, sheet, (index, begins_line), bar, before, hands)?;
        before = Some(bar);
    }
    Ok(xml.finish())
}

/// For each bar whether a line begins there; a sheet alone leaves that to whoever prints it.
fn line_starts(sheet: &LeadSheet, two_hands: bool, parts: &[usize]) -> Result<Vec<bool>> {
    if !two_hands {
        return Ok(Vec::new());
    }
    let mut chords = sheet.chords.iter().peekable();
    let widths = sheet.bars.iter().enumerate().map(|(index, bar)| {
        let count = std::iter::from_fn(|| chords.next_if(|chord| chord.start < bar.end())).count();
        let first = index == 0 || parts.contains(&index);
        let pick_up = first && bar.length < bar.metre.bar_ticks();
        Ok(if pick_up { 0 } else { systems::width(&melody(sheet, bar, 0)?, count) })
    });
    let widths = widths.collect::<Result<Vec<usize>>>()?;
    Ok(systems::starts(&widths, parts))
}

fn write_head(xml: &mut Xml, sheet: &LeadSheet, two_hands: bool) {
    if !sheet.title.is_empty() {
        xml.leaf("movement-title", &[], &sheet.title);
    }
    xml.open("identification", &[]);
    xml.open("encoding", &[]);
    xml.leaf("software", &[], concat!("overshell ", env!("CARGO_PKG_VERSION")));
    xml.close();
    xml.close();
    if two_hands {
        xml.open("defaults", &[]);
        xml.open("scaling", &[]);
        xml.leaf("millimeters", &[], 7);
        xml.leaf("tenths", &[], 40);
        xml.close();
        xml.open("page-layout", &[]);
        xml.leaf("page-height", &[], PAGE_HEIGHT);
        xml.leaf("page-width", &[], PAGE_WIDTH);
        xml.open("page-margins", &[("type", "both")]);
        for side in ["left-margin", "right-margin", "top-margin", "bottom-margin"] {
            xml.leaf(side, &[], MARGIN);
        }
        xml.close();
        xml.close();
        xml.close();
        if !sheet.title.is_empty() {
            write_credit(xml, "title", &sheet.title, PAGE_HEIGHT - MARGIN, "16");
        }
        let mut y = PAGE_HEIGHT - MARGIN - CAUTION_TOP;
        for line in wrapped(CAUTION, CAUTION_WIDTH) {
            write_credit(xml, "caution", &line, y, "7");
            y = y.saturating_sub(CAUTION_LINE);
        }
    }
    xml.open("part-list", &[]);
    xml.open("score-part", &[("id", "P1")]);
    xml.leaf("part-name", &[], if two_hands { "Piano" } else { "Melody" });
    xml.close();
    xml.close();
}

/// A text in lines of at most so many characters, cut between words.
fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

fn write_credit(xml: &mut Xml, kind: &str, words: &str, y: u32, size: &str) {
    let (x, y) = ((PAGE_WIDTH / 2).to_string(), y.to_string());
    xml.open("credit", &[("page", "1")]);
    xml.leaf("credit-type", &[], kind);
    let place = [
        ("default-x", x.as_str()),
        ("default-y", y.as_str()),
        ("font-size", size),
        ("justify", "center"),
        ("halign", "center"),
        ("valign", "top"),
    ];
    xml.leaf("credit-words", &place, words);
    xml.close();
}

fn write_bar(
    xml: &mut Xml,
    sheet: &LeadSheet,
    (index, begins_line): (usize, bool),
    bar: &Bar,
    before: Option<&Bar>,
    hands: Option<Hands<'_>>,
) -> Result<()> {
    let full = bar.metre.bar_ticks();
    let pick_up = index == 0 && bar.length < full;
    let implicit = bar.implicit || (pick_up && hands.is_some());
    let mut attributes = vec![("number", bar.number.as_str())];
    if implicit {
        attributes.push(("implicit", "yes"));
    }
    xml.open("measure", &attributes);
    if index == 0 && hands.is_some() {
        xml.open("print", &[]);
        xml.open("system-layout", &[]);
        xml.leaf("top-system-distance", &[], FIRST_SYSTEM);
        xml.close();
        xml.close();
    } else if begins_line {
        xml.empty("print", &[("new-system", "yes")]);
    }
    write_barline(xml, &bar.left, "left");
    write_attributes(xml, bar, before, hands.is_some());
    let lines = lines_of(sheet, bar, hands, if pick_up { full - bar.length } else { 0 })?;
    let first = sheet.chords.partition_point(|chord| chord.start < bar.start);
    let symbols: Vec<Symbol<'_>> = sheet
        .chords
        .iter()
        .enumerate()
        .skip(first)
        .take_while(|(_, placed)| placed.start < bar.end())
        .map(|(at, placed)| {
            (placed, hands.and_then(|hands| hands.arrangement.chords.get(at)).map(Arc::as_ref))
        })
        .collect();
    for (at, line) in lines.iter().enumerate() {
        if at == 0 {
            if let (None, Some(tempo)) = (before, sheet.tempo) {
                write_tempo(xml, tempo, line.0.staff());
            }
            road::write_start(xml, &bar.road, line.0.staff());
            write_melody(xml, bar, line, &symbols, hands.is_some_and(|hands| hands.sounding));
            road::write_end(xml, &bar.road, line.0.staff());
        } else if line.0 != Voice::RightHand || line.1.iter().any(|written| !written.pitches.is_empty()) {
            write_backup(xml, bar.length);
            write_hand(xml, bar, line);
        }
    }
    write_barline(xml, &bar.right, "right");
    xml.close();
    Ok(())
}

/// The voices of a bar, the melody first, with accidentals, tuplets and beams.
fn lines_of(sheet: &LeadSheet, bar: &Bar, hands: Option<Hands<'_>>, missing: u32) -> Result<Vec<Line>> {
    let mut melody = melody(sheet, bar, hands.map_or(0, |hands| hands.octaves))?;
    if hands.is_some() {
        make_printable(sheet, bar, &mut melody);
    }
    groups::mark_tuplets(&mut melody);
    groups::mark_beams(&mut melody, bar, missing);
    let lines = match hands {
        None => {
            accidentals::mark(bar.key, &mut [&mut melody]);
            vec![(Voice::LeadMelody, melody)]
        }
        Some(Hands { arrangement, .. }) => {
            let mut right = held(sheet, bar, arrangement, right_hand);
            let mut left = held(sheet, bar, arrangement, left_hand);
            accidentals::mark(bar.key, &mut [&mut melody, &mut right]);
            accidentals::mark(bar.key, &mut [&mut left]);
            vec![(Voice::Melody, melody), (Voice::RightHand, right), (Voice::LeftHand, left)]
        }
    };
    let mut pitches = lines.iter().flat_map(|(_, line)| line).flat_map(|written| &written.pitches);
    match pitches.find(|pitch| !(0..=9).contains(&pitch.octave())) {
        Some(low) => Err(Error::new(
            Kind::Sheet,
            format!("`{low}` cannot be written as MusicXML, expected an octave 0 to 9"),
        )),
        None => Ok(lines),
    }
}
