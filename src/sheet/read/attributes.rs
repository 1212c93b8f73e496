//! Key, metre, divisions and transposition of a part.

use super::clock::{Clock, Decimal};
use super::cursor::Cursor;
use super::finding::Log;
use super::raw::RawTempo;
use super::road::Behind;
use crate::chord::{Key, Mode};
use crate::error::Result;
use crate::pitch::{Accidental, Letter, NoteName, Pitch};
use crate::sheet::Metre;

/// What is in force in a part.
pub(super) struct PartState {
    pub(super) clock: Clock,
    pub(super) divisions_known: bool,
    /// As printed: sharps and mode.
    signature: (i8, Mode),
    /// Sounding.
    pub(super) key: Key,
    pub(super) metre: Metre,
    transposition: Transposition,
    /// What stands behind the last note of a bar and belongs to the next one.
    pub(super) behind: Behind,
    /// The first tempo of the part.
    pub(super) tempo: RawTempo,
}

/// From written to sounding pitch.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Transposition {
    semitones: i16,
    /// Places on the line of fifths, chosen so that the sounding key has a signature.
    fifths: i16,
}

impl PartState {
    pub(super) fn new() -> Self {
        Self {
            clock: Clock::new(),
            divisions_known: false,
            signature: (0, Mode::Major),
            key: Key::C_MAJOR,
            metre: Metre::COMMON,
            transposition: Transposition { semitones: 0, fifths: 0 },
            behind: Behind::default(),
            tempo: RawTempo::default(),
        }
    }

    /// The sounding name of a written one.
    pub(super) fn name(&self, written: NoteName) -> NoteName {
        NoteName::from_fifths_respelled(i16::from(written.fifths()) + self.transposition.fifths)
    }

    /// The sounding pitch of a written step, alteration and octave; `None` outside MIDI.
    pub(super) fn pitch(&self, letter: Letter, alter: i8, octave: i8) -> Option<Pitch> {
        let natural = NoteName::new(letter, Accidental::Natural);
        let fifths = i16::from(natural.fifths()) + 7 * i16::from(alter) + self.transposition.fifths;
        let midi = 12 * (i16::from(octave) + 1)
            + i16::from(letter.semitones())
            + i16::from(alter)
            + self.transposition.semitones;
        Pitch::from_midi(u8::try_from(midi).ok()?, NoteName::from_fifths_respelled(fifths))
    }

    /// Makes the sounding key of the printed signature, moving the transposition by an enharmonic step where the
    /// signature would have more than seven signs.
    fn update_key(&mut self) {
        let (sharps, mode) = self.signature;
        let mut sounding = i16::from(sharps) + self.transposition.fifths;
        let step = if sounding > 7 {
            -12
        } else if sounding < -7 {
            12
        } else {
            0
        };
        self.transposition.fifths += step;
        sounding += step;
        let sounding = i8::try_from(sounding).unwrap_or(0);
        self.key = Key::from_signature(sounding, mode).unwrap_or(Key::C_MAJOR);
    }

    /// Reads an `attributes` element.
    pub(super) fn read(&mut self, cursor: &mut Cursor<'_>, log: &mut Log) -> Result<()> {
        let (mut keys, mut times) = (0, 0);
        cursor.children(|cursor, tag| {
            match tag.name() {
                "divisions" => {
                    let text = cursor.text()?;
                    if Decimal::read(&text).is_some_and(|value| self.clock.set_divisions(value)) {
                        self.divisions_known = true;
                    } else {
                        log.say(
                            format!("`{}` divisions of a quarter make no sense", crate::pitch::shown(&text)),
                            "the number before stays in force; export the tune again",
                        );
                    }
                }
                // The first is of the upper staff, or of all.
                "key" => {
                    keys += 1;
                    if keys == 1 {
                        self.read_key(cursor, log)?;
                    }
                }
                "time" => {
                    times += 1;
                    if times == 1 {
                        self.read_time(cursor, log)?;
                    }
                }
                "transpose" => self.read_transpose(cursor, log)?,
                _ => {}
            }
            Ok(())
        })
    }

