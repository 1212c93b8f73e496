//! Barlines: style, repeat, ending, segno and coda.

use super::cursor::{Cursor, Tag};
use super::finding::Log;
use super::raw::RawBar;
use super::road::{Collected, END, label};
use crate::error::Result;
use crate::pitch::shown;
use crate::sheet::barlines::{STYLES, is_ending_number};
use crate::sheet::road::Mark;
use crate::sheet::{Barline, Ending, EndingEdge, Repeat};

/// Reads a `barline` into the edge of the bar where it stands.
pub(super) fn read_barline(
    cursor: &mut Cursor<'_>,
    tag: &Tag<'_>,
    bar: &mut RawBar,
    road: &mut Collected,
    log: &mut Log,
) -> Result<()> {
    let location = tag.attribute("location")?;
    let [segno_label, coda_label] = [tag.attribute("segno")?, tag.attribute("coda")?];
    let (mut segno, mut coda) = (segno_label.is_some(), coda_label.is_some());
    let mut line = Barline::default();
    cursor.children(|cursor, tag| {
        match tag.name() {
            "bar-style" => {
                let style = cursor.text()?;
                if STYLES.contains(&style.as_str()) {
                    line.style = Some(style);
                } else {
                    log.say(
                        format!("the barline style `{}` is not known and left out", shown(&style)),
                        "use a style of MusicXML such as `light-heavy`",
                    );
                }
            }
            "repeat" => {
                line.repeat = match tag.attribute("direction")?.as_deref() {
                    Some("forward") => Some(Repeat::Forward),
                    Some("backward") => Some(Repeat::Backward),
                    _ => {
                        log.say(
                            "a repeat sign without direction is left out",
                            "write `forward` or `backward`",
                        );
                        None
                    }
                };
                line.after_jump = line.repeat == Some(Repeat::Backward) && tag.has("after-jump", "yes")?;
                if tag.attribute("times")?.is_some_and(|times| times.trim() != "2") {
                    log.say("the number of times of a repeat is left out", "write it above the bar");
                }
            }
            "ending" => line.ending = read_ending(tag, log)?,
            "segno" => segno = true,
            "coda" => coda = true,
            _ => {}
        }
        Ok(())
    })?;
    let (edge, tick) = match location.as_deref().map(str::trim) {
        Some("left") => (&mut bar.left, 0),
        Some("middle") => {
            log.say("a barline inside the bar is left out", "split the bar");
            return Ok(());
        }
        _ => (&mut bar.right, END),
    };
    if segno {
        road.sound(Mark::Segno(label(segno_label.as_deref().unwrap_or_default(), log)), tick, tag.byte);
    }
    match coda_label {
        Some(value) => road.sound(Mark::Coda(label(&value, log)), tick, tag.byte),
        None if coda => road.coda_sign(tick),
        None => {}
    }
    // Two elements at one edge add up.
    edge.style = line.style.or(edge.style.take());
    edge.after_jump = if line.repeat.is_some() { line.after_jump } else { edge.after_jump };
    edge.repeat = line.repeat.or(edge.repeat);
    edge.ending = line.ending.or(edge.ending.take());
    Ok(())
}

fn read_ending(tag: &Tag<'_>, log: &mut Log) -> Result<Option<Ending>> {
    let numbers = tag.attribute("number")?.unwrap_or_default().trim().to_owned();
    let edge = match tag.attribute("type")?.as_deref() {
        Some("start") => EndingEdge::Start,
        Some("stop") => EndingEdge::Stop,
        Some("discontinue") => EndingEdge::Discontinue,
        _ => {
            log.say("an ending without a type is left out", "write `start`, `stop` or `discontinue`");
            return Ok(None);
        }
    };
    if !is_ending_number(&numbers) {
        log.say(
            format!("the ending `{}` is left out, expected numbers such as `1,2`", shown(&numbers)),
            "number the endings",
        );
        return Ok(None);
    }
    Ok(Some(Ending { numbers, edge }))
}
