//! Segno, coda and jumps of a bar: what sounds say, what is printed, and which of both counts.

use std::borrow::Cow;

use super::cursor::{Cursor, Tag};
use super::finding::Log;
use super::raw::RawBar;
use crate::error::Result;
use crate::pitch::shown;
use crate::sheet::road::{CodaSign, Mark, Said, is_label, read};
use crate::sheet::{Jump, JumpTo, JumpUntil, Repeat};

/// The tick of what stands at the right edge of a bar.
pub(super) const END: u32 = u32::MAX;

/// A mark on its way into a bar.
struct Found {
    tick: u32,
    byte: usize,
    mark: Mark,
    /// Whether a `sound` says so, which is exact.
    sounds: bool,
}

/// What a bar says of the road, in the order of the file.
#[derive(Default)]
pub(super) struct Collected {
    found: Vec<Found>,
    /// The places of coda signs that no sound explains.
    coda_signs: Vec<u32>,
    /// The places of forward repeats that are not printed.
    forward: Vec<u32>,
}

/// What stands behind the last note of a bar and belongs to the next one.
#[derive(Default)]
pub(super) struct Behind {
    marks: Vec<Mark>,
    forward: bool,
}

impl Behind {
    /// Whether there is nothing.
    pub(super) fn is_empty(&self) -> bool {
        self.marks.is_empty() && !self.forward
    }

    /// Puts it into the bar that begins.
    pub(super) fn begin(&mut self, bar: &mut RawBar) {
        for mark in std::mem::take(&mut self.marks) {
            bar.road.add(mark);
        }
        if std::mem::take(&mut self.forward) {
            bar.left.repeat.get_or_insert(Repeat::Forward);
        }
    }
}

/// What a direction prints.
#[derive(Default)]
pub(super) struct Printed {
    words: Vec<String>,
    segno: bool,
    coda: bool,
}

impl Printed {
    /// Reads an element of a `direction-type`.
    pub(super) fn read(&mut self, cursor: &mut Cursor<'_>, name: &str) -> Result<()> {
        match name {
            "words" => self.words.push(cursor.text()?),
            "segno" => self.segno = true,
            "coda" => self.coda = true,
            _ => {}
        }
        Ok(())
    }
}

impl Collected {
    /// Adds a mark that a `sound`, or a barline with a label, names.
    pub(super) fn sound(&mut self, mark: Mark, tick: u32, byte: usize) {
        self.found.push(Found { tick, byte, mark, sounds: true });
    }

    /// Adds a coda sign of which nothing says whether it is the coda.
    pub(super) fn coda_sign(&mut self, tick: u32) {
        self.coda_signs.push(tick);
    }

    /// Reads the attributes of a `sound` (MusicXML 4.0, element `sound`); says whether it names any mark.
    pub(super) fn read_sound(&mut self, tag: &Tag<'_>, tick: u32, log: &mut Log) -> Result<bool> {
        let before = self.found.len();
        let is_yes = |value: Option<Cow<'_, str>>| value.is_some_and(|value| value.trim() != "no");
        for (name, mark) in [
            ("segno", Mark::Segno as fn(String) -> Mark),
            ("coda", Mark::Coda),
            ("tocoda", Mark::ToCoda),
            ("dalsegno", |label| jump(JumpTo::Segno(label))),
        ] {
            if let Some(value) = tag.attribute(name)? {
                self.sound(mark(label(&value, log)), tick, tag.byte);
            }
        }
        if is_yes(tag.attribute("dacapo")?) {
            self.sound(jump(JumpTo::Start), tick, tag.byte);
        }
        if is_yes(tag.attribute("fine")?) {
            self.sound(Mark::Fine, tick, tag.byte);
        }
        if is_yes(tag.attribute("forward-repeat")?) {
            self.forward.push(tick);
        }
        let names_any = self.found.len() > before;
        if names_any && let Some(times) = tag.attribute("time-only")? {
            let message =
                format!("that a mark counts only in the times `{}` is left out", shown(times.trim()));
            log.say(message, "marks count the last time that their bar is played");
        }
        Ok(names_any)
    }

