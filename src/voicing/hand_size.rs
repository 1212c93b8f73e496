//! How large a hand is, and so how far it reaches.

use super::Keyboard;
use crate::error::{Error, Excerpt, Kind, Result};
use crate::pitch::shown;

/// How large the hands are, for what they reach. Medium where nobody says.
///
/// Read and written as `small`, `medium`, `large`, or in millimetres: `205mm` is the largest span between thumb and
/// little finger on a standard keyboard, `205mm/152mm` the same on a keyboard with an octave of 152 mm. At most one
/// decimal.
///
/// Source: Balliauw, Herremans, Palhazi Cuervo & Sörensen, *International Transactions in Operational Research* 24
/// (2017), 509-535: thumb and little finger reach an octave, a ninth, a tenth at most; comfortable is one white key
/// less.
///
/// # Example
///
/// ```
/// use overshell::voicing::{HandSize, HandSpan};
///
/// assert_eq!(HandSize::default(), HandSize::Medium);
/// let narrow: HandSize = "205mm/152mm".parse()?;
/// assert_eq!(narrow, HandSize::Custom(HandSpan::new(2_050, 1_520)?));
/// // A tenth is out of reach on standard keys, but not on these.
/// assert!("205mm".parse::<HandSize>()?.keyboard().distance(60, 76) > 20_500);
/// assert!(narrow.keyboard().distance(60, 76) <= narrow.largest());
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq, Hash)]
pub enum HandSize {
    /// An octave at most, a seventh in comfort.
    Small,
    /// A ninth at most, an octave in comfort.
    #[default]
    Medium,
    /// A tenth at most, a ninth in comfort.
    Large,
    /// A measured hand, on a keyboard of any width.
    Custom(HandSpan),
}

impl HandSize {
    /// The sizes that have a name.
    pub const NAMES: [(&'static str, Self); 3] =
        [("small", Self::Small), ("medium", Self::Medium), ("large", Self::Large)];

    /// The keyboard under the hand: the standard one for the named sizes.
    pub const fn keyboard(self) -> Keyboard {
        match self {
            Self::Custom(span) => span.keyboard,
            _ => Keyboard::STANDARD,
        }
    }

    /// The widest that thumb and little finger reach, in hundredths of a millimetre between key centres.
    ///
    /// ```
    /// use overshell::voicing::HandSize;
    /// assert_eq!(HandSize::Small.largest(), 16_450);
    /// ```
    pub fn largest(self) -> u32 {
        let white_keys = match self {
            Self::Small => 7,
            Self::Medium => 8,
            Self::Large => 9,
            Self::Custom(span) => return 10 * u32::from(span.largest),
        };
        white_keys * self.white_key()
    }

    /// What thumb and little finger reach in comfort, in hundredths of a millimetre between key centres: one white key
    /// less than [`HandSize::largest`].
    pub fn comfortable(self) -> u32 {
        self.largest().saturating_sub(self.white_key())
    }

    /// From C to D.
    fn white_key(self) -> u32 {
        self.keyboard().distance(0, 2)
    }
}

/// A measured hand: the largest span between thumb and little finger, and the width of the octave on its keyboard.
///
/// The span is taken to be the distance between the centres of two keys that the hand just reaches. A span measured
/// from tip to tip on a table is about 5 mm more: 6.7, 7.6 and 8.5 inches are quoted for the octave, ninth and tenth
/// (a reader's account of Boyle, Boyle & Booker, 12th Australasian Piano Pedagogy Conference, 2015), where the centres
/// are 164.5, 188 and 211.5 mm apart.
///
/// # Example
///
/// ```
/// use overshell::voicing::HandSpan;
///
/// let span = HandSpan::new(2_050, 1_645)?;
/// assert_eq!((span.largest(), span.octave()), (2_050, 1_645));
/// assert!(HandSpan::new(20, 1_645).unwrap_err().is_range());
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
pub struct HandSpan {
    largest: u16,
    keyboard: Keyboard,
}

impl HandSpan {
    /// The hand with this largest span (`1000..=3500`) over an octave of this width (`1000..=2500`), both in tenths of
    /// a millimetre. Spans of 163 to 274 mm were measured in adults (Boyle et al. 2015); there is room around them.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`] for other widths.
    pub fn new(largest: u16, octave: u16) -> Result<Self> {
        if !(1_000..=3_500).contains(&largest) {
            let found = Millimetres(largest);
            return Err(Error::new(
                Kind::Range,
                format!("a largest span of `{found}` is out of range, expected 100mm to 350mm"),
            )
            .with_help("measure from thumb to little finger in millimetres: a ninth on a standard keyboard is `188mm`"));
        }
        Ok(Self { largest, keyboard: Keyboard::with_octave(octave)? })
    }

    /// The largest span between thumb and little finger, in tenths of a millimetre, `1000..=3500`.
    pub const fn largest(self) -> u16 {
        self.largest
    }

    /// The width of the octave, in tenths of a millimetre, `1000..=2500`.
    pub const fn octave(self) -> u16 {
        self.keyboard.octave()
    }
}

/// Tenths of a millimetre, as read and written: `205mm`, `164.5mm`.
pub(super) struct Millimetres(pub(super) u16);

impl Millimetres {
    /// `None` where the text is anything else, has a second decimal or more digits than a width needs.
    fn read(text: &str) -> Option<Self> {
        let number = text.strip_suffix("mm")?;
        let (whole, tenths) = number.split_once('.').unwrap_or((number, "0"));
        let digits = |text: &str, most: usize| {
            (1..=most).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit())
        };
        if !digits(whole, 4) || !digits(tenths, 1) {
            return None;
        }
        let tenths = whole.parse::<u16>().ok()?.checked_mul(10)?.checked_add(tenths.parse().ok()?)?;
        Some(Self(tenths))
    }
}

impl std::fmt::Display for Millimetres {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match (self.0 / 10, self.0 % 10) {
            (whole, 0) => write!(f, "{whole}mm"),
            (whole, tenths) => write!(f, "{whole}.{tenths}mm"),
        }
    }
}