    fn read_key(&mut self, cursor: &mut Cursor<'_>, log: &mut Log) -> Result<()> {
        let (mut fifths, mut mode) = (None, String::new());
        cursor.children(|cursor, tag| {
            match tag.name() {
                "fifths" => fifths = Some(cursor.text()?),
                "mode" => mode = cursor.text()?,
                _ => {}
            }
            Ok(())
        })?;
        let sharps =
            fifths.as_deref().and_then(|text| text.parse::<i8>().ok()).filter(|f| (-7..=7).contains(f));
        let Some(sharps) = sharps else {
            let found = fifths
                .map_or_else(|| "no fifths".into(), |f| format!("`{}` fifths", crate::pitch::shown(&f)));
            log.say(
                format!("a key with {found} is not read, expected -7 to 7"),
                "the key before stays in force; write a key of seven sharps or flats at most",
            );
            return Ok(());
        };
        let mode = match mode.as_str() {
            "" | "major" => Mode::Major,
            "minor" => Mode::Minor,
            other => {
                log.say(
                    format!("the mode `{}` is read as major", crate::pitch::shown(other)),
                    "write the key of the same signature as `major` or `minor`",
                );
                Mode::Major
            }
        };
        self.signature = (sharps, mode);
        self.update_key();
        Ok(())
    }

    fn read_time(&mut self, cursor: &mut Cursor<'_>, log: &mut Log) -> Result<()> {
        let mut pairs: Vec<(String, String)> = Vec::new();
        let mut unmeasured = false;
        cursor.children(|cursor, tag| {
            match tag.name() {
                "beats" if pairs.len() < 16 => pairs.push((cursor.text()?, String::new())),
                "beat-type" => {
                    let unit = cursor.text()?;
                    if let Some(last) = pairs.last_mut() {
                        last.1 = unit;
                    }
                }
                "senza-misura" => unmeasured = true,
                _ => {}
            }
            Ok(())
        })?;
        if unmeasured {
            log.say("unmeasured music keeps the metre before", "give the tune a metre");
            return Ok(());
        }
        match sum_of(&pairs) {
            Some(metre) => self.metre = metre,
            None => {
                let found = itertools::join(pairs.iter().map(|(beats, unit)| format!("{beats}/{unit}")), " ");
                log.say(
                    format!("the metre `{}` is not read", crate::pitch::shown(&found)),
                    "the metre before stays in force; write beats of 1 to 255 over 1, 2, 4, 8, 16 or 32",
                );
            }
        }
        Ok(())
    }

    fn read_transpose(&mut self, cursor: &mut Cursor<'_>, log: &mut Log) -> Result<()> {
        let (mut diatonic, mut chromatic, mut octaves) = (None, Some(0), Some(0));
        cursor.children(|cursor, tag| {
            let small = |text: &str| {
                let (value, exact) = Decimal::read(text)?.rounded();
                i16::try_from(value).ok().filter(|v| exact && v.abs() <= 48)
            };
            match tag.name() {
                "diatonic" => diatonic = small(&cursor.text()?),
                "chromatic" => chromatic = small(&cursor.text()?),
                "octave-change" => octaves = small(&cursor.text()?),
                _ => {}
            }
            Ok(())
        })?;
        let (Some(chromatic), Some(octaves)) = (chromatic, octaves) else {
            log.say(
                "this transposition makes no sense, the pitches are read as written",
                "write whole semitones, at most 48",
            );
            return Ok(());
        };
        self.transposition = transposition(diatonic, chromatic, octaves);
        self.update_key();
        Ok(())
    }
}

