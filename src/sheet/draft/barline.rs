//! What is said between two bars, and where brackets of endings stop.

use super::Draft;
use crate::chord::Key;
use crate::error::Result;
use crate::sheet::read::raw::RawBar;
use crate::sheet::road::CodaSign;
use crate::sheet::{Ending, EndingEdge, Metre, Repeat};

/// A barline as written: what it is behind the bar before it and in front of the bar behind it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(in crate::sheet) struct Sign {
    /// The style behind the bar that ends, as MusicXML names it.
    pub(in crate::sheet) ends: Option<&'static str>,
    /// The style in front of the bar that begins.
    pub(in crate::sheet) begins: Option<&'static str>,
    /// `:|`
    pub(in crate::sheet) backward: bool,
    /// `|:`
    pub(in crate::sheet) forward: bool,
}

impl Sign {
    /// Another sign at the same place added to this one.
    fn add_end(self, bar: &mut RawBar) {
        if let Some(style) = self.ends.filter(|_| bar.right.repeat.is_none()) {
            bar.right.style = Some(style.to_owned());
        }
        if self.backward {
            bar.right.style = Some("light-heavy".to_owned());
            bar.right.repeat = Some(Repeat::Backward);
        }
    }

    fn add_start(self, bar: &mut RawBar) {
        if let Some(style) = self.begins.filter(|_| bar.left.repeat.is_none()) {
            bar.left.style = Some(style.to_owned());
        }
        if self.forward {
            bar.left.style = Some("heavy-light".to_owned());
            bar.left.repeat = Some(Repeat::Forward);
        }
    }
}

impl Draft<'_> {
    /// A barline: closes the bar being filled, unless that has nothing in it; then it adds to the barline before it.
    pub(in crate::sheet) fn barline(
        &mut self,
        sign: Sign,
        byte: usize,
        key: Key,
        metre: Metre,
    ) -> Result<()> {
        if self.is_empty() {
            match self.bars.last_mut() {
                Some(bar) => sign.add_end(bar),
                None => {
                    if let Some(style) = sign.ends.filter(|_| self.open.left.style.is_none()) {
                        self.open.left.style = Some(style.to_owned());
                    }
                }
            }
        } else {
            sign.add_end(&mut self.open);
            self.close(byte, key, metre)?;
        }
        sign.add_start(&mut self.open);
        Ok(())
    }

    /// Whether a sign that divides the page, or a mark at which the music turns, stands right in front of what comes next.
    pub(in crate::sheet) fn is_behind_sign(&self) -> bool {
        let (before, behind) = (self.bars.last(), Some(&self.open));
        self.open.notes.is_empty() && (divides(before, behind) || turns(before, behind))
    }
}

/// Whether a sign between two bars divides the page: anything but a plain barline.
pub(in crate::sheet) fn divides(before: Option<&RawBar>, behind: Option<&RawBar>) -> bool {
    let ends = before.is_some_and(|bar| bar.right.style.is_some() || bar.right.repeat.is_some());
    ends || behind
        .is_some_and(|bar| bar.left.style.is_some() || bar.left.repeat.is_some() || bar.left.ending.is_some())
}

/// Whether the music may leave, or come from elsewhere, between two bars.
pub(in crate::sheet) fn turns(before: Option<&RawBar>, behind: Option<&RawBar>) -> bool {
    before.is_some_and(|bar| bar.road.has_end() || bar.coda_sign == Some(CodaSign::End))
        || behind.is_some_and(|bar| bar.road.has_start() || bar.coda_sign == Some(CodaSign::Start))
}

/// Stops every bracket where a sign divides the page: a repeat, a double bar or the next ending (common practice, no source).
/// One that goes on to the end of the sheet without a sign stays open.
pub(super) fn close_brackets(bars: &mut [RawBar]) {
    let mut numbers: Option<String> = None;
    for index in 0..bars.len() {
        let is_divided = divides(bars.get(index), bars.get(index + 1));
        let is_last = index + 1 == bars.len();
        let Some(bar) = bars.get_mut(index) else { return };
        if let Some(ending) = &bar.left.ending {
            numbers = Some(ending.numbers.clone());
        }
        if is_divided || is_last {
            let edge = if is_divided { EndingEdge::Stop } else { EndingEdge::Discontinue };
            bar.right.ending = numbers.take().map(|numbers| Ending { numbers, edge });
        }
    }
}
