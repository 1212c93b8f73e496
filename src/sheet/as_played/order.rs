//! From repeat signs to stretches of the page, each played so often with such endings.

use std::ops::Range;

use super::numbers::{Ending, Said, passes};
use super::signs::Signs;
use crate::pitch::shown;

/// A part of the page that is repeated as a whole, or not at all. Stretches follow each other without gaps.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Stretch {
    /// What every pass begins with.
    pub(super) section: Range<usize>,
    /// The endings that follow it.
    pub(super) endings: Vec<Range<usize>>,
    /// The passes in order, each with its ending, if any, and how often in a row.
    pub(super) passes: Vec<(Option<usize>, u32)>,
    /// Whether it is repeated after a jump too.
    pub(super) after_jump: bool,
}

impl Stretch {
    /// The bar behind it.
    pub(super) fn end(&self) -> usize {
        self.endings.last().map_or(self.section.end, |ending| ending.end)
    }
}

/// What is odd about the signs at a bar.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Remark {
    pub(super) bar: usize,
    pub(super) message: String,
    pub(super) help: String,
}

/// The page in stretches, and what was odd. The meaning of the signs is told at
/// [`LeadSheet::as_played`](crate::sheet::LeadSheet::as_played).
pub(super) fn stretches(signs: &[Signs]) -> (Vec<Stretch>, Vec<Remark>) {
    let mut walk = Walk { signs, stretches: Vec::new(), remarks: Vec::new() };
    walk.whole_page();
    (walk.stretches, walk.remarks)
}

struct Walk<'a> {
    signs: &'a [Signs],
    stretches: Vec<Stretch>,
    remarks: Vec<Remark>,
}

impl Walk<'_> {
    fn remark(&mut self, bar: usize, message: impl Into<String>, help: &str) {
        self.remarks.push(Remark { bar, message: message.into(), help: help.into() });
    }

    fn at(&self, bar: usize) -> &Signs {
        const NONE: &Signs =
            &Signs { forward: false, backward: false, after_jump: false, starts: None, stops: false };
        self.signs.get(bar).unwrap_or(NONE)
    }

    /// Bars played so often in a row.
    fn play(&mut self, section: Range<usize>, times: u32) {
        if !section.is_empty() {
            let after_jump = self.is_after_jump(section.clone());
            self.stretches.push(Stretch {
                section,
                endings: Vec::new(),
                passes: vec![(None, times)],
                after_jump,
            });
        }
    }

    fn is_after_jump(&self, bars: Range<usize>) -> bool {
        bars.into_iter().any(|bar| self.at(bar).after_jump)
    }

    /// Walks over the page once. Every turn of the loop gets further on it, so that it ends whatever the signs are.
    fn whole_page(&mut self) {
        // Where the next backward sign goes back to, and a forward sign that waits for it.
        let (mut start, mut open) = (0, None);
        let mut bar = 0;
        while bar < self.signs.len() {
            if self.at(bar).forward {
                self.never_closed(open);
                self.play(start..bar, 1);
                (start, open) = (bar, Some(bar));
            }
            if self.at(bar).starts.is_some() {
                let endings = self.endings(bar);
                if let Some(last) = endings.last() {
                    let next = last.last + 1;
                    self.with_endings(start..bar, &endings, next);
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
                self.play(start..bar + 1, 2);
                (start, open) = (bar + 1, None);
            }
            bar += 1;
        }
        self.never_closed(open);
        self.play(start..self.signs.len(), 1);
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

    /// A section with its endings; `next` is the bar behind the last one.
    fn with_endings(&mut self, section: Range<usize>, endings: &[Ending], next: usize) {
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
        let mut turns: Vec<(Option<usize>, u32)> =
            passes.iter().map(|pass| (Some(pass.ending), pass.times)).collect();
        match turns.as_mut_slice() {
            // Alone at the end it is played at least twice.
            [(_, times)] if alone && is_end => *times = (*times).max(2),
            _ if alone && !is_end => turns.push((None, 1)),
            _ => {}
        }
        let after_jump = self.is_after_jump(section.start..next);
        let endings = endings.iter().map(|ending| ending.first..ending.last + 1).collect();
        self.stretches.push(Stretch { section, endings, passes: turns, after_jump });
    }
}
