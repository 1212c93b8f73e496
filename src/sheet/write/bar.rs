//! A bar as MusicXML: attributes, barlines, the voices one after the other.

use super::harmony;
use super::line::{Voice, Written};
use super::xml::Xml;
use crate::chord::Mode;
use crate::search::ArrangedChord;
use crate::sheet::value::name_of;
use crate::sheet::{Bar, Barline, EndingEdge, PlacedChord, PlacedSymbol, Repeat, TICKS_PER_QUARTER};

/// A voice with its notes.
pub(super) type Line = (Voice, Vec<Written>);

/// A chord symbol with its voicing, where there is one.
pub(super) type Symbol<'a> = (&'a PlacedChord, Option<&'a ArrangedChord>);

/// Writes key, metre, and at the start of the page divisions, staves and clefs, as far as they are new.
pub(super) fn write_attributes(xml: &mut Xml, bar: &Bar, before: Option<&Bar>, two_staves: bool) {
    let key = before.is_none_or(|b| b.key != bar.key);
    let metre = before.is_none_or(|b| b.metre != bar.metre);
    if !key && !metre {
        return;
    }
    xml.open("attributes", &[]);
    if before.is_none() {
        xml.leaf("divisions", &[], TICKS_PER_QUARTER);
    }
    if key {
        xml.open("key", &[]);
        xml.leaf("fifths", &[], bar.key.signature());
        xml.leaf("mode", &[], if bar.key.mode() == Mode::Minor { "minor" } else { "major" });
        xml.close();
    }
    if metre {
        xml.open("time", &[]);
        xml.leaf("beats", &[], bar.metre.beats);
        xml.leaf("beat-type", &[], bar.metre.unit);
        xml.close();
    }
    if before.is_none() {
        if two_staves {
            xml.leaf("staves", &[], 2);
        }
        let clefs: &[(&str, &str, &str)] =
            if two_staves { &[("1", "G", "2"), ("2", "F", "4")] } else { &[("1", "G", "2")] };
        for (number, sign, line) in clefs {
            let numbered = [("number", *number)];
            xml.open("clef", if two_staves { &numbered } else { &[] });
            xml.leaf("sign", &[], sign);
            xml.leaf("line", &[], line);
            xml.close();
        }
    }
    xml.close();
}

/// Writes a barline where it says anything.
pub(super) fn write_barline(xml: &mut Xml, line: &Barline, location: &str) {
    if *line == Barline::default() {
        return;
    }
    xml.open("barline", &[("location", location)]);
    if let Some(style) = &line.style {
        xml.leaf("bar-style", &[], style);
    }
    if let Some(ending) = &line.ending {
        let edge = match ending.edge {
            EndingEdge::Start => "start",
            EndingEdge::Stop => "stop",
            EndingEdge::Discontinue => "discontinue",
        };
        xml.empty("ending", &[("number", &ending.numbers), ("type", edge)]);
    }
    if let Some(repeat) = line.repeat {
        let direction = match repeat {
            Repeat::Forward => "forward",
            Repeat::Backward => "backward",
        };
        let after_jump = [("direction", direction), ("after-jump", "yes")];
        xml.empty("repeat", after_jump.get(..if line.after_jump { 2 } else { 1 }).unwrap_or_default());
    }
    xml.close();
}

/// Writes the tempo as it is printed and as it sounds.
pub(super) fn write_tempo(xml: &mut Xml, tempo: u16, staff: Option<&str>) {
    xml.open("direction", &[("placement", "above")]);
    xml.open("direction-type", &[]);
    xml.open("metronome", &[("parentheses", "no")]);
    xml.leaf("beat-unit", &[], "quarter");
    xml.leaf("per-minute", &[], tempo);
    xml.close();
    xml.close();
    if let Some(staff) = staff {
        xml.leaf("staff", &[], staff);
    }
    xml.empty("sound", &[("tempo", &tempo.to_string())]);
    xml.close();
}

/// Goes back to the start of the bar.
pub(super) fn write_backup(xml: &mut Xml, ticks: u32) {
    xml.open("backup", &[]);
    xml.leaf("duration", &[], ticks);
    xml.close();
}

