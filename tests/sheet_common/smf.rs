//! A strict reader of Standard MIDI Files, written from the format (MIDI Association, RP-001, 1996), as a twin of the libraries.

/// A channel message: tick, status, the two bytes behind it (the second 0 where there is one).
pub(crate) type Message = (u32, u8, u8, u8);

/// A track.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Track {
    /// Tick, kind and content of each meta event.
    pub(crate) meta: Vec<(u32, u8, Vec<u8>)>,
    pub(crate) messages: Vec<Message>,
    /// Where the end of the track is.
    pub(crate) end: u32,
    /// The chunk as it stands in the file.
    pub(crate) chunk: Vec<u8>,
}

/// A note: start, end, key, velocity.
pub(crate) type Sound = (u32, u32, u8, u8);

impl Track {
    pub(crate) fn name(&self) -> &str {
        let named = self.meta.iter().find(|(tick, kind, _)| (*tick, *kind) == (0, 3)).unwrap();
        std::str::from_utf8(&named.2).unwrap()
    }

    /// The notes in order. Every on has its off, and no key is struck while it sounds.
    pub(crate) fn notes(&self, channel: u8) -> Vec<Sound> {
        let mut notes: Vec<Sound> = Vec::new();
        let mut open = [None; 128];
        for (tick, status, key, velocity) in self.messages.iter().copied() {
            assert_eq!(status & 0x0F, channel, "a message of another channel in {}", self.name());
            let sounding = &mut open[usize::from(key)];
            match status & 0xF0 {
                0x90 if velocity > 0 => {
                    assert!(sounding.is_none(), "key {key} is struck twice in {}", self.name());
                    *sounding = Some(notes.len());
                    notes.push((tick, tick, key, velocity));
                }
                0x80 | 0x90 => {
                    let started = &mut notes[sounding.take().expect("an off without its on")];
                    assert!(started.0 < tick, "a note without length in {}", self.name());
                    started.1 = tick;
                }
                _ => {}
            }
        }
        assert!(open.iter().all(Option::is_none), "an on without its off in {}", self.name());
        notes
    }

    /// The programs that are chosen.
    pub(crate) fn programs(&self) -> Vec<u8> {
        self.messages.iter().filter(|message| message.1 & 0xF0 == 0xC0).map(|message| message.2).collect()
    }
}

/// A quantity of variable length: at most four bytes, and no more than it needs.
fn quantity(bytes: &mut &[u8]) -> u32 {
    let mut value = 0;
    for at in 0..4 {
        let (byte, rest) = bytes.split_first().unwrap();
        assert!(at > 0 || *byte != 0x80, "a quantity is longer than it needs");
        *bytes = rest;
        value = value << 7 | u32::from(byte & 0x7F);
        if byte & 0x80 == 0 {
            return value;
        }
    }
    panic!("a quantity of more than four bytes");
}

fn taken<'a>(bytes: &mut &'a [u8], count: usize) -> &'a [u8] {
    let (front, rest) = bytes.split_at(count);
    *bytes = rest;
    front
}

fn chunk<'a>(bytes: &mut &'a [u8], name: &[u8; 4]) -> &'a [u8] {
    assert_eq!(taken(bytes, 4), name);
    let length = u32::from_be_bytes(taken(bytes, 4).try_into().unwrap());
    taken(bytes, length as usize)
}

/// Format, division and tracks. Panics at whatever the format does not allow.
pub(crate) fn read(mut bytes: &[u8]) -> (u16, u16, Vec<Track>) {
    let header = chunk(&mut bytes, b"MThd");
    let [format, count, division] = [0, 2, 4].map(|at| u16::from_be_bytes([header[at], header[at + 1]]));
    assert!(header.len() == 6 && format <= 2 && division & 0x8000 == 0);
    let tracks: Vec<Track> = (0..count).map(|_| track(chunk(&mut bytes, b"MTrk"))).collect();
    assert!(bytes.is_empty(), "bytes behind the last track");
    (format, division, tracks)
}

fn track(chunk: &[u8]) -> Track {
    let mut track = Track { chunk: chunk.to_vec(), ..Track::default() };
    let (mut bytes, mut tick, mut running) = (chunk, 0u32, None);
    loop {
        tick += quantity(&mut bytes);
        if bytes[0] == 0xFF {
            // A meta event takes the running status away.
            running = None;
            let kind = taken(&mut bytes, 2)[1];
            let length = quantity(&mut bytes) as usize;
            let content = taken(&mut bytes, length).to_vec();
            if kind == 0x2F {
                assert!(content.is_empty() && bytes.is_empty(), "something behind the end of a track");
                track.end = tick;
                return track;
            }
            track.meta.push((tick, kind, content));
            continue;
        }
        let status = if bytes[0] & 0x80 == 0 { running.unwrap() } else { taken(&mut bytes, 1)[0] };
        assert!((0x80..0xF0).contains(&status), "a message that we do not write");
        running = Some(status);
        let one_byte = matches!(status & 0xF0, 0xC0 | 0xD0);
        let data = taken(&mut bytes, if one_byte { 1 } else { 2 });
        assert!(data.iter().all(|byte| byte & 0x80 == 0));
        track.messages.push((tick, status, data[0], data.get(1).copied().unwrap_or(0)));
    }
}

/// The format's own example (RP-001, appendix; read in a transcription).
#[test]
fn handbook_the_example_of_the_format() {
    let events = [
        0x00, 0xFF, 0x58, 0x04, 0x04, 0x02, 0x18, 0x08, 0x00, 0xFF, 0x51, 0x03, 0x07, 0xA1, 0x20, 0x00, 0xC0,
        0x05, 0x00, 0xC1, 0x2E, 0x00, 0xC2, 0x46, 0x00, 0x92, 0x30, 0x60, 0x00, 0x3C, 0x60, 0x60, 0x91, 0x43,
        0x40, 0x60, 0x90, 0x4C, 0x20, 0x81, 0x40, 0x82, 0x30, 0x40, 0x00, 0x3C, 0x40, 0x00, 0x81, 0x43, 0x40,
        0x00, 0x80, 0x4C, 0x40, 0x00, 0xFF, 0x2F, 0x00,
    ];
    let file = [&b"MThd\0\0\0\x06\0\0\0\x01\0\x60MTrk\0\0\0\x3B"[..], &events].concat();
    let (format, division, tracks) = read(&file);
    assert_eq!((format, division, tracks.len(), tracks[0].end), (0, 96, 1, 384));
    let of = |kind| -> Vec<(u32, u8)> {
        tracks[0].messages.iter().filter(|m| m.1 & 0xF0 == kind).map(|m| (m.0, m.2)).collect()
    };
    assert_eq!(of(0x90), [(0, 48), (0, 60), (96, 67), (192, 76)]);
    assert_eq!(of(0x80), [(384, 48), (384, 60), (384, 67), (384, 76)]);
    assert_eq!(tracks[0].programs(), [5, 46, 70]);
}
