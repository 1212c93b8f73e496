//! What `arrange` is asked, and how that is read.

use std::path::PathBuf;

use clap::Parser;
use overshell::chord::Reharmonisation;
use overshell::search::{ArrangeOptions, Instead, Octave, Pin};
use overshell::sheet::{BassLine, Drums, PageOptions, PlayAlong, ReadOptions};
use overshell::voicing::HandSize;

use crate::key::InKeys;
use crate::option;

/// Arranges lead sheets for two hands: a shell in the left, a triad under the melody in the right
#[derive(Parser)]
#[command(
    after_help = "Exit status: 0 all went well; 1 some tunes of a folder could not be arranged, the others are written; \
                        2 nothing could be done"
)]
pub(crate) struct Arguments {
    /// The tune: MusicXML (plain or compressed), ABC or a chart, told apart by content; or a folder, whose
    /// files .musicxml, .mxl, .xml, .abc and .chart are all arranged; without it, a demo tune
    pub(crate) tune: Option<PathBuf>,
    /// The folder for the results
    #[arg(long, value_name = "DIR", default_value = "out")]
    pub(crate) out: PathBuf,
    /// A rule set that ships, a rule file, or a folder of them
    #[arg(long, value_name = "SET_OR_FILE", default_value = "standard")]
    pub(crate) rules: String,
    /// What the hands reach: small, medium, large, or a measured span such as 205mm
    #[arg(long, default_value_t, value_parser = option::value::<HandSize>)]
    pub(crate) hand: HandSize,
    /// The octave of the melody: 0 as written, 1 an octave higher, auto whichever comes out better
    #[arg(long, default_value = "auto", value_parser = option::value::<Octave>)]
    pub(crate) octave: Octave,
    /// Move the tune to another key first, by its tonic, such as Eb; or `all` for a result in each of the twelve keys. Results are
    /// named by their key
    #[arg(long, value_name = "KEY", value_parser = InKeys::read)]
    pub(crate) key: Option<InKeys>,
    /// Somebody else plays the bass
    #[arg(long)]
    pub(crate) bass_player: bool,
    /// Play repeats, endings and jumps out: all results have the bars in the order in which they are played, each time with voicings of its
    /// own; without it, the page keeps its signs and one voicing for each chord, led as played
    #[arg(long)]
    pub(crate) as_played: bool,
    /// Lead voicings in the order of the page, as if there were no repeats
    #[arg(long, conflicts_with = "as_played")]
    pub(crate) as_written: bool,
    /// Leave out on the page which chord sounds, where that is another one than written
    #[arg(long)]
    pub(crate) no_sounding: bool,
    /// Write a track with bass, drums and a count-in too, the bass in two or in four
    #[arg(long, value_name = "BASS", num_args = 0..=1, default_missing_value = "two", value_parser = option::value::<BassLine>)]
    pub(crate) play_along: Option<BassLine>,
    /// Bars of clicks before the track to play along with, 0 to 2
    #[arg(long, value_name = "BARS", default_value_t = PlayAlong::default().count_in, value_parser = clap::value_parser!(u8).range(0..=2), requires = "play_along")]
    pub(crate) count_in: u8,
    /// How many times the track plays the tune
    #[arg(long, value_name = "TIMES", default_value_t = PlayAlong::default().passes, value_parser = clap::value_parser!(u8).range(1..), requires = "play_along")]
    pub(crate) passes: u8,
    /// What the drums of the track play: ride, beats or silent
    #[arg(long, value_name = "DRUMS", default_value = "ride", value_parser = option::value::<Drums>, requires = "play_along")]
    pub(crate) drums: Drums,
    /// The band of the track plays even eighths and does not swing
    #[arg(long, requires = "play_along")]
    pub(crate) straight: bool,
    /// How else a dominant may be played where that comes out better, separated by commas: ii-V, subV, "ii-V of subV", sus-V, sus
    #[arg(long, value_name = "WAYS", value_delimiter = ',', value_parser = option::value::<Reharmonisation>)]
    pub(crate) instead: Vec<Reharmonisation>,
    /// What playing a dominant otherwise costs, in points
    #[arg(long, value_name = "POINTS", default_value_t = Instead::USUAL_TOLL)]
    pub(crate) toll: u16,
    /// Pin what a chord, counted from 1, plays: "5 structure II", "5 avoid shell 1 3 7", "5 C3 Bb3 | F#4 A4 D5"; may be repeated
    #[arg(long, value_name = "CHORD PIN", value_parser = pin)]
    pub(crate) pin: Vec<(usize, Pin)>,
    /// How many arrangements, the best first
    #[arg(long, value_name = "COUNT", default_value_t = 1)]
    pub(crate) best: usize,
    /// In how many chords each of them differs from all before it
    #[arg(long, value_name = "CHORDS", default_value_t = 1)]
    pub(crate) differ: usize,
    /// Count chords with another upper structure, rather than those with another voicing
    #[arg(long)]
    pub(crate) structures: bool,
    /// Say why a chord, counted from 1, is played so and not as in the best arrangement that plays it otherwise; may be repeated
    #[arg(long, value_name = "CHORD", value_parser = place)]
    pub(crate) why: Vec<usize>,
    /// Stop at the first thing in the tune that cannot be read
    #[arg(long)]
    pub(crate) strict: bool,
}

