//! How wide a picture is shown.

use crate::error::{Error, Kind, Result};

/// The width of a picture on paper, in whole millimetres, `40..=1000`.
///
/// # Example
///
/// ```
/// use overshell::picture::Width;
///
/// let narrow: Width = "60mm".parse()?;
/// assert_eq!(narrow, Width::new(60)?);
/// assert!("6cm".parse::<Width>().unwrap_err().is_range());
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub struct Width(u16);

impl Width {
    /// The narrowest, in millimetres.
    const NARROWEST: u16 = 40;
    /// The widest, in millimetres.
    const WIDEST: u16 = 1_000;

    /// So many millimetres.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`] outside `40..=1000`.
    pub fn new(millimetres: u16) -> Result<Self> {
        if (Self::NARROWEST..=Self::WIDEST).contains(&millimetres) {
            return Ok(Self(millimetres));
        }
        Err(Error::new(
            Kind::Range,
            format!("a width of `{millimetres}mm` is out of range, expected 40mm to 1000mm"),
        )
        .with_help("a column of a book is `60mm` wide, a page `180mm`"))
    }

    /// A width known to be one.
    pub(super) const fn constant(millimetres: u16) -> Self {
        assert!(millimetres >= Self::NARROWEST && millimetres <= Self::WIDEST, "a width out of range");
        Self(millimetres)
    }

    /// The millimetres, `40..=1000`.
    pub const fn millimetres(self) -> u16 {
        self.0
    }
}

impl std::fmt::Display for Width {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(&format!("{}mm", self.0))
    }
}

impl std::str::FromStr for Width {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        let number = text.strip_suffix("mm").unwrap_or(text);
        match number.parse() {
            Ok(millimetres) if !number.starts_with('+') => Self::new(millimetres),
            _ => Err(Error::new(Kind::Range, format!("`{}` is not a width", crate::pitch::shown(text)))
                .with_help("write whole millimetres, such as `60mm`")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_widths_roundtrip_or_are_refused() {
        for millimetres in 0..=u16::MAX {
            match Width::new(millimetres) {
                Ok(width) => {
                    assert_eq!(width.to_string().parse::<Width>().unwrap(), width);
                    assert_eq!(millimetres.to_string().parse::<Width>().unwrap().millimetres(), millimetres);
                }
                Err(error) => assert!(error.is_range() && !(40..=1_000).contains(&millimetres)),
            }
        }
    }

    #[test]
    fn err_widths() {
        for text in ["", "mm", "6cm", "60 mm", "-60mm", "+60mm", "60.5mm", "70000mm", "é"] {
            assert!(text.parse::<Width>().unwrap_err().is_range(), "{text}");
        }
        insta::assert_snapshot!(Width::new(39).unwrap_err().report(), @"
        error: a width of `39mm` is out of range, expected 40mm to 1000mm
        help: a column of a book is `60mm` wide, a page `180mm`
        ");
    }
}