/// Writes the melody with the chord symbols at their places, and below them what sounds where that is asked for.
pub(super) fn write_melody(xml: &mut Xml, bar: &Bar, line: &Line, symbols: &[Symbol<'_>], sounding: bool) {
    let (voice, notes) = line;
    let mut symbols = symbols.iter().peekable();
    for written in notes {
        let end = bar.start + written.start + written.duration;
        while let Some((placed, arranged)) = symbols.next_if(|(placed, _)| placed.start < end) {
            let offset = placed.start.saturating_sub(bar.start + written.start);
            harmony::write(xml, &placed.symbol, offset, voice.staff());
            if let Some(words) = arranged.and_then(structure_words) {
                write_words(xml, &words, None, offset, voice.staff());
            }
            if let Some(words) =
                arranged.filter(|_| sounding).and_then(|own| sounding_words(&placed.symbol, own))
            {
                write_words(xml, &words, Some(SECOND_LINE), offset, voice.staff());
            }
        }
        write_note(xml, bar, *voice, written);
    }
}

/// A hand's notes; where it rests above another voice of its staff, nothing is printed.
pub(super) fn write_hand(xml: &mut Xml, bar: &Bar, line: &Line) {
    let (voice, notes) = line;
    for written in notes {
        if written.pitches.is_empty() && *voice == Voice::RightHand {
            xml.open("forward", &[]);
            xml.leaf("duration", &[], written.duration);
            xml.leaf("voice", &[], voice.number());
            if let Some(staff) = voice.staff() {
                xml.leaf("staff", &[], staff);
            }
            xml.close();
        } else {
            write_note(xml, bar, *voice, written);
        }
    }
}

/// The line below an upper structure: its label, its triad, the tensions that sound: `II: D (9 #11 13)`. The chord
/// itself stands above.
fn structure_words(chord: &ArrangedChord) -> Option<String> {
    let structure = chord.structure?;
    let tensions = itertools::join(&chord.tensions, " ");
    let listed = if tensions.is_empty() { String::new() } else { format!(" ({tensions})") };
    Some(format!("{}: {}{listed}", structure.label, structure.triad))
}

/// The line below that: what sounds, where it is another chord than the one written: `= C13(#11)`.
fn sounding_words(written: &PlacedSymbol, chord: &ArrangedChord) -> Option<String> {
    let written = match written {
        PlacedSymbol::Read(symbol) => symbol.chord(),
        PlacedSymbol::Unread { .. } => None,
    };
    chord.sounding.filter(|sounding| written != Some(*sounding)).map(|sounding| format!("= {sounding}"))
}

/// Tenths by which a second line of words stands below the first: letters of 8 points are 16 tenths high.
const SECOND_LINE: &str = "-18";

fn write_words(xml: &mut Xml, words: &str, lower: Option<&str>, offset: u32, staff: Option<&str>) {
    xml.open("direction", &[("placement", "below")]);
    xml.open("direction-type", &[]);
    let place = [("relative-y", lower.unwrap_or_default()), ("font-size", "8")];
    xml.leaf("words", place.get(usize::from(lower.is_none())..).unwrap_or_default(), words);
    xml.close();
    if offset > 0 {
        xml.leaf("offset", &[("sound", "yes")], offset);
    }
    if let Some(staff) = staff {
        xml.leaf("staff", &[], staff);
    }
    xml.close();
}

fn write_note(xml: &mut Xml, bar: &Bar, voice: Voice, written: &Written) {
    if written.pitches.is_empty() {
        xml.open("note", &[]);
        // A bar shorter than its metre, such as a pick-up, has a rest of its own length.
        let whole_bar = written.duration == bar.length && bar.length == bar.metre.bar_ticks();
        let measure = [("measure", "yes")];
        xml.empty("rest", if whole_bar { &measure } else { &[] });
        write_rest_of_note(xml, voice, written, 0);
        return;
    }
    for (index, pitch) in written.pitches.iter().enumerate() {
        xml.open("note", &[]);
        if index > 0 {
            xml.empty("chord", &[]);
        }
        xml.open("pitch", &[]);
        xml.leaf("step", &[], pitch.letter());
        if pitch.accidental().semitones() != 0 {
            xml.leaf("alter", &[], pitch.accidental().semitones());
        }
        xml.leaf("octave", &[], pitch.octave());
        xml.close();
        write_rest_of_note(xml, voice, written, index);
    }
}

/// What follows pitch or rest, in the order of the schema.
fn write_rest_of_note(xml: &mut Xml, voice: Voice, written: &Written, index: usize) {
    let pitched = !written.pitches.is_empty();
    xml.leaf("duration", &[], written.duration);
    for (tied, edge) in [(written.tied_from, "stop"), (written.tied_to, "start")] {
        if tied && pitched {
            xml.empty("tie", &[("type", edge)]);
        }
    }
    xml.leaf("voice", &[], voice.number());
    let named = written.value.and_then(|value| Some((value, name_of(value.unit)?)));
    if let Some((value, name)) = named {
        xml.leaf("type", &[], name);
        for _ in 0..value.dots {
            xml.empty("dot", &[]);
        }
    }
    if let Some(accidental) = written.accidentals.get(index).copied().flatten() {
        xml.leaf("accidental", &[], accidental);
    }
    let tuplet = named.map(|(value, _)| value.tuplet).filter(|tuplet| *tuplet != (1, 1));
    if let Some((actual, normal)) = tuplet {
        xml.open("time-modification", &[]);
        xml.leaf("actual-notes", &[], actual);
        xml.leaf("normal-notes", &[], normal);
        xml.close();
    }
    let stemless = named.is_none_or(|(value, _)| value.unit < 2);
    if let Some(stem) = voice.stem().filter(|_| pitched && !stemless) {
        xml.leaf("stem", &[], stem);
    }
    if let Some(staff) = voice.staff() {
        xml.leaf("staff", &[], staff);
    }
    if index == 0 {
        for (beam, number) in written.beams.iter().zip(["1", "2", "3", "4", "5", "6", "7", "8"]) {
            xml.leaf("beam", &[("number", number)], beam);
        }
    }
    write_notations(xml, written, pitched, tuplet.is_some() && index == 0);
    xml.close();
}

fn write_notations(xml: &mut Xml, written: &Written, pitched: bool, tuplet: bool) {
    let ties = pitched && (written.tied_from || written.tied_to);
    let tuplets = tuplet && (written.tuplet_starts || written.tuplet_stops);
    if !ties && !tuplets {
        return;
    }
    xml.open("notations", &[]);
    for (tied, edge) in [(written.tied_from, "stop"), (written.tied_to, "start")] {
        if tied && pitched {
            xml.empty("tied", &[("type", edge)]);
        }
    }
    for (marked, edge) in [(written.tuplet_starts, "start"), (written.tuplet_stops, "stop")] {
        if marked && tuplets {
            xml.empty("tuplet", &[("type", edge)]);
        }
    }
    xml.close();
}