impl std::fmt::Display for HandSize {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Custom(span) if span.keyboard == Keyboard::STANDARD => {
                f.pad(&Millimetres(span.largest).to_string())
            }
            Self::Custom(span) => {
                f.pad(&format!("{}/{}", Millimetres(span.largest), Millimetres(span.octave())))
            }
            named => f.pad(Self::NAMES.iter().find(|(_, size)| size == named).map_or("", |(name, _)| *name)),
        }
    }
}

impl std::str::FromStr for HandSize {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        if let Some((_, size)) = Self::NAMES.iter().find(|(name, _)| *name == text) {
            return Ok(*size);
        }
        let (largest, octave) = match text.split_once('/') {
            Some((largest, octave)) => (largest, Some(octave)),
            None => (text, None),
        };
        let standard = Millimetres(Keyboard::STANDARD.octave());
        let read = Millimetres::read(largest).zip(octave.map_or(Some(standard), Millimetres::read));
        let Some((Millimetres(largest), Millimetres(octave))) = read else {
            return Err(not_a_size(text));
        };
        HandSpan::new(largest, octave)
            .map(Self::Custom)
            .map_err(|error| error.with_excerpt(Excerpt::of_line(text, 0, usize::MAX)))
    }
}

fn not_a_size(text: &str) -> Error {
    let names = HandSize::NAMES.iter().map(|(name, _)| *name);
    let meant = crate::error::nearest(text, names)
        .map_or_else(String::new, |name| format!("did you mean `{name}`? "));
    Error::new(Kind::Range, format!("`{}` is not a size of hands, expected a name or millimetres", shown(text)))
        .with_excerpt(Excerpt::of_line(text, 0, usize::MAX))
        .with_help(format!(
            "{meant}the sizes are `small`, `medium` and `large`, or a largest span such as `205mm`, or `205mm/152mm` \
             on an octave of 152 mm"
        ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn size(text: &str) -> HandSize {
        text.parse().unwrap()
    }

    #[test]
    fn ok_named_sizes_are_measured_ones() {
        for ((name, named), millimetres) in HandSize::NAMES.into_iter().zip(["164.5mm", "188mm", "211.5mm"]) {
            let measured = size(millimetres);
            assert_eq!(size(name), named);
            assert_eq!(named.to_string(), name);
            assert_eq!(format!("{named:>8}"), format!("{name:>8}"));
            assert_eq!(named.largest(), measured.largest());
            assert_eq!(named.comfortable(), measured.comfortable());
            assert_eq!(named.keyboard(), measured.keyboard());
        }
    }

    #[test]
    fn ok_millimetres() {
        for (text, largest, octave) in [
            ("205mm", 2_050, 1_645),
            ("205.5mm", 2_055, 1_645),
            ("205mm/152mm", 2_050, 1_520),
            ("100mm/250mm", 1_000, 2_500),
            ("350mm/100.1mm", 3_500, 1_001),
        ] {
            assert_eq!(size(text), HandSize::Custom(HandSpan::new(largest, octave).unwrap()));
            assert_eq!(size(text).to_string(), text);
        }
        assert_eq!(size("205.0mm/164.5mm").to_string(), "205mm");
        let json = serde_json::to_string(&[HandSize::Medium, size("205mm/152mm")]).unwrap();
        assert_eq!(json, r#"["medium","205mm/152mm"]"#);
        let back: [HandSize; 2] = serde_json::from_str(&json).unwrap();
        assert_eq!(back, [HandSize::Medium, size("205mm/152mm")]);
    }

    #[test]
    fn err_sizes() {
        let refused = |text: &str| text.parse::<HandSize>().unwrap_err().report();
        insta::assert_snapshot!(refused("meduim"), @"
        error: `meduim` is not a size of hands, expected a name or millimetres
          meduim
          ^^^^^^
        help: did you mean `medium`? the sizes are `small`, `medium` and `large`, or a largest span such as `205mm`, or `205mm/152mm` on an octave of 152 mm
        ");
        insta::assert_snapshot!(refused("99mm"), @"
        error: a largest span of `99mm` is out of range, expected 100mm to 350mm
          99mm
          ^^^^
        help: measure from thumb to little finger in millimetres: a ninth on a standard keyboard is `188mm`
        ");
        insta::assert_snapshot!(refused("205mm/50mm"), @"
        error: an octave of `50mm` is out of range, expected 100mm to 250mm
          205mm/50mm
          ^^^^^^^^^^
        help: the octave of a standard keyboard is `164.5mm` wide, of a narrow one `152mm` or `140mm`
        ");
        for text in [
            "",
            "mm",
            "205",
            "205 mm",
            "205,5mm",
            "205.55mm",
            "205.mm",
            ".5mm",
            "+205mm",
            "205mm/",
            "/152mm",
            "205mm/152",
            "205mm/152mm/1mm",
            "20500mm",
            "9999mm",
            "Medium",
            "205MM",
            "２０５mm",
            "\u{0}",
        ] {
            assert!(text.parse::<HandSize>().unwrap_err().is_range(), "{text}");
            assert!(text.parse::<HandSize>().unwrap_err().help().is_some(), "{text}");
        }
    }

    proptest! {
        #[test]
        fn prop_sizes_roundtrip(largest in 1_000_u16..=3_500, octave in 1_000_u16..=2_500) {
            let custom = HandSize::Custom(HandSpan::new(largest, octave).unwrap());
            prop_assert_eq!(size(&custom.to_string()), custom);
            prop_assert_eq!(custom.largest(), 10 * u32::from(largest));
            let white = custom.keyboard().distance(60, 62);
            prop_assert_eq!(custom.comfortable(), custom.largest() - white);
        }

        #[test]
        fn prop_any_text_is_read_or_refused(text in "[0-9./m]{0,12}|\\PC{0,8}") {
            if let Ok(read) = text.parse::<HandSize>() {
                prop_assert_eq!(size(&read.to_string()), read);
            }
        }
    }
}