    /// Adds what a direction prints, beside a `sound` that names marks or none.
    pub(super) fn print(
        &mut self,
        printed: &Printed,
        names_any: bool,
        tick: u32,
        byte: usize,
        log: &mut Log,
    ) {
        let Printed { words, segno, coda } = printed;
        let text = words.join(" ");
        let said = match read(&text) {
            Said::Mark(mark) => Said::Mark(mark),
            // The sign may stand for the last of the words.
            other if *coda && !text.trim().is_empty() => match read(&format!("{text} coda")) {
                Said::Nothing => other,
                said => said,
            },
            other => other,
        };
        match said {
            // Of a jump the words say how far it goes.
            Said::Mark(mark) if !names_any || matches!(mark, Mark::Jump(_)) => {
                self.found.push(Found { tick, byte, mark, sounds: false });
            }
            Said::Mark(_) => {}
            Said::Unclear if !names_any => log.say(
                format!("the jump `{}` is left out, it goes on otherwise than known", shown(text.trim())),
                "write it as `D.S. al Coda` or `D.C. al Fine`",
            ),
            Said::Unclear => {}
            Said::Nothing if names_any => {}
            Said::Nothing => {
                if *segno {
                    self.found.push(Found { tick, byte, mark: Mark::Segno(String::new()), sounds: false });
                }
                if *coda {
                    self.coda_sign(tick);
                }
            }
        }
    }

    /// Puts everything into the bar, or keeps it for the next one.
    pub(super) fn put(mut self, bar: &mut RawBar, behind: &mut Behind, log: &mut Log) {
        let is_behind = |tick: u32| tick > 0 && tick >= bar.length;
        // What sounds counts before what is printed.
        self.found.sort_by_key(|found| !found.sounds);
        for Found { tick, byte, mark, sounds } in self.found {
            if mark.is_place() && is_behind(tick) {
                behind.marks.push(mark);
                continue;
            }
            (log.tick, log.byte) = (if tick == END { 0 } else { tick }, byte);
            if mark.is_place() && tick > 0 {
                log.once(
                    "a segno or coda inside a bar counts from its start",
                    "put it at the start of a bar, or divide the bar",
                );
            }
            if !sounds && merge(&mut bar.road.jump, &mark) {
                continue;
            }
            let is_known = match &mark {
                Mark::Segno(_) => bar.road.segno.is_some(),
                Mark::Coda(_) => bar.road.coda.is_some(),
                Mark::ToCoda(_) => bar.road.to_coda.is_some(),
                Mark::Fine | Mark::Jump(_) => false,
            };
            if (sounds || !is_known) && bar.road.add(mark) {
                log.once(
                    "a bar has two different marks of a kind, the first stays",
                    "divide the bar, or take one of them out",
                );
            }
        }
        for tick in self.forward {
            if is_behind(tick) {
                behind.forward = true;
            } else {
                bar.left.repeat.get_or_insert(Repeat::Forward);
            }
        }
        let sign = self.coda_signs.first();
        bar.coda_sign = sign.map(|tick| if *tick == 0 { CodaSign::Start } else { CodaSign::End });
    }
}

/// Adds what printed words say of a jump that is known; says whether they were about it.
fn merge(known: &mut Option<Jump>, mark: &Mark) -> bool {
    let (Some(known), Mark::Jump(printed)) = (known, mark) else { return false };
    let is_same = matches!(
        (&known.to, &printed.to),
        (JumpTo::Start, JumpTo::Start) | (JumpTo::Segno(_), JumpTo::Segno(_))
    );
    if is_same {
        if known.until == JumpUntil::Unsaid {
            known.until = printed.until;
        }
        known.with_repeats |= printed.with_repeats;
    }
    is_same
}

fn jump(to: JumpTo) -> Mark {
    Mark::Jump(Jump { to, until: JumpUntil::Unsaid, with_repeats: false })
}

/// A label as the sheet holds it: the names of the signs themselves say nothing.
pub(super) fn label(value: &str, log: &mut Log) -> String {
    let value = value.trim();
    if ["segno", "coda"].contains(&value) {
        return String::new();
    }
    if !is_label(value) {
        log.say(
            format!("the label `{}` of a mark is left out, expected letters and digits", shown(value)),
            "name segno and coda with letters and digits",
        );
        return String::new();
    }
    value.to_owned()
}

/// Takes signs that stand beside marks that sounds name, in the same bar or at the same barline, out of all bars: they are theirs.
pub(super) fn drop_explained(bars: &mut [RawBar]) {
    for index in 0..bars.len() {
        let Some(sign) = bars.get(index).and_then(|bar| bar.coda_sign) else { continue };
        let has = |bar: &RawBar| bar.road.coda.is_some() || bar.road.to_coda.is_some();
        let here = bars.get(index).is_some_and(has);
        let before = index.checked_sub(1).and_then(|before| bars.get(before));
        let beside = match sign {
            CodaSign::Start => before.is_some_and(|bar| bar.road.to_coda.is_some()),
            CodaSign::End => bars.get(index + 1).is_some_and(|bar| bar.road.coda.is_some()),
        };
        if (here || beside)
            && let Some(bar) = bars.get_mut(index)
        {
            bar.coda_sign = None;
        }
    }
}
