//! Along the road: stretches and jumps, from the first bar to the last.

use std::collections::{HashMap, HashSet};
use std::ops::{ControlFlow, Range};

use super::MOST_BARS_PLAYED;
use super::order::{Remark, Stretch};
use crate::error::{Error, Kind, Result};
use crate::pitch::shown;
use crate::sheet::{JumpTo, JumpUntil, Road};

/// The bars in the order of playing, as indices; what was odd is added. The meaning of the marks is told at
/// [`LeadSheet::as_played`](crate::sheet::LeadSheet::as_played).
///
/// Ends whatever the marks are: every jump is taken once, every `to coda` once, and between two of them the way only leads on. Takes
/// time proportional to the bars played, and to the bars of the page for each jump.
///
/// # Errors
///
/// [`Error::is_limit`] beyond [`MOST_BARS_PLAYED`] bars.
pub(super) fn follow(
    stretches: &[Stretch],
    roads: &[&Road],
    remarks: &mut Vec<Remark>,
) -> Result<Vec<usize>> {
    let mut walk = Walk {
        stretches,
        roads,
        places: Places::of(roads),
        order: Vec::with_capacity(roads.len()),
        remarks,
        played: vec![false; stretches.len()],
        taken: HashSet::new(),
        left: HashSet::new(),
        asked: None,
    };
    let mut from = 0;
    while let ControlFlow::Break(Turn::To(bar)) = walk.leg(from)? {
        from = bar;
    }
    walk.not_reached();
    walk.never_played();
    Ok(walk.order)
}

