//! An arrangement as a Standard MIDI File (MIDI Association, RP-001), and the same with a band to play along with.

mod conductor;
mod play_along;
mod struck;
mod tune;

use midly::num::u15;
use midly::{Format, Header, Smf, Timing, Track};

use self::conductor::{Course, conductor};
use self::struck::{Player, track};
use super::line::check;
use crate::error::{Error, Kind, Result};
use crate::search::Arrangement;
use crate::sheet::LeadSheet;

pub use play_along::{BassLine, Drums, PlayAlong, write_play_along};

/// Ticks of a quarter in the file: the usual resolution, a whole part of
/// [`TICKS_PER_QUARTER`](crate::sheet::TICKS_PER_QUARTER).
const RESOLUTION: u16 = 480;
/// The acoustic grand piano, program 1 of General MIDI (MIDI Association, RP-003).
const PIANO: Option<u8> = Some(0);
/// The parts that are on the page.
const ON_THE_PAGE: [Player; 3] = [
    Player { name: "Melody", channel: 0, program: PIANO },
    Player { name: "Right hand", channel: 1, program: PIANO },
    Player { name: "Left hand", channel: 2, program: PIANO },
];

/// Writes a tune for two hands as a Standard MIDI File of format 1 with 480 ticks in a quarter: tempo, metres and
/// keys first, then melody, right hand (without the melody's note) and left hand on channels 1 to 3. Ties are one
/// note, repeats are not unfolded.
///
/// # Errors
///
/// As [`write_musicxml`](crate::sheet::write_musicxml), notes below C0 apart.
///
/// # Example
///
/// ```
/// use overshell::search::Arrangement;
/// use overshell::sheet::{ReadOptions, read, write_midi};
///
/// let xml = r#"<score-partwise><part-list/><part id="P1"><measure number="1">
///   <attributes><divisions>1</divisions></attributes>
///   <note><pitch><step>E</step><octave>5</octave></pitch><duration>4</duration></note>
/// </measure></part></score-partwise>"#;
/// let sheet = read(xml.as_bytes(), &ReadOptions::default())?.sheet;
/// let bytes = write_midi(&sheet, &Arrangement { chords: vec![], octave_shift: 0, cost: 0 })?;
/// assert_eq!(&bytes[..4], b"MThd");
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn write_midi(sheet: &LeadSheet, arrangement: &Arrangement) -> Result<Vec<u8>> {
    let octaves = check(sheet, arrangement)?;
    let course = Course::once(sheet);
    let mut tracks = vec![conductor(sheet, course)];
    let parts = tune::tune(sheet, arrangement, octaves)?;
    tracks.extend(
        ON_THE_PAGE.into_iter().zip(&parts).map(|(player, notes)| track(player, notes, course.end())),
    );
    bytes(tracks)
}

/// The tracks as a file of format 1.
fn bytes(tracks: Vec<Track<'_>>) -> Result<Vec<u8>> {
    let mut smf = Smf::new(Header::new(Format::Parallel, Timing::Metrical(u15::from(RESOLUTION))));
    smf.tracks = tracks;
    let mut bytes = Vec::new();
    smf.write_std(&mut bytes)
        .map_err(|error| Error::new(Kind::Sheet, format!("the MIDI file is too large: {error}")))?;
    Ok(bytes)
}