fn transposition(diatonic: Option<i16>, chromatic: i16, octaves: i16) -> Transposition {
    /// Places up the line of fifths of the interval usually meant, by semitones: a major second is +2, a minor third -3.
    const USUAL: [i16; 12] = [0, -5, 2, -3, 4, -1, 6, 1, -4, 3, -2, 5];
    /// Semitones and fifths of the major and perfect intervals, by steps.
    const STEPS: [(i16, i16); 7] = [(0, 0), (2, 2), (4, 4), (5, -1), (7, 1), (9, 3), (11, 5)];
    let usual = USUAL.get(usize::from(chromatic.rem_euclid(12).unsigned_abs())).copied().unwrap_or(0);
    let fifths = diatonic.and_then(|steps| {
        let (semitones, fifths) = *STEPS.get(usize::from(steps.rem_euclid(7).unsigned_abs()))?;
        let alteration = chromatic - semitones - 12 * steps.div_euclid(7);
        (alteration.abs() <= 2).then_some(fifths + 7 * alteration)
    });
    Transposition { semitones: chromatic + 12 * octaves, fifths: fifths.unwrap_or(usual) }
}

/// The metre of one or several `beats` over `beat-type`; additive ones are summed over the smallest unit.
fn sum_of(pairs: &[(String, String)]) -> Option<Metre> {
    let mut sum = Vec::new();
    for (beats, unit) in pairs {
        let unit: u16 = unit.parse().ok().filter(|u| [1, 2, 4, 8, 16, 32].contains(u))?;
        for beats in beats.split('+') {
            sum.push((beats.trim().parse::<u16>().ok()?, unit));
        }
    }
    let smallest = sum.iter().map(|(_, unit)| *unit).max()?;
    let beats = sum
        .iter()
        .try_fold(0u16, |total, (beats, unit)| total.checked_add(beats.checked_mul(smallest / unit)?))?;
    let beats = u8::try_from(beats).ok().filter(|beats| *beats > 0)?;
    Some(Metre { beats, unit: u8::try_from(smallest).ok()? })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pitch::{note, pitch};

    fn metre(text: &str) -> Option<Metre> {
        let pairs: Vec<_> = text
            .split(' ')
            .filter_map(|t| t.split_once('/'))
            .map(|(a, b)| (a.to_owned(), b.to_owned()))
            .collect();
        sum_of(&pairs)
    }

    #[test]
    fn ok_metres() {
        for (text, beats, unit) in [("4/4", 4, 4), ("3+2/8", 5, 8), ("2/4 3/8", 7, 8), ("255/1", 255, 1)] {
            assert_eq!(metre(text), Some(Metre { beats, unit }), "{text}");
        }
        for text in ["", "0/4", "4/3", "-1/4", "256/4", "4/", "a/4", "65535+1/4", "3+/8"] {
            assert_eq!(metre(text), None, "{text}");
        }
    }

    #[test]
    fn ok_transpositions() {
        // A clarinet in B flat, an alto saxophone in E flat, a guitar an octave down, chromatic only.
        for (diatonic, chromatic, octaves, written, sounding) in [
            (Some(-1), -2, 0, "D5", "C5"),
            (Some(-5), -9, 0, "A4", "C4"),
            (Some(0), 0, -1, "E4", "E3"),
            (None, -2, 0, "E4", "D4"),
            (Some(-8), -14, 0, "E4", "D3"),
        ] {
            let mut state = PartState::new();
            state.transposition = transposition(diatonic, chromatic, octaves);
            let (written, sounding) = (pitch(written), pitch(sounding));
            let found = state.pitch(written.letter(), written.accidental().semitones(), written.octave());
            assert_eq!(found, Some(sounding));
            assert_eq!(state.name(written.name()), sounding.name());
        }
    }

    #[test]
    fn ok_a_sounding_key_has_at_most_seven_signs() {
        let mut state = PartState::new();
        state.transposition = transposition(Some(-1), -1, 0); // down a minor second: five sharps up
        state.signature = (4, Mode::Major);
        state.update_key();
        assert_eq!(state.key.to_string(), "Eb"); // E down a minor second
        assert_eq!(state.name(note("E")), note("Eb"));
    }
}
