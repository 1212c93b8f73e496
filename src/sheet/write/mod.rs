//! Writers: a lead sheet on one staff, an arrangement on two, an arrangement as MIDI.

mod accidentals;
mod bar;
mod groups;
mod harmony;
mod lead;
mod line;
pub(super) mod lines;
mod midi;
mod musicxml;
mod page;
mod road;
mod systems;
mod xml;

pub use lead::write_lead_musicxml;
pub use lines::LeadText;
pub use midi::{BassLine, Drums, PlayAlong, write_midi, write_play_along};
pub(super) use musicxml::write_parts_musicxml;
pub use musicxml::{PageOptions, write_musicxml, write_musicxml_with};