impl Arguments {
    pub(crate) fn reading(&self) -> ReadOptions {
        ReadOptions { strict: self.strict, ..ReadOptions::default() }
    }

    pub(crate) fn page(&self) -> PageOptions {
        PageOptions { sounding: !self.no_sounding }
    }

    /// The band, where a track to play along with is asked for.
    pub(crate) fn band(&self) -> Option<PlayAlong> {
        let band = |bass| PlayAlong {
            count_in: self.count_in,
            bass,
            drums: self.drums,
            swing: !self.straight,
            passes: self.passes,
        };
        self.play_along.map(band)
    }

    pub(crate) fn arranging(&self) -> ArrangeOptions {
        ArrangeOptions {
            hand: self.hand,
            octave: self.octave,
            bass_player: self.bass_player,
            instead: Instead::of(self.instead.iter().copied()).with_toll(self.toll),
            ..ArrangeOptions::default()
        }
    }
}

/// Reads a chord's place.
fn place(text: &str) -> Result<usize, String> {
    let place = text.parse().ok().filter(|place| *place > 0);
    place.ok_or_else(|| format!("`{text}` is not the place of a chord, counted from 1"))
}

/// Reads a chord's place and what is pinned there.
fn pin(text: &str) -> Result<(usize, Pin), String> {
    let (chord, pin) =
        text.trim().split_once(' ').ok_or("expected the chord's place and what is pinned there")?;
    let place = place(chord)?;
    let pin = option::value(pin)?;
    Ok((place, pin))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn band(options: &[&str]) -> Option<PlayAlong> {
        Arguments::try_parse_from([&["arrange"], options].concat()).unwrap().band()
    }

    #[test]
    fn ok_the_band_as_it_is_asked_for() {
        assert_eq!(band(&[]), None);
        assert_eq!(band(&["--play-along"]), Some(PlayAlong::default()));
        let asked =
            ["--play-along", "four", "--count-in", "2", "--passes", "3", "--drums", "beats", "--straight"];
        let expected =
            PlayAlong { count_in: 2, bass: BassLine::Four, drums: Drums::Beats, swing: false, passes: 3 };
        assert_eq!(band(&asked), Some(expected));
    }

    #[test]
    fn err_a_band_that_cannot_be() {
        for options in [
            &["--play-along", "--count-in", "3"][..],
            &["--play-along", "--passes", "0"],
            &["--play-along", "--passes", "256"],
            &["--play-along", "--drums", "rock"],
            // Without the track these say nothing.
            &["--count-in", "2"],
            &["--passes", "2"],
            &["--drums", "beats"],
            &["--straight"],
        ] {
            assert!(Arguments::try_parse_from([&["arrange"], options].concat()).is_err(), "{options:?}");
        }
    }
}
