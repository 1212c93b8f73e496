//! The road through a tune: marks that say where to go on, besides repeats and endings.

mod settle;
mod words;

pub(super) use settle::{CodaSign, settle};
pub(super) use words::{Said, read};

/// The marks at a bar that say where the music goes on.
///
/// `segno` and `coda` are places, at the start of the bar; the others count when its end is reached. What they do is told at
/// [`LeadSheet::as_played`](crate::sheet::LeadSheet::as_played).
///
/// A label tells several signs of a kind apart, as the values of `segno`, `dalsegno`, `coda` and `tocoda` do in MusicXML 4.0 (element
/// `sound`). It is empty where a sign needs none; otherwise it has ASCII letters, digits, `-`, `_` and `.`, and is neither
/// `segno` nor `coda`.
///
/// # Example
///
/// ```
/// use overshell::sheet::{JumpTo, JumpUntil, ReadOptions, read_chart};
///
/// let chart = "| <segno> Dm7 | G7 <to coda> | Cmaj7 <dal segno al coda> | <coda> C6 |.";
/// let sheet = read_chart(chart.as_bytes(), &ReadOptions::default())?.sheet;
/// assert_eq!(sheet.bars[0].road.segno.as_deref(), Some(""));
/// assert_eq!(sheet.bars[1].road.to_coda.as_deref(), Some(""));
/// let jump = sheet.bars[2].road.jump.as_ref().unwrap();
/// assert_eq!((&jump.to, jump.until), (&JumpTo::Segno(String::new()), JumpUntil::Coda));
/// assert_eq!(jump.to_string(), "D.S. al Coda");
/// assert_eq!(sheet.as_played()?.bars, [0, 1, 2, 0, 1, 3]);
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Road {
    /// A segno at the start of the bar: its label.
    pub segno: Option<String>,
    /// A coda that starts with the bar: its label.
    pub coda: Option<String>,
    /// At its end the music leaves for the coda with this label.
    pub to_coda: Option<String>,
    /// The end of the tune, once a jump was taken.
    pub fine: bool,
    /// At its end the music jumps back.
    pub jump: Option<Jump>,
}

/// A jump back, as `D.S. al Coda`, which is how it is displayed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Jump {
    /// Where it goes.
    pub to: JumpTo,
    /// How far the music then goes.
    pub until: JumpUntil,
    /// Whether repeats are played again after it (`con replica`).
    pub with_repeats: bool,
}

/// Where a jump goes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum JumpTo {
    /// Da capo: to the first bar.
    Start,
    /// Dal segno: to the segno with this label.
    Segno(String),
}

/// How far the music goes after a jump.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum JumpUntil {
    /// It does not say: to the first `fine` or `to coda`, or to the end.
    #[default]
    Unsaid,
    /// To the `fine`.
    Fine,
    /// To the next `to coda`, and on from the coda.
    Coda,
}

impl std::fmt::Display for Jump {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self.to {
            JumpTo::Start => "D.C.",
            JumpTo::Segno(_) => "D.S.",
        })?;
        f.write_str(match self.until {
            JumpUntil::Unsaid => "",
            JumpUntil::Fine => " al Fine",
            JumpUntil::Coda => " al Coda",
        })?;
        f.write_str(if self.with_repeats { " con replica" } else { "" })
    }
}

impl Road {
    /// Whether the bar has no mark.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Whether there is a mark at its end.
    pub(super) fn has_end(&self) -> bool {
        self.to_coda.is_some() || self.fine || self.jump.is_some()
    }

    /// Whether there is a mark at its start.
    pub(super) fn has_start(&self) -> bool {
        self.segno.is_some() || self.coda.is_some()
    }

    /// Adds a mark; says whether the bar had another one of that kind, which then stays.
    pub(super) fn add(&mut self, mark: Mark) -> bool {
        fn put<T: PartialEq>(place: &mut Option<T>, value: T) -> bool {
            place.as_ref().is_some_and(|own| *own != value) || {
                *place = Some(value);
                false
            }
        }
        match mark {
            Mark::Segno(label) => put(&mut self.segno, label),
            Mark::Coda(label) => put(&mut self.coda, label),
            Mark::ToCoda(label) => put(&mut self.to_coda, label),
            Mark::Jump(jump) => put(&mut self.jump, jump),
            Mark::Fine => {
                self.fine = true;
                false
            }
        }
    }

    /// All labels.
    pub(super) fn labels(&self) -> impl Iterator<Item = &String> {
        let of_jump = self.jump.as_ref().and_then(|jump| match &jump.to {
            JumpTo::Segno(label) => Some(label),
            JumpTo::Start => None,
        });
        [&self.segno, &self.coda, &self.to_coda].into_iter().flatten().chain(of_jump)
    }

    /// All labels, to be changed.
    pub(super) fn labels_mut(&mut self) -> impl Iterator<Item = &mut String> {
        let of_jump = self.jump.as_mut().and_then(|jump| match &mut jump.to {
            JumpTo::Segno(label) => Some(label),
            JumpTo::Start => None,
        });
        [&mut self.segno, &mut self.coda, &mut self.to_coda].into_iter().flatten().chain(of_jump)
    }
}

/// One mark.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Mark {
    Segno(String),
    Coda(String),
    ToCoda(String),
    Fine,
    Jump(Jump),
}

impl Mark {
    /// Whether it is a place, at the start of a bar.
    pub(super) const fn is_place(&self) -> bool {
        matches!(self, Self::Segno(_) | Self::Coda(_))
    }

    /// Gives a label to a mark that can have one; says whether it could.
    pub(super) fn set_label(&mut self, label: String) -> bool {
        match self {
            Self::Segno(own)
            | Self::Coda(own)
            | Self::ToCoda(own)
            | Self::Jump(Jump { to: JumpTo::Segno(own), .. }) => {
                *own = label;
                true
            }
            Self::Fine | Self::Jump(_) => false,
        }
    }
}

/// Whether a text can be a label.
pub(super) fn is_label(text: &str) -> bool {
    text.bytes().all(|b| b.is_ascii_alphanumeric() || b"-_.".contains(&b))
        && !["segno", "coda"].contains(&text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_labels() {
        for text in ["", "1", "A-2", "x_y.z", "codab", "Coda"] {
            assert!(is_label(text), "{text}");
        }
        for text in ["segno", "coda", "a b", "é", "a=b", "<"] {
            assert!(!is_label(text), "{text}");
        }
    }

    /// Every jump is read again from what it is displayed as.
    #[test]
    fn all_jumps_are_read_as_displayed() {
        for to in [JumpTo::Start, JumpTo::Segno(String::new())] {
            for until in [JumpUntil::Unsaid, JumpUntil::Fine, JumpUntil::Coda] {
                for with_repeats in [false, true] {
                    let jump = Jump { to: to.clone(), until, with_repeats };
                    assert_eq!(read(&jump.to_string()), Said::Mark(Mark::Jump(jump)));
                }
            }
        }
    }

    #[test]
    fn ok_the_first_of_a_kind_stays() {
        let mut road = Road::default();
        assert!(road.is_empty() && !road.add(Mark::Segno(String::new())) && !road.add(Mark::Fine));
        assert!(!road.add(Mark::Fine) && !road.add(Mark::Segno(String::new())));
        assert!(road.add(Mark::Segno("2".into())) && road.segno.as_deref() == Some(""));
        assert!(road.has_start() && road.has_end() && !road.is_empty());
    }
}