/// Where the signs of a page are, in order, by label.
struct Places<'a> {
    segnos: Vec<(usize, &'a str)>,
    codas: Vec<(usize, &'a str)>,
    by_segno: HashMap<&'a str, Vec<usize>>,
    by_coda: HashMap<&'a str, Vec<usize>>,
}

impl<'a> Places<'a> {
    fn of(roads: &[&'a Road]) -> Self {
        let of = |sign: fn(&Road) -> Option<&String>| {
            let signs = roads.iter().enumerate();
            let found: Vec<(usize, &'a str)> =
                signs.filter_map(|(bar, road)| Some((bar, sign(road)?.as_str()))).collect();
            let mut by: HashMap<&'a str, Vec<usize>> = HashMap::new();
            for (bar, label) in &found {
                by.entry(label).or_default().push(*bar);
            }
            (found, by)
        };
        let (segnos, by_segno) = of(|road| road.segno.as_ref());
        let (codas, by_coda) = of(|road| road.coda.as_ref());
        Self { segnos, codas, by_segno, by_coda }
    }

    /// The last segno of this label up to a bar.
    fn segno(&self, label: &str, bar: usize) -> Option<usize> {
        let bars = chosen(&self.by_segno, &self.segnos, label);
        bars.get(bars.partition_point(|segno| *segno <= bar).checked_sub(1)?).copied()
    }

    /// The first coda of this label behind a bar.
    fn coda(&self, label: &str, bar: usize) -> Option<usize> {
        let bars = chosen(&self.by_coda, &self.codas, label);
        bars.get(bars.partition_point(|coda| *coda <= bar)).copied()
    }
}

/// The signs of a label; where none has it, the only sign there is.
fn chosen<'p>(by: &'p HashMap<&str, Vec<usize>>, all: &'p [(usize, &str)], label: &str) -> &'p [usize] {
    match (by.get(label), all) {
        (Some(bars), _) => bars,
        (None, [(_, only)]) => by.get(only).map_or(&[], Vec::as_slice),
        (None, _) => &[],
    }
}

/// What the end of a bar does to the way.
enum Turn {
    To(usize),
    End,
}

/// The way of a jump up to where it was sent.
#[derive(Clone, Copy)]
struct Asked {
    /// The bar of the jump.
    bar: usize,
    until: JumpUntil,
    with_repeats: bool,
    /// Whether it has been there: at the fine, or in the coda.
    is_done: bool,
}

impl Asked {
    /// Whether this `fine` is the end.
    fn ends(self, road: &Road) -> bool {
        road.fine && (self.until != JumpUntil::Coda || self.is_done)
    }

    /// Whether a `to coda` counts.
    fn leaves(self) -> bool {
        self.until != JumpUntil::Fine && !self.is_done
    }
}

struct Walk<'a> {
    stretches: &'a [Stretch],
    roads: &'a [&'a Road],
    places: Places<'a>,
    order: Vec<usize>,
    remarks: &'a mut Vec<Remark>,
    /// For each stretch, whether any of it was played.
    played: Vec<bool>,
    /// The bars whose jump was met.
    taken: HashSet<usize>,
    /// The bars whose `to coda` was met after a jump.
    left: HashSet<usize>,
    /// Since the last jump.
    asked: Option<Asked>,
}

impl Walk<'_> {
    /// Plays on from a bar up to a turn, or to the end of the page.
    fn leg(&mut self, from: usize) -> Result<ControlFlow<Turn>> {
        let first = self.stretches.partition_point(|stretch| stretch.end() <= from);
        for at in first..self.stretches.len() {
            if let ControlFlow::Break(turn) = self.stretch(at, from)? {
                return Ok(ControlFlow::Break(turn));
            }
        }
        Ok(ControlFlow::Continue(()))
    }

    /// Plays a stretch, where `from` is in it from there on.
    fn stretch(&mut self, at: usize, from: usize) -> Result<ControlFlow<Turn>> {
        let Some(stretch) = self.stretches.get(at) else { return Ok(ControlFlow::Continue(())) };
        let was_played = self.played.get_mut(at).is_some_and(|played| std::mem::replace(played, true));
        let repeats = !was_played || self.asked.is_some_and(|asked| asked.with_repeats || stretch.after_jump);
        let passes = self.passes(stretch, from, repeats);
        let mut last_turn = vec![0; stretch.endings.len()];
        for (index, (ending, _)) in passes.iter().enumerate() {
            if let Some(last) = ending.and_then(|ending| last_turn.get_mut(ending)) {
                *last = index;
            }
        }
        let mut start = from;
        for (index, (ending, times)) in passes.iter().copied().enumerate() {
            let times = if repeats { times } else { 1 };
            for time in 1..=times {
                let is_last = time == times && index + 1 == passes.len();
                let section = start.max(stretch.section.start)..stretch.section.end;
                if let ControlFlow::Break(turn) = self.bars(section, is_last)? {
                    return Ok(ControlFlow::Break(turn));
                }
                if let Some((ending, bars)) = ending.and_then(|own| Some((own, stretch.endings.get(own)?))) {
                    let is_last = time == times && last_turn.get(ending) == Some(&index);
                    if let ControlFlow::Break(turn) = self.bars(start.max(bars.start)..bars.end, is_last)? {
                        return Ok(ControlFlow::Break(turn));
                    }
                }
                start = stretch.section.start;
            }
        }
        Ok(ControlFlow::Continue(()))
    }

    /// The passes of a stretch from a bar on: those from the first that has it. Where the repeat is not taken, one alone: that whose
    /// ending has the end or the way to the coda, otherwise the last.
    fn passes<'s>(&self, stretch: &'s Stretch, from: usize, repeats: bool) -> &'s [(Option<usize>, u32)] {
        let inside = stretch.endings.iter().position(|ending| ending.contains(&from));
        let inside = inside.filter(|_| from > stretch.section.start);
        let pass_of = |ending: Option<usize>| {
            ending.and_then(|ending| stretch.passes.iter().position(|(own, _)| *own == Some(ending)))
        };
        let first = pass_of(inside);
        if repeats {
            return stretch.passes.get(first.unwrap_or(0)..).unwrap_or_default();
        }
        let asked_for =
            || stretch.endings.iter().position(|ending| ending.clone().any(|bar| self.is_asked_for(bar)));
        let only = first.or_else(|| pass_of(asked_for())).or(stretch.passes.len().checked_sub(1));
        only.and_then(|only| stretch.passes.get(only..only + 1)).unwrap_or_default()
    }

    /// Whether the music, since the last jump, ends behind this bar or leaves for a coda.
    fn is_asked_for(&self, bar: usize) -> bool {
        self.roads.get(bar).zip(self.asked).is_some_and(|(road, asked)| {
            let leaves = |label: &String| !self.left.contains(&bar) && self.places.coda(label, bar).is_some();
            asked.ends(road) || (asked.leaves() && road.to_coda.as_ref().is_some_and(leaves))
        })
    }

    /// Plays bars; the last time that they are played here, their marks count.
    fn bars(&mut self, bars: Range<usize>, is_last: bool) -> Result<ControlFlow<Turn>> {
        for bar in bars {
            if self.order.len() >= MOST_BARS_PLAYED {
                return Err(Error::new(
                    Kind::Limit,
                    format!(
                        "the sheet as played has more than {MOST_BARS_PLAYED} bars, the limit `MOST_BARS_PLAYED`"
                    ),
                )
                .with_help("take the sheet as written, or give it fewer jumps, and its endings fewer numbers"));
            }
            self.order.push(bar);
            if is_last && let ControlFlow::Break(turn) = self.behind(bar) {
                return Ok(ControlFlow::Break(turn));
            }
        }
        Ok(ControlFlow::Continue(()))
    }

    /// What happens behind a bar.
    fn behind(&mut self, bar: usize) -> ControlFlow<Turn> {
        let Some(road) = self.roads.get(bar).filter(|road| road.has_end()) else {
            return ControlFlow::Continue(());
        };
        if let Some(asked) = self.asked {
            if asked.ends(road) {
                self.asked = Some(Asked { is_done: true, ..asked });
                return ControlFlow::Break(Turn::End);
            }
            if let Some(label) = &road.to_coda
                && asked.leaves()
                && self.left.insert(bar)
            {
                match self.places.coda(label, bar) {
                    Some(coda) => {
                        self.asked = Some(Asked { is_done: true, ..asked });
                        return ControlFlow::Break(Turn::To(coda));
                    }
                    None => self.remark(
                        bar,
                        format!("no coda{} stands behind this `To Coda`, the music goes on", labelled(label)),
                        "mark the bar in which the coda starts",
                    ),
                }
            }
        }
        if let Some(jump) = &road.jump
            && self.taken.insert(bar)
        {
            let target = match &jump.to {
                JumpTo::Start => Some(0),
                JumpTo::Segno(label) => self.places.segno(label, bar),
            };
            match target {
                Some(target) => {
                    self.not_reached();
                    let (until, with_repeats) = (jump.until, jump.with_repeats);
                    self.asked = Some(Asked { bar, until, with_repeats, is_done: false });
                    return ControlFlow::Break(Turn::To(target));
                }
                None => {
                    let label = match &jump.to {
                        JumpTo::Segno(label) => labelled(label),
                        JumpTo::Start => String::new(),
                    };
                    let message =
                        format!("no segno{label} stands in front of this `{jump}`, the music goes on");
                    self.remark(bar, message, "mark the bar that is gone back to");
                }
            }
        }
        ControlFlow::Continue(())
    }

    fn remark(&mut self, bar: usize, message: impl Into<String>, help: &str) {
        self.remarks.push(Remark { bar, message: message.into(), help: help.into() });
    }

    /// Says where the last jump did not come to what it was sent to.
    fn not_reached(&mut self) {
        let Some(Asked { bar, until, .. }) = self.asked.take().filter(|asked| !asked.is_done) else { return };
        match until {
            JumpUntil::Unsaid => {}
            JumpUntil::Fine => {
                let message = "this jump goes `al Fine` and comes to none, the music goes on";
                self.remark(bar, message, "mark the bar that ends the tune with `Fine`");
            }
            JumpUntil::Coda => {
                let message = "this jump goes `al Coda` and nothing leaves for one, the music goes on";
                self.remark(bar, message, "mark where the music leaves with `To Coda`, and the coda");
            }
        }
    }

    /// Says which bars are never played.
    fn never_played(&mut self) {
        let mut is_played = vec![false; self.roads.len()];
        for bar in &self.order {
            if let Some(is_played) = is_played.get_mut(*bar) {
                *is_played = true;
            }
        }
        let mut bar = 0;
        for run in is_played.chunk_by(|one, next| one == next) {
            if run.first() == Some(&false) {
                let message = match run.len() {
                    1 => "this bar is never played".to_owned(),
                    count => format!("this bar and the {} behind it are never played", count - 1),
                };
                self.remark(bar, message, "check where the jumps go");
            }
            bar += run.len();
        }
    }
}

fn labelled(label: &str) -> String {
    if label.is_empty() { String::new() } else { format!(" `{}`", shown(label)) }
}
