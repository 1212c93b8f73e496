//! Compressed MusicXML: a zip archive with a pointer to the score inside.

use std::io::{Cursor, Read};

use quick_xml::events::Event;
use zip::ZipArchive;

use crate::error::{Error, Kind, Result};

/// Where an archive says which of its files is the score (MusicXML 4.0, container).
const CONTAINER: &str = "META-INF/container.xml";
/// The pointer is a few hundred bytes; more is not read.
const CONTAINER_LONGEST: usize = 64 << 10;

type Archive<'a> = ZipArchive<Cursor<&'a [u8]>>;

/// The error for a file or score that is too large.
pub(in crate::sheet) fn too_large(limit: usize) -> Error {
    Error::new(Kind::Limit, format!("the score has more than {limit} bytes, the limit `bytes`"))
        .with_help("raise `limits.bytes` if the file is meant to be so large")
}

/// The score of a compressed file, unpacked up to a limit.
pub(in crate::sheet) fn unpack(bytes: &[u8], limit: usize) -> Result<Vec<u8>> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|error| broken("archive", &error))?;
    let name = match rootfile(&mut archive) {
        Some(path) => {
            refuse_outside(&path)?;
            if archive.index_for_name(&path).is_some() { Some(path) } else { None }
        }
        None => None,
    };
    // The pointer may be missing, unreadable or wrong; what it would point to is still there.
    let Some(name) = name.or_else(|| first_score(&archive)) else {
        return Err(Error::new(
            Kind::Sheet,
            "the archive holds no score, expected a `.xml` or `.musicxml` file",
        )
        .with_help("export the tune again as compressed MusicXML"));
    };
    refuse_outside(&name)?;
    entry(&mut archive, &name, limit)?.ok_or_else(|| too_large(limit))
}

fn broken(what: &str, error: &dyn std::fmt::Display) -> Error {
    Error::new(Kind::Sheet, format!("the {what} cannot be unpacked: {error}"))
        .with_help("the file may be cut off; export or copy it again")
}

/// An entry's content; `None` where it is longer than the limit, whatever the archive says about its length.
fn entry(archive: &mut Archive<'_>, name: &str, limit: usize) -> Result<Option<Vec<u8>>> {
    let what = format!("file `{}` in the archive", crate::pitch::shown(name));
    let file = archive.by_name(name).map_err(|error| broken(&what, &error))?;
    let mut content = Vec::new();
    let most = u64::try_from(limit).unwrap_or(u64::MAX).saturating_add(1);
    file.take(most).read_to_end(&mut content).map_err(|error| broken(&what, &error))?;
    Ok((content.len() <= limit).then_some(content))
}

/// The first score that the container names.
fn rootfile(archive: &mut Archive<'_>) -> Option<String> {
    let content = entry(archive, CONTAINER, CONTAINER_LONGEST).ok()??;
    let text = super::text::decode(&content).ok()?;
    let mut reader = quick_xml::Reader::from_str(&text);
    loop {
        match reader.read_event().ok()? {
            Event::Start(tag) | Event::Empty(tag) if tag.local_name().as_ref() == "rootfile" => {
                let path = tag.try_get_attribute("full-path").ok()??;
                return Some(path.normalized_value(quick_xml::XmlVersion::Implicit1_0).ok()?.into_owned());
            }
            Event::Eof => return None,
            _ => {}
        }
    }
}

fn first_score(archive: &Archive<'_>) -> Option<String> {
    let is_score = |name: &String| {
        let lower = name.to_lowercase();
        !lower.starts_with("meta-inf/")
            && !lower.starts_with("__macosx/")
            && (lower.ends_with(".xml") || lower.ends_with(".musicxml"))
    };
    archive.file_names().filter_map(|name| Some(name.ok()?.into_owned())).find(is_score)
}

/// Nothing is written to disk, but a path out of the archive is a sign of a forged file.
fn refuse_outside(path: &str) -> Result<()> {
    let absolute = path.starts_with(['/', '\\']) || path.chars().nth(1) == Some(':');
    if absolute || path.split(['/', '\\']).any(|step| step == "..") {
        return Err(Error::new(
            Kind::Sheet,
            format!("the archive names `{}`, expected a path inside it", crate::pitch::shown(path)),
        )
        .with_help("do not trust this file; export the tune again"));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::io::Write;

    use super::*;

    fn packed(files: &[(&str, &[u8])]) -> Vec<u8> {
        let mut writer = zip::ZipWriter::new(Cursor::new(Vec::new()));
        for (name, content) in files {
            writer.start_file(*name, zip::write::SimpleFileOptions::default()).unwrap();
            writer.write_all(content).unwrap();
        }
        writer.finish().unwrap().into_inner()
    }

    fn container(path: &str) -> Vec<u8> {
        format!("<container><rootfiles><rootfile full-path=\"{path}\"/></rootfiles></container>").into_bytes()
    }

    #[test]
    fn ok_the_container_decides() {
        let bytes = packed(&[("a.xml", b"1"), (CONTAINER, &container("b.xml")), ("b.xml", b"2")]);
        assert_eq!(unpack(&bytes, 10).unwrap(), b"2");
    }

    #[test]
    fn ok_without_a_usable_container_the_first_score() {
        for pointer in ["<container", "<a full-path='it's'/>", ""] {
            let bytes = packed(&[(CONTAINER, pointer.as_bytes()), ("x.txt", b"0"), ("b.musicxml", b"2")]);
            assert_eq!(unpack(&bytes, 10).unwrap(), b"2");
        }
        let bytes = packed(&[(CONTAINER, &container("gone.xml")), ("b.xml", b"2")]);
        assert_eq!(unpack(&bytes, 10).unwrap(), b"2");
    }

    #[test]
    fn err_bombs_and_paths() {
        let bomb = packed(&[("a.xml", &vec![b' '; 1 << 20])]);
        assert!(bomb.len() < 10_000);
        assert!(unpack(&bomb, 1 << 16).unwrap_err().is_limit());
        for path in ["../a.xml", "/etc/a.xml", "x/../../a.xml", "C:\\a.xml", "..\\a.xml"] {
            let bytes = packed(&[(CONTAINER, &container(path)), ("a.xml", b"1")]);
            let error = unpack(&bytes, 10).unwrap_err();
            assert!(error.is_sheet() && error.to_string().contains("inside"), "{error}");
        }
        assert!(unpack(&packed(&[("readme.txt", b"1")]), 10).unwrap_err().is_sheet());
        assert!(unpack(b"PK\x03\x04 and no more", 10).unwrap_err().is_sheet());
    }
}
