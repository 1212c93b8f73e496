//! Segno, coda and jumps as MusicXML: what is printed, and the `sound` that says the same.

use super::xml::Xml;
use crate::sheet::{JumpTo, Road};

/// Writes the signs at the start of a bar.
pub(super) fn write_start(xml: &mut Xml, road: &Road, staff: Option<&str>) {
    for (name, label) in [("segno", &road.segno), ("coda", &road.coda)] {
        if let Some(label) = label {
            write(xml, Printed::Sign(name), (name, value(label, name)), staff);
        }
    }
}

/// Writes the marks at the end of a bar, behind its notes.
pub(super) fn write_end(xml: &mut Xml, road: &Road, staff: Option<&str>) {
    if let Some(label) = &road.to_coda {
        write(xml, Printed::Words("To Coda"), ("tocoda", value(label, "coda")), staff);
    }
    if road.fine {
        write(xml, Printed::Words("Fine"), ("fine", "yes"), staff);
    }
    if let Some(jump) = &road.jump {
        let sound = match &jump.to {
            JumpTo::Start => ("dacapo", "yes"),
            JumpTo::Segno(label) => ("dalsegno", value(label, "segno")),
        };
        write(xml, Printed::Words(&jump.to_string()), sound, staff);
    }
}

enum Printed<'a> {
    Sign(&'a str),
    Words(&'a str),
}

/// A label, or the name of its sign where there is none.
fn value<'a>(label: &'a str, name: &'a str) -> &'a str {
    if label.is_empty() { name } else { label }
}

fn write(xml: &mut Xml, printed: Printed<'_>, sound: (&str, &str), staff: Option<&str>) {
    xml.open("direction", &[("placement", "above")]);
    xml.open("direction-type", &[]);
    match printed {
        Printed::Sign(name) => xml.empty(name, &[]),
        Printed::Words(words) => xml.leaf("words", &[], words),
    }
    xml.close();
    if let Some(staff) = staff {
        xml.leaf("staff", &[], staff);
    }
    xml.empty("sound", &[sound]);
    xml.close();
}
