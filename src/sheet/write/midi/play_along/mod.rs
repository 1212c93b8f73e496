//! A tune with a band to play along with.

mod bass;
mod comping;
mod drums;
mod pattern;
mod ruled;

use self::ruled::{Ruled, ruled};
use super::conductor::{Course, conductor};
use super::struck::{Player, fitted, ticks, track};
use super::{ON_THE_PAGE, PIANO, bytes, tune};
use crate::error::{Error, Kind, Result};
use crate::search::Arrangement;
use crate::sheet::LeadSheet;
use crate::sheet::write::line::check;

/// The acoustic bass, program 33 of General MIDI (MIDI Association, RP-003).
const ACOUSTIC_BASS: Option<u8> = Some(32);
/// The parts that are not on the page. Percussion has channel 10 in General MIDI.
const BASS: Player = Player { name: "Bass", channel: 3, program: ACOUSTIC_BASS };
const GUIDE_TONES: Player = Player { name: "Guide tones", channel: 4, program: PIANO };
const DRUMS: Player = Player { name: "Drums", channel: 9, program: None };

/// The most bars to count in.
const MOST_BARS_COUNTED: u8 = 2;
/// The most notes that a file may get: some eight megabytes.
const MOST_NOTES: u64 = 1_000_000;
/// The longest file in ticks: the largest delta that the format can say.
const LONGEST: u64 = (1 << 28) - 1;

/// How a bass plays the chords of a tune.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum BassLine {
    /// It does not.
    Silent,
    /// Two notes in a bar, root and fifth.
    #[default]
    Two,
    /// A note on every beat, which leads to the next chord by a semitone.
    Four,
}

impl std::str::FromStr for BassLine {
    type Err = Error;

    /// Reads `silent`, `two` or `four`.
    fn from_str(text: &str) -> Result<Self> {
        match text {
            "silent" => Ok(Self::Silent),
            "two" => Ok(Self::Two),
            "four" => Ok(Self::Four),
            _ => Err(Error::new(Kind::Range, format!("`{}` is not a bass line", crate::pitch::shown(text)))
                .with_help("say `two`, `four` or `silent`")),
        }
    }
}

/// What drums play.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Drums {
    /// The count-in alone.
    Silent,
    /// The closed hi-hat on every beat.
    Beats,
    /// The pattern of the metre for the ride cymbal and the foot on the hi-hat.
    #[default]
    RideAndHiHat,
}

impl std::str::FromStr for Drums {
    type Err = Error;

    /// Reads `silent`, `beats` or `ride`.
    fn from_str(text: &str) -> Result<Self> {
        match text {
            "silent" => Ok(Self::Silent),
            "beats" => Ok(Self::Beats),
            "ride" => Ok(Self::RideAndHiHat),
            _ => Err(Error::new(
                Kind::Range,
                format!("`{}` is not a way to play the drums", crate::pitch::shown(text)),
            )
            .with_help("say `ride`, `beats` or `silent`")),
        }
    }
}

/// What [`write_play_along`] adds to a tune.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct PlayAlong {
    /// Bars of clicks before the tune, `0..=2`. A pick-up comes behind them, where it belongs in a bar of its own, and is counted
    /// through.
    pub count_in: u8,
    /// The bass.
    pub bass: BassLine,
    /// The drums.
    pub drums: Drums,
    /// Whether off-beat eighths of bass, guide tones and drums come at two thirds of the beat. What is on the page is played as
    /// written.
    pub swing: bool,
    /// How many times the tune is played, from 1. Repeats within it are played out by [`LeadSheet::as_played`] before it is
    /// arranged.
    pub passes: u8,
}

impl Default for PlayAlong {
    /// A bar to count in, a bass in two, ride and hi-hat, swung, once.
    fn default() -> Self {
        Self { count_in: 1, bass: BassLine::default(), drums: Drums::default(), swing: true, passes: 1 }
    }
}

