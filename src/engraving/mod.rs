//! Pages of music as pictures, drawn by the engraver Verovio. Behind the feature `engraving`, which builds it from source: that
//! takes a compiler for C++20 and many minutes, once.
//!
//! | what | from | by |
//! |---|---|---|
//! | SVG, one for each page | a text in MusicXML, as [`sheet`](crate::sheet) writes it | [`engrave`] |
//! | PNG | a page | [`Engraved::png`] |
//! | PDF, all pages | the pages | [`Engraved::pdf`] |
//!
//! Lines begin where the page says so. Verovio is under the LGPL: a program that is linked with it and passed on must say so and let
//! others link it with another version.
//!
//! It is not: a check of the music. What the page says is drawn.

mod lettering;

use self::lettering::lettered;
use crate::error::{Error, Kind, Result};

/// Paper on which pages are laid out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 210 by 297 mm.
    #[default]
    A4,
    /// 8.5 by 11 inches.
    Letter,
}

impl Paper {
    /// Width and height in tenths of a millimetre.
    pub const fn size(self) -> (u32, u32) {
        match self {
            Self::A4 => (2_100, 2_970),
            Self::Letter => (2_159, 2_794),
        }
    }
}

impl std::str::FromStr for Paper {
    type Err = Error;

    /// Reads `a4` or `letter`.
    fn from_str(text: &str) -> Result<Self> {
        match text {
            "a4" => Ok(Self::A4),
            "letter" => Ok(Self::Letter),
            _ => Err(Error::new(Kind::Range, format!("`{}` is no paper", crate::pitch::shown(text)))
                .with_help("say `a4` or `letter`")),
        }
    }
}

/// The margin of a page, in tenths of a millimetre (common practice, no source).
const MARGIN: u32 = 120;

/// How pages are laid out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct EngravingOptions {
    /// The paper.
    pub paper: Paper,
    /// The size of the music in percent of the engraver's own, `20..=200`. Default 70: a staff is then 5 mm high. At 95 it is 7 mm
    /// high, but words below two chords of a bar meet, since the engraver prints them larger than the page asks (looked at).
    pub percent: u16,
}

impl Default for EngravingOptions {
    fn default() -> Self {
        Self { paper: Paper::A4, percent: 70 }
    }
}

/// Pages that have been engraved: at least one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Engraved {
    pages: Vec<String>,
    paper: Paper,
}

/// Engraves a text in MusicXML.
///
/// # Errors
///
/// [`Error::is_sheet`] where the engraver makes nothing of the text, [`Error::is_range`] where the size is out of range.
///
/// # Example
///
/// ```
/// use overshell::engraving::{EngravingOptions, engrave};
/// use overshell::sheet::{ReadOptions, read, write_lead_musicxml};
///
/// let tune = "title: Two Bars\nkey: C\nmetre: 4/4\n\n| Dm7 G7 | Cmaj7 |\n> F5*2 B4*2 | E5*4 |\n";
/// let sheet = read(tune.as_bytes(), &ReadOptions::default())?.sheet;
/// let engraved = engrave(&write_lead_musicxml(&sheet)?, &EngravingOptions::default())?;
/// assert_eq!(engraved.svgs().len(), 1);
/// assert!(engraved.svgs()[0].starts_with("<svg "));
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn engrave(musicxml: &str, options: &EngravingOptions) -> Result<Engraved> {
    let EngravingOptions { paper, percent } = *options;
    if !(20..=200).contains(&percent) {
        return Err(Error::new(Kind::Range, format!("a size of {percent} percent, expected 20 to 200"))
            .with_help("70 suits A4"));
    }
    let (width, height) = paper.size();
    // What is wrong is said by the error alone.
    verovio::set_log_level(verovio::LogLevel::Off);
    let mut engraver = verovio::Toolkit::new();
    // Margins are not scaled with the music, and 500 is the engraver's most.
    let margin = (MARGIN * 100 / u32::from(percent)).min(500);
    let settings = format!(
        r#"{{"pageWidth": {width}, "pageHeight": {height}, "scale": {percent}, "scaleToPageSize": true, "mmOutput": true,
        "breaks": "line", "footer": "none", "pageMarginTop": {margin}, "pageMarginBottom": {margin},
        "pageMarginLeft": {margin}, "pageMarginRight": {margin}}}"#
    );
    engraver.set_options(&settings).map_err(refused)?;
    engraver.load_data(musicxml).map_err(refused)?;
    let of_paper = [width, height].map(|tenths| format!("{}.{}mm", tenths / 10, tenths % 10));
    let pages = (1..=engraver.page_count())
        .map(|page| sized(&engraver.render_to_svg(page).map_err(refused)?, &of_paper));
    let pages: Vec<String> = pages.collect::<Result<_>>()?;
    if pages.is_empty() {
        return Err(refused(verovio::Error::LoadFailed));
    }
    Ok(Engraved { pages, paper })
}

impl Engraved {
    /// The pages as SVG, in millimetres.
    pub fn svgs(&self) -> &[String] {
        &self.pages
    }

