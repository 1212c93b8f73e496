//! From signs to the order of bars.

use std::ops::Range;

use super::MOST_BARS_PLAYED;
use super::numbers::{Ending, Said, passes};
use super::signs::Signs;
use crate::error::{Error, Kind, Result};
use crate::pitch::shown;

/// What is odd about the signs at a bar.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Remark {
    pub(super) bar: usize,
    pub(super) message: String,
    pub(super) help: String,
}

/// The bars in the order of playing, as indices, and what was odd, in the order of the page. The meaning of the signs is
/// told at [`LeadSheet::as_played`](crate::sheet::LeadSheet::as_played).
///
/// # Errors
///
/// [`Error::is_limit`] beyond [`MOST_BARS_PLAYED`] bars.
pub(super) fn of_signs(signs: &[Signs]) -> Result<(Vec<usize>, Vec<Remark>)> {
    let mut walk = Walk { signs, order: Vec::with_capacity(signs.len()), remarks: Vec::new() };
    walk.whole_page()?;
    walk.remarks.sort_by_key(|remark| remark.bar);
    Ok((walk.order, walk.remarks))
}

struct Walk<'a> {
    signs: &'a [Signs],
    order: Vec<usize>,
    remarks: Vec<Remark>,
}

impl Walk<'_> {
    fn remark(&mut self, bar: usize, message: impl Into<String>, help: &str) {
        self.remarks.push(Remark { bar, message: message.into(), help: help.into() });
    }

    fn at(&self, bar: usize) -> &Signs {
        const NONE: &Signs = &Signs { forward: false, backward: false, starts: None, stops: false };
        self.signs.get(bar).unwrap_or(NONE)
    }

    fn play(&mut self, bars: Range<usize>) -> Result<()> {
        if self.order.len().saturating_add(bars.len()) > MOST_BARS_PLAYED {
            return Err(Error::new(
                Kind::Limit,
                format!(
                    "the sheet as played has more than {MOST_BARS_PLAYED} bars, the limit `MOST_BARS_PLAYED`"
                ),
            )
            .with_help("take the sheet as written, or give its endings fewer numbers"));
        }
        self.order.extend(bars);
        Ok(())
    }

    /// Walks over the page once. Every turn of the loop gets further on it, so that it ends whatever the signs are.
    fn whole_page(&mut self) -> Result<()> {
        // Where the next backward sign goes back to, and a forward sign that waits for it.
        let (mut start, mut open) = (0, None);
        let mut bar = 0;
        while bar < self.signs.len() {
            if self.at(bar).forward {
                self.never_closed(open);
                self.play(start..bar)?;
                (start, open) = (bar, Some(bar));
            }
            if self.at(bar).starts.is_some() {
                let endings = self.endings(bar);
                if let Some(last) = endings.last() {
                    let next = last.last + 1;
                    self.with_endings(start..bar, &endings, next)?;
                    (start, open, bar) = (next, None, next);
                    continue;
                }
                self.remark(
                    bar,
                    "an ending without a repeat sign is played like any other bar",
                    "put a backward repeat sign at its end",
                );
            }
            if self.at(bar).backward {
                self.play(start..bar + 1)?;
                self.play(start..bar + 1)?;
                (start, open) = (bar + 1, None);
            }
            bar += 1;
        }
        self.never_closed(open);
        self.play(start..self.signs.len())
    }

    fn never_closed(&mut self, open: Option<usize>) {
        if let Some(bar) = open {
            self.remark(
                bar,
                "a forward repeat sign that no backward sign closes means nothing",
                "put a backward repeat sign at the end of what is played again",
            );
        }
    }

    /// The endings that follow each other from a bar on; none where no backward sign makes a repeat of them.
    fn endings(&mut self, mut first: usize) -> Vec<Ending> {
        let mut endings = Vec::new();
        while let Some(ending) = self.ending(first, endings.is_empty()) {
            first = ending.last + 1;
            let is_last = !ending.goes_back || self.at(first).forward || self.at(first).starts.is_none();
            endings.push(ending);
            if is_last {
                break;
            }
        }
        endings
    }

    /// The ending that starts at a bar. The first of a group needs something that goes back.
    fn ending(&mut self, first: usize, leads: bool) -> Option<Ending> {
        let numbers = self.at(first).starts.clone()?;
        // Where its bracket stops.
        let mut closed = None;
        for bar in first..self.signs.len() {
            let signs = self.at(bar);
            if bar > first {
                if signs.forward {
                    break;
                }
                match &signs.starts {
                    // A bracket that goes on in a new line of the page.
                    Some(more) if *more == numbers => closed = None,
                    Some(_) if closed.is_none_or(|closed| closed + 1 == bar) => {
                        let message =
                            format!("the ending `{}` goes back without a repeat sign", shown(&numbers));
                        self.remark(first, message, "put a backward repeat sign at its end");
                        return Some(Ending { first, last: bar - 1, goes_back: true, numbers });
                    }
                    Some(_) => break,
                    None => {}
                }
            }
            if signs.stops {
                closed.get_or_insert(bar);
            }
            if signs.backward {
                let is_in_bracket = closed.is_none_or(|closed| closed == bar);
                let behind = self.at(bar + 1);
                if leads || is_in_bracket || (behind.starts.is_some() && !behind.forward) {
                    return Some(Ending { first, last: bar, goes_back: true, numbers });
                }
                break;
            }
        }
        let last = closed.unwrap_or(first);
        (!leads).then_some(Ending { first, last, goes_back: false, numbers })
    }

    /// Plays a section with its endings; `next` is the bar behind the last one.
    fn with_endings(&mut self, section: Range<usize>, endings: &[Ending], next: usize) -> Result<()> {
        let (passes, said) = passes(endings);
        let names =
            itertools::join(endings.iter().map(|ending| format!("`{}`", shown(&ending.numbers))), ", ");
        match said {
            Said::All => {}
            Said::WithGaps => self.remark(
                section.end,
                format!("of the endings {names} some numbers are missing, they are passed over"),
                "number the endings from 1 without gaps",
            ),
            Said::Nothing => self.remark(
                section.end,
                format!("the numbers of the endings {names} say no order, each is played once"),
                "give every ending numbers of its own, in the order of playing",
            ),
        }
        let alone = endings.len() == 1;
        let is_end = next >= self.signs.len();
        for pass in passes.iter().copied() {
            let Some(ending) = endings.get(pass.ending) else { continue };
            // Alone at the end it is played at least twice.
            let once = passes.len() == 1 && pass.times == 1;
            let times = if alone && is_end && once { 2 } else { pass.times };
            for _ in 0..times {
                self.play(section.clone())?;
                self.play(ending.first..ending.last + 1)?;
            }
        }
        if alone && !is_end { self.play(section) } else { Ok(()) }
    }
}