/// Writes a tune for two hands with a band, as a Standard MIDI File of format 1 with 480 ticks in a quarter.
///
/// | track | channel | program of General MIDI |
/// |---|---|---|
/// | tempo, metres and keys | | |
/// | `Melody`, `Right hand`, `Left hand` | 1, 2, 3 | 1, acoustic grand piano |
/// | `Bass` | 4 | 33, acoustic bass |
/// | `Guide tones` | 5 | 1, acoustic grand piano |
/// | `Drums` | 10 | percussion |
///
/// The first four are as [`write_midi`](crate::sheet::write_midi) has them, later by the count-in. The voicings have the two
/// tracks of the hands to themselves, so that they can be muted, both or one, and played by whoever practises. For that there
/// are the guide tones, third and seventh of each chord in the tenor: they keep the harmony in the air while the hands are
/// muted. A file cannot say that a track is muted, so they sound always, softer than everything else and in short strokes, which
/// stay under the voicings: they play the thirds and sevenths on which those are built. They are one track, since one without
/// the other is of no use. Every track is whole without the others.
///
/// The bass plays E1 to G3: the root, or the bass that the symbol names, at every chord and in every bar of it; then fifth and
/// third, and in four a semitone beside what comes next. Where no chord sounds, bass and guide tones rest. Patterns are
/// chosen by metre: 4/4, 2/2, 3/4, 2/4, 5/4, 6/8 and 12/8; others get one stroke a beat. All of that is common practice, no
/// source; the numbers of programs and percussion keys are those of General MIDI 1 (MIDI Association, RP-003).
///
/// # Errors
///
/// As [`write_midi`](crate::sheet::write_midi); [`Error::is_range`] for more than two bars to count in, or no pass;
/// [`Error::is_limit`] for more than a million notes, or 2²⁸ − 1 ticks.
///
/// # Complexity
///
/// Linear in notes, chords and strokes, sorting apart.
///
/// # Example
///
/// ```
/// use overshell::rules::RuleSet;
/// use overshell::search::{ArrangeOptions, arrange};
/// use overshell::sheet::{BassLine, PlayAlong, ReadOptions, read, write_play_along};
///
/// let sheet = read(b"| Dm7 G7 | Cmaj7 |\n", &ReadOptions::default())?.sheet;
/// let arrangement = arrange(&sheet.progression(), RuleSet::standard(), ArrangeOptions::default())?;
/// let options = PlayAlong { bass: BassLine::Four, ..PlayAlong::default() };
/// let bytes = write_play_along(&sheet, &arrangement, &options)?;
/// assert_eq!(bytes[..14], *b"MThd\0\0\0\x06\0\x01\0\x07\x01\xE0"); // format 1, seven tracks, 480 ticks
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn write_play_along(
    sheet: &LeadSheet,
    arrangement: &Arrangement,
    options: &PlayAlong,
) -> Result<Vec<u8>> {
    let octaves = check(sheet, arrangement)?;
    if options.count_in > MOST_BARS_COUNTED {
        let message = format!("{} bars to count in, expected 0 to {MOST_BARS_COUNTED}", options.count_in);
        return Err(Error::new(Kind::Range, message));
    }
    if options.passes == 0 {
        return Err(Error::new(Kind::Range, "0 passes, expected at least 1"));
    }
    let bars = ruled(sheet, options);
    within_limits(sheet, &bars, options)?;
    let course = Course {
        lead: ticks(drums::count_in(&bars, options.count_in)),
        passes: options.passes,
        ..Course::once(sheet)
    };
    let (once, end) = (course.length, course.end());
    let mut tracks = vec![conductor(sheet, course)];
    for (player, notes) in ON_THE_PAGE.into_iter().zip(tune::tune(sheet, arrangement, octaves)?) {
        tracks.push(track(player, &course.repeated(&notes), end));
    }
    let bass = bass::bass(sheet, arrangement, &bars, options.bass);
    let guides = comping::comping(sheet, arrangement, &bars);
    for (player, notes) in [(BASS, bass), (GUIDE_TONES, guides)] {
        tracks.push(track(player, &course.repeated(&fitted(notes, once)), end));
    }
    let drums = drums::drums(&bars, options.count_in, course);
    tracks.push(track(DRUMS, &fitted(drums, end), end));
    bytes(tracks)
}

/// Refuses what would not fit into memory or file, before anything is made.
fn within_limits(sheet: &LeadSheet, bars: &[Ruled], options: &PlayAlong) -> Result<()> {
    let passes = u64::from(options.passes);
    let ticks =
        u64::from(ticks(sheet.end())) * passes + u64::from(ticks(drums::count_in(bars, options.count_in)));
    if ticks > LONGEST {
        let message = format!("the file would last {ticks} ticks, the limit is {LONGEST}");
        return Err(Error::new(Kind::Limit, message).with_help("play the tune fewer times"));
    }
    let count = |of: usize| u64::try_from(of).unwrap_or(u64::MAX);
    // The hands have at most ten keys; each chord has a stroke of the bass and one of two guide tones at its start.
    let on_page = count(sheet.notes.len()).saturating_add(count(sheet.chords.len()).saturating_mul(13));
    let strokes = bars.iter().fold(0u64, |sum, bar| sum.saturating_add(bar.most()));
    let notes = on_page.saturating_add(strokes).saturating_mul(passes);
    if notes > MOST_NOTES {
        let message = format!("the file would have up to {notes} notes, the limit is {MOST_NOTES}");
        return Err(Error::new(Kind::Limit, message).with_help("play the tune fewer times, or without drums"));
    }
    Ok(())
}