    /// A page, counted from 0, as PNG, its text in a font of this machine.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`] where there is no such page, or where the dots per inch are not `20..=1_200`; [`Error::is_no_answer`] where
    /// no font is installed; [`Error::is_sheet`] where a text has a sign for which there are no letters.
    pub fn png(&self, page: usize, dots_per_inch: u16) -> Result<Vec<u8>> {
        /// A pixel of SVG is so much of an inch (CSS Values and Units 3, section 5.2).
        const PIXELS_PER_INCH: f32 = 96.0;
        let Some(svg) = self.pages.get(page) else {
            let message = format!("no page {}, expected one of {}", page.saturating_add(1), self.pages.len());
            return Err(Error::new(Kind::Range, message).with_help("pages are counted from the first"));
        };
        if !(20..=1_200).contains(&dots_per_inch) {
            let message = format!("{dots_per_inch} dots per inch, expected 20 to 1 200");
            return Err(Error::new(Kind::Range, message).with_help("150 suits a screen, 300 print"));
        }
        verovio::raster::svg_to_png(&lettered(svg)?, f32::from(dots_per_inch) / PIXELS_PER_INCH)
            .map_err(refused)
    }

    /// All pages as one PDF, their text in a font of this machine.
    ///
    /// # Errors
    ///
    /// Those of [`Engraved::png`] that are about fonts and signs.
    pub fn pdf(&self) -> Result<Vec<u8>> {
        // A point is 1/72 of an inch, an inch 254 tenths of a millimetre; here a number without unit is a point.
        let (width, height) = self.paper.size();
        let points = [width, height].map(|tenths| format!("{:.2}", f64::from(tenths) * 72.0 / 254.0));
        let pages = self.pages.iter().map(|svg| sized(&lettered(svg)?, &points));
        verovio::raster::svgs_to_pdf(&pages.collect::<Result<Vec<_>>>()?).map_err(refused)
    }
}

/// A page of this width and height, which the engraver rounds.
fn sized(svg: &str, [width, height]: &[String; 2]) -> Result<String> {
    let rest = svg.strip_prefix("<svg width=\"").and_then(|rest| rest.split_once("\" height=\""));
    let rest = rest.and_then(|(_, rest)| rest.split_once('"'));
    let (_, rest) = rest.ok_or_else(|| refused(verovio::Error::LoadFailed))?;
    Ok(format!("<svg width=\"{width}\" height=\"{height}\"{rest}"))
}

fn refused(error: verovio::Error) -> Error {
    Error::new(Kind::Sheet, format!("the engraver makes no page of this: {error}"))
        .with_help("give it a whole text in MusicXML, such as `write_musicxml` makes")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::RuleSet;
    use crate::search::arrange;
    use crate::sheet::{ReadOptions, read, write_musicxml};

    fn demo() -> String {
        let tune = include_bytes!("../../examples/tunes/nine-lamps.musicxml");
        let sheet = read(tune, &ReadOptions::default()).unwrap().sheet;
        let arranged = arrange(&sheet.progression(), RuleSet::standard(), Default::default()).unwrap();
        write_musicxml(&sheet, &arranged).unwrap()
    }

    /// As many notes are drawn as are written, on paper of the size that was asked for.
    #[test]
    fn ok_a_tune_on_both_papers() {
        let page = demo();
        let written = page.matches("<note").count() - page.matches("<rest").count();
        for (paper, size) in [
            (Paper::A4, "width=\"210.0mm\" height=\"297.0mm\""),
            (Paper::Letter, "width=\"215.9mm\" height=\"279.4mm\""),
        ] {
            let engraved = engrave(&page, &EngravingOptions { paper, ..Default::default() }).unwrap();
            let drawn: usize = engraved.svgs().iter().map(|svg| svg.matches("class=\"note\"").count()).sum();
            assert_eq!(drawn, written);
            assert!(engraved.svgs().iter().all(|svg| svg.contains(size)), "{}", &engraved.svgs()[0][..400]);
            assert!(engraved.png(0, 50).unwrap().starts_with(b"\x89PNG"));
            let pdf = engraved.pdf().unwrap();
            assert!(pdf.starts_with(b"%PDF") && pdf.ends_with(b"%%EOF"));
        }
    }

    #[test]
    fn err_nothing_to_engrave_and_out_of_range() {
        for text in ["", "x", "<score-partwise/>", "<a><b></a>"] {
            assert!(
                engrave(text, &EngravingOptions::default()).is_err_and(|error| error.is_sheet()),
                "{text}"
            );
        }
        let page = demo();
        for percent in [0, 19, 201, u16::MAX] {
            let options = EngravingOptions { percent, ..Default::default() };
            assert!(engrave(&page, &options).is_err_and(|error| error.is_range() && error.help().is_some()));
        }
        let engraved = engrave(&page, &EngravingOptions::default()).unwrap();
        for (page, dots) in [(usize::MAX, 96), (engraved.svgs().len(), 96), (0, 0), (0, 1_201)] {
            assert!(engraved.png(page, dots).is_err_and(|error| error.is_range() && error.help().is_some()));
        }
        assert!("b5".parse::<Paper>().unwrap_err().help().is_some());
    }
}
